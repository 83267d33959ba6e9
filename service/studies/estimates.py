"""What a request will cost, from its lines alone: nothing is laid out or solved."""

from typing import NamedTuple

from service.studies.commissioning.asked import CommissioningJob
from service.studies.drop_chart_job import WORK_OF_A_CELL, ChartJob
from service.studies.gauge_recommendation import Question as GaugeQuestion
from service.studies.job import Graph, Job, Run
from service.studies.readings.asked import ReadingsJob
from service.studies.stock import Question as LoadingQuestion
from service.studies.trial import ReachJob
from service.studies.work import MAXIMUM_REQUEST_WORK, MAXIMUM_WORK, WORK_OF_A_STATE, WORK_OF_JUDGING


class Estimate(NamedTuple):
    """Work up to the first complete answer, and with all parts that may stop anywhere."""

    first: int
    most: int


def _run_points(run: Run) -> int:
    return sum(line.pieces for line in run.fixtures) + sum(map(_run_points, run.branches)) + 2


def _points(job: Job) -> int:
    if isinstance(job.wiring, Graph):
        return len(job.wiring.spans) + len(job.wiring.fixtures)
    return sum(map(_run_points, job.wiring))


def _state(job: Job) -> int:
    return (1 + WORK_OF_JUDGING) * _points(job) + WORK_OF_A_STATE


def _of(first: int, more: int = 0) -> Estimate:
    return Estimate(first, first if first > MAXIMUM_REQUEST_WORK else min(first + more, MAXIMUM_REQUEST_WORK))


def voltage_drop_work(job: Job) -> Estimate:
    """Of one state, its corners and its margin."""
    work = _state(job)
    return _of(work, MAXIMUM_WORK if job.margin or job.corners is not None else 0)


def transformer_loading_work(question: LoadingQuestion) -> Estimate:
    """Of one state and the choice."""
    return _of(3 * _state(question.job))


def gauge_recommendation_work(question: GaugeQuestion) -> Estimate:
    """Of one choice and the search."""
    return _of(_state(question.job), MAXIMUM_WORK)


def reach_work(asked: ReachJob) -> Estimate:
    """Of the trials."""
    return _of(20 * WORK_OF_A_STATE + asked.last)


def drop_chart_work(job: ChartJob) -> Estimate:
    """Of all cells."""
    return _of(WORK_OF_A_CELL * len(job.lines) * len(job.powers_w) * len(job.lengths_m))


def readings_check_work(asked: ReadingsJob) -> Estimate:
    """Of the model and the causes."""
    return _of(_state(asked.job) * (1 + len(asked.readings)), MAXIMUM_WORK)


def commissioning_sheet_work(asked: CommissioningJob) -> Estimate:
    """Of all stages."""
    return _of(_state(asked.job) * 10)
