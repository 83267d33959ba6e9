"""Pieces into spools: quick packings of all, and the search for the cheapest.

Everything is a whole number. A packing is a list of fillings; the lengths of pieces stand longest first.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterator, Sequence
from math import gcd
from typing import NamedTuple

from service.purchase.knapsack import best_filling
from service.purchase.steps import Steps

LOOKED_AT, FILLED = 3, 60
"""Operations of one look at a length, a spool or a bound, and of putting pieces into spools alike."""


class Offer(NamedTuple):
    """A spool, or several joined: what it holds, its price, how many there are; None: without end."""

    room: int
    price: int
    at_most: int | None
    spools: int = 1

    @property
    def bought(self) -> int:
        """How many spools are bought with it: none where it is at hand for nothing."""
        return 0 if self.at_most is not None and self.price == 0 else self.spools


class CuttingProblem(NamedTuple):
    """Lengths, longest first, how many of each, and the spools on offer.

    `coin` divides every price, and so the price of every packing.
    """

    lengths: tuple[int, ...]
    wanted: tuple[int, ...]
    offers: tuple[Offer, ...]
    coin: int

    def stock(self) -> tuple[int, ...]:
        """How many there are of each spool, no more than pieces where there is no end of them."""
        pieces = sum(self.wanted)
        return tuple(pieces if each.at_most is None else min(each.at_most, pieces) for each in self.offers)


def problem_of(wanted: dict[int, int], offers: Sequence[Offer]) -> CuttingProblem:
    """The problem of cutting so many of each length."""
    lengths = tuple(sorted(wanted, reverse=True))
    coin = gcd(*(offer.price for offer in offers)) or 1
    return CuttingProblem(lengths, tuple(wanted[length] for length in lengths), tuple(offers), coin)


class Filled(NamedTuple):
    """So many spools of one offer filled alike: how many of each length by its index."""

    offer: int
    counts: tuple[tuple[int, int], ...]
    spools: int


Worth = tuple[int, int, int]
"""What is left uncut, the price, and the spools that are bought: the lower the better, in this order."""


class Packing(NamedTuple):
    """Fillings of spools, and what they come to."""

    worth: Worth
    fillings: tuple[Filled, ...]


def packing_of(problem: CuttingProblem, fillings: Sequence[Filled]) -> Packing:
    """The packing that these fillings make."""
    cut = sum(count * each.spools for each in fillings for _, count in each.counts)
    price = sum(problem.offers[each.offer].price * each.spools for each in fillings)
    bought = sum(problem.offers[each.offer].bought * each.spools for each in fillings)
    return Packing((sum(problem.wanted) - cut, price, bought), tuple(fillings))


def best_fit(problem: CuttingProblem, preferred: int, steps: Steps) -> Packing:
    """Longest pieces first, each where it leaves least; what is at hand first, then the preferred spool.

    Alike pieces are placed together. At last each spool is changed for the cheapest that holds as much.
    """
    lefts: list[tuple[int, int]] = []
    opened: dict[int, Filled] = {}
    stock = list(problem.stock())

    def put(offer: int, counts: tuple[tuple[int, int], ...], left: int, spools: int) -> None:
        if spools:
            insort(lefts, (left, len(opened)))
            opened[len(opened)] = Filled(offer, counts, spools)

    def fill(group: Filled, left: int, index: int, needed: int) -> int:
        """Put what fits into spools alike; answers what is still needed."""
        length = problem.lengths[index]
        each = left // length
        whole = min(group.spools, needed // each)
        rest = min(each, needed - whole * each) if whole < group.spools else 0
        put(group.offer, (*group.counts, (index, each)), left - each * length, whole)
        if rest:
            put(group.offer, (*group.counts, (index, rest)), left - rest * length, 1)
        put(group.offer, group.counts, left, group.spools - whole - (rest > 0))
        return needed - whole * each - rest

    openings = _openings(problem, preferred)
    for index, length in enumerate(problem.lengths):
        needed = problem.wanted[index]
        while needed and (place := bisect_left(lefts, (length, -1))) < len(lefts):
            left, serial = lefts.pop(place)
            needed = fill(opened[serial], left, index, needed)
            steps.take(FILLED)
        for offer in openings:
            room = problem.offers[offer].room
            steps.take(LOOKED_AT)
            if needed and stock[offer] and room >= length:
                spools = min(stock[offer], -(-needed // (room // length)))
                stock[offer] -= spools
                needed = fill(Filled(offer, (), spools), room, index, needed)
                steps.take(FILLED)
    fillings = [_cheapest_for(problem, opened[serial]) for _, serial in lefts]
    return packing_of(problem, [each for each in fillings if each.counts])


def _openings(problem: CuttingProblem, preferred: int) -> list[int]:
    """In which order offers are opened: at hand, shortest first; the preferred; the cheapest."""
    offers = problem.offers
    free = [index for index, offer in enumerate(offers) if not offer.bought]
    others = [index for index in range(len(offers)) if offers[index].bought and index != preferred]
    free.sort(key=lambda index: (offers[index].room, index))
    others.sort(key=lambda index: (offers[index].price / offers[index].room, index))
    return [*free, *([preferred] if offers[preferred].bought else []), *others]


def _cheapest_for(problem: CuttingProblem, group: Filled) -> Filled:
    """Spools filled alike, in the cheapest kind that holds as much and of which there is no end."""
    used = sum(problem.lengths[index] * count for index, count in group.counts)
    cheapest = group.offer
    for index, offer in enumerate(problem.offers):
        fits = offer.at_most is None and offer.room >= used
        if fits and offer.price < problem.offers[cheapest].price:
            cheapest = index
    return Filled(cheapest, group.counts, group.spools)


STEPS_OF_A_FILLING = 1_000
"""Steps after which the fullest spool found so far is full enough."""


def fullest_first(problem: CuttingProblem, bought: Sequence[int], steps: Steps) -> Packing:
    """One filling after another, each the one that is cheapest for the length that it holds.

    Of what has a price only these offers are bought.
    """
    wanted, stock = list(problem.wanted), list(problem.stock())
    for index, offer in enumerate(problem.offers):
        stock[index] = stock[index] if index in bought or not offer.bought else 0
    fillings: list[Filled] = []
    while any(wanted):
        best: tuple[float, int, tuple[int, ...]] | None = None
        for index, offer in enumerate(problem.offers):
            if stock[index] and offer.room >= _shortest(problem, wanted):
                found = best_filling(
                    problem.lengths,
                    problem.lengths,
                    wanted,
                    offer.room,
                    steps=steps,
                    most_steps=STEPS_OF_A_FILLING,
                )
                rate = offer.price / found.worth
                if best is None or rate < best[0]:
                    best = rate, index, found.counts
        if best is None:
            break
        _, index, counts = best
        spools = min(stock[index], *(have // take for have, take in zip(wanted, counts, strict=True) if take))
        stock[index] -= spools
        wanted = [have - spools * take for have, take in zip(wanted, counts, strict=True)]
        fillings.append(Filled(index, sparse(counts), spools))
    shrunk = [_cheapest_for(problem, each) for each in fillings]
    return packing_of(problem, shrunk)


def _shortest(problem: CuttingProblem, wanted: Sequence[int]) -> int:
    return min(length for length, count in zip(problem.lengths, wanted, strict=True) if count)


def sparse(counts: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """How many of each length, those left out of which there is none."""
    return tuple((index, count) for index, count in enumerate(counts) if count)


class Duals(NamedTuple):
    """What each length is worth in any packing, in parts of a coin, and what each spool at hand spares.

    Of any pieces the price is no less than their worths less what each spool at hand spares, if used up:
    no filling of any offer is worth more than that offer costs.
    """

    worths: tuple[int, ...]
    spared: tuple[int, ...]
    scale: int

    def bound(self, wanted: Sequence[int], stock: Sequence[int]) -> int:
        """What these pieces cost at least, rounded up."""
        total = sum(map(int.__mul__, self.worths, wanted)) - sum(map(int.__mul__, self.spared, stock))
        return max(0, -(-total // self.scale))


MOST_FILLINGS = 300
"""Fillings that are tried at one place of a search; where there were more it proves nothing."""

MOST_SEARCHED = 200
"""Pieces above which no search is made: it would neither end nor find."""

MOST_REMEMBERED = 50_000
"""Remainders of a search that are remembered."""


class Search:
    """Depth first: the longest piece left goes into a spool with all that may go with it, fullest first.

    Only fillings are tried to which no piece left could be added, and which fit in no cheaper spool: any
    packing can be changed into such fillings one after another, without costing more. (A cheaper spool of
    which there is an end may be needed elsewhere, so it rules nothing out.)

    Parameters
    ----------
    problem : CuttingProblem
    duals : sequence of Duals
        By which a branch is left.
    best : Packing
        To be beaten.
    steps : Steps
        Taken from.
    """

    def __init__(self, problem: CuttingProblem, duals: Sequence[Duals], best: Packing, steps: Steps) -> None:
        self._problem, self._duals, self._steps = problem, duals, steps
        self._longest = max(offer.room for offer in problem.offers)
        self._dearest = max(offer.price for offer in problem.offers) or 1
        self._seen: dict[tuple[tuple[int, ...], tuple[int, ...]], Worth] = {}
        self.best = best
        self.complete = True
        """Whether nothing was left out, so that after the end there is nothing better."""

    def run(self, fixed: Sequence[Filled] = ()) -> None:
        """Search all packings that begin with these fillings.

        Raises
        ------
        OutOfStepsError
            The search was stopped; what it found so far stands.
        """
        wanted, stock = list(self._problem.wanted), list(self._problem.stock())
        for each in fixed:
            stock[each.offer] -= each.spools
            for index, count in each.counts:
                wanted[index] -= count * each.spools
        if sum(wanted) > MOST_SEARCHED:
            self.complete = False
            return
        _, price, bought = packing_of(self._problem, fixed).worth
        made = list(fixed)
        waiting = [self._branches(tuple(wanted), tuple(stock), (0, price, bought), made)]
        while waiting:
            step = next(waiting[-1], None)
            if step is None:
                waiting.pop()
                if len(made) > len(fixed):
                    made.pop()
                continue
            filled, rest, there, worth = step
            made.append(filled)
            waiting.append(self._branches(rest, there, worth, made))

    def _branches(
        self, wanted: tuple[int, ...], stock: tuple[int, ...], worth: Worth, made: Sequence[Filled]
    ) -> Iterator[tuple[Filled, tuple[int, ...], tuple[int, ...], Worth]]:
        """Every next filling from here; at an end the packing is kept if it is better."""
        problem = self._problem
        self._steps.take(LOOKED_AT * (2 + len(wanted)))
        if not any(wanted):
            if worth < self.best.worth:
                self.best = Packing(worth, tuple(made))
            return
        if not self._may_beat(wanted, stock, worth) or self._was_seen(wanted, stock, worth):
            return
        uncut, price, bought = worth
        options = list(self._fillings(wanted, stock))
        for _, index, counts in sorted(options):
            offer = problem.offers[index]
            rest = list(wanted)
            for length, count in counts:
                rest[length] -= count
            there = tuple(have - (place == index) for place, have in enumerate(stock))
            filled = Filled(index, counts, 1)
            yield filled, tuple(rest), there, (uncut, price + offer.price, bought + offer.bought)

    def _may_beat(self, wanted: Sequence[int], stock: Sequence[int], worth: Worth) -> bool:
        """Whether the least that the rest can cost, in the fewest spools, would beat the best."""
        uncut, price, bought = worth
        least = max(duals.bound(wanted, stock) for duals in self._duals)
        least = -(-least // self._problem.coin) * self._problem.coin
        fewest = -(-least // self._dearest)
        if all(offer.bought for offer in self._problem.offers):
            length = sum(map(int.__mul__, self._problem.lengths, wanted))
            fewest = max(fewest, -(-length // self._longest))
        return (uncut, price + least, bought + fewest) < self.best.worth

    def _was_seen(self, wanted: tuple[int, ...], stock: tuple[int, ...], worth: Worth) -> bool:
        """Whether the same was left once already, for no more."""
        key = (
            wanted,
            tuple(
                have
                for have, offer in zip(stock, self._problem.offers, strict=True)
                if offer.at_most is not None
            ),
        )
        before = self._seen.get(key)
        if before is not None and before <= worth:
            return True
        if before is not None or len(self._seen) < MOST_REMEMBERED:
            self._seen[key] = worth
        return False

    def _fillings(
        self, wanted: tuple[int, ...], stock: tuple[int, ...]
    ) -> Iterator[tuple[int, int, tuple[tuple[int, int], ...]]]:
        """Fillings with the longest piece left, and by how much each costs more than it is worth."""
        problem, duals = self._problem, self._duals[-1]
        longest = next(index for index, count in enumerate(wanted) if count)
        cheaper_room = 0
        by_price = sorted(
            (offer.price, offer.bought, -offer.room, index)
            for index, offer in enumerate(problem.offers)
            if stock[index] and offer.room >= problem.lengths[longest]
        )
        for price, _, _, index in by_price:
            room = problem.offers[index].room
            if room <= cheaper_room:
                continue
            for tried, (counts, used) in enumerate(self._maximal(wanted, longest, room)):
                if tried == MOST_FILLINGS:
                    self.complete = False
                    break
                if used > cheaper_room:
                    worth = sum(duals.worths[length] * count for length, count in counts)
                    yield price * duals.scale - worth, index, counts
            if problem.offers[index].at_most is None:
                cheaper_room = room

    def _maximal(
        self, wanted: tuple[int, ...], longest: int, room: int
    ) -> Iterator[tuple[tuple[tuple[int, int], ...], int]]:
        """Fillings with a longest piece to which nothing can be added, and the length that each uses."""
        lengths, last = self._problem.lengths, len(wanted)
        taken = [0] * last
        taken[longest] = 1
        left, place, first = room - lengths[longest], longest, True
        while True:
            while place < last:
                fits = min(wanted[place] - taken[place], left // lengths[place])
                taken[place] += fits
                left -= fits * lengths[place]
                place += 1
            self._steps.take(LOOKED_AT * (last - longest))
            if first or not any(
                wanted[index] > taken[index] and lengths[index] <= left for index in range(longest, last)
            ):
                yield sparse(taken), room - left
            first = False
            place -= 1
            while place >= longest and taken[place] <= (place == longest):
                place -= 1
            if place < longest:
                return
            taken[place] -= 1
            left += lengths[place]
            place += 1
