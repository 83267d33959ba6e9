"""The curve that all cables with an evenly spread load lie on; its equation stands in `end_voltage`."""

from __future__ import annotations

import math

from service.physics.kernel.vectors import zeros

STEP = 1.0 / 128.0
"""How far one step of the integration goes along the cable; halving it moves no end by 1e-8. [-]"""

CLOSE = 1e-13
"""How near the place on the curve must be found. [-]"""

MOST_STEPS = 60


MOST_PLACES = 300
"""The crest lies 1.80 from the end at unity power factor, nearer at any other: 232 places at most. [-]"""


class Curve:
    """The curve of one power factor, followed from the far end, where the voltage is 1, to its crest.

    Parameters
    ----------
    power_factor : float
        cos φ, real over apparent power. [-]
    """

    # Of each place on it: `_reach`, how far from the end, `_volts`, the voltage there, `_slope`, how steeply
    # it rises, and `_root`, the square root of the burden of the stretch from there to the end. [-]

    def __init__(self, power_factor: float) -> None:
        self._real = power_factor
        self._square = 1.0 - power_factor * power_factor
        self._reach, self._volts = zeros(MOST_PLACES), zeros(MOST_PLACES)
        self._slope, self._root = zeros(MOST_PLACES), zeros(MOST_PLACES)
        self._volts[0] = 1.0
        self._follow()

    def end(self, burden: float) -> tuple[float, float] | None:
        """Voltage and current at the far end of a cable with this burden, None where it is not carried. [-]

        The voltage is over that of the supply; the current into the cable over what would flow undropped.
        """
        root = math.sqrt(burden)
        if root > self._root[self._last]:
            return None
        self._find(root)
        return 1.0 / self._here_volts, self._current_ratio()

    def _follow(self) -> None:
        """Follow the curve from the end to the crest, place by place."""
        self._last = 0
        while self._rises(self._last, STEP):
            self._put()
        low, high = 0.0, STEP
        while high - low > CLOSE:
            middle = 0.5 * (low + high)
            if self._rises(self._last, middle):
                low = middle
            else:
                high = middle
        self._go(self._last, low)
        self._put()

    def _put(self) -> None:
        """Keep where we are as the last place."""
        self._last += 1
        self._reach[self._last], self._volts[self._last] = self._here_reach, self._here_volts
        self._slope[self._last] = self._here_slope
        self._root[self._last] = self._here_reach / self._here_volts

    def _rises(self, place: int, step: float) -> bool:
        """Whether the burden still grows one step ahead of a place."""
        self._go(place, step)
        return self._root_slope() > 0.0

    def _root_slope(self) -> float:
        """How fast the root grows with the reach where we are; zero where the cable carries its most. [-]"""
        volts = self._here_volts
        return (volts - self._here_reach * self._here_slope) / (volts * volts)

    def _find(self, root: float) -> None:
        """Go to the place of a root.

        The root bends downwards as it rises, so Newton's steps from below never pass it.
        """
        start, beyond = 0, self._last + 1
        while beyond - start > 1:
            middle = (start + beyond) // 2
            if self._root[middle] <= root:
                start = middle
            else:
                beyond = middle
        self._here_reach, self._here_volts = self._reach[start], self._volts[start]
        self._here_slope = self._slope[start]
        step = 0.0
        for _ in range(MOST_STEPS):
            missing, rise = root - self._here_reach / self._here_volts, self._root_slope()
            if abs(missing) <= CLOSE or rise <= 0.0:
                break
            step += missing / rise
            self._go(start, step)

    def _current_ratio(self) -> float:
        """Rms current into the cable, its two parts in quadrature, over what it would be undropped."""
        reach, volts, slope = self._here_reach, self._here_volts, self._here_slope
        if reach == 0.0:
            return 1.0
        root = reach / volts
        return math.sqrt(slope * slope + self._square * (root * root)) * volts / reach

    def _go(self, place: int, step: float) -> None:
        """Go one step of the classical method of Runge and Kutta ahead of a place."""
        reach, volts, slope = self._reach[place], self._volts[place], self._slope[place]
        half, middle, far = 0.5 * step, reach + 0.5 * step, reach + step
        bend_1 = self._bend(reach, volts)
        slope_2 = slope + half * bend_1
        bend_2 = self._bend(middle, volts + half * slope)
        slope_3 = slope + half * bend_2
        bend_3 = self._bend(middle, volts + half * slope_2)
        slope_4 = slope + step * bend_3
        bend_4 = self._bend(far, volts + step * slope_3)
        self._here_reach = far
        self._here_volts = volts + step / 6.0 * (slope + 2.0 * slope_2 + 2.0 * slope_3 + slope_4)
        self._here_slope = slope + step / 6.0 * (bend_1 + 2.0 * bend_2 + 2.0 * bend_3 + bend_4)

    def _bend(self, reach: float, volts: float) -> float:
        return self._real / volts + self._square * reach * reach / (volts * volts * volts)
