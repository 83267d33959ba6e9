"""One cable behind an ideal supply, against closed forms, lumps and another solver."""

from math import exp, sqrt

import pytest

from service.physics.end_voltage import even_spread, lumped_end
from service.physics.load import constant_power
from service.physics.network import Span, build_network
from service.physics.solve import solve

FACTORS = (0.05, 0.3, 0.7, 0.9, 1.0)

CREST = 0.9241388730
"""Where Dawson's integral is greatest, 0.5410442246 (Abramowitz and Stegun 1964, 7.1.17, from memory)."""


def dawson(x: float) -> float:
    """Dawson's integral by its series, sum of (−2)^n x^(2n+1) / (2n+1)!! (Abramowitz and Stegun, 7)."""
    term, total, n = x, 0.0, 0
    while abs(term) > 1e-18:
        total += term
        n += 1
        term *= -2.0 * x * x / (2 * n + 1)
    return total


def trapezoid(burden: float, power_factor: float, lumps: int) -> tuple[float, float]:
    """A spread load as lumps, half of one at either end, by a fixed point on complex voltages; E = R = 1."""
    power = burden * complex(power_factor, sqrt(1.0 - power_factor**2)) / lumps
    shares = [0.5, *[1.0] * (lumps - 1), 0.5]
    volts = [1.0 + 0j] * (lumps + 1)
    moved = 1.0
    while moved > 1e-14:
        drawn = [(power * share / at).conjugate() for share, at in zip(shares, volts, strict=True)]
        flowing, here, after = sum(drawn) - drawn[0], 1.0 + 0j, [1.0 + 0j]
        for own in drawn[1:]:
            here -= flowing / lumps
            flowing -= own
            after.append(here)
        moved = max(abs(new - old) for new, old in zip(after, volts, strict=True))
        volts = after
    return abs(volts[-1]), abs(sum(drawn)) / burden


@pytest.mark.parametrize("burden", [0.0, 1e-9, 0.01, 0.1, 0.2, 0.2499])
def test_a_lumped_load_at_unity_power_factor_gets_the_upper_root_of_the_quadratic(burden: float) -> None:
    end = lumped_end(burden, power_factor=1.0)
    assert end is not None
    assert end.voltage_ratio == pytest.approx((1.0 + sqrt(1.0 - 4.0 * burden)) / 2.0, abs=1e-12)


@pytest.mark.parametrize("power_factor", FACTORS)
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_a_lumped_load_agrees_with_the_network_solver(power_factor: float, share: float) -> None:
    burden = share / (2.0 * (1.0 + power_factor))
    load = constant_power(burden * 144.0 * power_factor, apparent_va=burden * 144.0)
    point = solve(build_network([12.0] * 2, [Span(0, 1, 1.0)], [(1, load)]))
    end = lumped_end(burden, power_factor=power_factor)
    assert end is not None
    volts = abs(complex(1.0 - point.drop[1], point.quadrature[1]))
    assert end.voltage_ratio == pytest.approx(volts, abs=1e-9)
    assert end.current_ratio == pytest.approx(1.0 / volts, abs=1e-9)


@pytest.mark.parametrize("power_factor", FACTORS)
def test_a_lumped_load_collapses_where_the_cable_passes_on_its_most(power_factor: float) -> None:
    # Matched load: |Z| = R, so S = E² / (2 R (1 + cos φ)); a quarter of E²/R at unity power factor.
    most = 1.0 / (2.0 * (1.0 + power_factor))
    assert lumped_end(most * (1.0 - 1e-9), power_factor=power_factor) is not None
    assert lumped_end(most * (1.0 + 1e-9), power_factor=power_factor) is None


@pytest.mark.parametrize("part", [0.001, 0.1, 0.3, 0.6, 0.9, 0.99, 0.999])
def test_a_spread_load_follows_dawsons_integral(part: float) -> None:
    u = CREST * part
    end = even_spread(1.0).end(2.0 * dawson(u) ** 2)
    assert end is not None
    assert end.voltage_ratio == pytest.approx(exp(-u * u), abs=1e-8)


def test_a_spread_load_collapses_at_the_crest_of_dawsons_integral() -> None:
    most = 2.0 * 0.5410442246**2
    assert even_spread(1.0).end(most * (1.0 - 1e-8)) is not None
    assert even_spread(1.0).end(most * (1.0 + 1e-8)) is None


@pytest.mark.parametrize("power_factor", FACTORS)
@pytest.mark.parametrize("burden", [0.01, 0.2, 0.4])
def test_a_spread_load_is_where_fine_lumps_go(power_factor: float, burden: float) -> None:
    coarse, fine = trapezoid(burden, power_factor, 200), trapezoid(burden, power_factor, 400)
    # The error falls with the square of the number of lumps, so a third of the difference is left.
    volts, current = ((4.0 * after - before) / 3.0 for before, after in zip(coarse, fine, strict=True))
    end = even_spread(power_factor).end(burden)
    assert end is not None
    assert end.voltage_ratio == pytest.approx(volts, abs=1e-9)
    assert end.current_ratio == pytest.approx(current, abs=1e-9)


@pytest.mark.parametrize("burden", [0.0, 5e-324, 1e-12])
def test_a_cable_without_burden_loses_nothing(burden: float) -> None:
    end = even_spread(1.0).end(burden)
    assert end is not None
    assert end == pytest.approx((1.0, 1.0), abs=1e-11)


@pytest.mark.parametrize("power_factor", FACTORS)
def test_a_spread_load_gets_more_than_a_lumped_one_and_less_as_it_grows(power_factor: float) -> None:
    before = 1.0
    for step in range(1, 24):
        spread = even_spread(power_factor).end(step / 100.0)
        lumped = lumped_end(step / 100.0, power_factor=power_factor)
        assert spread is not None
        assert lumped is not None
        assert lumped.voltage_ratio < spread.voltage_ratio < before
        before = spread.voltage_ratio
