"""A drop chart as a drawing: a panel for each load, a line for each cable.

Lines differ by dash and mark and carry their names, so the drawing needs no colour.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Final, NamedTuple

from msgspec import UnsetType

from service.findings.cautions import CAUTIONS
from service.sheets.chart import (
    SAMPLE,
    Chart,
    ChartLimit,
    Frame,
    Scale,
    apart,
    clipped,
    cross,
    dashes,
    round_step,
    sample,
    series_mark,
)
from service.sheets.drawing import WIDE, Drawing, Part, Point, Stroke, Tone, Words, shifted
from service.studies.drop_chart.reply import CarriedLoad, ChartCell, DropChartReply
from service.studies.drop_chart.request import DropChartRequest
from service.studies.drop_chart.translate import TOWARDS
from service.translate.rounding import rounded

TITLE: Final = "Volts left at the end of the cable"


CROSSED: Final = "× The cable cannot carry the load at that length, at any voltage."


_LINE: Final = 14.0


_LONGEST_NOTE, _LONGEST_LINE, _LONGEST_TITLE = 74, 66, 42


_MOST_TOLD: Final = 24


MOST_MARKS: Final = 8


class PanelSize(NamedTuple):
    """Where the axes of a panel stand, how tall and wide it is, and how long a name is beside its line."""

    frame: Frame
    height: float
    width: float
    longest_name: int


ON_SHEET: Final = PanelSize(Frame(left=34.0, right=372.0, top=12.0, bottom=150.0), 184.0, WIDE, 18)


ALONE: Final = PanelSize(Frame(left=30.0, right=264.0, top=28.0, bottom=224.0, size=12.0), 270.0, 416.0, 10)
"""Narrow, with large words, as a picture stands in a page."""


def chart_drawing(request: DropChartRequest, reply: DropChartReply) -> Drawing:
    """All panels one below the other, under what holds for all of them."""
    lengths = len(request.lengths)
    title = TITLE if isinstance(reply.title, UnsetType) else reply.title
    parts, top = _head(title, _conditions(reply))
    for panel, cells in zip(panels(reply, lengths, ALONE), _loads(reply, lengths), strict=True):
        watts = f"{cells[0][0].power.value:g} W"
        parts.append(Words(watts, ALONE.frame.left, top + 17.0, 14.0, bold=True))
        parts += shifted(panel.parts, top)
        top += panel.height
    foot, height = _foot(reply, top + 12.0)
    return Drawing(title, _description(reply, lengths), height, [*parts, *foot], ALONE.width)


def panels(reply: DropChartReply, lengths: int, layout: PanelSize) -> list[Drawing]:
    """A drawing for each load; all share their axes, so that they can be compared."""
    panel = _panel(reply, layout)
    return [
        Drawing(
            f"{cells[0][0].power.value:g} W, all of it at the far end",
            "; ".join(_ends(reply, cells)) + ".",
            layout.height,
            panel.parts([_line(each) for each in cells]),
            layout.width,
        )
        for cells in _loads(reply, lengths)
    ]


def _loads(reply: DropChartReply, lengths: int) -> list[list[Sequence[ChartCell]]]:
    """For each load the cells of each cable."""
    return [
        [cable.cells[first : first + lengths] for cable in reply.cables]
        for first in range(0, len(reply.cables[0].cells), lengths)
    ]


def _head(title: str, conditions: str) -> tuple[list[Part], float]:
    """The title and what holds for all panels, and where they end."""
    parts: list[Part] = []
    y = 0.0
    for line in wrap(title, _LONGEST_TITLE):
        y += 19.0
        parts.append(Words(line, 2.0, y, 17.0, bold=True))
    y += 5.0
    for line in wrap(conditions, _LONGEST_LINE):
        y += 15.0
        parts.append(Words(line, 2.0, y, 12.0, tone="quiet"))
    return parts, y + 6.0


def _conditions(reply: DropChartReply) -> str:
    conditions = [
        f"{reply.open_circuit.value:g} V at the start",
        f"cable at {reply.conductor_temperature.value:g} °C",
        "all of the load at the far end",
    ]
    if reply.power_factor != 1.0:
        conditions.insert(1, f"power factor {reply.power_factor:g}")
    return ", ".join(conditions)


def _panel(reply: DropChartReply, layout: PanelSize) -> _Panel:
    """Axes that hold all panels, so that they can be compared."""
    cells = [cell for cable in reply.cables for cell in cable.cells]
    ends = [cell.lumped.end_voltage.value for cell in cells if isinstance(cell.lumped, CarriedLoad)]
    open_circuit_v = reply.open_circuit.value
    limits = list(_limits(reply, min(ends, default=open_circuit_v)))
    shown = [open_circuit_v, *ends, *(limit.value for limit in limits)]
    low, high = min(shown), max(shown)
    step = round_step(max(high - low, 0.02 * high) / 5.0)
    longest = max(cell.length.value for cell in cells)
    left, right, top, bottom, _ = layout.frame
    x = Scale(0.0, longest or 1.0, left, right)
    y = Scale(max(0.0, low - 0.6 * step), high + 0.2 * step, bottom, top)
    names = [clipped(cable.name, layout.longest_name) for cable in reply.cables]
    return _Panel(names, limits, open_circuit_v, Chart(layout.frame, x, y), cells[0].length.unit)


def _limits(reply: DropChartReply, lowest_v: float) -> Iterator[ChartLimit]:
    """The limits that matter here: the low one always, the others where something comes near them."""
    limits, lamp = reply.limits, f"{reply.nominal_voltage.value:g} V LED"
    yield ChartLimit(limits.low.value, f"{limits.low.value:g} V: low for {lamp}", "below")
    if lowest_v < limits.low.value:
        below = limits.below.value
        yield ChartLimit(below, f"{below:g} V: below the window of {lamp}", "below")
    if reply.open_circuit.value > limits.high.value:
        high = limits.high.value
        yield ChartLimit(high, f"{high:g} V: above the window of {lamp}", "above")
    if not isinstance(limits.over_drop, UnsetType):
        text = f"{limits.over_drop.value:g} V: {limits.maximum_drop_percent:g} % drop"
        yield ChartLimit(limits.over_drop.value, text, "below")


def _foot(reply: DropChartReply, top: float) -> tuple[list[Part], float]:
    """Long names in full, what a cross means, and the cautions; and where the drawing ends."""
    parts: list[Part] = []
    if any(len(cable.name) > ALONE.longest_name for cable in reply.cables):
        for index, cable in enumerate(reply.cables):
            parts += [*sample(index, 2.0, top), Words(cable.name, 32.0, top + 4.0, 12.0)]
            top += _LINE + 2.0
        top += 4.0
    for line in _notes(reply):
        parts.append(Words(line, 2.0, top + 4.0, 11.0, tone="quiet"))
        top += _LINE
    return parts, top - 6.0


def _notes(reply: DropChartReply) -> Iterator[str]:
    lost = any(not isinstance(cell.lumped, CarriedLoad) for cable in reply.cables for cell in cable.cells)
    if lost:
        yield CROSSED
    for code in ("local-code", "meter-under-load"):
        yield from wrap(CAUTIONS[code], _LONGEST_NOTE)


def _description(reply: DropChartReply, lengths: int) -> str:
    """The drawing in words: what is left at the greatest length, and every caution."""
    ends = [end for cells in _loads(reply, lengths) for end in _ends(reply, cells)]
    more = " And so on." if len(ends) > _MOST_TOLD else ""
    limit = reply.limits.over_drop
    judged = "" if isinstance(limit, UnsetType) else f" The drop limit is at {limit.value:g} V."
    return (
        f"{_conditions(reply)}. {'; '.join(ends[:_MOST_TOLD])}.{more}"
        f" Below {reply.limits.low.value:g} V is low for the fixtures.{judged} {' '.join(CAUTIONS.values())}"
    )


def _ends(reply: DropChartReply, cells: list[Sequence[ChartCell]]) -> Iterator[str]:
    """One load at the greatest length of each cable, in words."""
    for cable, each in zip(reply.cables, cells, strict=True):
        cell = max(each, key=lambda one: one.length.value)
        end = cell.lumped
        volts = f"{end.end_voltage.value:g} V" if isinstance(end, CarriedLoad) else "collapses"
        yield f"{cell.power.value:g} W at {cell.length.value:g} {cell.length.unit} of {cable.name}: {volts}"


class _Panel(NamedTuple):
    """What all panels share: the names of the lines, the limits, the axes and the unit of length. [V]"""

    names: list[str]
    limits: list[ChartLimit]
    open_circuit_v: float
    chart: Chart
    unit: str

    def parts(self, lines: list[_Line]) -> list[Part]:
        """The panel of one load; the labels of its lines keep out of each other's way."""
        chart = self.chart
        ends = [self._end(line) for line in lines]
        gap = 1.25 * chart.frame.size
        labels = apart([y for _, y in ends], gap, chart.frame.bottom)
        parts = [
            *chart.tints(self.limits),
            *chart.axes(f"length, one way [{self.unit}]"),
            *chart.limit_lines(self.limits),
        ]
        for index, line in enumerate(lines):
            parts += self._curve(index, line)
        for index, (line, end, label) in enumerate(zip(lines, ends, labels, strict=True)):
            parts += self._label(index, line, end, label)
        return [*parts, *chart.limit_words(self.limits)]

    def _end(self, line: _Line) -> Point:
        """Where a line ends: at its last point, or on the axis at the length that it cannot serve."""
        if line.collapses_at is not None:
            return self.chart.x.at(line.collapses_at), self.chart.frame.bottom
        return self._points(line)[-1]

    def _points(self, line: _Line) -> list[Point]:
        """The supply, and what each length leaves."""
        carried = [(length, end.end_voltage.value) for length, end in line.carried]
        return [self.chart.at(*place) for place in [(0.0, self.open_circuit_v), *carried]]

    def _curve(self, index: int, line: _Line) -> list[Part]:
        points = self._points(line)
        every = -(-len(points[1:]) // MOST_MARKS) or 1
        tones: list[Tone] = ["ink" if end.verdict == "inside" else "warn" for _, end in line.carried]
        placed = list(zip(points[1:], tones, strict=True))[::-1][::every]
        marks = [series_mark(index, *place, tone) for place, tone in placed]
        return [Stroke(points, "bold", dashes(index)), *marks]

    def _label(self, index: int, line: _Line, end: Point, y: float) -> list[Part]:
        """The name and the last voltage beside the line, with a piece of it."""
        size = self.chart.frame.size
        left = self.chart.frame.right + size
        words = Words(f"{self.names[index]} {line.last}", left + SAMPLE + 6.0, y + 0.35 * size, size)
        label = [*sample(index, left, y), words]
        if line.collapses_at is not None:
            return [Stroke([self._points(line)[-1], end], "faint"), cross(*end), *label]
        return [Stroke([(end[0] + 6.0, end[1]), (left - 4.0, y)], "faint"), *label]


class _Line(NamedTuple):
    """One cable under one load: its points in the order of length, and the first length that is too much."""

    carried: list[tuple[float, CarriedLoad]]
    collapses_at: float | None

    @property
    def last(self) -> str:
        """The voltage of the last point, rounded towards failing; a cross where the cable gives up."""
        if self.collapses_at is not None:
            return "×"
        _, end = self.carried[-1]
        return f"{rounded(end.end_voltage.value, 2, TOWARDS[end.verdict]):.2f} V"


def _line(cells: Sequence[ChartCell]) -> _Line:
    carried: list[tuple[float, CarriedLoad]] = []
    for cell in sorted(cells, key=lambda each: each.length.value):
        if not isinstance(cell.lumped, CarriedLoad):
            return _Line(carried, cell.length.value)
        carried.append((cell.length.value, cell.lumped))
    return _Line(carried, None)
