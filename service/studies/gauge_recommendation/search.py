"""The cheapest choice of cables that keeps every limit.

Branch and bound: slots are filled one after another, cheapest candidate first. A branch is left when what is
spent plus the least that the rest can cost is no better than the best choice so far. Where more copper can
never lower a voltage (a tree whose loads draw no more at a higher voltage) a branch is left as well when even
the thickest rest leaves a lamp too low, or even the thinnest one too high. With filaments and resistors on a
tree it is left when a lamp would be too low even if all drew the least that they can. On a loop more copper
may lower a point, so there only the cost is used.

The result is exact if the search ends within its budget: no cheaper choice passes. If not, it is the best
found, with what nothing can cost less than.
"""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite
from typing import NamedTuple

from service.circuit.work import WorkOverLimitError, charge, count
from service.findings.violation import LOADED
from service.studies.gauge_recommendation.assessment import Assessment, Assessor, Choice

CLOSE = 1e-12
"""Costs nearer than this are equal. [relative]"""


MOST_SLOTS = 100
"""With more places than this to choose for one by one only equal choices are weighed: no search would end."""


WEIGHED = 60
"""Operations of looking at a choice, for each unit of its work."""


SLOTS_A_WORK = 8
"""Slots that are filled and priced with as much work as one point is solved with."""


class Found(NamedTuple):
    """The best choice, what it does, whether it is proven best, and what nothing can cost less than."""

    choice: Choice
    assessment: Assessment
    exact: bool
    bound: float


class Pricing(NamedTuple):
    """What choices cost: `exact` a whole one, `least` one candidate in one slot at the very least.

    Infinity is what cannot be bought: a piece is longer than any spool.

    `can_begin` says whether the first slots can still be bought so, `proven` whether every exact price so far
    was the lowest there is.
    """

    exact: Callable[[Choice], float]
    least: Callable[[int, int], float]
    can_begin: Callable[[Choice], bool]
    proven: Callable[[], bool]


def cheapest(assessor: Assessor, pricing: Pricing) -> Found | None:
    """Search for the cheapest choice that passes; None where none does.

    Raises
    ------
    WorkOverLimitError
        The budget was spent before any choice passed.
    """
    search = _Search(assessor, pricing)
    try:
        search.weigh_uniform()
        if search.can_end:
            search.fill((), 0.0)
    except WorkOverLimitError:
        if search.best is None:
            raise
        return search.found(exact=False)
    return None if search.best is None else search.found(exact=search.can_end and pricing.proven())


class _Search:
    """One run of the search."""

    def __init__(self, assessor: Assessor, pricing: Pricing) -> None:
        self._assessor, self._pricing = assessor, pricing
        slots, candidates = len(assessor.slots), len(assessor.candidates)
        self._by_cost = [
            sorted((pricing.least(slot, index), index) for index in range(candidates))
            for slot in range(slots)
        ]
        least = [ranked[0][0] for ranked in self._by_cost]
        self._rest = [sum(least[slot:]) for slot in range(slots + 1)]
        self._thickest, self._thinnest = _extremes(assessor) if assessor.bounded else (None, None)
        self.can_end = slots <= MOST_SLOTS
        self.best: Choice | None = None
        self._best_cost = float("inf")

    def found(self, *, exact: bool) -> Found:
        """The best so far."""
        assert self.best is not None  # noqa: S101  asked only once something was found
        bound = self._best_cost if exact else min(self._rest[0], self._best_cost)
        return Found(self.best, self._assessor.remembered(self.best), exact, bound)

    def weigh_uniform(self) -> None:
        """Weigh one candidate in every slot: a first best, and what a comparison shows.

        The thickest comes first: it passes soonest, and is an answer where the work allows no other look.

        Raises
        ------
        WorkOverLimitError
            The budget was spent; or no candidate passes, there are too many slots to try mixtures, and
            nothing proves that none can pass.
        """
        resistances = list(map(self._assessor.resistances_of, range(len(self._assessor.candidates))))
        for index in sorted(range(len(resistances)), key=resistances.__getitem__):
            self._weigh((index,) * len(self._assessor.slots))
        if self.best is None and not self.can_end and isfinite(self._rest[0]) and self._can_pass(()):
            mixtures = len(self._assessor.slots) * len(self._assessor.candidates)
            raise WorkOverLimitError(mixtures * len(self._assessor.layout_spans))

    def fill(self, chosen: Choice, spent: float) -> None:
        """Fill the slots after those chosen, every way that can still be better."""
        place = len(chosen)
        if place == len(self._assessor.slots):
            self._weigh(chosen)
            return
        for least, index in self._by_cost[place]:
            further, cost = (*chosen, index), spent + least + self._rest[place + 1]
            if not isfinite(cost) or cost > self._best_cost * (1.0 + CLOSE):
                return
            self._spend(1)
            if not self._only_ties(further, cost) and self._may_pass(further):
                self.fill(further, spent + least)

    def _spend(self, work: int) -> None:
        """Spend on looking at a choice, solving it apart."""
        self._assessor.budget.spend(work)
        charge(work)
        count(work * WEIGHED)

    def _only_ties(self, chosen: Choice, cost: float) -> bool:
        """Whether whatever follows costs as much as the best at least, and stands later in the stock."""
        if self.best is None or cost < self._best_cost * (1.0 - CLOSE):
            return False
        return chosen > self.best[: len(chosen)]

    def _weigh(self, choice: Choice) -> None:
        """Keep a whole choice if it passes and is better: cheaper, or as cheap and earlier in the stock."""
        self._spend(1 + len(choice) // SLOTS_A_WORK)
        cost = self._pricing.exact(choice)
        if isfinite(cost) and self._is_better(cost, choice) and self._assessor.remembered(choice).passes:
            self.best, self._best_cost = choice, cost

    def _is_better(self, cost: float, choice: Choice) -> bool:
        if self.best is None:
            return True
        if abs(cost - self._best_cost) <= CLOSE * max(cost, self._best_cost):
            return choice < self.best
        return cost < self._best_cost

    def _may_pass(self, chosen: Choice) -> bool:
        """Whether the slots that are left might still be filled with what can be bought and passes."""
        return self._pricing.can_begin(chosen) and self._can_pass(chosen)

    def _can_pass(self, chosen: Choice) -> bool:
        """Whether the slots that are left might still be filled so that every limit is kept."""
        left = len(self._assessor.slots) - len(chosen)
        if self._thickest is None:
            return True
        thickest = (*chosen, *([self._thickest] * left))
        if not self._assessor.monotone:
            return left == 0 or not self._assessor.is_hopeless(thickest)
        thick = self._assessor.remembered(thickest)
        loads_tell = not self._assessor.offered_taps_v or self._assessor.eased_by_taps
        if any(
            breach.side == "low" and (loads_tell or breach.kind not in LOADED) for breach in thick.breaches
        ):
            return False
        too_high = any(breach.side == "high" for breach in thick.breaches)
        if left == 0 or self._thinnest is None or self._assessor.offered_taps_v or not too_high:
            return True
        thin = self._assessor.remembered((*chosen, *([self._thinnest] * left)))
        return not any(breach.side == "high" for breach in thin.breaches)


def _extremes(assessor: Assessor) -> tuple[int | None, int | None]:
    """The candidates with the least and the most resistance in every state, by index.

    None where it depends on the state: metals warm differently, and two cables nearly alike may swap.
    """
    resistances = [assessor.resistances_of(index) for index in range(len(assessor.candidates))]
    columns = list(zip(*resistances, strict=True))
    least, most = tuple(map(min, columns)), tuple(map(max, columns))
    return (
        resistances.index(least) if least in resistances else None,
        resistances.index(most) if most in resistances else None,
    )
