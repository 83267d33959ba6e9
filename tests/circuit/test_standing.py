"""A job in a corner, laid once, is the same job laid anew as it stands there: to the last digit."""

import json
import random
from operator import attrgetter
from pathlib import Path

import msgspec
import pytest

from service.circuit.corners import AS_STATED, Corner, at_corner, corners_of
from service.circuit.job import Corners, Graph, Job, JoinedCable, LaidStretch
from service.circuit.reading import BuiltState, built
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.translate import job_of
from service.translate.shared import with_shared
from tests import jobs
from tests.jobs import Json

EXAMPLES = sorted((Path(__file__).parents[2] / "openapi" / "examples").glob("voltage_drop*.json"))

NOT_WIRED = frozenset({"voltage_drop_island", "voltage_drop_too_large", "voltage_drop_unfit"})
"""Examples of jobs that are refused."""

BOTH = Corners((0.9, 1.1), (-20.0, 70.0), "together")


stem = attrgetter("stem")


def job_from(request: Json) -> Job:
    return job_of(with_shared(msgspec.convert(request, VoltageDropRequest)))


def garden(seed: int) -> Job:
    """Runs on two taps with leads, splices, strips, changes of cable, branches and return legs."""
    pick = random.Random(seed)
    cables = [jobs.awg(12), jobs.awg(16), jobs.ohms_per_km(9.0), {"kind": "listed", "conductor": "4 mm2"}]
    own: list[Json] = [
        {},
        {"lead": {"length": jobs.feet(3), "cable": jobs.awg(18)}},
        {"splice_resistance": jobs.quantity(20, "mohm"), "count": 3},
        {"splice_resistance": jobs.quantity(5, "mohm"), "lead": {"length": jobs.feet(2), "cable": cables[2]}},
    ]
    loads = [jobs.watts(4, power_factor=0.9), jobs.halogen(20), jobs.amperes(0.3), jobs.strip(3, 4, 0.2)]
    runs = []
    for _ in range(pick.randint(1, 4)):
        places = sorted(pick.uniform(0, 30) for _ in range(pick.randint(1, 4)))
        more: Json = {}
        if pick.random() < 0.3:
            more["tap"] = jobs.volts(14)
        if pick.random() < 0.3:
            more["return_leg"] = {"length": jobs.metres(12), "cable": pick.choice(cables)}
        if pick.random() < 0.3:
            more["cable_changes"] = [{"at": jobs.metres(10), "cable": pick.choice(cables)}]
        if pick.random() < 0.4:
            more["branches"] = [jobs.branch(5, jobs.lamp(3, pick.choice(loads), **pick.choice(own)))]
        lamps = [jobs.lamp(at_m, pick.choice(loads), **pick.choice(own)) for at_m in places]
        runs.append(jobs.run(*lamps, cable=pick.choice(cables), **more))
    supply = jobs.transformer(winding=jobs.winding(300, 5), taps=[jobs.volts(12), jobs.volts(14)])
    return job_from(jobs.job(*runs, supply=supply))


def joined() -> Job:
    """A run of two cables side by side, one of them with a joint."""
    plain = garden(1)
    assert not isinstance(plain.wiring, Graph)
    spec = plain.wiring[0].cable._replace(in_parallel=2)
    laid = (LaidStretch(0.0, 40.0, 41.0, (JoinedCable(0.5, 0.02),)),)
    return plain._replace(wiring=(plain.wiring[0]._replace(cable=spec, laid=laid), *plain.wiring[1:]))


def battery_job() -> Job:
    request = jobs.job(jobs.run(*[jobs.lamp(at, jobs.watts(5)) for at in (2, 9)]))
    return job_from(request | {"supply": jobs.battery(11, 12.4, 14)})


def assert_same(standing: BuiltState, anew: BuiltState) -> None:
    assert standing.connected == anew.connected
    first, second = standing.network, anew.network
    assert first.open_circuit_v == second.open_circuit_v
    assert first.spans == second.spans
    assert first.source_resistance == second.source_resistance
    assert first.draws == second.draws
    assert list(first.conductance) == list(second.conductance)
    there, here = standing.solved(), anew.solved()
    assert (there is None) == (here is None)
    if there is not None and here is not None:
        assert there.point == here.point


def assert_stands(stated: Job, corner: Corner) -> None:
    assert_same(built(stated).at(corner), built(at_corner(stated, corner)))


@pytest.mark.parametrize("corner", [AS_STATED, *corners_of(BOTH)], ids=str)
@pytest.mark.parametrize("example", [each for each in EXAMPLES if each.stem not in NOT_WIRED], ids=stem)
def test_an_example_in_a_corner_is_that_job_laid_anew(example: Path, corner: Corner) -> None:
    assert_stands(job_from(json.loads(example.read_text())), corner)


@pytest.mark.parametrize("seed", range(60))
def test_a_garden_in_its_corners_is_that_garden_laid_anew(seed: int) -> None:
    for corner in corners_of(BOTH):
        assert_stands(garden(seed), corner)


def test_joints_are_laid_anew_because_what_they_add_depends_on_the_temperature() -> None:
    stated = joined()
    assert built(stated).connected.layout.has_joints
    for corner in corners_of(BOTH):
        assert_stands(stated, corner)
    cold, hot = (built(stated).at(corner).connected.layout.spans[0] for corner in corners_of(BOTH)[:2])
    assert cold.joints_ohm != hot.joints_ohm


def test_a_battery_stands_at_its_lowest_and_its_highest() -> None:
    stated = battery_job()
    given = []
    for corner in corners_of(Corners(None, None, "together", battery=True)):
        assert_stands(stated, corner)
        given.append(built(stated).at(corner).connected.feed.open_circuit_v)
    assert given == [(11.0,), (14.0,)]
