r"""Multipliers of a relaxation in which lamps are counted in groups, made good for each lamp by itself.

Lamps in groups make a small programme, and each lamp by itself a better bound. With weights w of its lamps a
group's multipliers of trenches and cables, times w, are multipliers of the lamps, by which as much is proven.
From there each lamp gets the price of its drop that suits it, and what a trench or a cable gives is shared
anew among lamps, time after time: more to those whose cheapest way leads there.

With a price :math:`\kappa_a` of what route a conducts and :math:`\rho_k` of what the way of a lamp may take,
it pays :math:`2 \sqrt{l_a \rho_k \kappa_a}` there beside its shares of trench and cable, which is what two
tangents near :math:`\sqrt{\kappa_a / (l_a \rho_k)}` give. The equations of a lamp get the costs of its
cheapest ways. So what is found is a point of the dual programme, wherever it comes from.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from heapq import heappop, heappush
from math import floor, inf, log2, sqrt
from typing import Final, NamedTuple

from service.studies.least_cost_layout.design import Meter
from service.studies.least_cost_layout.programme import RowName
from service.studies.least_cost_layout.relaxation import Arc, Relaxation, Setting


class Branch(NamedTuple):
    """Routes that a branch does without, and such as are dug there in any case."""

    undug: frozenset[int] = frozenset()
    dug: frozenset[int] = frozenset()


class Shares(NamedTuple):
    """Of each route, and of each arc, which part of it each lamp pays; nothing where nobody does. [-]"""

    trenches: list[list[float]]
    cables: list[list[float]]


class _Lamp(NamedTuple):
    """One lamp as its group sees it: its place, its weight there, and what its drop is worth beside its own.

    `room` is what its way may take at most, nothing where it draws nothing; `lost` is the price of what it
    takes as loss.
    """

    group: int
    place: int
    weight: float
    room: float
    lost: float


class Polishing:
    """Makes multipliers better.

    Parameters
    ----------
    coarse : Relaxation
        That the multipliers are of.
    fine : Relaxation
        The same with each lamp, in their order, as a group by itself: what is found are multipliers of this.
    meter : Meter
        Of the work that all of it may take; where that ends, it is made no better.
    """

    def __init__(self, coarse: Relaxation, fine: Relaxation, meter: Meter) -> None:
        self._coarse, self._fine, self._meter = coarse, fine, meter
        self._shares: Shares | None = None
        """How trenches and cables were shared last."""

    def polished(
        self, multipliers: Mapping[int, float], setting: Setting, branch: Branch
    ) -> dict[int, float]:
        """Multipliers of the fine relaxation, by some of the coarse one."""
        own = _Polished(self._coarse, self._fine, multipliers, setting, branch)
        size = len(own.lamps) * len(self._fine.site.routes)
        self._meter.spend(min(self._meter.left, WRITTEN * size))
        steps = STEPS
        if self._shares is not None and self._meter.left >= STEPPED * size:
            self._meter.spend(STEPPED * size)
            own.begin_with(self._shares)
            steps = LATER_STEPS
        for step in steps:
            if self._meter.left < STEPPED * size:
                break
            self._meter.spend(STEPPED * size)
            if not own.better(step):
                break
        self._shares = own.shares
        return own.written()

    def carried(self, multipliers: Mapping[int, float]) -> dict[int, float]:
        """What proves that the coarse relaxation has no point, as multipliers of the fine one.

        Each row of a group is the sum of the rows of its lamps by their weights, those of drops and tangents
        by the squares, where a tangent lies at its point over the weight. So nothing is lost: the fine
        relaxation has no point either.
        """
        coarse, rows = self._coarse, self._coarse.programme.rows
        largest = max(len(lamps) for lamps in coarse.lamps_of)
        self._meter.spend(min(self._meter.left, CARRIED * largest * len(multipliers)))
        scale = LARGEST / max((abs(each) for each in multipliers.values()), default=1.0)
        found: dict[int, float] = {}
        for index, each in multipliers.items():
            kind, *of = rows[index].name
            if kind in SHARED_ROWS:
                found[self._fine.index_of(rows[index].name)] = scale * each
                continue
            group, *rest = of
            for lamp, weight in zip(coarse.lamps_of[group], coarse.weights_of(group), strict=True):
                if weight:
                    where = [*rest[:-1], rest[-1] / weight] if kind == "tangent" else rest
                    share = weight * weight if kind in SQUARED_ROWS else weight
                    found[self._fine.index_of((kind, lamp, *where))] = scale * share * each
        return found

    def ways(self, multipliers: Mapping[int, float], setting: Setting, branch: Branch) -> list[list[Arc]]:
        """Of each lamp the cheapest way there is by multipliers of the coarse relaxation."""
        own = _Polished(self._coarse, self._fine, multipliers, setting, branch)
        return [[(arc // 2, arc % 2) for arc in own.cheapest_way(lamp)] for lamp in range(len(own.lamps))]


class _Polished:
    def __init__(
        self,
        coarse: Relaxation,
        fine: Relaxation,
        multipliers: Mapping[int, float],
        setting: Setting,
        branch: Branch,
    ) -> None:
        self._fine, self._branch = fine, branch
        rows, routes = coarse.programme.rows, range(len(fine.site.routes))
        known = {
            rows[index].name: each for index, each in multipliers.items() if each > 0.0 or rows[index].equal
        }
        self._known = {name: each for name, each in known.items() if name[0] in SHARED_ROWS}
        left = coarse.programme.reduced(multipliers)
        self._raise(coarse, left)
        self._roots = fine.roots_of(fine.site, setting)
        rating = known.get(("rating",), 0.0)
        self.lamps = [_Lamp(0, 0, 0.0, 0.0, 0.0)] * len(fine.site.lamps)
        self._drops = [0.0] * len(self.lamps)
        """Of each lamp the root of the price of what its way takes."""
        for group, members in enumerate(coarse.lamps_of):
            price = known.get(("drop", group), 0.0) + rating * coarse.lost_of(group)
            for lamp, weight in zip(members, coarse.weights_of(group), strict=True):
                drawing = setting.room_ohm[lamp] < inf
                room = fine.unit * setting.room_ohm[lamp] if drawing else 0.0
                lost = rating * fine.lost_of(lamp) if drawing else 0.0
                self.lamps[lamp] = _Lamp(group, fine.site.lamps[lamp].place, weight, room, lost)
                self._drops[lamp] = max(weight * sqrt(max(0.0, price)), sqrt(lost)) if drawing else 0.0
        # Each trench and each cable, and of it what each lamp pays for its way.
        self._trenches = [
            [own.weight * known.get(("in-trench", own.group, route), 0.0) for route in routes]
            for own in self.lamps
        ]
        self._cables = [
            [
                own.weight * known.get(("in-cable", own.group, route, way), 0.0)
                for route in routes
                for way in (0, 1)
            ]
            for own in self.lamps
        ]
        self._give_what_is_left(coarse, left)
        self._ways: list[list[int]] = []
        self._best = -inf
        self._kept = self._drops, self._trenches, self._cables

    def _raise(self, coarse: Relaxation, left: list[float]) -> None:
        """Let what a route conducts cost as much as cable that lies there, or may, allows."""
        for route in range(len(self._fine.site.routes)):
            name = "conductance", route
            most = min(left[column] / share for column, share in coarse.cables_in(route))
            self._known[name] = self._known.get(name, 0.0) + max(0.0, most)
        self._roots_of_price = [
            sqrt(self._known["conductance", route] * own.length_m)
            for route, own in enumerate(self._fine.site.routes)
        ]

    def _give_what_is_left(self, coarse: Relaxation, left: Sequence[float]) -> None:
        """What a trench costs beyond all that is asked for it is shared by all."""
        for route, column in enumerate(coarse.dug):
            more = 0.0 if route in self._branch.dug else max(0.0, left[column]) / len(self.lamps)
            for trenches in self._trenches:
                trenches[route] += more

    @property
    def shares(self) -> Shares:
        """How trenches and cables are shared as far as it is known best."""
        _, *prices = self._kept
        return Shares(*([_parts_of(each) for each in zip(*own, strict=True)] for own in prices))

    def begin_with(self, shares: Shares) -> None:
        """Share as it was good for something else, where that is better here as well."""
        self.better(0.0)
        kept = self._best
        for prices, parts in ((self._trenches, shares.trenches), (self._cables, shares.cables)):
            for at, (each, part) in enumerate(zip(zip(*prices, strict=True), parts, strict=True)):
                whole = sum(each)
                if part:
                    for own, share in zip(prices, part, strict=True):
                        own[at] = whole * share
        self._drops = list(self._kept[0])
        self.better(0.0)
        if self._best == kept:
            self._drops, self._trenches, self._cables = (
                list(self._kept[0]),
                [list(own) for own in self._kept[1]],
                [list(own) for own in self._kept[2]],
            )

    def better(self, step: float) -> bool:
        """Look for cheapest ways, and share anew by them; whether that may help any more."""
        found, ways = 0.0, list[list[int]]()
        for lamp in range(len(self.lamps)):
            value, way = self._suited(lamp)
            found += value
            ways.append(way)
        if found > self._best:
            gained = found - self._best
            self._best = found
            self._kept = (
                list(self._drops),
                [list(own) for own in self._trenches],
                [list(own) for own in self._cables],
            )
            if gained < LEAST_GAIN * found:
                return False
        users = dict[int, list[int]]()
        for lamp, way in enumerate(ways):
            for arc in way:
                users.setdefault(arc, []).append(lamp)
        for arc, lamps in users.items():
            _share(self._cables, arc, lamps, step)
        for route in dict.fromkeys(arc // 2 for arc in users):
            lamps = [*users.get(2 * route, ()), *users.get(2 * route + 1, ())]
            _share(self._trenches, route, lamps, step)
        return True

    def cheapest_way(self, lamp: int) -> list[int]:
        """The arcs of it."""
        return self._value(lamp, self._drops[lamp])[1]

    def _suited(self, lamp: int) -> tuple[float, list[int]]:
        """What one lamp brings with the price of its drop that suits it, and its cheapest way."""
        own, drop = self.lamps[lamp], self._drops[lamp]
        best, way = self._value(lamp, drop)
        if own.room:
            steep = sum(self._roots_of_price[arc // 2] for arc in way) / own.room
            for other in (steep, 0.5 * (steep + drop)):
                at = max(other, sqrt(own.lost))
                if abs(at - drop) > LEAST_CHANGE * drop:
                    value, another = self._value(lamp, at)
                    if value > best:
                        self._drops[lamp] = at
                        return value, another
        return best, way

    def _value(self, lamp: int, drop: float) -> tuple[float, list[int]]:
        own = self.lamps[lamp]
        costs, steps = self._cheapest(lamp, [2.0 * drop * each for each in self._roots_of_price])
        way, at = list[int](), own.place
        while (step := steps[at]) >= 0:
            way.append(step)
            at = self._start_of(step)
        return costs[own.place] - max(0.0, drop * drop - own.lost) * own.room, way

    def _start_of(self, arc: int) -> int:
        route = self._fine.site.routes[arc // 2]
        return route.end if arc % 2 else route.start

    def _cheapest(self, lamp: int, conducting: Sequence[float]) -> tuple[list[float], list[int]]:
        """The cheapest way of a lamp to each place as far as its own, and the arc that it ends with."""
        routes, undug = self._fine.site.routes, self._branch.undug
        trenches, cables, last = self._trenches[lamp], self._cables[lamp], self.lamps[lamp].place
        costs, steps = [inf] * len(self._fine.beside), [-1] * len(self._fine.beside)
        waiting = [(0.0, place) for place in sorted(self._roots)]
        for place in self._roots:
            costs[place] = 0.0
        while waiting:
            cost, place = heappop(waiting)
            if place == last:
                break
            if cost > costs[place]:
                continue
            for other, route in self._fine.beside[place]:
                if route in undug:
                    continue
                arc = 2 * route + (routes[route].start != place)
                further = cost + trenches[route] + cables[arc] + conducting[route]
                if further < costs[other]:
                    costs[other], steps[other] = further, arc
                    heappush(waiting, (further, other))
        return costs, steps

    def written(self) -> dict[int, float]:
        """The multipliers by the rows of the fine relaxation."""
        self._drops, self._trenches, self._cables = self._kept
        found: dict[int, float] = {}
        for name, each in self._known.items():
            found[self._fine.index_of(name)] = each
        for lamp in range(len(self.lamps)):
            self._write(found, lamp)
        return found

    def _write(self, found: dict[int, float], lamp: int) -> None:
        fine, own, drop = self._fine, self.lamps[lamp], self._drops[lamp]
        if own.room:
            found[fine.index_of(("drop", lamp))] = max(0.0, drop * drop - own.lost)
        costs, _ = self._cheapest(lamp, [2.0 * drop * each for each in self._roots_of_price])
        conducting = [0.0] * len(fine.site.routes)
        for route, between in self._rises(costs, own.place):
            paid = self._trenches[lamp][route] + self._cables[lamp][2 * route + (between < 0.0)]
            if abs(between) > paid and route not in self._branch.undug and drop:
                conducting[route] = self._tangents(found, lamp, route)
        # The same once more by what tangents really give.
        costs, _ = self._cheapest(lamp, conducting)
        most = min(costs[own.place], UNREACHED)
        for place, cost in enumerate(costs):
            if place not in self._roots:
                found[fine.index_of(("flow", lamp, place))] = min(cost, most)
        for route, between in self._rises(costs, own.place):
            # A trench that is not dug in this branch may be asked for anything.
            undug = route in self._branch.undug
            asked = dict[RowName, float]()
            asked["in-trench", lamp, route] = abs(between) if undug else self._trenches[lamp][route]
            for way in (0, 1):
                asked["in-cable", lamp, route, way] = self._cables[lamp][2 * route + way]
            found |= {fine.index_of(name): each for name, each in asked.items() if each}

    def _rises(self, costs: Sequence[float], place: int) -> Iterator[tuple[int, float]]:
        """Routes along which the cost of a way changes, as far as one place, and by how much."""
        most = min(costs[place], UNREACHED)
        for route, ends in enumerate(self._fine.site.routes):
            between = min(costs[ends.end], most) - min(costs[ends.start], most)
            if between:
                yield route, between

    def _tangents(self, found: dict[int, float], lamp: int, route: int) -> float:
        """Two tangents that take what a lamp pays for its share and its drop; what they give."""
        share = self._known["conductance", route] * (1.0 - SPARED)
        drop = self._drops[lamp] ** 2 * self._fine.site.routes[route].length_m * (1.0 - SPARED)
        if share <= 0.0 or drop <= 0.0:
            return 0.0
        guess = self._fine.guess_of(lamp)
        steps = TANGENTS * log2(sqrt(share / drop) / guess)
        lower = guess * float(2.0 ** (max(-MOST_STEPS, min(MOST_STEPS, floor(steps))) / TANGENTS))
        upper = lower * float(2.0 ** (1 / TANGENTS))
        # Both together take all of the drop and of the share, as far as they lie on either side.
        above = max(0.0, min(drop, (share - drop * lower**2) / (upper**2 - lower**2)))
        below = max(0.0, min(drop - above, (share - above * upper**2) / lower**2))
        for at, each in ((lower, below), (upper, above)):
            if each:
                found[self._fine.index_of(("tangent", lamp, route, at))] = each
        return 2.0 * (lower * below + upper * above)


def _parts_of(prices: Sequence[float]) -> list[float]:
    """Which part of all each pays; nothing where nobody pays."""
    whole = sum(prices)
    return [each / whole for each in prices] if whole > LEAST_PRICE else []


def _share(prices: Sequence[list[float]], at: int, users: Sequence[int], step: float) -> None:
    """Give those more that use something; all together pay as much as before, and nobody less than 0."""
    whole = sum(own[at] for own in prices)
    if whole <= LEAST_PRICE:
        return
    more = step * whole / len(prices)
    for lamp in users:
        prices[lamp][at] += more
    total, level = 0.0, 0.0
    ordered = sorted((own[at] for own in prices), reverse=True)
    for number, each in enumerate(ordered, 1):
        total += each
        if each <= (total - whole) / number:
            break
        level = (total - whole) / number
    for own in prices:
        own[at] = max(0.0, own[at] - level)


SHARED_ROWS: Final = frozenset({"tree", "laid", "tee", "entered", "conductance", "rating"})
"""Rows that are alike however lamps are grouped."""


SQUARED_ROWS: Final = frozenset({"drop", "tangent"})
"""Rows of a group that are sums of those of its lamps by the squares of their weights."""


LARGEST: Final = 1024.0
"""What the largest multiplier is made where there are no costs: rounded, all of them keep enough digits."""


STEPS: Final = tuple(0.7 ** (number / 10) for number in range(24))
LATER_STEPS: Final = STEPS[12::2]
"""How much of an even share those get more, time after time, that use something; where much is known. [-]"""


LEAST_GAIN, LEAST_CHANGE, LEAST_PRICE, SPARED, UNREACHED = 2e-5, 1e-3, 1e-9, 1e-6, 1e6
"""What is worth to go on for, of all; a change of a price that is tried [-]; less than this is nothing, and
more is asked for nothing [currency]; and what tangents leave for the last digits. [-]"""


TANGENTS, MOST_STEPS = 8, 80
"""Tangents between a point and its double, and how many there are on either side of a guess."""


WRITTEN, STEPPED, CARRIED = 60, 8, 2
"""Operations for each route and lamp: of writing multipliers, and of one time that shares are looked at; for
each lamp of a group, of carrying one multiplier over."""
