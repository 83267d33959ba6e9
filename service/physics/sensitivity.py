"""How an operating point moves when something small about its network changes, by the adjoint.

The equations at the operating point are linearised once. For a quantity that is read off the point, one
backward solve then gives its sensitivity to every resistance and every load at the same time.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt
from typing import NamedTuple

from service.physics.effort import LINEARISED, SUBSTITUTED, count
from service.physics.elimination import Factor
from service.physics.load import FILAMENT_EXPONENT
from service.physics.network import TERMINAL, Network
from service.physics.solve import OperatingPoint

ROUNDS = 30
"""Turns that the in-phase and the quadrature equations take at most."""


SETTLED = 1e-9
"""A last change smaller than this share of the answer ends them. [-]"""


Values = list[float]


class Adjoint(NamedTuple):
    """What a quantity would change by per unit of current missing at each point, in phase and across.

    [of the quantity per W, per-unit], one per point each
    """

    in_phase: Values
    across: Values


class Tangent:
    """The equations of a network, linearised at its operating point.

    The residual is ``L d - p(d, q)`` in phase and ``L q - x(d, q)`` across, `L` the wiring. A load is at one
    point alone, so all that the loads add to the Jacobian is diagonal.

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

    __slots__ = ("_across", "_effort", "_in_phase", "_p_by_q", "_turned", "_x_by_d")

    def __init__(self, network: Network, point: OperatingPoint) -> None:
        points = network.points
        self._effort = network.effort
        count(LINEARISED * network.effort)
        p_by_d, x_by_q = [0.0] * points, [0.0] * points
        self._p_by_q, self._x_by_d = [0.0] * points, [0.0] * points
        for at, *draw in network.draws:
            slopes = slopes_of_draw(draw, 1.0 - point.drop[at], point.quadrature[at])
            p_by_d[at], self._p_by_q[at], self._x_by_d[at], x_by_q[at] = slopes
        self._turned = network.has_non_active
        self._in_phase = _factor(network, p_by_d)
        self._across = _factor(network, x_by_q) if self._turned else None

    def adjoint(self, by_drop: Mapping[int, float], by_quadrature: Mapping[int, float]) -> Adjoint:
        """Solve backward for one quantity.

        Parameters
        ----------
        by_drop, by_quadrature : mapping of int to float
            How the quantity depends on the drop and on the quadrature voltage of the points that it is read
            off. [of the quantity, per-unit]
        """
        points = range(len(self._p_by_q))
        drop = [by_drop.get(at, 0.0) for at in points]
        turn = [by_quadrature.get(at, 0.0) for at in points]
        return Adjoint(*self._solve(drop, turn, self._p_by_q, self._x_by_d))

    def response(self, in_phase: Values, across: Values) -> tuple[Values, Values]:
        """How the drop and the quadrature voltage of each point follow what is left over at the points.

        Parameters
        ----------
        in_phase, across : list of float
            Left over. [W, per-unit], one per point
        """
        return self._solve(in_phase, across, self._x_by_d, self._p_by_q)

    def _solve(self, drop: Values, turn: Values, by_lam: Values, by_mu: Values) -> tuple[Values, Values]:
        """Both sets of equations, each with a share of the other's answer on its right side."""
        count(SUBSTITUTED * self._effort)
        lam = self._in_phase.solve(drop)
        if self._across is None:
            return lam, [0.0] * len(lam)
        mu = [0.0] * len(lam)
        for _ in range(ROUNDS):
            count(3 * SUBSTITUTED * self._effort)
            mu = self._across.solve([s + k * each for s, k, each in zip(turn, by_lam, lam, strict=True)])
            right = [r + k * each for r, k, each in zip(drop, by_mu, mu, strict=True)]
            after = self._in_phase.solve(right)
            moved = max(abs(new - old) for new, old in zip(after, lam, strict=True))
            lam = after
            if moved <= SETTLED * max(map(abs, lam)):
                break
        return lam, mu


def slopes_of_draw(draw: list[float], a: float, b: float) -> tuple[float, float, float, float]:
    """Slopes of what is drawn in phase and across, by drop and by quadrature each. [W, per-unit]

    The draw is ``p = C a + S b`` and ``x = S a - C b`` with C and S as in `service.physics.kernel.draws`.
    """
    power, current, conductance, filament, var, var_current = draw
    square = a * a + b * b
    volts = sqrt(square)
    bulb = filament * volts ** (FILAMENT_EXPONENT - 1.0) if filament else 0.0
    active = power / square + current / volts + conductance + bulb
    lag = var / square + var_current / volts
    # By the square of the magnitude, which is what both depend on.
    bend = (-power / square - 0.5 * current / volts + 0.5 * (FILAMENT_EXPONENT - 1.0) * bulb) / square
    lag_bend = (-var / square - 0.5 * var_current / volts) / square
    p_by_a = active + 2.0 * a * (bend * a + lag_bend * b)
    p_by_b = lag + 2.0 * b * (bend * a + lag_bend * b)
    x_by_a = lag + 2.0 * a * (lag_bend * a - bend * b)
    x_by_b = -active + 2.0 * b * (lag_bend * a - bend * b)
    return -p_by_a, p_by_b, -x_by_a, x_by_b


def _factor(network: Network, by_own: Values) -> Factor:
    """The wiring with the slopes of its loads as shunts."""
    shunt = [-slope for slope in by_own]
    shunt[TERMINAL] += network.supply_conductance
    held = not network.source_resistance
    return Factor(network.plan, network.conductance, shunt, terminal_held=held)
