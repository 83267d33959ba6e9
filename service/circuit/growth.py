"""Whether a network stands near its collapse, and what asking costs."""

from __future__ import annotations

from collections.abc import Callable

from service.circuit.work import charged, work_of
from service.physics.certificate import can_be_carried, certified_margin, worst_open_circuit_drop
from service.physics.network import Network

GROWTH_WATCHED = 1.25
"""A network that cannot carry this many times its load is said to be near collapse. [-]"""


def paid(holds: Callable[[Network], bool]) -> Callable[[Network], bool]:
    """A condition that costs the work of the state that it solves."""

    def held(network: Network) -> bool:
        with charged(work_of(network.effort)):
            return holds(network)

    return held


def certain_growth(network: Network) -> float:
    """By what factor every load of a network that was solved may grow for certain, 1 at least. [-]"""
    return max(1.0, certified_margin(worst_open_circuit_drop(network)))


def is_near_collapse(network: Network, *, certain: float) -> bool:
    """Whether a network cannot carry its load with some growth; solved where `certain` leaves it open."""
    return certain < GROWTH_WATCHED and not paid(can_be_carried)(network.scaled(GROWTH_WATCHED))
