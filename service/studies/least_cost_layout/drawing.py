"""The plan of a layout, to scale: routes, trenches, runs by their dashes, lamps by number, boxes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import atan2, cos, hypot, pi, sin, tau
from typing import Final, NamedTuple

from service.sheets.chart import dashes, round_step
from service.sheets.drawing import WIDE, Anchor, Area, Drawing, Part, Point, Stroke, Words, breadth, within
from service.sheets.figures import plain, quantity
from service.sheets.sheet import Figure
from service.studies.least_cost_layout.composing import length_unit_of
from service.studies.least_cost_layout.plan import PlannedSpan, SitePlan, number_of
from service.studies.least_cost_layout.reply import LaidRun, LeastCostLayoutReply
from service.studies.least_cost_layout.request import LeastCostLayoutRequest
from service.studies.least_cost_layout.site import Position
from service.units import from_inside, inside

LEFT, TOP, EDGE = 22.0, 20.0, 26.0
"""Room round the plan. [pt]"""


NARROW = 260.0
"""Of a plan for a narrow screen. [pt]"""


HIGHEST, LOWEST = 420.0, 60.0
"""How high a plan may be, and is at least. [pt]"""


BESIDE: Final = 2.6
"""How far cables in one trench are drawn apart. [pt]"""


LINE: Final = 13.0
"""Height of a line of the list below the plan. [pt]"""


MARK: Final = 3.0
"""Half of the size of a lamp. [pt]"""


SIZE: Final = 8.0
"""Of words on the plan. [pt]"""


SIDES: Final = 16
"""Directions in which words may stand beside a place."""


TITLE: Final = "Plan"


class _Paper(NamedTuple):
    """From positions to places on the drawing. [pt/m], [pt]"""

    west_m: float
    north_m: float
    scale: float
    height: float
    width: float

    def at(self, position: Position) -> Point:
        return (
            LEFT + (position.east_m - self.west_m) * self.scale,
            TOP + (self.north_m - position.north_m) * self.scale,
        )


def _paper(plan: SitePlan, width: float, highest: float) -> _Paper:
    corner, other = plan.extent
    wide_m, high_m = other.east_m - corner.east_m, other.north_m - corner.north_m
    scales = [(width - 2.0 * LEFT) / wide_m if wide_m else 0.0, highest / high_m if high_m else 0.0]
    scale = min((each for each in scales if each), default=1.0)
    return _Paper(corner.east_m, other.north_m, scale, max(LOWEST, high_m * scale), width)


def plan_figure(
    request: LeastCostLayoutRequest, reply: LeastCostLayoutReply, caption: str, highest: float = HIGHEST
) -> Figure:
    """The plan for paper, and for a narrow screen."""
    broad, slim = (plan_drawing(request, reply, width, highest) for width in (WIDE, NARROW))
    return Figure(broad, caption, slim)


def plan_drawing(
    request: LeastCostLayoutRequest,
    reply: LeastCostLayoutReply,
    width: float = WIDE,
    highest: float = HIGHEST,
) -> Drawing:
    """The plan, so wide and so high at most [pt]; without a layout its places, routes and fixtures."""
    plan = SitePlan(request, reply)
    return _Drafting(plan, _paper(plan, width, highest), length_unit_of(request)).drawing()


class _Drafting:
    """Draws a plan on paper."""

    def __init__(self, plan: SitePlan, paper: _Paper, unit: str) -> None:
        self._plan, self._paper, self._unit = plan, paper, unit
        self._at = [paper.at(position) for position in plan.positions]
        self._ends = [(self._at[start], self._at[end]) for start, end in plan.routes]
        self._written: list[Words] = []

    def drawing(self) -> Drawing:
        below = TOP + self._paper.height + EDGE
        listed = list(self._listed())
        parts = [
            *self._routes(),
            *self._cables(),
            *self._tees(),
            *self._boxes(),
            *self._lamps(),
            *self._bar(below),
        ]
        for index, (sample, words) in enumerate(listed):
            y = below + (index + 2) * LINE
            parts += [*_moved_to(sample, LEFT, y - 3.0)]
            parts.append(Words(within(words, self._paper.width - 60.0, SIZE), LEFT + 38.0, y))
        height = below + (len(listed) + 1) * LINE + 0.5 * LINE
        return Drawing(TITLE, self._description(), height, parts, self._paper.width)

    def _routes(self) -> Iterable[Part]:
        """Trenches as bands, so that what lies in them is seen, and ways not taken as thin lines."""
        for index, ends in enumerate(self._ends):
            yield Stroke(ends, "trench" if index in self._plan.trenches else "faint")

    def _cables(self) -> Iterable[Part]:
        """Each run along its routes, beside those that lie there already."""
        taken: dict[int, int] = {}
        for index, run in enumerate(self._plan.runs):
            for route in dict.fromkeys(number_of(each) for span in run.spans for each in span.routes):
                lane = taken.get(route, 0)
                taken[route] = lane + 1
                yield Stroke(_moved(self._ends[route], lane), "bold", dashes(index))

    def _tees(self) -> Iterable[Part]:
        """Where a cable parts and no fixture stands: a joint of its own."""
        for place in dict.fromkeys(_parted(self._plan.spans)):
            x, y = self._at[place]
            ring = [
                (x + 2.2 * cos(turn * tau / SIDES), y + 2.2 * sin(turn * tau / SIDES))
                for turn in range(SIDES)
            ]
            yield Area(ring, hollow=True)

    def _boxes(self) -> Iterable[Part]:
        """Mounting points as squares, full where a transformer hangs."""
        half = 1.6 * MARK
        for box in self._plan.boxes():
            x, y = self._at[box.place]
            square = [
                (x - half, y - half),
                (x + half, y - half),
                (x + half, y + half),
                (x - half, y + half),
            ]
            yield Area(square, "ink", hollow=not box.supplies)
            hung = ", ".join(each.transformer_id for each in box.supplies)
            words = f"{self._plan.names[box.place]}: {hung}" if hung else self._plan.names[box.place]
            yield self._beside(box.place, words, 150.0, half, bold=True)

    def _lamps(self) -> Iterable[Part]:
        """Each fixture with its number in the request, several at one place beside each other."""
        numbers: dict[int, list[str]] = {}
        for lamp in self._plan.lamps():
            numbers.setdefault(lamp.place, []).append(str(lamp.number))
        for place, own in numbers.items():
            x, y = self._at[place]
            yield Area([(x, y - MARK), (x + MARK, y), (x, y + MARK), (x - MARK, y)], "ink")
            yield self._beside(place, ", ".join(own), 90.0, MARK)

    def _beside(self, place: int, words: str, room: float, half: float, *, bold: bool = False) -> Words:
        """Words on that side of a place where they cover nothing that is written, away from lines first."""
        x, y = self._at[place]
        lines = [
            atan2(v - y, u - x)
            for start, end in self._plan.routes
            for here, there in ((start, end), (end, start))
            if here == place and self._at[there] != (x, y)
            for u, v in [self._at[there]]
        ]

        def crowded(side: float) -> float:
            return -round(min((_between(side, line) for line in lines), default=pi), 6)

        text = within(words, min(room, self._paper.width - 2.0 * LEFT), SIZE, bold=bold)
        sides = sorted((turn * tau / SIDES for turn in range(SIDES)), key=crowded)
        tried = [self._words(text, (x, y), side, half, bold=bold) for side in sides]
        found = next((each for each in tried if not any(_over(each, other) for other in self._written)), None)
        taken = tried[0] if found is None else found
        self._written.append(taken)
        return taken

    def _words(self, text: str, at: Point, side: float, half: float, *, bold: bool) -> Words:
        """Words in one direction from a place, moved inwards where they would not fit on the paper."""
        dx, dy = cos(side), sin(side)
        anchor: Anchor = "middle" if abs(dx) < UPRIGHT else "start" if dx > 0.0 else "end"
        wide, far = breadth(text, SIZE, bold=bold), half + 2.5
        left, right = _reach(anchor, wide)
        x = min(max(at[0] + far * dx, left + 1.0), self._paper.width - right - 1.0)
        return Words(text, x, at[1] + far * dy + (0.36 + 0.39 * dy) * SIZE, SIZE, anchor, bold=bold)

    def _bar(self, y: float) -> list[Part]:
        """A bar of a round length, and where north is."""
        length = round_step(max(from_inside(60.0 / self._paper.scale, self._unit), 1e-6))
        wide = inside(length, self._unit) * self._paper.scale
        return [
            Stroke([(LEFT, y - 3.0), (LEFT, y), (LEFT + wide, y), (LEFT + wide, y - 3.0)], "line"),
            Words(f"{plain(length)} {self._unit}", LEFT + wide + 6.0, y + 2.0),
            Words("north is up", self._paper.width - LEFT, y + 2.0, anchor="end", tone="quiet"),
        ]

    def _listed(self) -> Iterable[tuple[list[Part], str]]:
        """What is drawn how, about the left end of a sample."""
        line: list[Point] = [(0.0, 0.0), (30.0, 0.0)]
        for index, run in enumerate(self._plan.runs):
            yield [Stroke(line, "bold", dashes(index))], run_words(run)
        if self._plan.trenches:
            yield [Stroke(line, "trench")], "trench"
        if len(self._plan.trenches) < len(self._plan.routes):
            yield [Stroke(line, "faint")], "route without cable"

    def _description(self) -> str:
        lamps = "; ".join(f"{lamp.number} {lamp.name}" for lamp in self._plan.lamps())
        told = "".join(f" {run_words(run)}." for run in self._plan.runs)
        return f"The places to scale with the routes between them.{told} Fixtures: {lamps}."


def run_words(run: LaidRun) -> str:
    """A run as a plan tells it: its tap, its load, its fixtures by number."""
    numbers = numbers_in_words([number_of(each) + 1 for each in run.fixtures])
    return f"{run.name}: {plain(run.tap.value)} V tap, {quantity(run.load)}, fixtures {numbers}"


def numbers_in_words(numbers: Iterable[int]) -> str:
    """Numbers in their order, those in a row told by their ends.

    Examples
    --------
    >>> numbers_in_words([4, 1, 2, 3, 7])
    '1–4, 7'
    """
    rows: list[list[int]] = []
    for each in sorted(numbers):
        if rows and rows[-1][-1] + 1 == each:
            rows[-1].append(each)
        else:
            rows.append([each])
    return ", ".join(str(row[0]) if len(row) == 1 else f"{row[0]}\N{EN DASH}{row[-1]}" for row in rows)


def _parted(spans: Sequence[PlannedSpan]) -> Iterable[int]:
    """Places where several spans of one run begin that is no box."""
    begun = set()
    for span in spans:
        start = (span.run.name, span.row.start)
        if span.row.start != "supply" and start in begun:
            yield span.places[0]
        begun.add(start)


UPRIGHT: Final = 0.3
"""Sideways part of a direction below which words stand above or below a place. [-]"""


def _reach(anchor: Anchor, wide: float) -> tuple[float, float]:
    """How far words reach to the left and to the right of where they stand. [pt]"""
    shares: dict[Anchor, float] = {"start": 0.0, "middle": 0.5, "end": 1.0}
    return shares[anchor] * wide, (1.0 - shares[anchor]) * wide


def _over(one: Words, other: Words) -> bool:
    """Whether words cover others."""
    if abs(one.y - other.y) >= SIZE:
        return False
    left, right = _reach(one.anchor, breadth(one.text, SIZE, bold=one.bold))
    its_left, its_right = _reach(other.anchor, breadth(other.text, SIZE, bold=other.bold))
    return one.x - left < other.x + its_right and other.x - its_left < one.x + right


def _between(one: float, other: float) -> float:
    """The angle between two directions. [rad]"""
    apart = abs(one - other) % tau
    return min(apart, tau - apart)


def _moved(ends: tuple[Point, Point], lane: int) -> list[Point]:
    """A line beside where it lies: the first on it, the others to either side in turn. [pt]"""
    (x, y), (u, v) = ends
    long = hypot(u - x, v - y)
    if not lane or not long:
        return [(x, y), (u, v)]
    away = BESIDE * ((lane + 1) // 2) * (1 if lane % 2 else -1)
    dx, dy = -(v - y) / long * away, (u - x) / long * away
    return [(x + dx, y + dy), (u + dx, v + dy)]


def _moved_to(parts: Iterable[Part], right: float, down: float) -> list[Part]:
    return [
        part
        if isinstance(part, Words)
        else part._replace(points=[(x + right, y + down) for x, y in part.points])
        for part in parts
    ]
