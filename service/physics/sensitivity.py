"""How an operating point moves when something small about its network changes, by the adjoint.

The equations at the operating point are linearised once. For a quantity that is read off the point, one
backward solve then gives its sensitivity to every resistance and every load at the same time.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from service.physics.effort import LINEARISED, SUBSTITUTED, count
from service.physics.elimination import PivotNotPositiveError
from service.physics.kernel import tangent
from service.physics.network import Network
from service.physics.solve import OperatingPoint

Values = list[float]


class Adjoint(NamedTuple):
    """What a quantity would change by per unit of current missing at each point, in phase and across.

    [of the quantity per W, per-unit], one per point each
    """

    in_phase: Values
    across: Values


class Tangent:
    """The equations of a network, linearised at its operating point.

    Parameters
    ----------
    network : Network
    point : OperatingPoint
        That solves it.

    Raises
    ------
    PivotNotPositiveError
        The point is at the nose, where a small change has no small effect.
    """

    __slots__ = ("_effort", "_equations", "_points")

    def __init__(self, network: Network, point: OperatingPoint) -> None:
        self._points, self._effort = network.points, network.effort
        count(LINEARISED * network.effort)
        self._equations = tangent.Tangent(
            network.plan,
            network.conductance,
            network.demand,
            network.supply_conductance,
            held=not network.source_resistance,
        )
        refused = self._equations.linearise(point.drop, point.quadrature)
        if refused >= 0:
            raise PivotNotPositiveError(refused)

    def adjoint(self, by_drop: Mapping[int, float], by_quadrature: Mapping[int, float]) -> Adjoint:
        """Solve backward for one quantity.

        Parameters
        ----------
        by_drop, by_quadrature : mapping of int to float
            How the quantity depends on the drop and on the quadrature voltage of the points that it is read
            off. [of the quantity, per-unit]
        """
        drop, turn = [0.0] * self._points, [0.0] * self._points
        for at, part in by_drop.items():
            drop[at] = part
        for at, part in by_quadrature.items():
            turn[at] = part
        return Adjoint(*self._solve(drop, turn, backward=True))

    def response(self, in_phase: Values, across: Values) -> tuple[Values, Values]:
        """How the drop and the quadrature voltage of each point follow what is left over at the points.

        Parameters
        ----------
        in_phase, across : list of float
            Left over. [W, per-unit], one per point
        """
        return self._solve(in_phase, across, backward=False)

    def _solve(self, drop: Values, turn: Values, *, backward: bool) -> tuple[Values, Values]:
        before = self._equations.rounds
        found = self._equations.solve(drop, turn, backward=backward)
        count((1 + 3 * (self._equations.rounds - before)) * SUBSTITUTED * self._effort)
        return found
