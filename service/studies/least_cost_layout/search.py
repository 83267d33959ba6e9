"""A cheap design: trees of routes first, then runs on them with their cables, then what a change saves.

1. Mixes of boxes and mounting points, in the order of what each costs at least; one whose bound is no less
   than the best design so far is left, and with it all that follow.
2. For each a tree of routes from every mounting point: grown lamp by lamp along the cheapest ways, for
   several weights of cable beside trench, then improved by putting one place on another route as long as
   that helps.
   What a tree costs is guessed by the same form that bounds a layout from below.
3. Runs: all lamps behind one route that leaves the box are one run; where no cable serves it, or no circuit
   carries it, it is divided in two of equal load.
4. Dividing a run where it parts, putting two together, moving a lamp to a run beside: as long as one saves.

Work is counted, never time. The same site always has the same design.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from itertools import combinations, combinations_with_replacement
from math import ceil, inf, sqrt
from typing import NamedTuple

from service.studies.least_cost_layout.bound import dual_ascent, least_beside_boxes
from service.studies.least_cost_layout.design import (
    CableTree,
    EffortSpentError,
    Fit,
    Fitter,
    Meter,
    Terminal,
    allowed_a,
    cable_tree,
)
from service.studies.least_cost_layout.site import (
    BoxOffer,
    Site,
    Step,
    Ways,
    cheapest_ways,
    distances_m,
    neighbours,
    walk,
)


class PlacedBox(NamedTuple):
    """A box of the offer at a mounting point, both by index."""

    mount: int
    offer: int


class DesignRun(NamedTuple):
    """A run of a design: its box and its circuit there by index, the lamps, the cable, and what feeds it."""

    box: int
    circuit: int
    lamps: tuple[int, ...]
    tree: CableTree
    terminal: Terminal
    fit: Fit


class SiteDesign(NamedTuple):
    """Boxes, runs and the routes that are dug; what all of it costs, as far as a search knows. [currency]"""

    boxes: tuple[PlacedBox, ...]
    runs: tuple[DesignRun, ...]
    routes: tuple[int, ...]
    cost: float


class Strictness(NamedTuple):
    """What designs must keep beyond what a sweep shows of them, because one was found to break it.

    `spare_v` is what every lamp must have beyond its least [V]; taps above `most_tap_v` are not used, of the
    circuits, of the rating and of the resistance at which a device just trips only so much is. [-] `repairs`
    is how often it was made stricter.
    """

    spare_v: float = 0.0
    most_tap_v: float = inf
    circuit_ratio: float = 1.0
    rating_ratio: float = 1.0
    trip_ratio: float = 1.0
    repairs: int = 0


FIRST_LEVEL = 7
"""Steps of loss that are looked at first."""


LOSS_STEP = 0.01
"""Steps in which what cables lose is counted, of the watts of their lamps. [-]"""


MOST_BOXES = 2
"""Boxes of which all mixes are looked at; of more only boxes alike."""


WEIGHTS = (1.0, 2.0, 4.0)
"""Of a metre of the cheapest cable beside its trench, where trees are grown."""


MOST_TREES = 2
"""Trees of one mix of boxes whose runs are fitted."""


LOADED = 1.15
"""Volt-amperes that a box may have to carry over those of its lamps, for what cables lose. [-]"""


TIGHT, SPARES_V = 1.3, (0.5, 1.0, 1.5, 2.0)
"""Room over the volt-amperes of all lamps below which boxes are tight [-], and what lamps are then given
beyond their least, in turn. [V]"""


SHARE_OF_POLISHING = 0.1
"""Of the work: what is kept to fit the cables of the best drafts once more. [-]"""


SHARE_OF_DRAFTS = 0.3
"""Of the work: what first drafts may take before any is improved. [-]"""


UNEVEN = 0.3
"""Share of a load that the smaller half of it must have, to be divided where the cable parts. [-]"""


WORK_FOR_A_FIRST = 15_000
"""To go on with where nothing was found at all, until something is."""


WORK_OF_A_REPAIR = 4_000
"""That a design may take to be made to keep more, beside the work of the search."""


SHARE_OF_LENGTH = 0.5
"""Of the cheapest price of a metre: the part that a guess counts as length, the rest as copper. [-]"""


class _Group(NamedTuple):
    """Lamps that are to share a run as far as one route that leaves the box leads to them."""

    box: int
    lamps: tuple[int, ...]


Tree = dict[int, Step]
"""Of each place the one before it on the way to a mounting point, and the route between."""


class LayoutSearch:
    """Seeks designs of one site.

    Parameters
    ----------
    site : Site
    work : int
        That it may spend.
    only : int, optional
        The one cable that all is laid in; then nothing more is spent where nothing is found.
    """

    def __init__(self, site: Site, work: int, only: int | None = None) -> None:
        self._site = self.site = site
        self._strict, self._only, self._kind = Strictness(), only, 0
        self._thorough, self._polishing = False, int(SHARE_OF_POLISHING * work)
        self._meter = Meter(work - self._polishing)
        self._before = 0
        self._fitter = Fitter(site, self.spend, only)
        self._beside = neighbours(len(site.positions), site.routes)
        self.places = [lamp.place for lamp in site.lamps]
        self._watts = [lamp.least_w for lamp in site.lamps]
        self._volt_amperes = [abs(lamp.least_va) for lamp in site.lamps]
        self.copper = [_copper_per_m2(site, lamp) for lamp in range(len(site.lamps))]
        cheapest = min(float(cable.price_per_m) for cable in site.cables)
        self.paid = [
            float(route.trench) + SHARE_OF_LENGTH * cheapest * route.length_m for route in site.routes
        ]
        self.kappa = min(
            (float(cable.price_per_m) - SHARE_OF_LENGTH * cheapest) * cable.hot_ohm_per_m
            for cable in site.cables
        )
        self._fits: dict[object, tuple[CableTree, Fit | None]] = {}
        self._levels: dict[PlacedBox, int] = {}
        """How many steps of loss each box had last: what is near it is looked at first."""
        self._grown: dict[tuple[int, tuple[int, ...]], list[tuple[float, Tree]]] = {}
        self.drafts: list[Draft] = []
        """What was found, the cheapest first; of each mix of boxes the best."""
        self.complete = True
        """Whether the search came to its own end."""

    @property
    def spent(self) -> int:
        """Operations that it took."""
        return self._before + self._meter.spent

    def spend(self, operations: int) -> None:
        """Take operations that are about to be done."""
        self._meter.spend(operations)

    def run(self) -> None:
        """Search until nothing helps any more, or the work is spent."""
        mixes = list[tuple[PlacedBox, ...]]()
        try:
            self._try_all(mixes)
        except EffortSpentError:
            self.complete = False
        if not self.drafts and not self.complete and self._only is None:
            self._more(WORK_FOR_A_FIRST)
            with suppress(EffortSpentError):
                self._try_first(mixes)
        self._polish()

    def _polish(self) -> None:
        """Fit the cables of the best drafts as well as can be."""
        self._more(self._polishing)
        self._thorough = True
        with suppress(EffortSpentError):
            for draft in list(self.drafts):
                self._strict, self._fits = draft.strict, {}
                found = self._evaluated(draft)
                if isinstance(found, Draft) and found.design.cost < draft.design.cost:
                    self._keep(found)

    def _try_all(self, left: list[tuple[PlacedBox, ...]]) -> None:
        """Every mix that may be cheaper than the best; `left` are those that were not looked at.

        First one draft of each, as long as that takes no more than its share of the work; then these are
        improved, the cheapest first, and those that were left are drafted and improved one by one.
        """
        best, mixes, firsts = inf, self._mixes(), list[Draft]()
        left += [boxes for _, boxes in mixes]
        for least, boxes in mixes:
            if firsts and self._meter.spent > SHARE_OF_DRAFTS * (self._meter.spent + self._meter.left):
                break
            left.remove(boxes)
            if least < best and (draft := self._drafted(boxes)) is not None:
                firsts.append(draft)
                best = min(best, draft.design.cost)
        leasts = {boxes: least for least, boxes in mixes}
        for draft in sorted(firsts, key=lambda each: each.design.cost):
            best = min(best, self._improve(draft, leasts[draft.boxes], best))
        for boxes in list(left):
            left.remove(boxes)
            if leasts[boxes] < best and (later := self._drafted(boxes)) is not None:
                best = min(best, self._improve(later, leasts[boxes], best))

    def _improve(self, draft: Draft, least: float, best: float) -> float:
        """Improve a draft until nothing saves, unless its mix is no cheaper than the best; what it costs."""
        self._strict, self._fits, self._kind = draft.strict, {}, 0
        found: Draft | None = draft
        while found is not None and least < best:
            draft = found
            found = self._improved(draft)
            if found is not None:
                self._keep(found._replace(strict=draft.strict))
                found = found._replace(strict=draft.strict)
        return draft.design.cost

    def _drafted(self, boxes: tuple[PlacedBox, ...]) -> Draft | None:
        """The best first draft with some boxes.

        Those that have hardly room for what cables lose are tried with thicker cables, which lose less.
        """
        site, best = self._site, None
        room_va = sum(site.boxes[box.offer].room_va(box.mount) for box in boxes)
        tight = room_va < TIGHT * site.least_va
        for spare_v in (0.0, *SPARES_V):
            self._strict, self._fits = Strictness(spare_v=spare_v), {}
            for trees in self._trees(boxes):
                draft = self._constructed(boxes, trees, self._divided_among_boxes(boxes, trees))
                if draft is not None and (best is None or draft.design.cost < best.design.cost):
                    best = draft._replace(strict=self._strict)
                    self._keep(best)
            if not tight or not self.drafts:
                break
        return best

    def _try_first(self, mixes: Sequence[tuple[PlacedBox, ...]]) -> None:
        """The first mix with which anything is found."""
        for boxes in mixes:
            if self._drafted(boxes) is not None:
                break

    def _more(self, work: int) -> None:
        self._before += self._meter.spent
        self._meter = Meter(work)

    def nearest(self) -> SiteDesign | None:
        """What may be told of a site for which nothing was found: the thickest cable from the largest box.

        It stands at the mounting point that is nearest to all lamps; None where not even that is worked out.
        """
        site = self._site
        far_m = [distances_m(site, [mount]) for mount in range(len(site.mounts))]
        mount = min(
            range(len(site.mounts)), key=lambda each: (sum(far_m[each][place] for place in self.places), each)
        )
        offer = max(range(len(site.boxes)), key=lambda each: (site.boxes[each].rating_va, -each))
        root, lamps, box = site.mounts[mount].place, range(len(site.lamps)), PlacedBox(mount, offer)
        if not all(far_m[mount][place] < inf for place in self.places):
            return None
        self._more(WORK_OF_A_REPAIR)
        with suppress(EffortSpentError):
            tree = next(self._starts(mount, lamps))
            load_va = sum((lamp.least_va for lamp in site.lamps), start=0j)
            terminals = self._terminals(site.boxes[offer], mount, load_va)
            runs = []
            for number, unit in enumerate(_by_first_route(site, tree, root, lamps) if terminals else ()):
                cable = cable_tree(site, tree, root, unit)
                circuit = number % len(site.boxes[offer].limits_a)
                runs.append(DesignRun(0, circuit, unit, cable, *self._fitter.nearest(cable, terminals)))
            routes = sorted({each for run in runs for routes in run.tree.routes for each in routes})
            return SiteDesign((box,), tuple(runs), tuple(routes), inf) if runs else None
        return None

    def _keep(self, draft: Draft) -> None:
        others = [each for each in self.drafts if each.boxes != draft.boxes]
        self.drafts = sorted([*others, draft], key=lambda each: each.design.cost)

    def hardened(self, draft: Draft, strictness: Strictness) -> Draft | None:
        """The same boxes and trees with runs that keep more; None where none were found."""
        self._strict, self._fits, self._thorough = strictness, {}, True
        self._more(WORK_OF_A_REPAIR)
        try:
            return self._constructed(draft.boxes, draft.trees, list(draft.groups))
        except EffortSpentError:
            return None

    def _mixes(self) -> list[tuple[float, tuple[PlacedBox, ...]]]:
        """Boxes that carry the load by their plates, with the least that all costs with them.

        Those that have no room for what cables lose come last.
        """
        site, routes = self._site, dict[tuple[int, ...], float]()
        beside = dict[tuple[tuple[int, ...], int | None], float]()
        roomy, tight = (
            list[tuple[float, tuple[PlacedBox, ...]]](),
            list[tuple[float, tuple[PlacedBox, ...]]](),
        )
        for boxes in _placed_boxes(site):
            mounts = tuple(sorted({box.mount for box in boxes}))
            key = mounts, boxes[0].offer if len(boxes) == 1 else None
            if key not in beside:
                if mounts not in routes:
                    self.spend(BOUNDED * len(site.routes) * len(site.lamps))
                    routes[mounts] = dual_ascent(site, mounts, self.paid)
                beside[key] = least_beside_boxes(site, *key, routes[mounts], self.kappa)
            price = sum(float(site.boxes[box.offer].price) for box in boxes)
            price += sum(float(site.mounts[mount].price) for mount in mounts)
            room_va = sum(site.boxes[box.offer].room_va(box.mount) for box in boxes)
            if beside[key] < inf:
                one = roomy if room_va >= LOADED * site.least_va else tight
                one.append((price + beside[key], boxes))
        return [*sorted(roomy), *sorted(tight)]

    def _trees(self, boxes: tuple[PlacedBox, ...]) -> list[dict[int, Tree]]:
        """Trees of routes from each mounting point in use, the best by guess first."""
        mounts = sorted({box.mount for box in boxes})
        lamps_of = self._nearest(boxes, mounts)
        grown: dict[int, list[tuple[float, Tree]]] = {}
        for mount in mounts:
            key = mount, tuple(lamps_of[mount])
            if key not in self._grown:
                starts = self._starts(mount, lamps_of[mount])
                trees = [self._settled(mount, lamps_of[mount], tree) for tree in starts]
                unlike: list[tuple[float, Tree]] = []
                for guess, tree in sorted(trees, key=lambda each: each[0]):
                    if all(abs(guess - other) > 1e-9 * guess for other, _ in unlike):
                        unlike.append((guess, tree))
                self._grown[key] = unlike
            grown[mount] = self._grown[key]
        return [
            {mount: trees[min(place, len(trees) - 1)][1] for mount, trees in grown.items()}
            for place in range(min(MOST_TREES, max(map(len, grown.values()))))
        ]

    def _nearest(self, boxes: tuple[PlacedBox, ...], mounts: Sequence[int]) -> dict[int, list[int]]:
        """The lamps of each mounting point: the nearest that its boxes have room for."""
        site = self._site
        far_m = {mount: distances_m(site, [mount]) for mount in mounts}
        room_va = {
            mount: sum(site.boxes[box.offer].room_va(mount) for box in boxes if box.mount == mount)
            for mount in mounts
        }
        found: dict[int, list[int]] = {mount: [] for mount in mounts}
        by_gain = sorted(
            range(len(site.lamps)),
            key=lambda lamp: (min(far_m[each][site.lamps[lamp].place] for each in mounts), lamp),
        )
        for lamp in by_gain:
            own_va, place = self._volt_amperes[lamp], site.lamps[lamp].place
            order = sorted(mounts, key=lambda each: (far_m[each][place], each))
            mount = next((each for each in order if room_va[each] >= own_va), order[0])
            room_va[mount] -= own_va
            found[mount].append(lamp)
        return {mount: sorted(lamps) for mount, lamps in found.items()}

    def _starts(self, mount: int, lamps: Sequence[int]) -> Iterator[Tree]:
        """Trees that join lamps to a mounting point: the shortest ways, and some grown lamp by lamp."""
        site, root = self._site, self._site.mounts[mount].place
        cheapest = min(float(cable.price_per_m) for cable in site.cables)
        lengths_m = [route.length_m for route in site.routes]
        yield _as_tree(cheapest_ways(self._beside, [root], lengths_m.__getitem__).steps)
        for weight in WEIGHTS:
            costs = [float(route.trench) + weight * cheapest * route.length_m for route in site.routes]
            yield self._grown_from(root, {self.places[lamp] for lamp in lamps} - {root}, costs)

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

    def _settled(self, mount: int, lamps: Sequence[int], tree: Tree) -> tuple[float, Tree]:
        """A tree after every exchange of one step for another that the guess finds cheaper."""
        root = self._site.mounts[mount].place
        improved = True
        while improved:
            improved = False
            grown = _Grown(self, root, lamps, tree)
            for index, route in enumerate(self._site.routes):
                for place, before in ((route.start, route.end), (route.end, route.start)):
                    self.spend(EXCHANGED)
                    if grown.change(place, before, index) < -SAVED:
                        tree = tree | {place: (before, index)}
                        grown, improved = _Grown(self, root, lamps, tree), True
        return self._guess(root, lamps, tree), tree

    def _guess(self, root: int, lamps: Sequence[int], tree: Tree) -> float:
        """About what routes and cable of a tree cost, before its runs are known. [currency]"""
        site = self._site
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

    def _constructed(
        self, boxes: tuple[PlacedBox, ...], trees: dict[int, Tree], groups: list[_Group]
    ) -> Draft | None:
        """The first runs on some trees: as few as there can be, divided until all pass."""
        for _ in range(4 * len(self._site.lamps)):
            draft = Draft(boxes, trees, tuple(groups), SiteDesign(boxes, (), (), inf))
            found = self._evaluated(draft)
            if isinstance(found, Draft):
                return found
            if found is None or len(found.lamps) == 1:
                return None
            whole = next(place for place, group in enumerate(groups) if set(found.lamps) <= set(group.lamps))
            rest = tuple(lamp for lamp in groups[whole].lamps if lamp not in set(found.lamps))
            mount = boxes[found.box].mount
            halves = self._halved(mount, found, trees[mount])
            groups[whole : whole + 1] = [
                *([_Group(found.box, rest)] if rest else []),
                *(_Group(found.box, lamps) for lamps in halves),
            ]
        return None

    def _divided_among_boxes(self, boxes: tuple[PlacedBox, ...], trees: dict[int, Tree]) -> list[_Group]:
        """The lamps of each mounting point in the order of its tree, on its boxes by their ratings."""
        site, groups = self._site, list[_Group]()
        lamps_of = self._nearest(boxes, sorted(trees))
        for mount, lamps in lamps_of.items():
            own = [index for index, box in enumerate(boxes) if box.mount == mount]
            ordered = self._in_order(mount, trees[mount], lamps)
            total_va = sum(site.boxes[boxes[index].offer].rating_va for index in own)
            whole_va = sum(self._volt_amperes[lamp] for lamp in ordered)
            start = 0
            for place, index in enumerate(own):
                share_va = whole_va * site.boxes[boxes[index].offer].rating_va / total_va
                end, taken_va = start, 0.0
                while end < len(ordered) and (place == len(own) - 1 or taken_va < share_va * (1.0 - 1e-9)):
                    taken_va += self._volt_amperes[ordered[end]]
                    end += 1
                if end > start:
                    groups.append(_Group(index, tuple(sorted(ordered[start:end]))))
                start = end
        return groups

    def _in_order(self, mount: int, tree: Tree, lamps: Sequence[int]) -> list[int]:
        """Lamps in the order in which a walk round a tree passes them."""
        root = self._site.mounts[mount].place
        trails = {}
        for lamp in lamps:
            trail, place = [], self._site.lamps[lamp].place
            while place != root:
                trail.append(place)
                place = tree[place][0]
            trails[lamp] = trail[::-1]
        return sorted(lamps, key=lambda lamp: (trails[lamp], lamp))

    def _halved(self, mount: int, group: _Group, tree: Tree) -> list[tuple[int, ...]]:
        """A run in two of about equal load: all behind one place, or else in the order of its tree."""
        root = self._site.mounts[mount].place
        whole_va, behind = 0.0, dict[int, float]()
        for lamp in group.lamps:
            whole_va += self._volt_amperes[lamp]
            place = self.places[lamp]
            while place != root:
                behind[place] = behind.get(place, 0.0) + self._volt_amperes[lamp]
                place = tree[place][0]
        place = min(sorted(behind), key=lambda each: abs(behind[each] - 0.5 * whole_va))
        if UNEVEN * whole_va <= behind[place] <= (1.0 - UNEVEN) * whole_va:
            own = [lamp for lamp in group.lamps if self._is_behind(tree, root, self.places[lamp], place)]
            return [tuple(each for each in group.lamps if each not in own), tuple(own)]
        ordered = self._in_order(mount, tree, group.lamps)
        half, taken, end = 0.5 * whole_va, 0.0, 0
        while end < len(ordered) - 1 and (end == 0 or taken + 0.5 * self._volt_amperes[ordered[end]] < half):
            taken += self._volt_amperes[ordered[end]]
            end += 1
        return [tuple(sorted(ordered[:end])), tuple(sorted(ordered[end:]))]

    def _is_behind(self, tree: Tree, root: int, place: int, above: int) -> bool:
        while place not in {root, above}:
            place = tree[place][0]
        return place == above

    def _evaluated(self, draft: Draft) -> Draft | _Group | None:
        """A draft with its design; or the lamps that cannot be served so; None where dividing is no help."""
        site, boxes = self._site, draft.boxes
        runs, cost = list[DesignRun](), 0.0
        for index, box in enumerate(boxes):
            offer = site.boxes[box.offer]
            groups = [group for group in draft.groups if group.box == index]
            root, tree = site.mounts[box.mount].place, draft.trees[box.mount]
            units = [unit for group in groups for unit in _by_first_route(site, tree, root, group.lamps)]
            own = self._units_fitted(index, box, (tree, root), units)
            if own is None or isinstance(own, _Group):
                return own
            placed = _on_circuits(own, self._allowed(offer))
            if placed is None:
                return _Group(index, max(own, key=lambda run: run.fit.current_a).lamps)
            used_va = sum(run.fit.current_a * run.fit.tap_v for run in placed)
            if used_va > self._strict.rating_ratio * offer.rating_va:
                return None
            runs += placed
            cost += float(offer.price) + sum(run.fit.cost for run in placed)
        routes = sorted({route for run in runs for routes in run.tree.routes for route in routes})
        cost += sum(float(site.routes[route].trench) for route in routes)
        cost += sum(float(site.mounts[mount].price) for mount in {box.mount for box in boxes})
        cost += float(site.joints.fixture) * len(site.lamps)
        if {run.box for run in runs} != set(range(len(boxes))):
            return None
        return draft._replace(design=SiteDesign(boxes, tuple(runs), tuple(routes), cost))

    def _units_fitted(
        self, index: int, box: PlacedBox, grown: tuple[Tree, int], units: Sequence[tuple[int, ...]]
    ) -> list[DesignRun] | _Group | None:
        """The runs of a box, with what their cables lose; or the lamps of one that fails."""
        watts = sum(self._watts[lamp] for unit in units for lamp in unit)
        lagging_var = sum(self._site.lamps[lamp].least_va.imag for unit in units for lamp in unit)
        level = self._levels.get(box, FIRST_LEVEL)
        lowered = False
        while True:
            loss_ratio = 1.0 + LOSS_STEP * (level + 1)
            load_va = complex(loss_ratio * watts, lagging_var)
            terminals = self._terminals(self._site.boxes[box.offer], box.mount, load_va)
            if not terminals:
                return None
            own = list[DesignRun]()
            for lamps in units:
                cable, terminal, fit = self._fitted(*grown, lamps, terminals)
                if fit is None:
                    return _Group(index, lamps)
                own.append(DesignRun(index, 0, lamps, cable, terminal, fit))
            drawn_w = sum(run.fit.low_a * run.terminal.low_v for run in own)
            needed = max(ceil((drawn_w / watts - 1.0) / LOSS_STEP) - 1, 0) if watts else 0
            if needed == level or (needed < level and lowered):
                self._levels[box] = level
                return own
            lowered |= needed > level
            level = needed

    def _allowed(self, offer: BoxOffer) -> list[float | None]:
        near, ratio = self._site.rules.near_allowed, self._strict.circuit_ratio
        limits = [allowed_a(limit_a, near_allowed=near) for limit_a in offer.limits_a]
        return [None if limit_a is None else ratio * limit_a for limit_a in limits]

    def _terminals(self, offer: BoxOffer, mount: int, load_va: complex) -> list[Terminal]:
        """The taps of a box that feeds so many watts and var, the highest first."""
        feeding = offer.feedings[mount]
        low, high = _sag(feeding.low_resistance * load_va), _sag(feeding.high_resistance * load_va)
        if low is None or high is None:
            return []
        allowed = self._allowed(offer)
        most_a = None if None in allowed else max(each for each in allowed if each is not None)
        devices = [each for each in offer.limits_a if each is not None]
        if self._site.rules.light:
            high = 1.0
        return [
            Terminal(
                tap_v=tap_v,
                low_v=tap_v * feeding.low_ratio * low,
                high_v=tap_v * feeding.high_ratio * high,
                open_v=tap_v * feeding.low_ratio,
                source_ohm=feeding.low_resistance * (tap_v * feeding.low_ratio) ** 2,
                limit_a=most_a,
                device_a=None if offer.listed else max(devices, default=None),
                trip_a=max(devices, default=None),
            )
            for tap_v in sorted(set(offer.taps_v), reverse=True)
            if tap_v <= self._strict.most_tap_v
        ]

    def _fitted(
        self, tree: Tree, root: int, lamps: tuple[int, ...], terminals: Sequence[Terminal]
    ) -> tuple[CableTree, Terminal, Fit | None]:
        """The cables of a run on the highest tap on which it passes: there watts take least copper."""
        cable = cable_tree(self._site, tree, root, lamps)
        for terminal in terminals:
            key = cable, terminal
            if key not in self._fits:
                self._fits[key] = (
                    cable,
                    self._fitter.fit(
                        cable,
                        terminal,
                        self._strict.spare_v,
                        self._strict.trip_ratio,
                        thorough=self._thorough,
                    ),
                )
            fit = self._fits[key][1]
            if fit is not None:
                return cable, terminal, fit
        return cable, terminals[-1], None

    def _improved(self, draft: Draft) -> Draft | None:
        """The first change that saves, of the kind that saved last before others; None where none does."""
        kinds = (self._divided, self._joined, self._regrown, self._moved)
        for turn in range(len(kinds)):
            kind = (self._kind + turn) % len(kinds)
            for other in kinds[kind](draft):
                found = self._evaluated(other)
                if isinstance(found, Draft) and found.design.cost < draft.design.cost * (1.0 - 1e-9):
                    self._kind = kind
                    return found
        return None

    def _joined(self, draft: Draft) -> Iterator[Draft]:
        """Two runs of one box put together, that leave it by one route."""
        units = _units(draft)
        for one, other in combinations(range(len(units)), 2):
            if units[one].box == units[other].box and self._share_a_route(draft, one, other):
                rest = tuple(unit for place, unit in enumerate(units) if place not in {one, other})
                joined = tuple(sorted({*units[one].lamps, *units[other].lamps}))
                yield draft._replace(groups=(*rest, _Group(units[one].box, joined)))

    def _moved(self, draft: Draft) -> Iterator[Draft]:
        """A lamp moved to another run, of one box only to one that leaves it by the same route."""
        units = _units(draft)
        for one, unit in enumerate(units):
            for lamp in unit.lamps:
                for other, onto in enumerate(units):
                    if other == one or len(unit.lamps) == 1:
                        continue
                    if onto.box == unit.box and not self._share_a_route(draft, one, other):
                        continue
                    changed = list(units)
                    changed[one] = unit._replace(lamps=tuple(each for each in unit.lamps if each != lamp))
                    changed[other] = onto._replace(lamps=tuple(sorted((*onto.lamps, lamp))))
                    yield draft._replace(groups=tuple(changed))

    def _divided(self, draft: Draft) -> Iterator[Draft]:
        """Divided where the cable parts, or after a lamp: what is behind gets a run of its own."""
        units = _units(draft)
        for place, run in enumerate(draft.design.runs):
            rest = (*units[:place], *units[place + 1 :])
            for behind in _behind_each_point(run.tree):
                front = tuple(lamp for lamp in run.lamps if lamp not in behind)
                if front and 2 * len(behind) <= 2 * len(run.lamps):
                    halves = _Group(run.box, front), _Group(run.box, tuple(sorted(behind)))
                    yield draft._replace(groups=(*rest, *halves))

    def _regrown(self, draft: Draft) -> Iterator[Draft]:
        """The trees with one step exchanged, those that are not much dearer by guess; the cheapest first."""
        for mount, tree in draft.trees.items():
            root = self._site.mounts[mount].place
            lamps = [
                lamp for run in draft.design.runs if draft.boxes[run.box].mount == mount for lamp in run.lamps
            ]
            grown = _Grown(self, root, lamps, tree)
            found = []
            for index, route in enumerate(self._site.routes):
                for place, before in ((route.start, route.end), (route.end, route.start)):
                    self.spend(EXCHANGED)
                    change = grown.change(place, before, index)
                    if change < MOST_DEARER * draft.design.cost:
                        found.append((change, index, place, before))
            for _, index, place, before in sorted(found):
                trees = draft.trees | {mount: tree | {place: (before, index)}}
                yield draft._replace(trees=trees)

    def _share_a_route(self, draft: Draft, one: int, other: int) -> bool:
        first, second = draft.design.runs[one].tree, draft.design.runs[other].tree
        return first.routes[1][0] == second.routes[1][0]


class _Grown:
    """A tree with the lamps behind each of its places, to tell what the exchange of one step saves.

    Of each place in use its distance from the root [m], the lamps and places fed from it, and two sums over
    the lamps behind it: of their copper for each square metre, and of that times their distance.
    """

    def __init__(self, search: LayoutSearch, root: int, lamps: Sequence[int], tree: Tree) -> None:
        self._paid, self._kappa, self._routes = search.paid, search.kappa, search.site.routes
        self._root, self._tree = root, tree
        self._along = {root: 0.0}
        self._kept: dict[int, int] = {root: 1}
        self._sums: dict[int, tuple[float, float]] = {root: (0.0, 0.0)}
        search.spend(GUESSED * len(lamps))
        for lamp in lamps:
            trail, place = [], search.places[lamp]
            while place not in self._along:
                trail.append(place)
                place = tree[place][0]
            for each in reversed(trail):
                before, route = tree[each]
                self._along[each] = self._along[before] + self._routes[route].length_m
                self._kept[each], self._sums[each] = 0, (0.0, 0.0)
                self._kept[before] += 1
            place = search.places[lamp]
            self._kept[place] += 1
            own, far_m = search.copper[lamp], self._along[place]
            while True:
                whole, weighted = self._sums[place]
                self._sums[place] = whole + own, weighted + own * far_m
                if place == root:
                    break
                place = tree[place][0]

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


MOST_DEARER = 0.03
"""Of the cost of a design: what an exchange may cost more by guess and still be tried. [-]"""


SAVED = 1e-6
"""What an exchange must save at least. [currency]"""


class Draft(NamedTuple):
    """A design with the trees and the groups that it was made from, and what it had to keep."""

    boxes: tuple[PlacedBox, ...]
    trees: dict[int, Tree]
    groups: tuple[_Group, ...]
    design: SiteDesign
    strict: Strictness = Strictness()


def _units(draft: Draft) -> tuple[_Group, ...]:
    """The lamps of each run."""
    return tuple(_Group(run.box, run.lamps) for run in draft.design.runs)


def _copper_per_m2(site: Site, lamp: int) -> float:
    """What the square of its distance is multiplied by for the copper that a lamp takes at least. [1/ohm]"""
    own = site.lamps[lamp]
    open_v = max(box.highest_v(mount) for box in site.boxes for mount in range(len(site.mounts)))
    return own.least_w / max(own.least_v * (open_v - own.least_v), LEAST_ROOM)


LEAST_ROOM = 1e-3
"""What is taken for the room of a lamp times its voltage, at least, in a guess. [V²]"""


GUESSED, WALKED, BOUNDED = 6, 8, 20
"""Operations of a guess for each lamp and route, of a walk for each route, of a bound for each of both."""


EXCHANGED = 15
"""Operations of looking at one exchange of a step."""


def _sag(power: complex) -> float | None:
    """Terminal over open-circuit voltage, for watts and var times the source's resistance over E².

    None where it carries no so much.
    """
    squared = 1.0 - 2.0 * power.real
    inner = squared * squared - 4.0 * (power.real**2 + power.imag**2)
    return None if squared <= 0.0 or inner <= 0.0 else sqrt(0.5 * (squared + sqrt(inner)))


def _as_tree(steps: Sequence[Step | None]) -> Tree:
    return {place: step for place, step in enumerate(steps) if step is not None}


def _by_first_route(site: Site, tree: Tree, root: int, lamps: Sequence[int]) -> list[tuple[int, ...]]:
    """Lamps by the route by which their way leaves the box."""
    found: dict[int, list[int]] = {}
    for lamp in lamps:
        place = site.lamps[lamp].place
        while tree[place][0] != root:
            place = tree[place][0]
        found.setdefault(place, []).append(lamp)
    return [tuple(found[place]) for place in sorted(found)]


def _behind_each_point(tree: CableTree) -> list[frozenset[int]]:
    """The lamps at and behind each point but the first behind the box, each set of them once."""
    behind = [set(lamps) for lamps in tree.lamps]
    for point in range(len(tree.parents) - 1, 0, -1):
        behind[tree.parents[point]] |= behind[point]
    return list(dict.fromkeys(frozenset(each) for each in behind[2:] if each))


def _on_circuits(runs: Sequence[DesignRun], allowed: Sequence[float | None]) -> list[DesignRun] | None:
    """Runs on circuits, the largest first and each where most is left; None where one does not fit."""
    left = [inf if limit_a is None else limit_a for limit_a in allowed]
    placed: dict[int, int] = {}
    for place in sorted(range(len(runs)), key=lambda each: (-runs[each].fit.current_a, each)):
        circuit = max(range(len(left)), key=lambda each: (left[each], -each))
        if runs[place].fit.current_a > left[circuit]:
            return None
        left[circuit] -= runs[place].fit.current_a
        placed[place] = circuit
    return [run._replace(circuit=placed[place]) for place, run in enumerate(runs)]


def _placed_boxes(site: Site) -> Iterator[tuple[PlacedBox, ...]]:
    """Mixes of boxes whose plates carry the load."""
    kinds = [PlacedBox(mount, offer) for mount in range(len(site.mounts)) for offer in range(len(site.boxes))]
    seen = set[tuple[PlacedBox, ...]]()
    for number in range(1, MOST_BOXES + 1):
        seen.update(combinations_with_replacement(kinds, number))
    for offer, box in enumerate(site.boxes):
        fewest = max(MOST_BOXES + 1, ceil(site.least_va / box.rating_va))
        for size in range(1, len(site.mounts) + 1):
            for mounts in combinations(range(len(site.mounts)), size):
                room = [mount for mount in mounts for _ in range(site.mounts[mount].boxes_at_most)]
                for number in (fewest, fewest + 1):
                    if size <= number <= len(room):
                        each = [mounts[place % size] for place in range(number)]
                        seen.add(tuple(sorted(PlacedBox(mount, offer) for mount in each)))
    for boxes in sorted(seen, key=lambda each: (len(each), each)):
        of_mount = [box.mount for box in boxes]
        fits = all(of_mount.count(each) <= site.mounts[each].boxes_at_most for each in set(of_mount))
        if fits and sum(site.boxes[box.offer].room_va(box.mount) for box in boxes) >= site.least_va:
            yield tuple(sorted(boxes))
