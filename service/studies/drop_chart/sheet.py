"""The sheet of a drop chart."""

from __future__ import annotations

from collections.abc import Iterator

from service.sheets.figures import (
    NOTHING,
    as_stated,
    either,
    figure,
    given,
    optional,
    per_cent,
    plain,
    quantity,
)
from service.sheets.sections import cable_words, closing_sections, head
from service.sheets.sheet import (
    Column,
    Facts,
    Figure,
    Paragraph,
    Section,
    Sheet,
    Table,
    filled,
    numbers,
    texts,
)
from service.studies.drop_chart.drawing import ALONE, ON_SHEET, panels
from service.studies.drop_chart.reply import CarriedLoad, ChartCell, ChartedCable, ChartEnd, DropChartReply
from service.studies.drop_chart.request import DropChartRequest
from service.translate.rows import TOWARDS_FAILING

STUDY = "Drop chart"


_LAYOUTS = (
    "Lumped: all of the load at the far end, the cautious layout. Spread: evenly and without gaps from the"
    " supply to the far end. Per cent are of the open circuit."
)


def _figures(reply: DropChartReply, lengths: int) -> list[Figure]:
    """A chart for each load, for paper and for a phone."""
    broad, slim = (panels(reply, lengths, layout) for layout in (ON_SHEET, ALONE))
    return [Figure(each, each.title, other) for each, other in zip(broad, slim, strict=True)]


def drop_chart_sheet(request: DropChartRequest, reply: DropChartReply) -> Sheet:
    """What is left at the end of each cable, for loads times lengths."""
    unit = reply.cables[0].cells[0].length.unit
    note = given(reply.shortcut_note)
    sections = [
        Section(
            "Volts left",
            _figures(reply, len(request.lengths)),
        ),
        *(Section(cable.name, [_cells(cable, unit)]) for cable in reply.cables),
        Section("How to read it", [Paragraph(_LAYOUTS), *([] if note is None else [Paragraph(note)])]),
        Section("What was asked", [Facts(list(_facts(reply))), _cables(request, reply)]),
        *closing_sections(reply),
    ]
    sheet = head(request, STUDY, unit, filled(sections))
    title = given(reply.title)
    own = given(request.sheet)
    named = own is not None and given(own.title) is not None
    return sheet if title is None or named else sheet._replace(title=title)


def _cells(cable: ChartedCable, unit: str) -> Table:
    quick = any(given(cell.shortcut) is not None for cell in cable.cells)
    columns = [
        *numbers("Load [W]", f"Length [{unit}]", "Lumped, end [V]", "Drop [%]", "Current [A]"),
        Column("Verdict"),
        *numbers("Spread, end [V]", "Drop [%]", "Current [A]"),
        Column("Verdict"),
        *(numbers("Trade's shortcut [V]", "less lumped [V]", "less spread [V]") if quick else []),
    ]
    return Table(columns, [_cell(cell, quick=quick) for cell in cable.cells])


def _cell(cell: ChartCell, *, quick: bool) -> list[str]:
    ends = [*_end(cell.lumped), *_end(cell.evenly_spread)]
    return [plain(cell.power.value), plain(cell.length.value), *ends, *(_shortcut(cell) if quick else [])]


def _shortcut(cell: ChartCell) -> list[str]:
    shortcut = given(cell.shortcut)
    if shortcut is None:
        return [NOTHING] * 3
    return [
        figure(shortcut.end_voltage),
        optional(shortcut.minus_lumped),
        optional(shortcut.minus_evenly_spread),
    ]


def _end(end: ChartEnd) -> list[str]:
    if not isinstance(end, CarriedLoad):
        return [NOTHING, NOTHING, NOTHING, "collapsed"]
    towards = TOWARDS_FAILING.get(end.verdict, 0)
    drop = per_cent(end.drop_percent)
    return [figure(end.end_voltage, towards), drop, figure(end.current), end.verdict]


def _facts(reply: DropChartReply) -> Iterator[tuple[str, str]]:
    limits = reply.limits
    yield "At the start of the cables", quantity(reply.open_circuit)
    yield "Fixtures made for", as_stated(reply.nominal_voltage)
    yield "Conductors at", f"{plain(reply.conductor_temperature.value)} °C"
    yield "Power factor", plain(reply.power_factor)
    yield "Low and below the window under", f"{as_stated(limits.low)}, {as_stated(limits.below)}"
    yield "High and above the window over", f"{as_stated(limits.high)}, {as_stated(limits.above)}"
    yield "Source of the window", limits.source
    most, left = given(limits.maximum_drop_percent), given(limits.over_drop)
    if most is not None and left is not None:
        yield "Largest drop allowed", f"{plain(most)} %, which leaves {quantity(left)}"


def _cables(request: DropChartRequest, reply: DropChartReply) -> Table:
    rows = []
    for asked_cable, cable in zip(request.cables, reply.cables, strict=True):
        ampacity, constant = given(cable.ampacity), given(cable.shortcut_constant)
        rows.append(
            [
                cable.name,
                cable_words(asked_cable.cable),
                cable.conductor,
                NOTHING if ampacity is None else plain(ampacity.value),
                either(given(cable.installation_method)),
                NOTHING if constant is None else plain(constant.value),
                either(given(cable.id)),
            ]
        )
    return Table(
        [
            *texts("Name", "Cable", "Conductor"),
            *numbers("Ampacity [A]"),
            Column("Laid for that ampacity"),
            *numbers("Trade's constant [W·ft/V]"),
            Column("Id"),
        ],
        rows,
    )
