"""A cheap design: trees of routes first, then runs on them with their cables, then what a change saves.

1. Mixes of boxes and mounting points, in the order of what each costs about, on one tree of routes from every
   mounting point; one whose bound is no less than the best design so far is left.
2. For the first of them trees of their own (:mod:`growing`), and runs in these that are divided as long as
   that saves by a guess (:mod:`guessing`): a sketch.
3. The cheapest sketches are drafted: cables are fitted, and where none serves a run, or no circuit carries
   it, it is divided in two of equal load.
4. Drafts are changed (:mod:`changing`): lamps are put on other runs, runs are divided, put together or shared
   out anew, places are fed along other routes, what saves most by guess first; a fit decides.
5. The mixes that were left follow one by one.

Work is counted, never time; how much there is decides when the search ends, not what it does first. The same
site always has the same design.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from itertools import combinations, combinations_with_replacement
from math import ceil, inf, sqrt
from typing import NamedTuple

from service.studies.least_cost_layout.bound import dual_ascent, least_beside_boxes
from service.studies.least_cost_layout.changing import Change, Changes, Fed
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
from service.studies.least_cost_layout.drafts import (
    DesignRun,
    Draft,
    Group,
    PlacedBox,
    SiteDesign,
    Strictness,
    Tree,
    by_first_route,
)
from service.studies.least_cost_layout.growing import SAVED, Growing, GrownTrees
from service.studies.least_cost_layout.guessing import RunGuesser
from service.studies.least_cost_layout.site import BoxOffer, Site, distances_m

MOST_LOST = 1e6
"""What cables may lose, of the watts of lamps, and still be told apart: those may be next to none. [-]"""


FIRST_LEVEL = 7
"""Steps of loss that are looked at first."""


LOSS_STEP = 0.01
"""Steps in which what cables lose is counted, of the watts of their lamps. [-]"""


MOST_BOXES = 2
"""Boxes of which all mixes are looked at; of more only boxes alike."""


MOST_TREES = 2
"""Trees of one mix of boxes whose runs are fitted."""


LOADED = 1.15
"""Volt-amperes that a box may have to carry over those of its lamps, for what cables lose. [-]"""


TIGHT, SPARES_V = 1.3, (0.5, 1.0, 1.5, 2.0)
"""Room over the volt-amperes of all lamps below which boxes are tight [-], and what lamps are then given
beyond their least, in turn. [V]"""


SHARE_OF_POLISHING = 0.06
"""Of the work: what is kept to fit the cables of the best drafts once more. [-]"""


MOST_SKETCHES = 10
"""Mixes of boxes that are sketched before any is drafted."""


MORE_THAN_GUESSED = 1.08
"""What a sketch costs at least, over what was guessed of its mix of boxes. [-]"""


FIRST_STEPS, MOST_STEPS = 6, 1_000
"""Steps in which each draft is improved, before the cheapest is to its end."""


NEAR_BEST = 1.01
"""What a sketch costs at most, over the cheapest, to be drafted at once. [-]"""


DRAFTED = 1.25
"""What a draft costs over its sketch where nothing is wrong with it, at most. [-]"""


UNEVEN = 0.3
"""Share of a load that the smaller half of it must have, to be divided where the cable parts. [-]"""


WORK_FOR_A_FIRST = 15_000
"""To go on with where nothing was found at all, until something is."""


WORK_OF_A_REPAIR = 4_000
"""That a design may take to be made to keep more, beside the work of the search."""


class LayoutSearch:
    """Seeks designs of one site.

    Parameters
    ----------
    site : Site
    work : int
        That it may spend.
    only : int, optional
        The one cable that all is laid in; then nothing more is spent where nothing is found.
    start : Draft, optional
        Boxes, trees and runs that are improved as well.
    brief : bool
        Whether the first layout that is found does, and no more than the work is spent to find one.
    boxes : sequence of PlacedBox
        That a brief search tries first.
    """

    def __init__(  # noqa: PLR0913  # what a search differs in, each by its name
        self,
        site: Site,
        work: int,
        only: int | None = None,
        *,
        start: Draft | None = None,
        brief: bool = False,
        boxes: Sequence[PlacedBox] = (),
    ) -> None:
        self._site = self.site = site
        self._strict, self._only, self._start = Strictness(), only, start
        self._brief, self._first_boxes = brief, tuple(boxes)
        self._thorough, self._polishing = False, int(SHARE_OF_POLISHING * work)
        self._meter = Meter(work - self._polishing)
        self._before = 0
        self._fitter = Fitter(site, self.spend, only)
        self._growing, self._guesser = Growing(site, self.spend), RunGuesser(site, only)
        self._fed: list[Fed] = []
        """Of each box of the draft in hand, what its runs are fed by."""
        self._watts = [lamp.least_w for lamp in site.lamps]
        self._volt_amperes = [abs(lamp.least_va) for lamp in site.lamps]
        self._least_va = site.least_va
        self._far_m = [distances_m(site, [mount]) for mount in range(len(site.mounts))]
        """Of each mounting point how far every place is. [m]"""
        self._fits: dict[object, Fit | None] = {}
        self._levels: dict[PlacedBox, int] = {}
        """How many steps of loss each box had last: what is near it is looked at first."""
        self._grown: dict[tuple[int, tuple[int, ...]], GrownTrees] = {}
        self.drafts: list[Draft] = []
        """What was found, the cheapest first; of each mix of boxes the best."""
        self._worth = WORTH
        self._overloaded = False
        """Whether a box had to carry too much in a draft, of those with the boxes in hand."""
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
            if self._brief:
                self._try_briefly()
            else:
                self._try_all(mixes)
        except EffortSpentError:
            self.complete = False
        if not self.drafts and not self.complete and self._only is None and not self._brief:
            self._more(WORK_FOR_A_FIRST)
            with suppress(EffortSpentError):
                self._try_first(mixes or [boxes for _, boxes in self._mixes()])
        if not self._brief:
            self._polish()

    def _polish(self) -> None:
        """Fit the cables of the best drafts as well as can be."""
        self._more(self._polishing)
        self._thorough = True
        with suppress(EffortSpentError):
            for draft in list(self.drafts):
                self._strict = draft.strict
                found = self._evaluated(draft)
                if isinstance(found, Draft) and found.design.cost < draft.design.cost:
                    self._keep(found)

    def _try_all(self, left: list[tuple[PlacedBox, ...]]) -> None:
        """Every mix that may be cheaper than the best; `left` are those that were not drafted.

        First some are sketched, then those that look cheapest are drafted, then drafts are improved, the
        cheapest first; those that were left follow one by one.
        """
        self._begin()
        mixes = self._mixes()
        left += [boxes for _, boxes in mixes]
        leasts = {boxes: least for least, boxes in mixes}
        sketches = self._all_sketched(mixes, left)
        firsts = list(self.drafts)
        best = min((draft.design.cost for draft in firsts), default=inf)
        for sketch in sketches:
            if sketch.cost > max(NEAR_BEST * sketches[0].cost, best / DRAFTED):
                break
            firsts += self._drafted(sketch.draft.boxes, sketch)
            left.remove(sketch.draft.boxes)
            best = min((draft.design.cost for draft in firsts), default=inf)
        for steps in (FIRST_STEPS, MOST_STEPS):
            firsts.sort(key=lambda each: each.design.cost)
            for place, draft in enumerate(firsts):
                if draft.design.cost > DRAFTED * best:
                    break
                firsts[place] = self._improve(draft, leasts.get(draft.boxes, 0.0), best, steps)
                best = min(best, firsts[place].design.cost)
        best = self._at_last(1, leasts, best)
        for boxes in list(left):
            for draft in self._drafted(boxes) if leasts[boxes] < best else ():
                best = min(best, self._improve(draft, leasts[boxes], best).design.cost)
            left.remove(boxes)
        self._at_last(MOST_AT_LAST, leasts, best)

    def _at_last(self, number: int, leasts: Mapping[tuple[PlacedBox, ...], float], best: float) -> float:
        """Change some of the best drafts where that looks dearer as well; what the best costs. [currency]"""
        self._worth = WORTH_AT_LAST
        for draft in list(self.drafts[:number]):
            least = leasts.get(draft.boxes, 0.0)
            best = min(best, self._improve(draft, least, best).design.cost)
        self._worth = WORTH
        return best

    def _begin(self) -> None:
        """Fit the runs that the search starts from, if it does, and change them in a few steps."""
        start = self._start
        if start is not None:
            self._strict = Strictness()
            found = self._constructed(start.boxes, start.trees, list(start.groups))
            if found is not None:
                found = found._replace(strict=self._strict)
                self._keep(found)
                self._improve(found, 0.0, inf, FIRST_STEPS)

    def _all_sketched(
        self, mixes: Sequence[tuple[float, tuple[PlacedBox, ...]]], left: list[tuple[PlacedBox, ...]]
    ) -> list[Sketch]:
        """Mixes that may be cheapest, with what they cost by guess, boxes with it; the cheapest first.

        At the head of `left` come those that were sketched, wherever the work ends, the cheapest first; then
        the others by their guess.
        """
        found, guessed = list[Sketch](), self._guessed(mixes)
        self._strict = Strictness()
        left[:] = dict.fromkeys([*(boxes for _, _, boxes in guessed), *left])
        for guess, least, boxes in guessed:
            best = found[0].cost if found else inf
            if len(found) == MOST_SKETCHES or MORE_THAN_GUESSED * guess > best:
                break
            if least >= best or any(_more_of(each.draft.boxes, boxes) for each in found):
                continue
            [trees] = self._trees(boxes, 1)
            sketch = self._sketched(boxes, trees, self._divided_among_boxes(boxes, trees))
            if sketch is not None:
                found.append(sketch._replace(cost=sketch.cost + self._price(boxes)))
                found.sort(key=lambda each: each.cost)
                left[:] = dict.fromkeys([*(each.draft.boxes for each in found), *left])
        return found

    def _guessed(
        self, mixes: Sequence[tuple[float, tuple[PlacedBox, ...]]]
    ) -> list[tuple[float, float, tuple[PlacedBox, ...]]]:
        """Mixes with what they cost about, on one tree from each mounting point, before their least.

        The cheapest first; those of which a box would have no lamps are left out.
        """
        site, growing = self._site, self._growing
        trees = [growing.grown(mount) for mount in range(len(site.mounts))]
        found = []
        for least, boxes in mixes:
            guess, lamps_of = self._price(boxes), self._nearest(boxes, sorted({box.mount for box in boxes}))
            if not all(lamps_of.values()):
                continue
            for mount, lamps in lamps_of.items():
                guess += growing.guess(site.mounts[mount].place, lamps, trees[mount])
            found.append((guess, least, boxes))
        return sorted(found)

    def _price(self, boxes: tuple[PlacedBox, ...]) -> float:
        """Of boxes where they are mounted, with the joints at lamps. [currency]"""
        site = self._site
        mounted = sum(float(site.mounts[mount].price) for mount in {box.mount for box in boxes})
        joints = float(site.joints.fixture) * len(site.lamps)
        return mounted + joints + sum(float(site.boxes[box.offer].price) for box in boxes)

    def _improve(self, draft: Draft, least: float, best: float, most: int = MOST_STEPS) -> Draft:
        """Improve a draft, in so many steps at most, unless its mix is no cheaper than the best."""
        self._strict = draft.strict
        self._fed = [self._fed_by(box) for box in draft.boxes]
        found: Draft | None = draft
        known: Changes | None = None
        for _ in range(most):
            if found is None or least >= best:
                break
            draft = found
            found, known = self._improved(draft, known)
            if found is not None:
                found = found._replace(strict=draft.strict)
                self._keep(found)
        return found or draft

    def _sketches(self, boxes: tuple[PlacedBox, ...], first: Sketch | None, number: int) -> list[Sketch]:
        """The cheapest sketches with some boxes; of the first trees there may be one already."""
        found = [] if first is None else [first]
        for trees in self._trees(boxes, number)[len(found) :]:
            sketch = self._sketched(boxes, trees, self._divided_among_boxes(boxes, trees))
            found += [] if sketch is None else [sketch]
        return sorted(found, key=lambda each: each.cost)

    def _drafted(
        self, boxes: tuple[PlacedBox, ...], first: Sketch | None = None, trees: int = MOST_TREES
    ) -> list[Draft]:
        """First drafts with some boxes, one on each of so many trees; none where nothing passes.

        Those that have hardly room for what cables lose are tried with thicker cables, which lose less; where
        there is room and one was overloaded, once more with lamps shared out so that each has some to spare.
        """
        site, found = self._site, list[Draft]()
        room_va = sum(site.boxes[box.offer].room_va(box.mount) for box in boxes)
        tries = [(0.0, 1.0), *((spare_v, 1.0) for spare_v in SPARES_V)]
        if room_va >= TIGHT * self._least_va:
            tries = [(0.0, 1.0), (0.0, LOADED_SHARE)] if len(boxes) > 1 else [(0.0, 1.0)]
        self._overloaded = False
        for spare_v, share in tries:
            if share < 1.0 and not self._overloaded:
                break
            self._strict = Strictness(spare_v=spare_v, rating_ratio=share)
            own = first if (spare_v, share) == (0.0, 1.0) else None
            sketches = self._sketches(boxes, own, trees if share == 1.0 else 1)
            self._strict = Strictness(spare_v=spare_v)
            for sketch in sketches:
                draft = self._constructed(boxes, sketch.draft.trees, list(sketch.draft.groups))
                if draft is not None and not any(_alike(draft.design, each.design) for each in found):
                    found.append(draft._replace(strict=self._strict))
                    self._keep(found[-1])
            if found:
                break
        return found or self._along_shortest_ways(boxes)

    def _along_shortest_ways(self, boxes: tuple[PlacedBox, ...]) -> list[Draft]:
        """The draft on the shortest ways, where trees that cost less are too long."""
        self._strict = Strictness()
        trees = {box.mount: self._growing.shortest(box.mount) for box in boxes}
        groups = self._divided_among_boxes(boxes, trees)
        sketch = self._sketched(boxes, trees, groups)
        draft = self._constructed(boxes, trees, groups if sketch is None else list(sketch.draft.groups))
        if draft is None:
            return []
        self._keep(draft)
        return [draft]

    def _try_briefly(self) -> None:
        """The boxes that are to be tried first, then mixes in their order, until anything is found."""
        first = self._first_boxes
        if not first or not self._drafted(first, trees=1):
            self._try_first([boxes for _, boxes in self._mixes() if boxes != first])

    def _try_first(self, mixes: Sequence[tuple[PlacedBox, ...]]) -> None:
        """The first mix with which anything is found."""
        for boxes in mixes:
            if self._drafted(boxes):
                break

    def _more(self, work: int) -> None:
        """Go on with more work; trees that were being grown when it ended are grown anew."""
        self._grown = {}
        self._before += self._meter.spent
        self._meter = Meter(work)

    def nearest(self) -> SiteDesign | None:
        """What may be told of a site for which nothing was found: the thickest cable from the largest box.

        It stands at the mounting point that is nearest to all lamps; None where not even that is worked out.
        """
        site, far_m = self._site, self._far_m
        mount = min(
            range(len(site.mounts)),
            key=lambda each: (sum(far_m[each][place] for place in self._growing.places), each),
        )
        offer = max(range(len(site.boxes)), key=lambda each: (site.boxes[each].rating_va, -each))
        root, lamps, box = site.mounts[mount].place, range(len(site.lamps)), PlacedBox(mount, offer)
        if not all(far_m[mount][place] < inf for place in self._growing.places):
            return None
        self._more(WORK_OF_A_REPAIR)
        with suppress(EffortSpentError):
            tree = next(self._growing.starts(mount, lamps))
            load_va = sum((lamp.least_va for lamp in site.lamps), start=0j)
            terminals = self._terminals(site.boxes[offer], mount, load_va)
            runs = []
            for number, unit in enumerate(by_first_route(site, tree, root, lamps) if terminals else ()):
                cable = cable_tree(site, tree, root, unit)
                circuit = number % len(site.boxes[offer].limits_a)
                runs.append(DesignRun(0, circuit, unit, cable, *self._fitter.nearest(cable, terminals)))
            routes = sorted({each for run in runs for routes in run.tree.routes for each in routes})
            return SiteDesign((box,), tuple(runs), tuple(routes), inf) if runs else None
        return None

    def _keep(self, draft: Draft) -> None:
        drafts = {each.boxes: each for each in self.drafts}
        known = drafts.get(draft.boxes)
        if known is None or draft.design.cost < known.design.cost:
            drafts[draft.boxes] = draft
        self.drafts = sorted(drafts.values(), key=lambda each: each.design.cost)

    def hardened(self, draft: Draft, strictness: Strictness) -> Draft | None:
        """The same boxes and trees with runs that keep more; None where none were found."""
        self._strict, self._thorough = strictness, True
        self._more(WORK_OF_A_REPAIR)
        try:
            return self._constructed(draft.boxes, draft.trees, list(draft.groups))
        except EffortSpentError:
            return None

    def _mixes(self) -> list[tuple[float, tuple[PlacedBox, ...]]]:
        """Boxes that carry the load by their plates, with the least that all costs with them.

        Those that have no room for what cables lose come last.
        """
        site = self._site
        # Routes to fewer mounting points cost no less.
        self.spend(BOUNDED * len(site.routes) * len(site.lamps))
        routes = dual_ascent(site, range(len(site.mounts)), self._growing.paid)
        beside = dict[tuple[tuple[int, ...], int | None], float]()
        roomy, tight = (
            list[tuple[float, tuple[PlacedBox, ...]]](),
            list[tuple[float, tuple[PlacedBox, ...]]](),
        )
        for boxes in _placed_boxes(site):
            mounts = tuple(sorted({box.mount for box in boxes}))
            key = mounts, boxes[0].offer if len(boxes) == 1 else None
            if key not in beside:
                beside[key] = least_beside_boxes(site, *key, routes, self._growing.kappa)
            price = sum(float(site.boxes[box.offer].price) for box in boxes)
            price += sum(float(site.mounts[mount].price) for mount in mounts)
            room_va = sum(site.boxes[box.offer].room_va(box.mount) for box in boxes)
            if beside[key] < inf:
                one = roomy if room_va >= LOADED * self._least_va else tight
                one.append((price + beside[key], boxes))
        return [*sorted(roomy), *sorted(tight)]

    def _trees(self, boxes: tuple[PlacedBox, ...], number: int) -> list[dict[int, Tree]]:
        """So many trees of routes from each mounting point in use, at most; the best by guess first."""
        mounts = sorted({box.mount for box in boxes})
        grown = {
            mount: self._grown_from(mount, lamps).first(number)
            for mount, lamps in self._nearest(boxes, mounts).items()
        }
        return [
            {mount: trees[min(place, len(trees) - 1)] for mount, trees in grown.items()}
            for place in range(max(map(len, grown.values())))
        ]

    def _grown_from(self, mount: int, lamps: Sequence[int]) -> GrownTrees:
        key = mount, tuple(lamps)
        if key not in self._grown:
            self._grown[key] = GrownTrees(self._growing, mount, lamps)
        return self._grown[key]

    def _nearest(self, boxes: tuple[PlacedBox, ...], mounts: Sequence[int]) -> dict[int, list[int]]:
        """The lamps of each mounting point: the nearest that its boxes have room for."""
        site, far_m = self._site, self._far_m
        room_va = {
            mount: sum(site.boxes[box.offer].room_va(mount) for box in boxes if box.mount == mount)
            for mount in mounts
        }
        whole_va = sum(room_va.values())
        kept = max(1.0 / LOADED, min(1.0, self._least_va / whole_va)) if whole_va else 1.0
        room_va = {mount: kept * own_va for mount, own_va in room_va.items()}
        found: dict[int, list[int]] = {mount: [] for mount in mounts}
        by_gain = sorted(
            range(len(site.lamps)),
            key=lambda lamp: (min(far_m[each][site.lamps[lamp].place] for each in mounts), lamp),
        )
        for lamp in by_gain:
            own_va, place = self._volt_amperes[lamp], site.lamps[lamp].place
            reached = (each for each in mounts if far_m[each][place] < inf)
            order = sorted(reached, key=lambda each: (far_m[each][place], each))
            mount = next((each for each in order if room_va[each] >= own_va), order[0])
            room_va[mount] -= own_va
            found[mount].append(lamp)
        return {mount: sorted(lamps) for mount, lamps in found.items()}

    def _constructed(
        self, boxes: tuple[PlacedBox, ...], trees: dict[int, Tree], groups: list[Group]
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
                *([Group(found.box, rest)] if rest else []),
                *(Group(found.box, lamps) for lamps in halves),
            ]
        return None

    def _divided_among_boxes(self, boxes: tuple[PlacedBox, ...], trees: dict[int, Tree]) -> list[Group]:
        """The lamps of each mounting point in the order of its tree, on its boxes by their ratings."""
        site, groups = self._site, list[Group]()
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
                    groups.append(Group(index, tuple(sorted(ordered[start:end]))))
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

    def _halved(self, mount: int, group: Group, tree: Tree) -> list[tuple[int, ...]]:
        """A run in two of about equal load: all behind one place, or else in the order of its tree."""
        root = self._site.mounts[mount].place
        whole_va, behind = 0.0, dict[int, float]()
        for lamp in group.lamps:
            whole_va += self._volt_amperes[lamp]
            place = self._growing.places[lamp]
            while place != root:
                behind[place] = behind.get(place, 0.0) + self._volt_amperes[lamp]
                place = tree[place][0]
        place = min(sorted(behind), key=lambda each: abs(behind[each] - 0.5 * whole_va))
        if UNEVEN * whole_va <= behind[place] <= (1.0 - UNEVEN) * whole_va:
            own = [
                lamp for lamp in group.lamps if self._is_behind(tree, root, self._growing.places[lamp], place)
            ]
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

    def _evaluated(self, draft: Draft) -> Draft | Group | None:
        """A draft with its design; or the lamps that cannot be served so; None where dividing is no help."""
        site, boxes = self._site, draft.boxes
        runs, cost = list[DesignRun](), 0.0
        for index, box in enumerate(boxes):
            offer = site.boxes[box.offer]
            own_groups = [group for group in draft.groups if group.box == index]
            root, tree = site.mounts[box.mount].place, draft.trees[box.mount]
            units = [unit for group in own_groups for unit in by_first_route(site, tree, root, group.lamps)]
            own = self._units_fitted(index, box, (tree, root), units)
            if own is None or isinstance(own, Group):
                return own
            placed = _on_circuits(own, self._allowed(offer))
            if placed is None:
                return Group(index, max(own, key=lambda run: run.fit.current_a).lamps)
            used_va = sum(run.fit.current_a * run.fit.tap_v for run in placed)
            if used_va > self._strict.rating_ratio * offer.rating_va:
                self._overloaded = True
                return None
            runs += placed
            cost += float(offer.price) + sum(run.fit.cost for run in placed)
        routes = sorted({route for run in runs for routes in run.tree.routes for route in routes})
        cost += sum(float(site.routes[route].trench) for route in routes)
        cost += sum(float(site.mounts[mount].price) for mount in {box.mount for box in boxes})
        cost += float(site.joints.fixture) * len(site.lamps)
        if {run.box for run in runs} != set(range(len(boxes))):
            return None
        groups = tuple(Group(run.box, run.lamps) for run in runs)
        return draft._replace(groups=groups, design=SiteDesign(boxes, tuple(runs), tuple(routes), cost))

    def _fed_by(self, box: PlacedBox) -> Fed:
        """What a box is taken to feed its runs by, with its load and what cables lost last."""
        offer = self._site.boxes[box.offer]
        loss_ratio = 1.0 + LOSS_STEP * (self._levels.get(box, FIRST_LEVEL) + 1)
        load_va = min(LOADED_SHARE * offer.rating_va, TIGHT * self._least_va)
        terminals = self._terminals(offer, box.mount, loss_ratio * load_va + 0j)
        if not terminals:
            return Fed(0.0, 0.0)
        low_v, tap_v = terminals[0].low_v, terminals[0].tap_v
        return Fed(low_v - self._strict.spare_v, self._strict.rating_ratio * offer.rating_va * low_v / tap_v)

    def _sketched(
        self, boxes: tuple[PlacedBox, ...], trees: dict[int, Tree], groups: Sequence[Group]
    ) -> Sketch | None:
        """A draft whose runs are changed as long as that saves by guess; None where some lamp is too far."""
        self._fed = [self._fed_by(box) for box in boxes]
        draft = Draft(boxes, trees, tuple(groups), SiteDesign(boxes, (), (), inf))
        changes = Changes(self._growing, self._guesser, draft, self._fed)
        for turn in range(MOST_SKETCHED):
            draft = draft._replace(groups=changes.runs)
            changes = Changes(self._growing, self._guesser, draft, self._fed, changes)
            place = changes.impossible()
            if place is not None:
                far = draft.groups[place]
                if len(far.lamps) == 1:
                    return None
                mount = boxes[far.box].mount
                halves = [Group(far.box, lamps) for lamps in self._halved(mount, far, trees[mount])]
                draft = draft._replace(groups=(*draft.groups[:place], *halves, *draft.groups[place + 1 :]))
            elif changes.drawn_va > (1.0 + OVER) * sum(fed.most_va for fed in self._fed):
                return None
            elif apart := changes.apart(-SAVED, unload=turn < MOST_UNLOADED):
                draft = changes.changed(*apart)
            else:
                break
            changes = Changes(self._growing, self._guesser, draft, self._fed, changes)
        return Sketch(changes.cost, draft)

    def _units_fitted(
        self, index: int, box: PlacedBox, grown: tuple[Tree, int], units: Sequence[tuple[int, ...]]
    ) -> list[DesignRun] | Group | None:
        """The runs of a box, with what their cables lose; or the lamps of one that fails."""
        watts = sum(self._watts[lamp] for unit in units for lamp in unit)
        lagging_var = sum(self._site.lamps[lamp].least_va.imag for unit in units for lamp in unit)
        level = self._levels.get(box, FIRST_LEVEL)
        lowered = False
        while True:
            terminals = self._terminals_at(box, complex(watts, lagging_var), level)
            if not terminals:
                return None
            own = list[DesignRun]()
            for lamps in units:
                cable, terminal, fit = self._fitted(*grown, lamps, terminals)
                if fit is None:
                    return Group(index, lamps)
                own.append(DesignRun(index, 0, lamps, cable, terminal, fit))
            needed = _level(own, watts)
            if needed == level or (needed < level and lowered):
                self._levels[box] = level
                return own
            lowered |= needed > level
            level = needed

    def _terminals_at(self, box: PlacedBox, load_va: complex, level: int) -> list[Terminal]:
        """The taps of a box with some lamps, when cables lose so many steps."""
        load_va = complex((1.0 + LOSS_STEP * (level + 1)) * load_va.real, load_va.imag)
        return self._terminals(self._site.boxes[box.offer], box.mount, load_va)

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
        cable, spares = cable_tree(self._site, tree, root, lamps), self._strict.of_runs
        for terminal in terminals:
            key = cable, terminal, spares, self._thorough
            if key not in self._fits:
                self._fits[key] = self._fitter.fit(cable, terminal, spares, thorough=self._thorough)
            fit = self._fits[key]
            if fit is not None:
                return cable, terminal, fit
        return cable, terminals[-1], None

    def _improved(self, draft: Draft, known: Changes | None) -> tuple[Draft | None, Changes]:
        """A draft with the changes that save, of those that look best; None where none does."""
        changes = Changes(self._growing, self._guesser, draft, self._fed, known)
        most, terminals = self._worth * draft.design.cost, self._terminals_of(draft)
        for seek in (changes.all, changes.shared_out):
            best, taken = draft, list[Change]()
            for change in seek(most):
                if any(change.meets(other) for other in taken):
                    continue
                if taken and change.costs_more > 0.0:
                    break
                if not self._saves(draft, change, terminals):
                    continue
                found = self._evaluated(changes.changed(*taken, change))
                if isinstance(found, Draft) and found.design.cost < best.design.cost * (1.0 - 1e-9):
                    best = found
                    taken.append(change)
            if taken:
                return best, changes
        return None, changes

    def _terminals_of(self, draft: Draft) -> list[list[Terminal]]:
        """Of each box of a design its taps as they are loaded there."""
        found = []
        for index, box in enumerate(draft.boxes):
            runs = [run for run in draft.design.runs if run.box == index]
            lamps = [self._site.lamps[lamp] for run in runs for lamp in run.lamps]
            load_va = sum((lamp.least_va for lamp in lamps), start=0j)
            self._levels[box] = _level(runs, load_va.real)
            found.append(self._terminals_at(box, load_va, self._levels[box]))
        return found

    def _saves(self, draft: Draft, change: Change, terminals: Sequence[Sequence[Terminal]]) -> bool:
        """Whether a change saves where its boxes stay loaded as they are."""
        costs_more = change.trenches - sum(draft.design.runs[place].fit.cost for place in change.removed)
        trees = change.trees(draft.trees)
        for group in change.added:
            mount = draft.boxes[group.box].mount
            root = self._site.mounts[mount].place
            for lamps in by_first_route(self._site, trees[mount], root, group.lamps):
                _, _, fit = self._fitted(trees[mount], root, lamps, terminals[group.box])
                if fit is None:
                    return False
                costs_more += fit.cost
        return costs_more < 0.0


class Sketch(NamedTuple):
    """A draft whose runs are not fitted yet, and what all but its boxes costs by guess. [currency]"""

    cost: float
    draft: Draft


MOST_SKETCHED, MOST_UNLOADED = 60, 6
"""Rounds of changes before a draft is fitted; and those in which boxes that have too many lamps lose some."""


OVER = 0.015
"""Of what boxes carry: by how much more may be guessed and still be tried. [-]"""


LOADED_SHARE = 0.85
"""Of a rating: the most that is taken to be drawn where a guess begins. [-]"""


WORTH, WORTH_AT_LAST = 0.002, 0.02
"""Of the cost of a design: what a change may cost more by guess and still be tried; and at last. [-]"""


MOST_AT_LAST = 3
"""Drafts, the cheapest ones, that are improved once more when nothing else is left."""


def _more_of(few: tuple[PlacedBox, ...], many: tuple[PlacedBox, ...]) -> bool:
    """Whether boxes are others with more beside them at the same mounting points."""
    beside = Counter(many) - Counter(few)
    return beside.total() == len(many) - len(few) and {box.mount for box in many} == {
        box.mount for box in few
    }


def _alike(one: SiteDesign, other: SiteDesign) -> bool:
    """Whether two designs on the same boxes are one and the same, as far as their trenches and cost tell."""
    return one.routes == other.routes and abs(one.cost - other.cost) < SAVED


def _level(runs: Sequence[DesignRun], watts: float) -> int:
    """How many steps of loss the cables of a box take, beside the watts of its lamps."""
    drawn_w = sum(run.fit.low_a * run.terminal.low_v for run in runs)
    lost = min(drawn_w / watts - 1.0, MOST_LOST) if watts else 0.0
    return max(ceil(lost / LOSS_STEP) - 1, 0)


def _sag(power: complex) -> float | None:
    """Terminal over open-circuit voltage, for watts and var times the source's resistance over E².

    None where it carries no so much.
    """
    squared = 1.0 - 2.0 * power.real
    inner = squared * squared - 4.0 * (power.real**2 + power.imag**2)
    return None if squared <= 0.0 or inner <= 0.0 else sqrt(0.5 * (squared + sqrt(inner)))


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
    seen, least_va = set[tuple[PlacedBox, ...]](), site.least_va
    for number in range(1, MOST_BOXES + 1):
        seen.update(combinations_with_replacement(kinds, number))
    for offer, box in enumerate(site.boxes):
        fewest = max(MOST_BOXES + 1, ceil(least_va / box.rating_va))
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
        if fits and sum(site.boxes[box.offer].room_va(box.mount) for box in boxes) >= least_va:
            yield tuple(sorted(boxes))


BOUNDED = 20
"""Operations of a bound for each lamp and route."""
