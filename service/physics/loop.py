"""What an ohmmeter shows at the supply's end of a cable whose far conductors are joined."""

from __future__ import annotations

from typing import NamedTuple

from service.physics.effort import count
from service.physics.elimination import Factor
from service.physics.network import TERMINAL, Network

STEP = 6
"""Operations of one step of an elimination and its right-hand side."""


class LoopResistance(NamedTuple):
    """The resistance of a loop [ohm], and what it changes by per logarithm of each span's ohms. [ohm]"""

    ohm: float
    by_span: list[float]


def loop_resistance(network: Network, point: int) -> LoopResistance:
    """Resistance between the two conductors at the terminal, joined at a point, nothing drawing.

    One ampere from the terminal to the point divides over parallel ways as in any resistive network, and the
    resistance is the sum of R i² over the spans, so that its derivative by ln R is R i² of that span.

    Parameters
    ----------
    network : Network
    point : int
        Where the conductors are joined.
    """
    if point == TERMINAL:
        return LoopResistance(0.0, [0.0] * len(network.spans))
    count(STEP * network.effort)
    factor = Factor(network.plan, network.conductance, [0.0] * network.points, terminal_held=True)
    right = [0.0] * network.points
    right[point] = 1.0
    potential = factor.solve(right)
    by_span = []
    for start, end, ohm in network.spans:
        volts = network.open_circuit_v[end or start]
        current = (potential[start] - potential[end]) * volts * volts / ohm
        by_span.append(ohm * current * current)
    return LoopResistance(sum(by_span), by_span)
