"""The sheet of a drop chart."""

from __future__ import annotations

from collections.abc import Iterator

from service.sheets.axes import Scale, apart, clipped, round_step
from service.sheets.drawing import Drawing, Part, Stroke, Words, mark
from service.sheets.figures import NOTHING, asked, either, figure, optional, plain, quantity, said
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
from service.studies.drop_chart.reply import CarriedLoad, ChartCell, ChartedCable, ChartEnd, DropChartReply
from service.studies.drop_chart.request import DropChartRequest

STUDY = "Drop chart"


_LAYOUTS = (
    "Lumped: all of the load at the far end, the cautious layout. Spread: evenly and without gaps from the"
    " supply to the far end. Per cent are of the open circuit."
)


def drop_chart_sheet(request: DropChartRequest, reply: DropChartReply) -> Sheet:
    """What is left at the end of each cable, for loads times lengths."""
    unit = reply.cables[0].cells[0].length.unit
    note = said(reply.shortcut_note)
    sections = [
        Section(
            "Volts left", [Figure(drawing, drawing.title) for drawing in panels(reply, len(request.lengths))]
        ),
        *(Section(cable.name, [_cells(cable, unit)]) for cable in reply.cables),
        Section("How to read it", [Paragraph(_LAYOUTS), *([] if note is None else [Paragraph(note)])]),
        Section("What was asked", [Facts(list(_facts(reply))), _cables(request, reply)]),
        *closing_sections(reply),
    ]
    sheet = head(request, STUDY, unit, filled(sections))
    title = said(reply.title)
    own = said(request.sheet)
    named = own is not None and said(own.title) is not None
    return sheet if title is None or named else sheet._replace(title=title)


def _cells(cable: ChartedCable, unit: str) -> Table:
    quick = any(said(cell.shortcut) is not None for cell in cable.cells)
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
    shortcut = said(cell.shortcut)
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
    return [figure(end.end_voltage), plain(end.drop_percent), figure(end.current), end.verdict]


def _facts(reply: DropChartReply) -> Iterator[tuple[str, str]]:
    limits = reply.limits
    yield "At the start of the cables", quantity(reply.open_circuit)
    yield "Fixtures made for", asked(reply.nominal_voltage)
    yield "Conductors at", f"{plain(reply.conductor_temperature.value)} °C"
    yield "Power factor", plain(reply.power_factor)
    yield "Low and below the window under", f"{asked(limits.low)}, {asked(limits.below)}"
    yield "High and above the window over", f"{asked(limits.high)}, {asked(limits.above)}"
    yield "Source of the window", limits.source
    most, left = said(limits.maximum_drop_percent), said(limits.over_drop)
    if most is not None and left is not None:
        yield "Largest drop allowed", f"{plain(most)} %, which leaves {quantity(left)}"


def _cables(request: DropChartRequest, reply: DropChartReply) -> Table:
    rows = []
    for asked_cable, cable in zip(request.cables, reply.cables, strict=True):
        ampacity, constant = said(cable.ampacity), said(cable.shortcut_constant)
        numbers_of = [
            NOTHING if ampacity is None else plain(ampacity.value),
            NOTHING if constant is None else plain(constant.value),
        ]
        rows.append(
            [cable.name, cable_words(asked_cable.cable), cable.conductor, *numbers_of, either(said(cable.id))]
        )
    return Table(
        [
            *texts("Name", "Cable", "Conductor"),
            *numbers("Ampacity [A]", "Trade's constant [W·ft/V]"),
            Column("Id"),
        ],
        rows,
    )


LEFT, RIGHT, TOP, BOTTOM = 34.0, 404.0, 12.0, 150.0


HEIGHT = 184.0


LONGEST_NAME = 18


def panels(reply: DropChartReply, lengths: int) -> list[Drawing]:
    """A drawing for each load; all share their axes, so that they can be compared."""
    found = []
    x, y = _scales(reply)
    for first in range(0, len(reply.cables[0].cells), lengths):
        power = reply.cables[0].cells[first].power
        parts = [*_axes(x, y, reply), *_lines(reply, first, lengths, x, y)]
        title = f"{plain(power.value)} W, all of it at the far end"
        found.append(Drawing(title, _told(reply, first, lengths), HEIGHT, parts))
    return found


def _scales(reply: DropChartReply) -> tuple[Scale, Scale]:
    cells = [cell for cable in reply.cables for cell in cable.cells]
    ends = [cell.lumped.end_voltage.value for cell in cells if isinstance(cell.lumped, CarriedLoad)]
    shown = [reply.open_circuit.value, *(volts for volts, _ in _limits(reply)), *ends]
    low, high = min(shown), max(shown)
    step = round_step(max(high - low, 0.02 * high) / 5.0)
    longest = max(cell.length.value for cell in cells)
    x = Scale(0.0, longest or 1.0, LEFT, RIGHT)
    return x, Scale(max(0.0, low - 0.5 * step), high + 0.3 * step, BOTTOM, TOP)


def _axes(x: Scale, y: Scale, reply: DropChartReply) -> list[Part]:
    parts: list[Part] = [Words("V", LEFT - 5.0, TOP - 4.0, anchor="end", tone="quiet")]
    for volts in y.ticks(5):
        parts.append(Stroke([(LEFT, y.at(volts)), (RIGHT, y.at(volts))], "faint"))
        parts.append(Words(f"{volts:g}", LEFT - 5.0, y.at(volts) + 2.8, anchor="end", tone="quiet"))
    parts += [
        Words(f"{length:g}", x.at(length), BOTTOM + 11.0, anchor="middle", tone="quiet")
        for length in x.ticks(6)
    ]
    unit = reply.cables[0].cells[0].length.unit
    parts.append(
        Words(f"length, one way [{unit}]", 0.5 * (LEFT + RIGHT), BOTTOM + 24.0, anchor="middle", tone="quiet")
    )
    for volts, words in _limits(reply):
        parts.append(Stroke([(LEFT, y.at(volts)), (RIGHT, y.at(volts))], "limit"))
        parts.append(Words(f"{plain(volts)} V: {words}", LEFT + 4.0, y.at(volts) - 3.0, 7.0, tone="warn"))
    return [*parts, Stroke([(LEFT, TOP), (LEFT, BOTTOM), (RIGHT, BOTTOM)])]


def _limits(reply: DropChartReply) -> Iterator[tuple[float, str]]:
    yield reply.limits.low.value, "low for the fixtures"
    if (left := said(reply.limits.over_drop)) is not None:
        yield left.value, "the drop that is allowed"


def _lines(reply: DropChartReply, first: int, lengths: int, x: Scale, y: Scale) -> list[Part]:
    parts: list[Part] = []
    lines = [_line(cable, first, lengths, reply.open_circuit.value) for cable in reply.cables]
    places = apart([y.at(line[-1][1]) for line in lines], 10.5, BOTTOM)
    for cable, line, place in zip(reply.cables, lines, places, strict=True):
        points = [(x.at(length), y.at(volts)) for length, volts, _ in line]
        parts.append(Stroke([points[-1], (RIGHT + 6.0, place), (RIGHT + 8.0, place)], "faint"))
        parts.append(Stroke(points, "bold"))
        parts += [
            mark(verdict, *point) for point, (_, _, verdict) in zip(points, line, strict=True) if verdict
        ]
        lost = "" if len(line) == lengths + 1 else " ×"
        parts.append(Words(clipped(cable.name, LONGEST_NAME) + lost, RIGHT + 10.0, place + 2.8))
    return parts


def _line(cable: ChartedCable, first: int, lengths: int, start_v: float) -> list[tuple[float, float, str]]:
    """Length, volts and verdict at each end that is carried, from the start of the cable on."""
    cells = sorted(cable.cells[first : first + lengths], key=lambda cell: cell.length.value)
    carried = [
        (cell.length.value, cell.lumped.end_voltage.value, cell.lumped.verdict)
        for cell in cells
        if isinstance(cell.lumped, CarriedLoad)
    ]
    return [(0.0, start_v, ""), *carried]


def _told(reply: DropChartReply, first: int, lengths: int) -> str:
    told = []
    for cable in reply.cables:
        length, volts, _ = _line(cable, first, lengths, reply.open_circuit.value)[-1]
        told.append(f"{cable.name}: {plain(volts)} V left at {plain(length)}")
    return "; ".join(told) + ". A cross beside a name: a longer one carries that load at no voltage."
