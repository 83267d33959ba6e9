"""A garden in several states at once, solved by power-grid-model (MPL-2.0).

Its symmetric calculation is of one phase of three: voltages and powers stand; currents are taken
from Ohm's law.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from power_grid_model import CalculationMethod, LoadGenType, PowerGridModel, initialize_array
from power_grid_model.errors import PowerGridError  # type: ignore[attr-defined]  # it lists no names

from tests.studies.readings_truth.garden import RATED_V

Complex = NDArray[np.complex128]
Floats = NDArray[np.float64]

OPEN_OHM = 1e7
"""An open span, for a solver that wants every point to hang on something."""

KINDS = {
    "power": LoadGenType.const_power,
    "current": LoadGenType.const_current,
    "resistance": LoadGenType.const_impedance,
}


class NothingSettlesError(ArithmeticError):
    """No operating point at or above half of the open-circuit voltage of every point."""


class Circuit(NamedTuple):
    """Where the span of each point from 1 on comes from, its resistance and the winding's [ohm], and loads.

    A load is a point and what it holds constant.
    """

    parents: list[int]
    ohms: Floats
    winding_ohm: float
    loads: list[tuple[int, str]]

    @property
    def points(self) -> int:
        return len(self.parents) + 1

    def behind_open(self, point: int) -> bool:
        """Whether an open span lies between a point and the supply."""
        while point:
            if self.ohms[point - 1] >= OPEN_OHM:
                return True
            point = self.parents[point - 1]
        return False


def voltages(circuit: Circuit, powers_va: Complex, sources_v: Floats) -> Complex:
    """Voltage at every point in every state. [V], (states, points)

    Parameters
    ----------
    circuit : Circuit
    powers_va : (states, loads)
        Drawn at rated voltage; nought: off. [VA]
    sources_v : (states,)
        Open-circuit voltage. [V]
    """
    arrays = {
        "node": _nodes(circuit.points),
        "line": _lines(circuit),
        "sym_load": _loads(tuple(circuit.loads)),
        "source": _source(circuit.winding_ohm),
    }
    change = {"sym_load": _drawn(powers_va), "source": _fed(sources_v)}
    try:
        answer: Any = PowerGridModel(arrays).calculate_power_flow(
            symmetric=True,
            error_tolerance=1e-9,
            max_iterations=60,
            calculation_method=CalculationMethod.newton_raphson,
            update_data=change,
            output_component_types={"node"},
        )
    except PowerGridError as error:
        raise NothingSettlesError from error
    at = answer["node"]["u"] * np.exp(1j * answer["node"]["u_angle"])
    dead = np.array([circuit.behind_open(point) for point in range(circuit.points)])
    level = np.abs(at)
    if not np.isfinite(level).all() or (level[:, ~dead] < 0.5 * sources_v[:, None]).any():
        raise NothingSettlesError
    at[:, dead] = 0.0
    return np.asarray(at)


@lru_cache
def _nodes(count: int) -> Any:
    node = initialize_array("input", "node", count)
    node["id"] = np.arange(count)
    node["u_rated"] = RATED_V
    return node


def _lines(circuit: Circuit) -> Any:
    line = _between(tuple(circuit.parents)).copy()
    line["r1"] = circuit.ohms
    return line


@lru_cache
def _between(parents: tuple[int, ...]) -> Any:
    """Lines without their resistance."""
    line = initialize_array("input", "line", len(parents))
    line["id"] = 1000 + np.arange(len(parents))
    line["from_node"] = parents
    line["to_node"] = np.arange(1, len(parents) + 1)
    line["from_status"] = line["to_status"] = 1
    line["x1"] = line["c1"] = line["tan1"] = 0.0
    line["i_n"] = 25.0
    return line


@lru_cache
def _loads(loads: tuple[tuple[int, str], ...]) -> Any:
    array = initialize_array("input", "sym_load", len(loads))
    array["id"] = 2000 + np.arange(len(loads))
    array["node"] = [point for point, _ in loads]
    array["type"] = [KINDS[kind] for _, kind in loads]
    array["status"] = 1
    array["p_specified"] = array["q_specified"] = 0.0
    return array


def _source(winding_ohm: float) -> Any:
    source = initialize_array("input", "source", 1)
    source["id"] = 10_000
    source["node"] = 0
    source["status"] = 1
    source["u_ref"] = 1.0
    source["sk"] = RATED_V**2 / winding_ohm
    source["rx_ratio"] = 1e9
    return source


def _drawn(powers_va: Complex) -> Any:
    change = initialize_array("update", "sym_load", powers_va.shape)
    change["id"] = 2000 + np.arange(powers_va.shape[1])
    change["status"] = powers_va != 0.0
    change["p_specified"] = powers_va.real
    change["q_specified"] = powers_va.imag
    return change


def _fed(sources_v: Floats) -> Any:
    change = initialize_array("update", "source", (len(sources_v), 1))
    change["id"] = 10_000
    change["u_ref"] = sources_v[:, None] / RATED_V
    return change
