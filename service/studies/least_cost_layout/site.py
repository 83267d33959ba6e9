"""A site in SI: places, routes between them, what stands there, what may feed it, and what all of it costs.

Nothing here is solved. Routes are walked by the shortest way; of several equally short ones by that of the
places that come first in the request, so that the same site always has the same ways.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from heapq import heappop, heappush
from math import hypot, inf
from typing import NamedTuple

from service.circuit.job import JobPart
from service.circuit.limits import above_voltage
from service.physics.load import Load
from service.studies.least_cost_layout.ellipsoid import flattened


class Position(NamedTuple):
    """Where a place lies in the plane, east and north of the middle of the site. [m]"""

    east_m: float
    north_m: float


def plane_of(coordinates: Sequence[tuple[float, float]]) -> list[Position]:
    """Positions of longitudes and latitudes in the plane that touches the ellipsoid amid them.

    Parameters
    ----------
    coordinates : sequence of (float, float)
        Longitude and latitude, in the order of RFC 7946. [°]

    Notes
    -----
    Lengths are off by less than 1 mm on a site of 500 m. A site on both sides of the 180th meridian is not
    meant.
    """
    middle_lon = sum(lon for lon, _ in coordinates) / len(coordinates)
    middle_lat = sum(lat for _, lat in coordinates) / len(coordinates)
    return [Position(*flattened((middle_lon, middle_lat), each)) for each in coordinates]


def straight_m(first: Position, second: Position) -> float:
    """The straight distance of two positions. [m]"""
    return hypot(second.east_m - first.east_m, second.north_m - first.north_m)


class Route(NamedTuple):
    """A way along which cable may lie, between two places by index; `trench` is what digging it costs.

    [m], [currency]
    """

    subject: JobPart
    start: int
    end: int
    length_m: float
    trench: Decimal


class SiteLamp(NamedTuple):
    """A fixture and its place.

    Parameters
    ----------
    subject : JobPart
    place : int
    load : Load
        As it enters the circuit.
    least_v, highest_v : float
        What it must get at least, and stand at most. [V]
    own_ohm : float
        Of its lead, its splice and half of its rail, hot. [ohm]
    """

    subject: JobPart
    place: int
    load: Load
    least_v: float
    highest_v: float
    own_ohm: float = 0.0

    @property
    def least_w(self) -> float:
        """No voltage at or above the least that it must get makes it draw fewer watts. [W]"""
        return self.load.real_power(self.least_v)

    @property
    def least_va(self) -> complex:
        """The same with its non-active part. [W + j var]"""
        return complex(self.least_w, self.load.non_active_var + self.load.non_active_a * self.least_v)


class CableOffer(NamedTuple):
    """One cable of the stock; no length of it costs less than `price_per_m`. [currency/m]

    Resistance of both conductors in the state that asks most of a layout, and at the coldest [ohm/m];
    `ampacity_a` and `device_a` are None where no table has them [A]; `longest_m` is the longest piece that
    may be had. [m]
    """

    subject: JobPart
    price_per_m: Decimal
    hot_ohm_per_m: float
    cold_ohm_per_m: float
    ampacity_a: float | None = None
    device_a: float | None = None
    longest_m: float = inf


class Feeding(NamedTuple):
    """One box at one mounting point, in the state that asks most of a layout, and at the highest mains.

    Open-circuit voltage over the rated voltage of a tap [-], and the source's resistance over the square of
    it [1/W].
    """

    low_ratio: float
    low_resistance: float
    high_ratio: float
    high_resistance: float


class BoxOffer(NamedTuple):
    """One transformer that may be bought. [VA], [V], [A], [currency]

    `limits_a` are those of its circuits, None where no device is stated; `listed`: cable and fixtures are
    listed with them. `feedings` has one entry for each mounting point.
    """

    subject: JobPart
    rating_va: float
    taps_v: tuple[float, ...]
    limits_a: tuple[float | None, ...]
    listed: bool
    price: Decimal
    feedings: tuple[Feeding, ...]

    def room_va(self, mount: int) -> float:
        """The most volt-amperes that lamps may draw at a mounting point, all of them at their least. [VA]

        A rating is of current as well, and at low mains the same watts take more of it.
        """
        return self.rating_va * min(1.0, self.feedings[mount].low_ratio)

    def highest_v(self, mount: int) -> float:
        """The open circuit of the highest tap in the state that asks most. [V]"""
        return max(self.taps_v) * self.feedings[mount].low_ratio


class MountingPlace(NamedTuple):
    """Where boxes may be mounted, so many at most; `price` is paid once where any is. [currency]"""

    subject: JobPart
    place: int
    price: Decimal
    boxes_at_most: int


class JointPrices(NamedTuple):
    """What each joint costs: at a fixture, where a cable parts, where its size changes, at a box. [money]"""

    fixture: Decimal = Decimal(0)
    tee: Decimal = Decimal(0)
    splice: Decimal = Decimal(0)
    cable_end: Decimal = Decimal(0)


CHAIN, TEE, HUB, EQUAL_HUB = "chain", "tee", "hub", "equal-hub"
"""How a run may part: not at all, at any place, or at one place with a cable to each lamp, all as long."""


PER_RUN, PER_SPAN = "per-run", "per-span"


class LayoutRules(NamedTuple):
    """What every design must keep beside the windows.

    `near_allowed`: a circuit may be used beyond the share that a continuous load may have. `any_device`: a
    conductor may stand behind a larger device. `may_not_trip`: a short need not trip a device. `light`:
    little may be on, so that lamps must stand the voltage without load. `highest_open_v`: no tap that is used
    may stand higher without load. [V]
    """

    branching: str = TEE
    gauges: str = PER_SPAN
    drop_ratio: float | None = None
    near_allowed: bool = False
    any_device: bool = False
    may_not_trip: bool = False
    light: bool = False
    highest_open_v: float = inf


def usable_taps(box: BoxOffer, highest_open_v: float) -> tuple[float, ...]:
    """The taps of a box that stand no higher without load, wherever that is mounted lowest. [V]"""
    ratio = min(each.high_ratio for each in box.feedings)
    return tuple(tap_v for tap_v in box.taps_v if not above_voltage(tap_v * ratio, highest_open_v))


class Site(NamedTuple):
    """All that a layout is sought from."""

    positions: tuple[Position, ...]
    routes: tuple[Route, ...]
    lamps: tuple[SiteLamp, ...]
    mounts: tuple[MountingPlace, ...]
    boxes: tuple[BoxOffer, ...]
    cables: tuple[CableOffer, ...]
    joints: JointPrices
    rules: LayoutRules

    @property
    def least_va(self) -> float:
        """No design draws fewer volt-amperes. [VA]"""
        return abs(sum((lamp.least_va for lamp in self.lamps), start=0j))


Step = tuple[int, int]
"""A place beside another, and the route that leads there."""


def neighbours(places: int, routes: Sequence[Route]) -> list[list[Step]]:
    """Of each place those beside it, in the order of the routes."""
    beside: list[list[Step]] = [[] for _ in range(places)]
    for index, route in enumerate(routes):
        beside[route.start].append((route.end, index))
        beside[route.end].append((route.start, index))
    return beside


class Ways(NamedTuple):
    """The cheapest way to every place from the nearest of several, and the step that it ends with.

    Infinite, and None, where there is no way or none is needed.
    """

    costs: list[float]
    steps: list[Step | None]


def cheapest_ways(
    beside: Sequence[Sequence[Step]], starts: Iterable[int], cost_of: Callable[[int], float]
) -> Ways:
    """The cheapest ways from some places to all others, by the cost of each route."""
    ways = Ways([inf] * len(beside), [None] * len(beside))
    walk(beside, ways, starts, cost_of)
    return ways


def walk(
    beside: Sequence[Sequence[Step]], ways: Ways, starts: Iterable[int], cost_of: Callable[[int], float]
) -> int:
    """Shorten ways by starting at more places, which keep their own; how many steps were looked at."""
    waiting: list[tuple[float, int]] = []
    for place in starts:
        ways.costs[place] = 0.0
        heappush(waiting, (0.0, place))
    looked_at = 0
    while waiting:
        cost, place = heappop(waiting)
        if cost > ways.costs[place]:
            continue
        looked_at += len(beside[place])
        for other, route in beside[place]:
            further = cost + cost_of(route)
            if further < ways.costs[other]:
                ways.costs[other], ways.steps[other] = further, (place, route)
                heappush(waiting, (further, other))
    return looked_at


def distances_m(site: Site, mounts: Iterable[int]) -> list[float]:
    """The shortest way along routes from the nearest of some mounting points to each place. [m]"""
    beside = neighbours(len(site.positions), site.routes)
    lengths_m = [route.length_m for route in site.routes]
    return cheapest_ways(beside, [site.mounts[each].place for each in mounts], lengths_m.__getitem__).costs
