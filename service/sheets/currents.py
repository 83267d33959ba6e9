"""Currents that do the work: the watts that pass a point, over the volts there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.sheets.figures import said

if TYPE_CHECKING:
    from collections.abc import Sequence

    from service.messages.voltage_drop import FixtureRow
    from service.sheets.network import Network


def passing_w(network: Network, fixtures: Sequence[FixtureRow]) -> list[float]:
    """What passes each point outwards: the lamps there and behind it, and the heat of cable behind it. [W]

    It is told for every point but means nothing where a span of a loop leads into it: there the watts arrive
    on two ways.
    """
    passing = [0.0] * len(network.names)
    for row, lamp in zip(fixtures, network.lamps, strict=True):
        if lamp is not None:
            passing[lamp] += (said(row.count) or 1) * row.real_power.value
    for leg in network.closing:
        passing[leg.end] += leg.row.loss.value
    for point in reversed(network.order()):
        index = network.into[point]
        if index is not None:
            leg = network.legs[index]
            passing[leg.start if leg.end == point else leg.end] += passing[point] + leg.row.loss.value
    return passing


def rest_v(ohm: float, current_a: float, active_a: float, before_v: float) -> float:
    """What the current out of phase adds to the volts lost, because it turns the voltage. [V]

    The voltage before is the hypotenuse over the voltage left with the drop in phase, and the drop out of
    phase; to first order that is the square of the latter over twice the voltage before.
    """
    across_squared = ohm * ohm * max(0.0, current_a * current_a - active_a * active_a)
    return across_squared / (2.0 * before_v) if before_v > 0.0 else 0.0
