"""What would help where no cable of the stock does: each remedy is solved, none is a rule of thumb."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from service import tables
from service.studies.assessment import Assessor, slots_of
from service.studies.candidates import Candidate
from service.studies.errors import JobTooLargeError
from service.studies.job import Graph, Listed
from service.studies.relaid import (
    RATIO_24_OVER_12,
    at_twice_the_voltage,
    closed_to_a_loop,
    fed_from_the_middle,
    split_in_two,
    with_share_of_load,
)
from service.studies.stations import farthest_point, place_fixtures
from service.studies.taps import with_taps
from service.studies.work import Budget, WorkOverLimitError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from service.studies.assessment import Assessment
    from service.studies.job import Job, Run, Subject

PERCENT = 100
"""The share of the load that passes is sought in whole per cent."""

LAYOUTS: tuple[tuple[str, Callable[[Run], tuple[Run, ...] | None]], ...] = (
    ("split-the-run", split_in_two),
    ("feed-from-the-middle", lambda run: _alone(fed_from_the_middle(run))),
    ("close-the-loop", lambda run: _alone(closed_to_a_loop(run))),
)
"""Other layouts of the run that reaches farthest."""


class Remedy(NamedTuple):
    """One remedy and what it does, the stock's thickest cable in every open place unless it says another.

    `parameter` is what it depends on: a tap, a conductor, a share of the load.
    """

    code: str
    subject: Subject
    assessment: Assessment
    parameter: str = ""


class Remedies:
    """Tries remedies on one job.

    Parameters
    ----------
    job : Job
        For which no choice passes.
    open_cables : frozenset of str
        Pointers to the cables that may be chosen; the others stay.
    thickest : Candidate
        The cable of the stock with the least resistance.
    offered_taps_v : tuple of float
        Taps among which each feeder may choose, lowest first; empty where they stay as they are. [V]
    budget : Budget
        Work that may be spent.
    """

    def __init__(
        self,
        job: Job,
        open_cables: frozenset[str],
        thickest: Candidate,
        offered_taps_v: tuple[float, ...],
        budget: Budget,
    ) -> None:
        self._job, self._open_cables, self._thickest = job, open_cables, thickest
        self._offered_taps_v, self._budget = offered_taps_v, budget

    def solved(self) -> list[Remedy]:
        """Every remedy that applies: those that help first, each group in order of how little it asks for."""
        found: list[Remedy] = []
        for tried in (self._higher_tap, self._thicker, self._relaid, self._doubled, self._fewer_watts):
            # What there is no work left for is left out.
            with suppress(WorkOverLimitError):
                found.extend(tried())
        return sorted(found, key=lambda remedy: not remedy.assessment.passes)

    def _assess(
        self, job: Job, candidate: Candidate | None = None, taps_v: tuple[float, ...] | None = None
    ) -> Assessment:
        """One cable in every open place of a job."""
        offered_v = self._offered_taps_v if taps_v is None else taps_v
        assessor = Assessor(job, (candidate or self._thickest,), self._budget, offered_v)
        assessor.slots = slots_of(assessor.layout_spans, self._open_cables, "one")
        return assessor.assess((0,) * len(assessor.slots))

    def _higher_tap(self) -> Iterator[Remedy]:
        """The lowest higher tap that helps all feeders below it, or else the highest there is."""
        supply, feeders = self._job.supply, self._job.feeders()
        used_v = [supply.rated_v if feeder.tap_v is None else feeder.tap_v for feeder in feeders]
        higher = sorted(tap_v for tap_v in supply.taps_v if used_v and tap_v > min(used_v))
        if supply.direct_current or self._offered_taps_v:
            return
        last: Remedy | None = None
        for tap_v in higher:
            raised = with_taps(self._job, tuple(max(tap_v, own_v) for own_v in used_v))
            last = Remedy("tap-up", supply.subject, self._assess(raised), f"{tap_v:g} V")
            if last.assessment.passes:
                break
        if last is not None:
            yield last

    def _thicker(self) -> Iterator[Remedy]:
        """The next thicker conductor of the tables that helps, or else the thickest there is."""
        own = self._thickest.conductor
        metric = own.name.endswith("mm2")
        names = [name for name in tables.CONDUCTOR_NAMES if name.endswith("mm2") == metric]
        last: Remedy | None = None
        for name in names[names.index(own.name) + 1 :]:
            candidate = Candidate(self._thickest.subject, Listed(name, own.material, own.stranding))
            last = Remedy("thicker", self._thickest.subject, self._assess(self._job, candidate), name)
            if last.assessment.passes:
                break
        if last is not None:
            yield last

    def _relaid(self) -> Iterator[Remedy]:
        """Other layouts of the run that reaches farthest, those left out that one request cannot hold."""
        runs = self._job.wiring
        if isinstance(runs, Graph) or not runs:
            return
        longest = max(runs, key=lambda run: farthest_point(run, place_fixtures(run)))
        for code, relay in LAYOUTS:
            new = relay(longest)
            if new is not None:
                with suppress(JobTooLargeError):
                    yield Remedy(code, longest.subject, self._assess_runs(runs, longest, new))

    def _assess_runs(self, runs: tuple[Run, ...], old: Run, new: tuple[Run, ...]) -> Assessment:
        """The job with some runs in the place of one."""
        others = tuple(run for run in runs if run is not old)
        return self._assess(self._job._replace(wiring=(*new, *others)))

    def _doubled(self) -> Iterator[Remedy]:
        """The same watts at twice the voltage."""
        doubled = at_twice_the_voltage(self._job)
        if doubled is not None:
            taps_v = tuple(RATIO_24_OVER_12 * tap_v for tap_v in self._offered_taps_v)
            assessment = self._assess(doubled, taps_v=taps_v)
            yield Remedy("twice-the-voltage", self._job.supply.subject, assessment, "24 V")

    def _fewer_watts(self) -> Iterator[Remedy]:
        """The largest share of every load, in whole per cent, with which the thickest cable passes."""
        low, high, best = 0, PERCENT, None
        while high - low > 1:
            middle = (low + high) // 2
            assessment = self._assess(with_share_of_load(self._job, middle / PERCENT))
            if assessment.passes:
                low, best = middle, assessment
            else:
                high = middle
        if best is not None:
            yield Remedy("fewer-watts", self._job.subject, best, f"{low} %")


def _alone(run: Run | None) -> tuple[Run, ...] | None:
    return None if run is None else (run,)
