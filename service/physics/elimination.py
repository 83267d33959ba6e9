"""Elimination of points from a network of conductances, one after another, trees and loops alike.

Removing a point joins its neighbours pairwise and passes its shunt on to them (the star-mesh transformation).
Nothing is ever subtracted among conductances, so a kilometre of thin wire beside a millimetre of thick bar
loses no digits.
"""

from __future__ import annotations

from collections.abc import Sequence

from service.physics.kernel import factor
from service.physics.kernel.plan import Plan


class PivotNotPositiveError(ArithmeticError):
    """A point whose conductance, shunt included, is not positive: the load outweighs what feeds it."""

    def __init__(self, point: int) -> None:
        super().__init__(f"pivot at point {point} is not positive")
        self.point = point


def effort_of(plan: Plan) -> int:
    """How much one elimination takes, in leaves removed: a point of a loop takes more, and its fills."""
    return plan.leaves + 1 + effort_of_loops(plan.points - 1 - plan.leaves, plan.fills)


def effort_of_loops(points: int, fills: int) -> int:
    """How much it takes to remove the points of loops with so many fills, in leaves removed."""
    return (5 * points) // 2 + fills // 4


class Factor:
    """The network with its points removed; answers as many right-hand sides as asked.

    Parameters
    ----------
    plan : Plan
        Order of removal.
    conductance : sequence of float
        One per link of the network, in the order of links. [W, per-unit]
    shunt : sequence of float
        Conductance from each point to the source, one per point; may be negative. [W, per-unit]
    terminal_held : bool
        Whether point 0 is the source itself, at no drop.

    Raises
    ------
    PivotNotPositiveError
        The matrix is no M-matrix.
    """

    __slots__ = ("_factor",)

    def __init__(
        self, plan: Plan, conductance: Sequence[float], shunt: Sequence[float], *, terminal_held: bool
    ) -> None:
        self._factor = factor.Factor(plan, conductance, held=terminal_held)
        refused = self._factor.factorise(shunt)
        if refused >= 0:
            raise PivotNotPositiveError(refused)

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
        return self._factor.solve(right)

    def transfer_diagonal(self) -> list[float]:
        """Diagonal of the inverse: the resistance from the source to each point, all loads taken off.

        Only the entries of the inverse that lie on the pattern of the factors are formed (Takahashi, Fagan
        and Chin 1973), so this costs no more than the elimination did.

        Returns
        -------
        resistance : list of float
            One per point. [1/W, per-unit]
        """
        return self._factor.transfer_diagonal()
