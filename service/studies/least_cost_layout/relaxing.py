"""What a relaxation proves: solved by the engine, every bound proven again, branched over trenches.

The engine solves the relaxation with lamps in groups and goes on from case to case. What is proven is that
with each lamp by itself, from multipliers that are made of the engine's.

Work is counted by the size of a programme and the iterations that it takes, and never a clock: what is proven
when the work is spent is what is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from fractions import Fraction
from heapq import heappop, heappush
from operator import mul
from typing import Final, NamedTuple

from service.studies.least_cost_layout.design import EffortSpentError, Meter
from service.studies.least_cost_layout.engine import Solved, engine_of
from service.studies.least_cost_layout.polishing import Branch, Polishing
from service.studies.least_cost_layout.programme import Bounds, proven, refutes, rounded
from service.studies.least_cost_layout.relaxation import Relaxation, Setting
from service.studies.least_cost_layout.site import Site


class Leaf(NamedTuple):
    """A branch with what is proven of it, by which multipliers.

    `dug`: how much of each route is dug at the point that its programme ends at, nothing where there is none;
    None while it is not solved.
    """

    value: Fraction
    number: int
    bounds: Bounds
    multipliers: dict[int, Fraction]
    dug: tuple[float, ...] | None


class Family:
    """The relaxation of a site in all cases, and the engine that solves it, one case after the other.

    Parameters
    ----------
    site : Site
    widest : Setting
    groups : sequence of sequence of int
        As :class:`Relaxation` takes them.
    meter : Meter
        Of the work that all of it may take.

    Raises
    ------
    EffortSpentError
        There is not even enough work to begin.
    """

    def __init__(self, site: Site, widest: Setting, groups: Sequence[Sequence[int]], meter: Meter) -> None:
        self.meter = meter
        meter.spend(BUILT * len(site.routes) * (len(groups) + len(site.cables)))
        meter.spend(BUILT * len(site.routes) * len(site.lamps))
        self.coarse = Relaxation(site, widest, groups)
        """What the engine solves."""
        self.coarse.wake_likely()
        self.engine = engine_of(self.coarse.programme)
        self.fine = Relaxation(site, widest, [[lamp] for lamp in range(len(site.lamps))])
        """In which all is proven: each lamp by itself."""
        self.polishing = Polishing(self.coarse, self.fine, meter)

    @property
    def size(self) -> int:
        """Columns and rows that the engine has."""
        return len(self.coarse.programme.awake) + len(self.coarse.programme.rows)

    @property
    def proof_work(self) -> int:
        """Operations of a proof."""
        return PROVEN * (len(self.fine.programme.costs) + len(self.fine.programme.rows))


class Relaxed:
    """One case of a relaxation, and what of it is proven.

    Parameters
    ----------
    family : Family
    setting : Setting
    wider : Relaxed, optional
        A case of the same family with boxes at these places or at more: where it begins. What is proven of
        that proves something of this one as well.

    Raises
    ------
    EffortSpentError
        There is not even enough work to begin.
    """

    def __init__(self, family: Family, setting: Setting, wider: Relaxed | None = None) -> None:
        self.family, self._meter = family, family.meter
        self.setting, self._made, self._cutting = setting, 0, True
        self._branch = Branch()
        self.refuted: list[Leaf] = []
        """Branches in which there is nothing, with the multipliers that prove it."""
        self.leaves = [Leaf(Fraction(0), 0, Bounds(), {}, None)]
        family.coarse.foresee(setting)
        if wider is not None:
            self._follow(wider)

    def _follow(self, wider: Relaxed) -> None:
        """Begin with the branches of another case, and what their multipliers prove in this one."""
        programme = self.family.fine.programme
        standing, before = (self.family.fine.standing(each.setting) for each in (self, wider))
        self.leaves = []
        for leaf in (*wider.leaves, *wider.refuted):
            kept = {
                index: each
                for index, each in leaf.multipliers.items()
                if standing.get(index, 0.0) is not None
            }
            value = Fraction(0)
            if leaf.value == NOTHING_PASSES:
                self._meter.spend(self.family.proof_work)
                if refutes(programme, kept, leaf.bounds, standing):
                    self.refuted.append(leaf._replace(multipliers=kept))
                    continue
            elif len(kept) < len(leaf.multipliers):
                self._meter.spend(self.family.proof_work)
                value = proven(programme, kept, leaf.bounds, standing)
            else:
                self._meter.spend(STOOD * (len(standing) + len(before)))
                value = leaf.value
                for index in standing.keys() | before.keys():
                    if index in kept:
                        least = programme.rows[index].least
                        now, then = standing.get(index, least), before.get(index, least)
                        value += kept[index] * (Fraction(now or 0) - Fraction(then or 0))
            if value <= 0:
                kept, value = {}, Fraction(0)
            self._made += 1
            heappush(self.leaves, Leaf(value, self._made, leaf.bounds, kept, None))

    @property
    def value(self) -> Fraction:
        """No layout with boxes there pays less for routes, cable and joints that are counted. [currency]"""
        return self.leaves[0].value if self.leaves else NOTHING_PASSES

    @property
    def solved(self) -> bool:
        """Whether any branch was."""
        return any(leaf.dug is not None for leaf in self.leaves) or not self.leaves

    def improve(self) -> bool:
        """Prove more, if there is a way: solve the weakest branch, or divide it by a trench dug in part."""
        if not self.leaves:
            return False
        leaf = self.leaves[0]
        if leaf.dug is None:
            heappop(self.leaves)
            self._followed(leaf)
            return True
        open_routes = [
            (abs(share - HALF), route) for route, share in enumerate(leaf.dug) if WHOLE < share < 1.0 - WHOLE
        ]
        if not open_routes:
            return False
        _, route = min(open_routes)
        column = self.family.fine.dug[route]
        heappop(self.leaves)
        self._followed(leaf._replace(bounds=leaf.bounds._replace(zero=leaf.bounds.zero | {column})))
        self._followed(leaf._replace(bounds=leaf.bounds._replace(one=leaf.bounds.one | {column})))
        return True

    def _followed(self, leaf: Leaf) -> None:
        """Solve a branch until no row is broken or the work is spent, and keep what is proven of it."""
        self._made += 1
        leaf = leaf._replace(number=self._made, dug=())
        with suppress(EffortSpentError):
            leaf = self._solved(leaf)
        if leaf.value is NOTHING_PASSES:
            self.refuted.append(leaf)
        else:
            heappush(self.leaves, leaf)

    def _solved(self, leaf: Leaf) -> Leaf:
        """A branch with what is proven of it, where that is more than was."""
        family, programme = self.family, self.family.fine.programme
        family.engine.fix(leaf.bounds)
        self._branch = Branch(leaf.bounds.zero, leaf.bounds.one)
        found = self._settled()
        if found is None:
            return leaf
        self._meter.spend(min(self._meter.left, family.proof_work))
        if found.infeasible:
            completed = family.polishing.carried(found.multipliers)
        else:
            completed = family.polishing.polished(found.multipliers, self.setting, self._branch)
        standing = family.fine.standing(self.setting)
        multipliers = {
            index: each
            for index, each in rounded(completed, programme.rows).items()
            if standing.get(index, 0.0) is not None
        }
        if found.infeasible:
            refuted = refutes(programme, multipliers, leaf.bounds, standing)
            return leaf._replace(value=NOTHING_PASSES, multipliers=multipliers) if refuted else leaf
        value = proven(programme, multipliers, leaf.bounds, standing)
        dug = tuple(found.values[column] for column in family.coarse.dug)
        if value < leaf.value:
            return leaf._replace(dug=dug)
        return leaf._replace(value=value, multipliers=multipliers, dug=dug)

    def _settled(self) -> Solved | None:
        """What the engine ends with once no row is broken, nothing is gained, or the work is spent."""
        programme, found, costs = self.family.coarse.programme, None, list[float]()
        while True:
            size = self.family.size
            iterations = (self._meter.left - self.family.proof_work - SOLVED * size) * ITERATED // size
            if iterations < FEWEST_ITERATIONS:
                return found
            self._meter.spend(SOLVED * size)
            self.family.engine.stand(self.family.coarse.standing(self.setting))
            solved = self.family.engine.solve(iterations)
            if solved is None:
                return found
            self._meter.spend(solved.iterations * size // ITERATED)
            found = solved
            if solved.infeasible and self.family.coarse.wake():
                continue
            if solved.infeasible or solved.iterations >= iterations:
                return found
            costs.append(sum(map(mul, programme.costs, solved.values)))
            stalled = len(costs) > STALLED and costs[-1] < costs[-1 - STALLED] * (1.0 + LEAST_GAIN)
            if not stalled and self._broken(solved.values, first=len(costs) == 1):
                continue
            if not self._widened(solved):
                return found
            costs.clear()

    def _widened(self, solved: Solved) -> int:
        """Wake where lamps have cheaper ways than any that the engine knows; how many."""
        family, bounds = self.family, self._branch
        size = len(family.coarse.site.routes) * len(family.coarse.site.lamps)
        if self._meter.left < WIDENED * size + family.proof_work:
            return 0
        self._meter.spend(WIDENED * size)
        ways = family.polishing.ways(solved.multipliers, self.setting, bounds)
        return sum(family.coarse.wake_way(lamp, arc) for lamp, way in enumerate(ways) for arc in way)

    def _broken(self, values: Sequence[float], *, first: bool) -> int:
        """Add the rows that a point breaks, cuts first and where nothing else is broken; how many."""
        coarse, added = self.family.coarse, 0
        self._meter.spend(LOOKED * len(coarse.site.routes) * len(coarse.lamps_of))
        added = coarse.broken(values)
        if first or not added or self._cutting:
            self._meter.spend(CUT * len(coarse.site.routes) * len(coarse.site.lamps))
            cuts = coarse.entered(values, self.setting)
            self._cutting, added = cuts > 0, added + cuts
        return added


NOTHING_PASSES: Final = Fraction(10**12)
"""For a branch in which there is no layout. [currency]"""


HALF, WHOLE = 0.5, 0.02
"""A trench that is dug by half is divided by first; one that is dug but for so much, or no more, is not."""


STALLED, LEAST_GAIN = 3, 5e-4
"""Rounds that must raise the cost by so much of it, to go on. [-]"""


FEWEST_ITERATIONS: Final = 20
"""With work for fewer an engine is not asked."""


BUILT, SOLVED, LOOKED, CUT, PROVEN = 40, 2, 12, 7, 8
"""Operations: of building a programme and of looking for rows that are broken, for each route and group; of
an engine's beginning, and of a proof, for each column and row; of cuts, for each route and lamp."""


WIDENED: Final = 25
"""Operations of looking for cheaper ways, for each route and lamp."""


STOOD: Final = 10
"""Operations of one row that stands otherwise."""


ITERATED: Final = 10
"""Columns and rows that one iteration takes an operation for."""
