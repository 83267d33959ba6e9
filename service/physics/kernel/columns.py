"""What a solved circuit says of every point and every span, as columns."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from service.physics.kernel.vectors import COMPILED


def voltages(open_circuit_v: Sequence[float], drop: Sequence[float], across: Sequence[float]) -> list[float]:
    """Magnitude of the voltage at each point. [V]

    Parameters
    ----------
    open_circuit_v : sequence of float
        [V], one per point
    drop, across : sequence of float
        In-phase drop and quadrature part of the voltage. [per-unit], one per point
    """
    found = []
    for point in range(len(drop)):
        volts, upright, turn = open_circuit_v[point], 1.0 - drop[point], across[point]
        if turn:
            upright = math.sqrt(upright * upright + turn * turn)
        found.append(volts * upright)
    return found


def flows(
    spans: Sequence[tuple[Any, ...]],
    open_circuit_v: Sequence[float],
    drop: Sequence[float],
    across: Sequence[float],
    voltage_v: Sequence[float],
) -> tuple[list[float], list[float], list[float]]:
    """Rms current in each span, volts lost along it, both positive from its start to its end, and heat in it.

    Parameters
    ----------
    spans : sequence of (int, int, float, ...)
        Start, end and resistance. [ohm]
    open_circuit_v, drop, across : sequence of float
        As for `voltages`.
    voltage_v : sequence of float
        Of each point. [V]

    Returns
    -------
    current_a, drop_v, loss_w : list of float
        [A], [V], [W]
    """
    currents, drops, losses = [], [], []
    # The terminal has as many voltages as it has taps.
    upright, turn = 1.0 - drop[0], across[0]
    level = math.sqrt(upright * upright + turn * turn) if turn else upright
    for index in range(len(spans)):
        span = spans[index]
        start, end, ohm = span[0], span[1], span[2]
        fall, turn = drop[end] - drop[start], across[end] - across[start]
        size = math.sqrt(fall * fall + turn * turn) if turn else abs(fall)
        tap_v = open_circuit_v[end or start]
        current_a = tap_v * size / ohm
        currents.append(current_a if fall >= 0.0 else -current_a)
        start_v = voltage_v[start] if start else level * tap_v
        end_v = voltage_v[end] if end else level * tap_v
        drops.append(start_v - end_v)
        losses.append(current_a * current_a * ohm)
    return currents, drops, losses


def drawn(
    loads: Sequence[Sequence[float]], voltage_v: Sequence[float], exponent: float
) -> tuple[list[float], list[float]]:
    """Rms current and real power of each load at its voltage. [A], [W]

    Parameters
    ----------
    loads : sequence of sequence of float
        Each with its six parts in watts, amperes and so on.
    voltage_v : sequence of float
        [V], one per load
    exponent : float
        Current of a filament goes with this power of its voltage. [-]
    """
    currents, powers = [], []
    for index in range(len(loads)):
        load, volts = loads[index], voltage_v[index]
        power, filament = load[0], load[3]
        amps, siemens, lag_power, lag_amps = load[1], load[2], load[4], load[5]
        active, lag = power / volts + amps + siemens * volts, lag_power / volts + lag_amps
        if filament:
            active += filament * math.pow(volts, exponent)
        currents.append(math.sqrt(active * active + lag * lag) if lag else active)
        powers.append(active * volts)
    return currents, powers


CERTAIN = 0.499
"""A number nearer than this to a whole one has no other that is as near, whatever its last digits. [-]"""

LARGEST = 1e9
"""Up to here the last digits of a number are far below that."""


def rounded(values: Sequence[float], decimals: int) -> list[float]:
    """Each value to decimals, as `round` gives it.

    A whole number over a power of ten is the nearest there is to its decimals. What lies near the middle
    between two is left to `round` itself. A zero keeps its sign.
    """
    if not COMPILED:
        return [round(value, decimals) for value in values]
    scale, found = 10.0**decimals, []
    for index in range(len(values)):
        value = values[index]
        nearest = math.floor(value * scale + 0.5)
        if abs(nearest) < LARGEST and abs(value * scale - nearest) < CERTAIN:
            found.append(math.copysign(nearest / scale, value))
        else:
            found.append(round(values[index], decimals))
    return found
