"""A drop chart as a drawing (SVG 1.1): a panel for each load, a line for each cable.

It loads nothing and runs nothing. Lines differ by dash and mark and carry their names, so the drawing needs
no colour. It brings its own paper, because nobody knows on which page it will stand.
"""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING, Final

from msgspec import UnsetType

from service.messages.drop_chart import CarriedLoad
from service.translate.catalogue import CAUTIONS
from service.translate.drop_chart_marks import Scale, dashes, element, escaped, mark, plain, round_step, words
from service.translate.drop_chart_panel import HEIGHT, LEFT, LONGEST_LABEL, RIGHT, WIDTH, LimitLine, Panel

if TYPE_CHECKING:
    from collections.abc import Iterator

    from service.messages.drop_chart import DropChartReply

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
