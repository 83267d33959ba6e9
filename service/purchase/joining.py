"""What is cut, and where it is joined, so that spools and joints together are charged least.

Spools and the pieces cut from them make groups. A group takes one joint fewer than it has spools: with more,
some spools and pieces would stand in a circle, round which length could be moved until a part is gone; and so
few are enough where the pieces lie one behind the other along the spools. A chain of spools thus is an offer
like a spool, with its joints in the price and off its length, and the cheapest cut list of pieces that are
whole in their chains is the cheapest there is.

Lengths and prices are whole numbers, as in `cutting`.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from itertools import groupby
from typing import NamedTuple

from service.circuit.work import OPERATIONS_OF_WORK, Budget, WorkOverLimitError
from service.purchase.cutting import (
    MOST_WORK,
    OPERATIONS_OF_A_CUT,
    CutPlan,
    CutSpool,
    Piece,
    SpoolKind,
    cheapest_mix,
    cut_whole,
)
from service.purchase.knapsack import LENGTH_BITS
from service.purchase.packing import LOOKED_AT, Offer
from service.purchase.steps import OutOfStepsError, Steps

FEW_CHAINS, MOST_CHAINS = 12, 60
"""Chains that are offered beside spools, at first and at most: each is one more to be filled."""

MOST_IN_A_ROW = 40
"""Joints of the longest chain that is looked at."""

SPARE_LENGTH = (0, 5, 10, 20, 40)
"""Cable bought beyond what is needed, in thousandths of it: the more is left, the fewer joints."""


class JointCost(NamedTuple):
    """What joints cost, and what they need.

    Parameters
    ----------
    price : callable
        What so many joints cost together; more never cost less, and none nothing.
    takes : int
        Length that each takes of the cable.
    """

    price: Callable[[int], int]
    takes: int = 0


class Part(NamedTuple):
    """One length that is cut, for the piece in this place of the request.

    Parameters
    ----------
    piece, length : int
        Of a part that is joined to a further one, the length with what the joint takes.
    copy : int or None
        Of a piece in parts: which of those alike it is, from 0; None where it is whole.
    begins : int
        Where along the piece the part begins.
    """

    piece: int
    length: int
    copy: int | None = None
    begins: int = 0


class SpoolCut(NamedTuple):
    """So many spools of one kind cut alike, and what is left of each."""

    spool: int
    parts: tuple[Part, ...]
    off_cut: int
    number: int = 1


class JoinedPlan(NamedTuple):
    """What to buy, and how to cut and join it.

    Parameters
    ----------
    spools : tuple of SpoolCut
        In the order of their kinds.
    charged, at_least : int
        Spools and joints together, and what no other plan is charged less than.
    joints : int
    uncut : tuple of int
        How many of each piece no spool holds.
    """

    spools: tuple[SpoolCut, ...]
    charged: int
    at_least: int
    joints: int
    uncut: tuple[int, ...]

    @property
    def proven(self) -> bool:
        """Whether no other plan is charged less."""
        return self.charged <= self.at_least


def work_of_joined_cut(pieces: int, spools: int) -> int:
    """Work of cutting so many pieces from so many spools, joined where they must be."""
    # Each piece is tried whole and then as what is left of it, each spool is laid out and may be used up.
    return 1 + 2 * (pieces + spools) * OPERATIONS_OF_A_CUT // OPERATIONS_OF_WORK


def least_charged(  # noqa: PLR0913  # what is cut, from what, and what that may cost
    pieces: Sequence[Piece],
    spools: Sequence[SpoolKind],
    *,
    joints: JointCost | None = None,
    coin: int = 1,
    keep_from: int = 0,
    work: int = MOST_WORK,
    budget: Budget | None = None,
) -> JoinedPlan:
    """The plan that is charged least; of equals that of the fewest spools, then joints, then short off-cuts.

    Parameters
    ----------
    pieces : sequence of Piece
    spools : sequence of SpoolKind
        Each with its price; of one at least there is no end.
    joints : JointCost or None
        None: every piece is cut whole.
    coin : int
        The spools of each kind are charged in whole coins, half up; `joints.price` is in whole coins too.
    keep_from : int
        The shortest off-cut that is worth keeping. That few are shorter is sought, and not proven.
    work : int
        The most that may be spent beyond the first cut list.
    budget : Budget or None
        Of the study that asks.

    Raises
    ------
    WorkOverLimitError
        Not even a first plan was in the budget.
    """
    budget = budget or Budget()
    cutter = _Cutter(pieces, spools, coin, budget)
    exchanging = work // 10
    searching = work - exchanging
    longest = max(spool.length for spool in spools if spool.at_most is None)
    if joints is None or longest <= joints.takes or not any(piece.length > 0 for piece in pieces):
        found = cutter.whole(searching)
    else:
        found = _Joining(cutter, joints, searching).found()
    kept = _kept(found.spools, keep_from, Steps(budget, exchanging))
    return found._replace(spools=tuple(_alike(kept)))


class _Cutter:
    """The pieces and spools of one request, and what is charged for some of them."""

    def __init__(
        self, pieces: Sequence[Piece], spools: Sequence[SpoolKind], coin: int, budget: Budget
    ) -> None:
        self.pieces, self.spools, self.coin, self.budget = pieces, spools, coin, budget
        self._uneven = sum(spool.at_most is None and (spool.price or 0) % coin > 0 for spool in spools)

    def whole(self, work: int) -> JoinedPlan:
        """The plan without joints.

        Raises
        ------
        WorkOverLimitError
            Not even a first one was in the budget.
        """
        plan = cut_whole(self.pieces, self.spools, work=work, budget=self.budget)
        rows = tuple(_singly(plan.spools))
        charged = self.charged(rows)
        return JoinedPlan(rows, charged, min(charged, self.at_least(plan.at_least or 0)), 0, plan.uncut)

    def charged(self, rows: Iterable[SpoolCut]) -> int:
        """What these spools are charged."""
        return sum(
            (2 * (self.spools[kind].price or 0) * number + self.coin) // (2 * self.coin) * self.coin
            for kind, number in Counter(row.spool for row in rows).items()
        )

    def at_least(self, price: int) -> int:
        """What is charged at least for spools of such a price: each kind may lose less than half a coin."""
        coins, rest = divmod(2 * price - self._uneven * self.coin, 2 * self.coin)
        return max(0, coins + (self._uneven > 0 or rest > 0)) * self.coin

    def worth(self, plan: JoinedPlan) -> tuple[int, int, int]:
        """What plans that leave nothing uncut are compared by: the lower the better."""
        kinds = (self.spools[row.spool] for row in plan.spools)
        return plan.charged, sum(kind.at_most is None or kind.price != 0 for kind in kinds), plan.joints


def _singly(rows: Iterable[CutSpool]) -> Iterator[SpoolCut]:
    """Each spool of a cut list by itself."""
    for row in rows:
        parts = tuple(Part(*cut) for cut in row.cuts)
        yield from [SpoolCut(row.spool, parts, row.off_cut)] * row.number


class _Chain(NamedTuple):
    """Spools joined in a row: their kinds, what they hold, and their price with that of their joints."""

    kinds: tuple[int, ...]
    room: int
    price: int


class _Bound(NamedTuple):
    """With `up_to` joints at most, spools cost `at_least`, less `each` for every joint."""

    each: int
    at_least: int
    up_to: int


class _Joining:
    """The search for the plan that is charged least where pieces may be joined."""

    def __init__(self, cutter: _Cutter, joints: JointCost, work: int) -> None:
        self._cutter, self._joints, self._work = cutter, joints, work
        self._pieces, self._spools = cutter.pieces, cutter.spools
        self._total = sum(piece.length * piece.number for piece in self._pieces if piece.length > 0)
        longest = max(spool.length for spool in self._spools) - joints.takes
        self._fewest = sum(
            piece.number * max(0, -(-(piece.length - joints.takes) // longest) - 1) for piece in self._pieces
        )
        self._number = sum(piece.number for piece in self._pieces)
        self._from = cutter.budget.left
        self._whole = self._mix = 0
        self._bounds: list[_Bound] = []
        self._plans: list[JoinedPlan] = []

    def found(self) -> JoinedPlan:
        """The best plan found, with the highest bound.

        Raises
        ------
        WorkOverLimitError
            Not even a first plan was in the budget.
        """
        offers = [Offer(spool.length, spool.price or 0, spool.at_most) for spool in self._spools]
        takes = max(1, self._fewest) * self._joints.takes
        self._mix = cheapest_mix(offers, self._total + takes, self._steps(10)).at_least
        self._whole = self._cutter.at_least(cheapest_mix(offers, self._total, self._steps(10)).at_least)
        own = len(self._spools)
        if self._fewest == 0:
            self._cut_whole()
        slopes = self._slopes()
        for each in sorted({0, *slopes}):
            for spare in SPARE_LENGTH:
                if self._is_open():
                    self._mixed(each, self._total * spare // 1000)
        for most, parts in ((FEW_CHAINS, 4), (MOST_CHAINS, 2)):
            for each in slopes:
                if self._is_open():
                    self._chained(each, most, parts * len(slopes))
        if self._fewest == 0 and self._best().charged > self._least_with(0) and self._share(1, own) > 0:
            self._cut_whole()
        best = self._best()
        return best._replace(at_least=min(best.charged, self._at_least(0)))

    def _share(self, parts: int, kinds: int = 0) -> int:
        """A part of the work, as far as it is left beside a first cut list of so many kinds, and its cuts."""
        left = self._work - (self._from - self._cutter.budget.left)
        looks = 2 * self._number + len(self._pieces) * kinds
        first = (2 * OPERATIONS_OF_A_CUT * self._number + LOOKED_AT * looks) // OPERATIONS_OF_WORK
        return min(self._work // parts, max(0, left - first if kinds else left))

    def _cut_whole(self) -> None:
        """Keep the best plan without joints, and what it proves."""
        plan = self._cutter.whole(self._share(4))
        if not any(plan.uncut):
            self._plans.append(plan)
            self._whole = max(self._whole, plan.at_least)

    def _steps(self, parts: int) -> Steps:
        return Steps(self._cutter.budget, self._share(parts))

    def _best(self) -> JoinedPlan:
        return min(self._plans, key=self._cutter.worth)

    def _is_open(self) -> bool:
        """Whether a plan with joints may be better than those found, and there is work left to find it."""
        return not self._plans or (self._share(1) > 0 and self._best().charged > self._at_least(1))

    def _slopes(self) -> list[int]:
        """What one joint costs, the least among many and alone: a search needs one price for each."""
        price = self._joints.price
        least = min(price(number) // number for number in range(1, MOST_IN_A_ROW))
        return sorted({least, price(1)})

    def _at_least(self, joints: int) -> int:
        """No plan with as many joints, or more, is charged less."""
        first = max(joints, self._fewest)
        last = max([first, *(bound.up_to for bound in self._bounds)]) + 1
        # From the last on only the mix bounds it, and more joints cost no less.
        return min(self._least_with(number) for number in range(first, last + 1))

    def _least_with(self, joints: int) -> int:
        """No plan with just so many joints is charged less."""
        proven = [each.at_least - each.each * joints for each in self._bounds if joints <= each.up_to]
        if joints == 0:
            return max([self._whole, *map(self._cutter.at_least, proven)])
        return self._cutter.at_least(max([self._mix, *proven])) + self._joints.price(joints)

    def _mixed(self, each: int, spare: int) -> None:
        """Keep the plan of the cheapest spools that together leave so much, with a joint at this price."""
        takes = self._joints.takes
        kinds = [kind for kind, spool in enumerate(self._spools) if spool.length > takes]
        offers = [
            Offer(spool.length - takes, (spool.price or 0) + each * (spool.at_most is None), spool.at_most)
            for spool in map(self._spools.__getitem__, kinds)
        ]
        counts = cheapest_mix(offers, max(1, self._total + spare - takes), self._steps(40)).counts
        bench = self._bench(self._share(6) if self._plans else self._cutter.budget.left)
        try:
            bench.pay_for(sum(counts))
            bench.cut(
                [kind for kind, count in zip(kinds, counts, strict=True) for _ in range(count)],
                [
                    (piece.length, place)
                    for place, piece in enumerate(self._pieces)
                    for _ in range(piece.number)
                ],
            )
        except OutOfStepsError as none:
            if not self._plans:
                limit = self._cutter.budget.limit
                raise WorkOverLimitError(limit + 1, limit) from none
        else:
            self._keep(bench)

    def _chained(self, each: int, most: int, parts: int) -> None:
        """Keep the best plan of pieces whole in chains, with joints at this price, and what it proves."""
        needed = max(1, self._fewest)
        while needed < MOST_IN_A_ROW and self._least_with(needed + 1) < self._best().charged:
            needed += 1
        chains, up_to = self._chains(each, needed, most)
        plan = self._cut_from(chains, parts)
        if plan is None:
            return
        self._bounds.append(_Bound(each, plan.at_least or 0, up_to))
        if not self._joined(plan, chains):
            # Off-cuts on hand are in more chains than there are of them.
            chains = [chain for chain in chains if not any(map(self._is_ended, chain.kinds))]
            plan = self._cut_from(chains, parts)
            if plan is not None:
                self._joined(plan, chains)

    def _chains(self, each: int, longest: int, most: int) -> tuple[list[_Chain], int]:
        """Chains beside which no other holds as much for as little; up to so many joints these are all.

        What holds more than all pieces together holds no more than these.
        """
        takes, enough = self._joints.takes, self._total
        single = [
            _Chain((kind,), spool.length, spool.price or 0)
            for kind, spool in enumerate(self._spools)
            if spool.length > takes
        ]
        fronts: dict[tuple[int, ...], list[_Chain]] = {
            (): [one for one in single if not self._is_ended(one.kinds[0])]
        }
        chains: list[_Chain] = []
        level, steps = single, self._steps(10)
        for joints in range(1, longest + 1):
            try:
                steps.take(LOOKED_AT * len(level) * len(single))
            except OutOfStepsError:
                return chains, joints - 1
            longer = {
                kinds: _Chain(kinds, chain.room + one.room - takes, chain.price + one.price + each)
                for chain in level
                for one in single
                if self._is_there(kinds := tuple(sorted((*chain.kinds, *one.kinds))))
            }
            level = []
            for chain in sorted(longer.values(), key=lambda each: (each.price, -each.room, each.kinds)):
                ended = tuple(filter(self._is_ended, chain.kinds))
                front = fronts.setdefault(ended, [])
                room = min(chain.room, enough)
                if not any(
                    other.price <= chain.price and min(other.room, enough) >= room
                    for other in (*front, *fronts[()])
                ):
                    level.append(chain)
                    front.append(chain)
            if not level:
                return chains, MOST_IN_A_ROW
            if len(chains) + len(level) > most or max(chain.room for chain in level) >> LENGTH_BITS:
                return chains, joints - 1
            chains += level
        return chains, longest

    def _is_ended(self, kind: int) -> bool:
        return self._spools[kind].at_most is not None

    def _is_there(self, kinds: Sequence[int]) -> bool:
        """Whether there are as many of each kind."""
        return all(
            number <= (number if (most := self._spools[kind].at_most) is None else most)
            for kind, number in Counter(kinds).items()
        )

    def _cut_from(self, chains: Sequence[_Chain], parts: int) -> CutPlan | None:
        """The best plan of pieces whole in spools and chains; None if it leaves some out."""
        kinds = [*self._spools, *map(self._offered, chains)]
        share = self._share(parts, len(kinds))
        if not chains or share <= 0:
            return None
        try:
            plan = cut_whole(self._pieces, kinds, work=share, budget=self._cutter.budget)
        except WorkOverLimitError:
            return None
        return None if any(plan.uncut) else plan

    def _offered(self, chain: _Chain) -> SpoolKind:
        """A chain as a spool, to be had as often as there are enough off-cuts on hand for it."""
        often = [
            (self._spools[kind].at_most or 0) // number
            for kind, number in Counter(chain.kinds).items()
            if self._is_ended(kind)
        ]
        bought = len(chain.kinds) - sum(map(self._is_ended, chain.kinds))
        return SpoolKind(chain.room, chain.price, min(often, default=None), max(1, bought))

    def _joined(self, plan: CutPlan, chains: Sequence[_Chain]) -> bool:
        """Cut what stands in chains and keep the plan; False where there are not enough off-cuts on hand."""
        own, bench = len(self._spools), self._bench(self._cutter.budget.left)
        with suppress(OutOfStepsError):
            for row in plan.spools:
                kinds = (row.spool,) if row.spool < own else chains[row.spool - own].kinds
                bench.pay_for(len(kinds) * row.number)
                for _ in range(row.number):
                    bench.cut(kinds, [(cut.length, cut.piece) for cut in row.cuts])
            if not self._is_there([row.spool for row in bench.rows]):
                return False
            self._keep(bench)
        return True

    def _bench(self, work: int) -> _Bench:
        return _Bench(self._spools, self._joints.takes, Steps(self._cutter.budget, work))

    def _keep(self, bench: _Bench) -> None:
        """Keep a plan that leaves nothing uncut."""
        rows = tuple(bench.rows)
        charged = self._cutter.charged(rows) + self._joints.price(bench.joints)
        self._plans.append(JoinedPlan(rows, charged, 0, bench.joints, (0,) * len(self._pieces)))


class _Bench:
    """Spools in rows, from which pieces are cut, and how often they are joined."""

    def __init__(self, spools: Sequence[SpoolKind], takes: int, steps: Steps) -> None:
        self._spools, self._takes, self._steps = spools, takes, steps
        self._copies: Counter[int] = Counter()
        self.rows: list[SpoolCut] = []
        self.joints = 0

    def pay_for(self, spools: int) -> None:
        """Pay for laying out and using up so many spools.

        Raises
        ------
        OutOfStepsError
            It was more than may be done.
        """
        self._steps.take(OPERATIONS_OF_A_CUT * spools)
        self._steps.pay()

    def cut(self, kinds: Sequence[int], pieces: Iterable[tuple[int, int]]) -> None:
        """Cut pieces (length, place) from spools of these kinds, longest first, whole while one holds them.

        The others are joined: each joint uses a spool up, so there are fewer joints than spools.

        Raises
        ------
        OutOfStepsError
            It was more than may be done.
        """
        parts: list[list[Part]] = [[] for _ in kinds]
        lefts = sorted((self._spools[kind].length, serial) for serial, kind in enumerate(kinds))
        longer = []
        for length, place in sorted(pieces, key=lambda each: (-each[0], each[1])):
            if length > 0 and not self._cut(lefts, parts, Part(place, length)):
                longer.append((length, place))
        for length, place in longer:
            part = Part(place, length, self._copies[place])
            self._copies[place] += 1
            while not self._cut(lefts, parts, part):
                left, serial = lefts.pop()
                parts[serial].append(part._replace(length=left))
                self.joints += 1
                on = left - self._takes
                part = part._replace(length=part.length - on, begins=part.begins + on)
        for kind, cuts in zip(kinds, parts, strict=True):
            if cuts:
                off_cut = self._spools[kind].length - sum(part.length for part in cuts)
                self.rows.append(SpoolCut(kind, tuple(cuts), off_cut))

    def _cut(self, lefts: list[tuple[int, int]], parts: list[list[Part]], part: Part) -> bool:
        """Cut a part where it leaves least; False where it is longer than all that is left of any spool."""
        self._steps.take(OPERATIONS_OF_A_CUT)
        spot = bisect_left(lefts, (part.length, -1))
        if spot == len(lefts):
            return False
        left, serial = lefts.pop(spot)
        insort(lefts, (left - part.length, serial))
        parts[serial].append(part)
        return True


def _kept(rows: Sequence[SpoolCut], keep_from: int, steps: Steps) -> list[SpoolCut]:
    """The spools, with whole pieces exchanged while that leaves fewer off-cuts too short to keep."""
    kept = list(rows)
    if keep_from > 0:
        with suppress(OutOfStepsError):
            while _exchanged(kept, keep_from, steps):
                pass
    return kept


def _exchanged(rows: list[SpoolCut], keep_from: int, steps: Steps) -> bool:
    """Make one exchange between two spools that leaves fewer short off-cuts; whether there was one."""

    def short(off_cut: int) -> bool:
        return 0 < off_cut < keep_from

    for place, row in enumerate(rows):
        if not short(row.off_cut):
            continue
        for other_place, other in enumerate(rows):
            if other_place == place:
                continue
            before = 1 + short(other.off_cut)
            for given, taken in _exchanges(row, other):
                steps.take(LOOKED_AT)
                gained = sum(part.length for part in given) - sum(part.length for part in taken)
                lefts = row.off_cut + gained, other.off_cut - gained
                if min(lefts) >= 0 and sum(map(short, lefts)) < before:
                    rows[place] = _with(row, given, taken, lefts[0])
                    rows[other_place] = _with(other, taken, given, lefts[1])
                    return True
    return False


def _exchanges(row: SpoolCut, other: SpoolCut) -> Iterator[tuple[tuple[Part, ...], tuple[Part, ...]]]:
    """One whole piece of the first for one of the other, or for none, or none for one; none is left empty."""
    own, theirs = ([part for part in each.parts if part.copy is None] for each in (row, other))
    if len(row.parts) > 1:
        yield from (((part,), ()) for part in own)
    if len(other.parts) > 1:
        yield from (((), (part,)) for part in theirs)
    yield from (((part,), (taken,)) for part in own for taken in theirs)


def _with(row: SpoolCut, given: tuple[Part, ...], taken: tuple[Part, ...], off_cut: int) -> SpoolCut:
    """A spool after an exchange."""
    parts = list(row.parts)
    for part in given:
        parts.remove(part)
    return row._replace(parts=(*parts, *taken), off_cut=off_cut)


def _alike(rows: Iterable[SpoolCut]) -> Iterator[SpoolCut]:
    """The spools by their kinds, those cut alike told once; the longest cuts first, joined parts last."""
    ordered = [
        row._replace(
            parts=tuple(sorted(row.parts, key=lambda part: (part.copy is not None, -part.length, part.piece)))
        )
        for row in rows
    ]
    ordered.sort(key=lambda row: (row.spool, row.off_cut, [(part.piece, part.begins) for part in row.parts]))
    for _, group in groupby(ordered, key=lambda row: (row.spool, row.parts)):
        alike = list(group)
        yield alike[0]._replace(number=len(alike))
