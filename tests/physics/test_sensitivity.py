"""The adjoint of an operating point against the dense Jacobian and against moving the point itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from service.physics.load import Load, filament
from service.physics.network import Span
from service.physics.sensitivity import Tangent
from service.physics.solve import solve
from tests.physics.networks import Circuit

SPANS = tuple(
    Span(*each)
    for each in (
        (0, 1, 0.05),
        (1, 2, 0.08),
        (2, 3, 0.1),
        (1, 4, 0.12),
        (4, 3, 0.2),
        (3, 5, 0.15),
        (0, 5, 0.3),
    )
)
IN_PHASE = (
    (2, Load(power_w=20.0)),
    (3, Load(current_a=1.0, conductance_s=0.05)),
    (5, filament(20.0, rated_v=12.0)),
)
LAGGING = (
    *IN_PHASE,
    (4, Load(power_w=15.0, non_active_var=18.0)),
    (5, Load(current_a=0.4, non_active_a=0.5)),
)
CIRCUITS = {
    "in phase behind a winding": Circuit(6, SPANS, IN_PHASE, 12.6, 0.04),
    "in phase on an ideal supply": Circuit(6, SPANS, IN_PHASE, 12.0),
    "lagging behind a winding": Circuit(6, SPANS, LAGGING, 12.6, 0.04),
    "lagging on an ideal supply": Circuit(6, SPANS, LAGGING, 12.0),
}
STEP_W = 1e-4


@pytest.mark.parametrize("name", CIRCUITS)
def test_a_little_more_load_moves_each_voltage_as_the_adjoint_says(name: str) -> None:
    circuit = CIRCUITS[name]
    network = circuit.network()
    point = solve(network)
    tangent = Tangent(network, point)
    for at in range(1, circuit.points):
        adjoint = tangent.adjoint({at: 1.0}, {})
        for loaded in range(1, circuit.points):
            more = replace(
                circuit, loads=(*circuit.loads, (loaded, Load(current_a=STEP_W / circuit.source_v)))
            )
            moved = (solve(more.network()).drop[at] - point.drop[at]) / STEP_W
            # A constant current draws along the voltage where it hangs, mostly in phase.
            volts = complex(1.0 - point.drop[loaded], point.quadrature[loaded])
            right, up = volts.real / abs(volts), volts.imag / abs(volts)
            found = adjoint.in_phase[loaded] * right - adjoint.across[loaded] * up
            assert found == pytest.approx(moved, rel=1e-4, abs=1e-9), (at, loaded)


@pytest.mark.parametrize("name", CIRCUITS)
def test_reading_and_load_may_change_places(name: str) -> None:
    # Reciprocity holds for each set of equations alone; where none lags there is no other.
    circuit = CIRCUITS[name]
    if circuit.network().has_non_active:
        circuit = replace(circuit, loads=IN_PHASE)
    network = circuit.network()
    tangent = Tangent(network, solve(network))
    transfer = np.array([tangent.adjoint({at: 1.0}, {}).in_phase for at in range(circuit.points)])
    assert np.allclose(transfer, transfer.T, rtol=1e-10, atol=1e-15)


def test_where_nothing_is_read_nothing_follows() -> None:
    network = CIRCUITS["lagging behind a winding"].network()
    adjoint = Tangent(network, solve(network)).adjoint({}, {})
    assert not any(adjoint.in_phase)
    assert not any(adjoint.across)
