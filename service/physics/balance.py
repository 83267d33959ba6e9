"""Kirchhoff's current law at every point of a network: what the loads draw there and what is left over."""

from __future__ import annotations

from math import sqrt

from service.physics.load import FILAMENT_EXPONENT
from service.physics.network import TERMINAL, Network
from service.physics.norton import Values


def drawn(network: Network, drop: Values, quadrature: Values) -> tuple[Values, Values]:
    """What the loads draw at given voltages, in phase and across. [W, per-unit], one per point each"""
    in_phase, across = [0.0] * len(drop), [0.0] * len(drop)
    for point, power, current, conductance, filament, var, var_current in network.draws:
        a, b = 1.0 - drop[point], quadrature[point]
        square = a * a + b * b
        volts = sqrt(square)
        active = power / square + current / volts + conductance
        if filament:
            active += filament * volts ** (FILAMENT_EXPONENT - 1.0)
        lag = var / square + var_current / volts
        in_phase[point] = active * a + lag * b
        across[point] = lag * a - active * b
    return in_phase, across


def residual_a(
    network: Network, values: Values, draws: Values, *, limit_a: float, rounding: float
) -> float | None:
    """Largest residual over the points if each is within its bound, else None. [A]

    The bound is `limit_a` [A] plus `rounding` [-] times the currents that cancel there. The terminal of
    an ideal supply has no residual: its equation only says what the supply delivers.
    """
    missing = list(draws)
    missing[TERMINAL] -= network.supply_conductance * values[TERMINAL]
    for a, b, conductance in network.links:
        flow = conductance * (values[a] - values[b])
        missing[a] -= flow
        missing[b] += flow
    if not network.source_resistance:
        missing[TERMINAL] = 0.0
    left_a = [abs(part) / volts for part, volts in zip(missing, network.open_circuit_v, strict=True)]
    # Asked of each point and not of the largest, because the largest of a list may hide a NaN in it.
    if not all(left <= limit_a for left in left_a):
        bounds = zip(left_a, _gross(network, values, draws), network.open_circuit_v, strict=True)
        if not all(left <= limit_a + rounding * gross / volts for left, gross, volts in bounds):
            return None
    return max(left_a)


def _gross(network: Network, values: Values, draws: Values) -> Values:
    """Sum of the magnitudes of the currents at each point. [W, per-unit], one per point"""
    gross = [abs(part) for part in draws]
    gross[TERMINAL] += network.supply_conductance * abs(values[TERMINAL])
    for a, b, conductance in network.links:
        flow = conductance * (abs(values[a]) + abs(values[b]))
        gross[a] += flow
        gross[b] += flow
    return gross
