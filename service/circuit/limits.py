"""What each limit compares, once for every study; a value that stands at its limit keeps it.

Values are compared unrounded, but for the last digits of a solved state against a rating. A limit of None is
not known or was not set, and nothing breaks it.
"""

from __future__ import annotations

from service import tables


def over_drop(drop_ratio: float, limit_ratio: float | None) -> bool:
    """Whether a cable drop is more than was allowed; both of the rated voltage. [-]"""
    return limit_ratio is not None and drop_ratio > limit_ratio


def over_ampacity(current_a: float, ampacity_a: float | None) -> bool:
    """Whether one cable carries more than it may. [A]"""
    return ampacity_a is not None and current_a > ampacity_a


def device_too_large(device_a: float, allowed_a: float | None) -> bool:
    """Whether an overcurrent device is larger than its conductor may stand behind. [A]"""
    return allowed_a is not None and device_a > allowed_a


SOLVED_DECIMALS = 9
"""Of a share worked out from a solved state: 100 VA solved as the next float above load 100 VA fully."""


def over_rating(ratio: float | None) -> bool:
    """Whether a supply, or the fullest of several circuits, is loaded beyond its rating. [-]"""
    return ratio is not None and round(ratio, SOLVED_DECIMALS) > 1.0


def below_minimum_load(real_w: float, minimum_w: float | None) -> bool:
    """Whether a supply delivers less than it asks for. [W]"""
    return minimum_w is not None and real_w < minimum_w


def over_circuit(current_a: float, limit_a: float | None) -> bool:
    """Whether a circuit carries more than its device is rated for. [A]"""
    return limit_a is not None and current_a > limit_a


def continuous_limit(limit_a: float) -> float:
    """What a device may carry of a continuous load, as lighting is. [A], or of 1 a share"""
    return tables.constant("continuous_load_ratio").value * limit_a


def near_circuit_limit(current_a: float, limit_a: float) -> bool:
    """Whether a circuit carries more than a continuous load may be. [A], or shares of 1"""
    return current_a > continuous_limit(limit_a)
