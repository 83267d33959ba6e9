"""From what may be off, and how each reading would follow, to the covariance of the discrepancies."""

from __future__ import annotations

from collections.abc import Iterable

from service.circuit.cables import resolve_cable
from service.circuit.job import CableSpec
from service.circuit.work import count
from service.estimation.jacobian import Linearised, Sensitivities, volts_reader
from service.estimation.model import Measurement, Model, ReadState
from service.estimation.statistics import Covariance
from service.estimation.uncertainty import Uncertainty
from service.physics.network import TERMINAL, Network
from service.physics.norton import Values
from service.physics.tree import Along, Injection, tree_covariances

WORK_OF_PRODUCTS = 600
"""Products of numbers that are one unit of work."""


PRODUCTS = 6
"""Products of numbers that are one operation."""


def covariance_of(
    model: Model, allowance: Uncertainty, taken: list[Measurement], slopes: list[Sensitivities]
) -> Covariance:
    """Covariance of the discrepancies: of the meter, and of everything about the wiring that may be off."""
    columns = columns_of(model, allowance, taken, slopes)
    size = len(taken)
    model.spend(work_of_spread(size, len(columns)))
    count(size * (size + 1) * (len(columns) + size) // (2 * PRODUCTS))
    return Covariance([each.own * each.own for each in taken], columns)


def work_of_spread(readings: int, columns: int) -> int:
    """Work of the covariance of so many readings and its Cholesky factor."""
    return 1 + readings * (readings + 1) * (columns + readings) // (2 * WORK_OF_PRODUCTS)


def columns_of(
    model: Model, allowance: Uncertainty, taken: list[Measurement], slopes: list[Sensitivities]
) -> list[list[float]]:
    """What one standard deviation of each thing that may be off does to each reading. [V], [A]"""
    columns = [
        *_supply_columns(model, taken, slopes),
        [each.source * allowance.winding for each in slopes],
        *_cable_columns(model, allowance, slopes),
        *_power_columns(allowance, slopes),
        *_meter_columns(taken, slopes),
    ]
    return [column for column in columns if any(column)]


def _supply_columns(model: Model, taken: list[Measurement], slopes: list[Sensitivities]) -> list[list[float]]:
    """Mains and turns: one ratio common to all states, and one of each state."""
    pairs = list(zip(taken, slopes, strict=True))
    common = [each.supply * model.states[one.state].common for one, each in pairs]
    own = [
        [each.supply * state.drift if one.state == number else 0.0 for one, each in pairs]
        for number, state in enumerate(model.states)
    ]
    return [common, *own]


def _cable_columns(model: Model, allowance: Uncertainty, slopes: list[Sensitivities]) -> list[list[float]]:
    """Temperature of all conductors, resistance of each kind of cable, length of each span."""
    kinds = kinds_of(model)
    warmer = warmth_of(kinds, allowance)
    warmth = [
        sum(warmer[spec] * each.spans[index] for spec, laid in kinds.items() for index in laid)
        for each in slopes
    ]
    by_kind = [
        [allowance.resistance * sum(each.spans[index] for index in laid) for each in slopes]
        for laid in kinds.values()
    ]
    lengths = [
        [allowance.length * each.spans[index] for each in slopes] for laid in kinds.values() for index in laid
    ]
    return [warmth, *by_kind, *lengths]


def kinds_of(model: Model) -> dict[CableSpec, list[int]]:
    """The spans of each kind of cable, by index."""
    kinds: dict[CableSpec, list[int]] = {}
    for index, span in enumerate(model.connected.layout.spans):
        if span.cable is not None:
            kinds.setdefault(span.cable.spec, []).append(index)
    return kinds


def warmth_of(kinds: Iterable[CableSpec], allowance: Uncertainty) -> dict[CableSpec, float]:
    """By what share the resistance of each kind may be off for its temperature. [-]"""
    at_c = allowance.temperature_c
    return {spec: _per_kelvin(spec, at_c) * allowance.temperature_k for spec in kinds}


def _per_kelvin(spec: CableSpec, at_c: float) -> float:
    """By what share the resistance of a cable grows for one kelvin. [1/K]"""
    return resolve_cable(spec, at_c + 1.0).ohm_per_m / resolve_cable(spec, at_c).ohm_per_m - 1.0


def _power_columns(allowance: Uncertainty, slopes: list[Sensitivities]) -> list[list[float]]:
    """Each fixture row draws a little more or less than its label says."""
    rows = len(slopes[0].rows) if slopes else 0
    return [[allowance.power * each.rows[row] for each in slopes] for row in range(rows)]


def _meter_columns(taken: list[Measurement], slopes: list[Sensitivities]) -> list[list[float]]:
    """One gain for all volts and one for all amperes: a meter that reads high reads high everywhere."""
    pairs = list(zip(taken, slopes, strict=True))
    return [
        [each.value * one.gain if one.probe.is_voltage is voltage else 0.0 for one, each in pairs]
        for voltage in (True, False)
    ]


WORK_OF_TREE, WORK_OF_TREE_TURNED = 1, 5
"""Work of both passes, for each point."""


def volts_variances(
    model: Model, line: Linearised, state: ReadState, allowance: Uncertainty, taken: list[Measurement]
) -> list[float]:
    """Variance of each voltage that is read in a state; of its meter and of everything about a tree. [V²]

    Raises
    ------
    WorkOverLimitError
        The request has spent the work that it may ask for.
    """
    solved, injections = line.solved, line.injections
    network = solved.network
    model.spend(work_of_tree(network.points, turned=network.has_non_active))
    kinds = kinds_of(model)
    warmer = warmth_of(kinds, allowance)
    each_span = injections.spans
    shared = [
        _along(network, [(each_span[index], warmer[spec]) for spec, laid in kinds.items() for index in laid]),
        *(
            _along(network, [(each_span[index], allowance.resistance) for index in laid])
            for laid in kinds.values()
        ),
        _at(network, [Injection(TERMINAL, *(part * allowance.winding for part in injections.source))]),
    ]
    responses = [line.tangent.response(*each) for each in shared]
    by_supply = line.tangent.response(*_at(network, injections.supply))
    own = tree_covariances(
        network,
        solved.point,
        [[_scaled(each, allowance.power) for each in row] for row in injections.rows],
        [
            Along(a, b, real * allowance.length, turn * allowance.length)
            for laid in kinds.values()
            for a, b, real, turn in map(each_span.__getitem__, laid)
        ],
    )
    found = []
    for one in taken:
        reader, at = volts_reader(solved, one.probe), one.probe.point
        drop, turn = reader.by_drop[at], reader.by_quadrature[at]
        supply = reader.supply + drop * by_supply[0][at] + turn * by_supply[1][at]
        parts = [drop * falls[at] + turn * turns[at] for falls, turns in responses]
        variance = one.own * one.own + (reader.supply * one.gain) ** 2 + sum(part * part for part in parts)
        variance += supply * supply * (state.common**2 + state.drift**2)
        covariance = own[at]
        variance += drop * drop * covariance.drop + turn * turn * covariance.quadrature
        found.append(variance + 2.0 * drop * turn * covariance.both)
    return found


def work_of_tree(points: int, *, turned: bool) -> int:
    """Work of the variances of all voltages of a tree with so many points."""
    return 1 + points * (WORK_OF_TREE_TURNED if turned else WORK_OF_TREE)


def _scaled(each: Injection, share: float) -> Injection:
    return Injection(each.point, each.in_phase * share, each.across * share)


def _along(network: Network, parts: Iterable[tuple[Along, float]]) -> tuple[Values, Values]:
    """What several stretches leave over together, each with its share. [W, per-unit], one per point"""
    real, turn = [0.0] * network.points, [0.0] * network.points
    for each, share in parts:
        real[each.start] += share * each.in_phase
        real[each.end] -= share * each.in_phase
        turn[each.start] += share * each.across
        turn[each.end] -= share * each.across
    return real, turn


def _at(network: Network, parts: Iterable[Injection]) -> tuple[Values, Values]:
    """What is left over at several points together. [W, per-unit], one per point"""
    real, turn = [0.0] * network.points, [0.0] * network.points
    for at, in_phase, across in parts:
        real[at] += in_phase
        turn[at] += across
    return real, turn
