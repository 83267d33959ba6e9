"""The volts along the way: a line for each run, a mark for each fixture, the least that they should get."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.sheets.drawing import WIDE, Drawing, Stroke, Words, breadth, mark
from service.sheets.figures import plain
from service.sheets.trails import trails_of, voltages
from service.translate.drop_chart_marks import Scale, apart, clipped, round_step

if TYPE_CHECKING:
    from service.messages.voltage_drop import FixtureRow, Solved
    from service.sheets.drawing import Part
    from service.sheets.network import Network
    from service.sheets.trails import Trail
    from service.sheets.windows import Windows

LEFT, RIGHT, TOP, BOTTOM = 34.0, 404.0, 16.0, 196.0
HEIGHT = 232.0
MOST_NAMES = 14
LONGEST_NAME = 20


def profile(reply: Solved, network: Network, windows: Windows) -> Drawing:
    """Volts against the distance from the supply."""
    at_v = voltages(network, reply)
    trails = trails_of(network)
    least_v = sorted({windows.of(row.pointer).low_v for row in reply.fixtures})[-3:]
    shown_v = [*at_v, *least_v, *(row.voltage.value for row in reply.fixtures)]
    x = Scale(0.0, max(network.distance) or 1.0, LEFT, RIGHT)
    y = _volts(min(shown_v), max(shown_v))
    parts: list[Part] = [*_axes(x, y, reply), *_limits(least_v, y), *_lines(trails, at_v, network, x, y)]
    for row, lamp in zip(reply.fixtures, network.lamps, strict=True):
        if lamp is not None:
            parts.append(mark(row.verdict, x.at(network.distance[lamp]), y.at(row.voltage.value)))
    return Drawing("Volts along the way", _told(reply.fixtures), HEIGHT, parts)


def _volts(low_v: float, high_v: float) -> Scale:
    step = round_step(max(high_v - low_v, 0.02 * high_v, 1e-3) / 5.0)
    return Scale(low_v - 0.5 * step, high_v + 0.3 * step, BOTTOM, TOP)


def _axes(x: Scale, y: Scale, reply: Solved) -> list[Part]:
    parts: list[Part] = [Words("V", LEFT - 5.0, TOP - 6.0, anchor="end", tone="quiet")]
    for volts in y.ticks(6):
        parts.append(Stroke([(LEFT, y.at(volts)), (RIGHT, y.at(volts))], "faint"))
        parts.append(Words(f"{volts:g}", LEFT - 5.0, y.at(volts) + 2.8, anchor="end", tone="quiet"))
    for length in x.ticks(6):
        parts.append(Stroke([(x.at(length), BOTTOM), (x.at(length), BOTTOM + 3.0)]))
        parts.append(Words(f"{length:g}", x.at(length), BOTTOM + 12.0, anchor="middle", tone="quiet"))
    unit = reply.spans[0].length.unit if reply.spans else "m"
    words = f"from the supply along the cable, one way [{unit}]"
    parts.append(Words(words, 0.5 * (LEFT + RIGHT), BOTTOM + 26.0, anchor="middle", tone="quiet"))
    return [*parts, Stroke([(LEFT, TOP), (LEFT, BOTTOM), (RIGHT, BOTTOM)])]


def _limits(least_v: list[float], y: Scale) -> list[Part]:
    parts: list[Part] = []
    for volts in least_v:
        parts.append(Stroke([(LEFT, y.at(volts)), (RIGHT, y.at(volts))], "limit"))
        words = f"{plain(volts)} V: least that {'these' if len(least_v) == 1 else 'some'} fixtures should get"
        parts.append(Words(words, LEFT + 4.0, y.at(volts) - 3.0, 7.0, tone="warn"))
    return parts


def _lines(trails: list[Trail], at_v: list[float], network: Network, x: Scale, y: Scale) -> list[Part]:
    parts: list[Part] = []
    named = sorted(trails, key=lambda trail: at_v[trail.points[-1]])[:MOST_NAMES]
    wanted = [y.at(at_v[trail.points[-1]]) for trail in named]
    for trail, place in zip(named, apart(wanted, 11.0, BOTTOM), strict=True):
        last = trail.points[-1]
        end = (x.at(network.distance[last]), y.at(at_v[last]))
        words = clipped(trail.name, LONGEST_NAME)
        parts.append(Stroke([end, (RIGHT + 4.0, place), (RIGHT + 8.0, place)], "faint"))
        parts.append(Words(words, min(RIGHT + 10.0, WIDE - breadth(words, 8.0)), place + 2.8))
    for trail in trails:
        points = [(x.at(network.distance[point]), y.at(at_v[point])) for point in trail.points]
        parts.append(Stroke(points, "bold"))
    return parts


def _told(rows: list[FixtureRow]) -> str:
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
