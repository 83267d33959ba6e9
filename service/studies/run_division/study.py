"""Which lamps on which run: every division of equal load is tried, and the cheapest that passes is taken."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from heapq import heappop, heappush
from itertools import count
from math import inf
from typing import NamedTuple

from service.circuit.estimate import Estimate, estimate_of
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.work import WorkOverLimitError, held_back, left
from service.studies.run_division.division import ZonePlan

MOST_FOR_TRIALS = 40_000
"""Work of all trials over one range, but for the last of them."""


KEPT_FOR_THE_CHOICE = 40_000
"""Work for the choice of cables in the division that is taken: with less left no trial is begun."""


MOST_TOGETHER = 24
"""Divisions of all zones together that are tried."""


class DivisionJob(NamedTuple):
    """The ways to divide each zone of a request.

    No cable costs less than `least_per_m`. [currency/m], or [mm²] where not every one has a price
    `whole` is the estimate of choosing the cables of all of it, each zone in as many runs as it may have.
    """

    plans: tuple[tuple[ZonePlan, ...], ...]
    least_per_m: float
    whole: Estimate


class DivisionTrial(NamedTuple):
    """What choosing the cables of a division came to: its cost [currency, or mm² m], infinite where none do.

    `proven` is false where the work ended before anything was found that passes.
    """

    cost: float
    proven: bool = True

    @property
    def passes(self) -> bool:
        """Whether cables were found with which every limit is kept."""
        return self.cost < inf


class TriedPlan(NamedTuple):
    """One way to divide one zone, and what it came to alone on the supply, where it was tried.

    `dearer`: it was not, because even its cheapest cable costs more than one that passes.
    """

    zone: int
    plan: ZonePlan
    trial: DivisionTrial | None
    dearer: bool


class DividedZones(NamedTuple):
    """The plan that is taken for each zone, whether they pass together, and all that was tried.

    `complete`: nothing was left untried for want of work.
    """

    plans: tuple[ZonePlan, ...]
    passes: bool
    tried: tuple[TriedPlan, ...]
    complete: bool


Attempt = Callable[[Sequence[ZonePlan | None]], DivisionTrial]
"""Chooses the cables of some zones, divided so; None is a zone that is left out."""


def run_division_work(job: DivisionJob) -> Estimate:
    """Of the choice in the end; the trials before it may stop anywhere."""
    return estimate_of(job.whole.first, MAXIMUM_REQUEST_WORK)


def run_division(job: DivisionJob, attempt: Attempt) -> DividedZones:
    """Divide every zone.

    Parameters
    ----------
    job : DivisionJob
    attempt : callable
        How the cables of a division are chosen.

    Notes
    -----
    The plans of a zone are tried alone on the supply, that of least possible cost first, until none that is
    left can cost less than one that passes. Those that pass are put together in the order of the sum of their
    costs, until that sum is no less than what was found: zones share the winding's drop, so that together
    they cost about as much as alone, or more. Where none passes together the dearer ones are tried as well.
    """
    enough = max(KEPT_FOR_THE_CHOICE, left() - MOST_FOR_TRIALS)

    def within(plans: Sequence[ZonePlan | None]) -> DivisionTrial:
        if left() < enough:
            raise WorkOverLimitError(MOST_FOR_TRIALS)
        return attempt(plans)

    search = _Search(job, within)
    with held_back(2 * job.whole.first), suppress(WorkOverLimitError):
        search.run()
    return search.divided()


class _Search:
    def __init__(self, job: DivisionJob, attempt: Attempt) -> None:
        self._job, self._attempt = job, attempt
        self._plans = job.plans
        self._alone: dict[tuple[int, ZonePlan], DivisionTrial] = {}
        self._together: set[tuple[ZonePlan, ...]] = set()
        self._best_cost = inf
        self._best: tuple[ZonePlan, ...] | None = None
        self._complete = False

    def run(self) -> None:
        """Try each zone alone until something passes, then all together, then whatever may be cheaper.

        The dearer plans are tried where nothing passes together so far.
        """
        for step in (self._try_first, self._try_cheaper, self._try_dearer):
            for zone in range(len(self._plans)):
                step(zone)
            self._try_together()
            if self._best is not None and step == self._try_cheaper:
                break
        self._complete = all(trial.proven for trial in self._alone.values())

    def divided(self) -> DividedZones:
        """What was found; where nothing passes, the plans with the least moments."""
        tried = tuple(
            TriedPlan(zone, plan, self._alone.get((zone, plan)), self._is_dearer(zone, plan))
            for zone, plans in enumerate(self._plans)
            for plan in plans
        )
        if self._best is not None:
            return DividedZones(self._best, passes=True, tried=tried, complete=self._complete)
        plans = tuple(min(plans, key=lambda plan: (plan.moment_va_m, plan.cable_m)) for plans in self._plans)
        return DividedZones(plans, passes=False, tried=tried, complete=self._complete)

    def _try_first(self, zone: int) -> None:
        """Try the plans of a zone, those of least cable first, until one passes."""
        for plan in self._by_cable(zone):
            if self._ranked(zone):
                break
            self._try_alone(zone, plan)

    def _try_cheaper(self, zone: int) -> None:
        """Try those that may cost less than one that passes."""
        for plan in self._by_cable(zone):
            if not self._is_dearer(zone, plan):
                self._try_alone(zone, plan)

    def _try_dearer(self, zone: int) -> None:
        """Try the rest."""
        for plan in self._by_cable(zone):
            self._try_alone(zone, plan)

    def _by_cable(self, zone: int) -> list[ZonePlan]:
        return sorted(self._plans[zone], key=lambda plan: plan.cable_m)

    def _try_alone(self, zone: int, plan: ZonePlan) -> None:
        if (zone, plan) not in self._alone:
            only = [plan if place == zone else None for place in range(len(self._plans))]
            self._alone[zone, plan] = self._attempt(only)

    def _is_dearer(self, zone: int, plan: ZonePlan) -> bool:
        """Whether even its cheapest cable costs no less than a plan that passes."""
        ranked = self._ranked(zone)
        return bool(ranked) and plan.cable_m * self._job.least_per_m >= ranked[0][0]

    def _ranked(self, zone: int) -> list[tuple[float, ZonePlan]]:
        """What passes alone, the cheapest first."""
        found = [
            (trial.cost, plan)
            for plan in self._plans[zone]
            if (trial := self._alone.get((zone, plan))) is not None and trial.passes
        ]
        return sorted(found, key=lambda each: each[0])

    def _try_together(self) -> None:
        """Try plans for all zones together, as long as they cost less alone than what was found together."""
        for cost, plans in self._mixtures():
            if cost >= self._best_cost:
                break
            if plans in self._together:
                continue
            self._together.add(plans)
            trial = self._alone[0, plans[0]] if len(plans) == 1 else self._attempt(plans)
            if trial.cost < self._best_cost:
                self._best_cost, self._best = trial.cost, plans

    def _mixtures(self) -> Iterator[tuple[float, tuple[ZonePlan, ...]]]:
        """Plans for all zones, in the order of the sum of their costs alone."""
        ranked = [self._ranked(zone) for zone in range(len(self._plans))]
        if not all(ranked):
            return
        order, first = count(), (0,) * len(ranked)
        waiting, seen = [(sum(plans[0][0] for plans in ranked), next(order), first)], {first}
        while waiting and len(self._together) < MOST_TOGETHER:
            cost, _, places = heappop(waiting)
            yield cost, tuple(plans[place][1] for plans, place in zip(ranked, places, strict=True))
            for zone, place in enumerate(places):
                further = (*places[:zone], place + 1, *places[zone + 1 :])
                if place + 1 < len(ranked[zone]) and further not in seen:
                    seen.add(further)
                    costs = (plans[at][0] for plans, at in zip(ranked, further, strict=True))
                    heappush(waiting, (sum(costs), next(order), further))
