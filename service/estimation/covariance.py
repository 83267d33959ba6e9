"""The covariance of residuals from what may be off, and the chi-square by which they are judged."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import exp, inf, isfinite, lgamma, log, sqrt
from operator import mul

from service.circuit.cables import resolve_cable
from service.circuit.job import CableSpec
from service.circuit.work import count
from service.estimation.jacobian import Linearised, Sensitivities, volts_reader
from service.estimation.job import UNITS
from service.estimation.model import Measurement, Model, ReadState
from service.estimation.uncertainty import TAP_RATIO, Uncertainty
from service.physics.network import TERMINAL, Network
from service.physics.sensitivity import Values
from service.physics.tree import Along, Injection, tree_covariances

TERMS = 10_000

PRECISE = 1e-15

TINY = 1e-300


def chi_square_probability(value: float, degrees: int) -> float:
    """Chance that chi-square with so many degrees of freedom exceeds a value. [-]

    The regularised upper incomplete gamma function Q(k/2, x/2): its series below the mean, Lentz's continued
    fraction above (Abramowitz and Stegun 1964, 6.5.29 and 6.5.31).

    Examples
    --------
    The 5 % point of one degree is 3.841 (NIST/SEMATECH e-Handbook, table 1.3.6.7.4); matches.

    >>> round(chi_square_probability(3.841, 1), 4)
    0.05
    """
    if not isfinite(value):
        return 0.0
    if value <= 0.0 or degrees < 1:
        return 1.0
    a, x = 0.5 * degrees, 0.5 * value
    front = exp(a * log(x) - x - lgamma(a))
    if x < a + 1.0:
        return max(0.0, 1.0 - front * _series(a, x))
    return front * _fraction(a, x)


def _series(a: float, x: float) -> float:
    term = total = 1.0 / a
    for step in range(1, TERMS):
        term *= x / (a + step)
        total += term
        if term < total * PRECISE:
            break
    return total


def _fraction(a: float, x: float) -> float:
    b = x + 1.0 - a
    c, d = 1.0 / TINY, 1.0 / b
    value = d
    for step in range(1, TERMS):
        top = -step * (step - a)
        b += 2.0
        d = 1.0 / _not_zero(top * d + b)
        c = _not_zero(b + top / c)
        value *= c * d
        if abs(c * d - 1.0) < PRECISE:
            break
    return value


def _not_zero(value: float) -> float:
    return value if abs(value) > TINY else TINY


def dot(a: Sequence[float], b: Sequence[float]) -> float:
    """Sum of products."""
    return float(sum(map(mul, a, b)))


class Covariance:
    """A covariance, taken apart once (Cholesky), by which deviations are judged.

    Parameters
    ----------
    own : sequence of float
        Variance of each value that it shares with none.
    columns : sequence of sequence of float
        For each common fault the effect of one standard deviation of it on each value.
    """

    __slots__ = ("_lower", "log_determinant", "variance")

    def __init__(self, own: Sequence[float], columns: Sequence[Sequence[float]]) -> None:
        size = len(own)
        rows = list(zip(*columns, strict=True)) if columns else [()] * size
        covariance = [[dot(rows[i], rows[j]) for j in range(i + 1)] for i in range(size)]
        for i, each in enumerate(own):
            covariance[i][i] += each
        self.variance = [covariance[i][i] for i in range(size)]
        self._lower = _cholesky(covariance)
        self.log_determinant = 2.0 * sum(log(row[-1]) for row in self._lower)

    def whitened(self, residuals: Sequence[float]) -> list[float]:
        """Deviations made independent, each of unit variance; infinite where one of them is."""
        if not all(map(isfinite, residuals)):
            return [inf] * len(residuals)
        white: list[float] = []
        for row, each in zip(self._lower, residuals, strict=True):
            white.append((each - dot(row, white)) / row[-1])
        return white

    def chi_square(self, residuals: Sequence[float]) -> float:
        """Sum of squares of the whitened deviations. [-]"""
        white = self.whitened(residuals)
        return dot(white, white)


def _cholesky(covariance: list[list[float]]) -> list[list[float]]:
    """Lower triangle whose product with its transpose is the covariance."""
    lower: list[list[float]] = []
    for i, row in enumerate(covariance):
        made: list[float] = []
        for j in range(i):
            above = lower[j]
            made.append((row[j] - dot(above, made)) / above[j])
        made.append(sqrt(row[i] - dot(made, made)))
        lower.append(made)
    return lower


WORK_OF_PRODUCTS = 600
"""Products of numbers that are one unit of work."""

PRODUCTS = 6
"""Products of numbers that are one operation."""


def covariance_of(
    model: Model,
    uncertainty: Uncertainty,
    measurements: list[Measurement],
    sensitivities: list[Sensitivities],
) -> Covariance:
    """Covariance of the discrepancies: of the meter, and of everything about the wiring that may be off."""
    columns = columns_of(model, uncertainty, measurements, sensitivities)
    size = len(measurements)
    model.spend(work_of_covariance(size, len(columns)))
    count(size * (size + 1) * (len(columns) + size) // (2 * PRODUCTS))
    return Covariance([each.own * each.own for each in measurements], columns)


def work_of_covariance(readings: int, columns: int) -> int:
    """Work of the covariance of so many readings and its Cholesky factor."""
    return 1 + readings * (readings + 1) * (columns + readings) // (2 * WORK_OF_PRODUCTS)


def columns_of(
    model: Model,
    uncertainty: Uncertainty,
    measurements: list[Measurement],
    sensitivities: list[Sensitivities],
) -> list[list[float]]:
    """What one standard deviation of each thing that may be off does to each reading. [V], [A]"""
    columns = [
        *_supply_columns(model, measurements, sensitivities),
        *_tap_columns(model, measurements, sensitivities),
        [each.source * uncertainty.winding for each in sensitivities],
        *_cable_columns(model, uncertainty, sensitivities),
        *_power_columns(uncertainty, sensitivities),
        *_meter_columns(measurements, sensitivities),
    ]
    return [column for column in columns if any(column)]


def _supply_columns(
    model: Model, measurements: list[Measurement], sensitivities: list[Sensitivities]
) -> list[list[float]]:
    """Mains and turns: one ratio common to all states, and one of each state."""
    pairs = list(zip(measurements, sensitivities, strict=True))
    common = [each.supply * model.states[one.state].common for one, each in pairs]
    own = [
        [each.supply * state.drift if one.state == number else 0.0 for one, each in pairs]
        for number, state in enumerate(model.states)
    ]
    return [common, *own]


def tap_share(model: Model, point: int) -> float:
    """What the volts at a point may be off by for the turns of their tap; nothing on the secondary. [-]"""
    connected = model.connected
    other = connected.layout.open_circuit_v[point] != connected.feed.open_circuit_v[0]
    return TAP_RATIO if other else 0.0


def _tap_columns(
    model: Model, measurements: list[Measurement], sensitivities: list[Sensitivities]
) -> list[list[float]]:
    """Turns of each further tap, which move what is read behind it; other taps follow but little."""
    volts = model.connected.layout.open_circuit_v
    behind: dict[float, list[float]] = {}
    for index, (one, each) in enumerate(zip(measurements, sensitivities, strict=True)):
        if one.probe.is_voltage and (share := tap_share(model, one.probe.point)):
            column = behind.setdefault(volts[one.probe.point], [0.0] * len(measurements))
            column[index] = each.supply * share
    return list(behind.values())


def _cable_columns(
    model: Model, uncertainty: Uncertainty, sensitivities: list[Sensitivities]
) -> list[list[float]]:
    """Temperature of all conductors, resistance of each kind of cable, length of each span."""
    kinds = kinds_of(model)
    warmer = warmth_of(kinds, uncertainty)
    warmth = [
        sum(warmer[spec] * each.spans[index] for spec, indices in kinds.items() for index in indices)
        for each in sensitivities
    ]
    by_kind = [
        [uncertainty.resistance * sum(each.spans[index] for index in indices) for each in sensitivities]
        for indices in kinds.values()
    ]
    lengths = [
        [uncertainty.length * each.spans[index] for each in sensitivities]
        for indices in kinds.values()
        for index in indices
    ]
    return [warmth, *by_kind, *lengths]


def kinds_of(model: Model) -> dict[CableSpec, list[int]]:
    """The spans of each kind of cable, by index."""
    kinds: dict[CableSpec, list[int]] = {}
    for index, span in enumerate(model.connected.layout.spans):
        if span.cable is not None:
            kinds.setdefault(span.cable.spec, []).append(index)
    return kinds


def warmth_of(kinds: Iterable[CableSpec], uncertainty: Uncertainty) -> dict[CableSpec, float]:
    """By what share the resistance of each kind may be off for its temperature. [-]"""
    at_c = uncertainty.temperature_c
    return {spec: _per_kelvin(spec, at_c) * uncertainty.temperature_k for spec in kinds}


def _per_kelvin(spec: CableSpec, at_c: float) -> float:
    """By what share the resistance of a cable grows for one kelvin. [1/K]"""
    return resolve_cable(spec, at_c + 1.0).ohm_per_m / resolve_cable(spec, at_c).ohm_per_m - 1.0


def _power_columns(uncertainty: Uncertainty, sensitivities: list[Sensitivities]) -> list[list[float]]:
    """Each fixture row draws a little more or less than its label says."""
    rows = len(sensitivities[0].rows) if sensitivities else 0
    return [[uncertainty.power * each.rows[row] for each in sensitivities] for row in range(rows)]


def _meter_columns(measurements: list[Measurement], sensitivities: list[Sensitivities]) -> list[list[float]]:
    """One gain for each quantity: a meter that reads high reads high everywhere."""
    pairs = list(zip(measurements, sensitivities, strict=True))
    return [
        [each.value * one.gain if one.probe.quantity == quantity else 0.0 for one, each in pairs]
        for quantity in UNITS
    ]


WORK_OF_TREE, WORK_OF_TREE_TURNED = 1, 5
"""Work of both passes, for each point."""


def volts_variances(
    model: Model,
    line: Linearised,
    state: ReadState,
    uncertainty: Uncertainty,
    measurements: list[Measurement],
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
    warmer = warmth_of(kinds, uncertainty)
    each_span = injections.spans
    shared = [
        _along(
            network,
            [(each_span[index], warmer[spec]) for spec, indices in kinds.items() for index in indices],
        ),
        *(
            _along(network, [(each_span[index], uncertainty.resistance) for index in indices])
            for indices in kinds.values()
        ),
        _at(network, [Injection(TERMINAL, *(part * uncertainty.winding for part in injections.source))]),
    ]
    responses = [line.tangent.response(*each) for each in shared]
    by_supply = line.tangent.response(*_at(network, injections.supply))
    own = tree_covariances(
        network,
        solved.point,
        [[_scaled(each, uncertainty.power) for each in row] for row in injections.rows],
        [
            Along(a, b, real * uncertainty.length, turn * uncertainty.length)
            for indices in kinds.values()
            for a, b, real, turn in map(each_span.__getitem__, indices)
        ],
    )
    found = []
    for one in measurements:
        reader, at = volts_reader(solved, one.probe), one.probe.point
        drop, turn = reader.by_drop[at], reader.by_quadrature[at]
        supply = reader.supply + drop * by_supply[0][at] + turn * by_supply[1][at]
        parts = [drop * falls[at] + turn * turns[at] for falls, turns in responses]
        variance = one.own * one.own + (reader.supply * one.gain) ** 2 + sum(part * part for part in parts)
        variance += supply * supply * (state.common**2 + state.drift**2 + tap_share(model, at) ** 2)
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
