"""How each reading would move if something about the wiring were a little different."""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

from service.circuit.work import count
from service.estimation.model import (
    AS_THOUGHT,
    Change,
    Measurement,
    Model,
    ReadState,
    SolvedModel,
    current_at,
    drawn,
    read,
    tap_v,
)
from service.estimation.probes import Behind, Probe
from service.physics.elimination import PivotNotPositiveError
from service.physics.load import FILAMENT_EXPONENT, Load
from service.physics.loop import loop_resistance
from service.physics.network import TERMINAL, magnitude
from service.physics.sensitivity import Tangent
from service.physics.tree import Along, Injection

SENSITIVITIES_IN_PHASE, SENSITIVITIES_LAGGING = 10, 5
"""Readings whose slopes take as much work as there are points: one backward substitution, or several."""

INJECTED, FOLLOWED = 15, 8
"""Operations of what is left over at a point, and of how one reading follows it."""

NUDGE = 1e-6
"""Per-unit step in which a single load's current is differentiated. [-]"""


class Sensitivities(NamedTuple):
    """A predicted reading [V] or [A] and what it changes by.

    By the logarithm of the supply's volts and of its ohms, by that of each span's ohms, by the share of each
    row's load, and by a watt more at each point where that is wanted.
    """

    value: float
    supply: float
    source: float
    spans: list[float]
    rows: list[float]
    watts: list[float]


class Injections(NamedTuple):
    """What is left over at the points, in phase and across, for a unit of each thing that may be off.

    Of the logarithm of the supply's volts and of its ohms (at the terminal alone), of that of each span's
    ohms (at its start, and missing at its end), and of the share of each row's load. [W, per-unit]
    """

    supply: list[Injection]
    source: tuple[float, float]
    spans: list[Along]
    rows: list[list[Injection]]


class Linearised(NamedTuple):
    """One solved state, linearised once for all that is read in it; what is behind a break reads zero."""

    solved: SolvedModel
    tangent: Tangent
    injections: Injections
    cut: Behind


def linearised(model: Model, state: ReadState, change: Change = AS_THOUGHT) -> Linearised | None:
    """Solve and linearise one state; None where it has no operating point, or is at the very nose.

    Raises
    ------
    WorkOverLimitError
        The request has spent the work that it may ask for.
    """
    solved = model.solved(state, change)
    if solved is None:
        return None
    count(INJECTED * solved.network.points)
    tangent = tangent_at(solved)
    return None if tangent is None else Linearised(solved, tangent, _injections(solved), change.cut)


def tangent_at(solved: SolvedModel) -> Tangent | None:
    """How a solved state moves; None at the very nose."""
    try:
        return Tangent(solved.network, solved.point)
    except PivotNotPositiveError:
        return None


def sensitivities_of(
    model: Model, measurements: list[Measurement], change: Change = AS_THOUGHT, *, watts: bool = False
) -> list[Sensitivities] | None:
    """Slopes of every reading; None where a state has no operating point, or is at the very nose.

    `watts`: those by a watt more at each point as well.
    """
    found: dict[int, Sensitivities] = {}
    for number, state in enumerate(model.states):
        wanted = [index for index, each in enumerate(measurements) if each.state == number]
        if not wanted:
            continue
        line = linearised(model, state, change)
        if line is None:
            return None
        for index in wanted:
            probe = change.reads(measurements[index].probe)
            found[index] = sensitivities_at(model, line, probe, watts=watts)
    return [found[index] for index in range(len(measurements))]


def sensitivities_at(model: Model, line: Linearised, probe: Probe, *, watts: bool = False) -> Sensitivities:
    """Slopes of one reading.

    Raises
    ------
    WorkOverLimitError
        The request has spent the work that it may ask for.
    """
    solved, injections = line.solved, line.injections
    network = solved.network
    if probe.is_voltage and probe.point in line.cut:
        zero = [0.0] * len(network.spans), [0.0] * len(solved.rows), [0.0] * network.points
        return Sensitivities(0.0, 0.0, 0.0, *zero)
    model.spend(work_of_sensitivities(network.effort, turned=network.has_non_active))
    count(FOLLOWED * network.points)
    if probe.is_resistance:
        loop, rows = loop_resistance(network, probe.point), [0.0] * len(solved.rows)
        return Sensitivities(probe.lead_ohm + loop.ohm, 0.0, 0.0, loop.by_span, rows, [0.0] * network.points)
    reader = volts_reader(solved, probe) if probe.is_voltage else _amps(solved, probe)
    lam, mu = line.tangent.adjoint(reader.by_drop, reader.by_quadrature)
    return Sensitivities(
        read(solved, probe),
        reader.supply + sum(lam[at] * real + mu[at] * turn for at, real, turn in injections.supply),
        lam[TERMINAL] * injections.source[0] + mu[TERMINAL] * injections.source[1],
        _with(
            [(lam[a] - lam[b]) * real + (mu[a] - mu[b]) * turn for a, b, real, turn in injections.spans],
            reader.spans,
        ),
        _with(
            [sum([lam[at] * real + mu[at] * turn for at, real, turn in row]) for row in injections.rows],
            reader.rows,
        ),
        _by_watts(solved, lam, mu) if watts else [],
    )


def work_of_sensitivities(effort: int, *, turned: bool) -> int:
    """Work of the slopes of one reading on wiring of so much effort."""
    return 1 + effort // (SENSITIVITIES_LAGGING if turned else SENSITIVITIES_IN_PHASE)


class Reader(NamedTuple):
    """How a reading depends on the point itself: by drop, by quadrature, and directly by what it reads."""

    by_drop: dict[int, float]
    by_quadrature: dict[int, float]
    supply: float
    spans: dict[int, float]
    rows: dict[int, float]


def volts_reader(solved: SolvedModel, probe: Probe) -> Reader:
    """How volts follow the point at which they are read; `supply` is the volts themselves. [V]"""
    point, at = solved.point, probe.point
    volts, size = tap_v(solved.network, probe), magnitude(point.drop[at], point.quadrature[at])
    upright = 1.0 - point.drop[at]
    by_drop, by_quadrature = {at: -volts * upright / size}, {at: volts * point.quadrature[at] / size}
    return Reader(by_drop, by_quadrature, volts * size, {}, {})


def _amps(solved: SolvedModel, probe: Probe) -> Reader:
    network, point = solved.network, solved.point
    current = current_at(solved, probe)
    # The magnitude moves by what lies along the current; where there is none, by the active part.
    along = current.conjugate() / abs(current) if current else 1.0 + 0j
    reader = Reader({}, {}, 0.0, {}, {})
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


def _draw(solved: SolvedModel, reader: Reader, loads: tuple[int, Load], along: complex, row: int) -> float:
    """Add what one load of a row does to a reading of amperes; answers its slope by the supply. [A]"""
    at, load = loads
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


def _injections(solved: SolvedModel) -> Injections:
    network, point = solved.network, solved.point
    feeds = network.supply_conductance
    return Injections(
        _by_supply(solved),
        (feeds * point.drop[TERMINAL], feeds * point.quadrature[TERMINAL]),
        _by_spans(solved),
        [[_by_row(solved, at, load) for at, load in loads] for loads in solved.rows],
    )


def _by_supply(solved: SolvedModel) -> list[Injection]:
    """More volts: in per-unit every conductance grows with the square, each load with its own power of it."""
    network, point = solved.network, solved.point
    found = []
    for at, power, current, conductance, filament, var, var_current in network.draws:
        a, b = 1.0 - point.drop[at], point.quadrature[at]
        volts = sqrt(a * a + b * b)
        active = (2.0 * power / volts + current) / volts
        del conductance  # it grows as fast as the wiring itself
        if filament:
            active += (1.0 - FILAMENT_EXPONENT) * filament * volts ** (FILAMENT_EXPONENT - 1.0)
        lag = (2.0 * var / volts + var_current) / volts
        found.append(Injection(at, -(active * a + lag * b), -(lag * a - active * b)))
    return found


def _by_spans(solved: SolvedModel) -> list[Along]:
    """More ohms in a span: what flows through it falls."""
    network, drop, quadrature = solved.network, solved.point.drop, solved.point.quadrature
    found = []
    for a, b, ohm in network.spans:
        volts = network.open_circuit_v[b or a]
        conductance = volts * volts / ohm
        fall, turn = drop[a] - drop[b], quadrature[a] - quadrature[b]
        found.append(Along(a, b, fall * conductance, turn * conductance))
    return found


def _by_row(solved: SolvedModel, at: int, load: Load) -> Injection:
    current = drawn(solved, at, load) * solved.network.open_circuit_v[at]
    return Injection(at, current.real, -current.imag)


def _by_watts(solved: SolvedModel, lam: list[float], mu: list[float]) -> list[float]:
    found = []
    for at in range(solved.network.points):
        a, b = 1.0 - solved.point.drop[at], solved.point.quadrature[at]
        square = a * a + b * b
        found.append((lam[at] * a - mu[at] * b) / square)
    return found


def _with(found: list[float], direct: dict[int, float]) -> list[float]:
    """Slopes with what a reading depends on directly."""
    for index, part in direct.items():
        found[index] += part
    return found


def _add(parts: dict[int, float], at: int, part: float) -> None:
    parts[at] = parts.get(at, 0.0) + part
