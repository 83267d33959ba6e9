"""How each reading would move if something about the wiring were a little different."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

from service.physics.elimination import PivotNotPositiveError
from service.physics.load import FILAMENT_EXPONENT, Load
from service.physics.network import TERMINAL, magnitude
from service.physics.sensitivity import Adjoint, Tangent
from service.physics.solve import NoOperatingPointError
from service.studies.readings.model import AS_THOUGHT, current_at, drawn, read, tap_v

if TYPE_CHECKING:
    from service.studies.readings.model import Change, Model, Solved, Taken
    from service.studies.readings.places import Probe
    from service.studies.readings.routes import Behind

ONE_WATT = Load(power_w=1.0)

SLOPES_IN_PHASE, SLOPES_LAGGING = 8, 3
"""Readings whose slopes take as much work as there are points: one backward substitution, or several."""

NUDGE = 1e-6
"""Per-unit step in which a single load's current is differentiated. [-]"""


class Slopes(NamedTuple):
    """A predicted reading [V] or [A] and what it changes by.

    By the logarithm of the supply's volts and of its ohms, by that of each span's ohms, by the share of each
    row's load, and by a watt more at each point.
    """

    value: float
    supply: float
    source: float
    spans: list[float]
    rows: list[float]
    watts: list[float]


def slopes_of(model: Model, taken: list[Taken], change: Change = AS_THOUGHT) -> list[Slopes] | None:
    """Slopes of every reading; None where a state has no operating point, or is at the very nose."""
    found: dict[int, Slopes] = {}
    try:
        for number, state in enumerate(model.states):
            wanted = [index for index, each in enumerate(taken) if each.state == number]
            if wanted:
                solved = model.solved(state, change)
                tangent = Tangent(solved.network, solved.point)
                each = SLOPES_LAGGING if solved.network.has_non_active else SLOPES_IN_PHASE
                model.spend(1 + len(wanted) * solved.network.effort // each)
                for index in wanted:
                    found[index] = _slopes(solved, tangent, taken[index].probe, change.cut)
    except (NoOperatingPointError, PivotNotPositiveError):
        return None
    return [found[index] for index in range(len(taken))]


def _slopes(solved: Solved, tangent: Tangent, probe: Probe, cut: Behind) -> Slopes:
    network = solved.network
    if probe.is_voltage and probe.point in cut:
        nought = [0.0] * len(network.spans), [0.0] * len(solved.rows), [0.0] * network.points
        return Slopes(0.0, 0.0, 0.0, *nought)
    reader = _volts(solved, probe) if probe.is_voltage else _amps(solved, probe)
    adjoint = tangent.adjoint(reader.by_drop, reader.by_quadrature)
    return Slopes(
        read(solved, probe),
        reader.supply + _by_supply(solved, adjoint),
        _by_source(solved, adjoint),
        _by_spans(solved, adjoint, reader),
        _by_rows(solved, adjoint, reader),
        _by_watts(solved, adjoint),
    )


class _Reader(NamedTuple):
    """How a reading depends on the point itself: by drop, by quadrature, and directly by what it reads."""

    by_drop: dict[int, float]
    by_quadrature: dict[int, float]
    supply: float
    spans: dict[int, float]
    rows: dict[int, float]


def _volts(solved: Solved, probe: Probe) -> _Reader:
    point, at = solved.point, probe.point
    volts, size = tap_v(solved.network, probe), magnitude(point.drop[at], point.quadrature[at])
    upright = 1.0 - point.drop[at]
    by_drop, by_quadrature = {at: -volts * upright / size}, {at: volts * point.quadrature[at] / size}
    return _Reader(by_drop, by_quadrature, volts * size, {}, {})


def _amps(solved: Solved, probe: Probe) -> _Reader:
    network, point = solved.network, solved.point
    current = current_at(solved, probe)
    # The magnitude moves by what lies along the current; where there is none, by the active part.
    along = current.conjugate() / abs(current) if current else 1.0 + 0j
    reader = _Reader({}, {}, 0.0, {}, {})
    supply = 0.0
    for index, sign in probe.spans:
        start, end, ohm = network.spans[index]
        step = sign * network.open_circuit_v[end or start] / ohm / probe.shared_by
        _add(reader.by_drop, end, step * along.real)
        _add(reader.by_drop, start, -step * along.real)
        _add(reader.by_quadrature, start, -step * along.imag)
        _add(reader.by_quadrature, end, step * along.imag)
        flow = complex(point.drop[end] - point.drop[start], point.quadrature[start] - point.quadrature[end])
        part = (along * flow).real * step
        reader.spans[index] = -part
        supply += part
    for row, ratio in probe.rows:
        for at, load in solved.rows[row]:
            supply += _draw(solved, reader, (at, load), along * ratio / probe.shared_by, row)
    return reader._replace(supply=supply)


def _draw(solved: Solved, reader: _Reader, hung: tuple[int, Load], along: complex, row: int) -> float:
    """Add what one load of a row does to a reading of amperes; answers its slope by the supply. [A]"""
    at, load = hung
    volts, a, b = (
        solved.network.open_circuit_v[at],
        1.0 - solved.point.drop[at],
        solved.point.quadrature[at],
    )

    def amps(right: float, up: float, scale: float = 1.0) -> float:
        return (along * load.phasor(complex(a + right, b + up) * volts * scale)).real

    step = 2.0 * NUDGE
    _add(reader.by_drop, at, -(amps(NUDGE, 0.0) - amps(-NUDGE, 0.0)) / step)
    _add(reader.by_quadrature, at, (amps(0.0, NUDGE) - amps(0.0, -NUDGE)) / step)
    _add(reader.rows, row, amps(0.0, 0.0))
    return (amps(0.0, 0.0, 1.0 + NUDGE) - amps(0.0, 0.0, 1.0 - NUDGE)) / step


def _by_supply(solved: Solved, adjoint: Adjoint) -> float:
    """More volts: in per-unit every conductance grows with the square, each load with its own power of it."""
    network, point = solved.network, solved.point
    total = 0.0
    for at, power, current, conductance, filament, var, var_current in network.draws:
        a, b = 1.0 - point.drop[at], point.quadrature[at]
        volts = sqrt(a * a + b * b)
        active = (2.0 * power / volts + current) / volts
        del conductance  # it grows as fast as the wiring itself
        if filament:
            active += (1.0 - FILAMENT_EXPONENT) * filament * volts ** (FILAMENT_EXPONENT - 1.0)
        lag = (2.0 * var / volts + var_current) / volts
        total -= adjoint.in_phase[at] * (active * a + lag * b) + adjoint.across[at] * (lag * a - active * b)
    return total


def _by_source(solved: Solved, adjoint: Adjoint) -> float:
    """More ohms in the supply: the conductance that feeds the terminal falls."""
    feeds = solved.network.supply_conductance
    drop, quadrature = solved.point.drop[TERMINAL], solved.point.quadrature[TERMINAL]
    return feeds * (adjoint.in_phase[TERMINAL] * drop + adjoint.across[TERMINAL] * quadrature)


def _by_spans(solved: Solved, adjoint: Adjoint, reader: _Reader) -> list[float]:
    network, drop, quadrature = solved.network, solved.point.drop, solved.point.quadrature
    found = []
    for index, (a, b, ohm) in enumerate(network.spans):
        volts = network.open_circuit_v[b or a]
        through = (adjoint.in_phase[a] - adjoint.in_phase[b]) * (drop[a] - drop[b])
        through += (adjoint.across[a] - adjoint.across[b]) * (quadrature[a] - quadrature[b])
        found.append(through * volts * volts / ohm + reader.spans.get(index, 0.0))
    return found


def _by_rows(solved: Solved, adjoint: Adjoint, reader: _Reader) -> list[float]:
    found = []
    for row, hung in enumerate(solved.rows):
        total = reader.rows.get(row, 0.0)
        for at, load in hung:
            current = drawn(solved, at, load) * solved.network.open_circuit_v[at]
            total += adjoint.in_phase[at] * current.real - adjoint.across[at] * current.imag
        found.append(total)
    return found


def _by_watts(solved: Solved, adjoint: Adjoint) -> list[float]:
    found = []
    for at in range(solved.network.points):
        a, b = 1.0 - solved.point.drop[at], solved.point.quadrature[at]
        square = a * a + b * b
        found.append((adjoint.in_phase[at] * a - adjoint.across[at] * b) / square)
    return found


def _add(parts: dict[int, float], at: int, part: float) -> None:
    parts[at] = parts.get(at, 0.0) + part
