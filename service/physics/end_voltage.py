"""One cable behind an ideal supply: what a load of constant power gets at its far end.

Nothing here has a unit. A cable of resistance R, a load of apparent power S and a supply of E make one
number, the burden R S / E²; it decides the voltage at the end as a share of E, whatever the three are.
"""

from __future__ import annotations

from functools import lru_cache
from math import sqrt
from typing import NamedTuple

from service.physics.kernel.spread import Curve


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

    __slots__ = ("_curve",)

    def __init__(self, power_factor: float) -> None:
        self._curve = Curve(power_factor)

    def end(self, burden: float) -> EndState | None:
        """The far end of a cable with this burden; None where it cannot carry its load. [-]"""
        found = self._curve.end(burden)
        return None if found is None else EndState(*found)


@lru_cache(maxsize=32)
def even_spread(power_factor: float) -> EvenSpread:
    """The curve of a power factor, followed once. [-]"""
    return EvenSpread(power_factor)
