"""Every limit is compared in one place: at the limit it is kept, beyond its last digits it is broken."""

from collections.abc import Callable
from math import inf, nextafter

import pytest

from service.circuit.limits import (
    EXACTLY,
    above_voltage,
    below_minimum_load,
    below_trip,
    beyond,
    class_2_current_a,
    device_too_large,
    near_circuit_limit,
    over_ampacity,
    over_circuit,
    over_drop,
    over_rating,
    over_share,
    rated_too_low,
    too_far,
)
from service.circuit.windows import WindowBounds, farthest_above, farthest_below, usual_bounds

UPPER: dict[Callable[[float, float], bool], float] = {
    over_drop: 0.1,
    over_ampacity: 20.0,
    device_too_large: 15.0,
    over_circuit: 25.0,
    above_voltage: 30.0,
    too_far: 50.0,
}

EXACT: dict[Callable[[float, float], bool], float] = {
    device_too_large: 15.0,
    above_voltage: 30.0,
    too_far: 50.0,
    lambda current_a, limit_a: over_circuit(current_a, limit_a, EXACTLY): 25.0,
    lambda least, value: rated_too_low(value, least): 150.0,
}
"""What is held to its limit to the last digit."""

STATED = WindowBounds(9.0, 10.0, 13.0, "caller", stated=True)


@pytest.mark.parametrize("breaks", UPPER)
def test_a_value_at_an_upper_limit_keeps_it(breaks: Callable[[float, float], bool]) -> None:
    limit = UPPER[breaks]
    assert not breaks(limit, limit)
    assert breaks(limit * (1.0 + 2e-9), limit)


@pytest.mark.parametrize("breaks", EXACT)
def test_what_is_stated_is_held_to_the_last_digit(breaks: Callable[[float, float], bool]) -> None:
    limit = EXACT[breaks]
    assert not breaks(limit, limit)
    assert breaks(nextafter(limit, inf), limit)


def test_what_is_added_up_may_be_over_by_its_last_digits() -> None:
    for breaks in (over_drop, over_ampacity, over_circuit):
        assert not breaks(nextafter(20.0, inf), 20.0)


def test_the_farthest_fixture_outside_its_window_is_found_and_of_equals_the_first() -> None:
    windows = [STATED] * 4
    assert farthest_below(windows, [10.0, 9.9, 8.0, 8.0]) == 2
    assert farthest_below(windows, [10.0, 9.9, 9.0, 9.5], dim=True) is None
    assert farthest_below(windows, [10.0, 9.9, 9.0, 8.9], dim=True) == 3
    assert farthest_above(windows, [13.0, 13.1, 13.1, 12.0]) == 1
    assert farthest_above(windows, [13.0, 1.0, 2.0, 12.0]) is None


def test_a_class_2_source_gives_five_amperes_to_20_volts_and_100_voltamperes_above() -> None:
    # NEC chapter 9, table 11(A): 5 A to 20 V, 100/V A above, from memory.
    assert class_2_current_a(20.0) == 5.0
    assert class_2_current_a(nextafter(20.0, inf)) == pytest.approx(5.0)
    assert class_2_current_a(25.0) == pytest.approx(4.0)


@pytest.mark.parametrize("amperes", [0.1, 0.2, 0.7, 1.1])
def test_many_lamps_that_add_up_to_a_limit_keep_it(amperes: float) -> None:
    """Ten thousand equal terms in binary are off by some 1e-13 of their sum, and a solved state by 1e-10."""
    added = sum(amperes for _ in range(10_000))
    assert added != 10_000 * amperes
    assert not beyond(added, 10_000 * amperes)
    assert not beyond(10_000 * amperes, added)
    assert not beyond(added * (1.0 + 5e-10), 10_000 * amperes)
    assert beyond(added * (1.0 + 2e-9), 10_000 * amperes)


def test_nothing_is_within_a_limit_of_nothing() -> None:
    assert not beyond(0.0, 0.0)
    assert beyond(1e-12, 0.0)


def test_a_share_of_a_rating_may_be_used_up() -> None:
    # Three quarters of 60 VA are 45 VA, however the sum was rounded.
    assert not over_share(nextafter(45.0, inf), 60.0, 0.75)
    assert over_share(45.0 * (1.0 + 2e-9), 60.0, 0.75)
    assert not over_share(1e6, 60.0, None)


def test_a_supply_may_be_loaded_to_its_rating() -> None:
    """The last digits of a solved state are not over it: 100 VA may be solved as 100.00000000000001."""
    assert not over_rating(1.0)
    assert not over_rating(nextafter(1.0, inf))
    assert over_rating(1.000000002)


def test_a_supply_that_delivers_its_minimum_delivers_enough() -> None:
    assert not below_minimum_load(10.0, 10.0)
    assert not below_minimum_load(nextafter(10.0, 0.0), 10.0)
    assert below_minimum_load(10.0 * (1.0 - 2e-9), 10.0)


def test_a_short_that_draws_what_its_device_is_rated_for_may_trip_it() -> None:
    assert not below_trip(25.0, 25.0)
    assert not below_trip(nextafter(25.0, 0.0), 25.0)
    assert below_trip(25.0 * (1.0 - 2e-9), 25.0)


def test_what_is_not_known_is_not_broken() -> None:
    assert not over_drop(1.0, None)
    assert not over_ampacity(1e6, None)
    assert not device_too_large(1e6, None)
    assert not below_trip(0.0, None)
    assert not too_far(1e6, None)
    assert not over_rating(None)
    assert not below_minimum_load(0.0, None)


def test_a_continuous_load_may_be_four_fifths_of_its_device() -> None:
    # Common practice, no published source; as a share of the fullest circuit it is the same four fifths.
    assert not near_circuit_limit(20.0, 25.0)
    assert not near_circuit_limit(nextafter(20.0, inf), 25.0)
    assert near_circuit_limit(20.01, 25.0)
    assert not near_circuit_limit(0.8, 1.0)
    assert near_circuit_limit(0.81, 1.0)


@pytest.mark.parametrize(
    ("volts", "verdict"),
    [(8.99, "below"), (9.0, "low"), (9.99, "low"), (10.0, "inside"), (13.0, "inside"), (13.01, "above")],
)
def test_a_window_holds_its_own_edges(volts: float, verdict: str) -> None:
    assert STATED.verdict(volts) == verdict
    assert STATED.is_low(volts) == (volts < 10.0)
    assert STATED.is_above(volts) == (volts > 13.0)


@pytest.mark.parametrize("bounds", [STATED, usual_bounds("led", 12.0), usual_bounds("strip", 24.0)])
def test_a_window_is_judged_alike_by_all_who_ask(bounds: WindowBounds) -> None:
    edges = (bounds.lowest_v, bounds.low_v, bounds.highest_v)
    for volts in (
        *edges,
        *(nextafter(edge, 0.0) for edge in edges),
        *(nextafter(edge, inf) for edge in edges),
    ):
        verdict = bounds.verdict(volts)
        assert bounds.is_above(volts) == (verdict == "above")
        assert bounds.is_low(volts) == (verdict in {"below", "low"})


def test_a_strip_is_judged_by_its_far_end_unless_only_its_start_is_too_high() -> None:
    assert STATED.judged_v(13.0, 11.0) == 11.0
    assert STATED.judged_v(13.5, 11.0) == 13.5
    assert STATED.judged_v(13.5, 9.5) == 9.5
