"""One cable behind an ideal supply: what a load of constant power gets at its far end.

Nothing here has a unit. A cable of resistance R, a load of apparent power S and a supply of E make one
number, the burden R S / E²; it decides the voltage at the end as a share of E, whatever the three are.
"""

from __future__ import annotations

from bisect import bisect_right
from functools import lru_cache
from math import sqrt
from typing import NamedTuple

STEP = 1.0 / 128.0
"""How far one step of the integration goes along the cable; halving it moves no end by 1e-8. [-]"""

CLOSE = 1e-13
"""How near the place on the curve must be found. [-]"""

MOST_STEPS = 60


class EndState(NamedTuple):
    """A load that is carried.

    Parameters
    ----------
    voltage_ratio : float
        Voltage at the far end over the open-circuit voltage. [-]
    current_ratio : float
        Rms current into the cable over what the load would draw if nothing were lost. [-]
    """

    voltage_ratio: float
    current_ratio: float


def lumped_end(burden: float, *, power_factor: float) -> EndState | None:
    r"""All of the load at the far end; None where the cable cannot carry it.

    .. math:: v^2 = \tfrac12 \left[1 - 2 k \cos\varphi + \sqrt{(1 - 2 k \cos\varphi)^2 - 4 k^2}\right]

    Parameters
    ----------
    burden : float
        k = R S / E². [-]
    power_factor : float
        cos φ, real over apparent power. [-]

    Notes
    -----
    For a power factor of 1 this is V = [E + √(E² − 4 R P)] / 2, the upper root of V² − E V + R P = 0.

    Examples
    --------
    A quarter is the most that a resistance passes on at unity power factor: half of the voltage is left then.

    >>> lumped_end(0.25, power_factor=1.0)
    EndState(voltage_ratio=0.5, current_ratio=2.0)
    >>> lumped_end(0.26, power_factor=1.0) is None
    True
    """
    rest = 1.0 - 2.0 * burden * power_factor
    # Written as a product, because at unity power factor the difference of the squares loses the last digits.
    under_root = (rest - 2.0 * burden) * (rest + 2.0 * burden)
    if rest < 0.0 or under_root < 0.0:
        return None
    voltage_ratio = sqrt(0.5 * (rest + sqrt(under_root)))
    return EndState(voltage_ratio, 1.0 / voltage_ratio)


class _Place(NamedTuple):
    """A place on the curve, seen from the far end, where the voltage is 1 and does not slope.

    `reach` is how far from the end, `volts` the voltage there, `slope` how steeply it rises. [-]
    """

    reach: float
    volts: float
    slope: float

    @property
    def root(self) -> float:
        """Square root of the burden of the stretch from here to the end. [-]"""
        return self.reach / self.volts

    @property
    def root_slope(self) -> float:
        """How fast that root grows with the reach; zero where the cable carries its most. [-]"""
        return (self.volts - self.reach * self.slope) / (self.volts * self.volts)


class EvenSpread:
    r"""A load spread evenly and without gaps from the supply to the far end.

    Along such a cable the voltage bends as V'' = r s / V*, with r and s per length. Seen from the far end, in
    units of the voltage there, all cables lie on one curve, so it is followed once for each power factor:

    .. math:: y'' = \frac{\cos\varphi}{y} + \frac{\sin^2\!\varphi\,\xi^2}{y^3}, \quad y(0) = 1, \; y'(0) = 0

    and the burden of the stretch up to ξ is (ξ/y)². It rises to a crest, the most that can be carried.

    Parameters
    ----------
    power_factor : float
        cos φ, real over apparent power. [-]

    Notes
    -----
    At unity power factor the curve has a closed form: burden = 2 D(u)², voltage ratio = exp(−u²), with
    Dawson's integral D. The tests hold the two together to 1e-8.
    """

    __slots__ = ("_places", "_real", "_roots", "_square")

    def __init__(self, power_factor: float) -> None:
        self._real = power_factor
        self._square = 1.0 - power_factor * power_factor
        self._places = self._followed()
        self._roots = [place.root for place in self._places]

    def end(self, burden: float) -> EndState | None:
        """The far end of a cable with this burden; None where it cannot carry its load. [-]"""
        root = sqrt(burden)
        if root > self._roots[-1]:
            return None
        start = self._places[bisect_right(self._roots, root) - 1]
        place = self._found(start, root)
        return EndState(1.0 / place.volts, self._current_ratio(place))

    def _followed(self) -> list[_Place]:
        """The curve from the end to the crest, place by place."""
        places = [_Place(0.0, 1.0, 0.0)]
        while (ahead := self._ahead(places[-1], STEP)).root_slope > 0.0:
            places.append(ahead)
        low, high = 0.0, STEP
        while high - low > CLOSE:
            middle = 0.5 * (low + high)
            rises = self._ahead(places[-1], middle).root_slope > 0.0
            low, high = (middle, high) if rises else (low, middle)
        return [*places, self._ahead(places[-1], low)]

    def _found(self, start: _Place, root: float) -> _Place:
        """The place of a root at or behind a place before it.

        The root bends downwards as it rises, so Newton's steps from below never pass it.
        """
        place, step = start, 0.0
        for _ in range(MOST_STEPS):
            missing = root - place.root
            if abs(missing) <= CLOSE or place.root_slope <= 0.0:
                break
            step += missing / place.root_slope
            place = self._ahead(start, step)
        return place

    def _current_ratio(self, place: _Place) -> float:
        """Rms current into the cable, its two parts in quadrature, over what it would be undropped."""
        if place.reach == 0.0:
            return 1.0
        across = self._square * (place.reach / place.volts) ** 2
        return sqrt(place.slope * place.slope + across) * place.volts / place.reach

    def _ahead(self, place: _Place, step: float) -> _Place:
        """One step of the classical method of Runge and Kutta."""
        reach, volts, slope = place
        half, middle, far = 0.5 * step, reach + 0.5 * step, reach + step
        bend_1 = self._bend(reach, volts)
        slope_2 = slope + half * bend_1
        bend_2 = self._bend(middle, volts + half * slope)
        slope_3 = slope + half * bend_2
        bend_3 = self._bend(middle, volts + half * slope_2)
        slope_4 = slope + step * bend_3
        bend_4 = self._bend(far, volts + step * slope_3)
        return _Place(
            far,
            volts + step / 6.0 * (slope + 2.0 * slope_2 + 2.0 * slope_3 + slope_4),
            slope + step / 6.0 * (bend_1 + 2.0 * bend_2 + 2.0 * bend_3 + bend_4),
        )

    def _bend(self, reach: float, volts: float) -> float:
        return self._real / volts + self._square * reach * reach / (volts * volts * volts)


@lru_cache(maxsize=32)
def even_spread(power_factor: float) -> EvenSpread:
    """The curve of a power factor, followed once. [-]"""
    return EvenSpread(power_factor)
