"""The least that lamps draw while none is too low: a bound on what any passing choice of cables can do.

A filament or a resistor draws more at a higher voltage, so that more copper may lower a neighbour, and a
choice cannot be given up because a thicker one fails. But a choice passes only if every lamp is at the lowest
voltage of its window at least, and then it draws at least its current there. With that current held, more
copper can lower nothing on a tree, and every voltage is at least what it is in truth.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.physics.load import FILAMENT_EXPONENT

if TYPE_CHECKING:
    from service.physics.load import Load
    from service.studies.connected import Connected


def least_loads(connected: Connected) -> list[tuple[int, Load]]:
    """What hangs at each point, no part of it drawing more at a higher voltage."""
    layout = connected.layout
    by_fixture = layout.loads_by_fixture(all_in_phase=connected.job.all_in_phase)
    loads = []
    for placed, hung in zip(layout.fixtures, by_fixture, strict=True):
        # A lamp at the terminal itself is referred to another voltage than its own: nought is less as well.
        low_v = connected.bounds(placed.line).low_v if placed.lamp_point else 0.0
        loads += [(point, held(load, low_v)) for point, load in hung]
    return loads


def held(load: Load, voltage_v: float) -> Load:
    """A load whose resistor and filament keep the current that they draw at a voltage. [V]"""
    held_a = load.conductance_s * voltage_v + load.filament_a * voltage_v**FILAMENT_EXPONENT
    return load._replace(current_a=load.current_a + held_a, conductance_s=0.0, filament_a=0.0)
