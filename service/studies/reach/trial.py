"""The runs among which a reach is found: what is sought, and the run at each place in their row."""

from __future__ import annotations

from typing import NamedTuple

from service.circuit.job import CableSpec, FixtureSpec, Job, JobPart, JobTooLargeError, RunSpec
from service.circuit.runs import LUMPS, Placement, evenly_spread, lines_at, lumped, spaced

MOST_FIXTURES = 500
"""Fixtures of one run that are tried."""


QUESTION = "/question"


class Spaced(NamedTuple):
    """One fixture every so much, the first at its own place. [m]"""

    spacing_m: float
    first_m: float


LUMPED, EVENLY_SPREAD = "lumped", "evenly-spread"


LoadLayout = Spaced | str
"""One of the words above, or fixtures at a spacing."""


class LengthSearch(NamedTuple):
    """How far? The load is that of all fixtures together; one step of length is `unit_m`. [m]"""

    layout: LoadLayout
    unit_m: float


class LoadSearch(NamedTuple):
    """How many watts? The line's load is one watt. [m]"""

    layout: LoadLayout
    length_m: float


class CountSearch(NamedTuple):
    """How many? The line's load is that of each fixture."""

    layout: Spaced


class ReachJob(NamedTuple):
    """A question: a job without wiring, the fixture line and the cable that its runs are made of.

    `accepted` are the codes of warnings that the caller accepts.
    """

    job: Job
    line: FixtureSpec
    cable: CableSpec
    question: LengthSearch | LoadSearch | CountSearch
    accepted: frozenset[str]

    def stated(self) -> ReachJob:
        """The same question, judged over what the request states and no usual range."""
        return self._replace(job=self.job.as_stated())

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


def trial_of(reach_job: ReachJob, index: int, lumps: int = LUMPS) -> Trial:
    """The run at a place in the row of all that may be tried: longer, larger or with more fixtures.

    Raises
    ------
    JobTooLargeError
        A run of the length asked for would have more fixtures than are tried.
    """
    question = reach_job.question
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


def job_of(reach_job: ReachJob, trial: Trial) -> Job:
    """The job of one run that is tried."""
    line = reach_job.line
    if trial.power_w is not None:
        line = line._replace(load=line.load.scaled(trial.power_w))
    fixtures = lines_at(line, trial.placements)
    run = RunSpec(JobPart(QUESTION), None, 0.0, reach_job.cable, (), trial.tail_m, None, fixtures, ())
    return reach_job.job._replace(wiring=(run,))


def _along(layout: LoadLayout, length_m: float, lumps: int) -> tuple[Placement, ...]:
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
