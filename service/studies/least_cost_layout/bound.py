r"""What no layout of a site can cost less than, in closed form, without an engine.

With :math:`\varphi = V^2/2` the midpoint power of a span of conductance g is
:math:`g (\varphi_u - \varphi_v)`: it is the potential of a *linear* network in which each point absorbs its
watts plus half of the losses beside it, at least its watts. Hence :math:`\varphi` is nowhere above that of the
network without losses (LinDistFlow), and a lamp needs

.. math:: \varphi_0 - \varphi_{k, lossless} \le D_k = \tfrac12 (E^2 - V_{min,k}^2)

Volt-amperes beyond the watts add on the same side; a winding is one more span. A cable that several lamps
share is, in proportion to their watts, a cable of its own for each, with the same gradient. So lamp k, whose
way is :math:`d_k` at least, has by the inequality of Cauchy and Schwarz

.. math:: \sum_a l_a \gamma_a \ge P_k d_k^2 / D_k

with :math:`\gamma` the reciprocal of a metre's resistance. What a metre of cable c costs is, for every
:math:`p_0` up to the cheapest price, at least :math:`p_0 + \kappa \gamma_c` with
:math:`\kappa = \min_c (p_c - p_0) / \gamma_c`. The first part is paid on every route that is used, like its
trench, and routes that join all lamps to a box cost at least what dual ascent finds for the Steiner
arborescence; the second part is copper. Both are paid by different money, so they add.

Sites are told apart by the mounting points in use and by whether there is one box or there are more: each
part has a bound, and the least of them holds for all. Left out are the sizes between which no cable is made
beyond the straight line below their prices, the top of the windows, circuits, and what the losses cost.

References
----------
Gan, Li, Topcu, Low (2014), Farivar and Low (2013): branch-flow relaxations, as remembered. Wong (1984), A
dual ascent approach for Steiner tree problems on a directed graph, as remembered.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from heapq import heapify, heappop, heappush
from itertools import combinations, combinations_with_replacement
from math import inf
from typing import Final, NamedTuple

from service.circuit.work import OPERATIONS_OF_WORK, charge, count
from service.studies.least_cost_layout.site import (
    Site,
    distances_m,
    neighbours,
)

GUARD: Final = Decimal("1e-9")
"""Share of every certified term that is given up for the last digits of floats. [-]"""


SHARES_OF_THE_CHEAPEST: Final = (0.0, 0.2, 0.5, 0.8, 1.0)
"""Of the cheapest price of a metre: what is taken as paid by length, where the rest is paid by copper. [-]"""


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
        room = 0.5 * (open_v * open_v - lamp.least_v * lamp.least_v)
        needed = lamp.least_w * best_ohm * far_m[lamp.place]
        if needed > room + TINY * open_v * open_v:
            per_m = lamp.least_w * best_ohm
            lamps.append(OutOfReach(index, far_m[lamp.place], max(0.0, room / per_m) if per_m else 0.0))
    over = site.least_va > most_va * (1.0 + TINY)
    return Impossible(tuple(lamps), site.least_va, most_va if over else None)


def _most_va(site: Site) -> float:
    """What all boxes together may carry that may be mounted. [VA]"""
    return sum(
        place.boxes_at_most * max(box.room_va(mount) for box in site.boxes)
        for mount, place in enumerate(site.mounts)
    )


class _Part(NamedTuple):
    """Layouts that use these mounting points, with one box or with several, which cost so much at least."""

    mounts: tuple[int, ...]
    box: int | None
    boxes: Decimal


def bound_work(lamps: int, routes: int, mounts: int) -> int:
    """Work of a bound, at most: dual ascent for every choice of mounting points and every share."""
    return (
        2
        + ASCENDED * lamps * routes * ((1 << mounts) - 1) * len(SHARES_OF_THE_CHEAPEST) // OPERATIONS_OF_WORK
    )


ASCENDED: Final = 20
"""Operations of dual ascent for each lamp and route."""


def bound_of(site: Site) -> BoundTerms:
    """No layout that passes costs less.

    Of a site for which :func:`impossible` proves that none passes it means nothing.
    """
    charge(bound_work(len(site.lamps), len(site.routes), len(site.mounts)))
    least: BoundTerms | None = None
    ascents: dict[tuple[int, ...], list[float]] = {}
    for part in sorted(_parts(site), key=lambda each: (each.boxes, each.mounts, each.box is None)):
        # The boxes alone cost more than a part that was looked at: nothing in it is the least.
        if least is not None and part.boxes + _joints(site, part) >= least.amount:
            continue
        found = _terms(site, part, ascents)
        if found is not None and (least is None or found.amount < least.amount):
            least = found
    return BoundTerms(*[Decimal(0)] * 4) if least is None else least


def _parts(site: Site) -> Iterator[_Part]:
    places = range(len(site.mounts))
    for size in range(1, len(site.mounts) + 1):
        for mounts in combinations(places, size):
            mounted = sum((site.mounts[each].price for each in mounts), start=Decimal(0))
            if size == 1:
                for box, offer in enumerate(site.boxes):
                    if offer.room_va(mounts[0]) * (1.0 + TINY) >= site.least_va:
                        yield _Part(mounts, box, mounted + offer.price)
            allowed = sum(site.mounts[each].boxes_at_most for each in mounts)
            several = _cheapest_boxes(site, mounts, max(2, size), allowed)
            if several is not None:
                yield _Part(mounts, None, mounted + several)


def _cheapest_boxes(site: Site, mounts: Sequence[int], fewest: int, most: int) -> Decimal | None:
    """The cheapest boxes, so many at least and at most, that carry the load; None where none do."""
    if most < fewest:
        return None
    rooms_va = [max(box.room_va(mount) for mount in mounts) for box in site.boxes]
    if len(site.boxes) ** most <= MOST_MIXES:
        sums = [
            sum((site.boxes[box].price for box in mix), start=Decimal(0))
            for number in range(fewest, most + 1)
            for mix in combinations_with_replacement(range(len(site.boxes)), number)
            if sum(rooms_va[box] for box in mix) * (1.0 + TINY) >= site.least_va
        ]
        return min(sums, default=None)
    # So many mixes that only what each volt-ampere costs at least, and each box, is counted.
    per_va = min(
        box.price / Decimal(repr(room_va)) for box, room_va in zip(site.boxes, rooms_va, strict=True)
    )
    by_load = per_va * Decimal(repr(site.least_va)) * (1 - GUARD)
    return max(by_load, fewest * min(box.price for box in site.boxes))


MOST_MIXES: Final = 5_000
"""Mixes of boxes that are all looked at."""


def _joints(site: Site, part: _Part) -> Decimal:
    """A joint a fixture, and a cable end for each box that must be."""
    boxes = 1 if part.box is not None else max(2, len(part.mounts))
    return site.joints.fixture * len(site.lamps) + site.joints.cable_end * boxes


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
    part = _Part(mounts, box, Decimal(0))
    copper = _copper(site, part)
    return inf if copper is None else routes + kappa * copper + float(_joints(site, part))


def _terms(site: Site, part: _Part, ascents: dict[tuple[int, ...], list[float]]) -> BoundTerms | None:
    """The bound of one part; None where nothing in it passes. `ascents` remembers what routes cost."""
    copper = _copper(site, part)
    if copper is None:
        return None
    cheapest = min(float(cable.price_per_m) for cable in site.cables)
    if part.mounts not in ascents:
        count(ASCENDED * len(site.lamps) * len(site.routes) * len(SHARES_OF_THE_CHEAPEST))
        ascents[part.mounts] = [
            dual_ascent(
                site,
                part.mounts,
                [float(route.trench) + share * cheapest * route.length_m for route in site.routes],
            )
            for share in SHARES_OF_THE_CHEAPEST
        ]
    best_routes, best_copper = 0.0, 0.0
    for share, routes in zip(SHARES_OF_THE_CHEAPEST, ascents[part.mounts], strict=True):
        kappa = min(
            (float(cable.price_per_m) - share * cheapest) * cable.hot_ohm_per_m for cable in site.cables
        )
        metal = max(0.0, kappa) * copper
        if routes + metal > best_routes + best_copper:
            best_routes, best_copper = routes, metal
    return BoundTerms(
        boxes=part.boxes.quantize(CENT, ROUND_FLOOR),
        routes=_certified(best_routes),
        copper=_certified(best_copper),
        joints=_joints(site, part).quantize(CENT, ROUND_FLOOR),
    )


def _certified(amount: float) -> Decimal:
    """An amount without its last digits, rounded down to the cent."""
    return (Decimal(repr(amount)) * (1 - GUARD)).quantize(CENT, ROUND_FLOOR)


def _copper(site: Site, part: _Part) -> float | None:
    r"""The sum of P d² / D of all lamps [m²/ohm]; None where one cannot be reached.

    With one box its winding carries all lamps: what that takes of :math:`\varphi` is gone for every one.
    Where a short at the end of each run must trip a device, the way to the farthest lamp has no more
    resistance than that allows, which may take more.
    """
    far_m = distances_m(site, part.mounts)
    total_w = sum(lamp.least_w for lamp in site.lamps)
    if part.box is None:
        feeds = [(box.highest_v(mount), 0.0) for box in site.boxes for mount in part.mounts]
    else:
        box, (mount,) = site.boxes[part.box], part.mounts
        feeds = [(box.highest_v(mount), total_w * box.feedings[mount].low_resistance)]
    potential = max(open_v * open_v * (0.5 - lost) for open_v, lost in feeds)
    found = 0.0
    for lamp in site.lamps:
        room, distance_m = potential - 0.5 * lamp.least_v * lamp.least_v, far_m[lamp.place]
        if distance_m == inf or (lamp.least_w > 0.0 and distance_m > 0.0 and room <= 0.0):
            return None
        if lamp.least_w > 0.0 and distance_m > 0.0:
            found += lamp.least_w * distance_m * distance_m / room
    farthest_m = max(far_m[lamp.place] for lamp in site.lamps)
    trip_ohm = _trip_ohm(site, part)
    return None if trip_ohm <= 0.0 else max(found, farthest_m * farthest_m / trip_ohm)


def _trip_ohm(site: Site, part: _Part) -> float:
    """The resistance to the end of a run at which its device just trips, where that is most. [ohm]

    Infinite where it need not, or where a device is not stated.
    """
    if site.rules.may_not_trip:
        return inf
    found = [-inf]
    for box in site.boxes if part.box is None else [site.boxes[part.box]]:
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
