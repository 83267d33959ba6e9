"""Circuits whose answer needs no solver of ours: closed forms, fractions, rows on which four engines agree.

The quadratic of one constant-power load and its limit P = E²/4R are the maximum-power-transfer theorem of any
circuit textbook. The constant-power ladder is manufactured: its answer is chosen, the source worked out.
"""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import pytest

from service.physics.certificate import can_be_carried, largest_factor
from service.physics.certificate import worst_open_circuit_drop as certificate_xi
from service.physics.load import Load, constant_current, constant_power, constant_resistance
from service.physics.network import Network, Span, build_network
from service.physics.solve import NoOperatingPointError, solve
from tests.physics.networks import lowest_voltage_certified
from tests.physics.published import volts

Edge = tuple[int, int, float]


def one_load(source_v: float, loop_ohm: float, load: Load) -> Network:
    return build_network([source_v] * 2, [Span(0, 1, loop_ohm)], [(1, load)])


@pytest.mark.parametrize(
    ("source_v", "loop_ohm", "power_w", "end_v"),
    # V = (E + sqrt(E² - 4RP))/2 worked out to the digits shown; the tolerance is half of the last.
    [
        (12.6, 0.4, 50.0, 10.737341546),
        (12.6, 0.4, 80.0, 9.073084925),
        (12.0, 0.25, 60.0, 10.582575695),
        (15.0, 0.5, 100.0, 10.0),
        (24.0, 0.6, 120.0, 20.485281374),
        (12.0, 0.25, 143.9, 6.158113883),
    ],
)
def test_one_constant_power_load_sits_at_the_upper_root_of_its_quadratic(
    source_v: float, loop_ohm: float, power_w: float, end_v: float
) -> None:
    assert volts(one_load(source_v, loop_ohm, constant_power(power_w)))[1] == pytest.approx(
        end_v, abs=5.1e-10
    )


@pytest.mark.parametrize(
    ("source_v", "loop_ohm", "power_w", "current_a", "cable_loss_w"),
    [(12.6, 0.4, 50.0, 4.656646134, 8.673741), (15.0, 0.5, 100.0, 10.0, 50.0)],
)
def test_one_constant_power_load_draws_and_heats_as_its_quadratic_says(
    source_v: float, loop_ohm: float, power_w: float, current_a: float, cable_loss_w: float
) -> None:
    end_v = volts(one_load(source_v, loop_ohm, constant_power(power_w)))[1]
    through_a = (source_v - end_v) / loop_ohm
    assert through_a == pytest.approx(current_a, abs=5.1e-10)
    assert constant_power(power_w).rms_current(end_v) == pytest.approx(current_a, abs=5.1e-10)
    assert loop_ohm * through_a**2 == pytest.approx(cable_loss_w, abs=5.1e-7)


def test_load_above_the_existence_limit_is_refused_with_proof() -> None:
    # 12 V behind 0.25 ohm carries 144 W at most; 144.1 W is 0.07 % more.
    with pytest.raises(NoOperatingPointError) as refusal:
        solve(one_load(12.0, 0.25, constant_power(144.1)))
    assert refusal.value.proven


@pytest.mark.parametrize("short_ratio", [1e-1, 1e-3, 1e-5])
def test_operating_point_exists_up_to_e_squared_over_four_r_and_not_beyond(short_ratio: float) -> None:
    most_w = 12.6**2 / (4.0 * 0.4)
    below = one_load(12.6, 0.4, constant_power(most_w * (1.0 - short_ratio)))
    # V/E = (1 + sqrt(short))/2; an error in the last bit of P is magnified by 1/sqrt(short) at the nose.
    assert volts(below)[1] / 12.6 == pytest.approx(0.5 * (1.0 + sqrt(short_ratio)), abs=1e-12)
    with pytest.raises(NoOperatingPointError):
        solve(one_load(12.6, 0.4, constant_power(most_w * (1.0 + short_ratio))))


@pytest.mark.parametrize("short_ratio", [1e-2, 1e-4, 1e-6])
def test_half_of_the_source_power_heats_the_cable_at_the_nose(short_ratio: float) -> None:
    power_w = 12.6**2 / (4.0 * 0.4) * (1.0 - short_ratio)
    end_v = volts(one_load(12.6, 0.4, constant_power(power_w)))[1]
    loss_w = (12.6 - end_v) ** 2 / 0.4
    # The share is (1 - sqrt(short))/2, which tends to one half as the load tends to its limit.
    assert loss_w / (loss_w + power_w) == pytest.approx(0.5, abs=0.5 * sqrt(short_ratio) * (1.0 + 1e-6))


def test_drop_of_a_tenth_takes_thirty_six_hundredths_of_the_largest_load() -> None:
    # P/Pmax = 4 x (1 - x) at the drop x.
    assert volts(one_load(10.0, 1.0, constant_power(0.36 * 25.0)))[1] == pytest.approx(9.0, abs=1e-12)


def test_certificate_is_exact_for_one_load() -> None:
    # With one load the bound of Wang, Bernstein, Le Boudec and Paolone (2018) is the upper root itself.
    network = one_load(15.0, 0.5, constant_power(100.0))
    xi = certificate_xi(network)
    assert xi == pytest.approx(0.5 * 100.0 / 15.0**2, abs=1e-15)
    assert 15.0 * lowest_voltage_certified(xi) == pytest.approx(10.0, abs=1e-12)


def test_largest_factor_of_one_load_is_within_one_percent_below_its_limit() -> None:
    # 144 W at most; the search promises a factor that still holds, to 1 %.
    factor = largest_factor(one_load(12.0, 0.25, constant_power(60.0)), can_be_carried, certain=1.0)
    assert 0.99 * 2.4 <= factor <= 2.4


@pytest.mark.parametrize(("power_w", "apparent_va"), [(48.0, 48.0), (48.0, 60.0), (48.0, 80.0)])
def test_constant_power_with_a_power_factor_solves_the_two_bus_biquadratic(
    power_w: float, apparent_va: float
) -> None:
    # Two-bus power flow through a resistance R: V^4 - (E² - 2RP) V² + R²S² = 0, upper root; any power-flow
    # textbook.
    source_v, loop_ohm = 12.6, 0.25
    middle = source_v**2 - 2.0 * loop_ohm * power_w
    expected_v = sqrt(0.5 * (middle + sqrt(middle**2 - (2.0 * loop_ohm * apparent_va) ** 2)))
    load = constant_power(power_w, apparent_va=apparent_va)
    assert volts(one_load(source_v, loop_ohm, load))[1] == pytest.approx(expected_v, abs=1e-9)


def test_constant_current_with_a_power_factor_closes_its_voltage_triangle() -> None:
    # 5 A at 0.8 through 0.25 ohm leaves (V + 1.00) in phase and 0.75 across; V is chosen, E follows.
    source_v = sqrt((12.5125 + 1.0) ** 2 + 0.75**2)
    load = constant_current(5.0, power_factor=0.8)
    assert volts(one_load(source_v, 0.25, load))[1] == pytest.approx(12.5125, abs=1e-9)


def test_manufactured_constant_power_ladder_comes_back_as_it_was_made() -> None:
    # Chosen: 11 V at the end, 10 W at each of five points, 0.05 ohm a span; walked back to the source.
    chosen_v = [11.675417170, 11.451776576, 11.271797329, 11.136176581, 11.045454545, 11.0]
    made_v, current_a = [11.0], 0.0
    for _ in range(5):
        current_a += 10.0 / made_v[0]
        made_v.insert(0, made_v[0] + 0.05 * current_a)
    spans = [Span(at, at + 1, 0.05) for at in range(5)]
    found_v = volts(build_network([made_v[0]] * 6, spans, [(at, constant_power(10.0)) for at in range(1, 6)]))
    assert found_v == pytest.approx(made_v, abs=1e-12)
    assert found_v == pytest.approx(chosen_v, abs=5.1e-10)
    assert (found_v[0] - found_v[1]) / 0.05 == pytest.approx(4.472811887, abs=5.1e-10)


SPAN_OHM = 2.0 * 1.98 / 304.8 * 10.0
"""Ten metres of 12 AWG at 1.98 ohm/kft (NEC chapter 9 table 8, stranded, 75 °C), both conductors. [ohm]"""


def garden(load: Load, *, ring: bool) -> Network:
    """Three points, ten metres apart, on 12.6 V behind 0.02 ohm; the ring adds a fourth span back."""
    spans = [Span(0, 1, SPAN_OHM), Span(1, 2, SPAN_OHM), Span(2, 3, SPAN_OHM)]
    if ring:
        spans.append(Span(3, 0, SPAN_OHM))
    loads = [(at, load) for at in (1, 2, 3)]
    return build_network([12.6] * 4, spans, loads, source_resistance=0.02 / 12.6**2)


# Values on which four engines agree to every digit shown: power-grid-model 1.12.110, pandapower 3.5.6,
# OpenDSS (dss-python 0.15.7, vminpu lowered to 0.01) and a dense Newton solver; ngspice 39.3 on the
# constant-power rows.
@pytest.mark.parametrize(
    ("ring", "load", "expected_v", "source_a"),
    [
        (False, constant_power(20.0), [12.494908, 11.812224, 11.349518, 11.115757], 5.254598),
        (False, constant_current(20.0 / 12.0), [12.500000, 11.850394, 11.417323, 11.200787], 5.000000),
        (
            False,
            constant_resistance(20.0, rated_v=12.0),
            [12.503850, 11.879254, 11.469014, 11.265728],
            4.807499,
        ),
        (True, constant_power(20.0), [12.501187, 12.180239, 12.072623, 12.180239], 4.940649),
        (True, constant_current(20.0 / 12.0), [12.500000, 12.175197, 12.066929, 12.175197], 5.000000),
    ],
)
def test_garden_agrees_with_values_on_which_four_engines_agree(
    *, ring: bool, load: Load, expected_v: list[float], source_a: float
) -> None:
    found_v = volts(garden(load, ring=ring))
    assert found_v == pytest.approx(expected_v, abs=5e-7)
    # The voltages settle the current; 1e-12 V of the source's 0.02 ohm is far below its last digit.
    assert (12.6 - found_v[0]) / 0.02 == pytest.approx(source_a, abs=5e-7)


def test_garden_that_four_engines_refuse_is_refused() -> None:
    # 3 x 80 W: power-grid-model and pandapower raise, OpenDSS reports no convergence, ngspice finds none.
    with pytest.raises(NoOperatingPointError) as refusal:
        solve(garden(constant_power(80.0), ring=False))
    assert refusal.value.proven


def exact_voltages(
    source_v: float, source_ohm: float, edges: list[Edge], current_a: list[float], conductance_s: list[float]
) -> list[Fraction]:
    """Nodal equations by Gauss-Jordan elimination in fractions; every float is taken at its exact value."""
    size = len(current_a)
    rows = [[Fraction(0)] * (size + 1) for _ in range(size)]
    for a, b, ohms in edges:
        siemens = 1 / Fraction(ohms)
        for here, there in ((a, b), (b, a)):
            rows[here][here] += siemens
            rows[here][there] -= siemens
    for at in range(size):
        rows[at][at] += Fraction(conductance_s[at])
        rows[at][size] -= Fraction(current_a[at])
    rows[0][0] += 1 / Fraction(source_ohm)
    rows[0][size] += Fraction(source_v) / Fraction(source_ohm)
    for pivot in range(size):
        rows[pivot] = [entry / rows[pivot][pivot] for entry in rows[pivot]]
        for other in range(size):
            if other != pivot and rows[other][pivot]:
                factor = rows[other][pivot]
                rows[other] = [x - factor * y for x, y in zip(rows[other], rows[pivot], strict=True)]
    return [row[size] for row in rows]


LADDER = [(at, at + 1, 0.03 + 0.01 * at) for at in range(7)]
LADDER_CLOSED = [*LADDER, (7, 0, 0.11), (2, 6, 0.04)]
STEADY_A = [0.0, 0.3, 0.5, 0.25, 1.5, 0.0, 0.7, 1.1]
SHUNT_S = [0.0, 0.02, 0.0, 0.05, 0.01, 0.1, 0.03, 0.08]
NOTHING = [0.0] * 8


@pytest.mark.parametrize("edges", [LADDER, LADDER_CLOSED], ids=["ladder", "ladder with two loops"])
@pytest.mark.parametrize(
    ("current_a", "conductance_s"),
    [(STEADY_A, NOTHING), (NOTHING, SHUNT_S), (STEADY_A, SHUNT_S)],
    ids=["constant current", "constant resistance", "both"],
)
def test_linear_loads_agree_with_elimination_in_exact_fractions(
    edges: list[Edge], current_a: list[float], conductance_s: list[float]
) -> None:
    exact_v = exact_voltages(12.6, 0.02, edges, current_a, conductance_s)
    loads = [
        (at, Load(current_a=current_a[at], conductance_s=conductance_s[at]))
        for at in range(8)
        if current_a[at] or conductance_s[at]
    ]
    spans = [Span(*edge) for edge in edges]
    network = build_network([12.6] * 8, spans, loads, source_resistance=0.02 / 12.6**2)
    # Ten roundings of 12.6 V; its last bit is 1.8e-15 V.
    assert volts(network) == pytest.approx([float(exact) for exact in exact_v], abs=2e-14)
