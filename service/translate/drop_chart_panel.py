"""One panel of the drawing: the lines of all cables for one load."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from service.messages.drop_chart import CarriedLoad
from service.translate.drop_chart_marks import (
    Scale,
    apart,
    clipped,
    dashes,
    element,
    mark,
    plain,
    words,
)
from service.translate.drop_chart_rows import TOWARDS
from service.translate.rounding import rounded

if TYPE_CHECKING:
    from collections.abc import Sequence

    from service.messages.drop_chart import ChartCell, ChartedCable

LEFT, RIGHT, LABELS, WIDTH = 42.0, 276.0, 288.0, 440.0
"""Where the axes begin and end, where the labels of the lines begin, and where the drawing ends."""

HEAD, TALL, FOOT = 28.0, 196.0, 46.0
HEIGHT: Final = HEAD + TALL + FOOT

LONGEST_LABEL = 10
LABEL_GAP = 15.0
MOST_MARKS = 8


class LimitLine(NamedTuple):
    """A voltage at which the verdict changes [V], and its words; a lower end fails, or a higher one."""

    voltage_v: float
    text: str
    lower_fails: bool


class Panel(NamedTuple):
    """What all panels share: the cables, the lines of the limits, both axes and the unit of length."""

    cables: list[ChartedCable]
    limits: list[LimitLine]
    open_circuit_v: float
    x: Scale
    y: Scale
    unit: str

    def drawn(self, cells: list[Sequence[ChartCell]], top: float) -> str:
        """The panel of one load from `top` on; `cells` are those of each cable."""
        here = self._replace(y=self.y._replace(first=top + HEAD + TALL, last=top + HEAD))
        (first, *_), *_ = cells
        parts = [
            words(f"{first.power.value:g} W", LEFT, top + 17.0, font_size=14, font_weight=600),
            *here.axes(),
            *here.limit_lines(),
            *here.lines([_line(each) for each in cells]),
            *here.limit_words(),
        ]
        return element("g", "".join(parts))

    def axes(self) -> list[str]:
        """Ticks with their numbers, faint lines across, and what the axes measure."""
        bottom = self.y.first
        parts = []
        for volts in self.y.ticks(5):
            y = self.y.at(volts)
            parts.append(element("path", class_="faint", d=f"M{plain(LEFT)} {plain(y)}H{plain(RIGHT)}"))
            parts.append(words(f"{volts:g}", LEFT - 6.0, y + 4.0, text_anchor="end"))
        for length in self.x.ticks(5):
            x = self.x.at(length)
            parts.append(element("path", class_="line", d=f"M{plain(x)} {plain(bottom)}v4"))
            parts.append(words(f"{length:g}", x, bottom + 17.0, text_anchor="middle"))
        axis = f"M{plain(LEFT)} {plain(self.y.last)}V{plain(bottom)}H{plain(RIGHT)}"
        middle = 0.5 * (LEFT + RIGHT)
        return [
            *parts,
            element("path", class_="line", d=axis),
            words("V", LEFT - 6.0, self.y.last - 11.0, text_anchor="end"),
            words(f"length, one way [{self.unit}]", middle, bottom + 33.0, text_anchor="middle"),
        ]

    def limit_lines(self) -> list[str]:
        """Where the verdict changes, and a tint where it is bad."""
        parts = []
        for limit in self.limits:
            y = self.y.at(limit.voltage_v)
            edge = self.y.first if limit.lower_fails else self.y.last
            across = f"M{plain(LEFT)} {plain(y)}H{plain(RIGHT)}"
            tint = f"{across}V{plain(edge)}H{plain(LEFT)}z"
            parts.append(element("path", class_="tint", d=tint))
            parts.append(element("path", class_="limit", d=across))
        return parts

    def limit_words(self) -> list[str]:
        """What the limits are, over whatever line passes there."""
        parts, above = [], float("-inf")
        for limit in sorted(self.limits, key=lambda each: -each.voltage_v):
            y = self.y.at(limit.voltage_v)
            # Two limits near to each other have their words on either side.
            near = y - above < LABEL_GAP
            parts.append(words(limit.text, LEFT + 6.0, y + (12.0 if near else -4.0), class_="warn"))
            above = y
        return parts

    def lines(self, lines: list[_Line]) -> list[str]:
        """Every line with its label; labels keep out of each other's way."""
        ends = [self._end(line) for line in lines]
        labels = apart([y for _, y in ends], LABEL_GAP, self.y.first)
        parts = [self._curve(index, line) for index, line in enumerate(lines)]
        for index, (line, end, label) in enumerate(zip(lines, ends, labels, strict=True)):
            parts += self._label(index, line, end, label)
        return parts

    def _end(self, line: _Line) -> tuple[float, float]:
        """Where a line ends: at its last point, or on the axis at the length that it cannot serve."""
        if line.collapses_at is not None:
            return self.x.at(line.collapses_at), self.y.first
        return self._last(line)

    def _curve(self, index: int, line: _Line) -> str:
        points = [(self.x.at(0.0), self.y.at(self.open_circuit_v))]
        points += [(self.x.at(length), self.y.at(end.end_voltage.value)) for length, end in line.carried]
        path = "M" + "L".join(f"{plain(x)} {plain(y)}" for x, y in points)
        every = -(-len(points[1:]) // MOST_MARKS) or 1
        marks = [mark(index, x, y) for x, y in points[:0:-1][::every]]
        return element("path", class_="curve", d=path, **dashes(index)) + "".join(marks)

    def _label(self, index: int, line: _Line, end: tuple[float, float], y: float) -> list[str]:
        """The name and the last voltage beside the line, with a piece of it."""
        x, end_y = end
        dash = dashes(index)
        sample = element("path", class_="curve", d=f"M{plain(LABELS)} {plain(y)}h22", **dash)
        name = clipped(self.cables[index].name, LONGEST_LABEL)
        lead = f"M{plain(x + 6.0)} {plain(end_y)}L{plain(LABELS - 4.0)} {plain(y)}"
        if line.collapses_at is not None:
            last_x, last_y = self._last(line)
            lead = f"M{plain(last_x)} {plain(last_y)}L{plain(x)} {plain(end_y)}"
            cross = f"M{plain(x - 4.0)} {plain(end_y - 4.0)}l8 8m0 -8l-8 8"
            sample += element("path", class_="cross", d=cross)
        return [
            element("path", class_="faint", d=lead),
            sample + mark(index, LABELS + 11.0, y),
            words(f"{name} {line.last}", LABELS + 28.0, y + 4.0),
        ]

    def _last(self, line: _Line) -> tuple[float, float]:
        """The last point that a line reaches, the supply itself if no other."""
        if not line.carried:
            return self.x.at(0.0), self.y.at(self.open_circuit_v)
        length, end = line.carried[-1]
        return self.x.at(length), self.y.at(end.end_voltage.value)


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
