r"""What no layout of a site can cost less than, in closed form, without an engine.

Cable and windings are resistances. Let :math:`J = P / |V|` be the watts that pass a place over the volts
there, and :math:`j_k` those of each lamp at its own voltage. A span of resistance r that delivers P watts and
Q var at the voltage V takes

.. math:: |V'|^2 = (|V| + r P / |V|)^2 + (r Q / |V|)^2, \qquad P' = P + r (P^2 + Q^2) / |V|^2

where it begins. So :math:`|V'| - |V| \ge r J`, and :math:`J' \ge J`, since
:math:`P'^2 |V|^2 - P^2 |V'|^2 = r Q^2 (2 P + r P^2 / |V|^2 + r Q^2 / |V|^2)` is not negative. From the lamps
towards the box, span by span, J is therefore no less than the :math:`j_k` of all lamps behind, whether their
currents lag or not. Give every lamp its share :math:`\gamma_a^k = \gamma_a j_k / \sum_{m \succeq a} j_m` of
the conductance of each span a that it lies behind. Then

.. math:: E - |V_k| \ge j_k \sum_a l_a / \gamma_a^k

and by the inequality of Cauchy and Schwarz, with a way of :math:`d_k` at least,

.. math:: \sum_a l_a \gamma_a^k \ge d_k^2 \frac{j_k}{E - |V_k|} \ge d_k^2 \frac{P_k}{|V_k| (E - |V_k|)}

which is least at the lowest voltage that the lamp may have, or at half of E where that is more. No load draws
fewer watts at a higher voltage. A winding is one more span, that all lamps of its box share.

All of it is taken in one of the states in which a layout must pass: a layout that passes in all passes there.

What a metre of cable c costs is, for every :math:`p_0` up to the cheapest price, at least
:math:`p_0 + \kappa \gamma_c` with :math:`\gamma` the reciprocal of a metre's resistance in that state and
:math:`\kappa = \min_c (p_c - p_0) / \gamma_c`. The first part is paid on every route that is used, like its
trench, and routes that join all lamps to a box cost at least what dual ascent finds for the Steiner
arborescence; the second part is copper. Both are paid by different money, so they add.

Sites are told apart by the mounting points in use and by the few boxes that there are, or that there
are more: each part has a bound, and the least of them holds for all. Left out are the sizes between which no
cable is made beyond the straight line below their prices, the top of the windows, circuits, and what windings
lose where there are more boxes than that.

References
----------
Wong (1984), A dual ascent approach for Steiner tree problems on a directed graph, as remembered. The split by
J is our own; tests hold it to enumerated layouts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from heapq import heapify, heappop, heappush
from itertools import combinations, combinations_with_replacement
from math import inf, sqrt
from typing import Final, NamedTuple

from service.circuit.work import OPERATIONS_OF_WORK, charge, count
from service.studies.least_cost_layout.site import (
    BoxOffer,
    Feeding,
    Site,
    SiteLamp,
    cheapest_ways,
    distances_m,
    neighbours,
)

GUARD: Final = Decimal("1e-9")
"""Share of every certified term that is given up for the last digits of floats. [-]"""


class Split(NamedTuple):
    """What of the cheapest price of a metre is taken as paid by length, where the rest is paid by copper. [-]

    `near` on routes that begin nearer to the boxes than `reach`, of the way to the farthest lamp; else `far`.
    """

    near: float
    far: float
    reach: float = 0.0


SPLITS: Final = (
    Split(0.0, 1.0, 0.4),
    Split(1.0, 1.0),
    Split(0.0, 0.0),
    Split(0.0, 1.0, 0.2),
    Split(0.0, 1.0, 0.6),
    Split(0.0, 1.0, 0.8),
    Split(0.4, 1.0, 0.3),
    Split(0.4, 1.0, 0.6),
    Split(0.5, 0.5),
)
"""Those that are tried; each gives a bound that holds."""


CENT: Final = Decimal("0.01")


class BoundTerms(NamedTuple):
    """Disjoint parts of the money of every layout, each rounded down to the cent. [currency]

    `routes` is what trenches and a part of the cheapest cable in them cost together, `copper` what cable
    costs beyond that because lamps are far away.
    """

    boxes: Decimal
    routes: Decimal
    copper: Decimal
    joints: Decimal

    @property
    def amount(self) -> Decimal:
        """No layout costs less. [currency]"""
        return self.boxes + self.routes + self.copper + self.joints


class OutOfReach(NamedTuple):
    """A lamp that no cable of the stock reaches, by its index.

    How far it is from the nearest mounting point, and how far it might be with the cable of least resistance
    to itself alone. [m]
    """

    lamp: int
    distance_m: float
    reach_m: float


class Impossible(NamedTuple):
    """Why no layout passes: lamps that nothing reaches, or more load than all boxes may have.

    [VA]; `most_va` is None where that is enough.
    """

    lamps: tuple[OutOfReach, ...]
    needed_va: float
    most_va: float | None

    @property
    def proven(self) -> bool:
        """Whether there is any reason."""
        return bool(self.lamps) or self.most_va is not None


TINY: Final = 1e-9
"""What a proof must be clear of its limit by. [relative]"""


def impossible(site: Site) -> Impossible:
    """What proves that no layout passes.

    Each lamp has one cable on its way, which the least resistance of the stock makes no better than it is. No
    tap of no box stands higher than the highest at the lowest mains, and no winding helps.
    """
    most_va = _most_va(site)
    far_m = distances_m(site, range(len(site.mounts)))
    best_ohm = min(cable.hot_ohm_per_m for cable in site.cables)
    open_v = max(box.highest_v(mount) for box in site.boxes for mount in range(len(site.mounts)))
    lamps = []
    for index, lamp in enumerate(site.lamps):
        most_ohm = 1.0 / max(siemens_of(lamp, open_v), SMALLEST)
        if best_ohm * far_m[lamp.place] > most_ohm * (1.0 + TINY):
            lamps.append(OutOfReach(index, far_m[lamp.place], most_ohm / best_ohm))
    over = site.least_va > most_va * (1.0 + TINY)
    return Impossible(tuple(lamps), site.least_va, most_va if over else None)


def siemens_of(lamp: SiteLamp, supply_v: float) -> float:
    """What the way to a lamp must conduct at least, for itself alone; infinite: nothing is enough. [S]

    Parameters
    ----------
    lamp : SiteLamp
    supply_v : float
        The most that it may be fed by, where its box ends. [V]
    """
    if not lamp.least_w:
        return 0.0
    if supply_v <= lamp.least_v:
        return inf
    at_v = max(lamp.least_v, 0.5 * supply_v)
    return lamp.least_w / (at_v * (supply_v - at_v))


SMALLEST: Final = 1e-30
"""Instead of zero, where it would be divided by. [S]"""


class Drawn(NamedTuple):
    """What all lamps draw at least [W], the volt-amperes of that, and the least power factor of any. [-]"""

    watts: float
    volt_amperes: float
    factor: float


def drawn_by(site: Site) -> Drawn:
    """What the lamps of a site draw at least."""
    watts = sum(lamp.least_w for lamp in site.lamps)
    factors = [lamp.least_w / abs(lamp.least_va) for lamp in site.lamps if lamp.least_va]
    return Drawn(watts, site.least_va, min(factors, default=0.0))


def room_va(box: BoxOffer, mount: int, drawn: Drawn) -> float:
    """The most volt-amperes that lamps may draw behind a box, all of them at their least. [VA]

    With the watts W that go with them its voltage sinks to v of that without load, where v (1 - v) is W times
    the resistance over the square of that; and the lower it is the more current a volt-ampere takes of the
    rating. Both together leave 1 - W R / E², with the watts at the rating. Where less than half
    would be left, a smaller current carries more: most where half is left.
    """
    feeding = box.feedings[mount]
    full_va = box.rating_va * feeding.low_ratio
    lost = feeding.low_resistance * drawn.factor * full_va
    return min(box.rating_va, full_va * ((1.0 - lost) if lost < HALF else QUARTER / lost))


HALF: Final = 0.5
"""Of its open circuit: where a source carries most. [-]"""


def _most_va(site: Site) -> float:
    """What all boxes together may carry that may be mounted. [VA]"""
    drawn = drawn_by(site)
    return sum(
        place.boxes_at_most * max(room_va(box, mount, drawn) for box in site.boxes)
        for mount, place in enumerate(site.mounts)
    )


class Part(NamedTuple):
    """Layouts that use these mounting points, with few boxes of certain kinds, or with more of any kind.

    `mix` are those by index, None where there are more than `listed`; with the mounting points they cost
    `boxes` at least.
    """

    mounts: tuple[int, ...]
    mix: tuple[int, ...] | None
    boxes: Decimal
    listed: int = 0

    @property
    def fewest(self) -> int:
        """How many boxes there are at least."""
        return max(len(self.mounts), self.listed + 1 if self.mix is None else len(self.mix))


MOST_LISTED, MANY_LISTED, FEW_OFFERS = 2, 3, 5
"""Boxes of which every mix is a part by itself, and where there are few offers, and how many these are."""


def bound_work(lamps: int, routes: int, mounts: int) -> int:
    """Work of a first bound, dual ascent for every choice of mounting points; better ones may stop."""
    return 2 + ((1 << mounts) - 1) * _ascent_work(lamps, routes)


def _ascent_work(lamps: int, routes: int) -> int:
    return 1 + ASCENDED * lamps * routes // OPERATIONS_OF_WORK


MOST_FOR_A_BOUND: Final = 20_000
"""Work that better bounds than the first may take."""


ASCENDED: Final = 20
"""Operations of dual ascent for each lamp and route."""


def bound_of(site: Site) -> BoundTerms:
    """No layout that passes costs less.

    Of a site for which :func:`impossible` proves that none passes it means nothing.

    Notes
    -----
    The part whose bound is least so far is tried with one split more, until that part has been tried with all
    or the work for it is spent; every bound on the way holds.
    """
    return Bounding(site).least


class Bounding:
    """The bounds of the parts of one site, as far as they are worked out.

    `parts` are those in which something may pass, `terms` what of each is proven.
    """

    def __init__(self, site: Site) -> None:
        self._site = self.site = site
        self._ascents: dict[tuple[tuple[int, ...], Split], tuple[float, list[float]]] = {}
        self._work, self._spent = _ascent_work(len(site.lamps), len(site.routes)), 0
        self.parts = list(_parts(site))
        self.terms = [
            BoundTerms(part.boxes.quantize(CENT, ROUND_FLOOR), Decimal(0), Decimal(0), self._joints(part))
            for part in self.parts
        ]
        self._work_out()

    @property
    def least(self) -> BoundTerms:
        """The least bound of all parts."""
        return self.terms[self.weakest] if self.parts else BoundTerms(*[Decimal(0)] * 4)

    @property
    def weakest(self) -> int:
        """The part of which least is proven, by its index."""
        return min(range(len(self.parts)), key=lambda each: (self.terms[each].amount, each))

    def _work_out(self) -> None:
        tried = [0] * len(self.parts)
        while self.parts:
            index = self.weakest
            if tried[index] == len(SPLITS):
                break
            key = self.parts[index].mounts, SPLITS[tried[index]]
            if tried[index] and key not in self._ascents and self._spent + self._work > MOST_FOR_A_BOUND:
                break
            found = self._terms(self.parts[index], SPLITS[tried[index]])
            tried[index] += 1
            if found is None:
                # Nothing in this part passes.
                del self.parts[index], self.terms[index], tried[index]
            elif found.amount > self.terms[index].amount:
                self.terms[index] = found

    def _joints(self, part: Part) -> Decimal:
        return joints_of(self._site, part).quantize(CENT, ROUND_FLOOR)

    def _terms(self, part: Part, split: Split) -> BoundTerms | None:
        """The bound of one part by one split; None where nothing in it passes."""
        routes, far = self._ascent(part.mounts, split)
        copper = _copper(self._site, part, far)
        if copper is None:
            return None
        return BoundTerms(
            boxes=part.boxes.quantize(CENT, ROUND_FLOOR),
            routes=_certified(routes),
            copper=_certified(copper),
            joints=self._joints(part),
        )

    def _ascent(self, mounts: tuple[int, ...], split: Split) -> tuple[float, list[float]]:
        """What routes cost at least, and how far each place is for copper."""
        key = mounts, split
        if key not in self._ascents:
            site = self._site
            charge(self._work)
            self._spent += self._work
            count(ASCENDED * len(site.lamps) * len(site.routes))
            paid, weights = _split(site, mounts, split)
            self._ascents[key] = dual_ascent(site, mounts, paid), _weighted(site, mounts, weights)
        return self._ascents[key]


def _split(site: Site, mounts: tuple[int, ...], split: Split) -> tuple[list[float], list[float]]:
    r"""What each route costs by its length, and what copper is weighed with there, its length with it.

    With :math:`\kappa_a` of its own on each route it is the way with the least :math:`\sum l_a
    \sqrt{\kappa_a}` whose square counts, again by Cauchy and Schwarz. [currency], [(currency·ohm)^½]
    """
    cheapest = min(float(cable.price_per_m) for cable in site.cables)
    far_m = distances_m(site, mounts)
    reach_m = split.reach * max(far_m[lamp.place] for lamp in site.lamps)
    paid, weights = [], []
    for route in site.routes:
        near = min(far_m[route.start], far_m[route.end]) < reach_m
        by_length = (split.near if near else split.far) * cheapest
        kappa = min((float(cable.price_per_m) - by_length) * cable.hot_ohm_per_m for cable in site.cables)
        paid.append(float(route.trench) + by_length * route.length_m)
        weights.append(route.length_m * sqrt(max(kappa, 0.0)))
    return paid, weights


def _weighted(site: Site, mounts: tuple[int, ...], weights: Sequence[float]) -> list[float]:
    beside = neighbours(len(site.positions), site.routes)
    starts = [site.mounts[each].place for each in mounts]
    return cheapest_ways(beside, starts, weights.__getitem__).costs


def _parts(site: Site) -> Iterator[Part]:
    places = range(len(site.mounts))
    drawn = drawn_by(site)
    listed = MANY_LISTED if len(site.boxes) <= FEW_OFFERS else MOST_LISTED
    for size in range(1, len(site.mounts) + 1):
        for mounts in combinations(places, size):
            mounted = sum((site.mounts[each].price for each in mounts), start=Decimal(0))
            allowed = sum(site.mounts[each].boxes_at_most for each in mounts)
            rooms_va = [max(room_va(box, mount, drawn) for mount in mounts) for box in site.boxes]
            for number in range(size, min(listed, allowed) + 1):
                for mix in combinations_with_replacement(range(len(site.boxes)), number):
                    if sum(rooms_va[box] for box in mix) * (1.0 + TINY) >= drawn.volt_amperes:
                        prices = sum((site.boxes[box].price for box in mix), start=Decimal(0))
                        yield Part(mounts, mix, mounted + prices)
            several = _cheapest_boxes(site, mounts, max(listed + 1, size), allowed)
            if several is not None:
                yield Part(mounts, None, mounted + several, listed)


def _cheapest_boxes(site: Site, mounts: Sequence[int], fewest: int, most: int) -> Decimal | None:
    """The cheapest boxes, so many at least and at most, that carry the load; None where none do."""
    if most < fewest:
        return None
    drawn = drawn_by(site)
    rooms_va = [max(room_va(box, mount, drawn) for mount in mounts) for box in site.boxes]
    if len(site.boxes) ** most <= MOST_MIXES:
        sums = [
            sum((site.boxes[box].price for box in mix), start=Decimal(0))
            for number in range(fewest, most + 1)
            for mix in combinations_with_replacement(range(len(site.boxes)), number)
            if sum(rooms_va[box] for box in mix) * (1.0 + TINY) >= drawn.volt_amperes
        ]
        return min(sums, default=None)
    # So many mixes that only what each volt-ampere costs at least, and each box, is counted.
    per_va = min(
        box.price / Decimal(repr(max(room_va, TINY)))
        for box, room_va in zip(site.boxes, rooms_va, strict=True)
    )
    by_load = per_va * Decimal(repr(site.least_va)) * (1 - GUARD)
    return max(by_load, fewest * min(box.price for box in site.boxes))


MOST_MIXES: Final = 5_000
"""Mixes of boxes that are all looked at."""


def joints_of(site: Site, part: Part) -> Decimal:
    """A joint a fixture, and a cable end for each box that must be."""
    return site.joints.fixture * len(site.lamps) + site.joints.cable_end * part.fewest


def least_beside_boxes(
    site: Site, mounts: tuple[int, ...], box: int | None, routes: float, kappa: float
) -> float:
    """What routes, cable and joints cost at least with boxes at these places; infinite where none passes.

    Parameters
    ----------
    site : Site
    mounts : tuple of int
    box : int or None
        The one box that there is, None where there are several.
    routes, kappa : float
        What dual ascent finds for routes with a part of the cable, and the price of copper that goes with it.
        [currency], [currency·ohm/m²]
    """
    part = Part(mounts, None if box is None else (box,), Decimal(0))
    copper = _copper(site, part, distances_m(site, mounts))
    if copper is None:
        return inf
    boxes = max(len(mounts), 1 if box is not None else 2)
    joints = float(site.joints.fixture * len(site.lamps) + site.joints.cable_end * boxes)
    return routes + kappa * copper + joints


def _certified(amount: float) -> Decimal:
    """An amount without its last digits, rounded down to the cent."""
    return (Decimal(repr(amount)) * (1 - GUARD)).quantize(CENT, ROUND_FLOOR)


def _copper(site: Site, part: Part, far: Sequence[float]) -> float | None:
    """The square of how far each lamp is times what its way must conduct, in sum; None: out of reach.

    With one box its winding carries all lamps, of two each those that the other has no room for: what that
    takes is gone for every one. Where a short at the
    end of each run must trip a device, the way to the farthest lamp has no more resistance than that allows,
    which may take more.

    Parameters
    ----------
    site : Site
    part : Part
    far : sequence of float
        The way to each place, as copper is weighed. [m], or [(currency·ohm)^½]
    """
    supply_v, found = supply_of(site, part), 0.0
    for lamp in site.lamps:
        siemens = siemens_of(lamp, supply_v)
        if inf in {far[lamp.place], siemens}:
            return None
        found += siemens * far[lamp.place] ** 2
    farthest = max(far[lamp.place] for lamp in site.lamps)
    trip_ohm = _trip_ohm(site, part)
    return None if trip_ohm <= 0.0 else max(found, farthest * farthest / trip_ohm)


def supply_of(site: Site, part: Part) -> float:
    """The most that a lamp may be fed by in a part, where its box ends. [V]"""
    drawn = drawn_by(site)
    return max(
        site.boxes[box].highest_v(mount) * left_of(site, part, place, mount, drawn)
        for place, box in enumerate(range(len(site.boxes)) if part.mix is None else part.mix)
        for mount in part.mounts
    )


def left_of(site: Site, part: Part, place: int, mount: int, drawn: Drawn) -> float:
    """The share of its voltage that a winding leaves at most, of one box of a mix at a mounting point. [-]

    It feeds at least the lamps that the other boxes have no room for.
    """
    if part.mix is None:
        return 1.0
    others = [box for other, box in enumerate(part.mix) if other != place]
    carried_w = sum(max(room_va(site.boxes[box], each, drawn) for each in part.mounts) for box in others)
    watts = max(0.0, drawn.watts - carried_w)
    return 1.0 - _lost(site.boxes[part.mix[place]].feedings[mount], watts)


def _lost(feeding: Feeding, watts: float) -> float:
    """The share of its voltage that a winding takes at least where it feeds so much; 1: it cannot. [-]"""
    power = feeding.low_resistance * watts
    return 1.0 if power > QUARTER else 0.5 * (1.0 - sqrt(1.0 - 4.0 * power))


QUARTER: Final = 0.25
"""Power of a source in per-unit beyond which nothing more is carried. [-]"""


def _trip_ohm(site: Site, part: Part) -> float:
    """The resistance to the end of a run at which its device just trips, where that is most. [ohm]

    Infinite where it need not, or where a device is not stated.
    """
    if site.rules.may_not_trip:
        return inf
    found = [-inf]
    for box in site.boxes if part.mix is None else [site.boxes[each] for each in part.mix]:
        for mount in part.mounts:
            feeding = box.feedings[mount]
            for limit_a in box.limits_a:
                if limit_a is None:
                    return inf
                for tap_v in box.taps_v:
                    open_v = tap_v * feeding.low_ratio
                    found.append(open_v / limit_a - feeding.low_resistance * open_v * open_v)
    return max(found) * (1.0 + TINY)


def dual_ascent(site: Site, mounts: Sequence[int], paid: Sequence[float]) -> float:
    """What routes cost at least that join every lamp to one of some mounting points.

    Parameters
    ----------
    site : Site
    mounts : sequence of int
    paid : sequence of float
        What each route costs where it is used. [currency]

    Notes
    -----
    A set of places that holds a lamp and no box is entered by some route. What the cheapest of those costs is
    taken from all of them and added to the bound, as long as there is such a set: the raised amounts are a
    solution of the dual programme of the Steiner arborescence, so their sum is no more than its cost.
    """
    beside = neighbours(len(site.positions), site.routes)
    roots = {site.mounts[each].place for each in mounts}
    left: dict[tuple[int, int], float] = {}
    for index, route in enumerate(site.routes):
        left[route.start, index] = left[route.end, index] = paid[index]
    places = dict.fromkeys(lamp.place for lamp in site.lamps if lamp.place not in roots)
    # The smallest set first, as dual ascent is usually run; sets only grow, so no size is too large.
    waiting = [(1, place) for place in places]
    heapify(waiting)
    bound = 0.0
    while waiting:
        size, place = heappop(waiting)
        inside = _reaching(beside, left, place)
        if roots & inside:
            continue
        if len(inside) > size:
            heappush(waiting, (len(inside), place))
            continue
        entering = [
            (own, route) for own in sorted(inside) for other, route in beside[own] if other not in inside
        ]
        if not entering:
            return inf
        raised = min(left[key] for key in entering)
        bound += raised
        for key in entering:
            left[key] -= raised
        heappush(waiting, (size, place))
    return bound


def _reaching(
    beside: Sequence[Sequence[tuple[int, int]]], left: dict[tuple[int, int], float], place: int
) -> set[int]:
    """The places from which one is reached along routes that have nothing left to pay, it among them."""
    inside, waiting = {place}, [place]
    while waiting:
        own = waiting.pop()
        for other, route in beside[own]:
            if other not in inside and left[own, route] <= 0.0:
                inside.add(other)
                waiting.append(other)
    return inside


def within_percent(cost: Decimal, amount: Decimal) -> Decimal:
    """By how much a cost may be above the least there is, of itself, rounded up. [%]"""
    if cost <= 0:
        return Decimal(0)
    return (100 * (cost - amount) / cost).quantize(CENT, ROUND_CEILING)
