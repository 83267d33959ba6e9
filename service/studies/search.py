"""The cheapest choice of cables that keeps every limit.

Branch and bound: slots are filled one after another, cheapest candidate first. A branch is left when what is
spent plus the least that the rest can cost is no better than the best choice so far. Where more copper can
never lower a voltage (a tree without filaments or resistors) a branch is left as well when even the thickest
rest leaves a lamp too low, or even the thinnest one too high. On a loop more copper may lower a point, so
there only the cost is used. The result is exact if the search ends within its budget: no cheaper choice
passes. If not, it is the best found, with what nothing can cost less than.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.studies.work import WorkOverLimitError

if TYPE_CHECKING:
    from collections.abc import Callable

    from service.studies.assessment import Assessment, Assessor, Choice

Cost = tuple[float, ...]
"""Compared from the left: price or copper, then the stock order of each slot."""

CLOSE = 1e-12
"""Costs nearer than this are equal. [relative]"""


class Found(NamedTuple):
    """The best choice, what it does, whether it is proven best, and what nothing can cost less than."""

    choice: Choice
    assessment: Assessment
    exact: bool
    bound: float


class Pricing(NamedTuple):
    """What choices cost: `exact` a whole one, `least` one candidate in one slot at the very least."""

    exact: Callable[[Choice], float]
    least: Callable[[int, int], float]


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
        search.fill(())
    except WorkOverLimitError:
        if search.best is None:
            raise
        return search.found(exact=False)
    return None if search.best is None else search.found(exact=True)


class _Search:
    """One run of the search."""

    def __init__(self, assessor: Assessor, pricing: Pricing) -> None:
        self._assessor, self._pricing = assessor, pricing
        slots, candidates = len(assessor.slots), len(assessor.candidates)
        self._by_cost = [
            [index for _, index in sorted((pricing.least(slot, index), index) for index in range(candidates))]
            for slot in range(slots)
        ]
        least = [pricing.least(slot, self._by_cost[slot][0]) for slot in range(slots)]
        self._rest = [sum(least[slot:]) for slot in range(slots + 1)]
        self._thickest, self._thinnest = _extremes(assessor)
        self.best: Choice | None = None
        self._best_cost: tuple[float, Choice] = (float("inf"), ())

    def found(self, *, exact: bool) -> Found:
        """The best so far."""
        assert self.best is not None  # noqa: S101  asked only once something was found
        cost = self._best_cost[0]
        return Found(self.best, self._assessor.remembered(self.best), exact, cost if exact else self._rest[0])

    def weigh_uniform(self) -> None:
        """Weigh one candidate in every slot: a first best, and what a comparison shows."""
        for index in range(len(self._assessor.candidates)):
            self._weigh((index,) * len(self._assessor.slots))

    def fill(self, chosen: Choice) -> None:
        """Fill the slots after those chosen, every way that can still be better."""
        slots = len(self._assessor.slots)
        if len(chosen) == slots:
            self._weigh(chosen)
            return
        spent = sum(self._pricing.least(slot, index) for slot, index in enumerate(chosen))
        for index in self._by_cost[len(chosen)]:
            least = spent + self._pricing.least(len(chosen), index) + self._rest[len(chosen) + 1]
            if least > self._best_cost[0] * (1.0 + CLOSE):
                return
            further = (*chosen, index)
            if self._can_pass(further):
                self.fill(further)

    def _weigh(self, choice: Choice) -> None:
        """Keep a whole choice if it passes and is better: cheaper, or as cheap and earlier in the stock."""
        cost = (self._pricing.exact(choice), choice)
        if self.best is not None and not _better(cost, self._best_cost):
            return
        if self._assessor.remembered(choice).passes:
            self.best, self._best_cost = choice, cost

    def _can_pass(self, chosen: Choice) -> bool:
        """Whether the slots that are left might still be filled so that every limit is kept."""
        if not self._assessor.monotone:
            return True
        left = len(self._assessor.slots) - len(chosen)
        thick = self._assessor.remembered((*chosen, *([self._thickest] * left)))
        if any(breach.side == "low" for breach in thick.breaches):
            return False
        too_high = any(breach.side == "high" for breach in thick.breaches)
        if left == 0 or self._assessor.offered_taps_v or not too_high:
            return True
        thin = self._assessor.remembered((*chosen, *([self._thinnest] * left)))
        return not any(breach.side == "high" for breach in thin.breaches)


def _extremes(assessor: Assessor) -> tuple[int, int]:
    """The candidates with the least and the most resistance, by index."""
    resistance = [assessor.resistance_of(index) for index in range(len(assessor.candidates))]
    return resistance.index(min(resistance)), resistance.index(max(resistance))


def _better(cost: tuple[float, Choice], known: tuple[float, Choice]) -> bool:
    """Whether a cost is less, or as little and earlier in the stock."""
    if abs(cost[0] - known[0]) <= CLOSE * max(abs(cost[0]), abs(known[0])):
        return cost[1] < known[1]
    return cost[0] < known[0]
