"""Volts along the way, and the wiring to scale, as drawings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final, Literal, NamedTuple

from msgspec import UnsetType

from service.sheets.chart import Chart, ChartLimit, Frame, Scale, apart, clipped, round_step
from service.sheets.drawing import (
    NOT_JUDGED,
    WIDE,
    Drawing,
    Part,
    Point,
    Stroke,
    Words,
    breadth,
    mark,
    within,
)
from service.sheets.figures import figure, given, plain
from service.sheets.sheet import Figure
from service.studies.voltage_drop.network import (
    DrawnNetwork,
    Leg,
    Trail,
    as_drawn,
    fixtures_at,
    lamp_numbers,
    trails_of,
    voltages,
)
from service.studies.voltage_drop.reply import FixtureRow, Solved
from service.translate.rows import TOWARDS_FAILING
from service.wire.quantities import ShownVoltage
from service.wire.reply import TapState


class Canvas(NamedTuple):
    """How wide a drawing is, where the axes of its chart stand, and how far its cables reach. [pt]"""

    wide: float
    profile: Frame
    plan_right: float


BROAD = Canvas(WIDE, Frame(left=34.0, right=404.0, top=16.0, bottom=196.0), 490.0)
"""On paper, and on a screen of some width."""


SLIM = Canvas(240.0, Frame(left=30.0, right=172.0, top=16.0, bottom=196.0), 224.0)
"""On a phone, where words of the same size are as large as those beside the drawing."""


HEIGHT = 232.0


MOST_NAMES = 14


def profile(reply: Solved, network: DrawnNetwork, room: Canvas = BROAD) -> Drawing:
    """Volts against the distance from the supply: cable in bold, leads and strips beyond it in thin lines."""
    at_v = voltages(network)
    trails = trails_of(network)
    lines = [_volts_along(trail, at_v, network) for trail in trails]
    shown_v = [*(volts for line in lines for volts in line), *(row.voltage.value for row in reply.fixtures)]
    beyond = [(leg.start, leg.end) for leg in network.legs if not leg.cable]
    shown_v += [at_v[end] for _, end in beyond]
    limits = _window_limits(reply.fixtures, min(shown_v), max(shown_v))
    shown_v += [limit.value for limit in limits]
    frame = room.profile
    chart = Chart(
        frame,
        Scale(0.0, max(network.distance) or 1.0, frame.left, frame.right),
        _volts(min(shown_v), max(shown_v), frame),
    )
    unit = reply.spans[0].length.unit if reply.spans else "m"
    curves = [
        [chart.at(network.distance[point], volts) for point, volts in zip(trail.points, line, strict=True)]
        for trail, line in zip(trails, lines, strict=True)
    ]
    parts = [
        *chart.tints(limits),
        *chart.axes(f"from the supply along the cable, one way [{unit}]"),
        *chart.limit_lines(limits),
        *_names(trails, curves, room),
        *(Stroke(curve, "bold") for curve in curves),
        *(Stroke([chart.at(network.distance[end], at_v[end]) for end in ends]) for ends in beyond),
        *_limit_words(chart, limits, curves),
    ]
    for row, lamp in zip(reply.fixtures, network.lamps, strict=True):
        parts.append(mark(row.verdict, *chart.at(network.distance[lamp], row.voltage.value)))
    return Drawing("Volts along the way", _profile_description(reply.fixtures), HEIGHT, parts, room.wide)


def _volts_along(trail: Trail, at_v: list[float], network: DrawnNetwork) -> list[float]:
    """The volts at the points of a line, which begins at the terminal that it is wired to. [V]"""
    first, *further = trail.points
    begins_v = at_v[first] if first else network.fed_at(further[0]).tap.terminal.value
    return [begins_v, *(at_v[point] for point in further)]


FAR = 0.5
"""A window that ends farther from what the lamps get than this share of it is no limit to be drawn."""


def _window_limits(rows: list[FixtureRow], low_v: float, high_v: float) -> list[ChartLimit]:
    """The lower and the upper ends of the fixtures' windows: where they differ, the outermost and innermost.

    Beyond the outermost no fixture works, and the drawing is tinted there.
    """
    least_v = sorted({row.window.minimum.value for row in rows if row.window.minimum.value > FAR * low_v})
    most_v = sorted({row.window.maximum.value for row in rows if row.window.maximum.value < high_v / FAR})
    limits = []
    sides: tuple[tuple[list[float], str, Literal["below", "above"]], ...] = (
        (least_v, "minimum", "below"),
        (most_v[::-1], "maximum", "above"),
    )
    for ends_v, what, fails in sides:
        whose = "" if len(ends_v) == 1 else " of some"
        for place, volts in enumerate(dict.fromkeys([*ends_v[:1], *ends_v[-1:]])):
            limits.append(ChartLimit(volts, f"{plain(volts)} V {what}{whose}", None if place else fails))
    return limits


def _volts(low_v: float, high_v: float, frame: Frame) -> Scale:
    step = round_step(max(high_v - low_v, 0.02 * high_v, 1e-3) / 5.0)
    return Scale(low_v - 0.5 * step, high_v + 0.3 * step, frame.bottom, frame.top)


def _names(trails: list[Trail], curves: list[list[Point]], room: Canvas) -> list[Part]:
    """What the lines of lowest end are called, beside the chart."""
    parts: list[Part] = []
    named = sorted(zip(trails, curves, strict=True), key=lambda each: -each[1][-1][1])[:MOST_NAMES]
    right = room.profile.right
    places = apart([curve[-1][1] for _, curve in named], 11.0, room.profile.bottom)
    for (trail, curve), place in zip(named, places, strict=True):
        words = within(trail.name, room.wide - right - 10.0, 8.0)
        parts.append(Stroke([curve[-1], (right + 4.0, place), (right + 8.0, place)], "faint"))
        parts.append(Words(words, right + 10.0, place + 2.8))
    return parts


def _limit_words(chart: Chart, limits: list[ChartLimit], curves: list[list[Point]]) -> list[Part]:
    """What the limits are, where no other words stand and the fewest curves pass, which are none mostly."""
    frame, parts = chart.frame, list[Part]()
    taken: list[Box] = []
    for limit in limits:
        wide, y = breadth(limit.text, frame.size), chart.y.at(limit.value)
        room = frame.right - frame.left - wide - frame.size
        boxes = [
            Box(left, left + wide, y + down - frame.size, y + down + 1.0)
            for down in (-0.35 * frame.size, 1.1 * frame.size, 1.7 * frame.size, -0.95 * frame.size)
            for left in (frame.left + 0.5 * frame.size + room * step / PLACES for step in range(PLACES + 1))
        ]
        box = min(boxes, key=lambda box: (sum(map(box.meets, taken)), sum(map(box.cut_by, curves))))
        taken.append(box)
        parts.append(Words(limit.text, box.left, box.bottom - 1.0, frame.size, tone="warn"))
    return parts


PLACES = 8
"""Steps along a limit at which its words may stand."""


class Box(NamedTuple):
    """Where words stand."""

    left: float
    right: float
    top: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Whether two boxes cover each other somewhere."""
        across = self.left < other.right and other.left < self.right
        return across and self.top < other.bottom and other.top < self.bottom

    def cut_by(self, curve: list[Point]) -> bool:
        """Whether a line through points passes through the box."""
        return any(map(self._cut_by, curve, curve[1:]))

    def _cut_by(self, first: Point, last: Point) -> bool:
        (begins, at_first), (ends, at_last) = sorted((first, last))
        if ends < self.left - MARK or begins > self.right + MARK:
            return False
        low = max(begins, self.left - MARK)
        high = min(ends, self.right + MARK)
        slope = (at_last - at_first) / (ends - begins) if ends > begins else 0.0
        heights = (
            [at_first + slope * (x - begins) for x in (low, high)] if ends > begins else [at_first, at_last]
        )
        return min(heights) - MARK < self.bottom and max(heights) + MARK > self.top


MARK = 4.0
"""So far the mark of a fixture reaches beyond the line that it stands on. [pt]"""


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


PLAN_LEFT = 16.0


ROW, HEAD, FOOT = 64.0, 26.0, 8.0


DOWN = 36.0
"""How far the cable of a row lies below its top. [pt]"""


ROWS_TOGETHER = 9
"""So many rows stand in one drawing, which then fits on a page."""


SMALL = 6.8


TITLE = 7.6
"""Size of what a row is called. [pt]"""


LEAST_TITLE = 150.0
"""What a row has to be called by, however far to the right it begins. [pt]"""


LONGEST_LABEL, LONGEST_CIRCUIT = 24, 20


class Labels:
    """Keeps the labels of one line of text from covering each other, and from strokes that cross it."""

    def __init__(self, wide: float, crossed: Iterable[float] = ()) -> None:
        self._wide = wide
        self._occupied = [(x - 1.0, x + 1.0) for x in crossed]

    def place(self, text: str, x: float, y: float, *, aside: bool = True, bold: bool = False) -> list[Part]:
        """A label over a place, its middle there or, aside, one of its ends; nothing where others stand."""
        half = 0.5 * breadth(text, SMALL, bold=bold) + 1.5
        for shift in (0.0, 0.8 * half, -0.8 * half) if aside else (0.0,):
            middle = min(max(x + shift, half), self._wide - half)
            if all(middle + half <= start or end <= middle - half for start, end in self._occupied):
                self._occupied.append((middle - half, middle + half))
                return [Words(text, middle, y, SMALL, "middle", bold=bold)]
        return []


def plans(reply: Solved, network: DrawnNetwork, room: Canvas = BROAD) -> list[Drawing]:
    """Drawings of the wiring, so many rows on each."""
    trails = trails_of(network)
    rows = as_drawn(trails)
    x = Scale(0.0, max(network.distance) or 1.0, PLAN_LEFT, room.plan_right)
    parts = [rows[first : first + ROWS_TOGETHER] for first in range(0, len(rows), ROWS_TOGETHER)]
    description = _plan_description(reply, network, len(trails))
    plan = _Plan(reply, network, x, trails, room.wide)
    return [
        Drawing(
            "Wiring, to scale of its lengths"
            + (f", part {number} of {len(parts)}" if len(parts) > 1 else ""),
            description,
            HEAD + ROW * len(part) + FOOT,
            plan.drawn(part, reply),
            room.wide,
        )
        for number, part in enumerate(parts, 1)
    ]


def profile_figure(reply: Solved, network: DrawnNetwork) -> Figure:
    """The volts along the way, for paper and for a phone."""
    broad, slim = (profile(reply, network, room) for room in (BROAD, SLIM))
    return Figure(broad, broad.title, slim)


def plan_figures(reply: Solved, network: DrawnNetwork) -> list[Figure]:
    """The wiring to scale, for paper and for a phone."""
    broad, slim = (plans(reply, network, room) for room in (BROAD, SLIM))
    return [Figure(each, each.title, other) for each, other in zip(broad, slim, strict=True)]


def clear_title(text: str, size: float, at: Point, *, crossed: Iterable[float], wide: float) -> Words:
    """What a row is called, near where it begins, and clear of the strokes that come down past it.

    Parameters
    ----------
    text : str
    size : float
        [pt]
    at : Point
        Where the row begins, and how high the words stand. [pt]
    crossed : iterable of float
        Where strokes come down. [pt]
    wide : float
        Of the drawing. [pt]
    """
    begins, y = at
    edges = [-BESIDE, *sorted(crossed), wide + BESIDE]
    gaps = [(left + BESIDE, right - BESIDE) for left, right in pairwise(edges)]
    broadest = max(right - left for left, right in gaps)
    text = within(text, max(broadest, LEAST_CLEAR), size, bold=True)
    length = breadth(text, size, bold=True)
    lefts = [
        min(max(begins + BESIDE, left), right - length) for left, right in gaps if right - left >= length
    ]
    near = min(
        lefts, key=lambda left: abs(left - begins - BESIDE), default=min(begins + BESIDE, wide - length)
    )
    return Words(text, near, y, size, bold=True)


BESIDE = 4.0
"""Between a stroke and words beside it. [pt]"""


LEAST_CLEAR = 40.0
"""Words are not cut shorter than this to keep clear of strokes. [pt]"""


class _Plan:
    """Draws the rows of one drawing; what hangs at the supply itself stands on the very first row."""

    def __init__(
        self, reply: Solved, network: DrawnNetwork, x: Scale, trails: list[Trail], wide: float
    ) -> None:
        self._wide = wide
        self._network, self._x, self._first, self._rows = network, x, trails[:1], reply.fixtures
        self._loop_ends = [end for leg in network.closing for end in (leg.start, leg.end)]
        self._fixtures_at = fixtures_at(network)
        self._numbers = lamp_numbers(network, trails, reply.fixtures)
        lowest = min(reply.fixtures, key=lambda row: row.voltage.value, default=None)
        self._lowest = None if lowest is None else reply.fixtures.index(lowest)

    def drawn(self, trails: list[Trail], reply: Solved) -> list[Part]:
        """Every row with what it begins on, and the legs that close loops between them."""
        words = _supply_words(reply, self._wide - 2.0, tapped=self._network.tapped)
        parts: list[Part] = [Words(words, 2.0, 10.0, 8.0, bold=True)]
        row_of = {0: 14.0}
        for index, trail in enumerate(trails):
            y = HEAD + ROW * index + DOWN
            later = [other.points[0] for other in trails[index + 1 :]]
            passing = {self._at(start) for start in later if start in row_of} | {self._at(trail.points[0])}
            leaving = {self._at(point) for point in [*later, *self._loop_ends] if point in trail.points}
            parts += self._row(trail, y, row_of, passing)
            parts += self._fixtures(trail, y, passing)
            parts += self._spans(trail, y, passing | leaving)
            row_of.update(dict.fromkeys(trail.points[1:], y))
        for leg in self._network.closing:
            parts += self._loop(leg, row_of)
        return parts

    def _row(self, trail: Trail, y: float, row_of: dict[int, float], passing: set[float]) -> list[Part]:
        start = trail.points[0]
        begins = self._at(start)
        parts: list[Part] = []
        if start in row_of:
            parts.append(Stroke([(begins, row_of[start]), (begins, y)]))
        parts.append(Stroke([(begins, y), (self._at(trail.points[-1]), y)], "bold"))
        beside = self._wide - begins - BESIDE
        origin, room = self._origin(trail), max(beside, LEAST_TITLE)
        if start and breadth(trail.name + origin, TITLE, bold=True) > beside:
            origin = ""
        most = room - min(breadth(origin, TITLE, bold=True), 0.6 * room)
        title = within(within(trail.name, most, TITLE, bold=True) + origin, room, TITLE, bold=True)
        return [*parts, clear_title(title, TITLE, (begins, y - 25.0), crossed=passing, wide=self._wide)]

    def _origin(self, trail: Trail) -> str:
        """Where a line begins: the tap and the circuit, or the cable that it leaves."""
        start, beyond = trail.points[:2]
        if start:
            return f", from {self._network.names[start]}"
        fed = self._network.fed_at(beyond)
        tap = f" · {plain(fed.tap.rated.value)} V tap" if self._network.tapped else ""
        return f"{tap} · circuit {clipped(fed.circuit, LONGEST_CIRCUIT)}"

    def _fixtures(self, trail: Trail, y: float, crossed: set[float]) -> list[Part]:
        """Marks of all fixtures; above them as many numbers, and names with volts, as have room.

        The lowest and the last come first.
        """
        points = trail.points if trail in self._first else trail.points[1:]
        found = [(point, place) for point in points for place in self._fixtures_at.get(point, ())]
        parts: list[Part] = [mark(self._rows[place].verdict, self._at(point), y) for point, place in found]
        order = sorted(
            range(len(found)), key=lambda at: (found[at][1] != self._lowest, at not in (0, len(found) - 1))
        )
        names, numbers = Labels(self._wide, crossed), Labels(self._wide, crossed)
        for point, place in (found[at] for at in order):
            low, x = place == self._lowest, self._at(point)
            label = _fixture_label(self._rows[place], self._network.called[place])
            parts += names.place(label, x, y - 15.5, bold=low)
            parts += numbers.place(self._numbers[place].words, x, y - 6.5, aside=False, bold=low)
        return parts

    def _spans(self, trail: Trail, y: float, crossed: set[float]) -> list[Part]:
        """Lengths and currents below the spans, and the cable where it begins and changes."""
        labels, gauges = Labels(self._wide, crossed), Labels(self._wide, crossed)
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
        way = _way_round(self._network, self._x, leg, row_of, 22.0)
        if way is None:
            return []
        (first, _), (_, below), (last, _), _ = way.points
        words = f"closes the loop: {_span_label(leg)}"
        return [way, *Labels(self._wide).place(words, 0.5 * (first + last), below + 8.5)]

    def _at(self, point: int) -> float:
        return self._x.at(self._network.distance[point])


MOST_TAPS = 4
"""Taps that are told in one line."""


def _supply_words(reply: Solved, most: float, *, tapped: bool) -> str:
    """The terminals under load, where there is room for them, and what all of them carry. [pt]"""
    supply = reply.supply
    taps = sorted(supply.taps, key=lambda tap: tap.rated.value)
    told = [_tap_words(tap, tapped=tapped) for tap in taps[:MOST_TAPS]]
    more = len(supply.taps) - len(told)
    rest = [f"{more} more"] if more else []
    begins, carried = "Supply, everything on: ", f"{supply.current.value:.2f} A"
    whole = f"{begins}{', '.join([*told, *rest, carried])}"
    return whole if breadth(whole, 8.0, bold=True) <= most else f"{begins}{carried}"


def _tap_words(tap: TapState, *, tapped: bool) -> str:
    terminal = f"{tap.terminal.value:.2f} V"
    return f"{plain(tap.rated.value)} V tap {terminal}" if tapped else terminal


def _fixture_label(row: FixtureRow, called: str) -> str:
    """A fixture with its volts; where it stands is drawn."""
    volts = f"{lamp_volts(row, row.voltage.value)} V"
    return f"{clipped(called, LONGEST_LABEL)}, {volts}" if called else volts


def lamp_volts(row: FixtureRow, volts: float) -> str:
    """Volts of a fixture as they are printed: the nearest, but never at the end of a window that they miss.

    Sentences about findings round the same way, so that a paper has one number for one lamp.
    """
    nearest, towards = figure(ShownVoltage(volts, "V")), TOWARDS_FAILING.get(row.verdict, 0)
    end_v = {"below": row.window.minimum.value, "above": row.window.maximum.value}.get(row.verdict, volts)
    misses = (float(nearest) - end_v) * towards > 0.0
    return nearest if misses or not towards else figure(ShownVoltage(volts, "V"), towards)


def _span_label(leg: Leg) -> str:
    row = leg.row
    return f"{figure(row.length)} {row.length.unit}, {abs(row.current.value):.2f} A"


def _plan_description(reply: Solved, network: DrawnNetwork, rows: int) -> str:
    loops = f", {len(network.closing)} loops closed" if network.closing else ""
    return (
        f"{rows} lines of cable with {len(reply.fixtures)} rows of fixtures{loops}. Lengths are drawn to"
        " scale from left to right; strokes downwards have no length. Labels that would cover others are left"
        " out."
    )


LINE, LINE_HEAD, LEGEND = 31.0, 18.0, 16.0
"""Heights of a row, of what stands over all, and of what the marks mean, in the drawing for the customer."""


CELL = 6.0
"""Marks nearer to each other than this become one, the gravest of them. [pt]"""


def overview(
    reply: Solved,
    network: DrawnNetwork,
    shown: Sequence[Trail],
    verdicts: Sequence[str],
    room: Canvas = BROAD,
) -> Drawing:
    """The wiring and its lamps at a glance: the lines of cable that are `shown`, and how much more there is.

    Of what is shown the line on which it begins is shown as well.
    `verdicts`, one per row of fixtures, are those of the marks; where none is judged only places are shown.
    """
    judged = any(verdict != NOT_JUDGED for verdict in verdicts)
    trails, at = trails_of(network), fixtures_at(network)
    x = Scale(0.0, max(network.distance) or 1.0, PLAN_LEFT, room.plan_right)
    parts: list[Part] = [Words("supply", 2.0, 10.0, 8.0, bold=True)]
    row_of = {0: 14.0}
    drawn = as_drawn(shown)
    for index, trail in enumerate(drawn):
        y = LINE_HEAD + LINE * index + 20.0
        start = trail.points[0]
        begins = x.at(network.distance[start])
        if start in row_of:
            parts.append(Stroke([(begins, row_of[start]), (begins, y)]))
        parts.append(Stroke([(begins, y), (x.at(network.distance[trail.points[-1]]), y)], "bold"))
        points = trail.points if index == 0 else trail.points[1:]
        lamps = [
            (x.at(network.distance[point]), verdicts[place])
            for point in points
            for place in at.get(point, ())
        ]
        parts += [mark(verdict, place, y) for place, verdict in _thinned(lamps)]
        starts = [other.points[0] for other in drawn[index + 1 :]]
        passing = {x.at(network.distance[point]) for point in starts if point in row_of} | {begins}
        name = within(trail.name, 0.7 * room.wide, SMALL + 0.6, bold=True)
        parts.append(clear_title(name, SMALL + 0.6, (begins, y - 8.0), crossed=passing, wide=room.wide))
        row_of.update(dict.fromkeys(trail.points[1:], y))
    ways = (_way_round(network, x, leg, row_of, RING) for leg in network.closing)
    parts += [way for way in ways if way is not None]
    foot = LINE_HEAD + LINE * len(drawn)
    if len(drawn) < len(trails):
        first = {trail.points[1] for trail in drawn}
        behind = {point for trail in trails if trail.points[1] not in first for point in trail.points[1:]}
        rows = [reply.fixtures[place] for point in behind for place in at.get(point, ())]
        count = sum(given(row.count) or 1 for row in rows)
        foot += LEGEND
        text = f"and {len(trails) - len(drawn)} more lines of cable with {count} lamps"
        parts.append(Words(text, PLAN_LEFT + 4.0, foot - 5.0, SMALL + 0.6))
    legend, foot = _legend(foot + 9.0, room.wide, EXPLAINED if judged else PLACES_ONLY)
    description = (
        f"{len(trails)} lines of cable with {sum(given(row.count) or 1 for row in reply.fixtures)} lamps."
    )
    return Drawing("Your lamps along the cable", description, foot, [*parts, *legend], room.wide)


def _way_round(
    network: DrawnNetwork, x: Scale, leg: Leg, row_of: dict[int, float], down: float
) -> Stroke | None:
    """The dashed way below the rows of a leg that closes a loop; none where one of them is not drawn."""
    if leg.start not in row_of or leg.end not in row_of:
        return None
    ends = leg.start, leg.end
    first, last = (x.at(network.distance[end]) for end in ends)
    # At the supply the stroke of the run itself already leads down to its row.
    rows = [row_of[end] if end else row_of[other] for end, other in (ends, ends[::-1])]
    below = max(rows) + down
    return Stroke([(first, rows[0]), (first, below), (last, below), (last, rows[1])], dash=(4.0, 3.0))


RING = 8.5
"""How far below its row the way lies that closes a loop. [pt]"""


_GRAVITY = {"inside": 0, "low": 1, "high": 1}


def gravity(verdict: str) -> int:
    """The rank of a verdict, of which a higher one is graver."""
    return _GRAVITY.get(verdict, 2)


def _thinned(lamps: list[tuple[float, str]]) -> list[tuple[float, str]]:
    """Marks that do not cover each other, where the gravest of those that would."""
    kept: list[tuple[float, str]] = []
    for x, verdict in sorted(lamps):
        if kept and x - kept[-1][0] < CELL:
            gravest = max(kept[-1][1], verdict, key=gravity)
            kept[-1] = kept[-1][0], gravest
        else:
            kept.append((x, verdict))
    return kept


EXPLAINED: Final = (
    ("inside", "gets the voltage it is made for"),
    ("below", "too little"),
    ("above", "too much"),
    ("low", "near a limit"),
)
"""What the marks of lamps mean."""


PLACES_ONLY: Final = ((NOT_JUDGED, "a lamp; no voltages, because this wiring cannot run them"),)
"""The same, where no lamp has a voltage."""


def _legend(y: float, wide: float, explained: Sequence[tuple[str, str]]) -> tuple[list[Part], float]:
    """What the marks mean, in as many lines as it takes, and where they end."""
    parts: list[Part] = []
    left = PLAN_LEFT
    for verdict, text in explained:
        needed = 12.0 + breadth(text, SMALL)
        if left + needed > wide:
            left, y = PLAN_LEFT, y + LEGEND - 5.0
        parts += [mark(verdict, left + 4.0, y - 2.4), Words(text, left + 12.0, y, SMALL, tone="quiet")]
        left += needed + 12.0
    return parts, y + LEGEND - 9.0
