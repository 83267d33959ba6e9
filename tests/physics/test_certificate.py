"""The certificate: what the worst open-circuit drop promises, and the search for the largest load.

The condition is that of Wang, Bernstein, Le Boudec and Paolone, "Explicit conditions on existence and
uniqueness of load-flow solutions in distribution networks", IEEE Trans. Smart Grid 9(2), 2018. Dense inverses
are numpy's.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.physics.certificate import (
    MARGIN_CAP,
    can_be_carried,
    certified_margin,
    largest_factor,
    short_circuit_resistances,
    worst_open_circuit_drop,
)
from service.physics.load import constant_power
from service.physics.network import Network, Span
from service.physics.solve import solve
from tests.physics.networks import Circuit, circuits, lowest_voltage_certified, random_circuits

REPEATABLE = settings(max_examples=150, derandomize=True, database=None, deadline=None)


def one_lamp(power_w: float) -> Circuit:
    """12 V and a quarter of an ohm carry 144 W at most."""
    return Circuit(2, (Span(0, 1, 0.25),), ((1, constant_power(power_w)),))


@REPEATABLE
@given(circuits(highest_xi=2.0))
def test_worst_open_circuit_drop_is_that_of_the_dense_inverse(circuit: Circuit) -> None:
    assert worst_open_circuit_drop(circuit.network()) == pytest.approx(
        circuit.worst_open_circuit_drop(), rel=1e-9
    )


@REPEATABLE
@given(circuits(highest_xi=0.2499999))
def test_below_a_quarter_every_voltage_is_at_or_above_its_bound(circuit: Circuit) -> None:
    network = circuit.network()
    bound = lowest_voltage_certified(worst_open_circuit_drop(network))
    lowest = min(circuit.magnitudes(solve(network))) / circuit.source_v
    assert 0.5 <= bound <= lowest + 1e-9


def test_bound_is_exact_for_one_lamp_of_constant_power() -> None:
    # V = (E + sqrt(E² - 4RP))/2, and xi = RP/E².
    for power_w in (1.0, 30.0, 100.0, 143.9):
        circuit = one_lamp(power_w)
        bound = lowest_voltage_certified(worst_open_circuit_drop(circuit.network()))
        assert 12.0 * bound == pytest.approx((12.0 + (144.0 - power_w) ** 0.5) / 2.0, rel=1e-12)


@REPEATABLE
@given(circuits(highest_xi=2.0))
def test_short_circuit_resistances_are_the_diagonal_of_the_dense_inverse(circuit: Circuit) -> None:
    expected = circuit.transfer_ohm().diagonal() / circuit.source_v**2
    np.testing.assert_allclose(short_circuit_resistances(circuit.network()), expected, rtol=1e-9, atol=1e-15)


@pytest.mark.parametrize(
    "circuit",
    random_circuits(21, 25, kinds=("power", "zip", "current")),
    ids=lambda circuit: f"{circuit.points} points",
)
def test_certified_margin_can_be_carried_and_is_no_more_than_the_exact_one(circuit: Circuit) -> None:
    network = circuit.loaded_to(0.17).network()
    certified = certified_margin(worst_open_circuit_drop(network))
    assert certified == pytest.approx(0.25 / 0.17)
    assert can_be_carried(network.scaled(0.999 * certified))
    assert largest_factor(network, can_be_carried, certain=0.0) >= 0.99 * certified


@pytest.mark.parametrize("certain", [0.0, 0.4, 2.0])
@pytest.mark.parametrize("power_w", [1.5, 3.0, 20.0, 140.0, 150.0, 1e3, 1e6])
def test_largest_factor_of_one_lamp_is_the_limit_over_its_power(power_w: float, certain: float) -> None:
    exact = 144.0 / power_w
    network = one_lamp(power_w).network()
    found = largest_factor(network, can_be_carried, certain=min(certain, 0.9 * exact))
    assert 0.985 * exact <= found <= exact


@pytest.mark.parametrize("certain", [0.0, 10.0, 40.0, 60.0, 80.0, 99.0, 100.0])
@pytest.mark.parametrize("exact", [100.5, 110.0, 120.0, 150.0, 190.0, 1e4])
def test_largest_factor_is_never_above_its_cap(exact: float, certain: float) -> None:
    found = largest_factor(one_lamp(144.0 / exact).network(), can_be_carried, certain=certain)
    assert found == MARGIN_CAP


def test_largest_factor_follows_the_condition_that_it_is_given() -> None:
    def lamp_keeps_eleven_volts(network: Network) -> bool:
        return can_be_carried(network) and 12.0 * (1.0 - solve(network).drop[1]) >= 11.0

    # 11 V leaves 1 V over a quarter of an ohm: 4 A and 44 W.
    found = largest_factor(one_lamp(10.0).network(), lamp_keeps_eleven_volts, certain=0.0)
    assert 0.985 * 4.4 <= found <= 4.4


@REPEATABLE
@given(st.floats(1e-9, 10.0))
def test_certified_margin_is_a_quarter_over_the_drop_up_to_its_cap(xi: float) -> None:
    assert certified_margin(xi) == min(MARGIN_CAP, 0.25 / xi)


def test_no_load_has_the_largest_margin() -> None:
    network = Circuit(2, (Span(0, 1, 0.25),), ()).network()
    assert worst_open_circuit_drop(network) == 0.0
    assert certified_margin(0.0) == MARGIN_CAP
    assert solve(network).drop == [0.0, 0.0]
