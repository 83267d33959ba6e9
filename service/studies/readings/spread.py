"""From what may be off, and how each reading would follow, to the covariance of the discrepancies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.studies.cables import resolve_cable
from service.studies.readings.chance import Spread
from service.studies.work import count

if TYPE_CHECKING:
    from collections.abc import Iterable

    from service.studies.job import CableSpec
    from service.studies.readings.allowance import Allowance
    from service.studies.readings.model import Model, Taken
    from service.studies.readings.slopes import Slopes

WORK_OF_PRODUCTS = 600
"""Products of numbers that are one unit of work."""


PRODUCTS = 6
"""Products of numbers that are one operation."""


def spread_of(model: Model, allowance: Allowance, taken: list[Taken], slopes: list[Slopes]) -> Spread:
    """Covariance of the discrepancies: of the meter, and of everything about the wiring that may be off."""
    columns = columns_of(model, allowance, taken, slopes)
    size = len(taken)
    model.spend(work_of_spread(size, len(columns)))
    count(size * (size + 1) * (len(columns) + size) // (2 * PRODUCTS))
    return Spread([each.own * each.own for each in taken], columns)


def work_of_spread(readings: int, columns: int) -> int:
    """Work of the covariance of so many readings and its Cholesky factor."""
    return 1 + readings * (readings + 1) * (columns + readings) // (2 * WORK_OF_PRODUCTS)


def columns_of(
    model: Model, allowance: Allowance, taken: list[Taken], slopes: list[Slopes]
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


def _supply_columns(model: Model, taken: list[Taken], slopes: list[Slopes]) -> list[list[float]]:
    """Mains and turns: one ratio common to all states, and one of each state."""
    pairs = list(zip(taken, slopes, strict=True))
    common = [each.supply * model.states[one.state].common for one, each in pairs]
    own = [
        [each.supply * state.drift if one.state == number else 0.0 for one, each in pairs]
        for number, state in enumerate(model.states)
    ]
    return [common, *own]


def _cable_columns(model: Model, allowance: Allowance, slopes: list[Slopes]) -> list[list[float]]:
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


def warmth_of(kinds: Iterable[CableSpec], allowance: Allowance) -> dict[CableSpec, float]:
    """By what share the resistance of each kind may be off for its temperature. [-]"""
    at_c = allowance.temperature_c
    return {spec: _per_kelvin(spec, at_c) * allowance.temperature_k for spec in kinds}


def _per_kelvin(spec: CableSpec, at_c: float) -> float:
    """By what share the resistance of a cable grows for one kelvin. [1/K]"""
    return resolve_cable(spec, at_c + 1.0).ohm_per_m / resolve_cable(spec, at_c).ohm_per_m - 1.0


def _power_columns(allowance: Allowance, slopes: list[Slopes]) -> list[list[float]]:
    """Each fixture row draws a little more or less than its label says."""
    rows = len(slopes[0].rows) if slopes else 0
    return [[allowance.power * each.rows[row] for each in slopes] for row in range(rows)]


def _meter_columns(taken: list[Taken], slopes: list[Slopes]) -> list[list[float]]:
    """One gain for all volts and one for all amperes: a meter that reads high reads high everywhere."""
    pairs = list(zip(taken, slopes, strict=True))
    return [
        [each.value * one.gain if one.probe.is_voltage is voltage else 0.0 for one, each in pairs]
        for voltage in (True, False)
    ]
