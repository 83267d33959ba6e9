"""A run whose layout is unknown, between its two bounds: all of the load at the end, or spread evenly."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.studies.job import Graph
from service.studies.outcome import Bracket, EndState
from service.studies.placement import LUMPS, evenly_spread, lines_at

if TYPE_CHECKING:
    from collections.abc import Callable

    from service.studies.job import Job
    from service.studies.outcome import Answer

    Solver = Callable[[Job], Answer]


def bracketed(job: Job, answer: Answer, solve: Solver) -> Answer:
    """The answer to a job of unknown layout, lumped at the end, beside what an even spread gives.

    Of the spread only the lamp next to the supply may show what the lumped state hides: too high a voltage.
    """
    spread = solve(spread_job(job, LUMPS))
    coarse = solve(spread_job(job, LUMPS // 2))
    bracket = Bracket(end_of(job, answer), closer(end_of(job, spread), end_of(job, coarse)))
    above = [found for found in spread.findings if found.code == "fixture-above-window"][:1]
    if any(found.code == "fixture-above-window" for found in answer.findings):
        above = []
    return answer._replace(bracket=bracket, findings=[*answer.findings, *above])


def spread_job(job: Job, lumps: int) -> Job:
    """A job of one run with its load spread evenly along it, in the state that was said."""
    assert not isinstance(job.wiring, Graph)  # noqa: S101  a job of unknown layout is one run
    (run,) = job.wiring
    (line,) = run.fixtures
    spread = run._replace(fixtures=lines_at(line, evenly_spread(line.at_m, lumps)))
    return job._replace(wiring=(spread,), layout_unknown=False, margin=False, corners=None)


def end_of(job: Job, answer: Answer) -> EndState | None:
    """The far end of the one run of an answer; None where it cannot carry its load."""
    if answer.supply is None:
        return None
    (run,) = answer.runs
    terminal_v = answer.supply.terminal_v
    return EndState(
        end_v=run.end_v,
        verdict=answer.fixtures[-1].verdict,
        terminal_v=terminal_v,
        drop_ratio=(terminal_v - run.end_v) / job.supply.rated_v,
        current_a=run.current_a,
        cable_loss_w=answer.cable_loss_w,
    )


def closer(fine: EndState | None, coarse: EndState | None) -> EndState | None:
    """A state of many lumps with the error that it may have, from one of half as many.

    The error falls with the square of the number, so the fine state is off by a third of the difference; the
    whole of it is stated.
    """
    if fine is None or coarse is None:
        return fine
    return fine._replace(error_v=abs(fine.end_v - coarse.end_v))
