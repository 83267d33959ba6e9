"""Columns of the kernel against Python's own arithmetic, one value at a time."""

import random
from math import inf, isclose, nan

import pytest

from service.physics.kernel.columns import drawn, flows, rounded, voltages
from service.physics.load import FILAMENT_EXPONENT, Load, filament
from service.physics.network import Span


def values() -> list[float]:
    """Of every size; some in the middle between two, some next to it, zeros of both signs."""
    rng = random.Random(4)
    found = [rng.choice((-1, 1)) * 10.0 ** rng.uniform(-12, 20) for _ in range(20_000)]
    found += [rng.randint(-(10**6), 10**6) / 2.0 ** rng.randint(0, 20) for _ in range(20_000)]
    middles = [(rng.randint(-(10**6), 10**6) + 0.5) / 10.0 ** rng.randint(0, 6) for _ in range(20_000)]
    found += [middle * (1.0 + rng.choice((-1, 0, 1)) * 2.0**-52) for middle in middles]
    return [*found, 0.0, -0.0, 1e-300, -1e-300, 1e300]


@pytest.mark.parametrize("decimals", [0, 3, 4, 5, 6])
def test_a_column_is_rounded_as_each_of_its_values_is(decimals: int) -> None:
    column = values()
    assert list(map(repr, rounded(column, decimals))) == [repr(round(value, decimals)) for value in column]


def test_what_is_no_number_stays_so() -> None:
    assert list(map(repr, rounded([inf, -inf, nan], 3))) == ["inf", "-inf", "nan"]


def test_currents_drops_and_heat_are_those_of_ohms_law() -> None:
    spans = [Span(0, 1, 0.1), Span(2, 1, 0.2)]
    drop, across = [0.01, 0.05, 0.07], [0.0, 0.01, 0.02]
    open_v = [12.0, 12.0, 12.0]
    at_v = voltages(open_v, drop, across)
    current_a, drop_v, loss_w = flows(spans, open_v, drop, across, at_v)
    phasors = [12.0 * complex(1.0 - fall, turn) for fall, turn in zip(drop, across, strict=True)]
    for index, (start, end, ohm) in enumerate(spans):
        amps = abs(phasors[start] - phasors[end]) / ohm
        assert isclose(abs(current_a[index]), amps)
        assert isclose(loss_w[index], amps * amps * ohm)
        assert isclose(drop_v[index], abs(phasors[start]) - abs(phasors[end]))
    assert [amps > 0.0 for amps in current_a] == [True, False]


def test_what_lamps_draw_is_what_each_draws_alone() -> None:
    loads = [
        Load(4.0, 0.2, 0.03, 0.1, 2.0, 0.1),
        Load(5.0),
        filament(20.0, rated_v=12.0),
        Load(current_a=1.0),
    ]
    at_v = [11.0, 10.5, 9.0, 12.0]
    current_a, real_w = drawn(loads, at_v, FILAMENT_EXPONENT)
    for load, volts, amps, watts in zip(loads, at_v, current_a, real_w, strict=True):
        assert isclose(amps, load.rms_current(volts))
        assert isclose(watts, load.real_power(volts))
