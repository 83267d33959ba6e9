"""What each limit compares, once for every study; a value that stands at its limit keeps it.

Values are compared unrounded, but for the last digits of what was solved or added up. A limit of None is not
known or was not set, and nothing breaks it.
"""

from __future__ import annotations

from service import tables

LAST_DIGITS = 1e-9
"""Twenty-five lamps of 0.2 A are 5 A, and not the few digits more that they add up to. [relative]"""


def beyond(value: float, limit: float) -> bool:
    """Whether a value that was solved or added up is over a limit, its last digits apart."""
    return value > limit * (1.0 + LAST_DIGITS)


def over_drop(drop_ratio: float, limit_ratio: float | None) -> bool:
    """Whether a cable drop is more than was allowed; both of the rated voltage. [-]"""
    return limit_ratio is not None and beyond(drop_ratio, limit_ratio)


def over_ampacity(current_a: float, ampacity_a: float | None) -> bool:
    """Whether one cable carries more than it may. [A]"""
    return ampacity_a is not None and beyond(current_a, ampacity_a)


def device_too_large(device_a: float, allowed_a: float | None) -> bool:
    """Whether an overcurrent device is larger than its conductor may stand behind. [A]"""
    return allowed_a is not None and device_a > allowed_a


def over_rating(ratio: float | None) -> bool:
    """Whether a supply, or the fullest of several circuits, is loaded beyond its rating. [-]"""
    return ratio is not None and beyond(ratio, 1.0)


def over_share(drawn_va: float, rating_va: float, maximum_ratio: float | None) -> bool:
    """Whether a supply is loaded to more of its rating than a request allows. [VA], [-]"""
    return maximum_ratio is not None and beyond(drawn_va, maximum_ratio * rating_va)


def below_minimum_load(real_w: float, minimum_w: float | None) -> bool:
    """Whether a supply delivers less than it asks for. [W]"""
    return minimum_w is not None and beyond(minimum_w, real_w)


def over_circuit(current_a: float, limit_a: float | None) -> bool:
    """Whether a circuit carries more than its device is rated for. [A]"""
    return limit_a is not None and beyond(current_a, limit_a)


def continuous_limit(limit_a: float) -> float:
    """What a device may carry of a continuous load, as lighting is. [A], or of 1 a share"""
    return tables.constant("continuous_load_ratio").value * limit_a


def near_circuit_limit(current_a: float, limit_a: float) -> bool:
    """Whether a circuit carries more than a continuous load may be. [A], or shares of 1"""
    return beyond(current_a, continuous_limit(limit_a))


def below_trip(short_a: float, limit_a: float | None) -> bool:
    """Whether a short draws less than its device is rated for. [A]"""
    return limit_a is not None and beyond(limit_a, short_a)
