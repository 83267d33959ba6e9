"""A case as a request to `POST /v1/readings-check`: the only file that knows its members."""

from __future__ import annotations

from math import sqrt
from typing import Any

from tests import jobs
from tests.jobs import Json
from tests.studies.readings_truth.garden import RATED_MAINS_V, RATED_V, Garden, Lamp, Place
from tests.studies.readings_truth.mix import MIX
from tests.studies.readings_truth.plan import Plan, Reading
from tests.studies.readings_truth.population import Case


def request_of(case: Case) -> Json:
    """What the installer sends: the garden on paper, the meter, what may vary, and what was read."""
    garden, plan = case.truth.garden, case.truth.plan
    states = [_state(garden, plan, index, case.mains_read_v) for index in range(len(plan.states))]
    return {
        "id": f"garden-{case.number}",
        "supply": _supply(garden, plan),
        "wiring": {"form": "runs", "runs": [_leg(garden, run) for run in garden.runs]},
        "instrument": _instrument(),
        "priors": _priors(mains_measured=plan.mains_measured),
        "readings": [
            {
                "subject": _subject(garden, reading),
                "quantity": {
                    "kind": reading.quantity,
                    "value": jobs.quantity(float(value), "V" if reading.quantity == "voltage" else "A"),
                },
                "state": states[reading.state],
            }
            for reading, value in zip(plan.readings, case.read, strict=True)
        ],
    }


def place(where: Place, garden: Garden) -> Json:
    """A pointer, with a number where the line stands for several."""
    alike = [one for one in garden.lamps if one.place.pointer == where.pointer]
    return {"pointer": where.pointer, **({"number": where.number} if len(alike) > 1 else {})}


def _supply(garden: Garden, plan: Plan) -> Json:
    """With the mains measured the rated mains must be said, so that a state can be told from it."""
    more: Json = {}
    if plan.mains_measured:
        more["primary"] = {"rated": jobs.volts(RATED_MAINS_V), "actual": jobs.volts(RATED_MAINS_V)}
    if garden.taps_v:
        more["taps"] = [jobs.volts(each) for each in garden.taps_v]
    return jobs.transformer(
        RATED_V, winding=jobs.winding(garden.rating_va, garden.regulation_percent), **more
    )


def _leg(garden: Garden, pointer: str) -> Json:
    points = [point for point, span in garden.spans.items() if span.leg == pointer]
    at_m, far_m = {}, 0.0
    for point in points:
        far_m = at_m[point] = round(far_m + garden.spans[point].length_m, 6)
    lines: dict[str, list[Lamp]] = {}
    for one in garden.lamps:
        if one.leg == pointer:
            lines.setdefault(one.place.pointer, []).append(one)
    last = max(one.point for line in lines.values() for one in line)
    leg: Json = {
        "cable": {"kind": "listed", "conductor": garden.spans[points[0]].cable.label},
        "fixtures": [_line(garden, line, at_m) for line in lines.values()],
    }
    if pointer in garden.tap_of:
        leg["tap"] = jobs.volts(garden.tap_v(pointer))
    if points[-1] != last:
        leg["tail"] = jobs.metres(garden.spans[points[-1]].length_m)
    for branch, run in garden.hung_on.items():
        if run == pointer:
            first = next(point for point, span in garden.spans.items() if span.leg == branch)
            leg["branches"] = [{"at": jobs.metres(at_m[garden.spans[first].parent]), **_leg(garden, branch)}]
    return leg


def _line(garden: Garden, line: list[Lamp], at_m: dict[int, float]) -> Json:
    several: Json = {}
    if len(line) > 1:
        several = {"count": len(line), "spacing": jobs.metres(garden.spans[line[1].point].length_m)}
    return jobs.lamp(at_m[line[0].point], _load(line[0]), **several)


def _load(one: Lamp) -> Json:
    if one.kind == "current":
        return jobs.amperes(one.watts / RATED_V, power_factor=1)
    if one.kind == "resistance":
        return jobs.resistor(one.watts)
    return jobs.watts(one.watts, power_factor=one.power_factor)


def _subject(garden: Garden, reading: Reading) -> Json:
    if reading.kind == "terminal":
        return {"kind": "terminal"}
    where = Place(reading.at) if reading.kind == "leg" else garden.lamps[reading.at].place
    return {"kind": "wired", **place(where, garden)}


def _state(garden: Garden, plan: Plan, index: int, mains_read_v: tuple[float, ...] | None) -> Json:
    state = plan.states[index]
    said: Json = {"on": state.on}
    if state.on == "listed":
        said["lit"] = [{"pointer": leg} for leg in state.legs]
        said["lit"] += [place(garden.lamps[one].place, garden) for one in state.lamps]
    if mains_read_v is not None:
        said["mains"] = jobs.volts(mains_read_v[index])
    return said


def _instrument() -> Json:
    meter: dict[str, Any] = MIX["meter"]
    return {
        "kind": "true-rms",
        "accuracy_percent": meter["accuracy_percent"],
        "counts": meter["counts"],
        "voltage_resolution": jobs.volts(meter["voltage_resolution_v"]),
        "current_accuracy_percent": meter["current_accuracy_percent"],
        "current_counts": meter["current_counts"],
        "current_resolution": jobs.quantity(meter["current_resolution_a"], "A"),
    }


def _priors(*, mains_measured: bool) -> Json:
    """As limits, whose standard deviation is the limit over √3, which is how the contract reads a percentage.

    Mains that were measured are as well known as the meter's accuracy says. No error of resistance is told
    apart from those of length and temperature.
    """
    says: dict[str, Any] = MIX["nuisance"]
    low_c, high_c = says["temperature_c"]
    limits = {
        f"{name}_percent": round(sqrt(3.0) * says[f"{name}_percent"], 3)
        for name in ("length", "power", "winding", "mains")
    }
    if mains_measured:
        limits["mains_percent"] = MIX["meter"]["accuracy_percent"]
    return {
        **limits,
        "temperature_span": {
            "lowest": jobs.quantity(low_c, "degC"),
            "highest": jobs.quantity(high_c, "degC"),
        },
        "resistance_percent": 0,
    }
