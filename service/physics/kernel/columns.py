"""What a solved circuit says of every point and every span, as columns."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any


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


def currents(
    spans: Sequence[tuple[Any, ...]],
    open_circuit_v: Sequence[float],
    drop: Sequence[float],
    across: Sequence[float],
) -> list[float]:
    """Rms current in each span, positive from its start to its end. [A]

    Parameters
    ----------
    spans : sequence of (int, int, float, ...)
        Start, end and resistance. [ohm]
    open_circuit_v, drop, across : sequence of float
        As for `voltages`.
    """
    found = []
    for index in range(len(spans)):
        span = spans[index]
        start, end, ohm = span[0], span[1], span[2]
        fall, turn = drop[end] - drop[start], across[end] - across[start]
        size = math.sqrt(fall * fall + turn * turn) if turn else abs(fall)
        current_a = open_circuit_v[end or start] * size / ohm
        found.append(current_a if fall >= 0.0 else -current_a)
    return found
