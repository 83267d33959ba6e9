"""The search for the operating point, step by step; why it finds it stands in `service.physics.solve`."""

from __future__ import annotations

import math
from collections.abc import Sequence

from service.physics.kernel.draws import Draws
from service.physics.kernel.factor import Factor
from service.physics.kernel.plan import Plan
from service.physics.kernel.vectors import Reals, zeros

STEP_LIMIT = 1e-9
"""A last step smaller than this ends the search. [per-unit]"""


RESIDUAL_LIMIT_A = 1e-9
"""What may be left of Kirchhoff's law at a point, beside rounding. [A]"""


ROUNDING = 64.0 * 2.0**-52
"""Of the currents that cancel at a point. [-]"""


MAXIMUM_ITERATIONS = 200


FOUND = 0

NONE_THERE = 1
"""A pivot or a voltage is not positive."""

NOT_FOUND = 2


NOT_WITHIN = -1.0
"""In the place of a residual, where a point is not within its bound."""


class Search:
    """One search; all vectors are by place in the order of removal, in per-unit.

    Parameters
    ----------
    plan : Plan
    conductance : sequence of float
        One per link. [W]
    draws : Draws
    open_circuit_v : sequence of float
        [V], one per point
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
        open_circuit_v: Sequence[float],
        supply_conductance: float,
        *,
        held: bool,
    ) -> None:
        self._plan, self._draws, self._factor = plan, draws, Factor(plan, conductance, held=held)
        self._volts = plan.by_place(open_circuit_v)
        self._feeds, self._held, self._last = supply_conductance, held, plan.points - 1
        self.iterations = self.checks = 0
        self.residual_a = NOT_WITHIN
        self._drop, self._quadrature = zeros(plan.points), zeros(plan.points)
        self._shunt, self._next = zeros(plan.points), zeros(plan.points)
        self._zero = zeros(plan.points)

    def run(self) -> int:
        """Search; whether it was found, or is not there, or was not found."""
        turned = self._draws.turned
        while self.iterations < MAXIMUM_ITERATIONS:
            self.iterations += 1
            step = self._step_down(turned)
            if step < 0.0:
                return NONE_THERE
            if turned:
                step = max(step, self._step_across())
            if step < STEP_LIMIT:
                self.checks += 1
                self.residual_a = self._residual_a(turned)
                if self.residual_a >= 0.0:
                    return FOUND
        return NOT_FOUND

    def drop(self) -> list[float]:
        """In-phase drop by point. [per-unit]"""
        return self._plan.by_point(self._drop)

    def quadrature(self) -> list[float]:
        """Quadrature part of the voltage by point. [per-unit]"""
        return self._plan.by_point(self._quadrature)

    def _step_down(self, turned: bool) -> float:
        """Take the in-phase drops one step further down; its length, -1 where no voltage is left."""
        shunt, constant = self._shunt, self._next
        shunt[:] = self._zero
        constant[:] = self._zero
        shunt[self._last] = self._feeds
        if turned:
            self._draws.stand_in_phase(self._drop, self._quadrature, shunt, constant)
        else:
            self._draws.stand_in(self._drop, shunt, constant)
        if self._factor.eliminate(shunt, constant) >= 0:
            return -1.0
        self._factor.bring_outwards(constant)
        largest = constant[self._last]
        for place in range(self._last):
            if constant[place] > largest:
                largest = constant[place]
        if not largest < 1.0:
            return -1.0
        self._drop, self._next = constant, self._drop
        return self._length(constant, self._next)

    def _step_across(self) -> float:
        """Solve the quadrature equations at the new drops; the length of the step."""
        shunt, constant = self._shunt, self._next
        shunt[:] = self._zero
        constant[:] = self._zero
        shunt[self._last] = self._feeds
        self._draws.stand_across(self._drop, self._quadrature, shunt, constant)
        # Its shunts are not negative, so that no pivot is either.
        self._factor.eliminate(shunt, constant)
        self._factor.bring_outwards(constant)
        self._quadrature, self._next = constant, self._quadrature
        return self._length(constant, self._next)

    def _length(self, new: Reals, old: Reals) -> float:
        """Length of a step. [per-unit]"""
        longest = 0.0
        for place in range(self._last + 1):
            moved = abs(new[place] - old[place])
            if moved > longest:
                longest = moved
        return longest

    def _residual_a(self, turned: bool) -> float:
        """Largest residual over both sets of equations if every point is within its bound, else -1. [A]"""
        in_phase, across = zeros(self._last + 1), zeros(self._last + 1)
        self._draws.drawn(self._drop, self._quadrature, in_phase, across)
        worst = self._left_over(self._drop, in_phase)
        if turned and worst >= 0.0:
            other = self._left_over(self._quadrature, across)
            worst = NOT_WITHIN if other < 0.0 else max(worst, other)
        return worst

    def _left_over(self, values: Reals, drawn: Reals) -> float:
        """Largest residual if each is within its bound, else -1. [A]

        The bound is 1e-9 A and the rounding of the currents that cancel there. The terminal of an ideal
        supply has no residual: its equation only says what the supply delivers.
        """
        link, last, volts, missing = self._factor.link, self._last, self._volts, self._shunt
        lower, upper, slot = self._plan.lower, self._plan.upper, self._plan.slot
        missing[:] = drawn
        missing[last] -= self._feeds * values[last]
        for index in range(self._plan.links):
            a, b = lower[index], upper[index]
            flow = link[slot[index]] * (values[a] - values[b])
            missing[a] -= flow
            missing[b] += flow
        if self._held:
            missing[last] = 0.0
        worst, within = 0.0, True
        for place in range(last + 1):
            left = abs(missing[place]) / volts[place]
            # Asked of each, because not a number is not larger than anything.
            if not left <= RESIDUAL_LIMIT_A:
                within = False
            if left > worst:
                worst = left
        if not within and not self._within_rounding(values, drawn, missing):
            return NOT_WITHIN
        return worst if worst < math.inf else NOT_WITHIN

    def _within_rounding(self, values: Reals, drawn: Reals, missing: Reals) -> bool:
        """Whether what is missing at each point is within the rounding of the currents there."""
        link, last = self._factor.link, self._last
        lower, upper, slot = self._plan.lower, self._plan.upper, self._plan.slot
        gross = zeros(last + 1)
        for place in range(last + 1):
            gross[place] = abs(drawn[place])
        gross[last] += self._feeds * abs(values[last])
        for index in range(self._plan.links):
            a, b = lower[index], upper[index]
            flow = link[slot[index]] * (abs(values[a]) + abs(values[b]))
            gross[a] += flow
            gross[b] += flow
        for place in range(last + 1):
            volts = self._volts[place]
            if not abs(missing[place]) / volts <= RESIDUAL_LIMIT_A + ROUNDING * gross[place] / volts:
                return False
        return True
