"""How far, how much, how many: the largest run with which every limit is kept.

On one run without loops a longer cable, a larger load or one more fixture at the end never raises a voltage,
and never lowers the current of loads of constant power, so halving finds the answer. A resistor or a filament
draws less at the end of a longer cable: its current is greatest on the shortest, which is tried first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.physics.solve import NoOperatingPointError
from service.studies.bracket import closer, end_of
from service.studies.connected import connect_job
from service.studies.corners import at_corner, corners_of
from service.studies.estimates import reach_work, refuse_over_limit
from service.studies.findings.connection import length_findings
from service.studies.findings.loading import circuit_findings, class_2_findings, loading_findings
from service.studies.findings.protection import ampacity_findings
from service.studies.findings.voltage import drop_findings, window_findings
from service.studies.placement import LUMPS
from service.studies.rungs import last_holding
from service.studies.solving import network_of, solve_connected
from service.studies.trial import job_of, trial_of
from service.studies.voltage_drop import voltage_drop

if TYPE_CHECKING:
    from service.studies.envelope import Extreme
    from service.studies.finding import Finding
    from service.studies.job import Job
    from service.studies.outcome import Answer, EndState
    from service.studies.state import SolvedState
    from service.studies.trial import ReachJob, Trial

BINDING = (
    "no-operating-point",
    "fixture-below-window",
    "drop-over-limit",
    "span-over-ampacity",
    "circuit-over-current",
    "circuit-near-limit",
    "class-2-exceeded",
    "transformer-over-rating",
    "dc-supply-over-rating",
    "cable-too-long-for-supply",
)
"""Findings that a longer run, a larger load or more fixtures bring about."""


class Tried(NamedTuple):
    """One run that was tried, as it was solved."""

    trial: Trial
    answer: Answer
    end: EndState | None
    lowest: Extreme | None


class ReachAnswer(NamedTuple):
    """The largest run that keeps every limit, the next one, and what breaks there; None: there is none."""

    kept: Tried | None
    beyond: Tried | None
    binding: list[Finding]


def reach(asked: ReachJob) -> ReachAnswer:
    """Answer a question about a run.

    Raises
    ------
    JobTooLargeError
        A run of the length asked for would have more fixtures than are tried.
    """
    refuse_over_limit(reach_work(asked))
    found = last_holding(lambda index: keeps_limits(job_of(asked, trial_of(asked, index))), asked.last)
    kept = None if found is None else _tried(asked, found)
    following = 0 if found is None else found + 1
    if following > asked.last:
        return ReachAnswer(kept, None, [])
    beyond = _tried(asked, following)
    return ReachAnswer(kept, beyond, binding_of(beyond.answer))


def keeps_limits(job: Job) -> bool:
    """Whether a run keeps every limit, in the state that was said and in every corner."""
    corners = [] if job.corners is None else corners_of(job.corners)
    return all(_state_keeps(each) for each in (job, *(at_corner(job, corner) for corner in corners)))


def binding_of(answer: Answer) -> list[Finding]:
    """Of the findings those that bind: of each kind the one farthest beyond its limit."""
    kinds = [[finding for finding in answer.findings if finding.code == code] for code in BINDING]
    return [max(kind, key=_excess) for kind in kinds if kind]


def _excess(finding: Finding) -> float:
    """How far a value lies beyond its limit; nought where one of them is not a number. [of its unit]"""
    if finding.measured is None or finding.limit is None:
        return 0.0
    return abs(finding.measured.value - finding.limit.value)


def _state_keeps(job: Job) -> bool:
    connected = connect_job(job)
    try:
        state = solve_connected(connected, network_of(connected))
    except NoOperatingPointError:
        return False
    return not any(finding.code in BINDING for finding in _limit_findings(state))


def _limit_findings(state: SolvedState) -> list[Finding]:
    """Those findings of one state among which the binding ones are."""
    voltage_v = state.voltages()
    fixtures, spans = state.fixtures(voltage_v), state.spans(voltage_v)
    delivered_w = sum(row.real_w * row.placed.pieces for row in fixtures) + sum(span.loss_w for span in spans)
    supply = state.supply(state.feeder_currents(), delivered_w=delivered_w)
    return [
        *window_findings(state, fixtures),
        *drop_findings(state, fixtures),
        *loading_findings(state, supply),
        *circuit_findings(state, supply),
        *class_2_findings(state, supply),
        *ampacity_findings(spans),
        *length_findings(state),
    ]


def _tried(asked: ReachJob, index: int) -> Tried:
    """Solve one run in full."""
    trial = trial_of(asked, index)
    job = job_of(asked, trial)
    answer = voltage_drop(job)
    end = end_of(job, answer)
    if asked.gapless:
        coarse = job_of(asked, trial_of(asked, index, LUMPS // 2))
        end = closer(end, end_of(coarse, voltage_drop(coarse._replace(corners=None))))
    return Tried(trial, answer, end, _lowest(answer))


def _lowest(answer: Answer) -> Extreme | None:
    """The lowest voltage of any fixture in any corner, where corners were asked for. [V]"""
    if answer.envelope is None:
        return None
    lows = [extremes.lowest for extremes in answer.envelope.fixtures.values() if extremes.lowest is not None]
    return min(lows, key=lambda extreme: extreme.value, default=None)
