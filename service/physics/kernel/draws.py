"""What is drawn at each point, and what stands in for it in one step of the search.

At the voltage a + jb a load draws ``C a + S b`` in phase and ``C b - S a`` across. C and S are its active and
non-active current over the magnitude of its voltage; constant non-active power Q makes S = Q/|V|², which is
the load P + jQ of an alternating-current power flow.

For one step each load is replaced by its Norton equivalent, a shunt beside a constant current, so that the
step is a linear circuit whose answer is the new drop itself: no flow is subtracted from another on the way.

All vectors of points are by place in the order of removal, in per-unit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from service.physics.kernel.plan import Plan
from service.physics.kernel.vectors import Reals, wholes, zeros

PARTS = 6
"""Power, current, conductance, filament, non-active power and non-active current of a draw."""

SLOPES = 4
"""Of what is drawn at one place: in phase and across, by drop and by quadrature."""


class Draws:
    """The loads of a network, those of one point added up, in per-unit of its open-circuit voltage.

    Parameters
    ----------
    plan : Plan
    exponent : float
        Current of a filament goes with this power of its voltage. [-]
    room : int
        Loads that it has room for.
    """

    # `count` points that draw, in the order in which they were named; by draw: `at` its place, `_point` its
    # number, and its six parts one behind the other in `part`. `turned`: something is drawn out of phase.

    def __init__(self, plan: Plan, exponent: float, room: int) -> None:
        self.plan, self.exponent, self.count, self.turned = plan, exponent, 0, False
        self.at, self._point, self.part = wholes(room), wholes(room), zeros(PARTS * room)

    def add_up(self, open_circuit_v: Sequence[float], loads: Sequence[tuple[int, Sequence[float]]]) -> None:
        """Take the loads; each has its six parts in watts, amperes and so on.

        Parameters
        ----------
        open_circuit_v : sequence of float
            [V], one per point
        loads : sequence of (int, sequence of float)
            Each with the number of its point.
        """
        part, own, places = self.part, 1.0 + self.exponent, self.plan.place
        draw_at = wholes(self.plan.points)
        for index in range(len(loads)):
            load = loads[index]
            point, parts = load[0], load[1]
            # Compiled, a vector does not know where it ends.
            if not 0 <= point < self.plan.points:
                raise IndexError(point)
            draw = draw_at[point] - 1
            if draw < 0:
                draw = self.count
                self.count += 1
                draw_at[point] = self.count
                self.at[draw], self._point[draw] = places[point], point
            base, volts = PARTS * draw, open_circuit_v[point]
            amps, siemens, filament, var_amps = parts[1], parts[2], parts[3], parts[5]
            part[base] += parts[0]
            if amps:
                part[base + 1] += amps * volts
            if siemens:
                part[base + 2] += siemens * volts * volts
            if filament:
                part[base + 3] += filament * volts**own
            part[base + 4] += parts[4]
            if var_amps:
                part[base + 5] += var_amps * volts
        self._look()

    def _look(self) -> None:
        for draw in range(self.count):
            if self.part[PARTS * draw + 4] or self.part[PARTS * draw + 5]:
                self.turned = True

    def scaled(self, factor: float) -> Draws:
        """The same, each `factor` times as large. [-]"""
        found = Draws(self.plan, self.exponent, self.count)
        self._put_scaled(found, factor)
        found._look()
        return found

    def _put_scaled(self, found: Draws, factor: float) -> None:
        found.count = self.count
        for draw in range(self.count):
            found.at[draw], found._point[draw] = self.at[draw], self._point[draw]
        for index in range(PARTS * self.count):
            found.part[index] = self.part[index] * factor

    def rows(self) -> list[tuple[int, list[float]]]:
        """Number of each point that draws, and its six parts."""
        return [
            (self._point[draw], [self.part[PARTS * draw + part] for part in range(PARTS)])
            for draw in range(self.count)
        ]

    def undropped(self) -> list[float]:
        """Apparent power that each point would draw at no drop, by point. [W]"""
        found = zeros(self.plan.points)
        self._find_undropped(found)
        return self.plan.by_point(found)

    def _find_undropped(self, found: Reals) -> None:
        part = self.part
        for draw in range(self.count):
            base = PARTS * draw
            active = part[base] + part[base + 1] + part[base + 2] + part[base + 3]
            lag = part[base + 4] + part[base + 5]
            # The root of a square is the number itself to the last digit.
            found[self.at[draw]] = math.sqrt(active * active + lag * lag)

    def stand_in(self, drop: Reals, shunt: Reals, constant: Reals) -> None:
        """Norton equivalents at given drops where nothing is drawn out of phase.

        Constant power is replaced by its tangent, a filament by its chord through the origin: both draw less
        than the load itself at any lower voltage, so a step cannot overshoot.
        """
        at, part, bulb = self.at, self.part, self.exponent - 1.0
        for draw in range(self.count):
            place, base = at[draw], PARTS * draw
            volts = 1.0 - drop[place]
            slope = part[base] / (volts * volts)
            fixed = part[base + 2]
            if part[base + 3]:
                fixed += part[base + 3] * volts**bulb
            shunt[place] = shunt[place] + fixed - slope
            constant[place] = part[base + 1] + fixed + slope * (volts - drop[place])

    def stand_in_phase(self, drop: Reals, quadrature: Reals, shunt: Reals, constant: Reals) -> None:
        """Norton equivalents of the in-phase equations, the quadrature voltages held."""
        at, part, bulb = self.at, self.part, self.exponent - 1.0
        for draw in range(self.count):
            place, base = at[draw], PARTS * draw
            a, b = 1.0 - drop[place], quadrature[place]
            square = a * a + b * b
            volts = math.sqrt(square)
            by_power, by_current = part[base] / square, part[base + 1] / volts
            lag_power, lag_current = part[base + 4] / square, part[base + 5] / volts
            active = by_power + by_current + part[base + 2]
            if part[base + 3]:
                active += part[base + 3] * volts**bulb
            bend = a * (2.0 * by_power + by_current) + b * (2.0 * lag_power + lag_current)
            slope = active - a * bend / square
            shunt[place] += slope
            constant[place] = active * a + (lag_power + lag_current) * b + slope * drop[place]

    def stand_across(self, drop: Reals, quadrature: Reals, shunt: Reals, constant: Reals) -> None:
        """Norton equivalents of the quadrature equations, linear once the magnitudes are held."""
        at, part, bulb = self.at, self.part, self.exponent - 1.0
        for draw in range(self.count):
            place, base = at[draw], PARTS * draw
            a, b = 1.0 - drop[place], quadrature[place]
            square = a * a + b * b
            volts = math.sqrt(square)
            active = part[base] / square + part[base + 1] / volts + part[base + 2]
            if part[base + 3]:
                active += part[base + 3] * volts**bulb
            shunt[place] += active
            constant[place] = (part[base + 4] / square + part[base + 5] / volts) * a

    def drawn(self, drop: Reals, quadrature: Reals, in_phase: Reals, across: Reals) -> None:
        """What the loads draw at given voltages, added to what is there. [W, per-unit]"""
        at, part, bulb = self.at, self.part, self.exponent - 1.0
        for draw in range(self.count):
            place, base = at[draw], PARTS * draw
            a, b = 1.0 - drop[place], quadrature[place]
            square = a * a + b * b
            volts = math.sqrt(square)
            active = part[base] / square + part[base + 1] / volts + part[base + 2]
            if part[base + 3]:
                active += part[base + 3] * volts**bulb
            lag = part[base + 4] / square + part[base + 5] / volts
            in_phase[place] += active * a + lag * b
            across[place] += lag * a - active * b

    def find_slopes(self, drop: Reals, quadrature: Reals, found: Reals) -> None:
        """Slopes of what is drawn in phase (p) and across (x), by drop and by quadrature, four a place.

        In phase ``C a + S b`` is drawn and across ``S a - C b``. [W, per-unit]
        """
        at, part, exponent, width = self.at, self.part, self.exponent, SLOPES
        for draw in range(self.count):
            base, slope = PARTS * draw, width * at[draw]
            a, b = 1.0 - drop[at[draw]], quadrature[at[draw]]
            square = a * a + b * b
            volts = math.sqrt(square)
            bulb = part[base + 3] * volts ** (exponent - 1.0) if part[base + 3] else 0.0
            by_power, by_current = part[base] / square, part[base + 1] / volts
            lag_power, lag_current = part[base + 4] / square, part[base + 5] / volts
            active, lag = by_power + by_current + part[base + 2] + bulb, lag_power + lag_current
            # By the square of the magnitude, which is what both depend on.
            bend = (-by_power - 0.5 * by_current + 0.5 * (exponent - 1.0) * bulb) / square
            lag_bend = (-lag_power - 0.5 * lag_current) / square
            found[slope] = -(active + 2.0 * a * (bend * a + lag_bend * b))
            found[slope + 1] = lag + 2.0 * b * (bend * a + lag_bend * b)
            found[slope + 2] = -(lag + 2.0 * a * (lag_bend * a - bend * b))
            found[slope + 3] = -active + 2.0 * b * (lag_bend * a - bend * b)

    def slopes(
        self, drop: Sequence[float], quadrature: Sequence[float]
    ) -> list[tuple[float, float, float, float]]:
        """The same by point: p by drop, p by quadrature, x by drop, x by quadrature."""
        plan, found = self.plan, zeros(SLOPES * self.plan.points)
        self.find_slopes(plan.by_place(drop), plan.by_place(quadrature), found)
        starts = [SLOPES * plan.place[point] for point in range(plan.points)]
        return [(found[each], found[each + 1], found[each + 2], found[each + 3]) for each in starts]
