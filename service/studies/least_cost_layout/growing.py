"""Trees of routes from a mounting point to the lamps that it feeds, cheap by a guess of what cable costs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import inf

from service.studies.least_cost_layout.drafts import Tree
from service.studies.least_cost_layout.site import Site, Step, Ways, cheapest_ways, neighbours, walk


class Growing:
    """Grows trees on one site.

    Parameters
    ----------
    site : Site
    spend : callable
        Told of the operations of each piece of work before it is done.
    """

    def __init__(self, site: Site, spend: Callable[[int], None]) -> None:
        self.site, self.spend = site, spend
        self._beside = neighbours(len(site.positions), site.routes)
        self.places = [lamp.place for lamp in site.lamps]
        self.copper = [_copper_per_m2(site, lamp) for lamp in range(len(site.lamps))]
        self._cheapest = min(float(cable.price_per_m) for cable in site.cables)
        self.paid = [
            float(route.trench) + SHARE_OF_LENGTH * self._cheapest * route.length_m for route in site.routes
        ]
        self.kappa = min(
            (float(cable.price_per_m) - SHARE_OF_LENGTH * self._cheapest) * cable.hot_ohm_per_m
            for cable in site.cables
        )

    def starts(self, mount: int, lamps: Sequence[int]) -> Iterator[Tree]:
        """Trees that join lamps to a mounting point: the shortest ways, and some grown lamp by lamp."""
        yield self.shortest(mount)
        for weight in WEIGHTS:
            yield self._grown_with(weight, self.site.mounts[mount].place, lamps)

    def _grown_with(self, weight: float, root: int, lamps: Sequence[int]) -> Tree:
        costs = [float(each.trench) + weight * self._cheapest * each.length_m for each in self.site.routes]
        return self._grown_from(root, {self.places[lamp] for lamp in lamps} - {root}, costs)

    def grown(self, mount: int) -> Tree:
        """A tree that joins all lamps to a mounting point, one of those that it starts from."""
        return self._grown_with(WEIGHT, self.site.mounts[mount].place, range(len(self.site.lamps)))

    def shortest(self, mount: int) -> Tree:
        """The shortest ways from a mounting point."""
        root = self.site.mounts[mount].place
        lengths_m = [route.length_m for route in self.site.routes]
        return _as_tree(cheapest_ways(self._beside, [root], lengths_m.__getitem__).steps)

    def _grown_from(self, root: int, waiting: set[int], costs: Sequence[float]) -> Tree:
        """A tree that joins one place after another, each by the cheapest way from all that is joined.

        Places that no lamp needs hang on it by their cheapest ways, for lamps that are moved.
        """
        tree: Tree = {}
        ways = Ways([inf] * len(self._beside), [None] * len(self._beside))
        joined = {root}
        self.spend(WALKED * walk(self._beside, ways, [root], costs.__getitem__))
        while waiting:
            place = min(waiting, key=lambda each: (ways.costs[each], each))
            trail = list[int]()
            while place not in joined and (step := ways.steps[place]) is not None:
                tree[place] = step
                trail.append(place)
                place = step[0]
            joined.update(trail)
            waiting -= joined if trail else {place}
            self.spend(WALKED * walk(self._beside, ways, trail, costs.__getitem__))
        return _as_tree(ways.steps) | tree

    def improved(self, root: int, lamps: Sequence[int], starts: Sequence[Tree]) -> Iterator[Tree]:
        """Trees made of others: the first by steps, and from there by ways; of the others by steps."""
        first = self._stepped(root, lamps, starts[0])
        yield first
        joined, tree = self._joined_anew(root, lamps, first), first
        while joined is not None:
            tree = self._stepped(root, lamps, joined)
            joined = self._joined_anew(root, lamps, tree)
        if tree is not first:
            yield tree
        for start in starts[1:]:
            yield self._stepped(root, lamps, start)

    def _stepped(self, root: int, lamps: Sequence[int], tree: Tree) -> Tree:
        """A tree after every exchange of one step for another that saves."""
        improved = True
        while improved:
            improved = False
            grown = GrownTree(self, root, lamps, tree)
            for index, route in enumerate(self.site.routes):
                for place, before in ((route.start, route.end), (route.end, route.start)):
                    self.spend(EXCHANGED)
                    if grown.change(place, before, index) < -SAVED:
                        tree = tree | {place: (before, index)}
                        grown, improved = GrownTree(self, root, lamps, tree), True
        return tree

    def _joined_anew(self, root: int, lamps: Sequence[int], tree: Tree) -> Tree | None:
        """A tree with all behind one place joined to the rest where that costs least; None: none saves."""
        grown, cost = GrownTree(self, root, lamps, tree), self.guess(root, lamps, tree)
        for place in grown.places:
            if place == root:
                continue
            behind, trail = grown.behind(place), grown.trail(place)
            ways = Ways([inf] * len(self._beside), [None] * len(self._beside))
            rest = [each for each in grown.places if each not in behind and each not in trail]
            self.spend(WALKED * walk(self._beside, ways, rest, self.paid.__getitem__))
            end = min(sorted(behind), key=lambda each: ways.costs[each])
            if ways.costs[end] < sum(self.paid[tree[each][1]] for each in (place, *trail)) - SAVED:
                other = _turned(tree, place, end)
                while (step := ways.steps[end]) is not None:
                    other[end] = step
                    end = step[0]
                if self.guess(root, lamps, other) < cost - SAVED:
                    return other
        return None

    def guess(self, root: int, lamps: Sequence[int], tree: Tree) -> float:
        """About what routes and cable of a tree cost, before its runs are known. [currency]"""
        site = self.site
        used, along_m, copper = set[int](), {root: 0.0}, 0.0
        for lamp in lamps:
            trail, place = [], self.places[lamp]
            while place not in along_m:
                trail.append(place)
                place = tree[place][0]
            for each in reversed(trail):
                before, route = tree[each]
                used.add(route)
                along_m[each] = along_m[before] + site.routes[route].length_m
            copper += self.copper[lamp] * along_m[self.places[lamp]] ** 2
        self.spend(GUESSED * (len(lamps) + len(used)))
        return sum(map(self.paid.__getitem__, sorted(used))) + self.kappa * copper


class GrownTrees:
    """The trees of one mounting point and its lamps, each made when it is asked for.

    The first comes from the start that the guess finds best, by exchanges of one step; the next one from that
    by exchanges of whole ways, if any saves; then the other starts follow.
    """

    def __init__(self, growing: Growing, mount: int, lamps: Sequence[int]) -> None:
        root = growing.site.mounts[mount].place
        unlike = list[tuple[float, Tree]]()
        guessed = [(growing.guess(root, lamps, tree), tree) for tree in growing.starts(mount, lamps)]
        for guess, tree in sorted(guessed, key=lambda each: each[0]):
            if all(abs(guess - other) > LIKE * guess for other, _ in unlike):
                unlike.append((guess, tree))
        self._made = list[Tree]()
        self._more = growing.improved(root, lamps, [tree for _, tree in unlike])

    def first(self, number: int) -> list[Tree]:
        """So many of the trees, or all."""
        while len(self._made) < number and (tree := next(self._more, None)) is not None:
            self._made.append(tree)
        return self._made[:number]


class GrownTree:
    """A tree with the lamps behind each of its places, to tell what the exchange of one step saves.

    Of each place in use its distance from the root [m], the lamps and places fed from it, and two sums over
    the lamps behind it: of their copper for each square metre, and of that times their distance.
    """

    def __init__(self, growing: Growing, root: int, lamps: Sequence[int], tree: Tree) -> None:
        self._paid, self._kappa, self._routes = growing.paid, growing.kappa, growing.site.routes
        self._root, self._tree = root, tree
        self._along = {root: 0.0}
        self._kept: dict[int, int] = {root: 1}
        self._sums: dict[int, tuple[float, float]] = {root: (0.0, 0.0)}
        growing.spend(GUESSED * len(lamps))
        for lamp in lamps:
            trail, place = [], growing.places[lamp]
            while place not in self._along:
                trail.append(place)
                place = tree[place][0]
            for each in reversed(trail):
                before, route = tree[each]
                self._along[each] = self._along[before] + self._routes[route].length_m
                self._kept[each], self._sums[each] = 0, (0.0, 0.0)
                self._kept[before] += 1
            place = growing.places[lamp]
            self._kept[place] += 1
            own, far_m = growing.copper[lamp], self._along[place]
            while True:
                whole, weighted = self._sums[place]
                self._sums[place] = whole + own, weighted + own * far_m
                if place == root:
                    break
                place = tree[place][0]

    @property
    def places(self) -> list[int]:
        """Those in use, the root first and each behind that which feeds it."""
        return list(self._along)

    def behind(self, place: int) -> set[int]:
        """The places in use at and behind one."""
        found = {place}
        for each in self._along:
            if each != self._root and self._tree[each][0] in found:
                found.add(each)
        return found

    def trail(self, place: int) -> list[int]:
        """The places before one that are in use for it alone."""
        found = []
        before = self._tree[place][0]
        while before != self._root and self._kept[before] == 1:
            found.append(before)
            before = self._tree[before][0]
        return found

    def change(self, place: int, before: int, route: int) -> float:
        """What it costs more by guess to feed a place from another, along a route; infinite: it cannot be."""
        if place not in self._along or place == self._root or self._tree[place] == (before, route):
            return inf
        added, far_m, joined = self._paid[route], self._routes[route].length_m, before
        while joined not in self._along:
            if joined not in self._tree:
                return inf
            joined, step = self._tree[joined]
            added += self._paid[step]
            far_m += self._routes[step].length_m
        above = joined
        while above != self._root:
            if above == place:
                return inf
            above = self._tree[above][0]
        own, dropped = self._tree[place][0], self._paid[self._tree[place][1]]
        while own not in {self._root, joined} and self._kept[own] == 1:
            own, step = self._tree[own]
            dropped += self._paid[step]
        more_m = self._along[joined] + far_m - self._along[place]
        whole, weighted = self._sums[place]
        copper = self._kappa * (2.0 * more_m * weighted + more_m * more_m * whole)
        return added - dropped + copper


WEIGHTS = (1.0, 2.0, 4.0)
"""Of a metre of the cheapest cable beside its trench, where trees are grown."""


SHARE_OF_LENGTH = 0.5
"""Of the cheapest price of a metre: the part that a guess counts as length, the rest as copper. [-]"""


WEIGHT = 2.0
"""The same where one tree must do."""


LIKE = 1e-9
"""Share by which the guesses of two trees differ, if they are not alike. [-]"""


SAVED = 1e-6
"""What an exchange must save at least. [currency]"""


def _turned(tree: Tree, place: int, end: int) -> Tree:
    """A tree in which the way from a place to one behind it leads back, so that it is fed from there."""
    turned, fed = dict(tree), end
    while fed != place:
        before, route = tree[fed]
        turned[before] = fed, route
        fed = before
    return turned


def _copper_per_m2(site: Site, lamp: int) -> float:
    """What the square of its distance is multiplied by for the copper that a lamp takes at least. [1/ohm]"""
    own = site.lamps[lamp]
    open_v = max(box.highest_v(mount) for box in site.boxes for mount in range(len(site.mounts)))
    return own.least_w / max(own.least_v * (open_v - own.least_v), LEAST_ROOM)


LEAST_ROOM = 1e-3
"""What is taken for the room of a lamp times its voltage, at least, in a guess. [V²]"""


GUESSED, WALKED = 6, 3
"""Operations of a guess for each lamp and route, and of a walk for each route."""


EXCHANGED = 6
"""Operations of looking at one exchange of a step."""


def _as_tree(steps: Sequence[Step | None]) -> Tree:
    return {place: step for place, step in enumerate(steps) if step is not None}
