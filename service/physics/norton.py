"""What stands in for the loads in one step of the search.

At the voltage a + jb a load draws ``C a + S b`` in phase and ``C b - S a`` across. C and S are its active and
non-active current over the magnitude of its voltage; constant non-active power Q makes S = Q/|V|², which is
the load P + jQ of an alternating-current power flow.

For one step each load is replaced by its Norton equivalent, a shunt beside a constant current, so that the
step is a linear circuit whose answer is the new drop itself: no flow is subtracted from another on the way.
"""

from __future__ import annotations

from math import sqrt

from service.physics.load import FILAMENT_EXPONENT
from service.physics.network import TERMINAL, Network

Values = list[float]


Norton = tuple[Values, Values]
"""Shunts and constant currents. [W, per-unit], one per point each"""


def active_equivalents(network: Network, drop: Values) -> Norton:
    """Norton equivalents at given drops where nothing is drawn out of phase.

    Constant power is replaced by its tangent, a filament by its chord through the origin: both draw less than
    the load itself at any lower voltage, so a step cannot overshoot.

    Parameters
    ----------
    network : Network
    drop : list of float
        Below 1 everywhere. [per-unit], one per point
    """
    shunt, constant = _unloaded(network)
    for point, power, current, conductance, filament, _, _ in network.draws:
        volts = 1.0 - drop[point]
        slope = power / (volts * volts)
        fixed = conductance
        if filament:
            fixed += filament * volts ** (FILAMENT_EXPONENT - 1.0)
        shunt[point] = shunt[point] + fixed - slope
        constant[point] = current + fixed + slope * (volts - drop[point])
    return shunt, constant


def in_phase_equivalents(network: Network, drop: Values, quadrature: Values) -> Norton:
    """Norton equivalents of the in-phase equations, the quadrature voltages held.

    Parameters
    ----------
    network : Network
    drop : list of float
        In-phase drop, below 1 everywhere. [per-unit], one per point
    quadrature : list of float
        Quadrature voltage. [per-unit], one per point
    """
    shunt, constant = _unloaded(network)
    for point, power, current, conductance, filament, var, var_current in network.draws:
        a, b = 1.0 - drop[point], quadrature[point]
        square = a * a + b * b
        volts = sqrt(square)
        by_power, by_current = power / square, current / volts
        lag_power, lag_current = var / square, var_current / volts
        active = by_power + by_current + conductance
        if filament:
            active += filament * volts ** (FILAMENT_EXPONENT - 1.0)
        bend = a * (2.0 * by_power + by_current) + b * (2.0 * lag_power + lag_current)
        slope = active - a * bend / square
        shunt[point] += slope
        constant[point] = active * a + (lag_power + lag_current) * b + slope * drop[point]
    return shunt, constant


def quadrature_equivalents(network: Network, drop: Values, quadrature: Values) -> Norton:
    """Norton equivalents of the quadrature equations, linear once the magnitudes of the voltages are held.

    The parameters are those of `in_phase_equivalents`.
    """
    shunt, constant = _unloaded(network)
    for point, power, current, conductance, filament, var, var_current in network.draws:
        a, b = 1.0 - drop[point], quadrature[point]
        square = a * a + b * b
        volts = sqrt(square)
        active = power / square + current / volts + conductance
        if filament:
            active += filament * volts ** (FILAMENT_EXPONENT - 1.0)
        shunt[point] += active
        constant[point] = (var / square + var_current / volts) * a
    return shunt, constant


def _unloaded(network: Network) -> Norton:
    """The winding, and nothing drawn."""
    shunt = [0.0] * network.points
    shunt[TERMINAL] = network.supply_conductance
    return shunt, [0.0] * network.points
