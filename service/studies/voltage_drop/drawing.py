"""Volts along the way, and the wiring to scale, as drawings."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import UnsetType

from service.sheets.chart import Chart, ChartLimit, Frame, Scale, apart, clipped, round_step
from service.sheets.drawing import WIDE, Drawing, Part, Stroke, Words, breadth, mark
from service.sheets.figures import plain
from service.studies.voltage_drop.network import (
    DrawnNetwork,
    Leg,
    Trail,
    fixtures_at,
    trails_of,
    voltages,
)
from service.studies.voltage_drop.reply import FixtureRow, Solved
from service.translate.rounding import rounded
from service.translate.rows import TOWARDS_FAILING

PROFILE = Frame(left=34.0, right=404.0, top=16.0, bottom=196.0)


HEIGHT = 232.0


MOST_NAMES = 14


LONGEST_NAME = 20


def profile(reply: Solved, network: DrawnNetwork) -> Drawing:
    """Volts against the distance from the supply."""
    at_v = voltages(network, reply)
    trails = trails_of(network)
    least_v = sorted({row.window.minimum.value for row in reply.fixtures})[-3:]
    shown_v = [*at_v, *least_v, *(row.voltage.value for row in reply.fixtures)]
    chart = Chart(
        PROFILE,
        Scale(0.0, max(network.distance) or 1.0, PROFILE.left, PROFILE.right),
        _volts(min(shown_v), max(shown_v)),
    )
    unit = reply.spans[0].length.unit if reply.spans else "m"
    whose = "these" if len(least_v) == 1 else "some"
    limits = [
        ChartLimit(volts, f"{plain(volts)} V: least that {whose} fixtures should get") for volts in least_v
    ]
    parts = [
        *chart.axes(f"from the supply along the cable, one way [{unit}]"),
        *chart.limit_lines(limits),
        *_lines(trails, at_v, network, chart),
        *chart.limit_words(limits),
    ]
    for row, lamp in zip(reply.fixtures, network.lamps, strict=True):
        parts.append(mark(row.verdict, *chart.at(network.distance[lamp], row.voltage.value)))
    return Drawing("Volts along the way", _profile_description(reply.fixtures), HEIGHT, parts)


def _volts(low_v: float, high_v: float) -> Scale:
    step = round_step(max(high_v - low_v, 0.02 * high_v, 1e-3) / 5.0)
    return Scale(low_v - 0.5 * step, high_v + 0.3 * step, PROFILE.bottom, PROFILE.top)


def _lines(trails: list[Trail], at_v: list[float], network: DrawnNetwork, chart: Chart) -> list[Part]:
    parts: list[Part] = []
    named = sorted(trails, key=lambda trail: at_v[trail.points[-1]])[:MOST_NAMES]
    wanted = [chart.y.at(at_v[trail.points[-1]]) for trail in named]
    right = PROFILE.right
    for trail, place in zip(named, apart(wanted, 11.0, PROFILE.bottom), strict=True):
        last = trail.points[-1]
        end = chart.at(network.distance[last], at_v[last])
        words = clipped(trail.name, LONGEST_NAME)
        parts.append(Stroke([end, (right + 4.0, place), (right + 8.0, place)], "faint"))
        parts.append(Words(words, min(right + 10.0, WIDE - breadth(words, 8.0)), place + 2.8))
    for trail in trails:
        points = [chart.at(network.distance[point], at_v[point]) for point in trail.points]
        parts.append(Stroke(points, "bold"))
    return parts


def _profile_description(rows: list[FixtureRow]) -> str:
    """The drawing in words."""
    if not rows:
        return "There are no fixtures."
    lowest = min(rows, key=lambda row: row.voltage.value)
    highest = max(rows, key=lambda row: row.voltage.value)
    return (
        f"{len(rows)} rows of fixtures between {plain(lowest.voltage.value)} V at {lowest.name} and"
        f" {plain(highest.voltage.value)} V at {highest.name}. A diamond is inside its window, a triangle"
        " below or above it, hollow where it is only near the end."
    )


PLAN_LEFT, PLAN_RIGHT = 16.0, 490.0


ROW, HEAD, FOOT = 54.0, 26.0, 8.0


ROWS_TOGETHER = 10
"""So many rows stand in one drawing, which then fits on a page."""


SMALL = 6.8


LONGEST_LABEL = 24


class Labels:
    """Keeps the labels of one line of text from covering each other, and from strokes that cross it."""

    def __init__(self, crossed: Iterable[float] = ()) -> None:
        self._occupied = [(x - 1.0, x + 1.0) for x in crossed]

    def place(self, text: str, x: float, y: float, *, bold: bool = False) -> list[Part]:
        """A label over a place, its middle there or one of its ends; nothing where others stand."""
        half = 0.5 * breadth(text, SMALL, bold=bold) + 1.5
        for aside in (0.0, 0.8 * half, -0.8 * half):
            middle = min(max(x + aside, half), WIDE - half)
            if all(middle + half <= start or end <= middle - half for start, end in self._occupied):
                self._occupied.append((middle - half, middle + half))
                return [Words(text, middle, y, SMALL, "middle", bold=bold)]
        return []


def plans(reply: Solved, network: DrawnNetwork) -> list[Drawing]:
    """Drawings of the wiring, so many rows on each."""
    trails = trails_of(network)
    x = Scale(0.0, max(network.distance) or 1.0, PLAN_LEFT, PLAN_RIGHT)
    parts = [trails[first : first + ROWS_TOGETHER] for first in range(0, len(trails), ROWS_TOGETHER)]
    description = _plan_description(reply, network, len(trails))
    return [
        Drawing(
            "Wiring, to scale of its lengths"
            + (f", part {number} of {len(parts)}" if len(parts) > 1 else ""),
            description,
            HEAD + ROW * len(part) + FOOT,
            _Plan(reply, network, x, trails[0]).drawn(part, reply),
        )
        for number, part in enumerate(parts, 1)
    ]


class _Plan:
    """Draws the rows of one drawing; what hangs at the supply itself stands on the very first row."""

    def __init__(self, reply: Solved, network: DrawnNetwork, x: Scale, first: Trail) -> None:
        self._network, self._x, self._first = network, x, first
        self._loop_ends = [end for leg in network.closing for end in (leg.start, leg.end)]
        self._fixtures_at = fixtures_at(network, reply.fixtures)
        self._lowest = min(reply.fixtures, key=lambda row: row.voltage.value, default=None)

    def drawn(self, trails: list[Trail], reply: Solved) -> list[Part]:
        """Every row with what it begins on, and the legs that close loops between them."""
        supply = reply.supply
        words = f"supply {supply.terminal.value:.2f} V, {supply.current.value:.2f} A"
        parts: list[Part] = [Words(words, 2.0, 10.0, 8.0, bold=True)]
        row_of = {0: 14.0}
        for index, trail in enumerate(trails):
            y = HEAD + ROW * index + 28.0
            later = [other.points[0] for other in trails[index + 1 :]]
            passing = {self._at(start) for start in later if start in row_of} | {self._at(trail.points[0])}
            leaving = {self._at(point) for point in [*later, *self._loop_ends] if point in trail.points}
            parts += self._row(trail, y, row_of)
            parts += self._fixtures(trail, y, passing)
            parts += self._spans(trail, y, passing | leaving)
            row_of.update(dict.fromkeys(trail.points[1:], y))
        for leg in self._network.closing:
            parts += self._loop(leg, row_of)
        return parts

    def _row(self, trail: Trail, y: float, row_of: dict[int, float]) -> list[Part]:
        start = trail.points[0]
        begins = self._at(start)
        parts: list[Part] = []
        if start in row_of:
            parts.append(Stroke([(begins, row_of[start]), (begins, y)]))
        parts.append(Stroke([(begins, y), (self._at(trail.points[-1]), y)], "bold"))
        origin = f", from {self._network.names[start]}" if start else ""
        title = clipped(f"{trail.name}{origin}", 60)
        left = min(begins + 4.0, WIDE - breadth(title, 7.6, bold=True))
        return [*parts, Words(title, left, y - 18.0, 7.6, bold=True)]

    def _fixtures(self, trail: Trail, y: float, crossed: set[float]) -> list[Part]:
        """Marks of all fixtures, and as many labels as have room: the lowest, the last, then the rest."""
        found = [(point, row) for point in trail.points[1:] for row in self._fixtures_at.get(point, ())]
        if trail is self._first:
            found += [(0, row) for row in self._fixtures_at.get(0, ())]
        parts: list[Part] = [mark(row.verdict, self._at(point), y) for point, row in found]
        order = sorted(
            range(len(found)), key=lambda at: (found[at][1] is not self._lowest, at != len(found) - 1)
        )
        labels = Labels(crossed)
        for place in order:
            point, row = found[place]
            low = row is self._lowest
            parts += labels.place(_fixture_label(row), self._at(point), y - 7.5, bold=low)
        return parts

    def _spans(self, trail: Trail, y: float, crossed: set[float]) -> list[Part]:
        """Lengths and currents below the spans, and the cable where it begins and changes."""
        labels, gauges = Labels(crossed), Labels(crossed)
        parts: list[Part] = []
        before: object = None
        for first, last, leg in zip(trail.points, trail.points[1:], trail.legs, strict=False):
            begins, ends = self._at(first), self._at(last)
            parts += labels.place(_span_label(leg), 0.5 * (begins + ends), y + 10.0)
            conductor = leg.row.conductor
            if conductor != before and not isinstance(conductor, UnsetType):
                half = 0.5 * breadth(conductor, SMALL)
                parts += gauges.place(conductor, max(begins + half + 4.0, 0.5 * (begins + ends)), y + 18.5)
            before = conductor
        return parts

    def _loop(self, leg: Leg, row_of: dict[int, float]) -> list[Part]:
        """A dashed way round below the rows, for a leg that closes a loop on this drawing."""
        if leg.start not in row_of or leg.end not in row_of:
            return []
        ends = leg.start, leg.end
        first, last = self._at(leg.start), self._at(leg.end)
        # At the supply the stroke of the run itself already leads down to its row.
        rows = [row_of[end] if end else row_of[other] for end, other in (ends, ends[::-1])]
        below = max(rows) + 22.0
        way = [(first, rows[0]), (first, below), (last, below), (last, rows[1])]
        words = f"closes the loop: {_span_label(leg)}"
        return [Stroke(way, dash=(4.0, 3.0)), *Labels().place(words, 0.5 * (first + last), below + 8.5)]

    def _at(self, point: int) -> float:
        return self._x.at(self._network.distance[point])


def _fixture_label(row: FixtureRow) -> str:
    volts = rounded(row.voltage.value, 2, TOWARDS_FAILING[row.verdict])
    return f"{clipped(row.name, LONGEST_LABEL)} {volts:.2f} V"


def _span_label(leg: Leg) -> str:
    row = leg.row
    return f"{plain(row.length.value)} {row.length.unit} {abs(row.current.value):.2f} A"


def _plan_description(reply: Solved, network: DrawnNetwork, rows: int) -> str:
    loops = f", {len(network.closing)} loops closed" if network.closing else ""
    return (
        f"{rows} lines of cable with {len(reply.fixtures)} rows of fixtures{loops}. Lengths are drawn to"
        " scale from left to right; strokes downwards have no length. Labels that would cover others are left"
        " out."
    )
