"""The solver against power-grid-model (MPL-2.0), over random trees and meshes.

Both solve the same equations, so nothing but rounding and the last step may lie between them: 1e-6 V is asked
for, some 1e-8 V is what they do. Near the largest load two things differ. Its Newton's method may stray to
another root of the equations, its iterative-current method may swing; the one that finds the root on the
branch from no load counts. That root is told by the eigenvalues of the Jacobian, which are positive on this
branch and on no other near it.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from power_grid_model import CalculationMethod
from power_grid_model.errors import PowerGridError  # type: ignore[attr-defined]  # it lists no names

from service.physics.certificate import can_be_carried, largest_factor
from service.physics.solve import solve
from tests.physics.networks import MESHES, TREES, Circuit, Shape, current_a, random_circuits
from tests.physics.power_grid import arrays_of, flow

KINDS = ("power", "current", "resistance", "zip")
SHARES = (0.02, 0.1, 0.18, 0.24)


@pytest.mark.parametrize("non_active", [False, True])
@pytest.mark.parametrize("shapes", [TREES, MESHES], ids=["trees", "meshes"])
def test_voltages_and_source_current_agree(shapes: tuple[Shape, ...], *, non_active: bool) -> None:
    choices = random_circuits(51, 150, shapes=shapes, kinds=KINDS, non_active=non_active, winding=True)
    for number, unscaled in enumerate(choices):
        circuit = unscaled.loaded_to(SHARES[number % len(SHARES)])
        voltages, source_a = flow(arrays_of(circuit))
        found = np.array(circuit.voltages(solve(circuit.network())))
        # The source of power-grid-model stands at angle nought, as the open-circuit voltage does here.
        np.testing.assert_allclose(found, voltages, rtol=0.0, atol=1e-6, err_msg=str(circuit))
        found_a = abs(circuit.source_v - found[0]) / circuit.winding_ohm
        assert found_a == pytest.approx(source_a, abs=1e-6 / circuit.winding_ohm)


@pytest.mark.parametrize("non_active", [False, True])
@pytest.mark.parametrize("shapes", [TREES, MESHES], ids=["trees", "meshes"])
def test_both_find_the_same_largest_load(shapes: tuple[Shape, ...], *, non_active: bool) -> None:
    kinds = ("power", "power", "zip")
    for unscaled in random_circuits(61, 40, shapes=shapes, kinds=kinds, non_active=non_active, winding=True):
        unity = unscaled.loaded_to(0.2)
        circuit = unity.scaled(nose(unity))
        below = circuit.scaled(0.98)
        expected = upper_root(below)
        assert expected is not None
        found = below.voltages(solve(below.network()))
        np.testing.assert_allclose(found, expected, rtol=0.0, atol=1e-6, err_msg=str(below))
        above = circuit.scaled(1.02)
        assert not can_be_carried(above.network())
        assert upper_root(above) is None


def test_another_root_is_told_by_its_eigenvalues() -> None:
    # At RP/E² = 3/16 one lamp has the roots E 3/4 and E/4 (the quadratic of one constant-power load).
    circuit = random_circuits(71, 1, kinds=("power",), largest=2, winding=True)[0].loaded_to(0.1875)
    root = np.array(circuit.voltages(solve(circuit.network())))
    far_v = circuit.source_v - root[-1]
    drawn_a = (circuit.source_v - root[0]) / circuit.winding_ohm * root[-1] / far_v
    other = np.array([circuit.source_v - drawn_a * circuit.winding_ohm, far_v])
    assert root[-1].real == pytest.approx(0.75 * circuit.source_v)
    assert on_the_upper_branch(circuit, root)
    assert not on_the_upper_branch(circuit, other)


def nose(circuit: Circuit) -> float:
    """The largest factor of all loads, to 1e-4, by a bisection of the test's own."""
    low = largest_factor(circuit.network(), can_be_carried, certain=0.0)
    high = 1.03 * low
    assert can_be_carried(circuit.scaled(low).network())
    assert not can_be_carried(circuit.scaled(high).network())
    while high - low > 1e-4 * low:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if can_be_carried(circuit.scaled(middle).network()) else (low, middle)
    return low


def upper_root(circuit: Circuit) -> NDArray[np.complex128] | None:
    """What either method of power-grid-model finds on the branch from no load, else None. [V]"""
    for method in (CalculationMethod.newton_raphson, CalculationMethod.iterative_current):
        try:
            voltages, _ = flow(arrays_of(circuit), method)
        except PowerGridError:
            continue
        if on_the_upper_branch(circuit, voltages):
            return voltages
    return None


def on_the_upper_branch(circuit: Circuit, voltages: NDArray[np.complex128]) -> bool:
    """Whether every eigenvalue of the whole Jacobian, in phase and across, has a positive real part."""
    points = circuit.points
    jacobian = np.kron(np.eye(2), np.linalg.inv(circuit.transfer_ohm()))
    for point, load in circuit.loads:
        volts = complex(voltages[point])
        for column, turn in ((point, 1.0), (points + point, 1j)):
            nudge = 1e-6 * abs(volts) * turn
            slope = (current_a(load, volts + nudge) - current_a(load, volts - nudge)) / (2.0 * abs(nudge))
            jacobian[point, column] += slope.real
            jacobian[points + point, column] += slope.imag
    return bool(np.linalg.eigvals(jacobian).real.min() > 0.0)
