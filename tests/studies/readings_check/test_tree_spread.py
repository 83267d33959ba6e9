"""All volts of a tree at once against each by itself: slopes by every span and fixture, squared and added."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest

from service.circuit.state import connect_job
from service.estimation.covariance import columns_of, volts_variances
from service.estimation.jacobian import linearised, sensitivities_at
from service.estimation.measurements import place_readings
from service.estimation.model import Measurement, Model, model_of
from service.estimation.uncertainty import uncertainty_of
from service.intake import decode
from service.physics.kernel import tangent
from service.physics.tree import is_tree
from service.studies.readings_check.request import ReadingsCheckRequest
from service.studies.readings_check.translate import job_of
from tests import jobs
from tests.circuit.gardens import ALL
from tests.jobs import Json
from tests.studies.readings_check.jobs import volts_at

LEAD: Json = {"length": jobs.metres(1), "cable": jobs.awg(18)}
IN_PHASE = [
    jobs.watts(4, power_factor=1),
    jobs.amperes(0.3, power_factor=1),
    jobs.resistor(5),
    jobs.halogen(6),
]
SHIFTED = [jobs.volt_amperes(3, 5), jobs.amperes(0.3, power_factor=0.7)]


def tree(seed: int) -> Json:
    """Runs with branches, leads and fixtures of every kind; every other one with a shift of phase."""
    pick = random.Random(seed)
    loads = [*IN_PHASE, *(SHIFTED if seed % 2 else ())]

    def lamps() -> list[Json]:
        found = []
        for place in range(1, pick.randint(2, 9)):
            more: Any = {"lead": LEAD} if pick.random() < 0.3 else {}
            if pick.random() < 0.3:
                more |= {"count": pick.randint(2, 4)}
            found.append(jobs.lamp(place * pick.uniform(1, 3), pick.choice(loads), **more))
        return found

    runs = [
        jobs.run(
            *lamps(),
            cable=jobs.awg(pick.choice([10, 12, 14])),
            branches=[
                jobs.branch(pick.uniform(0.5, 9), *lamps(), cable=jobs.awg(14))
                for _ in range(pick.randint(0, 3))
            ],
            tail=jobs.metres(pick.uniform(0, 5)),
        )
        for _ in range(pick.randint(1, 4))
    ]
    ideal = jobs.dc_supply() if not seed % 2 else jobs.transformer()
    return jobs.job(*runs, supply=pick.choice([jobs.transformer(winding=jobs.winding(600, 5)), ideal]))


def everywhere(request: Json) -> Json:
    """Volts at every fixture, at every end and at the supply, with all on."""
    readings = [volts_at(None)]

    def stretch(pointer: str, part: Json) -> None:
        readings.append(volts_at(pointer))
        for index, line in enumerate(part["fixtures"]):
            which: Any = {"number": 1} if "spacing" in line else {}
            readings.append(volts_at(f"{pointer}/fixtures/{index}", **which))
        for kind in ("branches", "spurs"):
            for index, inner in enumerate(part.get(kind, ())):
                stretch(f"{pointer}/{kind}/{index}", inner)

    for index, part in enumerate(request["wiring"]["runs"]):
        stretch(f"/wiring/runs/{index}", part)
    return {**request, "readings": readings}


def both_ways(request: Json) -> tuple[Model, list[Measurement], list[float], list[float]]:
    job = job_of(decode(json.dumps(everywhere(request)).encode(), ReadingsCheckRequest))
    uncertainty = uncertainty_of(job)
    connected = connect_job(job.circuit._replace(temperature_c=uncertainty.temperature_c))
    placed = place_readings(job, connected)
    model = model_of(connected, placed.states)
    (state,) = model.states
    line = linearised(model, state, model.near_ideal)
    assert line is not None
    singly = []
    for one in placed.measurements:
        columns = columns_of(model, uncertainty, [one], [sensitivities_at(model, line, one.probe)])
        singly.append(one.own**2 + sum(column[0] ** 2 for column in columns))
    together = volts_variances(model, line, state, uncertainty, placed.measurements)
    return model, placed.measurements, together, singly


@pytest.fixture(autouse=True)
def _adjoints_settled_to_the_last_digit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tangent, "SETTLED", 1e-15)
    monkeypatch.setattr(tangent, "ROUNDS", 200)


@pytest.mark.parametrize("seed", range(24))
def test_all_volts_of_a_tree_at_once_are_as_each_by_itself(seed: int) -> None:
    model, measurements, together, singly = both_ways(tree(seed))
    assert is_tree(model.network)
    assert len(measurements) > 3
    assert together == pytest.approx(singly, rel=1e-12)


@pytest.mark.parametrize("name", [name for name in ALL if "ring" not in name and name != "nothing on"])
def test_every_garden_without_a_loop_is_as_each_by_itself(name: str) -> None:
    model, _, together, singly = both_ways(ALL[name])
    if is_tree(model.network):
        assert together == pytest.approx(singly, rel=1e-12)


def test_strips_are_as_each_by_itself() -> None:
    light = jobs.strip(3, 4, 0.08)
    lines = (
        jobs.lamp(4, light),
        jobs.lamp(8, light, count=2),
        jobs.lamp(9, light, lead=LEAD),
        jobs.lamp(12, jobs.volt_amperes(3, 5)),
    )
    _, _, together, singly = both_ways(
        jobs.job(jobs.run(*lines, cable=jobs.awg(12)), supply=jobs.transformer(winding=jobs.winding(600, 5)))
    )
    assert together == pytest.approx(singly, rel=1e-12)


@pytest.mark.parametrize(
    "load", [jobs.watts(0.02, power_factor=1), jobs.volt_amperes(0.02, 0.03)], ids=["in phase", "lagging"]
)
def test_a_long_chain_is_as_each_by_itself(load: Json) -> None:
    request = jobs.job(
        jobs.run(*(jobs.lamp(0.2 * place, load) for place in range(1, 190)), cable=jobs.awg(12)),
        supply=jobs.transformer(24.0, winding=jobs.winding(100, 5)),
        nominal_v=24,
    )
    _, _, together, singly = both_ways(request)
    assert together == pytest.approx(singly, rel=1e-12)
