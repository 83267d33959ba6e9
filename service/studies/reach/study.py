"""The longest run for a load, the largest load for a run, the most fixtures at a spacing.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from collections.abc import Callable
from math import log2
from typing import Final, NamedTuple

from service.circuit.corners import at_corner, corners_of
from service.circuit.envelope import Extreme
from service.circuit.estimate import (
    Estimate,
    Size,
    answer_work,
    corner_count,
    drop_work,
    estimate_of,
    refuse_over_limit,
)
from service.circuit.job import CableSpec, FixtureSpec, Job, JobPart, JobTooLargeError, RunSpec
from service.circuit.reading import EndResult, StateReading, read_off
from service.circuit.runs import LUMPS, Placement, evenly_spread, lines_at, lumped, spaced
from service.circuit.state import connect_job, network_of, solve_connected
from service.circuit.work import (
    work_of,
)
from service.findings.connection import CABLE_TOO_LONG_FOR_SUPPLY, length_findings
from service.findings.finding import FindingFacts
from service.findings.loading import (
    CIRCUIT_NEAR_LIMIT,
    CIRCUIT_OVER_CURRENT,
    CLASS_2_EXCEEDED,
    DC_SUPPLY_OVER_RATING,
    TRANSFORMER_OVER_RATING,
    circuit_findings,
    class_2_findings,
    loading_findings,
)
from service.findings.protection import SPAN_OVER_AMPACITY, ampacity_findings
from service.findings.voltage import (
    DROP_OVER_LIMIT,
    FIXTURE_BELOW_WINDOW,
    NO_OPERATING_POINT,
    drop_findings,
    window_findings,
)
from service.physics.solve import NoOperatingPointError
from service.studies.voltage_drop.study import (
    Answer,
    closer,
    end_of,
    voltage_drop,
)


def reach_work(asked: ReachJob) -> Estimate:
    """Of a reach: every run that is tried in every state, the last two in full."""
    points = [_trial_points(asked, share) for share in _trial_shares(asked)]
    states = 1 + corner_count(asked.job)
    tried = sum(states * work_of(each) for each in points)
    largest = Size(max(points), max(points), max(points), 0, 1, 1, looped=False, turned=False)
    told = 2 * drop_work(asked.job, largest)
    coarse = 2 * (work_of(LUMPS) + answer_work(LUMPS)) if asked.gapless else 0
    shifted = asked.line.load.non_active_var or asked.line.load.non_active_a
    return estimate_of(tried + told + coarse, 0, turned=bool(shifted) and not asked.job.all_in_phase)


def _trial_shares(asked: ReachJob) -> list[float]:
    """How large each run that is tried is, over the largest: doubled from the first on, then halved."""
    steps = int(log2(asked.last + 1)) + 1
    return [*(2.0 ** (step - steps) for step in range(steps)), *[1.0] * steps]


def _trial_points(asked: ReachJob, share: float) -> int:
    """The most points of one run that is tried."""
    layout = asked.question.layout
    if isinstance(asked.question, LoadSearch) and isinstance(layout, Spaced):
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


BINDING: Final = (
    NO_OPERATING_POINT,
    FIXTURE_BELOW_WINDOW,
    DROP_OVER_LIMIT,
    SPAN_OVER_AMPACITY,
    CIRCUIT_OVER_CURRENT,
    CIRCUIT_NEAR_LIMIT,
    CLASS_2_EXCEEDED,
    TRANSFORMER_OVER_RATING,
    DC_SUPPLY_OVER_RATING,
    CABLE_TOO_LONG_FOR_SUPPLY,
)
"""Findings that a longer run, a larger load or more fixtures bring about."""


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


def binding_of(answer: Answer) -> list[FindingFacts]:
    """Of the findings those that bind: of each kind the one farthest beyond its limit."""
    alike = [[finding for finding in answer.findings if finding.kind is kind] for kind in BINDING]
    return [max(found, key=_excess) for found in alike if found]


def _excess(finding: FindingFacts) -> float:
    """How far a value lies beyond its limit; zero where one of them is not a number. [of its unit]"""
    if finding.measured is None or finding.limit is None:
        return 0.0
    return abs(finding.measured.value - finding.limit.value)


def _state_keeps(job: Job) -> bool:
    connected = connect_job(job)
    try:
        state = solve_connected(connected, network_of(connected))
    except NoOperatingPointError:
        return False
    return not any(finding.kind in BINDING for finding in _limit_findings(read_off(state)))


def _limit_findings(reading: StateReading) -> list[FindingFacts]:
    """Those findings of one state among which the binding ones are."""
    return [
        *window_findings(reading),
        *drop_findings(reading),
        *loading_findings(reading),
        *circuit_findings(reading),
        *class_2_findings(reading),
        *ampacity_findings(reading),
        *length_findings(reading.state),
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


MOST_FIXTURES = 500
"""Fixtures of one run that are tried."""


QUESTION = "/question"


class Spaced(NamedTuple):
    """One fixture every so much, the first at its own place. [m]"""

    spacing_m: float
    first_m: float


LUMPED, EVENLY_SPREAD = "lumped", "evenly-spread"


Layout = Spaced | str
"""One of the words above, or fixtures at a spacing."""


class LengthSearch(NamedTuple):
    """How far? The load is that of all fixtures together; one step of length is `unit_m`. [m]"""

    layout: Layout
    unit_m: float


class LoadSearch(NamedTuple):
    """How many watts? The line's load is one watt. [m]"""

    layout: Layout
    length_m: float


class CountSearch(NamedTuple):
    """How many? The line's load is that of each fixture."""

    layout: Spaced


class ReachJob(NamedTuple):
    """A question: a job without wiring, the fixture line and the cable that its runs are made of."""

    job: Job
    line: FixtureSpec
    cable: CableSpec
    question: LengthSearch | LoadSearch | CountSearch

    @property
    def gapless(self) -> bool:
        """Whether the load is one without gaps, computed as lumps."""
        return getattr(self.question, "layout", None) == EVENLY_SPREAD

    @property
    def counted(self) -> bool:
        """Whether fixtures are counted, instead of metres or watts."""
        return not isinstance(self.question, LoadSearch) and isinstance(self.question.layout, Spaced)

    @property
    def last(self) -> int:
        """The index of the largest run that is tried."""
        return MOST_FIXTURES - 1 if self.counted else LAST_RUNG


class Trial(NamedTuple):
    """One run: how long [m], how many watts or fixtures where those are asked for, and what hangs where."""

    length_m: float
    placements: tuple[Placement, ...]
    power_w: float | None = None
    pieces: int | None = None

    @property
    def tail_m(self) -> float:
        """Bare cable behind the last fixture. [m]"""
        (last,) = self.placements[-1:]
        end_m = last.at_m + (last.pieces - 1) * (last.spacing_m or 0.0)
        return max(0.0, self.length_m - end_m)


class Tried(NamedTuple):
    """One run that was tried, as it was solved."""

    trial: Trial
    answer: Answer
    end: EndResult | None
    lowest: Extreme | None


class ReachAnswer(NamedTuple):
    """The largest run that keeps every limit, the next one, and what breaks there; None: there is none."""

    kept: Tried | None
    beyond: Tried | None
    binding: list[FindingFacts]


def trial_of(asked: ReachJob, index: int, lumps: int = LUMPS) -> Trial:
    """The run at a place in the row of all that may be tried: longer, larger or with more fixtures.

    Raises
    ------
    JobTooLargeError
        A run of the length asked for would have more fixtures than are tried.
    """
    question = asked.question
    if isinstance(question, LoadSearch):
        placements = _along(question.layout, question.length_m, lumps)
        return Trial(question.length_m, placements, power_w=rung(index), pieces=_count(question))
    if isinstance(question.layout, Spaced):
        spacing_m, first_m = question.layout
        count = index + 1
        share_ratio = 1.0 if isinstance(question, CountSearch) else 1.0 / count
        placements = spaced(first_m, spacing_m, count, share_ratio=share_ratio)
        return Trial(first_m + index * spacing_m, placements, pieces=count)
    length_m = rung(index) * question.unit_m
    return Trial(length_m, _along(question.layout, length_m, lumps))


def job_of(asked: ReachJob, trial: Trial) -> Job:
    """The job of one run that is tried."""
    line = asked.line
    if trial.power_w is not None:
        line = line._replace(load=line.load.scaled(trial.power_w))
    fixtures = lines_at(line, trial.placements)
    run = RunSpec(JobPart(QUESTION), None, 0.0, asked.cable, (), trial.tail_m, None, fixtures, ())
    return asked.job._replace(wiring=(run,))


def _along(layout: Layout, length_m: float, lumps: int) -> tuple[Placement, ...]:
    """A load placed along a run of this length. [m]"""
    if isinstance(layout, Spaced):
        count = _fitting(layout, length_m)
        return spaced(min(layout.first_m, length_m), layout.spacing_m, count, share_ratio=1.0 / count)
    return evenly_spread(length_m, lumps) if layout == EVENLY_SPREAD else lumped(length_m)


def _count(question: LoadSearch) -> int | None:
    layout = question.layout
    return _fitting(layout, question.length_m) if isinstance(layout, Spaced) else None


UNCOUNTED = 1e9
"""More fixtures than this are not told apart: a spacing may be so small that there is no number for them."""


def _fitting(layout: Spaced, length_m: float) -> int:
    """How many fixtures stand on a run of this length [m]; at least one, at its end if nowhere else.

    Raises
    ------
    JobTooLargeError
        More than are tried.
    """
    if layout.spacing_m <= 0.0 or layout.first_m >= length_m:
        return 1
    # A length that is a whole number of spacings must not lose its last fixture to rounding.
    spacings = (length_m - layout.first_m) / layout.spacing_m * (1.0 + 1e-12) + 1e-9
    count = int(min(spacings, UNCOUNTED)) + 1
    if count > MOST_FIXTURES:
        raise JobTooLargeError("fixtures", count, MOST_FIXTURES, f"{QUESTION}/layout/spacing")
    return count


SMALLEST_DECADE, DECADES = -1, 5
"""Rungs go from 0.1 to 9,999 in whatever unit is asked for."""


DIGITS = 1_000


PER_DECADE = 9 * DIGITS


LAST_RUNG = DECADES * PER_DECADE - 1


def rung(index: int) -> float:
    """The value of four digits at a place in their row.

    Neighbours are at most 0.1 % apart, and each is the float that its decimal text is read as.

    Parameters
    ----------
    index : int
        From zero to `LAST_RUNG`.

    Examples
    --------
    >>> rung(0), rung(1), rung(PER_DECADE), rung(LAST_RUNG)
    (0.1, 0.1001, 1.0, 9999.0)
    """
    decade, digits = divmod(index, PER_DECADE)
    shift = SMALLEST_DECADE + decade - 3
    whole = digits + DIGITS
    return whole / 10**-shift if shift < 0 else float(whole * 10**shift)


def last_holding(holds: Callable[[int], bool], last: int) -> int | None:
    """The last index that holds, where all before it hold too; None where not even the first does.

    Steps double from the first on, so that nothing much larger than the answer is tried; then they halve.

    Parameters
    ----------
    holds : callable
        Once it fails it must keep failing.
    last : int
        The largest index there is.
    """
    if not holds(0):
        return None
    low, step = 0, 1
    while low < last and holds(min(low + step, last)):
        low = min(low + step, last)
        step *= 2
    high = min(low + step, last + 1)
    while high - low > 1:
        middle = (low + high) // 2
        if holds(middle):
            low = middle
        else:
            high = middle
    return low
