"""A second way to check what a relaxation proves, from the site alone.

Every row is made again from its name and the numbers of the site, in fractions; nothing of how the service
makes or sums them is used. What is proven of a branch is then the least that the rows, each times its
multiplier, leave of the costs when every column goes to the worse of its ends.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from service.studies.least_cost_layout.site import Site

Column = tuple[Any, ...]
Weights = dict[Column, Fraction]


class Remade:
    """The programme of a site in one case, as far as its rows are named.

    In the case boxes are at `roots`, the way to each lamp takes `room_ohm` at most, and all cables together
    lose no more than `losses` over the square of the most that feeds a lamp, if that is counted. In the
    widest of all cases boxes may be at `widest_roots`, and ways take `widest_ohm`: lamps are weighed by it.
    """

    def __init__(  # noqa: PLR0913, PLR0917  # a case and the widest of all, each with what it is told by
        self,
        site: Site,
        roots: Sequence[int],
        groups: Sequence[Sequence[int]],
        room_ohm: Sequence[float],
        losses: float | None,
        widest_roots: Sequence[int],
        widest_ohm: Sequence[float],
    ) -> None:
        self.site, self.roots, self.groups = site, set(roots), groups
        self.widest_roots = set(widest_roots)
        self.best = max(Fraction(each.hot_ohm_per_m) for each in site.cables)
        self.gain = [self.best / Fraction(each.hot_ohm_per_m) for each in site.cables]
        self.losses = losses
        far = self._far()
        self.weights: list[list[Fraction]] = []
        self.room: list[Fraction | None] = []
        self.widest_room: list[Fraction] = []
        for lamps in groups:
            raw = [
                Fraction(0)
                if widest_ohm[lamp] == float("inf")
                else max(far[site.lamps[lamp].place], Fraction(1, 1000)) / Fraction(widest_ohm[lamp])
                for lamp in lamps
            ]
            if any(raw):
                own = [each / sum(raw) for each in raw]
                self.room.append(self._room(lamps, own, room_ohm))
                self.widest_room.append(self._room(lamps, own, widest_ohm))
            else:
                own = [Fraction(1, len(lamps)) for _ in lamps]
                self.room.append(None)
                self.widest_room.append(Fraction(0))
            self.weights.append(own)

    def _room(self, lamps: Sequence[int], weights: Sequence[Fraction], room_ohm: Sequence[float]) -> Fraction:
        squares = [
            weight * weight * Fraction(room_ohm[lamp])
            for lamp, weight in zip(lamps, weights, strict=True)
            if weight
        ]
        return sum(squares, Fraction(0)) / self.best

    def _far(self) -> dict[int, Fraction]:
        """Ways in the mean of all places of boxes from which there is one."""
        ways = [self._far_from(root) for root in self.widest_roots]
        return {
            place: sum(own, Fraction(0)) / len(own)
            for place in range(len(self.site.positions))
            if (own := [far[place] for far in ways if place in far])
        }

    def _far_from(self, root: int) -> dict[int, Fraction]:
        """Ways by trying every route until nothing is shorter."""
        far, shorter = {root: Fraction(0)}, True
        while shorter:
            shorter = False
            for route in self.site.routes:
                for one, other in ((route.start, route.end), (route.end, route.start)):
                    if one in far:
                        further = far[one] + Fraction(route.length_m)
                        if other not in far or further < far[other]:
                            far[other], shorter = further, True
        return far

    def row(self, name: tuple[Any, ...]) -> tuple[Weights, Fraction]:
        """The terms of a row, and what they are no less than."""
        kind, *rest = name
        terms: Weights = defaultdict(Fraction)
        return terms, getattr(self, f"_{kind.replace('-', '_')}")(terms, *rest)

    def _tree(self, terms: Weights, route: int) -> Fraction:
        terms["dug", route] += 1
        for way in (0, 1):
            terms["tree", route, way] -= 1
        return Fraction(0)

    def _laid(self, terms: Weights, route: int) -> Fraction:
        terms["dug", route] -= 1
        for way in (0, 1):
            self._cables(terms, route, way)
        return Fraction(0)

    def _cables(self, terms: Weights, route: int, way: int) -> None:
        for cable in range(len(self.site.cables)):
            terms["cable", route, way, cable] += 1

    def _conductance(self, terms: Weights, route: int) -> Fraction:
        for cable, gain in enumerate(self.gain):
            for way in (0, 1):
                terms["cable", route, way, cable] += gain
        for group, room in enumerate(self.room):
            if room is not None:
                terms["share", group, route] -= 1
        return Fraction(0)

    def _tee(self, terms: Weights, place: int) -> Fraction:
        terms["tee", place] += 1
        for cable in range(len(self.site.cables)):
            self._balance(terms, place, lambda route, way, cable=cable: ("cable", route, way, cable))
        return Fraction(0)

    def _flow(self, terms: Weights, group: int, place: int) -> Fraction:
        assert place not in self.roots
        self._balance(terms, place, lambda route, way: ("way", group, route, way))
        pairs = zip(self.groups[group], self.weights[group], strict=True)
        ending = [weight for lamp, weight in pairs if self.site.lamps[lamp].place == place]
        return sum(ending, Fraction(0))

    def _drop(self, terms: Weights, group: int) -> Fraction:
        for route, own in enumerate(self.site.routes):
            terms["taken", group, route] -= Fraction(own.length_m)
        return -(self.room[group] or Fraction(0))

    def _in_trench(self, terms: Weights, group: int, route: int) -> Fraction:
        terms["dug", route] += 1
        for way in (0, 1):
            terms["way", group, route, way] -= 1
        return Fraction(0)

    def _in_cable(self, terms: Weights, group: int, route: int, way: int) -> Fraction:
        self._cables(terms, route, way)
        terms["way", group, route, way] -= 1
        return Fraction(0)

    def _tangent(self, terms: Weights, group: int, route: int, at: float) -> Fraction:
        terms["taken", group, route] += 1
        terms["share", group, route] += Fraction(at) ** 2
        for way in (0, 1):
            terms["way", group, route, way] -= 2 * Fraction(at)
        return Fraction(0)

    def _entered(self, terms: Weights, places: Sequence[int]) -> Fraction:
        inside = set(places)
        assert not inside & self.roots
        assert any(lamp.place in inside for lamp in self.site.lamps)
        for route, own in enumerate(self.site.routes):
            for way, (start, end) in enumerate(((own.start, own.end), (own.end, own.start))):
                if start not in inside and end in inside:
                    terms["tree", route, way] += 1
        return Fraction(1)

    def _rating(self, terms: Weights) -> Fraction:
        everything = Fraction(0)
        for group, room in enumerate(self.room):
            if room is not None:
                pairs = zip(self.groups[group], self.weights[group], strict=True)
                watts = min(
                    Fraction(self.site.lamps[lamp].least_w) / weight for lamp, weight in pairs if weight
                )
                for route, own in enumerate(self.site.routes):
                    lost = watts * watts * self.best * Fraction(own.length_m)
                    terms["taken", group, route] -= lost
                    everything += lost * self.cost_and_most(("taken", group, route))[1]
        return -everything if self.losses is None else -Fraction(self.losses)

    def _balance(self, terms: Weights, place: int, column: Any) -> None:
        """What comes to a place less what goes from it."""
        for route, own in enumerate(self.site.routes):
            for way, (start, end) in enumerate(((own.start, own.end), (own.end, own.start))):
                terms[column(route, way)] += int(end == place) - int(start == place)

    def cost_and_most(self, column: Column) -> tuple[Fraction, Fraction]:
        """What a column costs, and what it is at most."""
        kind, *rest = column
        lamps = Fraction(len(self.site.lamps))
        if kind == "dug":
            return Fraction(float(self.site.routes[rest[0]].trench)), Fraction(1)
        if kind == "cable":
            price = Fraction(float(self.site.cables[rest[2]].price_per_m))
            return price * Fraction(self.site.routes[rest[0]].length_m), lamps
        if kind == "tee":
            tee, end = Fraction(self.site.joints.tee), Fraction(self.site.joints.cable_end)
            return (min(tee, end) if rest[0] in self.widest_roots else tee), lamps
        if kind == "share":
            return Fraction(0), max(self.gain) * len(self.groups[rest[0]])
        if kind == "taken":
            return Fraction(0), self.widest_room[rest[0]] / Fraction(self.site.routes[rest[1]].length_m)
        return Fraction(0), Fraction(1)

    def proven(
        self,
        multipliers: Mapping[tuple[Any, ...], Fraction],
        undug: Sequence[int],
        dug: Sequence[int],
        *,
        costly: bool = True,
    ) -> Fraction:
        """What the site costs at least in a branch: these routes are not dug, and those are."""
        bound, taken = Fraction(0), defaultdict[Column, Fraction](Fraction)
        for name, multiplier in multipliers.items():
            assert multiplier > 0 or name[0] == "flow"
            terms, least = self.row(name)
            bound += multiplier * least
            for column, weight in terms.items():
                taken[column] += multiplier * weight
        for route in dug:
            taken["dug", route] += 0
        for column, weight in taken.items():
            cost, most = self.cost_and_most(column)
            left = (cost if costly else Fraction(0)) - weight
            if column[0] == "dug" and column[1] in dug:
                bound += left
            elif left < 0 and not (column[0] == "dug" and column[1] in undug):
                bound += left * most
        return bound
