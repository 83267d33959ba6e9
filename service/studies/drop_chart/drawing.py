"""A drop chart as a drawing (SVG 1.1): a panel for each load, a line for each cable.

It loads nothing and runs nothing. Lines differ by dash and mark and carry their names, so the drawing needs
no colour. It brings its own paper, because nobody knows on which page it will stand.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Final, NamedTuple

from msgspec import UnsetType

from service.findings.cautions import CAUTIONS
from service.sheets.axes import (
    Scale,
    apart,
    clipped,
    dashes,
    element,
    escaped,
    mark,
    plain,
    round_step,
    words,
)
from service.studies.drop_chart.reply import CarriedLoad, ChartCell, ChartedCable, DropChartReply
from service.studies.drop_chart.translate import TOWARDS
from service.translate.rounding import rounded

STYLE: Final = (
    "text{font-family:system-ui,'Segoe UI',Helvetica,Arial,sans-serif;fill:#1b1b1b}"
    ".paper{fill:#fff}.line,.curve,.cross{fill:none;stroke:#1b1b1b}.curve{stroke-width:1.6}"
    ".cross{stroke-width:2}.faint{fill:none;stroke:#c9c6bf;stroke-width:.8}"
    ".solid{fill:#1b1b1b}.hollow{fill:#fff;stroke:#1b1b1b;stroke-width:1.3}"
    ".limit{fill:none;stroke:#a3320b;stroke-width:1.2}.tint{fill:#a3320b;fill-opacity:.07}"
    ".warn{fill:#a3320b;paint-order:stroke;stroke:#fff;stroke-width:3;stroke-opacity:.75}.quiet{fill:#55524c}"
    "@media(prefers-color-scheme:dark){"
    "text{fill:#ece9e2}.paper{fill:#16181b}.line,.curve,.cross{stroke:#ece9e2}.faint{stroke:#4a4c50}"
    ".solid{fill:#ece9e2}.hollow{fill:#16181b;stroke:#ece9e2}.limit{stroke:#f2a27e}.tint{fill:#f2a27e}"
    ".warn{fill:#f2a27e;stroke:#16181b}.quiet{fill:#b3afa7}}"
)
"""The only style in the drawing, so that a policy can name it by its hash."""


TITLE: Final = "Volts left at the end of the cable"


CROSSED: Final = "× The cable cannot carry the load at that length, at any voltage."


MARGIN: Final = 14.0


_LINE: Final = 14.0


_LONGEST_NOTE, _LONGEST_LINE, _LONGEST_TITLE = 74, 66, 42


_MOST_TOLD: Final = 24


def chart_svg(reply: DropChartReply, lengths: int) -> str:
    """Draw a chart.

    Parameters
    ----------
    reply : DropChartReply
    lengths : int
        How many lengths each load has.
    """
    title = TITLE if isinstance(reply.title, UnsetType) else reply.title
    head, top = _head(title, _conditions(reply))
    body, bottom = _panels(reply, lengths, top)
    foot, height = _foot(reply, bottom)
    content = [
        element("title", escaped(title)),
        element("desc", escaped(_told(reply, lengths))),
        element("style", STYLE),
        element("rect", class_="paper", width="100%", height="100%"),
        *head,
        *body,
        *foot,
    ]
    return element(
        "svg",
        "".join(content),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {plain(WIDTH)} {plain(height)}",
        width=WIDTH,
        height=height,
        role="img",
        font_size=12,
    )


def _head(title: str, conditions: str) -> tuple[list[str], float]:
    """The title and what holds for all panels, and where they end."""
    parts, y = [], 12.0
    for line in wrap(title, _LONGEST_TITLE):
        y += 19.0
        parts.append(words(line, MARGIN, y, font_size=17, font_weight=600))
    y += 5.0
    for line in wrap(conditions, _LONGEST_LINE):
        y += 15.0
        parts.append(words(line, MARGIN, y, class_="quiet"))
    return parts, y + 6.0


def _conditions(reply: DropChartReply) -> str:
    said = [
        f"{reply.open_circuit.value:g} V at the start",
        f"cable at {reply.conductor_temperature.value:g} °C",
        "all of the load at the far end",
    ]
    if reply.power_factor != 1.0:
        said.insert(1, f"power factor {reply.power_factor:g}")
    return ", ".join(said)


def _panels(reply: DropChartReply, lengths: int, top: float) -> tuple[list[str], float]:
    """A panel for each load, one under the other, and where the last one ends."""
    panel = _panel(reply)
    parts = []
    for first in range(0, len(reply.cables[0].cells), lengths):
        parts.append(panel.drawn([cable.cells[first : first + lengths] for cable in reply.cables], top))
        top += HEIGHT
    return parts, top + 12.0


def _panel(reply: DropChartReply) -> Panel:
    """Axes that hold all panels, so that they can be compared."""
    ends = [
        cell.lumped.end_voltage.value
        for cable in reply.cables
        for cell in cable.cells
        if isinstance(cell.lumped, CarriedLoad)
    ]
    open_circuit_v = reply.open_circuit.value
    limits = list(_limits(reply, min(ends, default=open_circuit_v)))
    shown = [open_circuit_v, *ends, *(limit.voltage_v for limit in limits)]
    low, high = min(shown), max(shown)
    step = round_step(max(high - low, 0.02 * high) / 5.0)
    cells = reply.cables[0].cells
    longest = max(cell.length.value for cell in cells)
    return Panel(
        cables=reply.cables,
        limits=limits,
        open_circuit_v=open_circuit_v,
        x=Scale(0.0, longest or 1.0, LEFT, RIGHT),
        y=Scale(max(0.0, low - 0.6 * step), high + 0.2 * step, 0.0, 0.0),
        unit=cells[0].length.unit,
    )


def _limits(reply: DropChartReply, lowest_v: float) -> Iterator[LimitLine]:
    """The limits that matter here: the low one always, the others where something comes near them."""
    limits, lamp = reply.limits, f"{reply.nominal_voltage.value:g} V LED"
    yield LimitLine(limits.low.value, f"{limits.low.value:g} V: low for {lamp}", lower_fails=True)
    if lowest_v < limits.low.value:
        below = limits.below.value
        yield LimitLine(below, f"{below:g} V: below the window of {lamp}", lower_fails=True)
    if reply.open_circuit.value > limits.high.value:
        high = limits.high.value
        yield LimitLine(high, f"{high:g} V: above the window of {lamp}", lower_fails=False)
    if not isinstance(limits.over_drop, UnsetType):
        text = f"{limits.over_drop.value:g} V: {limits.maximum_drop_percent:g} % drop"
        yield LimitLine(limits.over_drop.value, text, lower_fails=True)


def _foot(reply: DropChartReply, top: float) -> tuple[list[str], float]:
    """Long names in full, what a cross means, and the cautions; and where the drawing ends."""
    parts = []
    if any(len(cable.name) > LONGEST_LABEL for cable in reply.cables):
        for index, cable in enumerate(reply.cables):
            sample = element("path", class_="curve", d=f"M{plain(MARGIN)} {plain(top)}h22", **dashes(index))
            parts += [sample, mark(index, MARGIN + 11.0, top), words(cable.name, MARGIN + 30.0, top + 4.0)]
            top += _LINE + 2.0
        top += 4.0
    for line in _notes(reply):
        parts.append(words(line, MARGIN, top + 4.0, class_="quiet", font_size=11))
        top += _LINE
    return parts, top + 6.0


def _notes(reply: DropChartReply) -> Iterator[str]:
    lost = any(not isinstance(cell.lumped, CarriedLoad) for cable in reply.cables for cell in cable.cells)
    if lost:
        yield CROSSED
    for code in ("local-code", "meter-under-load"):
        yield from wrap(CAUTIONS[code], _LONGEST_NOTE)


def _told(reply: DropChartReply, lengths: int) -> str:
    """The drawing in words: what is left at the greatest length, and every caution."""
    told = [
        f"{cell.power.value:g} W at {cell.length.value:g} {cell.length.unit} of {cable.name}: "
        + (f"{cell.lumped.end_voltage.value:g} V" if isinstance(cell.lumped, CarriedLoad) else "collapses")
        for first in range(0, len(reply.cables[0].cells), lengths)
        for cable in reply.cables
        for cell in [max(cable.cells[first : first + lengths], key=lambda each: each.length.value)]
    ]
    more = " And so on." if len(told) > _MOST_TOLD else ""
    limit = reply.limits.over_drop
    judged = "" if isinstance(limit, UnsetType) else f" The drop limit is at {limit.value:g} V."
    return (
        f"{_conditions(reply)}. {'; '.join(told[:_MOST_TOLD])}.{more}"
        f" Below {reply.limits.low.value:g} V is low for the fixtures.{judged} {' '.join(CAUTIONS.values())}"
    )


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
