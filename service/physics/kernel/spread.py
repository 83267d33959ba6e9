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


class Walk:
    """Where somebody stands who follows a curve.

    `reach` is how far from the end, `volts` the voltage there, `slope` how steeply it rises. [-]
    """

    def __init__(self, power_factor: float) -> None:
        self._real, self._square = power_factor, 1.0 - power_factor * power_factor
        self.reach, self.volts, self.slope = 0.0, 1.0, 0.0

    def root(self) -> float:
        """Square root of the burden of the stretch from here to the end. [-]"""
        return self.reach / self.volts

    def root_slope(self) -> float:
        """How fast that root grows with the reach; zero where the cable carries its most. [-]"""
        return (self.volts - self.reach * self.slope) / (self.volts * self.volts)

    def current_ratio(self) -> float:
        """Rms current into the cable, its two parts in quadrature, over what it would be undropped."""
        if self.reach == 0.0:
            return 1.0
        root = self.root()
        across = self._square * (root * root)
        return math.sqrt(self.slope * self.slope + across) * self.volts / self.reach

    def go(self, reach: float, volts: float, slope: float, step: float) -> None:
        """Go one step of the classical method of Runge and Kutta ahead of a place."""
        half, middle, far = 0.5 * step, reach + 0.5 * step, reach + step
        bend_1 = self._bend(reach, volts)
        slope_2 = slope + half * bend_1
        bend_2 = self._bend(middle, volts + half * slope)
        slope_3 = slope + half * bend_2
        bend_3 = self._bend(middle, volts + half * slope_2)
        slope_4 = slope + step * bend_3
        bend_4 = self._bend(far, volts + step * slope_3)
        self.reach = far
        self.volts = volts + step / 6.0 * (slope + 2.0 * slope_2 + 2.0 * slope_3 + slope_4)
        self.slope = slope + step / 6.0 * (bend_1 + 2.0 * bend_2 + 2.0 * bend_3 + bend_4)

    def find(self, reach: float, volts: float, slope: float, root: float) -> None:
        """Go from a place to that of a root at or behind it.

        The root bends downwards as it rises, so Newton's steps from below never pass it.
        """
        self.reach, self.volts, self.slope = reach, volts, slope
        step = 0.0
        for _ in range(MOST_STEPS):
            missing, rise = root - self.root(), self.root_slope()
            if abs(missing) <= CLOSE or rise <= 0.0:
                break
            step += missing / rise
            self.go(reach, volts, slope, step)

    def _bend(self, reach: float, volts: float) -> float:
        return self._real / volts + self._square * reach * reach / (volts * volts * volts)


class Curve:
    """The curve of one power factor, followed from the far end, where the voltage is 1, to its crest.

    Parameters
    ----------
    power_factor : float
        cos φ, real over apparent power. [-]
    """

    # Of each place on it, up to `_last`: what a `Walk` says there.

    def __init__(self, power_factor: float) -> None:
        self._power_factor = power_factor
        self._reach, self._volts = zeros(MOST_PLACES), zeros(MOST_PLACES)
        self._slope, self._root = zeros(MOST_PLACES), zeros(MOST_PLACES)
        self._volts[0], self._last = 1.0, 0
        self._follow(Walk(power_factor))

    def end(self, burden: float) -> tuple[float, float] | None:
        """Voltage and current at the far end of a cable with this burden, None where it is not carried. [-]

        The voltage is over that of the supply; the current into the cable over what would flow undropped.
        """
        root = math.sqrt(burden)
        if root > self._root[self._last]:
            return None
        # Of its own, because several may ask one curve at once.
        walk = Walk(self._power_factor)
        start = self._before(root)
        walk.find(self._reach[start], self._volts[start], self._slope[start], root)
        return 1.0 / walk.volts, walk.current_ratio()

    def _follow(self, walk: Walk) -> None:
        """Follow the curve from the end to the crest, place by place."""
        self._step(walk, STEP)
        while walk.root_slope() > 0.0:
            self._put(walk)
            self._step(walk, STEP)
        low, high = 0.0, STEP
        while high - low > CLOSE:
            middle = 0.5 * (low + high)
            self._step(walk, middle)
            if walk.root_slope() > 0.0:
                low = middle
            else:
                high = middle
        self._step(walk, low)
        self._put(walk)

    def _step(self, walk: Walk, step: float) -> None:
        """Go one step ahead of the last place."""
        walk.go(self._reach[self._last], self._volts[self._last], self._slope[self._last], step)

    def _put(self, walk: Walk) -> None:
        """Keep where somebody stands as the last place."""
        self._last += 1
        self._reach[self._last], self._volts[self._last] = walk.reach, walk.volts
        self._slope[self._last], self._root[self._last] = walk.slope, walk.root()

    def _before(self, root: float) -> int:
        """The last place whose root is not above a given one."""
        start, beyond = 0, self._last + 1
        while beyond - start > 1:
            middle = (start + beyond) // 2
            if self._root[middle] <= root:
                start = middle
            else:
                beyond = middle
        return start
