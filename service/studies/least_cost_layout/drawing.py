"""The plan of a layout, to scale: routes, trenches, runs by their dashes, lamps by number, boxes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot
from typing import Final, NamedTuple

from service.sheets.chart import dashes, round_step
from service.sheets.drawing import WIDE, Area, Drawing, Part, Point, Stroke, Words, within
from service.sheets.figures import given, plain, quantity
from service.sheets.sheet import Figure
from service.studies.least_cost_layout.composing import length_unit_of, place_names, positions_of
from service.studies.least_cost_layout.reply import LaidOut, LaidRun, LeastCostLayoutReply
from service.studies.least_cost_layout.request import LeastCostLayoutRequest
from service.studies.least_cost_layout.site import Position
from service.units import from_inside, inside

LEFT, TOP, EDGE = 16.0, 14.0, 12.0
"""Room round the plan. [pt]"""


NARROW = 260.0
"""Of a plan for a narrow screen. [pt]"""


HIGHEST, LOWEST = 420.0, 80.0
"""How high a plan may be, and is at least. [pt]"""


BESIDE: Final = 2.6
"""How far cables in one trench are drawn apart. [pt]"""


LINE: Final = 13.0
"""Height of a line of the list below the plan. [pt]"""


MARK: Final = 3.0
"""Half of the size of a lamp. [pt]"""


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


def _paper(positions: Sequence[Position], width: float) -> _Paper:
    east, north = [each.east_m for each in positions], [each.north_m for each in positions]
    wide_m, high_m = max(east) - min(east), max(north) - min(north)
    scales = [(width - 2.0 * LEFT) / wide_m if wide_m else 0.0, HIGHEST / high_m if high_m else 0.0]
    scale = min((each for each in scales if each), default=1.0)
    return _Paper(min(east), max(north), scale, max(LOWEST, high_m * scale), width)


def plan_figure(request: LeastCostLayoutRequest, reply: LeastCostLayoutReply, caption: str) -> Figure:
    """The plan for paper, and for a narrow screen."""
    broad, slim = (plan_drawing(request, reply, width) for width in (WIDE, NARROW))
    return Figure(broad, caption, slim)


def plan_drawing(
    request: LeastCostLayoutRequest, reply: LeastCostLayoutReply, width: float = WIDE
) -> Drawing:
    """The plan, so wide [pt]; of a reply without a layout its places, routes and fixtures."""
    positions = positions_of(request)
    paper, places = _paper(positions, width), {name: place for place, name in enumerate(place_names(request))}
    at = [paper.at(position) for position in positions]
    ends = [(at[places[route.start]], at[places[route.end]]) for route in request.routes]
    runs = _runs(reply)
    parts: list[Part] = [Stroke(each, "faint") for each in ends]
    parts += _cables(runs, ends)
    parts += _boxes(request, reply, places, at)
    parts += _lamps(request, places, at)
    below = TOP + paper.height + EDGE
    parts += _bar(paper, below, length_unit_of(request))
    lines = [f"{run.name}: {plain(run.tap.value)} V tap, {quantity(run.load)}" for run in runs]
    for index, line in enumerate(lines):
        y = below + (index + 2) * LINE
        parts.append(Stroke([(LEFT, y - 3.0), (LEFT + 30.0, y - 3.0)], "bold", dashes(index)))
        parts.append(Words(within(line, width - 60.0, 8.0), LEFT + 38.0, y))
    return Drawing(TITLE, _description(request, runs), below + (len(lines) + 2) * LINE, parts, width)


def _runs(reply: LeastCostLayoutReply) -> list[LaidRun]:
    if not isinstance(reply, LaidOut):
        return []
    return [run for supply in reply.layout.supplies for run in supply.runs]


def _cables(runs: Sequence[LaidRun], ends: Sequence[tuple[Point, Point]]) -> Iterable[Part]:
    """Each run along its routes, beside those that lie there already."""
    taken: dict[int, int] = {}
    for index, run in enumerate(runs):
        for route in dict.fromkeys(_number(each) for span in run.spans for each in span.routes):
            lane = taken.get(route, 0)
            taken[route] = lane + 1
            yield Stroke(_moved(ends[route], lane), "bold", dashes(index))


def _moved(ends: tuple[Point, Point], lane: int) -> list[Point]:
    """A line beside where it lies: the first on it, the others to either side in turn. [pt]"""
    (x, y), (u, v) = ends
    long = hypot(u - x, v - y)
    if not lane or not long:
        return [(x, y), (u, v)]
    away = BESIDE * ((lane + 1) // 2) * (1 if lane % 2 else -1)
    dx, dy = -(v - y) / long * away, (u - x) / long * away
    return [(x + dx, y + dy), (u + dx, v + dy)]


def _number(pointer: str) -> int:
    return int(pointer.rpartition("/")[2])


def _boxes(
    request: LeastCostLayoutRequest,
    reply: LeastCostLayoutReply,
    places: dict[str, int],
    at: Sequence[Point],
) -> Iterable[Part]:
    """Mounting points as squares, full where a transformer hangs."""
    used = set()
    if isinstance(reply, LaidOut):
        used = {supply.mounting_point for supply in reply.layout.supplies}
    for index, mount in enumerate(request.mounting_points):
        x, y = at[places[mount.place]]
        half = 1.6 * MARK
        square = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
        yield Area(square, "ink", hollow=f"/mounting_points/{index}" not in used)
        yield Words(within(mount.place, 110.0, 8.0, bold=True), x + 2.4 * MARK, y - 1.4 * MARK, bold=True)


def _lamps(request: LeastCostLayoutRequest, places: dict[str, int], at: Sequence[Point]) -> Iterable[Part]:
    """Each fixture with its number in the request, several at one place beside each other."""
    numbers: dict[str, list[str]] = {}
    for number, fixture in enumerate(request.fixtures, start=1):
        numbers.setdefault(fixture.place, []).append(str(number))
    for place, own in numbers.items():
        x, y = at[places[place]]
        yield Area([(x, y - MARK), (x + MARK, y), (x, y + MARK), (x - MARK, y)], "ink")
        yield Words(within(", ".join(own), 90.0, 8.0), x + 1.5 * MARK, y + 2.4 * MARK, tone="quiet")


def _bar(paper: _Paper, y: float, unit: str) -> list[Part]:
    """A bar of a round length, and where north is."""
    length = round_step(max(from_inside(60.0 / paper.scale, unit), 1e-6))
    wide = inside(length, unit) * paper.scale
    return [
        Stroke([(LEFT, y - 3.0), (LEFT, y), (LEFT + wide, y), (LEFT + wide, y - 3.0)], "line"),
        Words(f"{plain(length)} {unit}", LEFT + wide + 6.0, y + 2.0),
        Words("up is north (y)", paper.width - LEFT, y + 2.0, anchor="end", tone="quiet"),
    ]


def _description(request: LeastCostLayoutRequest, runs: Sequence[LaidRun]) -> str:
    names = [given(each.name) or each.place for each in request.fixtures]
    lamps = "; ".join(f"{number} {name}" for number, name in enumerate(names, start=1))
    told = "; ".join(f"{run.name} with {len(run.fixtures)} fixtures" for run in runs)
    return f"The places to scale with the routes between them. {told}. Fixtures: {lamps}."
