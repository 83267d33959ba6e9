"""What each limit compares, once for every study; a value that stands at its limit keeps it.

Values are compared unrounded. What was solved or added up may be over a limit by its last digits; what a
request states, and the voltage of a fixture, is held to its limit exactly. A limit of None is not known or
was not set, and nothing breaks it. The window of a fixture stands in `windows.py`, which compares with these.
"""

from __future__ import annotations

from service import tables

LAST_DIGITS = 1e-9
"""Twenty-five lamps of 0.2 A are 5 A, and not the few digits more that they add up to. [relative]"""

EXACTLY = 0.0
"""No digit is left out of a comparison. [relative]"""


def beyond(value: float, limit: float, slack: float = LAST_DIGITS) -> bool:
    """Whether a value is over a limit, its last digits apart or exactly. `slack`: [relative]"""
    return value > limit * (1.0 + slack)


def short_of(value: float, least: float, slack: float = LAST_DIGITS) -> bool:
    """Whether a value is below the least that it may be, last digits apart or exactly. `slack`: [relative]"""
    return least > value * (1.0 + slack)


def over_drop(drop_ratio: float, limit_ratio: float | None) -> bool:
    """Whether a cable drop is more than was allowed; both of the rated voltage. [-]"""
    return limit_ratio is not None and beyond(drop_ratio, limit_ratio)


def over_ampacity(current_a: float, ampacity_a: float | None) -> bool:
    """Whether one cable carries more than it may. [A]"""
    return ampacity_a is not None and beyond(current_a, ampacity_a)


def device_too_large(device_a: float, allowed_a: float | None) -> bool:
    """Whether an overcurrent device is larger than its conductor may stand behind. [A]"""
    return allowed_a is not None and beyond(device_a, allowed_a, EXACTLY)


def below_trip(short_a: float, device_a: float | None) -> bool:
    """Whether a short draws less than the rating of its overcurrent device, which may then never trip. [A]"""
    return device_a is not None and short_of(short_a, device_a)


def above_voltage(voltage_v: float, limit_v: float) -> bool:
    """Whether a supply stands above a limit on its voltage without load. [V]"""
    return beyond(voltage_v, limit_v, EXACTLY)


def too_far(distance_m: float, limit_m: float | None) -> bool:
    """Whether a run reaches farther than the maker of its supply allows. [m]"""
    return limit_m is not None and beyond(distance_m, limit_m, EXACTLY)


def over_rating(ratio: float | None) -> bool:
    """Whether a supply, or the fullest of several circuits, is loaded beyond its rating. [-]"""
    return ratio is not None and beyond(ratio, 1.0)


def over_share(drawn_va: float, rating_va: float, maximum_ratio: float | None) -> bool:
    """Whether a supply is loaded to more of its rating than a request allows. [VA], [-]"""
    return maximum_ratio is not None and beyond(drawn_va, maximum_ratio * rating_va)


def rated_too_low(rating_va: float, wanted_va: float) -> bool:
    """Whether a plate shows less than is wanted by other plates. [VA]"""
    return short_of(rating_va, wanted_va, EXACTLY)


def below_minimum_load(real_w: float, minimum_w: float | None) -> bool:
    """Whether a supply delivers less than it asks for. [W]"""
    return minimum_w is not None and short_of(real_w, minimum_w)


def over_circuit(current_a: float, limit_a: float | None, slack: float = LAST_DIGITS) -> bool:
    """Whether a circuit carries more than its device is rated for. [A], [relative]"""
    return limit_a is not None and beyond(current_a, limit_a, slack)


def class_2_current_a(highest_v: float) -> float:
    """Largest nameplate current of a Class 2 source whose highest voltage is this. [V] -> [A]"""
    if not above_voltage(highest_v, tables.constant("class_2_lower_band_voltage").value):
        return tables.constant("class_2_lower_band_current").value
    return tables.constant("class_2_upper_band_apparent_power").value / highest_v


def continuous_limit(limit_a: float) -> float:
    """What a device may carry of a continuous load, as lighting is. [A], or of 1 a share"""
    return tables.constant("continuous_load_ratio").value * limit_a


def near_circuit_limit(current_a: float, limit_a: float) -> bool:
    """Whether a circuit carries more than a continuous load may be. [A], or shares of 1"""
    return beyond(current_a, continuous_limit(limit_a))
