"""Runs of a design: which way their cable lies, what size each span has, and what that gives and costs.

Voltages are found by sweeping loads towards the box and drops away from it, a few times: quick, and off by
a hundredth of a volt at most. Whoever takes a design has it solved exactly in every corner before.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import hypot, inf, sqrt
from typing import NamedTuple

from service.circuit.limits import continuous_limit
from service.circuit.work import OPERATIONS_OF_WORK, charge, count
from service.physics.load import FILAMENT_EXPONENT
from service.studies.least_cost_layout.site import CHAIN, EQUAL_HUB, HUB, PER_RUN, Site, Step


class CableTree(NamedTuple):
    """The cable of one run, point by point from the box, which is point 0.

    Of each point what it is fed from, which is before it, the length of the span that feeds it [m] and the
    routes along which that lies, the lamps there, and its place.
    """

    parents: tuple[int, ...]
    lengths_m: tuple[float, ...]
    routes: tuple[tuple[int, ...], ...]
    lamps: tuple[tuple[int, ...], ...]
    places: tuple[int, ...]

    def children(self) -> list[list[int]]:
        """Of each point those that it feeds."""
        found: list[list[int]] = [[] for _ in self.parents]
        for point, parent in enumerate(self.parents[1:], start=1):
            found[parent].append(point)
        return found

    @property
    def tees(self) -> int:
        """How often the cable parts; at the box it does not."""
        behind_points = self.parents[1:]
        return len(behind_points) - behind_points.count(0) - len(set(behind_points) - {0})


Ways = Mapping[int, Step]
"""Of each place in a tree of routes the one before it, towards the mounting point, and the route between."""


def cable_tree(site: Site, ways: Ways, root: int, lamps: Sequence[int]) -> CableTree:
    """The cable of a run to some lamps along a tree of routes, as the runs of the site may part."""
    branching = site.rules.branching
    if branching == CHAIN:
        return _chain(site, ways, root, lamps)
    if branching in {HUB, EQUAL_HUB}:
        return _hub(site, ways, root, lamps, equal=branching == EQUAL_HUB)
    return _tee(site, ways, root, lamps)


def _used(site: Site, ways: Ways, root: int, lamps: Sequence[int]) -> dict[int, list[int]]:
    """The places on the way to some lamps, and of each those behind it; the root first."""
    behind: dict[int, list[int]] = {root: []}
    for lamp in lamps:
        trail, place = [], site.lamps[lamp].place
        while place not in behind:
            trail.append(place)
            place = ways[place][0]
        for each in reversed(trail):
            behind[ways[each][0]].append(each)
            behind[each] = []
    return behind


def _standing(site: Site, lamps: Sequence[int]) -> dict[int, list[int]]:
    """The lamps of each place."""
    found: dict[int, list[int]] = {}
    for lamp in lamps:
        found.setdefault(site.lamps[lamp].place, []).append(lamp)
    return found


class _Laying:
    """Lays spans one after another."""

    def __init__(self, site: Site, root: int) -> None:
        self._site = site
        self.parents: list[int] = [-1]
        self.routes: list[tuple[int, ...]] = [()]
        self.lamps: list[tuple[int, ...]] = [()]
        self.places = [root]
        self.lengths_m = [0.0]

    def span(self, parent: int, routes: tuple[int, ...], place: int, lamps: Sequence[int]) -> int:
        self.parents.append(parent)
        self.routes.append(routes)
        self.lengths_m.append(sum(self._site.routes[each].length_m for each in routes))
        self.lamps.append(tuple(lamps))
        self.places.append(place)
        return len(self.parents) - 1

    def tree(self) -> CableTree:
        return CableTree(
            tuple(self.parents),
            tuple(self.lengths_m),
            tuple(self.routes),
            tuple(self.lamps),
            tuple(self.places),
        )


def _tee(site: Site, ways: Ways, root: int, lamps: Sequence[int]) -> CableTree:
    behind, standing = _used(site, ways, root, lamps), _standing(site, lamps)
    every, laying = site.routes, _Laying(site, root)
    waiting: list[tuple[int, int]] = [(place, 0) for place in reversed(behind[root])]
    while waiting:
        place, parent = waiting.pop()
        routes, length_m = [], 0.0
        while True:
            route, onward = ways[place][1], behind[place]
            routes.append(route)
            length_m += every[route].length_m
            if len(onward) != 1 or place in standing:
                break
            place = onward[0]
        laying.parents.append(parent)
        laying.routes.append(tuple(routes))
        laying.lengths_m.append(length_m)
        laying.lamps.append(tuple(standing.get(place, ())))
        laying.places.append(place)
        point = len(laying.places) - 1
        waiting += [(each, point) for each in reversed(onward)]
    return laying.tree()


def _depths_m(site: Site, ways: Ways, behind: dict[int, list[int]]) -> dict[int, float]:
    """How far the farthest place behind each is. [m]"""
    depths = dict.fromkeys(behind, 0.0)
    for place in reversed(behind):
        if place in ways:
            before, route = ways[place]
            if before in depths:
                depths[before] = max(depths[before], depths[place] + site.routes[route].length_m)
    return depths


def _chain(site: Site, ways: Ways, root: int, lamps: Sequence[int]) -> CableTree:
    """From lamp to lamp, into short ways and back out of them first, and at last down the longest."""
    behind, standing = _used(site, ways, root, lamps), _standing(site, lamps)
    depths = _depths_m(site, ways, behind)
    laying, point, routes = _Laying(site, root), 0, list[int]()
    waiting: list[tuple[int, bool]] = [(root, True)]
    while waiting:
        place, arriving = waiting.pop()
        if place != root:
            _walk(routes, ways[place][1])
        if not arriving:
            continue
        if place in standing:
            point = laying.span(point, tuple(routes), place, standing[place])
            routes = []
        onward = sorted(behind[place], key=lambda each: (-_deep(site, ways, depths, each), -each))
        for each in onward:
            waiting += [(each, False), (each, True)]
    return laying.tree()


def _deep(site: Site, ways: Ways, depths: dict[int, float], place: int) -> float:
    return depths[place] + site.routes[ways[place][1]].length_m


def _walk(routes: list[int], route: int) -> None:
    """Go along a route; what is walked and at once walked back is not walked."""
    if routes and routes[-1] == route:
        routes.pop()
    else:
        routes.append(route)


def _hub(site: Site, ways: Ways, root: int, lamps: Sequence[int], *, equal: bool) -> CableTree:
    """One cable to where half of the load stands to either side, and from there one to each place.

    Equal ones are as long as the longest; what is more than the way is coiled up.
    """
    behind, standing = _used(site, ways, root, lamps), _standing(site, lamps)
    load = dict.fromkeys(behind, 0.0)
    for place, own in standing.items():
        load[place] += sum(abs(site.lamps[lamp].least_va) for lamp in own)
    for place in reversed(behind):
        if place != root:
            load[ways[place][0]] += load[place]
    hub = behind[root][0]
    while onward := [each for each in behind[hub] if 2.0 * load[each] > load[behind[root][0]]]:
        hub = onward[0]
    laying = _Laying(site, root)
    trunk = laying.span(0, _trail(ways, hub, root), hub, standing.get(hub, ()))
    to_hub = _up(ways, hub, root)
    for place in behind:
        if place in standing and place != hub:
            trail = _up(ways, place, root)
            shared = next(each for each in trail if each in to_hub)
            out = _trail(ways, hub, shared)[::-1]
            laying.span(trunk, (*out, *_trail(ways, place, shared)), place, standing[place])
    tree = laying.tree()
    if not equal:
        return tree
    longest_m = max(tree.lengths_m[LEGS:], default=0.0)
    legs = len(tree.lengths_m) - LEGS
    return tree._replace(lengths_m=(*tree.lengths_m[:LEGS], *[longest_m] * legs))


LEGS = 2
"""The point of a hub's first leg: before it come the box and the hub."""


def _up(ways: Ways, place: int, root: int) -> list[int]:
    """The places from one up to the root."""
    trail = [place]
    while trail[-1] != root:
        trail.append(ways[trail[-1]][0])
    return trail


def _trail(ways: Ways, place: int, above: int) -> tuple[int, ...]:
    """The routes from a place above down to one."""
    routes = []
    while place != above:
        place, route = ways[place]
        routes.append(route)
    return tuple(reversed(routes))


class Terminal(NamedTuple):
    """What a run is fed by: a tap under load at the lowest and at the highest mains. [V]

    `open_v` is the tap without load at the lowest mains, `source_ohm` what is before it [ohm], `limit_a`
    what a circuit may carry, `device_a` the largest device that its conductors must suit, `trip_a` the
    largest that a short must trip; None where nothing is stated. [A]
    """

    tap_v: float
    low_v: float
    high_v: float
    open_v: float
    source_ohm: float
    limit_a: float | None
    device_a: float | None
    trip_a: float | None


class Fit(NamedTuple):
    """The cables of a run on a tap: of each point the index of the cable that feeds it, none of the box.

    `cost` is of cable and joints, but for those at fixtures. [currency] `current_a` is the larger of its two
    states, `low_a` that at the lowest mains.
    """

    tap_v: float
    cables: tuple[int, ...]
    cost: float
    current_a: float
    low_a: float


class Spares(NamedTuple):
    """What runs must keep beyond their limits.

    `low_v` is what every lamp must have beyond its least and `top_v` what it must be below its most [V],
    `trip_ratio` the share of the resistance at which a device just trips that a run may have. [-]
    """

    low_v: float = 0.0
    top_v: float = 0.0
    trip_ratio: float = 1.0


ROUNDS, FEWEST_ROUNDS = 12, 2
"""Rounds of a sweep, at most and at least."""


SETTLED_V = 2e-4
"""A sweep whose last point moves by less than this is done. [V]"""


ROUGH_V = 1e-2
"""The same while cables are still made thicker. [V]"""


SWEPT, SWEPT_LAGGING = 6, 9
"""Operations of one point in one round, with all currents in phase and with some that lag."""


MARGIN_V = 1e-3
"""What a sweep may be too high by. [V]"""


COLLAPSED = 0.4
"""Share of the terminal voltage below which a sweep goes no further down. [-]"""


class Fitter:
    """Finds the cables of runs; remembers what it found.

    Parameters
    ----------
    site : Site
    spend : callable
        Told of the operations of each piece of work before it is done.
    only : int, optional
        The one cable that is laid.
    """

    def __init__(self, site: Site, spend: Callable[[int], None], only: int | None = None) -> None:
        self._site, self._spend = site, spend
        offered = range(len(site.cables)) if only is None else [only]
        order = sorted(offered, key=lambda each: (site.cables[each].price_per_m, each))
        best_ohm, kept = inf, list[int]()
        for index in order:
            # A cable that costs more and has no less resistance is for what the cheaper one may not carry.
            if site.cables[index].hot_ohm_per_m < best_ohm or _may_more(site, index, kept):
                kept.append(index)
                best_ohm = min(best_ohm, site.cables[index].hot_ohm_per_m)
        self._order = kept
        self._prices = [float(cable.price_per_m) for cable in site.cables]
        joints = site.joints
        self._splice, self._tee, self._end = float(joints.splice), float(joints.tee), float(joints.cable_end)

    def fit(
        self,
        tree: CableTree,
        terminal: Terminal,
        spares: Spares,
        *,
        thorough: bool = True,
    ) -> Fit | None:
        """The cheapest cables found with which every lamp of a run is inside its window; None where none are.

        Unless it is `thorough`, no span is made thicker so that others may be thinner.
        """
        usable = [index for index in self._order if self._stands(index, terminal)] or self._order
        fitting = _Fitting(self._site, tree, terminal, usable, spares, self._spend)
        alike = self._site.rules.gauges == PER_RUN
        cables = fitting.alike() if alike else fitting.spans(self._prices, thorough=thorough)
        if cables is None:
            return None
        return Fit(terminal.tap_v, tuple(cables), self.cost(tree, cables), fitting.current_a, fitting.low_a)

    def nearest(self, tree: CableTree, terminals: Sequence[Terminal]) -> tuple[Terminal, Fit]:
        """The cable of least resistance everywhere, on the tap on which fewest lamps are outside."""
        thickest = min(range(len(self._site.cables)), key=lambda each: self._site.cables[each].hot_ohm_per_m)
        cables = [thickest] * len(tree.parents)
        found = []
        for terminal in terminals:
            fitting = _Fitting(self._site, tree, terminal, [thickest], Spares(), self._spend)
            outside = fitting.outside(cables)
            fit = Fit(terminal.tap_v, tuple(cables), self.cost(tree, cables), *fitting.amps)
            found.append((outside, -terminal.tap_v, terminal, fit))
        _, _, terminal, fit = min(found, key=lambda each: each[:2])
        return terminal, fit

    def _stands(self, index: int, terminal: Terminal) -> bool:
        allowed_a = self._site.cables[index].device_a
        if self._site.rules.any_device or terminal.device_a is None or allowed_a is None:
            return True
        return terminal.device_a <= allowed_a

    def cost(self, tree: CableTree, cables: Sequence[int]) -> float:
        """Of cable and joints, but for those at fixtures. [currency]"""
        cable = sum(
            self._prices[cables[point]] * tree.lengths_m[point] for point in range(1, len(tree.parents))
        )
        return cable + self._end + self._tee * tree.tees + self._splice * splices(tree, cables)


def _may_more(site: Site, index: int, kept: Sequence[int]) -> bool:
    """Whether a cable may carry more, stand behind more, or is had longer than every one that is cheaper."""
    own = site.cables[index]
    return any(
        all(_more(mine, theirs) for theirs in others)
        for mine, others in (
            (own.ampacity_a, [site.cables[each].ampacity_a for each in kept]),
            (own.device_a, [site.cables[each].device_a for each in kept]),
            (own.longest_m, [site.cables[each].longest_m for each in kept]),
        )
    )


def _more(mine: float | None, theirs: float | None) -> bool:
    return theirs is not None and (mine is None or mine > theirs)


def splices(tree: CableTree, cables: Sequence[int]) -> int:
    """How often the cable goes on in another size."""
    return sum(
        1
        for point, parent in enumerate(tree.parents[1:], start=1)
        if parent and cables[point] != cables[parent]
    )


class _Fitting:
    """One run on one tap."""

    def __init__(  # noqa: PLR0913, PLR0917  # all that a run has, one caller
        self,
        site: Site,
        tree: CableTree,
        terminal: Terminal,
        usable: Sequence[int],
        spares: Spares,
        spend: Callable[[int], None],
    ) -> None:
        self._tree, self._terminal, self._usable, self._spend = tree, terminal, usable, spend
        self._cables, self._rules = site.cables, site.rules
        self._points = len(tree.parents)
        self._lamps = [
            (point, site.lamps[lamp].load, site.lamps[lamp].own_ohm)
            for point, lamps in enumerate(tree.lamps)
            for lamp in lamps
        ]
        numbers = [lamp for lamps in tree.lamps for lamp in lamps]
        least_v = 0.0
        if self._rules.drop_ratio is not None:
            least_v = terminal.low_v - self._rules.drop_ratio * terminal.tap_v
        self._least_v = [max(site.lamps[each].least_v, least_v) + spares.low_v + MARGIN_V for each in numbers]
        self._highest_v = [site.lamps[each].highest_v - spares.top_v for each in numbers]
        self._behind: list[list[int]] = [[] for _ in range(self._points)]
        """The lamps at and behind each point, by their place among those of the run."""
        for number, (at, _, _) in enumerate(self._lamps):
            for each in self._way(at):
                self._behind[each].append(number)
        self._ends = sorted(set(range(1, self._points)) - set(tree.parents))
        trips = None if self._rules.may_not_trip else terminal.trip_a
        self._most_ohm = (
            inf if not trips else spares.trip_ratio * terminal.open_v / trips - terminal.source_ohm
        )
        self.current_a = self.low_a = 0.0
        """The larger of both states, and that at the lowest mains, once it was seen to pass. [A]"""
        self._lagging = any(load.non_active_var or load.non_active_a for _, load, _ in self._lamps)
        self._volts: list[float] = []
        self._high_volts: list[float] = []
        """Of the points where they were last found, at the lowest and at the highest mains. [V]"""
        self.flow: list[float] = []
        """Of the last sweep, what goes into each point in phase, and comes out of the box. [A]"""
        self.lag: list[float] = []
        """The same of what lags by a quarter turn. [A]"""

    @property
    def amps(self) -> tuple[float, float]:
        """The current of the last sweep, for both. [A]"""
        return hypot(self.flow[0], self.lag[0]), self.flow[0]

    def outside(self, cables: Sequence[int]) -> int:
        """How many lamps are too low at the lowest mains, or too high at the highest."""
        volts = [self._terminal.high_v] * self._points
        high_v = self._sweep(cables, volts, ROUNDS, hot=False)
        if self._rules.light:
            high_v = [self._terminal.high_v] * len(high_v)
        high = sum(own_v > most for own_v, most in zip(high_v, self._highest_v, strict=True))
        volts = [self._terminal.low_v] * self._points
        return high + len(self._lacking(self._sweep(cables, volts, ROUNDS, hot=True)))

    def alike(self) -> list[int] | None:
        """The cheapest cable for all of the run."""
        for index in self._usable:
            cables = [index] * self._points
            if self._passes(cables):
                return cables
        return None

    def spans(self, prices: Sequence[float], *, thorough: bool) -> list[int] | None:
        """A cable for each span: from the cheapest up where lamps are low, then down where one is spare."""
        thickest = min(self._usable, key=lambda each: self._cables[each].hot_ohm_per_m)
        volts = [self._terminal.low_v] * self._points
        if self._lacking(self._sweep([thickest] * self._points, volts, ROUNDS, hot=True)):
            return None
        cables = [self._usable[0]] * self._points
        self._volts = volts
        while True:
            lamps_v = self._sweep(cables, volts, ROUNDS, hot=True, settled_v=ROUGH_V)
            if self._raised_for_itself(cables):
                continue
            lacking = self._lacking(lamps_v)
            if not lacking and self._trips(cables):
                break
            # What one step gives is known well enough for the next ones; then it is swept again.
            while True:
                if not self._raised(cables, lacking, prices):
                    return None
                if not lacking:
                    break
        self._volts = volts
        self._lowered(cables, prices)
        if thorough:
            cables = self._exchanged(cables, prices)
        return cables if self._passes(cables) else None

    def _exchanged(self, cables: list[int], prices: Sequence[float]) -> list[int]:
        """The cables with one span thicker and others thinner for it, as long as that is cheaper."""
        tree, cost = self._tree, self._cost(cables, prices)
        if self._points > MOST_POINTS_EXCHANGED:
            return cables
        points = sorted(range(1, self._points), key=lambda each: (-tree.lengths_m[each], each))
        for point in points[:MOST_EXCHANGED]:
            thicker = [
                each
                for each in self._usable
                if self._cables[each].hot_ohm_per_m < self._cables[cables[point]].hot_ohm_per_m
            ]
            for cable in thicker[:1]:
                other = [*cables[:point], cable, *cables[point + 1 :]]
                self._lowered(other, prices, kept=point)
                if self._cost(other, prices) < cost * (1.0 - 1e-9):
                    cables, cost = other, self._cost(other, prices)
        return cables

    def _cost(self, cables: Sequence[int], prices: Sequence[float]) -> float:
        return sum(prices[cables[each]] * self._tree.lengths_m[each] for each in range(1, self._points))

    def _sweep(
        self,
        cables: Sequence[int],
        volts: list[float],
        rounds: int,
        *,
        hot: bool,
        settled_v: float = SETTLED_V,
    ) -> list[float]:
        """The voltage of each lamp; `volts` are those of the points, from a state that may be near. [V]"""
        points = self._points
        terminal_v = self._terminal.low_v if hot else self._terminal.high_v
        ohms = [
            length * (self._cables[cable].hot_ohm_per_m if hot else self._cables[cable].cold_ohm_per_m)
            for length, cable in zip(self._tree.lengths_m, cables, strict=True)
        ]
        volts[0], least_v = terminal_v, COLLAPSED * terminal_v
        solve = self._lagging_round if self._lagging else self._round
        lamps_v = [volts[point] for point, _, _ in self._lamps]
        done = 0
        while done < rounds:
            done += 1
            before_v = volts[-1]
            solve(ohms, volts, lamps_v, least_v)
            if abs(volts[-1] - before_v) < settled_v and done >= FEWEST_ROUNDS:
                break
        self._spend((SWEPT_LAGGING if self._lagging else SWEPT) * done * (points + len(self._lamps)))
        return lamps_v

    def _round(self, ohms: Sequence[float], volts: list[float], lamps_v: list[float], least_v: float) -> None:
        """One round where all currents are in phase: towards the box, and away from it."""
        parents, points = self._tree.parents, self._points
        flow, amps = [0.0] * points, list[float]()
        for number, (point, load, _) in enumerate(self._lamps):
            own_v = lamps_v[number]
            drawn = load.power_w / own_v + load.current_a + load.conductance_s * own_v
            if load.filament_a:
                drawn += load.filament_a * own_v**FILAMENT_EXPONENT
            amps.append(drawn)
            flow[point] += drawn
        for point in range(points - 1, 0, -1):
            flow[parents[point]] += flow[point]
        for point in range(1, points):
            volts[point] = max(volts[parents[point]] - flow[point] * ohms[point], least_v)
        for number, (point, _, own_ohm) in enumerate(self._lamps):
            lamps_v[number] = max(volts[point] - own_ohm * amps[number], least_v)
        self.flow, self.lag = flow, [0.0] * points

    def _lagging_round(
        self, ohms: Sequence[float], volts: list[float], lamps_v: list[float], least_v: float
    ) -> None:
        """One round with watts and volt-amperes of non-active power, each over the volts where it passes.

        A span takes both from what it delivers; where it begins the voltage is that at its end and r times
        the first in phase with it, r times the second square to it.
        """
        parents, points = self._tree.parents, self._points
        flow, lag, own = [0.0] * points, [0.0] * points, list[tuple[float, float]]()
        for number, (point, load, own_ohm) in enumerate(self._lamps):
            own_v = lamps_v[number]
            drawn = load.power_w / own_v + load.current_a + load.conductance_s * own_v
            if load.filament_a:
                drawn += load.filament_a * own_v**FILAMENT_EXPONENT
            lagging = load.non_active_var / own_v + load.non_active_a
            own.append((drawn, lagging))
            if own_ohm:
                start_v = hypot(own_v + own_ohm * drawn, own_ohm * lagging)
                drawn = (drawn * own_v + own_ohm * (drawn * drawn + lagging * lagging)) / start_v
                lagging *= own_v / start_v
            flow[point] += drawn
            lag[point] += lagging
        for point in range(points - 1, 0, -1):
            drawn, lagging, ohm, end_v = flow[point], lag[point], ohms[point], volts[point]
            start_v = hypot(end_v + ohm * drawn, ohm * lagging)
            flow[parents[point]] += (drawn * end_v + ohm * (drawn * drawn + lagging * lagging)) / start_v
            lag[parents[point]] += lagging * end_v / start_v
        for point in range(1, points):
            ohm = ohms[point]
            volts[point] = _end_v(volts[parents[point]], ohm * flow[point], ohm * lag[point], least_v)
        for number, (point, _, own_ohm) in enumerate(self._lamps):
            drawn, lagging = own[number]
            lamps_v[number] = _end_v(volts[point], own_ohm * drawn, own_ohm * lagging, least_v)
        self.flow, self.lag = flow, lag

    def _way(self, point: int) -> list[int]:
        """The points from one up to the box, which is not among them."""
        way = []
        while point:
            way.append(point)
            point = self._tree.parents[point]
        return way

    def _lacking(self, lamps_v: Sequence[float]) -> dict[int, float]:
        """By how much lamps are too low, by their place among those of the run. [V]"""
        return {
            number: least_v - own_v
            for number, (least_v, own_v) in enumerate(zip(self._least_v, lamps_v, strict=True))
            if own_v < least_v
        }

    def _trips(self, cables: Sequence[int]) -> bool:
        return self._weakest_end(cables) is None

    def _weakest_end(self, cables: Sequence[int]) -> tuple[int, float] | None:
        """The end with most resistance before it, and what is too much of it; None where nothing is. [ohm]"""
        if self._most_ohm == inf:
            return None
        before = [0.0] * self._points
        for point in range(1, self._points):
            own = self._cables[cables[point]].hot_ohm_per_m * self._tree.lengths_m[point]
            before[point] = before[self._tree.parents[point]] + own
        end = max(self._ends, key=lambda each: before[each])
        return (end, before[end] - self._most_ohm) if before[end] > self._most_ohm else None

    def _raised_for_itself(self, cables: list[int]) -> bool:
        """Whether a span was raised because its own cable may not carry what it does or is not so long."""
        changed = False
        for point in range(1, self._points):
            while not self._carries(cables[point], point):
                place = self._usable.index(cables[point])
                more = [each for each in self._usable[place + 1 :] if self._carries(each, point)]
                if not more:
                    break
                cables[point], changed = more[0], True
        return changed

    def _carries(self, cable: int, point: int) -> bool:
        own = self._cables[cable]
        fits = own.ampacity_a is None or hypot(self.flow[point], self.lag[point]) <= own.ampacity_a
        return fits and self._tree.lengths_m[point] <= own.longest_m

    def _raised(self, cables: list[int], lacking: dict[int, float], prices: Sequence[float]) -> bool:
        """Whether a span was raised: on the way to the worst lamp that which gives most for its price."""
        if lacking:
            worst = max(lacking, key=lambda each: (lacking[each], -each))
            point = self._lamps[worst][0]
        else:
            found = self._weakest_end(cables)
            if found is None:
                return False
            point, _ = found
        best = self._best_step(point, cables, lacking, prices)
        if best is None or best[0] <= 0.0:
            return False
        _, raised, cable = best
        less_ohm = self._cables[cables[raised]].hot_ohm_per_m - self._cables[cable].hot_ohm_per_m
        gained_v = less_ohm * self._tree.lengths_m[raised] * self.flow[raised]
        cables[raised] = cable
        for number in self._behind[raised]:
            if number in lacking:
                lacking[number] -= gained_v
                if lacking[number] <= 0.0:
                    del lacking[number]
        return True

    def _best_step(
        self, point: int, cables: Sequence[int], lacking: dict[int, float], prices: Sequence[float]
    ) -> tuple[float, int, int] | None:
        """On the way to a point: what most is gained for its price, the span and its new cable."""
        behind = {each: [lamp for lamp in self._behind[each] if lamp in lacking] for each in self._way(point)}
        best: tuple[float, int, int] | None = None
        while point:
            own, length_m = self._cables[cables[point]].hot_ohm_per_m, self._tree.lengths_m[point]
            for cable in self._usable:
                less_ohm = (own - self._cables[cable].hot_ohm_per_m) * length_m
                if less_ohm <= 0.0:
                    continue
                paid = max(prices[cable] - prices[cables[point]], 1e-12) * length_m
                gained = less_ohm
                if lacking:
                    volts = less_ohm * self.flow[point]
                    gained = sum(min(lacking[each], volts) for each in behind[point])
                self._spend(1 + len(behind[point]) // 4)
                if best is None or gained / paid > best[0]:
                    best = (gained / paid, point, cable)
            point = self._tree.parents[point]
        return best

    def _lowered(self, cables: list[int], prices: Sequence[float], kept: int = 0) -> None:
        """Give each span but one the cheapest cable with which all lamps pass, the largest saving first."""
        steps = sorted(
            (
                ((prices[cable] - prices[cables[point]]) * self._tree.lengths_m[point], point, cable)
                for point in range(1, self._points)
                for cable in self._usable
                if point != kept and prices[cable] < prices[cables[point]]
            ),
        )
        volts = self._volts or [self._terminal.low_v] * self._points
        lamps_v = self._sweep(cables, volts, ROUNDS, hot=True)
        spare_v = [own_v - least_v for own_v, least_v in zip(lamps_v, self._least_v, strict=True)]
        for _, point, cable in steps:
            if prices[cable] >= prices[cables[point]] or not self._carries(cable, point):
                continue
            more_ohm = self._cables[cable].hot_ohm_per_m - self._cables[cables[point]].hot_ohm_per_m
            lost_v = more_ohm * self._tree.lengths_m[point] * self.flow[point]
            self._spend(2 + len(self._behind[point]) // 4)
            left_v = min((spare_v[each] for each in self._behind[point]), default=inf) - lost_v
            if left_v < 0.0:
                continue
            before, volts_before = cables[point], list(volts)
            cables[point] = cable
            lamps_v = self._sweep(cables, volts, ROUNDS, hot=True)
            if self._carries(cable, point) and not self._lacking(lamps_v) and self._trips(cables):
                spare_v = [own_v - least_v for own_v, least_v in zip(lamps_v, self._least_v, strict=True)]
            else:
                cables[point], volts = before, volts_before

    def _passes(self, cables: Sequence[int]) -> bool:
        """Whether the run keeps its limits at the lowest and the highest mains, as far as a sweep knows."""
        volts = self._volts or [self._terminal.low_v] * self._points
        lamps_v = self._sweep(cables, volts, ROUNDS, hot=True)
        most_a, low_a = self.amps
        carried = all(self._carries(cables[point], point) for point in range(1, self._points))
        if self._lacking(lamps_v) or not carried or not self._trips(cables):
            return False
        self._volts = list(volts)
        volts = self._high_volts or [self._terminal.high_v] * self._points
        lamps_v = self._sweep(cables, volts, ROUNDS, hot=False)
        self._high_volts = volts
        if self._rules.light:
            lamps_v = [self._terminal.high_v] * len(lamps_v)
        self.low_a = low_a
        self.current_a = max(most_a, self.amps[0])
        high = any(own_v > most for own_v, most in zip(lamps_v, self._highest_v, strict=True))
        limit_a = self._terminal.limit_a
        return not high and (limit_a is None or self.current_a <= limit_a)


MOST_POINTS_EXCHANGED = 10
"""Points of a run up to which spans are exchanged: of longer ones that takes too long."""


MOST_EXCHANGED = 8
"""Spans, the longest ones, that are made thicker so that others may be thinner."""


def allowed_a(limit_a: float | None, *, near_allowed: bool) -> float | None:
    """What a circuit may carry. [A]"""
    if limit_a is None:
        return None
    return limit_a if near_allowed else continuous_limit(limit_a)


def _end_v(start_v: float, drop_v: float, square_v: float, least_v: float) -> float:
    """The voltage at the end of a resistance that takes so much in phase with it, and square to it. [V]"""
    inner = start_v * start_v - square_v * square_v
    return max(sqrt(inner) - drop_v, least_v) if inner > 0.0 else least_v


class Meter:
    """Charges the request for operations, and ends a search where its own part of the work is spent.

    Parameters
    ----------
    work : int
        That the search may spend.
    """

    def __init__(self, work: int) -> None:
        self._left = work * OPERATIONS_OF_WORK
        self._owed = 0
        self.spent = 0

    @property
    def left(self) -> int:
        """Operations that it may still spend."""
        return self._left

    def spend(self, operations: int) -> None:
        """Take operations that are about to be done.

        Raises
        ------
        EffortSpentError
            The search has had its part.
        WorkOverLimitError
            The request has spent what it may.
        """
        if operations > self._left:
            raise EffortSpentError
        self._left -= operations
        self.spent += operations
        self._owed += operations
        whole, self._owed = divmod(self._owed, OPERATIONS_OF_WORK)
        if whole:
            charge(whole)
        count(operations)


class EffortSpentError(Exception):
    """A search has spent the work that it may spend: what was found so far is all that it finds."""
