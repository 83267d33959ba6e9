"""Whatever the schema allows is answered: with an operating point or without, never with a failure."""

import itertools
import math
from typing import Any

import numpy as np
import pytest

from service.wire.quantities import Length, ResistancePerLength, bounds_of
from tests import jobs
from tests.client import Client
from tests.jobs import Json

LENGTHS = (0.0, 1e-9, 0.001, 1.0, 100_000.0)
POWERS = (0.0, 1e-9, 1.0, 100_000.0)
LAMP_VOLTS = (0.001, 12.0, 100.0)
RESISTANCES = (0.0001, 5.0, 1000.0)


def lengths(pick: np.random.Generator) -> Json:
    unit = str(pick.choice(["m", "mm", "km", "ft", "yd"]))
    return {"value": min(float(pick.choice(LENGTHS)), bounds_of(Length)[unit].most), "unit": unit}


def rated(pick: np.random.Generator) -> Json:
    return {
        "power": jobs.quantity(float(pick.choice(POWERS)), "W"),
        "rated_voltage": jobs.volts(float(pick.choice(LAMP_VOLTS))),
    }


def load(pick: np.random.Generator) -> Json:
    power_w, other_w = (float(pick.choice(POWERS)) for _ in range(2))
    volt = jobs.volts(float(pick.choice(LAMP_VOLTS)))
    kinds: list[Json] = [
        {"kind": "constant-power", "power": jobs.quantity(power_w / 1_000, "kW"), "power_factor": 0.05},
        {
            "kind": "constant-power",
            "power": jobs.quantity(power_w, "W"),
            "apparent_power": jobs.quantity(other_w, "VA"),
        },
        {"kind": "constant-current", "current": jobs.quantity(power_w / 10, "A"), "power_factor": 0.05},
        {"kind": "constant-resistance", **rated(pick)},
        {"kind": "filament", **rated(pick)},
        {
            "kind": "zip",
            "constant_power_part": jobs.quantity(power_w, "W"),
            "constant_current_part": jobs.quantity(other_w, "W"),
            "constant_resistance_part": jobs.quantity(power_w, "W"),
            "rated_voltage": volt,
        },
    ]
    return kinds[int(pick.integers(len(kinds)))]


def fixture(pick: np.random.Generator) -> Json:
    made: Json = {"at": lengths(pick), "load": load(pick)}
    if pick.random() < 0.4:
        made |= {"count": int(pick.choice([1, 2, 40])), "spacing": lengths(pick)}
    if pick.random() < 0.3:
        made |= {"lead": {"length": lengths(pick), "cable": cable(pick)}}
    if pick.random() < 0.3:
        made |= {"splice_resistance": jobs.quantity(float(pick.choice([0.0, 1e-12, 1000.0])), "ohm")}
    return made


def cable(pick: np.random.Generator) -> Json:
    unit = str(pick.choice(["ohm/km", "ohm/m", "ohm/ft"]))
    per = {
        "value": min(float(pick.choice(RESISTANCES)), bounds_of(ResistancePerLength)[unit].most),
        "unit": unit,
    }
    return jobs.ohms_per_km(1.0, cables_in_parallel=int(pick.choice([1, 20]))) | {"resistance": per}


def stretch(pick: np.random.Generator) -> Json:
    made: Json = {"cable": cable(pick), "fixtures": [fixture(pick) for _ in range(int(pick.integers(4)))]}
    if pick.random() < 0.4:
        made["return_leg"] = {"length": lengths(pick)}
    if pick.random() < 0.3:
        made["cable_changes"] = [{"at": lengths(pick), "cable": cable(pick)} for _ in range(2)]
    if pick.random() < 0.3:
        made["tail"] = lengths(pick)
    return made


def supply(pick: np.random.Generator) -> Json:
    level = float(pick.choice([0.001, 12.0, 30.0]))
    mains = {
        "rated": jobs.volts(float(pick.choice([1, 120]))),
        "actual": jobs.volts(float(pick.choice([1, 1000]))),
    }
    plate = {
        "rating": jobs.quantity(float(pick.choice([0.1, 150, 100_000])), "VA"),
        "regulation_percent": float(pick.choice([0, 4, 100])),
    }
    made: list[Json] = [
        {"kind": "transformer", "secondary": jobs.volts(level), "winding": plate, "primary": mains},
        {
            "kind": "transformer",
            "secondary": jobs.volts(level),
            "open_circuit": {"voltage": jobs.volts(0.001)},
        },
        {"kind": "dc-supply", "output": jobs.volts(level), "internal_resistance": jobs.quantity(1000, "ohm")},
        {"kind": "dc-supply", "output": jobs.volts(60), "rating": jobs.quantity(0.1, "W")},
    ]
    return made[int(pick.integers(len(made)))]


def request(seed: int) -> Json:
    pick = np.random.default_rng(seed)
    runs: list[Json] = []
    for _ in range(int(pick.integers(1, 4))):
        made = stretch(pick)
        if pick.random() < 0.3:
            made["branches"] = [
                {"at": lengths(pick), **stretch(pick), "spurs": [{"at": lengths(pick), **stretch(pick)}]}
            ]
        if pick.random() < 0.3:
            made["tap"] = jobs.volts(float(pick.choice([0.001, 12.0, 30.0])))
        runs.append(made)
    return jobs.job(*runs, supply=supply(pick)) | {
        "margin": bool(pick.random() < 0.5),
        "conditions": {"non_active_current": str(pick.choice(["in-phase", "quadrature"]))},
        "limits": {"maximum_drop_percent": 0.1},
    }


def numbers(tree: Any) -> list[float]:
    if isinstance(tree, dict):
        return list(itertools.chain.from_iterable(numbers(part) for part in tree.values()))
    if isinstance(tree, list):
        return list(itertools.chain.from_iterable(numbers(part) for part in tree))
    return [tree] if isinstance(tree, float) else []


@pytest.mark.parametrize("first", range(0, 400, 40))
def test_extremes_are_answered_with_finite_numbers(client: Client, first: int) -> None:
    for seed in range(first, first + 40):
        reply = client.post("/v1/voltage-drop", json=request(seed))
        assert reply.status_code in {200, 422}, (seed, reply.text)
        assert all(math.isfinite(value) for value in numbers(reply.json())), seed
        if reply.status_code == 422:
            assert reply.json()["code"] == "job-too-large", seed


@pytest.mark.parametrize("kind", ["constant-resistance", "filament"])
@pytest.mark.parametrize("far_m", [10.0, 100.0, 1_000.0])
def test_a_lamp_that_only_dims_always_has_an_operating_point(client: Client, kind: str, far_m: float) -> None:
    # Both draw nothing at no voltage, so current and drop meet somewhere for every resistance.
    lamp = {
        "at": jobs.metres(far_m),
        "load": {"kind": kind, "power": jobs.quantity(100_000, "W"), "rated_voltage": jobs.volts(12)},
    }
    reply = client.post(
        "/v1/voltage-drop", json=jobs.job({"cable": jobs.ohms_per_km(10.0), "fixtures": [lamp]})
    )
    assert reply.status_code == 200
    assert reply.json()["status"] == "solved"
