"""The largest load that a cable carries, large networks, and inputs at the ends of their ranges."""

from __future__ import annotations

import random
from dataclasses import replace
from math import inf, isfinite, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.physics.load import Load, constant_power
from service.physics.network import Span
from service.physics.solve import NoOperatingPointError, OperatingPoint, solve
from tests.physics.networks import MESHES, TREES, Circuit, Shape, chain, current_a

REPEATABLE = settings(max_examples=400, derandomize=True, database=None, deadline=None)


def one_lamp(power_w: float, *, lag_var: float = 0.0) -> Circuit:
    return Circuit(2, (Span(0, 1, 0.25),), ((1, Load(power_w=power_w, non_active_var=lag_var)),))


def run_of_lamps(
    lamps: int, *, span_ohm: float = 0.03, power_w: float = 5.0, winding_ohm: float = 0.02
) -> Circuit:
    spans = tuple(Span(*pair, span_ohm) for pair in chain(lamps + 1, random.Random(0)))
    loads = tuple((point, constant_power(power_w)) for point in range(1, lamps + 1))
    return Circuit(lamps + 1, spans, loads, 12.48, winding_ohm)


def refusal(circuit: Circuit) -> NoOperatingPointError:
    with pytest.raises(NoOperatingPointError) as caught:
        solve(circuit.network())
    return caught.value


def test_lamp_just_below_the_limit_has_the_voltage_of_the_quadratic() -> None:
    # (12 + sqrt(144 - 143.9))/2, the upper root; half of the last digit shown is asked for.
    circuit = one_lamp(143.9)
    assert circuit.magnitudes(solve(circuit.network()))[1] == pytest.approx(6.158113883, abs=5e-10)


@pytest.mark.parametrize("beyond", [1e-6, 1e-5, 144.1 / 144.0 - 1.0, 0.01, 1.0, 1e3, 1e9])
def test_lamp_beyond_the_limit_is_refused_with_proof(beyond: float) -> None:
    assert refusal(one_lamp(144.0 * (1.0 + beyond))).proven


@pytest.mark.parametrize("short_of", [1e-6, 1e-5, 1e-3, 0.5])
def test_lamp_short_of_the_limit_is_solved(short_of: float) -> None:
    circuit = one_lamp(144.0 * (1.0 - short_of))
    expected_v = 6.0 + 6.0 * sqrt(short_of)
    assert circuit.magnitudes(solve(circuit.network()))[1] == pytest.approx(
        expected_v, abs=1e-8 / sqrt(short_of)
    )


@pytest.mark.parametrize("offset", [-1e-8, -1e-10, -1e-13, 0.0, 1e-13, 1e-10, 1e-8])
def test_lamp_at_the_limit_is_solved_near_half_the_voltage_or_refused(offset: float) -> None:
    circuit = one_lamp(144.0 * (1.0 + offset))
    try:
        volts = circuit.magnitudes(solve(circuit.network()))[1]
    except NoOperatingPointError:
        return
    assert volts == pytest.approx(6.0 + 6.0 * sqrt(max(0.0, -offset)), abs=1e-4)


@pytest.mark.parametrize("power_factor", [0.1, 0.3, 0.6, 0.9])
def test_lamp_with_non_active_power_is_carried_up_to_the_limit_of_the_quartic(power_factor: float) -> None:
    # |V|⁴ + |V|²(2RP - E²) + R²S² = 0 has a root while E² >= 2R(P + S): 288 VA of P + S at 12 V and 0.25 ohm.
    limit_va = 288.0 / (1.0 + power_factor)
    for share in (0.5, 0.9, 0.99, 0.9999, 1.0001, 1.01, 2.0, 100.0):
        power_w = share * limit_va * power_factor
        lamp = one_lamp(power_w, lag_var=share * limit_va * sqrt(1.0 - power_factor**2))
        if share > 1.0:
            assert not refusal(lamp).proven
        else:
            half = 72.0 - 0.25 * power_w
            expected_v = sqrt(half + sqrt(half**2 - (0.25 * share * limit_va) ** 2))
            assert lamp.magnitudes(solve(lamp.network()))[1] == pytest.approx(expected_v, abs=1e-7)


@pytest.mark.parametrize("lag_var", [4e2, 1e4, 1e6, 1e8])
def test_refusal_for_non_active_power_claims_no_proof(lag_var: float) -> None:
    # 288 var is the limit at 12 V and 0.25 ohm. The theorem behind a proof is for loads in phase alone.
    supplies = ((12.0, 0.25), (24.0, 0.5), (15.0, 1.7), (0.5, 3.0))
    for source_v, ohm in supplies:
        lamp = Circuit(2, (Span(0, 1, ohm),), ((1, Load(non_active_var=lag_var)),), source_v)
        if 2.0 * ohm * lag_var > source_v**2:
            assert not refusal(lamp).proven


def test_run_of_nineteen_lamps_is_carried_exactly_as_far_as_walking_it_backwards_allows() -> None:
    # Choose the last lamp's voltage and walk back to the source: that needs no solver. The run is carried
    # where some last voltage asks for no more than the open-circuit voltage, and its operating point is the
    # highest such.
    run = run_of_lamps(19)
    low, high = 0.0, 100.0
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if least_source_v(middle) <= run.source_v else (low, middle)
    assert 1.0 < low < 99.0
    for within in (1e-6, 1e-4, 1e-2):
        assert refusal(run.scaled(low * (1.0 + within))).proven
        lowest_v = run.magnitudes(solve(run.scaled(low * (1.0 - within)).network()))[-1]
        assert lowest_v > last_v_at_least_source(low)
        assert source_v_for(lowest_v, low * (1.0 - within)) == pytest.approx(run.source_v, abs=1e-7)


def source_v_for(last_v: float, factor: float) -> float:
    """Open-circuit voltage that gives the last of nineteen lamps `last_v`. [V]"""
    volts, current_a_ = last_v, 0.0
    for _ in range(19):
        current_a_ += 5.0 * factor / volts
        volts += 0.03 * current_a_
    return volts + 0.02 * current_a_


def last_v_at_least_source(factor: float) -> float:
    """The last lamp's voltage for which the open-circuit voltage is least, by golden section. [V]"""
    low, high, golden = 1e-3, 100.0, (sqrt(5.0) - 1.0) / 2.0
    while high - low > 1e-10:
        first, second = high - golden * (high - low), low + golden * (high - low)
        low, high = (
            (low, second) if source_v_for(first, factor) < source_v_for(second, factor) else (first, high)
        )
    return 0.5 * (low + high)


def least_source_v(factor: float) -> float:
    return source_v_for(last_v_at_least_source(factor), factor) if factor else 0.0


@pytest.mark.parametrize("loops", [0, 100])
@pytest.mark.parametrize("lag_var", [0.0, 0.02])
def test_two_thousand_lamps_are_solved(loops: int, lag_var: float) -> None:
    rng = random.Random(7)
    run = run_of_lamps(2000, span_ohm=2e-4, power_w=0.05, winding_ohm=0.01)
    ends = [rng.sample(range(2001), 2) for _ in range(loops)]
    spans = (*run.spans, *(Span(start, end, 2e-4 * abs(start - end)) for start, end in ends))
    loads = tuple((point, load._replace(non_active_var=lag_var)) for point, load in run.loads)
    circuit = replace(run, spans=spans, loads=loads)
    voltages = circuit.voltages(solve(circuit.network()))
    arriving = [(circuit.source_v - voltages[0]) / circuit.winding_ohm] + [0j] * 2000
    for start, end, ohm in circuit.spans:
        arriving[start] -= (voltages[start] - voltages[end]) / ohm
        arriving[end] += (voltages[start] - voltages[end]) / ohm
    for point, load in circuit.loads:
        arriving[point] -= current_a(load, voltages[point])
    # 1e-9 A, and the last bit of 12 V over two spans of 0.2 milliohm.
    assert max(abs(left) for left in arriving) < 1e-9 + 8 * 12.48 * 2.2e-16 / 2e-4
    assert min(abs(voltage) for voltage in voltages) > 6.0


EXTREME_LOADS = st.builds(
    Load,
    *(st.one_of(st.just(0.0), st.floats(-12.0, 8.0).map(lambda exponent: 10.0**exponent)) for _ in range(6)),
)
EXTREME_OHMS = st.floats(-9.0, 9.0).map(lambda exponent: 10.0**exponent)


@REPEATABLE
@given(
    st.integers(2, 12),
    st.randoms(use_true_random=False),
    st.sampled_from(TREES + MESHES),
    st.floats(-6.0, 2.0),
    st.data(),
)
def test_extreme_inputs_give_a_finite_answer_or_a_refusal(
    points: int, rng: random.Random, shape: Shape, exponent: float, choice: st.DataObject
) -> None:
    pairs = shape(points, rng)
    spans = tuple(Span(*pair, choice.draw(EXTREME_OHMS)) for pair in pairs)
    places = choice.draw(st.lists(st.integers(0, points - 1), max_size=4))
    loads = tuple((place, choice.draw(EXTREME_LOADS)) for place in places)
    winding_ohm = choice.draw(st.one_of(st.just(0.0), EXTREME_OHMS))
    assert_finite_or_refused(Circuit(points, spans, loads, 10.0**exponent, winding_ohm))


def assert_finite_or_refused(circuit: Circuit) -> None:
    try:
        point = solve(circuit.network())
    except NoOperatingPointError as refused:
        assert refused.iterations >= 1  # noqa: PT017  # either outcome is right, and the fixture has no name for that
        return
    assert all(isfinite(value) for value in (*point.drop, *point.quadrature, point.residual_a))
    assert max(point.drop) < 1.0
    assert max(excess_a(circuit, point)) <= 0.0


def excess_a(circuit: Circuit, point: OperatingPoint) -> list[float]:
    """How far Kirchhoff's law is beyond 1e-9 A and rounding at each point, in phase and across. [A]"""
    state = [complex(drop, -across) for drop, across in zip(point.drop, point.quadrature, strict=True)]
    winding_s = 1.0 / circuit.winding_ohm if circuit.winding_ohm else inf
    missing = [0j] * circuit.points
    gross = [0.0] * circuit.points
    missing[0], gross[0] = (
        (-state[0] * winding_s, abs(state[0]) * winding_s) if circuit.winding_ohm else (0j, inf)
    )
    for start, end, ohm in circuit.spans:
        for here, there in ((start, end), (end, start)):
            missing[here] += (state[there] - state[here]) / ohm
            gross[here] += (abs(state[here]) + abs(state[there])) / ohm
    excess = []
    for place in range(circuit.points):
        loads = [load for where, load in circuit.loads if where == place]
        drawn = sum((current_a(load, circuit.source_v * (1.0 - state[place])) for load in loads), 0j)
        left_a = abs(missing[place] * circuit.source_v + drawn)
        excess.append(left_a - 2e-9 - 1e-13 * (gross[place] * circuit.source_v + abs(drawn)))
    return excess
