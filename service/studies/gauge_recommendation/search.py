"""The cheapest choice of cables that keeps every limit: soon a good one, in time the best.

1. The thickest candidate everywhere: the choice that passes soonest; then the cheapest one that passes
   everywhere alike.
2. On a tree: what no choice can have, because a lamp would be too low with it even if all else were thickest
   and all lamps drew the least that they can. What is left of each slot bounds the cost from below.
3. From the cheapest that is left up: what stands before a lamp too low is made thicker, until all pass.
4. From the best so far down: one slot made cheaper at a time, the largest saving first, then one slot cheaper
   for another thicker, until nothing single helps.
5. Branch and bound: slots are filled one after another, cheapest candidate first. A branch is left when what
   is spent plus the least that the rest can cost is no better than the best so far. Where more copper can
   never lower a voltage (a tree whose loads draw no more at a higher voltage) it is left as well when even
   the thickest rest leaves a lamp too low, or even the thinnest one too high. With filaments and resistors on
   a tree it is left when a lamp would be too low even if all drew the least that they can. On a loop more
   copper may lower a point, so there only the cost is used.

The result is exact if the search ends within its budget: no cheaper choice passes. If not, it is the best
found, with what nothing can cost less than. The order is the same on every machine: work is counted, never
time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from math import inf, isfinite
from typing import NamedTuple

from service.circuit.work import Budget, WorkOverLimitError, charge, count
from service.studies.gauge_recommendation.assessment import Assessment, Assessor, Choice

CLOSE = 1e-12
"""Costs nearer than this are equal. [relative]"""


MOST_SLOTS = 100
"""With more places than this to choose for one by one not all mixtures are gone through: it has no end."""


SHARE_OF_ALIKE, SHARE_OF_EXCLUDING, SHARE_OF_CLIMBING, SHARE_OF_EXCHANGING = 0.4, 0.3, 0.5, 0.5
"""Of the work that is left, what each step before branch and bound may spend at most. [-]"""


SHARE_OF_TAPS = 0.2
"""Of the work that is left, what going through all taps of one choice may spend at most. [-]"""


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
    was the lowest there is, `separable` whether a whole choice costs what its slots add.
    """

    exact: Callable[[Choice], float]
    least: Callable[[int, int], float]
    can_begin: Callable[[Choice], bool]
    proven: Callable[[], bool]
    separable: bool


class ChoiceSearch:
    """One run of the search.

    `_by_cost` holds what is left of each slot: the least that a candidate adds to the cost, and its index,
    cheapest first. `_rest` is the least that the slots from one on add.
    """

    def __init__(self, assessor: Assessor, pricing: Pricing) -> None:
        self._assessor, self._pricing = assessor, pricing
        slots, candidates = len(assessor.slots), len(assessor.candidates)
        self._by_cost = [
            sorted((pricing.least(slot, index), index) for index in range(candidates))
            for slot in range(slots)
        ]
        self._resistances = [assessor.resistances_of(index) for index in range(candidates)]
        self._thickest, self._thinnest = _extremes(self._resistances) if assessor.bounded else (None, None)
        self._sum_up()
        self.can_end = slots <= MOST_SLOTS
        self.in_doubt = False
        """Whether a choice was left that might pass on taps that were not tried."""
        self.best: Choice | None = None
        self._best_cost = float("inf")

    def cheapest(self, kept_for_taps: int = 0) -> Found | None:
        """Search for the cheapest choice that passes; None where none does.

        Parameters
        ----------
        kept_for_taps : int
            Work beyond the budget to lower the taps of what is found.

        Raises
        ------
        WorkOverLimitError
            The budget was spent, or taps could not be gone through, before any choice passed.
        """
        steps = (self.weigh_thickest, self.weigh_alike, self.exclude, self.climb)
        return self._after((*steps, self.descend, self.exchange, self.end), kept_for_taps)

    def cheaper(self, kept_for_taps: int = 0) -> Found | None:
        """Go on from the best so far, with another budget."""
        return self._after((self.descend, self.exchange, self.end), kept_for_taps)

    def _after(self, steps: tuple[Callable[[], None], ...], kept_for_taps: int) -> Found | None:
        over = None
        try:
            for step in steps:
                step()
        except WorkOverLimitError as error:
            over = error
        if self.best is None:
            if over is not None or self.in_doubt:
                raise over or WorkOverLimitError(self._assessor.budget.limit)
            return None
        self._assessor.budget = Budget(self._assessor.budget.left + kept_for_taps)
        self.lower_taps()
        ended = over is None and self.can_end and not self.in_doubt
        return self.found(exact=ended and self._pricing.proven())

    def _sum_up(self) -> None:
        least = [ranked[0][0] if ranked else inf for ranked in self._by_cost]
        self._rest = [sum(least[slot:]) for slot in range(len(least) + 1)]

    def found(self, *, exact: bool) -> Found:
        """The best so far."""
        assert self.best is not None  # noqa: S101  # asked only once something was found
        exact = exact or (self._pricing.proven() and self._best_cost <= self._rest[0] * (1.0 + CLOSE))
        bound = self._best_cost if exact else min(self._rest[0], self._best_cost)
        return Found(self.best, self._assessor.remembered(self.best), exact, bound)

    def weigh_thickest(self) -> None:
        """Weigh one candidate in every slot, the thickest first, until one passes: a first best."""
        for index in sorted(range(len(self._resistances)), key=self._resistances.__getitem__):
            self._weigh((index,) * len(self._assessor.slots))
            if self.best is not None or not self._can_pass(()):
                break

    def weigh_alike(self) -> None:
        """Weigh the others in every slot, halving what is left: thinner than what fails mostly fails."""
        ranked = sorted(range(len(self._resistances)), key=self._resistances.__getitem__)
        low, high = 0, len(ranked)
        with self._at_most(SHARE_OF_ALIKE), suppress(WorkOverLimitError):
            while self.best is not None and high - low > 1:
                middle = (low + high) // 2
                found = self._weigh_near((ranked[middle],) * len(self._assessor.slots), ())
                low, high = (middle, high) if found is not None and found.passes else (low, middle)

    def exclude(self) -> None:
        """Take from each slot what cannot pass there with the thickest everywhere else."""
        if self._thickest is None or len(self._assessor.slots) == 1:
            return
        with self._at_most(SHARE_OF_EXCLUDING), suppress(WorkOverLimitError):
            for slot in range(len(self._assessor.slots)):
                self._exclude_from(slot, self._thickest)
        self._sum_up()

    def _exclude_from(self, slot: int, thickest: int) -> None:
        """More resistance than what is too much is too much; less than what is not too much is not."""
        open_to = [index for _, index in self._by_cost[slot]]
        around = [thickest] * len(self._assessor.slots)
        while open_to:
            open_to.sort(key=self._resistances.__getitem__)
            middle = open_to[len(open_to) // 2]
            choice = (*around[:slot], middle, *around[slot + 1 :])
            self._spend(1)
            if self._assessor.is_hopeless_in_one(choice):
                gone = {index for index in open_to if self._is_as_thin(index, middle)}
                self._by_cost[slot] = [each for each in self._by_cost[slot] if each[1] not in gone]
            else:
                gone = {index for index in open_to if self._is_as_thin(middle, index)}
            open_to = [index for index in open_to if index not in gone]

    def _is_as_thin(self, index: int, other: int) -> bool:
        """Whether a candidate has at least the resistance of another in every state."""
        pairs = zip(self._resistances[index], self._resistances[other], strict=True)
        return all(own >= others for own, others in pairs)

    def climb(self) -> None:
        """From the cheapest of every slot up, until all passes or nothing more is to be raised."""
        if any(not ranked or not isfinite(ranked[0][0]) for ranked in self._by_cost):
            return
        choice: Choice | None = tuple(ranked[0][1] for ranked in self._by_cost)
        found: Assessment | None = None
        with self._at_most(SHARE_OF_CLIMBING), suppress(WorkOverLimitError):
            while choice is not None:
                found = self._weigh_near(choice, () if found is None else found.taps_v)
                choice = None if found is None else self._raised(choice, found)

    def _raised(self, choice: Choice, found: Assessment) -> Choice | None:
        """A step up where a choice fails: in each feeder the slot that gives most for its price."""
        feeders, slots = self._assessor.to_be_helped(found)
        steps = {
            slot: step
            for slot in range(len(choice))
            if (step := self._step_up(slot, choice[slot])) is not None
        }
        raised = {slot for slot in slots if slot in steps}
        for feeder in feeders:
            of_feeder = [slot for slot in steps if feeder in self._assessor.feeders_of(slot)]
            if of_feeder and not raised.intersection(of_feeder):
                raised.add(min(of_feeder, key=lambda slot: (steps[slot][0], slot)))
        if not raised:
            return None
        return tuple(steps[slot][1] if slot in raised else index for slot, index in enumerate(choice))

    def _step_up(self, slot: int, index: int) -> tuple[float, int] | None:
        """The cheapest candidate of a slot with less resistance, and what each ohm less costs."""
        costs = {other: cost for cost, other in self._by_cost[slot]}
        own, length_m = max(self._resistances[index]), self._assessor.slots[slot].length_m
        for cost, other in self._by_cost[slot]:
            less = (own - max(self._resistances[other])) * length_m
            if less > 0.0 and isfinite(cost):
                return (cost - costs.get(index, cost)) / less, other
        return None

    def descend(self) -> None:
        """Make single slots of the best cheaper, the largest saving first, until none can be."""
        moved, too_thin = True, set[tuple[int, int]]()
        while moved and self.best is not None:
            before = self.best
            for _, slot, index in sorted(self._savings(self.best)):
                if self.best[slot] != before[slot] or (slot, index) in too_thin:
                    continue
                found = self._weigh_near(_exchanged(self.best, (slot, index)), self._taps_of(self.best))
                # What lacks volts now lacks them as well when something else is made thinner.
                if self._assessor.monotone and found is not None and self._lacks_volts(found):
                    too_thin.add((slot, index))
            moved = self.best != before

    def _savings(self, choice: Choice) -> Iterator[tuple[float, int, int]]:
        """What each other candidate of a slot adds at least, if anything can be saved by it."""
        for slot, ranked in enumerate(self._by_cost):
            own = self._pricing.least(slot, choice[slot])
            for cost, index in ranked:
                if index != choice[slot] and (cost < own or not self._pricing.separable):
                    yield cost - own, slot, index

    def exchange(self) -> None:
        """Make a slot of the best a step thicker where another can be made cheaper by more for that."""
        with self._at_most(SHARE_OF_EXCHANGING), suppress(WorkOverLimitError):
            moved = self._assessor.slots[1:] != ()
            while moved and self.best is not None:
                before = self.best
                for _, thicker, thinner in sorted(self._exchanges(before)):
                    self._weigh_near(_exchanged(before, thicker, thinner), self._taps_of(before))
                    if self.best != before:
                        self.descend()
                        break
                moved = self.best != before

    def _exchanges(self, choice: Choice) -> Iterator[tuple[float, tuple[int, int], tuple[int, int]]]:
        """What is saved by one slot a step thicker and another one cheaper, both as slot and candidate."""
        cheaper = [each for each in self._savings(choice) if each[0] < 0.0]
        for slot, index in enumerate(choice):
            step = self._step_up(slot, index)
            if step is None:
                continue
            more = self._pricing.least(slot, step[1]) - self._pricing.least(slot, index)
            for less, other, thinner in cheaper:
                if other != slot and more + less < 0.0:
                    yield more + less, (slot, step[1]), (other, thinner)

    def end(self) -> None:
        """Go through all mixtures that may still be better.

        Raises
        ------
        WorkOverLimitError
            The budget was spent; or there are too many slots to go through, nothing passes so far, and
            nothing proves that none can pass.
        """
        if self.best is not None and self.best == self._cheapest_left():
            return
        if self.can_end:
            self.fill((), 0.0)
        elif self.best is None and isfinite(self._rest[0]) and self._can_pass(()):
            mixtures = len(self._assessor.slots) * len(self._assessor.candidates)
            raise WorkOverLimitError(mixtures * len(self._assessor.layout_spans))

    @contextmanager
    def _at_most(self, share: float) -> Iterator[None]:
        """Spend no more than a share of the work that is left. [-]"""
        whole = self._assessor.budget
        part = self._assessor.budget = Budget(int(whole.left * share))
        try:
            yield
        finally:
            self._assessor.budget = whole
            whole.left -= part.limit - part.left

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
        if isfinite(cost) and self._is_better(cost, choice) and self._passes(choice):
            self.best, self._best_cost = choice, cost

    def _passes(self, choice: Choice) -> bool:
        """Whether a choice passes: on the taps that are sought first, on those of the best, or on any.

        The first are the right ones where no lamp draws less at a higher voltage. Else all are tried where
        they are few; where they are many a doubt is left.
        """
        if self._assessor.remembered(choice).passes:
            return True
        if not self._assessor.offered_taps_v or self._assessor.is_surely_low(choice):
            return False
        if self.best is not None and self._assessor.near(choice, self._taps_of(self.best)).passes:
            return True
        with self._at_most(SHARE_OF_TAPS), suppress(WorkOverLimitError):
            found = self._assessor.on_any_taps(choice)
            if found is not None:
                return found.passes
        self.in_doubt = True
        return False

    def lower_taps(self) -> None:
        """Put the best on taps of which none can be lowered, and make it cheaper there where that goes."""
        with suppress(WorkOverLimitError):
            before = None
            while self.best is not None and self.best != before:
                before = self.best
                self._assessor.settled(self.best)
                self.descend()

    def _weigh_near(self, choice: Choice, taps_v: tuple[float, ...]) -> Assessment | None:
        """The same, its taps sought from given ones up; what it does, if it is not too dear. [V]"""
        self._spend(1 + len(choice) // SLOTS_A_WORK)
        cost = self._pricing.exact(choice)
        if not isfinite(cost) or not self._is_better(cost, choice):
            return None
        found = self._assessor.near(choice, taps_v)
        if found.passes:
            self.best, self._best_cost = choice, cost
        return found

    def _taps_of(self, choice: Choice) -> tuple[float, ...]:
        """The taps of a choice that was assessed, where they are open. [V]"""
        return self._assessor.remembered(choice).taps_v

    def _cheapest_left(self) -> Choice | None:
        """The cheapest of every slot, where the slots add up to the price."""
        if not self._pricing.separable or not all(self._by_cost):
            return None
        return tuple(ranked[0][1] for ranked in self._by_cost)

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
        if not self._assessor.monotone or self._assessor.offered_taps_v:
            return left == 0 or not self._assessor.is_hopeless(thickest)
        if self._lacks_volts(self._assessor.remembered(thickest)):
            return False
        too_high = any(
            violation.side == "high" for violation in self._assessor.remembered(thickest).violations
        )
        if left == 0 or self._thinnest is None or not too_high:
            return True
        thin = self._assessor.remembered((*chosen, *([self._thinnest] * left)))
        return not any(violation.side == "high" for violation in thin.violations)

    def _lacks_volts(self, found: Assessment) -> bool:
        """Whether a choice lacks voltage, so that any with less copper does; where more never lowers one."""
        loads_tell = not self._assessor.offered_taps_v or self._assessor.eased_by_taps
        return any(
            violation.side == "low" and (loads_tell or not violation.kind.limited.higher_tap_helps)
            for violation in found.violations
        )


def _exchanged(choice: Choice, *changes: tuple[int, int]) -> Choice:
    """A choice with other candidates in some slots."""
    changed = dict(changes)
    return tuple(changed.get(slot, index) for slot, index in enumerate(choice))


def _extremes(resistances: list[tuple[float, ...]]) -> tuple[int | None, int | None]:
    """The candidates with the least and the most resistance in every state, by index.

    None where it depends on the state: metals warm differently, and two cables nearly alike may swap.
    """
    columns = list(zip(*resistances, strict=True))
    least, most = tuple(map(min, columns)), tuple(map(max, columns))
    return (
        resistances.index(least) if least in resistances else None,
        resistances.index(most) if most in resistances else None,
    )
