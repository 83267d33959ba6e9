"""How much work a request will take, told before anything is laid out or solved.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from math import log2
from typing import TYPE_CHECKING, NamedTuple

from service.studies.commissioning.columns import columns_of
from service.studies.corners import BY_RUN, INDIVIDUALLY, corners_of
from service.studies.placement import LUMPS
from service.studies.size import Size, size_of
from service.studies.trial import EVENLY_SPREAD, MOST_FIXTURES, LargestLoad, Spaced
from service.studies.work import (
    MAXIMUM_REQUEST_WORK,
    MAXIMUM_WORK,
    WORK_ALONE,
    WorkOverLimitError,
    work_of,
    work_of_answer,
    work_of_cells,
)

if TYPE_CHECKING:
    from service.studies.commissioning.asked import CommissioningJob
    from service.studies.drop_chart_job import ChartJob
    from service.studies.gauge_recommendation import Question as GaugeQuestion
    from service.studies.job import Job
    from service.studies.readings.asked import ReadingsJob
    from service.studies.stock import Question as LoadingQuestion
    from service.studies.trial import ReachJob

STATES_OF_A_MARGIN = 30
"""States that the search for a largest load, and that for the first fixture to leave its window, solve."""

UNITS_SOLVED = 8
"""Transformers of a stock that are solved, of those that sag unlike."""

POINTS_OF_READING = 8
"""Points whose slopes are found for one reading with one unit of work."""

WORK_OF_A_SEARCH = 60_000
"""The most that a search for the cause of readings takes."""


class Estimate(NamedTuple):
    """Work up to the first complete answer, and with all parts that may stop anywhere."""

    first: int
    most: int


def refuse_over_limit(estimate: Estimate) -> None:
    """Refuse what cannot have its first complete answer.

    Raises
    ------
    WorkOverLimitError
        The first complete answer would take more work than one request may ask for.
    """
    if estimate.first > MAXIMUM_REQUEST_WORK:
        raise WorkOverLimitError(estimate.first, MAXIMUM_REQUEST_WORK)


def voltage_drop_work(job: Job) -> Estimate:
    """Of a voltage drop: the stated state, its corners; a margin may stop anywhere."""
    size = size_of(job)
    # A state with a little more load is solved where the certificate alone does not show room for it.
    first = _drop_work(job, size) + work_of(size.effort)
    margin = STATES_OF_A_MARGIN * work_of(size.effort) if job.margin else 0
    return _estimate(first, margin)


def transformer_loading_work(question: LoadingQuestion) -> Estimate:
    """Of a loading: a voltage drop, and each transformer that is solved in every state."""
    job = question.job
    size = size_of(job)
    first = _drop_work(job, size)
    if job.supply.direct_current:
        return _estimate(first, 0)
    each = (1 + _corner_count(job)) * work_of(size.effort)
    sags = len({unit.sag for unit in question.stock}) or 1
    return _estimate(first + each, min((min(sags, UNITS_SOLVED) - 1) * each, MAXIMUM_WORK))


def gauge_recommendation_work(question: GaugeQuestion) -> Estimate:
    """Of a choice: one choice in every state, then the job with it; the search may stop anywhere."""
    job = question.job
    size = size_of(job)
    one = _corner_work(job, size) + work_of(size.effort)
    first = one + _drop_work(job, size)
    return _estimate(first, MAXIMUM_WORK * size.effort // size.points)


def reach_work(asked: ReachJob) -> Estimate:
    """Of a reach: every run that is tried in every state, the last two in full."""
    points = [_trial_points(asked, share) for share in _trial_shares(asked)]
    states = 1 + _corner_count(asked.job)
    tried = sum(states * work_of(each) for each in points)
    largest = Size(max(points), max(points), max(points), 0, 1)
    told = 2 * _drop_work(asked.job, largest)
    coarse = 2 * (work_of(LUMPS) + work_of_answer(LUMPS)) if asked.gapless else 0
    return _estimate(tried + told + coarse, 0)


def drop_chart_work(job: ChartJob) -> Estimate:
    """Of a chart: its cells."""
    return _estimate(work_of_cells(len(job.lines) * len(job.powers_w) * len(job.lengths_m)), 0)


def readings_check_work(asked: ReadingsJob) -> Estimate:
    """Of a check: each state read in, and how each reading follows the wiring; a search may stop anywhere."""
    size, readings = size_of(asked.job), len(asked.readings)
    states = len({reading.state for reading in asked.readings}) or 1
    slopes = readings * (1 + size.effort // POINTS_OF_READING)
    first = 3 * states * work_of(size.effort) + slopes
    return _estimate(first, WORK_OF_A_SEARCH)


def commissioning_sheet_work(asked: CommissioningJob) -> Estimate:
    """Of a sheet: each stage in each column, and how each value follows the wiring."""
    size = size_of(asked.job)
    places = 4 * size.feeders + (size.rows if asked.every else 0)
    one = 3 * work_of(size.effort) + 2 * places * (1 + size.effort // POINTS_OF_READING)
    return _estimate(len(columns_of(asked, work=one)) * one, 0)


def _estimate(first: int, optional: int) -> Estimate:
    return Estimate(first, max(first, min(first + optional, MAXIMUM_REQUEST_WORK)))


def _drop_work(job: Job, size: Size) -> int:
    """Work of one voltage drop, its margin apart; where the layout is unknown two even spreads too."""
    stated = work_of(size.effort) + work_of_answer(size.points)
    if job.layout_unknown:
        stated += sum(2 * work_of(lumps + 1) + work_of_answer(lumps + 1) for lumps in (LUMPS, LUMPS // 2))
    return stated + _corner_work(job, size)


def _corner_count(job: Job) -> int:
    return 0 if job.corners is None else len(corners_of(job.corners))


def _corner_work(job: Job, size: Size) -> int:
    """Work of every corner, and of what may be on alone in it."""
    if job.corners is None:
        return 0
    work, switching, state = 0, job.corners.switching, work_of(size.effort)
    circuits = min(size.feeders, len(job.supply.circuits) or size.feeders)
    for corner in corners_of(job.corners):
        work += state
        if corner.is_light(switching):
            alone = state + WORK_ALONE * size.rows + size.rails if switching == INDIVIDUALLY else 0
            work += alone + circuits * state + (size.feeders * state if switching == BY_RUN else 0)
    return work


def _trial_shares(asked: ReachJob) -> list[float]:
    """How large each run that is tried is, over the largest: doubled from the first on, then halved."""
    steps = int(log2(asked.last + 1)) + 1
    return [*(2.0 ** (step - steps) for step in range(steps)), *[1.0] * steps]


def _trial_points(asked: ReachJob, share: float) -> int:
    """The most points of one run that is tried."""
    layout = asked.question.layout
    if isinstance(layout, Spaced):
        fixtures = MOST_FIXTURES if isinstance(asked.question, LargestLoad) else MOST_FIXTURES * share
        return 2 + int(fixtures)
    return LUMPS + 2 if layout == EVENLY_SPREAD else 3
