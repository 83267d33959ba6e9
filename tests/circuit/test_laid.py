"""What is laid along a route, where that is more than the route: more cable, and joints in it."""

import msgspec
import pytest

from service.circuit.job import Job, LaidStretch
from service.circuit.reading import built
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.translate import job_of
from service.translate.shared import with_shared
from tests import jobs
from tests.jobs import Json


def job_from(request: Json) -> Job:
    return job_of(with_shared(msgspec.convert(request, VoltageDropRequest)))


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
    joined = with_laid(current, LaidStretch(0, 10, 10, 0.02), LaidStretch(10, 20, 10, 0.01))
    lost = [before - after for before, after in zip(volts_of(current), volts_of(joined), strict=True)]
    assert lost == pytest.approx([3 * 0.02, 3 * 0.02 + 1 * 0.01], abs=1e-9)


def test_what_lies_behind_what_is_said_is_as_long_as_its_route() -> None:
    route = job_from(jobs.job(jobs.run(*lamps(10, 20, 40))))
    begun = with_laid(route, LaidStretch(0, 10, 10))
    assert volts_of(begun) == pytest.approx(volts_of(route), abs=1e-12)
