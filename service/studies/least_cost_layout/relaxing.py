"""What a relaxation proves: solved by the engine, every bound proven again, branched over trenches.

Work is counted by the size of a programme and the iterations that it takes, and never a clock: what is proven
when the work is spent is what is told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from fractions import Fraction
from heapq import heappop, heappush
from operator import mul
from types import MappingProxyType
from typing import Final, NamedTuple

from service.studies.least_cost_layout.design import EffortSpentError, Meter
from service.studies.least_cost_layout.engine import Solved, engine_of
from service.studies.least_cost_layout.programme import Bounds, RowName, proven, rounded
from service.studies.least_cost_layout.relaxation import Losses, Relaxation
from service.studies.least_cost_layout.site import Site


class Leaf(NamedTuple):
    """A branch with what is proven of it, by which multipliers; and the point that its programme ends at."""

    value: Fraction
    number: int
    bounds: Bounds
    multipliers: dict[int, Fraction]
    dug: tuple[float, ...]


class Relaxed:
    """The relaxation of a site with boxes at some mounting points, and what of it is proven.

    Parameters
    ----------
    site : Site
    mounts : sequence of int
    room_ohm : sequence of float
        Of each lamp, as :class:`Relaxation` takes it. [ohm]
    groups : sequence of sequence of int
        Lamps that are counted together.
    losses : Losses or None
        As :class:`Relaxation` takes it.
    meter : Meter
        Of the work that all of it may take.
    known : mapping of RowName to Fraction
        Multipliers of rows that prove most of another relaxation of the same groups, with boxes at these
        places or at more. They prove something of this one as well, and are where it begins.

    Raises
    ------
    EffortSpentError
        There is not even enough work to begin.
    """

    def __init__(  # noqa: PLR0913, PLR0917  # all that a relaxation has, one caller
        self,
        site: Site,
        mounts: Sequence[int],
        room_ohm: Sequence[float],
        groups: Sequence[Sequence[int]],
        losses: Losses | None,
        meter: Meter,
        known: Mapping[RowName, Fraction] = MappingProxyType({}),
    ) -> None:
        self._meter = meter
        meter.spend(BUILT * len(site.routes) * (len(groups) + len(site.cables)))
        self.relaxation = Relaxation(site, mounts, room_ohm, groups, losses)
        self.relaxation.adopt(known)
        self._engine = engine_of(self.relaxation.programme)
        self._made, self._cutting = 0, True
        self.refuted: list[Leaf] = []
        """Branches in which there is nothing, with the multipliers that prove it."""
        self.leaves = [self._begun(known)]

    def _begun(self, known: Mapping[RowName, Fraction]) -> Leaf:
        """All of it, with what multipliers of another relaxation prove."""
        programme = self.relaxation.programme
        multipliers = {
            index: known[row.name] for index, row in enumerate(programme.rows) if row.name in known
        }
        self._meter.spend(PROVEN * (len(programme.costs) + len(programme.rows)) if multipliers else 0)
        value = proven(programme, multipliers, Bounds())
        return Leaf(max(value, Fraction(0)), 0, Bounds(), multipliers if value > 0 else {}, ())

    @property
    def value(self) -> Fraction:
        """No layout with boxes there pays less for routes, cable and joints that are counted. [currency]"""
        return self.leaves[0].value if self.leaves else NOTHING_PASSES

    @property
    def multipliers(self) -> dict[RowName, Fraction]:
        """Those of the branch of which least is proven, by the names of their rows."""
        rows = self.relaxation.programme.rows
        if not self.leaves:
            return {}
        return {rows[index].name: each for index, each in self.leaves[0].multipliers.items()}

    def improve(self) -> bool:
        """Prove more, if there is a way: solve it, or divide its weakest branch by a trench dug in part."""
        if not self.leaves:
            return False
        leaf = self.leaves[0]
        if not self._made:
            heappop(self.leaves)
            self._followed(leaf.bounds, leaf.value, leaf)
            return True
        open_routes = [
            (abs(share - HALF), route) for route, share in enumerate(leaf.dug) if WHOLE < share < 1.0 - WHOLE
        ]
        if not open_routes:
            return False
        _, route = min(open_routes)
        column = self.relaxation.dug[route]
        heappop(self.leaves)
        self._followed(leaf.bounds._replace(zero=leaf.bounds.zero | {column}), leaf.value, leaf)
        self._followed(leaf.bounds._replace(one=leaf.bounds.one | {column}), leaf.value, leaf)
        return True

    def _followed(self, bounds: Bounds, least: Fraction, parent: Leaf | None = None) -> None:
        """Solve a branch until no row is broken or the work is spent, and keep what is proven of it."""
        self._made += 1
        multipliers = {} if parent is None else parent.multipliers
        leaf = Leaf(least, self._made, bounds, multipliers, ())
        with suppress(EffortSpentError):
            leaf = self._solved(leaf)
        if leaf.value is NOTHING_PASSES:
            self.refuted.append(leaf)
        else:
            heappush(self.leaves, leaf)

    def _solved(self, leaf: Leaf) -> Leaf:
        """A branch with what is proven of it, where that is more than was."""
        relaxation, programme = self.relaxation, self.relaxation.programme
        self._engine.fix(leaf.bounds)
        found = self._settled()
        if found is None:
            return leaf
        size = len(programme.costs) + len(programme.rows)
        self._meter.spend(min(self._meter.left, PROVEN * size))
        multipliers = rounded(found.multipliers, programme.rows[: len(found.multipliers)])
        if found.infeasible:
            refuted = proven(programme, multipliers, leaf.bounds, costly=False) > 0
            return leaf._replace(value=NOTHING_PASSES, multipliers=multipliers) if refuted else leaf
        value = proven(programme, multipliers, leaf.bounds)
        dug = tuple(found.values[column] for column in relaxation.dug)
        if value < leaf.value:
            return leaf._replace(dug=dug)
        return leaf._replace(value=value, multipliers=multipliers, dug=dug)

    def _settled(self) -> Solved | None:
        """What the engine ends with once no row is broken, nothing is gained, or the work is spent."""
        programme, found, costs = self.relaxation.programme, None, list[float]()
        while True:
            size = len(programme.costs) + len(programme.rows)
            iterations = (self._meter.left - (PROVEN + SOLVED) * size) * ITERATED // size
            if iterations < FEWEST_ITERATIONS:
                return found
            self._meter.spend(SOLVED * size)
            solved = self._engine.solve(iterations)
            if solved is None:
                return found
            self._meter.spend(solved.iterations * size // ITERATED)
            found = solved
            if solved.infeasible or solved.iterations >= iterations:
                return found
            costs.append(sum(map(mul, programme.costs, solved.values)))
            if len(costs) > STALLED and costs[-1] < costs[-1 - STALLED] * (1.0 + LEAST_GAIN):
                return found
            if not self._broken(solved.values, first=len(costs) == 1):
                return found

    def _broken(self, values: Sequence[float], *, first: bool) -> int:
        """Add the rows that a point breaks, cuts first and where nothing else is broken; how many."""
        site, added = self.relaxation.site, 0
        self._meter.spend(LOOKED * len(site.routes) * len(self.relaxation.lamps_of))
        added = self.relaxation.broken(values)
        if first or not added or self._cutting:
            self._meter.spend(CUT * len(site.routes) * len(site.lamps))
            cuts = self.relaxation.entered(values)
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


BUILT, SOLVED, LOOKED, CUT, PROVEN = 200, 2, 12, 7, 60
"""Operations: of building a programme and of looking for rows that are broken, for each route and group; of
an engine's beginning, and of a proof, for each column and row; of cuts, for each route and lamp."""


ITERATED: Final = 7
"""Columns and rows that one iteration takes an operation for."""
