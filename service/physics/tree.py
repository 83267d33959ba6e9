"""How far the voltages of a tree may be off: the covariance at every point, of any number of causes, at once.

One pass inwards gathers what lies behind each point as if it stood there, one pass outwards adds what lies
elsewhere, so the work grows with the points and not with points times causes. On a tree whatever is behind a
point acts on the rest through that point alone; a loop has no such points.

Where nothing is drawn out of phase each point has one unknown and all matrices are numbers; else it has two,
in phase and across, and they are two by two. No two sums of causes are ever subtracted from each other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from operator import add, mul, pos, sub
from typing import Generic, NamedTuple, TypeVar

from service.physics.effort import LINEARISED, count
from service.physics.elimination import PivotNotPositiveError
from service.physics.network import TERMINAL, Network
from service.physics.solve import OperatingPoint

T = TypeVar("T")


Block = tuple[float, float, float, float]
"""Two by two: in phase by in phase, in phase by across, across by in phase, across by across."""


OPERATIONS, OPERATIONS_TURNED = 50, 350
"""Of both passes, for each point."""


class Injection(NamedTuple):
    """What one standard deviation of a cause leaves over at a point, in phase and across. [W, per-unit]"""

    point: int
    in_phase: float
    across: float


class Along(NamedTuple):
    """The same of a cause within a stretch of cable: it leaves over at `start` what is missing at `end`."""

    start: int
    end: int
    in_phase: float
    across: float


class _Arithmetic(NamedTuple, Generic[T]):
    """Of one unknown at each point, or of two; a vector of two is a block with an empty second column."""

    times: Callable[[T, T], T]
    plus: Callable[[T, T], T]
    minus: Callable[[T, T], T]
    inverse: Callable[[int, T], T]
    flipped: Callable[[T], T]
    diagonal: Callable[[float], T]
    vector: Callable[[float, float], T]
    slopes: Callable[[tuple[float, float, float, float]], T]

    def turned(self, by: T, square: T) -> T:
        """A covariance as seen through what turns its unknowns into others."""
        return self.times(self.times(by, square), self.flipped(by))

    def squared(self, in_phase: float, across: float) -> T:
        """The covariance of one cause."""
        vector = self.vector(in_phase, across)
        return self.times(vector, self.flipped(vector))


class TreeCovariance(NamedTuple):
    """Of the drop and the quadrature voltage at one point. [per-unit²]"""

    drop: float
    both: float
    quadrature: float


def is_tree(network: Network) -> bool:
    """Whether no loop is left once every point that hangs on one other is taken off."""
    return network.plan.leaves == network.points - 1


def tree_covariances(
    network: Network,
    point: OperatingPoint,
    at_points: Sequence[Sequence[Injection]],
    along_spans: Iterable[Along],
) -> list[TreeCovariance]:
    """Covariance at every point of independent causes.

    Parameters
    ----------
    network : Network
        A tree.
    point : OperatingPoint
        That solves it.
    at_points : sequence of sequence of Injection
        Causes; one that acts at several points acts along a row of them, each next to the one before, and
        nothing is asked of its points but the first.
    along_spans : iterable of Along
        Causes within stretches of cable.
    """
    if network.has_non_active:
        count(OPERATIONS_TURNED * network.points)
        blocks = _Tree(_BLOCKS, network, point).covariances(at_points, along_spans)
        return [TreeCovariance(a, b, d) for a, b, _, d in blocks]
    count(OPERATIONS * network.points)
    numbers = _Tree(_NUMBERS, network, point).covariances(at_points, along_spans)
    return [TreeCovariance(each, 0.0, 0.0) for each in numbers]


class _Tree(Generic[T]):
    """A tree, linearised at its operating point and eliminated from its leaves inwards."""

    def __init__(self, arithmetic: _Arithmetic[T], network: Network, point: OperatingPoint) -> None:
        self._made, self._points = arithmetic, network.points
        self._leaves = network.plan.hanging()
        zero = arithmetic.diagonal(0.0)
        shunt = [zero] * network.points
        for at, each in enumerate(network.demand.slopes(point.drop, point.quadrature)):
            shunt[at] = arithmetic.minus(zero, arithmetic.slopes(each))
        self._inverse, self._ratio, self._rest = ([zero] * network.points for _ in range(3))
        for leaf, inner, index in self._leaves:
            link = arithmetic.diagonal(network.conductance[index])
            inverse = arithmetic.inverse(leaf, arithmetic.plus(shunt[leaf], link))
            self._inverse[leaf] = inverse
            self._ratio[leaf] = arithmetic.times(link, inverse)
            self._rest[leaf] = arithmetic.times(inverse, shunt[leaf])
            shunt[inner] = arithmetic.plus(shunt[inner], arithmetic.times(link, self._rest[leaf]))
        self._own = [zero] * network.points
        if network.source_resistance:
            feeding = arithmetic.diagonal(network.supply_conductance)
            self._own[TERMINAL] = arithmetic.inverse(TERMINAL, arithmetic.plus(shunt[TERMINAL], feeding))
        count(LINEARISED * network.points)

    def covariances(self, at_points: Sequence[Sequence[Injection]], along_spans: Iterable[Along]) -> list[T]:
        """Covariance of each point's own unknowns."""
        made, zero = self._made, self._made.diagonal(0.0)
        own, along = [zero] * self._points, [zero] * self._points
        for row in at_points:
            if row:
                at = row[0].point
                own[at] = made.plus(own[at], self._gathered(row))
        inner_of = {leaf: inner for leaf, inner, _ in self._leaves}
        for start, end, in_phase, across in along_spans:
            outer = end if inner_of.get(end) == start else start
            along[outer] = made.plus(along[outer], made.squared(in_phase, across))
        return self._outwards(own, along)

    def _gathered(self, row: Sequence[Injection]) -> T:
        """The covariance of one cause, as if all of it stood at the first of its points."""
        made = self._made
        vector = made.diagonal(0.0)
        for at, in_phase, across in reversed(row[1:]):
            vector = made.times(self._ratio[at], made.plus(vector, made.vector(in_phase, across)))
        vector = made.plus(vector, made.vector(row[0].in_phase, row[0].across))
        return made.times(vector, made.flipped(vector))

    def _outwards(self, own: list[T], along: list[T]) -> list[T]:
        """Both passes; `own` is what is off at each point, `along` in the stretch that leads to it."""
        made = self._made
        behind, passed = self._inwards(own, along)
        beside = self._beside(own, passed)
        response, elsewhere, found = list(self._own), [made.diagonal(0.0)] * self._points, list(own)
        found[TERMINAL] = made.turned(self._own[TERMINAL], behind[TERMINAL])
        for at, inner, _ in reversed(self._leaves):
            ratio, inverse, there = self._ratio[at], self._inverse[at], response[inner]
            seen = made.times(ratio, there)
            response[at] = made.plus(inverse, made.times(seen, ratio))
            within = made.minus(made.times(seen, self._rest[at]), inverse)
            outside = made.plus(elsewhere[inner], made.turned(there, beside[at]))
            elsewhere[at] = made.plus(made.turned(ratio, outside), made.turned(within, along[at]))
            found[at] = made.plus(elsewhere[at], made.turned(response[at], behind[at]))
        return found

    def _inwards(self, own: list[T], along: list[T]) -> tuple[list[T], list[T]]:
        """What is off at and behind each point as if there, and what of it its inner neighbour sees."""
        made, behind, passed = self._made, list(own), list(own)
        for at, inner, _ in self._leaves:
            mine, stretch = made.turned(self._ratio[at], behind[at]), made.turned(self._rest[at], along[at])
            passed[at] = made.plus(mine, stretch)
            behind[inner] = made.plus(behind[inner], passed[at])
        return behind, passed

    def _beside(self, own: list[T], passed: list[T]) -> list[T]:
        """For each point what is off at its inner neighbour and behind all others of that."""
        made, beside = self._made, list(own)
        outer: dict[int, list[int]] = {}
        for at, inner, _ in self._leaves:
            outer.setdefault(inner, []).append(at)
        for inner, those in outer.items():
            so_far, after = own[inner], made.diagonal(0.0)
            for at in those:
                beside[at] = so_far
                so_far = made.plus(so_far, passed[at])
            for at in reversed(those):
                beside[at] = made.plus(beside[at], after)
                after = made.plus(after, passed[at])
        return beside


def _number_inverse(at: int, value: float) -> float:
    if not value > 0.0:
        raise PivotNotPositiveError(at)
    return 1.0 / value


def _block_times(left: Block, right: Block) -> Block:
    a, b, c, d = left
    e, f, g, h = right
    return a * e + b * g, a * f + b * h, c * e + d * g, c * f + d * h


def _block_plus(left: Block, right: Block) -> Block:
    return left[0] + right[0], left[1] + right[1], left[2] + right[2], left[3] + right[3]


def _block_minus(left: Block, right: Block) -> Block:
    return left[0] - right[0], left[1] - right[1], left[2] - right[2], left[3] - right[3]


def _block_inverse(at: int, value: Block) -> Block:
    a, b, c, d = value
    determinant = a * d - b * c
    if not (a > 0.0 and determinant > 0.0):
        raise PivotNotPositiveError(at)
    return d / determinant, -b / determinant, -c / determinant, a / determinant


def _block_flipped(value: Block) -> Block:
    return value[0], value[2], value[1], value[3]


_NUMBERS = _Arithmetic[float](
    times=mul,
    plus=add,
    minus=sub,
    inverse=_number_inverse,
    flipped=pos,
    diagonal=float,
    vector=lambda in_phase, _: in_phase,
    slopes=lambda slopes: slopes[0],
)


_BLOCKS = _Arithmetic[Block](
    times=_block_times,
    plus=_block_plus,
    minus=_block_minus,
    inverse=_block_inverse,
    flipped=_block_flipped,
    diagonal=lambda value: (value, 0.0, 0.0, value),
    vector=lambda in_phase, across: (in_phase, 0.0, across, 0.0),
    slopes=lambda slopes: slopes,
)
