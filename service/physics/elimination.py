"""Elimination of points from a network of conductances, one after another, trees and loops alike.

Removing a point joins its neighbours pairwise and passes its shunt on to them (the star-mesh transformation).
Nothing is ever subtracted among conductances, so a kilometre of thin wire beside a millimetre of thick bar
loses no digits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import repeat
from math import inf


class PivotNotPositiveError(ArithmeticError):
    """A point whose conductance, shunt included, is not positive: the load outweighs what feeds it."""

    def __init__(self, point: int) -> None:
        super().__init__(f"pivot at point {point} is not positive")
        self.point = point


@dataclass(frozen=True, slots=True)
class CoreStep:
    """The removal of one point that is part of a loop, or of the terminal.

    Parameters
    ----------
    point : int
        Removed.
    around : tuple of (int, int)
        Each neighbour still present, and the slot of the link to it.
    fills : tuple of (int, int, int)
        Slot that each pair of neighbours adds to, and the places of the two in `around`.
    """

    point: int
    around: tuple[tuple[int, int], ...]
    fills: tuple[tuple[int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The order in which points are removed and what each removal touches; depends on the topology alone.

    Parameters
    ----------
    leaves : tuple of (int, int, int)
        Points that hang on one neighbour when their turn comes, that neighbour, and the slot of the link.
    core : tuple of CoreStep
        The points that remain then, those of loops, and at last the terminal.
    slots : int
        How many links there are, fill included.
    """

    leaves: tuple[tuple[int, int, int], ...]
    core: tuple[CoreStep, ...]
    slots: int

    @property
    def effort(self) -> int:
        """How much one elimination takes, in leaves removed: a point of a loop takes more, and its fills."""
        looped = len(self.core) - 1
        return len(self.leaves) + 1 + effort_of_loops(looped, sum(len(step.fills) for step in self.core))


def effort_of_loops(points: int, fills: int) -> int:
    """How much it takes to remove the points of loops with so many fills, in leaves removed."""
    return (5 * points) // 2 + fills // 4


def plan_elimination(points: int, pairs: Iterable[tuple[int, int]]) -> Plan:
    """Order the points: the one with the fewest neighbours first, point 0 last.

    Leaves have one neighbour and go first, so a tree fills in nothing.

    Parameters
    ----------
    points : int
        Number of points, 0 being the terminal.
    pairs : iterable of (int, int)
        Joined points, which take a slot each in this order; a pair may repeat, either way round.
    """
    around: list[dict[int, int]] = [{} for _ in range(points)]
    slots = 0
    for a, b in pairs:
        if b not in around[a]:
            around[a][b] = around[b][a] = slots
            slots += 1
    leaves = _strip_leaves(around)
    core, slots = _plan_core(around, slots)
    return Plan(tuple(leaves), (*core, CoreStep(0, (), ())), slots)


def _strip_leaves(around: list[dict[int, int]]) -> list[tuple[int, int, int]]:
    """Take off every point that hangs on one other, until only loops and the terminal are left."""
    waiting = [point for point in range(1, len(around)) if len(around[point]) == 1]
    leaves = []
    while waiting:
        point = waiting.pop()
        if not around[point]:
            continue
        other, slot = around[point].popitem()
        del around[other][point]
        leaves.append((point, other, slot))
        if other and len(around[other]) == 1:
            waiting.append(other)
    return leaves


def _plan_core(around: list[dict[int, int]], slots: int) -> tuple[list[CoreStep], int]:
    """Order the points of the loops, the one with the fewest neighbours first; count the slots."""
    waiting = [(len(links), -point) for point, links in enumerate(around) if point and links]
    heapify(waiting)
    steps = []
    while waiting:
        degree, minus_point = heappop(waiting)
        point = -minus_point
        if not around[point] or degree != len(around[point]):
            continue
        step, slots = _remove(point, around, slots)
        steps.append(step)
        for other, _ in step.around:
            if other:
                heappush(waiting, (len(around[other]), -other))
    return steps, slots


def _remove(point: int, around: list[dict[int, int]], slots: int) -> tuple[CoreStep, int]:
    """Take one point out of the graph and join its neighbours pairwise; new links take the next slots."""
    links = tuple(sorted(around[point].items()))
    around[point] = {}
    for other, _ in links:
        del around[other][point]
    fills = []
    for i, (a, _) in enumerate(links):
        for j in range(i + 1, len(links)):
            b = links[j][0]
            if b not in around[a]:
                around[a][b] = around[b][a] = slots
                slots += 1
            fills.append((around[a][b], i, j))
    return CoreStep(point, links, tuple(fills)), slots


class Factor:
    """The network with its points removed; answers as many right-hand sides as asked.

    Parameters
    ----------
    plan : Plan
        Order of removal.
    conductance : sequence of float
        One per link of the network, in slot order. [W, per-unit]
    shunt : sequence of float
        Conductance from each point to the source, one per point; may be negative. [W, per-unit]
    terminal_held : bool
        Whether point 0 is the source itself, at no drop.

    Raises
    ------
    PivotNotPositiveError
        The matrix is no M-matrix.
    """

    __slots__ = ("_core", "_leaves")

    def __init__(
        self, plan: Plan, conductance: Sequence[float], shunt: Sequence[float], *, terminal_held: bool
    ) -> None:
        shunts = list(shunt)
        self._leaves: list[tuple[int, int, float, float]] = []
        for point, other, slot in plan.leaves:
            link = conductance[slot]
            pivot = shunts[point] + link
            if not pivot > 0.0:
                raise PivotNotPositiveError(point)
            ratio = link / pivot
            shunts[other] += ratio * shunts[point]
            self._leaves.append((point, other, ratio, pivot))
        self._core = _eliminate_core(plan, conductance, shunts, terminal_held=terminal_held)

    def solve(self, right: Sequence[float]) -> list[float]:
        """Answer one right-hand side.

        Parameters
        ----------
        right : sequence of float
            One per point. [W, per-unit]

        Returns
        -------
        answer : list of float
            One per point. [per-unit]
        """
        work = list(right)
        for point, other, ratio, _ in self._leaves:
            work[other] += ratio * work[point]
        for point, shares, _ in self._core:
            for other, ratio in shares:
                work[other] += ratio * work[point]
        for point, shares, pivot in reversed(self._core):
            value = work[point] / pivot
            for other, ratio in shares:
                value += ratio * work[other]
            work[point] = value
        for point, other, ratio, pivot in reversed(self._leaves):
            work[point] = work[point] / pivot + ratio * work[other]
        return work

    def transfer_diagonal(self) -> list[float]:
        """Diagonal of the inverse: the resistance from the source to each point, all loads taken off.

        Only the entries of the inverse that lie on the pattern of the factors are formed (Takahashi, Fagan
        and Chin 1973), so this costs no more than the elimination did.

        Returns
        -------
        resistance : list of float
            One per point. [1/W, per-unit]
        """
        inverse: dict[tuple[int, int], float] = {}
        diagonal = [0.0] * (len(self._leaves) + len(self._core))
        for point, shares, pivot in reversed(self._core):
            own = 1.0 / pivot
            for a, ratio_a in shares:
                entry = 0.0
                for b, ratio_b in shares:
                    entry += ratio_b * (diagonal[a] if a == b else inverse[(a, b) if a < b else (b, a)])
                inverse[(point, a) if point < a else (a, point)] = entry
                own += ratio_a * entry
            diagonal[point] = own
        for point, other, ratio, pivot in reversed(self._leaves):
            diagonal[point] = 1.0 / pivot + ratio * ratio * diagonal[other]
        return diagonal


def _eliminate_core(
    plan: Plan, conductance: Sequence[float], shunts: list[float], *, terminal_held: bool
) -> list[tuple[int, list[tuple[int, float]], float]]:
    """Remove the points of the loops, then the terminal: each with its shares and its pivot."""
    links = [*conductance, *repeat(0.0, plan.slots - len(conductance))]
    removed = []
    for step in plan.core:
        point = step.point
        pivot = shunts[point] + sum([links[slot] for _, slot in step.around])
        if terminal_held and not point:
            pivot = inf
        if not pivot > 0.0:
            raise PivotNotPositiveError(point)
        shares = [(other, links[slot] / pivot) for other, slot in step.around]
        for other, ratio in shares:
            shunts[other] += ratio * shunts[point]
        for target, i, j in step.fills:
            links[target] += shares[i][1] * links[step.around[j][1]]
        removed.append((point, shares, pivot))
    return removed
