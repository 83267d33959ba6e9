"""A question about a run, and the runs that are tried to answer it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.studies.errors import JobTooLargeError
from service.studies.job import Run, Subject
from service.studies.placement import LUMPS, evenly_spread, lines_at, lumped, spaced
from service.studies.rungs import LAST_RUNG, rung

if TYPE_CHECKING:
    from service.studies.job import CableSpec, FixtureLine, Job
    from service.studies.placement import Placement

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


class LongestRun(NamedTuple):
    """How far? The load is that of all fixtures together; one step of length is `unit_m`. [m]"""

    layout: Layout
    unit_m: float


class LargestLoad(NamedTuple):
    """How many watts? The line's load is one watt. [m]"""

    layout: Layout
    length_m: float


class MostFixtures(NamedTuple):
    """How many? The line's load is that of each fixture."""

    layout: Spaced


class ReachJob(NamedTuple):
    """A question: a job without wiring, the fixture line and the cable that its runs are made of."""

    job: Job
    line: FixtureLine
    cable: CableSpec
    question: LongestRun | LargestLoad | MostFixtures

    @property
    def gapless(self) -> bool:
        """Whether the load is one without gaps, computed as lumps."""
        return getattr(self.question, "layout", None) == EVENLY_SPREAD

    @property
    def counted(self) -> bool:
        """Whether fixtures are counted, instead of metres or watts."""
        return not isinstance(self.question, LargestLoad) and isinstance(self.question.layout, Spaced)

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


def trial_of(asked: ReachJob, index: int, lumps: int = LUMPS) -> Trial:
    """The run at a place in the row of all that may be tried: longer, larger or with more fixtures.

    Raises
    ------
    JobTooLargeError
        A run of the length asked for would have more fixtures than are tried.
    """
    question = asked.question
    if isinstance(question, LargestLoad):
        placements = _along(question.layout, question.length_m, lumps)
        return Trial(question.length_m, placements, power_w=rung(index), pieces=_count(question))
    if isinstance(question.layout, Spaced):
        spacing_m, first_m = question.layout
        count = index + 1
        share_ratio = 1.0 if isinstance(question, MostFixtures) else 1.0 / count
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
    run = Run(Subject(QUESTION), None, 0.0, asked.cable, (), trial.tail_m, None, fixtures, ())
    return asked.job._replace(wiring=(run,))


def _along(layout: Layout, length_m: float, lumps: int) -> tuple[Placement, ...]:
    """A load placed along a run of this length. [m]"""
    if isinstance(layout, Spaced):
        count = _fitting(layout, length_m)
        return spaced(min(layout.first_m, length_m), layout.spacing_m, count, share_ratio=1.0 / count)
    return evenly_spread(length_m, lumps) if layout == EVENLY_SPREAD else lumped(length_m)


def _count(question: LargestLoad) -> int | None:
    layout = question.layout
    return _fitting(layout, question.length_m) if isinstance(layout, Spaced) else None


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
    count = int((length_m - layout.first_m) / layout.spacing_m * (1.0 + 1e-12) + 1e-9) + 1
    if count > MOST_FIXTURES:
        raise JobTooLargeError("fixtures", count, MOST_FIXTURES, f"{QUESTION}/layout/spacing")
    return count
