"""What would help where no cable of the stock does: each remedy is solved, none is a rule of thumb."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service import tables
from service.studies.assessment import Assessor, slots_of, with_taps
from service.studies.candidates import Candidate
from service.studies.job import Listed
from service.studies.relaid import (
    at_twice_the_voltage,
    closed_to_a_loop,
    fed_from_the_middle,
    split_in_two,
    with_share_of_load,
)
from service.studies.stations import farthest_point, place_fixtures
from service.studies.work import Budget, WorkOverLimitError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from service.studies.assessment import Assessment
    from service.studies.job import Job, Run, Subject

HALVINGS = 7
"""Halvings of the load in the search for the share that passes: to about 1 %."""

LAYOUTS: tuple[tuple[str, Callable[[Run], tuple[Run, ...] | None]], ...] = (
    ("split-the-run", split_in_two),
    ("feed-from-the-middle", lambda run: _alone(fed_from_the_middle(run))),
    ("close-the-loop", lambda run: _alone(closed_to_a_loop(run))),
)
"""Other layouts of the run that reaches farthest."""


class Remedy(NamedTuple):
    """One remedy and what it does, with the thickest cable of the stock unless it says another.

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
    thickest : Candidate
        The cable of the stock with the least resistance.
    budget : Budget
        Work that may be spent.
    """

    def __init__(self, job: Job, thickest: Candidate, budget: Budget) -> None:
        self._job, self._thickest, self._budget = job, thickest, budget

    def solved(self) -> list[Remedy]:
        """Every remedy that applies: those that help first, each group in order of how little it asks for."""
        found: list[Remedy] = []
        try:
            for remedy in self._each():
                found.append(remedy)  # noqa: PERF402  what was solved before the budget ended is kept
        except WorkOverLimitError:
            pass
        return sorted(found, key=lambda remedy: not remedy.assessment.passes)

    def _each(self) -> Iterator[Remedy]:
        yield from self._higher_tap()
        yield from self._thicker()
        yield from self._relaid()
        doubled = at_twice_the_voltage(self._job)
        if doubled is not None:
            yield Remedy("twice-the-voltage", self._job.supply.subject, self._assess(doubled), "24 V")
        yield from self._fewer_watts()

    def _assess(self, job: Job, candidate: Candidate | None = None) -> Assessment:
        """One cable everywhere in a job."""
        assessor = Assessor(job, (candidate or self._thickest,), self._budget)
        everywhere = frozenset(span.cable_at for span in assessor.layout_spans if span.cable_at)
        assessor.slots = slots_of(assessor.layout_spans, everywhere, "one")
        return assessor.assess((0,) * len(assessor.slots))

    def _higher_tap(self) -> Iterator[Remedy]:
        """The lowest higher tap that helps, or else the highest there is."""
        supply, feeders = self._job.supply, self._job.feeders()
        used_v = [supply.rated_v if feeder.tap_v is None else feeder.tap_v for feeder in feeders]
        higher = sorted(tap_v for tap_v in supply.taps_v if used_v and tap_v > min(used_v))
        if supply.direct_current or not higher:
            return
        yield self._first_that_passes(
            "tap-up",
            ((f"{tap_v:g} V", with_taps(self._job, (tap_v,) * len(feeders))) for tap_v in higher),
        )

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
        """Other layouts of the run that reaches farthest."""
        runs = self._job.wiring
        if not isinstance(runs, tuple) or not runs:
            return
        longest = max(runs, key=lambda run: farthest_point(run, place_fixtures(run)))
        for code, relay in LAYOUTS:
            new = relay(longest)
            if new is not None:
                others = tuple(run for run in runs if run is not longest)
                job = self._job._replace(wiring=(*new, *others))
                yield Remedy(code, longest.subject, self._assess(job))

    def _fewer_watts(self) -> Iterator[Remedy]:
        """The largest share of every load with which the thickest cable passes."""
        low, high, best = 0.0, 1.0, None
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            assessment = self._assess(with_share_of_load(self._job, middle))
            if assessment.passes:
                low, best = middle, assessment
            else:
                high = middle
        if best is not None:
            yield Remedy("fewer-watts", self._job.subject, best, f"{100.0 * low:.0f} %")

    def _first_that_passes(self, code: str, tries: Iterator[tuple[str, Job]]) -> Remedy:
        """The first of several that passes, or else the last."""
        for parameter, job in tries:
            remedy = Remedy(code, self._job.supply.subject, self._assess(job), parameter)
            if remedy.assessment.passes:
                break
        return remedy


def _alone(run: Run | None) -> tuple[Run, ...] | None:
    return None if run is None else (run,)
