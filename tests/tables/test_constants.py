"""Single figures and mains ranges."""

from __future__ import annotations

from typing import get_args

import pytest

from service.tables import NotListedError, constant, mains_range, source
from service.wire.conditions import MainsRange


def test_filament_exponent_raises_power_as_lamp_rerating_says() -> None:
    # Power goes with V times I. The same public article gives 1.5 to 1.6 for power.
    assert 1.5 <= 1 + constant("filament_current_exponent").value <= 1.6


def test_class_2_bands_meet_at_20_volt() -> None:
    # NEC chapter 9 table 11(A), from memory: 5.0 A and 5.0 times Vmax below, 100 VA above.
    edge = constant("class_2_lower_band_voltage").value
    below = constant("class_2_lower_band_apparent_power_per_volt").value * edge
    above = constant("class_2_upper_band_apparent_power").value
    assert below == above
    assert above / edge == constant("class_2_lower_band_current").value


def test_continuous_load_is_the_reciprocal_of_125_per_cent() -> None:
    # NEC 210.20(A) asks a device of 125 % of the continuous load, from memory.
    assert constant("continuous_load_ratio").value == pytest.approx(1 / 1.25)
    assert source(constant("continuous_load_ratio").source).known == "trade-practice"


@pytest.mark.parametrize(
    ("name", "value", "unit"),
    [
        # NEC 411.1 (2017, 2020), seen restated in a public quiz.
        ("wet_contact_ac", 15, "V"),
        ("wet_contact_dc", 30, "V"),
        # NEC 411.2 (2005 to 2011), seen on a trade magazine's page.
        ("secondary_circuit_limit", 25, "A"),
    ],
)
def test_limits_of_low_voltage_lighting_are_those_of_nec_411(name: str, value: float, unit: str) -> None:
    assert (constant(name).value, constant(name).unit) == (value, unit)


def test_default_windows_nest_around_their_nominal_voltage_and_are_called_practice() -> None:
    # Common practice, no published source.
    names = ("led_fault_below", "led_warning_below", "window_nominal_voltage", "led_fault_above")
    values = [constant(name).value for name in names]
    assert values == sorted(set(values))
    assert constant("led_warning_below").value < constant("filament_fault_below").value
    assert constant("filament_fault_above").value < constant("led_fault_above").value
    assert {source(constant(name).source).known for name in names} == {"trade-practice"}


@pytest.mark.parametrize(
    ("name", "lowest_ratio", "highest_ratio"),
    [
        # ANSI C84.1 range A: service ±5 % seen on a maker's page; utilisation from 110 V is from memory.
        ("service", 0.95, 1.05),
        ("outlet", 110 / 120, 1.05),
        # From memory: the newer edition of ANSI C84.1 was not seen.
        ("outlet-108", 0.9, 1.05),
        # EN 50160: 207 to 253 V of 230 V.
        ("en-50160", 207 / 230, 253 / 230),
    ],
)
def test_mains_ranges_are_shares_of_the_nominal(name: str, lowest_ratio: float, highest_ratio: float) -> None:
    mains = mains_range(name)
    assert mains.lowest_ratio == pytest.approx(lowest_ratio)
    assert mains.highest_ratio == pytest.approx(highest_ratio)


def test_every_range_that_a_request_may_name_is_in_the_table() -> None:
    names = get_args(MainsRange)
    assert [mains_range(name).name for name in names] == list(names)
    assert source(mains_range("outlet-108").source).known == "memory"


def test_an_unknown_constant_is_refused_with_the_known_ones() -> None:
    with pytest.raises(
        NotListedError, match=r'no constant "led_fault"\. Use one of: filament_current_exponent'
    ):
        constant("led_fault")
