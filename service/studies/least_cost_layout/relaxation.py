r"""What routes, cable and joints of a site cost at least, as a linear programme that every layout keeps.

Beside what :mod:`~service.studies.least_cost_layout.bound` says of one lamp by itself it counts the trenches
that lamps share and the ways that they take in them.

A layout gives each column a value: which routes are dug, and one way in them from a box to each lamp; how
many cables of each kind lie along a route, by their direction away from the box; which share of their
conductance each lamp has on its way, in proportion to its :math:`J`; and what that takes. For a lamp k

.. math:: \sum_a l_a \, q_a^k \le \frac{|V_k| (E - |V_k|)}{P_k}, \qquad q_a^k = (f_a^k)^2 / \gamma_a^k,
          \qquad \sum_k \gamma_a^k \le \Gamma_a

by the inequality that the closed form comes from, and of the convex :math:`q` only tangents are kept, each of
which holds for every t: :math:`q \ge 2 t f - t^2 \gamma`.

Lamps of a group share these columns. With any weights w of its lamps

.. math:: \sum_a l_a \frac{(\sum_k w_k f_a^k)^2}{\sum_k \gamma_a^k}
          \le \sum_k w_k^2 \frac{|V_k| (E - |V_k|)}{P_k}

by the inequality of Cauchy and Schwarz; it loses least with weights that go with :math:`P_k d_k`, by the
distance :math:`d_k`, so these are taken.

The routes that are dug join all lamps to a box, so that there is an arborescence in them: every set of places
that holds a lamp and no box is entered by it. Of cables as many come to a place as leave it, but for one more
at each tee. A way that crosses itself is taken without what it goes round, and cables that feed nothing are
left out: that makes no layout dearer.

Rows that are not needed are not there: those that a point breaks are added, and it is solved again.

References
----------
Wong (1984), as remembered, for the cuts. Farivar, Low (2013), Branch flow model, IEEE Trans. Power Systems
28(3), and Gan, Li, Topcu, Low (2014), IEEE Trans. Automatic Control 60(1), as remembered, for relaxations of
radial networks; the split by J is our own.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from math import inf
from typing import Final, NamedTuple

from service.studies.least_cost_layout.programme import Programme, Row, RowName, Standing
from service.studies.least_cost_layout.site import Site, cheapest_ways, neighbours

Arc = tuple[int, int]
"""A route by its index, and its direction: 0 from its start, 1 from its end."""


def grouped(site: Site, mounts: Sequence[int]) -> list[list[int]]:
    """The lamps in groups of one size, of such as come one after another round the shortest ways."""
    beside = neighbours(len(site.positions), site.routes)
    lengths_m = [route.length_m for route in site.routes]
    steps = cheapest_ways(beside, [site.mounts[each].place for each in mounts], lengths_m.__getitem__).steps
    trails = dict[int, list[int]]()
    for lamp, own in enumerate(site.lamps):
        trail, place = [], own.place
        while (step := steps[place]) is not None:
            place, route = step
            trail.append(route)
        trails[lamp] = trail[::-1]
    order = sorted(trails, key=lambda lamp: (trails[lamp], lamp))
    groups = max(FEWEST_GROUPS, GROUPED // len(site.routes))
    size = -(-len(order) // groups)
    return [order[start : start + size] for start in range(0, len(order), size)]


FEWEST_GROUPS, GROUPED = 2, 256
"""Groups that there are at least, of enough lamps; and routes times groups, at most, where there are more."""


class Setting(NamedTuple):
    """What a case has of its own.

    Parameters
    ----------
    mounts : tuple of int
        The mounting points with boxes.
    room_ohm : tuple of float
        Of each lamp what its way may take: the most of |V| (E - |V|) / P for its window; infinite where it
        draws nothing. [ohm]
    losses : float, optional
        What all cables together may lose behind the boxes that there are, of which the ratings, but for that,
        carry all lamps; times the square of the voltage that these have at most. [W·V²]
    """

    mounts: tuple[int, ...]
    room_ohm: tuple[float, ...]
    losses: float | None = None


class Group(NamedTuple):
    """Lamps that are counted together.

    `demand` is the share of the group that ends at each place and `weights` that of each lamp [-]; `room` is
    what its way may take at most, in the unit of a relaxation, infinite where it draws nothing. `guess` is
    where its first tangent lies.
    """

    demand: dict[int, float]
    weights: tuple[float, ...]
    room: float
    guess: float


class Relaxation:
    """The programme of a site with boxes at some of its mounting points, and how it stands in each case.

    Parameters
    ----------
    site : Site
    widest : Setting
        All mounting points where boxes may be, and no less room than any case has.
    groups : sequence of sequence of int
        Lamps that are counted together.
    """

    def __init__(self, site: Site, widest: Setting, groups: Sequence[Sequence[int]]) -> None:
        self.site, self.roots = site, self.roots_of(site, widest)
        self.programme = Programme()
        self._arcs: list[Arc] = [(route, way) for route in range(len(site.routes)) for way in (0, 1)]
        self._ends = [(route.start, route.end) for route in site.routes]
        self._lengths_m = [route.length_m for route in site.routes]
        self.beside = neighbours(len(site.positions), site.routes)
        self.unit = min(1.0 / cable.hot_ohm_per_m for cable in site.cables)
        """The least conductance of a metre of cable, which shares are counted in. [S·m]"""
        self._shares = [1.0 / cable.hot_ohm_per_m / self.unit for cable in site.cables]
        self.lamps_of = groups
        self._group_of = {lamp: group for group, lamps in enumerate(groups) for lamp in lamps}
        self._far_m = self._distances_m()
        self._groups = [self._group(lamps, widest.room_ohm) for lamps in groups]
        self._cuts = dict[int, frozenset[int]]()
        """Of each cut the places that it is round, by the index of its row."""
        self._columns()
        self._first_rows()
        self._rating()

    @staticmethod
    def roots_of(site: Site, setting: Setting) -> frozenset[int]:
        """The places where boxes are."""
        return frozenset(site.mounts[each].place for each in setting.mounts)

    def _distances_m(self) -> list[float]:
        """How far each place is in the mean of all mounting points from which there is a way to it. [m]"""
        ways = [
            cheapest_ways(self.beside, [root], self._lengths_m.__getitem__).costs
            for root in sorted(self.roots)
        ]
        finite = [[far for far in own if far < inf] for own in zip(*ways, strict=True)]
        return [sum(own) / len(own) if own else inf for own in finite]

    def standing(self, setting: Setting) -> Standing:
        """How the rows stand that do so otherwise in a case."""
        places, roots = self.programme.places, self.roots_of(self.site, setting)
        found = Standing()
        for group, own in enumerate(self._groups):
            if own.room < inf:
                found[places["drop", group]] = -self._room(group, setting.room_ohm)
            for place in roots:
                found[places["flow", group, place]] = None
        if setting.losses is not None:
            found[places["rating",]] = -setting.losses
        for index, inside in self._cuts.items():
            if not roots.isdisjoint(inside):
                found[index] = None
        return found

    def index_of(self, name: RowName) -> int:
        """Where a row is, which is added if it was not there yet."""
        if name not in self.programme.places:
            kind, *rest = name
            if kind == "in-trench":
                self._in_trench(*rest)
            elif kind == "tangent":
                self._tangent(*rest)
            elif kind == "in-cable":
                self.in_cable(rest[0], (rest[1], rest[2]))
            elif kind == "entered":
                self._entered(frozenset(rest[0]))
        return self.programme.places[name]

    def weights_of(self, group: int) -> Sequence[float]:
        """Of each lamp of a group the share in it. [-]"""
        lamps = self.lamps_of[group]
        return self._groups[group].weights or [1.0 / len(lamps)] * len(lamps)

    def guess_of(self, group: int) -> float:
        """Where the first tangent of a group lies."""
        return self._groups[group].guess

    def lost_of(self, group: int) -> float:
        """What is lost where a way takes one, at least: the square of watts over the unit."""
        pairs = zip(self.lamps_of[group], self._groups[group].weights, strict=False)
        least_w = min(
            (self.site.lamps[lamp].least_w / weight for lamp, weight in pairs if weight), default=0.0
        )
        return least_w**2 / self.unit

    def cables_in(self, route: int) -> Iterator[tuple[int, float]]:
        """The columns of cables along a route, and what each conducts, in the unit."""
        for way in (0, 1):
            for cable, share in enumerate(self._shares):
                yield self.cables[(route, way), cable], share

    def _room(self, group: int, room_ohm: Sequence[float]) -> float:
        """What the way of a group may take at most, in the unit of the relaxation."""
        lamps = zip(self.lamps_of[group], self._groups[group].weights, strict=True)
        return self.unit * sum(weight**2 * room_ohm[lamp] for lamp, weight in lamps if weight)

    def _group(self, lamps: Sequence[int], room_ohm: Sequence[float]) -> Group:
        far_m = self._far_m
        places = [self.site.lamps[lamp].place for lamp in lamps]
        drawing = [
            0.0 if room_ohm[lamp] == inf else max(far_m[at], TINY_M) / room_ohm[lamp]
            for lamp, at in zip(lamps, places, strict=True)
        ]
        # Of a group of which nothing is asked only the ways are counted.
        weights = drawing if any(drawing) else [1.0] * len(lamps)
        whole, demand = sum(weights), dict[int, float]()
        for place, weight in zip(places, weights, strict=True):
            demand[place] = demand.get(place, 0.0) + weight / whole
        if not any(drawing):
            return Group(demand, (), inf, 0.0)
        room = self.unit * sum(
            (weight / whole) ** 2 * room_ohm[lamp]
            for lamp, weight in zip(lamps, weights, strict=True)
            if weight
        )
        far = sum(share * max(far_m[place], TINY_M) for place, share in demand.items())
        return Group(demand, tuple(weight / whole for weight in weights), room, room / far)

    def _columns(self) -> None:
        site, column = self.site, self.programme.column
        groups = range(len(self._groups))
        most = float(len(site.lamps))
        self.dug = [column(float(route.trench), 1.0) for route in site.routes]
        """The column of each route: whether it is dug."""
        self.tree = {arc: column(0.0, 1.0) for arc in self._arcs}
        """Of each arc, a route and which way it is gone along: whether cable leads that way."""
        self.cables = {
            (arc, cable): column(float(offer.price_per_m) * self._lengths_m[arc[0]], most)
            for arc in self._arcs
            for cable, offer in enumerate(site.cables)
        }
        """Of each arc and cable: how many lie there."""
        self.way = {(group, arc): column(0.0, 1.0, asleep=True) for group in groups for arc in self._arcs}
        """Of each group and arc: the part of the group whose way leads there."""
        counted = [group for group in groups if self._groups[group].room < inf]
        routes = range(len(site.routes))
        # The way of each lamp lies in one cable, those of a group in as many.
        largest = [max(self._shares) * len(lamps) for lamps in self.lamps_of]
        self.share = {
            (group, route): column(0.0, largest[group], asleep=True) for group in counted for route in routes
        }
        """Of each group and route: what conducts for the group there, over the thinnest cable."""
        self.taken = {
            (group, route): column(0.0, self._groups[group].room / self._lengths_m[route], asleep=True)
            for group in counted
            for route in routes
        }
        """Of each group and route: the drop that its way takes there for each metre, in the unit."""
        tee, end = float(site.joints.tee), float(site.joints.cable_end)
        # At a box a cable more may be a run or, where one comes from elsewhere, a tee.
        self.tees = [
            column(min(tee, end) if place in self.roots else tee, most)
            for place in range(len(site.positions))
        ]
        """Of each place: how many cables leave it more than come."""

    def wake_likely(self) -> None:
        """Wake columns of routes where a way may well lead: hardly longer than the shortest from a box."""
        length_of = self._lengths_m.__getitem__
        fars_m = [cheapest_ways(self.beside, [root], length_of).costs for root in sorted(self.roots)]
        for group, own in enumerate(self._groups):
            for place in own.demand:
                back_m = cheapest_ways(self.beside, [place], length_of).costs
                for arc in self._arcs:
                    start, end = self._ends[arc[0]][:: 1 - 2 * arc[1]]
                    beyond_m = length_of(arc[0]) + back_m[end]
                    if any(far[start] + beyond_m <= HARDLY_LONGER * far[place] + TINY_M for far in fars_m):
                        self._wake(group, arc)

    def wake(self) -> bool:
        """Wake all columns; whether any was asleep."""
        before = len(self.programme.awake)
        self.programme.wake(range(len(self.programme.costs)))
        return len(self.programme.awake) > before

    def wake_way(self, lamp: int, arc: Arc) -> bool:
        """Wake columns of a route where a way of a lamp leads; whether they were asleep."""
        return self._wake(self._group_of[lamp], arc)

    def _wake(self, group: int, arc: Arc) -> bool:
        before = len(self.programme.awake)
        more = (self.share, self.taken) if (group, arc[0]) in self.share else ()
        self.programme.wake([self.way[group, arc], *(each[group, arc[0]] for each in more)])
        return len(self.programme.awake) > before

    def _first_rows(self) -> None:
        site = self.site
        for route, dug in enumerate(self.dug):
            both = [(route, 0), (route, 1)]
            self._row(("tree", route), 0.0, [(dug, 1.0), *((self.tree[arc], -1.0) for arc in both)])
            cables = [(self.cables[arc, cable], 1.0) for arc in both for cable in range(len(site.cables))]
            self._row(("laid", route), 0.0, [*cables, (dug, -1.0)])
            conducted = [
                (self.cables[arc, cable], share) for arc in both for cable, share in enumerate(self._shares)
            ]
            taken = [
                (self.share[group, route], -1.0)
                for group in range(len(self._groups))
                if (group, route) in self.share
            ]
            self._row(("conductance", route), 0.0, [*conducted, *taken])
        for place, steps in enumerate(self.beside):
            inwards = [self._arc(route, other) for other, route in steps]
            outwards = [self._arc(route, place) for _, route in steps]
            kinds = range(len(site.cables))
            self._row(
                ("tee", place),
                0.0,
                [
                    (self.tees[place], 1.0),
                    *((self.cables[arc, cable], 1.0) for arc in inwards for cable in kinds),
                    *((self.cables[arc, cable], -1.0) for arc in outwards for cable in kinds),
                ],
            )
            for group, own in enumerate(self._groups):
                terms = [
                    *((self.way[group, arc], 1.0) for arc in inwards),
                    *((self.way[group, arc], -1.0) for arc in outwards),
                ]
                self._row(("flow", group, place), own.demand.get(place, 0.0), terms, equal=True)
        for group, own in enumerate(self._groups):
            if own.room < inf:
                taken = [(self.taken[group, route], -length) for route, length in enumerate(self._lengths_m)]
                self._row(("drop", group), -own.room, taken)

    def _rating(self) -> None:
        """All that the ways of lamps take, times the square of their currents, is lost."""
        terms, most = list[tuple[int, float]](), self.programme.most
        for group, own in enumerate(self._groups):
            if own.room < inf:
                lost = self.lost_of(group)
                terms += [
                    (self.taken[group, route], -lost * length) for route, length in enumerate(self._lengths_m)
                ]
        # Where ratings are not counted nothing is more than this.
        everything = sum(coefficient * most[column] for column, coefficient in terms)
        self._row(("rating",), everything, terms)

    def foresee(self, setting: Setting) -> None:
        """Add rows that will be needed in a case: of each lamp along its shortest way."""
        roots = sorted(self.roots_of(self.site, setting))
        steps = cheapest_ways(self.beside, roots, self._lengths_m.__getitem__).steps
        for group, own in enumerate(self._groups):
            for end in own.demand:
                place = end
                while (step := steps[place]) is not None:
                    place, route = step
                    self._in_trench(group, route)
                    self.in_cable(group, self._arc(route, place))
                    if own.room < inf:
                        for each in FIRST_TANGENTS:
                            self._tangent(group, route, own.guess * each)

    def _row(
        self,
        name: RowName,
        least: float,
        terms: list[tuple[int, float]],
        *,
        equal: bool = False,
    ) -> bool:
        return self.programme.row(Row(name, least, tuple(terms), equal))

    def _arc(self, route: int, start: int) -> Arc:
        return route, 0 if self._ends[route][0] == start else 1

    def _in_trench(self, group: int, route: int) -> bool:
        both = [(self.way[group, (route, way)], -1.0) for way in (0, 1)]
        return self._row(("in-trench", group, route), 0.0, [(self.dug[route], 1.0), *both])

    def in_cable(self, group: int, arc: Arc) -> bool:
        """Add a row: where a group takes a way there is cable; whether it was not there yet."""
        cables = [(self.cables[arc, cable], 1.0) for cable in range(len(self.site.cables))]
        return self._row(("in-cable", group, *arc), 0.0, [*cables, (self.way[group, arc], -1.0)])

    def _tangent(self, group: int, route: int, at: float) -> bool:
        way = [(self.way[group, (route, way)], -2.0 * at) for way in (0, 1)]
        terms = [(self.taken[group, route], 1.0), *way, (self.share[group, route], at * at)]
        return self._row(("tangent", group, route, at), 0.0, terms)

    def broken(self, values: Sequence[float]) -> int:
        """Add the rows that a point breaks; how many there are."""
        found = 0
        for group in range(len(self._groups)):
            for route, dug in enumerate(self.dug):
                one, other = (self.way[group, (route, way)] for way in (0, 1))
                through = values[one] + values[other]
                if through < LEAST_BROKEN:
                    continue
                if through > values[dug] + LEAST_BROKEN:
                    found += self._in_trench(group, route)
                for way, column in ((0, one), (1, other)):
                    if values[column] > LEAST_BROKEN:
                        laid = sum(
                            values[self.cables[(route, way), cable]] for cable in range(len(self._shares))
                        )
                        if values[column] > laid + LEAST_BROKEN:
                            found += self.in_cable(group, (route, way))
                if (group, route) in self.share:
                    found += self._bent(group, route, through, values)
        return found

    def _bent(self, group: int, route: int, through: float, values: Sequence[float]) -> int:
        """A tangent where a point is below the curve, as one of a few for each group."""
        guess, share = self._groups[group].guess, values[self.share[group, route]]
        wanted = through / max(share, SMALLEST_SHARE) / guess
        at = guess * min(TANGENTS, key=lambda each: (abs(each - wanted) / (each + wanted), each))
        if values[self.taken[group, route]] < 2.0 * at * through - at * at * share - LEAST_BENT * guess:
            return self._tangent(group, route, at)
        return 0

    def entered(self, values: Sequence[float], setting: Setting) -> int:
        """Add a row for each lamp whose surroundings are not entered by the arborescence; how many."""
        found, roots = 0, self.roots_of(self.site, setting)
        room = {arc: values[column] for arc, column in self.tree.items()}
        for place in dict.fromkeys(lamp.place for lamp in self.site.lamps):
            if place in roots:
                continue
            inside = self._cut(room, place, roots)
            if inside is None:
                continue
            found += self._entered(inside)
            for arc in self._entering(inside):
                # The next cut is sought elsewhere.
                room[arc] = 1.0
        return found

    def _entering(self, inside: frozenset[int]) -> list[Arc]:
        return [
            arc
            for arc in self._arcs
            for start, end in [self._ends[arc[0]][:: 1 - 2 * arc[1]]]
            if start not in inside and end in inside
        ]

    def _entered(self, inside: frozenset[int]) -> bool:
        name, terms = (
            ("entered", tuple(sorted(inside))),
            [(self.tree[arc], 1.0) for arc in self._entering(inside)],
        )
        if not self._row(name, 1.0, terms):
            return False
        self._cuts[self.programme.places[name]] = inside
        return True

    def _cut(self, room: Mapping[Arc, float], place: int, roots: frozenset[int]) -> frozenset[int] | None:
        """Places round one that less than one whole arborescence enters; None where there are none.

        By the shortest ways on which something is left, from the lamp backwards.
        """
        left, flow = dict(room), 0.0
        while flow < 1.0 - LEAST_CUT:
            before: dict[int, tuple[int, Arc] | None] = {place: None}
            waiting, root = deque([place]), None
            while waiting and root is None:
                own = waiting.popleft()
                for other, route in self.beside[own]:
                    arc = self._arc(route, other)
                    if other not in before and left[arc] > LEAST_LEFT:
                        before[other] = (own, arc)
                        waiting.append(other)
                        if other in roots:
                            root = other
                            break
            if root is None:
                return frozenset(before)
            trail, at = list[Arc](), root
            while (step := before[at]) is not None:
                at, arc = step
                trail.append(arc)
            least = min(left[arc] for arc in trail)
            for route, way in trail:
                left[route, way] -= least
                left[route, 1 - way] += least
            flow += least
        return None


HARDLY_LONGER: Final = 1.3
"""Of the shortest way to a lamp: others that are thought of first. [-]"""


TINY_M: Final = 1e-3
"""A lamp nearer than this to a box is taken to be so far. [m]"""


TANGENTS: Final = tuple(2.0**step for step in (-4, -3, -2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2, 3, 4))
"""Where tangents are laid, over the first guess of a group. [-]"""


FIRST_TANGENTS: Final = (0.5, 1.0, 2.0)
"""Those that are there from the beginning."""


LEAST_BROKEN, LEAST_BENT, LEAST_CUT, LEAST_LEFT, SMALLEST_SHARE = 1e-4, 3e-3, 1e-3, 1e-7, 1e-9
"""What a row must be broken by to be added. [-]"""
