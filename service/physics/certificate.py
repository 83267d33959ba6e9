"""How far a network is from the largest load that it can carry."""

from __future__ import annotations

from collections.abc import Callable

from service.physics.effort import STEP, count
from service.physics.elimination import Factor
from service.physics.network import TERMINAL, Network
from service.physics.solve import operating_point

MARGIN_CAP = 100.0
"""Factors of load above this are not told apart."""


MARGIN_PRECISION = 0.01
"""Width of the bracket at which the search for the largest factor stops. [relative]"""


def worst_open_circuit_drop(network: Network) -> float:
    r"""The largest drop if every load kept drawing its open-circuit current; the certificate's ξ.

    .. math:: \xi = \max_i \sum_j R_{ij} P_j / E^2

    ξ < 1/4 proves that exactly one operating point has every voltage at or above E/2, and that every voltage
    is at least :math:`E (1 + \sqrt{1 - 4\xi}) / 2`; ξ ≥ 1/4 proves nothing.

    Returns
    -------
    xi : float
        [-]

    References
    ----------
    .. [1] C. Wang, A. Bernstein, J.-Y. Le Boudec, M. Paolone, "Explicit conditions on existence and
    uniqueness of
       load-flow solutions in distribution networks", IEEE Trans. Smart Grid 9(2), 2018.
    """
    return max(open_circuit_drops(network))


def open_circuit_drops(network: Network) -> list[float]:
    """Drop at each point if every load kept drawing its open-circuit current. [per-unit], one per point"""
    return _unloaded(network).solve(network.open_circuit_draw())


def certified_margin(xi: float) -> float:
    """Common factor of all loads up to which an operating point is certain, capped. [-]"""
    return min(MARGIN_CAP, 0.25 / xi) if xi > 0.0 else MARGIN_CAP


def largest_factor(network: Network, holds: Callable[[Network], bool], *, certain: float) -> float:
    """Largest common factor of all loads for which a condition holds, from below, to 1 %.

    Parameters
    ----------
    network : Network
    holds : callable
        The condition; once it fails it must keep failing as the loads grow.
    certain : float
        A factor at which it is known to hold; zero if none is. [-]

    Returns
    -------
    factor : float
        The condition holds here; capped at 100. [-]
    """
    low, high = certain, min(MARGIN_CAP, max(1.0, 2.0 * certain))
    while holds(network.scaled(high)):
        if high >= MARGIN_CAP:
            return MARGIN_CAP
        low, high = high, min(MARGIN_CAP, 2.0 * high)
    while high - low > MARGIN_PRECISION * high and high > MARGIN_PRECISION**4:
        middle = 0.5 * (low + high)
        if holds(network.scaled(middle)):
            low = middle
        else:
            high = middle
    return low


def can_be_carried(network: Network) -> bool:
    """Whether the network has an operating point."""
    return operating_point(network) is not None


def short_circuit_resistances(network: Network) -> list[float]:
    """Resistance from the source to each point, all loads taken off. [1/W, per-unit], one per point"""
    return _unloaded(network).transfer_diagonal()


def _unloaded(network: Network) -> Factor:
    """The wiring with nothing drawn."""
    shunt = [0.0] * network.points
    shunt[TERMINAL] = network.supply_conductance
    held = not network.source_resistance
    count(STEP * network.effort)
    return Factor(network.plan, network.conductance, shunt, terminal_held=held)
