"""A circuit handed to power-grid-model (MPL-2.0), a power-flow library of the distribution companies.

It knows no ideal source and no filament: a circuit needs a winding, and its filaments are left out.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from power_grid_model import CalculationMethod, LoadGenType, PowerGridModel, initialize_array

from tests.physics.networks import Circuit

RATED_V = 12.0
"""Its constant-current and constant-impedance loads are stated at the rated voltage of their node."""

Arrays = dict[str, Any]


def arrays_of(circuit: Circuit) -> Arrays:
    """Node, line, load and source arrays."""
    return {
        "node": _nodes(circuit),
        "line": _lines(circuit),
        "sym_load": _loads(circuit),
        "source": _source(circuit),
    }


def flow(
    arrays: Arrays, method: CalculationMethod = CalculationMethod.newton_raphson
) -> tuple[NDArray[np.complex128], float]:
    """Voltage at each point [V] and current of the source [A].

    The symmetric calculation is of one phase of three: voltages and powers stand, currents are short by √3.
    """
    model = PowerGridModel(arrays)
    answer = model.calculate_power_flow(
        symmetric=True, error_tolerance=1e-10, max_iterations=3000, calculation_method=method
    )
    node = answer["node"]
    return node["u"] * np.exp(1j * node["u_angle"]), float(answer["source"]["i"][0] * np.sqrt(3.0))


def _nodes(circuit: Circuit) -> NDArray[np.void]:
    node = initialize_array("input", "node", circuit.points)
    node["id"] = np.arange(circuit.points)
    node["u_rated"] = RATED_V
    return node


def _lines(circuit: Circuit) -> NDArray[np.void]:
    count = len(circuit.spans)
    line = initialize_array("input", "line", count)
    line["id"] = circuit.points + np.arange(count)
    line["from_node"] = [span.start for span in circuit.spans]
    line["to_node"] = [span.end for span in circuit.spans]
    line["r1"] = [span.resistance_ohm for span in circuit.spans]
    line["from_status"] = line["to_status"] = 1
    line["x1"] = line["c1"] = line["tan1"] = 0.0
    line["i_n"] = 25.0
    return line


def _loads(circuit: Circuit) -> NDArray[np.void]:
    """One row for each part of each load; a filament has no counterpart."""
    rows: list[tuple[int, LoadGenType, float, float]] = []
    for point, load in circuit.loads:
        rows += [
            (point, LoadGenType.const_power, load.power_w, load.non_active_var),
            (point, LoadGenType.const_current, load.current_a * RATED_V, load.non_active_a * RATED_V),
            (point, LoadGenType.const_impedance, load.conductance_s * RATED_V**2, 0.0),
        ]
    rows = [row for row in rows if row[2] or row[3]]
    array = initialize_array("input", "sym_load", len(rows))
    array["id"] = circuit.points + len(circuit.spans) + np.arange(len(rows))
    array["status"] = 1
    for name, column in zip(
        ("node", "type", "p_specified", "q_specified"), zip(*rows, strict=True), strict=True
    ):
        array[name] = column
    return array


def _source(circuit: Circuit) -> NDArray[np.void]:
    source = initialize_array("input", "source", 1)
    source["id"] = 10_000_000
    source["node"] = 0
    source["status"] = 1
    source["u_ref"] = circuit.source_v / RATED_V
    source["sk"] = RATED_V**2 / circuit.winding_ohm
    source["rx_ratio"] = 1e9
    return source
