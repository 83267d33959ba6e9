"""Which spools to buy, and which piece is cut from which: one-dimensional cutting stock.

Lengths are whole numbers of one unit, prices whole numbers of one coin; which, is the caller's choice. The
same question always has the same answer: what ends a search is a count of work, never a clock.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable, Sequence
from contextlib import suppress
from fractions import Fraction
from itertools import groupby
from math import ceil, gcd
from typing import NamedTuple

from service.circuit.work import OPERATIONS_OF_WORK, Budget, WorkOverLimitError
from service.purchase.knapsack import LENGTH_BITS
from service.purchase.packing import (
    FILLED,
    LOOKED_AT,
    CuttingProblem,
    Filled,
    Offer,
    Packing,
    Search,
    best_fit,
    fullest_first,
    problem_of,
)
from service.purchase.programme import Programme, by_length
from service.purchase.steps import OutOfStepsError, Steps

MOST_MIXES = 1_000
"""Mixes that are looked at: spools as dear for their length as others could be mixed for ever."""

MIX_LOOKED_AT = 100
"""Operations of one look at a mix."""


class Mix(NamedTuple):
    """How many of each spool, in the order offered, their price, and what no mix costs less than."""

    counts: tuple[int, ...]
    price: int
    at_least: int


def cheapest_mix(offers: Sequence[Offer], length: int, steps: Steps) -> Mix:
    """The cheapest whole spools that together are long enough; of equals the fewest that are bought.

    Every number of every spool but the last is tried, dearest for its length first, and a branch is left as
    soon as the rest at the best price could not beat the best mix so far. What is at hand for nothing is used
    first.

    Parameters
    ----------
    offers : sequence of Offer
        One at least of which there is no end.
    length : int
    steps : Steps
        Taken from; without them the first mix is answered.
    """
    order = sorted(range(len(offers)), key=lambda index: _turn(offers[index]))
    mixing = _Mixing([offers[index] for index in order], steps)
    least = mixing.least(length, 0)
    mixing.fill(length, (), 0)
    counts = [0] * len(offers)
    for place, index in enumerate(order):
        counts[index] = mixing.best[place]
    return Mix(tuple(counts), mixing.price, mixing.price if mixing.complete else min(least, mixing.price))


def _turn(offer: Offer) -> tuple[bool, bool, Fraction, int]:
    """What is at hand for nothing first, longest first; then what there is an end of; then dearest first."""
    if not offer.bought:
        return False, False, Fraction(0), -offer.room
    return True, offer.at_most is None, -Fraction(offer.price, offer.room), offer.room


class _Mixing:
    """The search for one mix; of the last spool there is no end."""

    def __init__(self, offers: list[Offer], steps: Steps) -> None:
        self._offers, self._steps = offers, steps
        rates = [Fraction(offer.price, offer.room) for offer in offers]
        self._rates = [min(rates[place:]) for place in range(len(rates))]
        self._longest = max(offer.room for offer in offers)
        self._coin = gcd(*(offer.price for offer in offers)) or 1
        self._left = MOST_MIXES
        self.best: tuple[int, ...] = ()
        self.price = 0
        self.complete = True

    def least(self, short: int, place: int) -> int:
        """What the rest costs at least from this spool on, if nothing of it is at hand for nothing."""
        while not self._offers[place].bought:
            short -= self._offers[place].room * (self._offers[place].at_most or 0)
            place += 1
        coins = ceil(self._rates[place] * max(0, short) / self._coin)
        return coins * self._coin

    def fill(self, short: int, counts: tuple[int, ...], price: int) -> None:
        """Try every number of the spool whose turn it is."""
        place = len(counts)
        offer = self._offers[place]
        most = max(0, -(-short // offer.room))
        if place == len(self._offers) - 1:
            self._take(counts, most, price + most * offer.price)
            return
        most = most if offer.at_most is None else min(most, offer.at_most)
        for number in range(most + 1) if offer.bought else (most,):
            left, spent = short - number * offer.room, price + number * offer.price
            self._left -= 1
            if self._left <= 0 or not self._pays():
                self.complete = False
            if not self.best or (self.complete and self._can_be_better(left, (*counts, number), spent)):
                self.fill(left, (*counts, number), spent)
            elif offer.at_most is None or not self.complete:
                # Of what there is an end of, more may still be cheaper than what comes after it.
                return

    def _pays(self) -> bool:
        try:
            self._steps.take(MIX_LOOKED_AT)
        except OutOfStepsError:
            return False
        return True

    def _take(self, counts: tuple[int, ...], most: int, price: int) -> None:
        found = (*counts, most)
        if not self.best or (price, self._bought(found)) < (self.price, self._bought(self.best)):
            self.best, self.price = found, price

    def _bought(self, counts: tuple[int, ...]) -> int:
        return sum(number * offer.bought for number, offer in zip(counts, self._offers, strict=False))

    def _can_be_better(self, left: int, counts: tuple[int, ...], spent: int) -> bool:
        """Whether the rest, at the least that it can cost and in the fewest spools, would beat the best."""
        fewest = self._bought(counts)
        if self._offers[len(counts)].bought:
            fewest += max(0, -(-left // self._longest))
        return (spent + self.least(left, len(counts)), fewest) < (self.price, self._bought(self.best))


OPERATIONS_OF_A_CUT = 20
"""Operations of cutting one piece off a spool."""

MOST_WORK = 3_000
"""Work of one cut list: some 30 milliseconds."""

WORK_OF_FEWER_SPOOLS = 100
"""Work spent on as cheap a cut list with fewer spools, once none is cheaper."""

_EMPTY = Packing((0, 0, 0), ())


class Piece(NamedTuple):
    """So many pieces of one length."""

    length: int
    number: int = 1


class SpoolKind(NamedTuple):
    """One length in which a cable is to be had: its price, if known, and how many, if there is an end.

    An off-cut on hand has a price of zero and the number that is there: it is used before anything is bought.
    Without a price for each spool that is bought, the least length is bought. `spools` are how many it counts
    for, where several are joined to that length.
    """

    length: int
    price: int | None
    at_most: int | None = None
    spools: int = 1


class Cut(NamedTuple):
    """One length that is cut, for the piece at this place of the request."""

    piece: int
    length: int


class CutSpool(NamedTuple):
    """So many spools of one offer cut alike, and what is left of each."""

    spool: int
    cuts: tuple[Cut, ...]
    off_cut: int
    number: int


class CutPlan(NamedTuple):
    """What to buy and how to cut it.

    Parameters
    ----------
    spools : tuple of CutSpool
        Longest first.
    price, at_least : int or None
        Of the spools, and what no others cost less than; None where not every price is known.
    proven : bool
        Whether none cost less.
    joints : int
        How often a piece is joined.
    uncut : tuple of int
        How many of each piece are longer than all spools, or more than there are spools.
    """

    spools: tuple[CutSpool, ...]
    price: int | None
    at_least: int | None
    proven: bool
    joints: int
    uncut: tuple[int, ...]


def work_of_first_cut(pieces: int, spools: int) -> int:
    """Work of one cut list of so many pieces and spools on offer, without any search for a better one."""
    return 1 + pieces * (OPERATIONS_OF_A_CUT + FILLED + LOOKED_AT * (spools + 3)) // OPERATIONS_OF_WORK


def cut_whole(
    pieces: Sequence[Piece],
    spools: Sequence[SpoolKind],
    *,
    allowance: int = 0,
    work: int = MOST_WORK,
    budget: Budget | None = None,
) -> CutPlan:
    """The cheapest spools from which every piece is cut whole; of equals the fewest.

    Parameters
    ----------
    pieces : sequence of Piece
        What is needed; a length of zero needs nothing.
    spools : sequence of SpoolKind
        What is on offer; at least one.
    allowance : int
        What each piece takes beside its length.
    work : int
        The most that may be spent on finding better ones than the first, and on proving them the cheapest.
    budget : Budget or None
        Of the study that asks, from which it is spent.

    Raises
    ------
    WorkOverLimitError
        Not even the first cut list was in the budget.
    """
    budget = budget or Budget()
    offers = _offers(spools)
    longest = max(offer.room for offer in offers)
    wanted: dict[int, int] = {}
    for piece in pieces:
        length = piece.length + allowance
        if piece.length > 0 and piece.number > 0 and length <= longest:
            wanted[length] = wanted.get(length, 0) + piece.number
    packing, at_least = _EMPTY, 0
    rows: list[CutSpool] = []
    if wanted:
        problem = problem_of(wanted, offers)
        packing, at_least = _packed(problem, budget, work)
        rows = _rows(problem, packing, pieces, allowance)
    uncut = [piece.number if piece.length > 0 else 0 for piece in pieces]
    for row in rows:
        for cut in row.cuts:
            uncut[cut.piece] -= 1
    prices = packing.worth[1], at_least
    return _plan(rows, spools, prices, proven=prices[0] <= at_least, uncut=uncut)


def cut_joined(
    pieces: Sequence[Piece],
    spools: Sequence[SpoolKind],
    *,
    work: int = MOST_WORK,
    budget: Budget | None = None,
) -> CutPlan:
    """The cheapest spools where pieces may be joined from several, and few joints with these.

    Where spools as cheap hold every piece whole there is no joint.

    Parameters
    ----------
    pieces, spools, work, budget
        As for `cut_whole`; one spool at least of which there is no end.

    Raises
    ------
    WorkOverLimitError
        Not even the first cut list was in the budget.
    """
    budget = budget or Budget()
    offers = _offers(spools)
    total = sum(max(0, piece.length) * piece.number for piece in pieces)
    mix = cheapest_mix(offers, total, Steps(budget, work))
    longest = max(offer.room for offer in offers)
    if all(piece.length <= longest for piece in pieces):
        whole = cut_whole(pieces, spools, work=work, budget=budget)
        if not any(whole.uncut) and _price(whole.spools, offers) <= mix.price:
            prices = mix.price, mix.at_least
            return _plan(whole.spools, spools, prices, proven=mix.price <= mix.at_least, uncut=whole.uncut)
    bench = _Bench(offers, mix.counts)
    try:
        joints = bench.cut(pieces, Steps(budget, budget.left))
    except OutOfStepsError as none:
        raise WorkOverLimitError(budget.limit + 1, budget.limit) from none
    prices = mix.price, mix.at_least
    return _plan(
        bench.rows(),
        spools,
        prices,
        proven=mix.price <= mix.at_least,
        uncut=[0] * len(pieces),
        joints=joints,
    )


def _price(rows: Iterable[CutSpool], offers: Sequence[Offer]) -> int:
    return sum(offers[row.spool].price * row.number for row in rows)


class _Bench:
    """Given spools, and what is left of each while pieces are cut from them, some joined from several."""

    def __init__(self, offers: Sequence[Offer], counts: Sequence[int]) -> None:
        self._lefts: list[tuple[int, int]] = []
        self._groups: list[CutSpool] = []
        for index, (offer, number) in enumerate(zip(offers, counts, strict=True)):
            self._put(CutSpool(index, (), offer.room, number))

    def rows(self) -> list[CutSpool]:
        """The spools with their cuts, those of which nothing was cut left out."""
        return [self._groups[serial] for _, serial in self._lefts if self._groups[serial].cuts]

    def cut(self, pieces: Sequence[Piece], steps: Steps) -> int:
        """Cut every piece, longest first, whole while one spool holds it; answers the number of joints."""
        single = [(piece.length, place) for place, piece in enumerate(pieces) for _ in range(piece.number)]
        joints, longer = 0, []
        for length, place in sorted(single, key=lambda each: (-each[0], each[1])):
            steps.take(OPERATIONS_OF_A_CUT)
            spot = bisect_left(self._lefts, (length, -1))
            if length > 0 and spot < len(self._lefts):
                self._cut(spot, place, length, 1)
            elif length > 0:
                longer.append((length, place))
        for length, place in longer:
            needed, parts = length, 0
            while needed:
                steps.take(OPERATIONS_OF_A_CUT)
                spot = bisect_left(self._lefts, (needed, -1))
                if spot < len(self._lefts):
                    number, part = 1, needed
                else:
                    spot -= 1
                    part, serial = self._lefts[spot]
                    number = min(self._groups[serial].number, needed // part)
                self._cut(spot, place, part, number)
                needed -= number * part
                parts += number
            joints += parts - 1
        return joints

    def _cut(self, spot: int, piece: int, length: int, number: int) -> None:
        """Cut one length off so many of the spools that are alike."""
        left, serial = self._lefts.pop(spot)
        group = self._groups[serial]
        self._put(group._replace(number=group.number - number))
        self._put(CutSpool(group.spool, (*group.cuts, Cut(piece, length)), left - length, number))

    def _put(self, group: CutSpool) -> None:
        if group.number:
            insort(self._lefts, (group.off_cut, len(self._groups)))
            self._groups.append(group)


def _priced(spools: Sequence[SpoolKind]) -> bool:
    """Whether the price of everything that is bought is known."""
    return all(spool.price is not None or spool.at_most is not None for spool in spools)


def _offers(spools: Sequence[SpoolKind]) -> list[Offer]:
    """The spools with a price each: their own, or their length where not every price is known."""
    priced = _priced(spools)
    offers = []
    for spool in spools:
        if not 0 < spool.length < 1 << LENGTH_BITS:
            message = f"a spool of {spool.length}"
            raise ValueError(message)
        price = (spool.price or 0) if priced or spool.at_most is not None else spool.length
        offers.append(Offer(spool.length, price, spool.at_most, spool.spools))
    return offers


def _packed(problem: CuttingProblem, budget: Budget, work: int) -> tuple[Packing, int]:
    """The best packing that the work allows, and what none costs less than."""
    try:
        first = Steps(budget, budget.left)
        first.take(OPERATIONS_OF_A_CUT * sum(problem.wanted))
        best = best_fit(problem, 0, first)
        first.pay()
    except OutOfStepsError as none:
        raise WorkOverLimitError(budget.limit + 1, budget.limit) from none
    steps = Steps(budget, work)
    improving = _Improving(problem, best, steps, work)
    with suppress(OutOfStepsError):
        improving.run()
    with suppress(OutOfStepsError):
        steps.pay()
    return improving.best, improving.at_least()


class _Improving:
    """From a first packing to a better one, and from a first bound to a higher one, cheapest means first."""

    def __init__(self, problem: CuttingProblem, best: Packing, steps: Steps, work: int) -> None:
        self._problem, self._steps, self._work = problem, steps, work
        self._bounds = [by_length(problem)]
        self._searched = False
        self.best = best

    def at_least(self) -> int:
        """No packing of all pieces costs less."""
        if self._searched:
            return self.best.worth[1]
        problem = self._problem
        least = max(bound.bound(problem.wanted, problem.stock()) for bound in self._bounds)
        return min(-(-least // problem.coin) * problem.coin, self.best.worth[1])

    def run(self) -> None:
        """Improve until nothing is left to do.

        Raises
        ------
        OutOfStepsError
            The work has ended; what was found stands.
        """
        with suppress(OutOfStepsError):
            self._pack()
        with suppress(OutOfStepsError):
            self._take_one_kind()
        programme = self._programme() if self._is_open() else None
        if programme is not None and self._is_open():
            for begun in programme.rounded_down():
                self._search(begun.fillings)
        self._searched = self._search(())

    def _pack(self) -> None:
        """Quick packings: every spool preferred to the others once, or bought alone."""
        problem, steps = self._problem, self._steps.part(self._work // 4)
        every = range(len(problem.offers))
        for preferred in every[1:]:
            self._take(best_fit(problem, preferred, steps))
        for bought in (every, *([index] for index in every if problem.offers[index].bought)):
            if self._is_open():
                self._take(fullest_first(problem, bought, steps))

    def _take_one_kind(self) -> None:
        """The best found where only the spool that is cheapest for its length is bought."""
        offers, longest = self._problem.offers, self._problem.lengths[0]
        fits = [
            (offer.price / offer.room, index)
            for index, offer in enumerate(offers)
            if offer.at_most is None and offer.room >= longest
        ]
        endless = sum(offer.at_most is None for offer in offers)
        if endless > 1 and fits and self._is_open():
            _, only = min(fits)
            alone = [
                offer if index == only or not offer.bought else offer._replace(at_most=0)
                for index, offer in enumerate(offers)
            ]
            problem = self._problem._replace(offers=tuple(alone), coin=offers[only].price or 1)
            part = self._work // 3
            improving = _Improving(problem, self.best, self._steps.part(part), part)
            try:
                improving.run()
            finally:
                self._take(improving.best)

    def _programme(self) -> Programme | None:
        """The linear programme, and what it proves; None where some length has no spool without end."""
        problem = self._problem
        endless = max((offer.room for offer in problem.offers if offer.at_most is None), default=0)
        if endless < problem.lengths[0]:
            return None
        programme = Programme(problem, self.best.fillings, self._steps.part(self._work // 2))
        programme.solve()
        self._bounds.extend(programme.duals)
        return programme

    def _search(self, begun: Sequence[Filled]) -> bool:
        """Search what begins so; whether nothing better is left."""
        fewer = not self._is_open()
        steps = self._steps.part(WORK_OF_FEWER_SPOOLS) if fewer else self._steps
        search = Search(self._problem, self._bounds, self.best, steps)
        try:
            search.run(begun)
        finally:
            self.best = search.best
        return search.complete and self.best.worth[0] == 0

    def _take(self, packing: Packing) -> None:
        self.best = min(self.best, packing, key=lambda each: each.worth)

    def _is_open(self) -> bool:
        """Whether a cheaper packing may still be found."""
        return self.best.worth[0] > 0 or self.best.worth[1] > self.at_least()


def _rows(
    problem: CuttingProblem, packing: Packing, pieces: Sequence[Piece], allowance: int
) -> list[CutSpool]:
    """The fillings with the pieces that are cut, in the order of the request where they are alike."""
    waiting: dict[int, list[list[int]]] = {}
    for place, piece in enumerate(pieces):
        waiting.setdefault(piece.length + allowance, []).append([place, piece.number])
    for queue in waiting.values():
        queue.reverse()
    rows = []
    for filled in packing.fillings:
        for _ in range(filled.spools):
            cuts, left = [], problem.offers[filled.offer].room
            for index, number in filled.counts:
                length = problem.lengths[index]
                left -= length * number
                cuts += [Cut(_next(waiting[length]), length - allowance) for _ in range(number)]
            rows.append(CutSpool(filled.offer, tuple(cuts), left, 1))
    return rows


def _next(queue: list[list[int]]) -> int:
    """The next of the pieces alike."""
    while not queue[-1][1]:
        queue.pop()
    queue[-1][1] -= 1
    return queue[-1][0]


def _plan(  # noqa: PLR0913  # what a plan is made of
    rows: Iterable[CutSpool],
    spools: Sequence[SpoolKind],
    prices: tuple[int, int],
    *,
    proven: bool,
    uncut: Sequence[int],
    joints: int = 0,
) -> CutPlan:
    """The plan, longest spools first, spools that are cut alike told once."""
    ordered = sorted(rows, key=lambda row: (-spools[row.spool].length, row.spool, row.cuts))
    told = []
    for _, alike in groupby(ordered, key=lambda row: (row.spool, row.cuts)):
        group = list(alike)
        told.append(group[0]._replace(number=sum(row.number for row in group)))
    price, at_least = prices if _priced(spools) else (None, None)
    return CutPlan(tuple(told), price, at_least, proven, joints, tuple(uncut))
