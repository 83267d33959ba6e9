"""A drop chart as comma-separated values (RFC 4180)."""

from __future__ import annotations

import csv
from io import StringIO

from msgspec import UnsetType

from service.studies.drop_chart.reply import CarriedLoad, ChartCell, ChartEnd, DropChartReply
from service.translate.csv_cells import Cell, as_text
from service.wire.quantities import ShownVoltage

_END = ("end_v", "drop_percent", "current_a", "verdict")


def chart_csv(reply: DropChartReply) -> str:
    """A header and a row for each cell; lengths are in the unit that the header names.

    Texts that a spreadsheet would compute get an apostrophe in front. Numbers are left as they are, and where
    there is none the cell is empty.
    """
    text = StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    unit = reply.cables[0].cells[0].length.unit
    writer.writerow(
        [
            "name",
            "conductor",
            "power_w",
            f"length_{unit}",
            *(f"{layout}_{column}" for layout in ("lumped", "evenly_spread") for column in _END),
            "shortcut_end_v",
            "shortcut_minus_lumped_v",
            "shortcut_minus_evenly_spread_v",
            "shortcut_basis",
        ]
    )
    for cable in reply.cables:
        names = [as_text(cable.name), as_text(cable.conductor)]
        writer.writerows([*names, *_cells(cell)] for cell in cable.cells)
    return text.getvalue()


def _cells(cell: ChartCell) -> list[Cell]:
    return [
        cell.power.value,
        cell.length.value,
        *_end(cell.lumped),
        *_end(cell.evenly_spread),
        *_shortcut(cell),
    ]


def _end(end: ChartEnd) -> list[Cell]:
    if not isinstance(end, CarriedLoad):
        return [None, None, None, "collapsed"]
    return [end.end_voltage.value, end.drop_percent, end.current.value, end.verdict]


def _shortcut(cell: ChartCell) -> list[Cell]:
    shortcut = cell.shortcut
    if isinstance(shortcut, UnsetType):
        return [None] * 4
    return [
        shortcut.end_voltage.value,
        _volts(shortcut.minus_lumped),
        _volts(shortcut.minus_evenly_spread),
        "common practice, no published source",
    ]


def _volts(voltage: ShownVoltage | UnsetType) -> float | None:
    return None if isinstance(voltage, UnsetType) else voltage.value
