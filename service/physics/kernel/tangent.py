"""A network made linear at its operating point, and how that point moves.

The residual is ``L d - p(d, q)`` in phase and ``L q - x(d, q)`` across, `L` the wiring. A load is at one
point alone, so all that the loads add to the Jacobian is diagonal.
"""

from __future__ import annotations

from collections.abc import Sequence

from service.physics.kernel.draws import SLOPES, Draws
from service.physics.kernel.factor import Factor
from service.physics.kernel.plan import Plan
from service.physics.kernel.vectors import zeros

ROUNDS = 30
"""Turns that the in-phase and the quadrature equations take at most."""


SETTLED = 1e-9
"""A last change smaller than this share of the answer ends them. [-]"""


P_BY_DROP, P_BY_TURN, X_BY_DROP, X_BY_TURN = 0, 1, 2, 3
"""Slopes of one place, in their order."""


class Tangent:
    """Both sets of equations; all vectors in it are by place in the order of removal, in per-unit.

    Parameters
    ----------
    plan : Plan
    conductance : sequence of float
        One per link. [W]
    draws : Draws
    supply_conductance : float
        Of the winding, seen from the terminal; zero where the terminal is held. [W]
    held : bool
        Whether the terminal is the source itself.
    """

    def __init__(
        self,
        plan: Plan,
        conductance: Sequence[float],
        draws: Draws,
        supply_conductance: float,
        *,
        held: bool,
    ) -> None:
        self._plan, self._draws, self._feeds = plan, draws, supply_conductance
        self._in_phase = Factor(plan, conductance, held=held)
        self._across = Factor(plan, conductance, held=held) if draws.turned else self._in_phase
        self._slopes = zeros(SLOPES * plan.points)
        self.rounds, self._most_rounds, self._settled = 0, ROUNDS, SETTLED

    def linearise(self, drop: Sequence[float], quadrature: Sequence[float]) -> int:
        """Take the equations at a point; the number of one whose pivot is not positive, -1 if none is."""
        plan, draws = self._plan, self._draws
        draws.find_slopes(plan.by_place(drop), plan.by_place(quadrature), self._slopes)
        refused = self._remove(self._in_phase, P_BY_DROP)
        if refused < 0 and draws.turned:
            refused = self._remove(self._across, X_BY_TURN)
        return refused if refused < 0 else plan.order[refused]

    def _remove(self, factor: Factor, which: int) -> int:
        """Remove the points with some slopes of the loads as shunts; the place of one that cannot be."""
        points, slopes, width = self._plan.points, self._slopes, SLOPES
        shunt = zeros(points)
        for place in range(points):
            shunt[place] = -slopes[width * place + which]
        shunt[points - 1] += self._feeds
        return factor.eliminate(shunt, zeros(points))

    def solve(
        self, drop: Sequence[float], turn: Sequence[float], *, backward: bool
    ) -> tuple[list[float], list[float]]:
        """Answer both sets of equations, each with a share of the other's answer on its right side; by point.

        Parameters
        ----------
        drop, turn : sequence of float
            Right-hand sides in phase and across, one per point.
        backward : bool
            Whether it is the adjoint that is asked for.
        """
        plan, draws = self._plan, self._draws
        in_phase, across = self._in_phase, self._across
        lam, mu, after = plan.by_place(drop), zeros(plan.points), zeros(plan.points)
        in_phase.bring_inwards(lam)
        in_phase.bring_outwards(lam)
        if draws.turned:
            slopes, width, by_lam, by_mu = self._slopes, SLOPES, X_BY_DROP, P_BY_TURN
            if backward:
                by_lam, by_mu = by_mu, by_lam
            right, other = plan.by_place(drop), plan.by_place(turn)
            for _ in range(self._most_rounds):
                self.rounds += 1
                for place in range(plan.points):
                    mu[place] = other[place] + slopes[width * place + by_lam] * lam[place]
                across.bring_inwards(mu)
                across.bring_outwards(mu)
                for place in range(plan.points):
                    after[place] = right[place] + slopes[width * place + by_mu] * mu[place]
                in_phase.bring_inwards(after)
                in_phase.bring_outwards(after)
                moved, largest = 0.0, 0.0
                for place in range(plan.points):
                    moved = max(moved, abs(after[place] - lam[place]))
                    largest = max(largest, abs(after[place]))
                lam, after = after, lam
                if moved <= self._settled * largest:
                    break
        return plan.by_point(lam), plan.by_point(mu)
