"""What is laid along a route, where that is more than the route: more cable, and joints in it."""

import msgspec
import pytest

from service.circuit.cables import resolve_cable
from service.circuit.job import CableSpec, Job, JoinedCable, LaidStretch
from service.circuit.reading import built
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.translate import job_of
from service.translate.shared import with_shared
from tests import jobs
from tests.jobs import Json


def job_from(request: Json) -> Job:
    return job_of(with_shared(msgspec.convert(request, VoltageDropRequest)))


def spec_of(cable: Json) -> CableSpec:
    wiring = job_from(jobs.job(jobs.run(*lamps(1), cable=cable))).wiring
    assert isinstance(wiring, tuple)
    found: CableSpec = wiring[0].cable
    return found


def volts_of(job: Job) -> list[float]:
    reading = built(job).read()
    assert reading is not None
    return reading.volts.start_v


def lamps(*places_m: float) -> list[Json]:
    return [jobs.lamp(at_m, jobs.watts(15)) for at_m in places_m]


def with_laid(job: Job, *laid: LaidStretch) -> Job:
    assert isinstance(job.wiring, tuple)
    return job._replace(wiring=(job.wiring[0]._replace(laid=laid), *job.wiring[1:]))


def test_a_route_laid_with_slack_is_a_route_that_is_longer() -> None:
    route = job_from(jobs.job(jobs.run(*lamps(10, 20, 40), branches=[jobs.branch(20, *lamps(5))])))
    slack = with_laid(route, LaidStretch(0, 10, 11), LaidStretch(10, 20, 11), LaidStretch(20, 40, 22))
    longer = job_from(jobs.job(jobs.run(*lamps(11, 22, 44), branches=[jobs.branch(22, *lamps(5))])))
    assert volts_of(slack) == pytest.approx(volts_of(longer), abs=1e-12)
    assert volts_of(slack)[-1] < volts_of(route)[-1]


def test_where_stretches_end_makes_no_difference_within_them() -> None:
    route = job_from(jobs.job(jobs.run(*lamps(10, 20, 40))))
    whole = with_laid(route, LaidStretch(0, 40, 44))
    parts = with_laid(route, LaidStretch(0, 10, 11), LaidStretch(10, 20, 11), LaidStretch(20, 40, 22))
    assert volts_of(whole) == pytest.approx(volts_of(parts), abs=1e-12)


def test_joints_lose_their_ohms_times_the_current() -> None:
    current = job_from(jobs.job(jobs.run(jobs.lamp(10, jobs.amperes(2)), jobs.lamp(20, jobs.amperes(1)))))
    joined = with_laid(
        current,
        LaidStretch(0, 10, 10, (JoinedCable(0, 0.02),)),
        LaidStretch(10, 20, 10, (JoinedCable(0, 0.01),)),
    )
    lost = [before - after for before, after in zip(volts_of(current), volts_of(joined), strict=True)]
    assert lost == pytest.approx([3 * 0.02, 3 * 0.02 + 1 * 0.01], abs=1e-9)


def side_by_side(lengths_m: list[float], cable: Json) -> Job:
    """A lamp behind spans of cable between the same two points."""
    ends = {"from": "supply", "to": "lamp", "cable": cable}
    wiring = {
        "form": "spans",
        "spans": [{**ends, "length": jobs.metres(length_m)} for length_m in lengths_m],
        "fixtures": [{"point": "lamp", "load": jobs.watts(15)}],
    }
    return job_from({"supply": jobs.transformer(), "wiring": wiring})


@pytest.mark.parametrize("temperature_c", [-20, 20, 75])
@pytest.mark.parametrize("number", [1, 2, 5])
def test_a_joint_in_one_of_cables_side_by_side_is_a_mesh_of_which_one_is_longer(
    number: int, temperature_c: float
) -> None:
    cable = jobs.ohms_per_km(10.0)
    run = jobs.run(*lamps(20), cable={**cable, "cables_in_parallel": number})
    route = job_from(jobs.job(run))._replace(temperature_c=temperature_c)
    mesh = side_by_side([60.5, *[20.0] * (number - 1)], cable)._replace(temperature_c=temperature_c)
    # A joint of as much resistance as 40 m of the cable have at this temperature, in half a metre more of it.
    ohm = 40 * resolve_cable(spec_of(cable), temperature_c).ohm_per_m
    joined = with_laid(route, LaidStretch(0, 20, 20, (JoinedCable(0.5, ohm),)))
    assert volts_of(joined) == pytest.approx(volts_of(mesh), abs=1e-9)
    assert volts_of(joined)[0] < volts_of(route)[0] - 0.01


def test_each_pole_of_a_joined_cable_is_in_parallel_by_itself() -> None:
    # By hand: conductors of 0.5 and 1 ohm, a joint of 1 ohm at each pole of one of two cables.
    cable = {**jobs.ohms_per_km(25.0), "other_conductor": jobs.ohms_per_km(50.0), "cables_in_parallel": 2}
    stretch = jobs.run(jobs.lamp(20, jobs.amperes(1)), cable=cable)
    route = job_from(jobs.job(stretch))._replace(temperature_c=20)
    joined = with_laid(route, LaidStretch(0, 20, 20, (JoinedCable(0, 2),)))
    (before,), (after,) = volts_of(route), volts_of(joined)
    poles = 1 / (1 / 0.5 + 1 / 1.5) + 1 / (1 / 1 + 1 / 2)
    assert before - after == pytest.approx(poles - 0.75, abs=1e-9)


def test_what_lies_behind_what_is_said_is_as_long_as_its_route() -> None:
    route = job_from(jobs.job(jobs.run(*lamps(10, 20, 40))))
    begun = with_laid(route, LaidStretch(0, 10, 10))
    assert volts_of(begun) == pytest.approx(volts_of(route), abs=1e-12)
