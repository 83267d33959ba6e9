"""Filaments and mixtures against a plain fixed-point iteration, dense and with numpy.

v <- E - R I(v) from the open-circuit voltages is the Z-bus method of the power-flow literature (Bazrafshan
and Gatsis, "Convergence of the Z-bus method ... with ZIP loads", IEEE Trans. Power Systems, 2018); R is the
dense inverse of the nodal matrix. Where filaments and resistors pull the plain iteration to and fro, the
slower one holds the ratio I/V of each load instead: V <- (1 + R Y(V))^-1 E, which only ever descends.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from service.physics.load import Load
from service.physics.network import Span
from service.physics.solve import NoOperatingPointError, solve
from tests.physics.networks import RERATING_EXPONENT, Circuit, current_a, random_circuits

Volts = NDArray[np.float64]


def drawn_a(circuit: Circuit, volts: Volts) -> Volts:
    """Active current at each point. [A]"""
    drawn = np.zeros(circuit.points)
    for point, load in circuit.loads:
        drawn[point] += current_a(load, complex(volts[point])).real
    return drawn


def by_fixed_point(circuit: Circuit) -> Volts:
    """Voltages by v <- E - R I(v). [V]"""
    transfer, volts = circuit.transfer_ohm(), np.full(circuit.points, circuit.source_v)
    for _ in range(2000):
        after = circuit.source_v - transfer @ drawn_a(circuit, volts)
        if abs(after - volts).max() < 1e-12:
            return np.asarray(after)
        volts = after
    message = "the fixed point did not settle"
    raise ArithmeticError(message)


def by_held_ratio(circuit: Circuit) -> Volts | None:
    """Voltages by V <- (1 + R Y(V))^-1 E; None where they descend to nothing. [V]"""
    transfer, volts = circuit.transfer_ohm(), np.full(circuit.points, circuit.source_v)
    for _ in range(20_000):
        matrix = np.eye(circuit.points) + transfer * (drawn_a(circuit, volts) / volts)
        after = np.linalg.solve(matrix, np.full(circuit.points, circuit.source_v))
        if after.min() < 1e-6 * circuit.source_v:
            return None
        if abs(after - volts).max() < 1e-13 * circuit.source_v:
            return np.asarray(after)
        volts = after
    message = "within a hair of the largest load"
    raise ArithmeticError(message)


def test_two_hundred_and_fifty_circuits_agree_with_the_fixed_point() -> None:
    for number, circuit in enumerate(random_circuits(31, 250, kinds=("filament", "mixture", "zip", "power"))):
        loaded = circuit.loaded_to((0.03, 0.1, 0.2, 0.24)[number % 4])
        found = loaded.magnitudes(solve(loaded.network()))
        np.testing.assert_allclose(found, by_fixed_point(loaded), rtol=0.0, atol=1e-7, err_msg=str(loaded))


@pytest.mark.parametrize(
    "kinds", [("filament",), ("mixture",), ("filament", "power"), ("filament", "resistance")]
)
def test_overloaded_circuits_agree_with_the_descent_of_held_ratios(kinds: tuple[str, ...]) -> None:
    refused = 0
    for number, circuit in enumerate(random_circuits(41, 60, kinds=kinds, largest=8)):
        loaded = circuit.loaded_to((0.3, 0.6, 1.2, 2.5)[number % 4])
        expected = by_held_ratio(loaded)
        refused += expected is None
        if expected is None:
            with pytest.raises(NoOperatingPointError) as refusal:
                solve(loaded.network())
            assert refusal.value.proven
        else:
            found = loaded.magnitudes(solve(loaded.network()))
            np.testing.assert_allclose(found, expected, rtol=0.0, atol=1e-7, err_msg=str(loaded))
    assert (refused > 0) == ("power" in kinds or "mixture" in kinds)


def test_filament_alone_is_never_refused() -> None:
    # A filament draws less and less as its voltage falls, so any number of them has an operating point.
    for factor in (1.0, 10.0, 100.0, 1000.0):
        circuit = Circuit(2, (Span(0, 1, 1.0),), ((1, Load(filament_a=factor)),))
        volts = circuit.magnitudes(solve(circuit.network()))[1]
        assert factor * volts**RERATING_EXPONENT == pytest.approx(12.0 - volts, abs=1e-7)


@pytest.mark.parametrize("filament", [1.9, 2.0, 2.05, 2.1, 2.15, 2.2])
@pytest.mark.parametrize("power", [0.005, 0.01, 0.02])
def test_driver_beside_filaments_that_take_most_of_the_voltage_is_still_found(
    filament: float, power: float
) -> None:
    # At 1 V and 1 ohm, P/v + F v^0.55 = 1 - v. The tangent at no load steps past both operating points, to
    # where the driver alone would draw more than arrives: an overshoot that does not show in the sign of the
    # residual.
    circuit = Circuit(2, (Span(0, 1, 1.0),), ((1, Load(power_w=power, filament_a=filament)),), source_v=1.0)
    expected = by_held_ratio(circuit)
    assert expected is not None
    np.testing.assert_allclose(circuit.magnitudes(solve(circuit.network())), expected, rtol=0.0, atol=1e-7)
