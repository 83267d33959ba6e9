"""Rows of a drop chart: from SI floats to shown quantities, never so that a failure looks like a pass."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service.messages import drop_chart as wire
from service.messages.shown import ShownLength, ShownVoltage
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import TOWARDS_FAILING, amps, volts, watts
from service.units import from_inside

if TYPE_CHECKING:
    from service.studies.drop_chart_job import Cell, ChartedLine, ChartEnd, ChartJob
    from service.studies.window import Bounds

TOWARDS = {**TOWARDS_FAILING, "over-drop": -1, "over-ampacity": 0}
"""Which way the voltage of an end may not be rounded away from."""


def limits_row(bounds: Bounds, job: ChartJob) -> wire.ChartLimits:
    """By what the ends are judged."""
    most_ratio = job.maximum_drop_ratio
    return wire.ChartLimits(
        below=volts(bounds.lowest_v),
        low=volts(bounds.low_v),
        high=volts(bounds.high_v),
        above=volts(bounds.highest_v),
        source=bounds.source,
        maximum_drop_percent=UNSET if most_ratio is None else round(100.0 * most_ratio, DECIMALS["%"]),
        over_drop=UNSET if most_ratio is None else volts(job.open_circuit_v * (1.0 - most_ratio)),
    )


def cable_row(charted: ChartedLine, length_unit: str) -> wire.ChartedCable:
    """One cable with its cells; the unit is m or ft."""
    line, cable, constant = charted.line, charted.cable, charted.constant
    return wire.ChartedCable(
        pointer=line.subject.pointer,
        name=cable.name if line.name is None else line.name,
        conductor=cable.name,
        cells=[_cell_row(cell, length_unit) for cell in charted.cells],
        id=UNSET if line.subject.id is None else line.subject.id,
        ampacity=UNSET if cable.ampacity_a is None else amps(cable.ampacity_a),
        shortcut_constant=UNSET
        if constant is None
        else wire.CableConstant(constant.watt_feet_per_volt, "W.ft/V"),
    )


def _cell_row(cell: Cell, unit: str) -> wire.ChartCell:
    length = rounded(from_inside(cell.length_m, unit), DECIMALS[unit])
    return wire.ChartCell(
        watts(cell.power_w),
        ShownLength(length, unit),  # type: ignore[arg-type]  # m or ft
        _end_row(cell.lumped),
        _end_row(cell.spread),
        UNSET if cell.shortcut_v is None else _shortcut_row(cell.shortcut_v, cell),
    )


def _end_row(end: ChartEnd | None) -> wire.ChartEnd:
    if end is None:
        return wire.UncarriedLoad()
    over_drop, over_ampacity = end.verdict == "over-drop", end.verdict == "over-ampacity"
    return wire.CarriedLoad(
        volts(end.end_v, TOWARDS[end.verdict]),
        rounded(100.0 * end.drop_ratio, DECIMALS["%"], 1 if over_drop else 0),
        amps(end.current_a, 1 if over_ampacity else 0),
        end.verdict,
    )


def _shortcut_row(shortcut_v: float, cell: Cell) -> wire.ShortcutEnd:
    return wire.ShortcutEnd(
        volts(shortcut_v), _difference(shortcut_v, cell.lumped), _difference(shortcut_v, cell.spread)
    )


def _difference(shortcut_v: float, end: ChartEnd | None) -> ShownVoltage | UnsetType:
    return UNSET if end is None else volts(shortcut_v - end.end_v)
