"""Changes of a draft, each with what it would save by guess: which of them are worth a fit.

A lamp or all that is behind a place is put on another run; a run is divided where it parts; two runs are put
together; a place is fed along another route; the lamps of two runs are shared out anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, permutations
from math import inf
from typing import NamedTuple

from service.studies.least_cost_layout.design import CableTree, cable_tree
from service.studies.least_cost_layout.drafts import Draft, Group, Tree, by_first_route
from service.studies.least_cost_layout.growing import EXCHANGED, Growing, GrownTree
from service.studies.least_cost_layout.guessing import RunGuesser


class GuessedRun(NamedTuple):
    """A run of a box with what its cable and joints cost by guess [currency], and the routes that it lies in.

    `drawn_va` is what it takes of the box [VA]; of `routes` each is a bit, the first one the lowest.
    """

    box: int
    cost: float
    drawn_va: float
    tree: CableTree
    routes: int


class Fed(NamedTuple):
    """What the runs of a box are fed by at the lowest mains [V], and what they may take of it. [VA]"""

    low_v: float
    most_va: float


class Change(NamedTuple):
    """Runs that are replaced, by their index, the lamps of those instead, and what that costs more by guess.

    [currency] `trenches` is the part of it for trenches. `step`: at which mounting point a place is fed from
    another, along a route.
    """

    costs_more: float
    trenches: float
    removed: tuple[int, ...]
    added: tuple[Group, ...]
    step: tuple[int, int, int, int] | None = None

    def trees(self, trees: dict[int, Tree]) -> dict[int, Tree]:
        """Trees with the step that is exchanged, if one is."""
        if self.step is None:
            return trees
        mount, place, before, route = self.step
        return trees | {mount: trees[mount] | {place: (before, route)}}

    def meets(self, other: Change) -> bool:
        """Whether both are of one run, or of the routes of one mounting point, which might close a ring."""
        if not set(self.removed).isdisjoint(other.removed):
            return True
        return self.step is not None and other.step is not None and self.step[0] == other.step[0]


class Changes:
    """The changes of a draft whose groups are its runs.

    Parameters
    ----------
    growing : Growing
    guesser : RunGuesser
    draft : Draft
    fed : sequence of Fed
        Of each box what its runs are fed by.
    known : Changes, optional
        Of another draft with the same boxes: its guesses of runs hold here where trees are the same.
    """

    def __init__(
        self,
        growing: Growing,
        guesser: RunGuesser,
        draft: Draft,
        fed: Sequence[Fed],
        known: Changes | None = None,
    ) -> None:
        self._growing, self._guesser, self.draft, self._fed = growing, guesser, draft, fed
        self._site = growing.site
        self.known: dict[Group, tuple[GuessedRun, ...]] = {}
        self.first: dict[tuple[int, int], int | None] = {}
        if known is not None and known.draft.trees is draft.trees:
            self.known, self.first = known.known, known.first
        self._ratio = 1.0
        """What cable and joints cost by fit, over what was guessed. [-]"""
        self._trenches = [float(route.trench) for route in self._site.routes]
        self._runs = [self._guessed(group) for group in draft.groups]
        self._by_guess = [sum(run.cost for run in runs) for runs in self._runs]
        """What each group costs by guess, before it was fitted. [currency]"""
        self._masks = [_joined(run.routes for run in runs) for runs in self._runs]
        """The routes of each group, each a bit."""
        self._laid = _joined(self._masks)
        self._drawn_va = [0.0] * len(fed)
        for runs in self._runs:
            for run in runs:
                self._drawn_va[run.box] += run.drawn_va
        self._volt_amperes = [abs(lamp.least_va) for lamp in self._site.lamps]
        if draft.design.runs:
            self._take([run.fit.cost for run in draft.design.runs])

    def _take(self, costs: Sequence[float]) -> None:
        """Take what the runs do cost for what was guessed of them."""
        guessed = sum(run.cost for runs in self._runs for run in runs if run.cost < inf)
        self._ratio = sum(costs) / guessed if guessed and any(costs) else 1.0
        self._runs = [
            tuple(run._replace(cost=cost / self._ratio) for run in runs)
            for runs, cost in zip(self._runs, costs, strict=True)
        ]

    @property
    def cost(self) -> float:
        """Of cable, joints and trenches by guess. [currency]"""
        cable = sum(run.cost for runs in self._runs for run in runs)
        return self._dug(self._laid) + cable + OVERLOADED * self.over_va

    @property
    def drawn_va(self) -> float:
        """What all runs take by guess. [VA]"""
        return sum(self._drawn_va)

    @property
    def over_va(self) -> float:
        """By how much boxes are overloaded by guess. [VA]"""
        return sum(max(0.0, va - fed.most_va) for va, fed in zip(self._drawn_va, self._fed, strict=True))

    def impossible(self) -> int | None:
        """The first run that is too far by guess, by its index."""
        return next((at for at, runs in enumerate(self._runs) if any(run.cost == inf for run in runs)), None)

    def changed(self, *changes: Change) -> Draft:
        """The draft with changes that have no run in common."""
        draft = self.draft
        removed = {place for change in changes for place in change.removed}
        rest = (group for place, group in enumerate(draft.groups) if place not in removed)
        added = (group for change in changes for group in change.added)
        trees = draft.trees
        for change in changes:
            trees = change.trees(trees)
        return draft._replace(groups=(*rest, *added), trees=trees)

    @property
    def runs(self) -> tuple[Group, ...]:
        """The lamps of each run, where those of a group leave their box by several routes."""
        return tuple(
            Group(run.box, tuple(sorted(lamp for lamps in run.tree.lamps for lamp in lamps)))
            for runs in self._runs
            for run in runs
        )

    def all(self, most: float) -> list[Change]:
        """Every change of a few lamps or of a route that costs less than so much more; the best first."""
        found = [
            change
            for kind in (self._divided(), self._joined())
            for change in kind
            if change.costs_more < WHOLE_RUNS * most
        ]
        found += [
            change
            for kind in (self._moved(), self._regrown(most))
            for change in kind
            if change.costs_more < most
        ]
        return sorted(found, key=lambda each: each.costs_more)

    def apart(self, most: float, *, unload: bool) -> list[Change]:
        """Of divisions, and of what would `unload` boxes, the best that have no run in common."""
        taken, found = set[int](), list[Change]()
        kinds = [self._divided()]
        if unload and self.over_va > 0.0 and self.drawn_va < sum(fed.most_va for fed in self._fed):
            kinds.append(self._unloaded())
        for change in sorted((each for kind in kinds for each in kind), key=lambda each: each.costs_more):
            if change.costs_more >= most:
                break
            if taken.isdisjoint(change.removed):
                found.append(change)
                taken.update(change.removed)
        return found

    def shared_out(self, most: float) -> list[Change]:
        """Every new division of the lamps of two runs that costs less than so much more; the best first."""
        found = list[Change]()
        for one, other in combinations(range(len(self.draft.groups)), 2):
            found += [change for change in self._shared_out(one, other) if change.costs_more < most]
        return sorted(found, key=lambda each: each.costs_more)

    def _guessed(self, group: Group) -> tuple[GuessedRun, ...]:
        if group not in self.known:
            self.known[group] = self._guessed_in(self.draft.trees, group)
        return self.known[group]

    def _guessed_in(self, trees: dict[int, Tree], group: Group) -> tuple[GuessedRun, ...]:
        mount = self.draft.boxes[group.box].mount
        root, tree, site = self._site.mounts[mount].place, trees[mount], self._site
        found = []
        for lamps in self._units(trees, group):
            cable = cable_tree(site, tree, root, lamps)
            self._growing.spend(GUESSED_POINT * len(cable.parents))
            guess = self._guesser.guess(cable, self._fed[group.box].low_v)
            found.append(GuessedRun(group.box, *guess, cable, _bits(cable.routes)))
        return tuple(found)

    def _units(self, trees: dict[int, Tree], group: Group) -> list[tuple[int, ...]]:
        """The lamps of a group by the route by which they leave their box."""
        mount = self.draft.boxes[group.box].mount
        if trees is self.draft.trees and len({self._leaves_by(group.box, lamp) for lamp in group.lamps}) == 1:
            return [group.lamps]
        return by_first_route(self._site, trees[mount], self._site.mounts[mount].place, group.lamps)

    def _change(self, removed: tuple[int, ...], added: tuple[Group, ...]) -> Change:
        new = [run for group in added for run in self._guessed(group)]
        return Change(*self._costs_more(removed, new), removed, added)

    def _costs_more(self, removed: Sequence[int], new: Sequence[GuessedRun]) -> tuple[float, float]:
        """What runs cost more than those that they replace, and the part of it for trenches. [currency]"""
        self._growing.spend(CHANGED)
        costs_more, more_va, laid = 0.0, [0.0] * len(self._fed), 0
        for run in new:
            costs_more += run.cost
            more_va[run.box] += run.drawn_va
            laid |= run.routes
        if costs_more == inf:
            return inf, 0.0
        gone, guessed = 0.0, 0.0
        for place in removed:
            guessed += self._by_guess[place]
            for run in self._runs[place]:
                gone += run.cost
                more_va[run.box] -= run.drawn_va
        if guessed:
            costs_more *= ALIKE * gone / guessed + (1.0 - ALIKE)
        costs_more = self._ratio * (costs_more - gone)
        for box, fed in enumerate(self._fed):
            over_va = self._drawn_va[box] - fed.most_va
            costs_more += OVERLOADED * (max(0.0, over_va + more_va[box]) - max(0.0, over_va))
        for place, mask in enumerate(self._masks):
            if place not in removed:
                laid |= mask
        trenches = self._dug(laid & ~self._laid) - self._dug(self._laid & ~laid)
        return costs_more + trenches, trenches

    def _dug(self, routes: int) -> float:
        """The price of the trenches of some routes. [currency]"""
        price = 0.0
        while routes:
            lowest = routes & -routes
            price += self._trenches[lowest.bit_length() - 1]
            routes ^= lowest
        return price

    def _divided(self) -> Iterator[Change]:
        """Divided where the cable parts, or after a lamp: what is behind gets a run of its own.

        Of many places some are tried, from the least load behind to the most.
        """
        for place, group in enumerate(self.draft.groups):
            every = sorted(self._behind(place), key=self._load_va)
            last = min(len(every), MOST_DIVIDED) - 1
            for at in range(last + 1):
                behind = every[at * (len(every) - 1) // last if last else 0]
                front = tuple(lamp for lamp in group.lamps if lamp not in behind)
                if front:
                    halves = group._replace(lamps=front), group._replace(lamps=behind)
                    yield self._change((place,), halves)

    def _joined(self) -> Iterator[Change]:
        """Two runs put together that leave one box by one route, or might."""
        groups = self.draft.groups
        for one, other in permutations(range(len(groups)), 2):
            own, onto = groups[one], groups[other]
            if (own.box == onto.box and one > other) or not self._may_join(own.lamps, other):
                continue
            if own.box == onto.box or self._fits(onto.box, own.lamps):
                yield self._change((one, other), (onto._replace(lamps=_sorted(own.lamps, onto.lamps)),))

    def _moved(self) -> Iterator[Change]:
        """A lamp, or all that is behind a place, put on another run, or on one of its own of another box."""
        for one, own in enumerate(self.draft.groups):
            for moved in self._sets(one):
                for other in self._beside(one, moved, over=False)[:NEAREST]:
                    yield self._moved_onto(one, moved, other)
                for box in range(len(self._fed)):
                    if box != own.box and self._reaches(box, moved) and self._fits(box, moved):
                        yield self._moved_to(one, moved, box)

    def _unloaded(self) -> Iterator[Change]:
        """Lamps of boxes that have too many, put on the nearest run of another box.

        Those that are nearest to it for what they draw are tried.
        """
        for box, (drawn_va, fed) in enumerate(zip(self._drawn_va, self._fed, strict=True)):
            if drawn_va <= fed.most_va:
                continue
            found = []
            for one, own in enumerate(self.draft.groups):
                if own.box != box:
                    continue
                for moved in self._sets(one):
                    load_va = self._load_va(moved)
                    if not load_va:
                        continue  # Watts so few that no float holds them: to move them unloads nothing.
                    beside = self._beside(one, moved, over=True)
                    found += [
                        (self._added_m(other, moved) / load_va, one, moved, other) for other in beside[:1]
                    ]
                    for onto in () if beside else range(len(self._fed)):
                        if onto != box and self._reaches(onto, moved) and self._fits(onto, moved):
                            yield self._moved_to(one, moved, onto)
            for _, one, moved, other in sorted(found)[:UNLOADED]:
                yield self._moved_onto(one, moved, other)

    def _sets(self, one: int) -> list[tuple[int, ...]]:
        """Each lamp of a run, and all that is behind each of its places, but for all of them."""
        own = self.draft.groups[one].lamps
        sets = dict.fromkeys([*((lamp,) for lamp in own), *self._behind(one)])
        return [each for each in sets if len(each) < len(own)]

    def _moved_onto(self, one: int, moved: Sequence[int], other: int) -> Change:
        own, onto = self.draft.groups[one], self.draft.groups[other]
        left = tuple(lamp for lamp in own.lamps if lamp not in moved)
        joined = onto._replace(lamps=_sorted(onto.lamps, moved))
        return self._change((one, other), (own._replace(lamps=left), joined))

    def _moved_to(self, one: int, moved: tuple[int, ...], box: int) -> Change:
        own = self.draft.groups[one]
        left = tuple(lamp for lamp in own.lamps if lamp not in moved)
        return self._change((one,), (own._replace(lamps=left), Group(box, moved)))

    def _beside(self, one: int, moved: Sequence[int], *, over: bool) -> list[int]:
        """The runs that lamps of another may be put on for the fewest metres more, the best first."""
        groups, found = self.draft.groups, list[tuple[float, int]]()
        for other, onto in enumerate(groups):
            if other == one or (onto.box == groups[one].box and over) or not self._may_join(moved, other):
                continue
            if onto.box == groups[one].box or self._fits(onto.box, moved):
                found.append((self._added_m(other, moved), other))
        return [other for _, other in sorted(found)]

    def _added_m(self, other: int, moved: Sequence[int]) -> float:
        """What a run becomes longer by if it leads to some lamps as well. [m]"""
        mount = self.draft.boxes[self.draft.groups[other].box].mount
        tree, laid = self.draft.trees[mount], self._masks[other]
        routes, added_m = self._site.routes, 0.0
        for lamp in moved:
            place, route = tree[self._site.lamps[lamp].place]
            while not laid >> route & 1:
                laid |= 1 << route
                added_m += routes[route].length_m
                place, route = tree[place]
        self._growing.spend(WALKED_UP * len(moved))
        return added_m

    def _load_va(self, lamps: Sequence[int]) -> float:
        return sum(map(self._volt_amperes.__getitem__, lamps))

    def _regrown(self, most: float) -> Iterator[Change]:
        """A place fed along another route, where that is not much dearer by a first guess."""
        draft = self.draft
        for mount, tree in draft.trees.items():
            root = self._site.mounts[mount].place
            own = [place for place, group in enumerate(draft.groups) if draft.boxes[group.box].mount == mount]
            lamps = [lamp for place in own for lamp in draft.groups[place].lamps]
            grown = GrownTree(self._growing, root, lamps, tree)
            for index, route in enumerate(self._site.routes):
                for place, before in ((route.start, route.end), (route.end, route.start)):
                    self._growing.spend(EXCHANGED)
                    if grown.change(place, before, index) < WIDER * most:
                        yield self._rerouted(own, (mount, place, before, index))

    def _rerouted(self, own: Sequence[int], step: tuple[int, int, int, int]) -> Change:
        mount, place, before, route = step
        trees = self.draft.trees | {mount: self.draft.trees[mount] | {place: (before, route)}}
        dropped = self.draft.trees[mount][place][1]
        removed = [each for each in own if self._masks[each] >> dropped & 1]
        groups = [self.draft.groups[each] for each in removed]
        new = [run for group in groups for run in self._guessed_in(trees, group)]
        return Change(*self._costs_more(removed, new), tuple(removed), tuple(groups), step)

    def _shared_out(self, one: int, other: int) -> Iterator[Change]:
        first, second = self.draft.groups[one], self.draft.groups[other]
        if not self._may_join(first.lamps, other) or not self._may_join(second.lamps, one):
            return
        whole = (*self._in_order(one), *self._in_order(other))
        if first.box == second.box:
            whole = self._ordered(first.box, whole)
        sizes = {len(first.lamps), len(second.lamps)}
        for chosen in _shares(whole, sizes, alike=first.box == second.box):
            mine = tuple(sorted(chosen))
            theirs = tuple(sorted(set(whole) - set(mine)))
            if first.box != second.box and not (
                self._fits(first.box, mine, first.lamps) and self._fits(second.box, theirs, second.lamps)
            ):
                continue
            yield self._change((one, other), (first._replace(lamps=mine), second._replace(lamps=theirs)))

    def _in_order(self, place: int) -> tuple[int, ...]:
        return tuple(lamp for run in self._runs[place] for lamps in run.tree.lamps for lamp in lamps)

    def _ordered(self, box: int, lamps: Sequence[int]) -> tuple[int, ...]:
        """Lamps in the order in which a walk round the tree of their box passes them."""
        runs = self._guessed(Group(box, tuple(sorted(lamps))))
        return tuple(lamp for run in runs for own in run.tree.lamps for lamp in own)

    def _behind(self, place: int) -> list[tuple[int, ...]]:
        """The lamps at and behind each point of a run but the first behind the box, each set of them once."""
        found = dict[tuple[int, ...], None]()
        for run in self._runs[place]:
            tree = run.tree
            behind = [list(lamps) for lamps in tree.lamps]
            for point in range(len(tree.parents) - 1, 0, -1):
                behind[tree.parents[point]] += behind[point]
            found |= dict.fromkeys(tuple(sorted(each)) for each in behind[2:] if each)
        return list(found)

    def _firsts(self, place: int) -> set[int]:
        """The routes by which a run leaves its box."""
        return {run.tree.routes[1][0] for run in self._runs[place]}

    def _leaves_by(self, box: int, lamp: int) -> int | None:
        """The route by which the way to a lamp leaves a box; None where none leads there."""
        key = self.draft.boxes[box].mount, lamp
        if key not in self.first:
            mount, place, route = key[0], self._site.lamps[lamp].place, None
            tree, root = self.draft.trees[mount], self._site.mounts[mount].place
            while place != root and place in tree:
                place, route = tree[place]
            self.first[key] = route if place == root else None
        return self.first[key]

    def _may_join(self, lamps: Sequence[int], other: int) -> bool:
        """Whether the ways to lamps leave the box of a run as it does."""
        box, firsts = self.draft.groups[other].box, self._firsts(other)
        return all(self._leaves_by(box, lamp) in firsts for lamp in lamps)

    def _reaches(self, box: int, lamps: Sequence[int]) -> bool:
        return all(self._leaves_by(box, lamp) is not None for lamp in lamps)

    def _fits(self, box: int, more: Sequence[int], without: Sequence[int] = ()) -> bool:
        """Whether a box may carry some lamps beside its own, without some of them, by its plate."""
        placed = self.draft.boxes[box]
        drawn_va = sum(
            self._volt_amperes[lamp]
            for group in self.draft.groups
            if group.box == box
            for lamp in group.lamps
        )
        drawn_va += self._load_va(more) - self._load_va(without)
        return drawn_va <= self._site.boxes[placed.offer].room_va(placed.mount)


def _joined(masks: Iterable[int]) -> int:
    joined = 0
    for mask in masks:
        joined |= mask
    return joined


def _bits(ways: Iterable[Sequence[int]]) -> int:
    """The routes of some ways, each a bit."""
    mask = 0
    for way in ways:
        for route in way:
            mask |= 1 << route
    return mask


def _sorted(one: Sequence[int], other: Sequence[int]) -> tuple[int, ...]:
    return tuple(sorted((*one, *other)))


def _shares(lamps: tuple[int, ...], sizes: set[int], *, alike: bool) -> Iterator[Sequence[int]]:
    """Ways to divide lamps in two, of two runs that are `alike` each once.

    All of a few; of more the first ones in their order, and as many as a run has that come one after another.
    """
    number = len(lamps)
    if number <= MOST_SHARED:
        for size in range(1, number):
            for chosen in combinations(lamps, size):
                if not alike or lamps[0] in chosen:
                    yield chosen
        return
    found = {(0, end) for end in range(1, number)}
    found |= {(start, start + size) for size in sizes for start in range(number - size + 1)}
    if not alike:
        found |= {(start, number) for start in range(1, number)}
    yield from (lamps[start:end] for start, end in sorted(found) if end - start < number)


MOST_DIVIDED = 8
"""Places at which the division of a run is tried."""


MOST_SHARED = 6
"""Lamps of which all divisions in two are looked at."""


NEAREST = 3
"""Runs that lamps are put on by way of trial."""


ALIKE = 0.35
"""How far a run is taken to cost as much over its guess as those that it replaces do. [-]"""


UNLOADED = 8
"""Sets of lamps by which an overloaded box is unloaded by way of trial."""


WALKED_UP = 25
"""Operations of finding how far a lamp is from a run."""


WHOLE_RUNS = 3.0
"""How much dearer than others changes of whole runs may look: there are few. [-]"""


WIDER = 8.0
"""How much dearer than it may be a change of routes may look at first. [-]"""


OVERLOADED = 3.0
"""What each volt-ampere that a box cannot carry is taken to cost. [currency/VA]"""


GUESSED_POINT, CHANGED = 42, 35
"""Operations: of a guess for each point of a cable, and of what a change costs."""
