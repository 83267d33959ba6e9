"""How much work a request will take, told before anything is laid out or solved.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from math import log2
from typing import TYPE_CHECKING, NamedTuple

from service.studies.commissioning.columns import columns_of
from service.studies.corners import BY_RUN, INDIVIDUALLY, corners_of
from service.studies.errors import JobTooLargeError
from service.studies.job import Graph
from service.studies.placement import LUMPS
from service.studies.readings.causes import CAUSES_OF_POINT, work_of_causes
from service.studies.readings.model import work_of_solve
from service.studies.readings.ranking import WEIGHING_WORK, work_of_whitening
from service.studies.readings.slopes import work_of_slopes
from service.studies.readings.spread import work_of_spread
from service.studies.readings.tree_spread import work_of_tree
from service.studies.size import Size, size_of
from service.studies.trial import EVENLY_SPREAD, MOST_FIXTURES, LargestLoad, Spaced, trial_of
from service.studies.work import (
    MAXIMUM_REQUEST_WORK,
    MAXIMUM_WORK,
    WORK_ALONE,
    WorkOverLimitError,
    work_of,
    work_of_cells,
    work_of_judging,
    work_of_telling,
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

EASILY_DIVIDED = 10
"""Runs whose division over circuits is no work to speak of."""

UNITS_SOLVED = 8
"""Transformers of a stock that are solved, of those that sag unlike."""

SOLVED_OF_A_STATE = 3
"""How often a check solves each state: whether it is carried, what is read in it, and how that follows."""

KEY_PLACES, OF_THE_SUPPLY = 3, 4
"""Fixtures that are read on a run where not all are, and what is read at the supply."""

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
    return _estimate(first, margin + _findings_work(job, size), turned=size.turned)


def transformer_loading_work(question: LoadingQuestion) -> Estimate:
    """Of a loading: a voltage drop, and each transformer that is solved in every state."""
    job = question.job
    size = size_of(job)
    first = _drop_work(job, size)
    if job.supply.direct_current:
        return _estimate(first, _findings_work(job, size))
    each = (1 + _corner_count(job)) * work_of(size.effort)
    sags = len({unit.sag for unit in question.stock}) or 1
    more = min((min(sags, UNITS_SOLVED) - 1) * each, MAXIMUM_WORK)
    more += _findings_work(job, size)
    if size.feeders > EASILY_DIVIDED:
        more += MAXIMUM_REQUEST_WORK // 2
    return _estimate(first + each, more, turned=size.turned)


def gauge_recommendation_work(question: GaugeQuestion) -> Estimate:
    """Of a choice: one choice in every state, then the job with it; the search may stop anywhere."""
    job = question.job
    size = size_of(job)
    one = _corner_work(job, size) + work_of(size.effort)
    first = one + _drop_work(job, size)
    return _estimate(first, MAXIMUM_WORK * size.effort // size.points, turned=size.turned)


def reach_work(asked: ReachJob) -> Estimate:
    """Of a reach: every run that is tried in every state, the last two in full."""
    points = [_trial_points(asked, share) for share in _trial_shares(asked)]
    states = 1 + _corner_count(asked.job)
    tried = sum(states * work_of(each) for each in points)
    largest = Size(max(points), max(points), max(points), 0, 1, 1, looped=False, turned=False)
    told = 2 * _drop_work(asked.job, largest)
    coarse = 2 * (work_of(LUMPS) + _answer_work(LUMPS)) if asked.gapless else 0
    shifted = asked.line.load.non_active_var or asked.line.load.non_active_a
    return _estimate(tried + told + coarse, 0, turned=bool(shifted) and not asked.job.all_in_phase)


def drop_chart_work(job: ChartJob) -> Estimate:
    """Of a chart: its cells."""
    return _estimate(work_of_cells(len(job.lines) * len(job.powers_w) * len(job.lengths_m)), 0)


def readings_check_work(asked: ReadingsJob) -> Estimate:
    """Of a check: each state read in, and how each reading follows the wiring; a search may stop anywhere."""
    size, readings = size_of(asked.job), len(asked.readings)
    states = len({reading.state for reading in asked.readings}) or 1
    solved = SOLVED_OF_A_STATE * states * work_of_solve(size.effort, turned=size.turned)
    followed = readings * work_of_slopes(size.effort, turned=size.turned)
    weighed = min(WEIGHING_WORK, work_of_whitening(CAUSES_OF_POINT * size.points, readings))
    weighed += work_of_spread(readings, 2 * size.points) + work_of_causes(size.points, readings)
    return _estimate(solved + followed + weighed, WORK_OF_A_SEARCH)


def commissioning_sheet_work(asked: CommissioningJob) -> Estimate:
    """Of a sheet: each stage in each column."""
    one = work_of_column(asked)
    return _estimate(len(columns_of(asked, work=one)) * one, 0)


def work_of_column(asked: CommissioningJob) -> int:
    """Work of one column of a sheet: nothing on, each run alone, everything on, and what is read in each."""
    job = asked.job
    size = size_of(job)
    places = size.ends + (size.rows if asked.every else KEY_PLACES * size.feeders)
    whole = _stage_work(size, volts=places, amperes=OF_THE_SUPPLY + size.feeders)
    stages = (
        whole
        + _stage_work(size, volts=OF_THE_SUPPLY, amperes=0)
        + work_of_solve(size.effort, turned=size.turned)
    )
    if size.feeders <= 1:
        return stages
    if isinstance(job.wiring, Graph):
        # Nobody can take a graph apart: what is off stays in the circuit.
        return stages + size.feeders * (whole - size.rows) + size.rows
    alone = (size_of(job._replace(wiring=(run,))) for run in job.wiring)
    return stages + sum(_run_work(each, every=asked.every) for each in alone)


def _run_work(size: Size, *, every: bool) -> int:
    """Work of one run alone on."""
    places = size.ends + (size.rows if every else KEY_PLACES)
    return _stage_work(size, volts=1 + places, amperes=1)


def _stage_work(size: Size, *, volts: int, amperes: int) -> int:
    """Work of one stage in one column: solved for the values and for what they may be off."""
    followed = work_of_slopes(size.effort, turned=size.turned)
    spread = volts * followed if size.looped else work_of_tree(size.points, turned=size.turned)
    solved = 2 * work_of_solve(size.effort, turned=size.turned)
    return solved + spread + amperes * (1 + followed) + volts + amperes


def _estimate(first: int, optional: int, *, turned: bool = False) -> Estimate:
    """Where something is drawn out of phase a state near its limit may take twice the usual steps."""
    most = first * (2 if turned else 1) + optional
    return Estimate(first, max(first, min(most, MAXIMUM_REQUEST_WORK)))


def _drop_work(job: Job, size: Size) -> int:
    """Work of one voltage drop, its margin apart; where the layout is unknown two even spreads too."""
    stated = work_of(size.effort) + _answer_work(size.points)
    if job.layout_unknown:
        stated += sum(2 * work_of(lumps + 1) + _answer_work(lumps + 1) for lumps in (LUMPS, LUMPS // 2))
    return stated + _corner_work(job, size)


def _answer_work(points: int) -> int:
    """Work of judging and telling one state."""
    return work_of_judging(points) + work_of_telling(points)


def _findings_work(job: Job, size: Size) -> int:
    """Work of a finding for each fixture and each span in every state, as where all lamps are too low."""
    return 2 * size.points * (1 + _corner_count(job))


def _corner_count(job: Job) -> int:
    return 0 if job.corners is None else len(corners_of(job.corners))


def _corner_work(job: Job, size: Size) -> int:
    """Work of every corner, judged, and of what may be on alone in it."""
    if job.corners is None:
        return 0
    work, switching, state = 0, job.corners.switching, work_of(size.effort)
    circuits = min(size.feeders, len(job.supply.circuits) or size.feeders)
    for corner in corners_of(job.corners):
        work += state + work_of_judging(size.points)
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
    if isinstance(asked.question, LargestLoad) and isinstance(layout, Spaced):
        return 2 + _fixtures_along(asked)
    if isinstance(layout, Spaced):
        return 2 + int(MOST_FIXTURES * share)
    return LUMPS + 2 if layout == EVENLY_SPREAD else 3


def _fixtures_along(asked: ReachJob) -> int:
    """Fixtures along a run whose length was said; more than are tried are refused elsewhere."""
    try:
        return trial_of(asked, 0).pieces or 1
    except JobTooLargeError:
        return MOST_FIXTURES
