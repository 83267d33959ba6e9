"""Changes of a draft, each with what it would save by guess: which of them are worth a fit.

A lamp or all that is behind a place is put on another run; a run is divided where it parts; two runs are put
together; a place is fed along another route; the lamps of two runs are shared out anew.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, permutations
from math import inf
from typing import NamedTuple

from service.studies.least_cost_layout.design import CableTree, cable_tree
from service.studies.least_cost_layout.drafts import Draft, Group, Tree, by_first_route
from service.studies.least_cost_layout.growing import EXCHANGED, Growing, GrownTree
from service.studies.least_cost_layout.guessing import RunGuesser


class GuessedRun(NamedTuple):
    """A run of a box with what its cable and joints cost by guess [currency], and the routes that it lies in.

    `drawn_va` is what it takes of the box. [VA]
    """

    box: int
    cost: float
    drawn_va: float
    tree: CableTree
    routes: frozenset[int]


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
        self._laid = [0] * len(self._trenches)
        """Of each route how many runs lie in it."""
        self._drawn_va = [0.0] * len(fed)
        for runs in self._runs:
            for run in runs:
                self._drawn_va[run.box] += run.drawn_va
                for route in run.routes:
                    self._laid[route] += 1
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
        dug = sum(price for laid, price in zip(self._laid, self._trenches, strict=True) if laid)
        return dug + sum(run.cost for runs in self._runs for run in runs) + OVERLOADED * self.over_va

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
            kinds.append(self._moved(over=True))
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
        for lamps in by_first_route(site, tree, root, group.lamps):
            cable = cable_tree(site, tree, root, lamps)
            self._growing.spend(GUESSED_POINT * len(cable.parents))
            guess = self._guesser.guess(cable, self._fed[group.box].low_v)
            routes = frozenset(each for way in cable.routes for each in way)
            found.append(GuessedRun(group.box, *guess, cable, routes))
        return tuple(found)

    def _change(self, removed: tuple[int, ...], added: tuple[Group, ...]) -> Change:
        gone = [run for place in removed for run in self._runs[place]]
        new = [run for group in added for run in self._guessed(group)]
        return Change(*self._costs_more(gone, new), removed, added)

    def _costs_more(self, gone: Sequence[GuessedRun], new: Sequence[GuessedRun]) -> tuple[float, float]:
        """What runs cost more than others, and the part of it for trenches. [currency]"""
        self._growing.spend(CHANGED)
        if any(run.cost == inf for run in new):
            return inf, 0.0
        costs_more, more, more_va = 0.0, dict[int, int](), [0.0] * len(self._fed)
        for runs, sign in ((gone, -1), (new, 1)):
            for run in runs:
                costs_more += sign * run.cost
                more_va[run.box] += sign * run.drawn_va
                for route in run.routes:
                    more[route] = more.get(route, 0) + sign
        costs_more *= self._ratio
        for box, fed in enumerate(self._fed):
            over_va = self._drawn_va[box] - fed.most_va
            costs_more += OVERLOADED * (max(0.0, over_va + more_va[box]) - max(0.0, over_va))
        trenches = 0.0
        for route, number in more.items():
            laid = self._laid[route]
            if not laid and number > 0:
                trenches += self._trenches[route]
            elif laid and laid + number == 0:
                trenches -= self._trenches[route]
        return costs_more + trenches, trenches

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

    def _moved(self, *, over: bool = False) -> Iterator[Change]:
        """A lamp, or all that is behind a place, put on another run; or `over`, of an overloaded box only."""
        groups = self.draft.groups
        for one, own in enumerate(groups):
            if over and self._drawn_va[own.box] <= self._fed[own.box].most_va:
                continue
            sets = dict.fromkeys([*((lamp,) for lamp in own.lamps), *self._behind(one)])
            for moved in sets:
                rest = tuple(lamp for lamp in own.lamps if lamp not in moved)
                if not rest:
                    continue
                left = own._replace(lamps=rest)
                for other, onto in enumerate(groups):
                    if other == one or (onto.box == own.box and over) or not self._may_join(moved, other):
                        continue
                    if onto.box == own.box or self._fits(onto.box, moved):
                        joined = onto._replace(lamps=_sorted(onto.lamps, moved))
                        yield self._change((one, other), (left, joined))
                for box in range(len(self._fed)):
                    if box != own.box and self._reaches(box, moved) and self._fits(box, moved):
                        yield self._change((one,), (left, Group(box, moved)))

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
        removed = [each for each in own if any(dropped in run.routes for run in self._runs[each])]
        groups = [self.draft.groups[each] for each in removed]
        gone = [run for each in removed for run in self._runs[each]]
        new = [run for group in groups for run in self._guessed_in(trees, group)]
        return Change(*self._costs_more(gone, new), tuple(removed), tuple(groups), step)

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


WHOLE_RUNS = 3.0
"""How much dearer than others changes of whole runs may look: there are few. [-]"""


WIDER = 8.0
"""How much dearer than it may be a change of routes may look at first. [-]"""


OVERLOADED = 3.0
"""What each volt-ampere that a box cannot carry is taken to cost. [currency/VA]"""


GUESSED_POINT, CHANGED = 55, 120
"""Operations: of a guess for each point of a cable, and of what a change costs."""
