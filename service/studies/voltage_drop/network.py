"""A network as lines to draw, from the request and the reply: runs, branches, spurs, arms of a graph."""

from __future__ import annotations

from collections import deque
from typing import NamedTuple

from msgspec import UnsetType

from service.sheets.figures import given
from service.studies.voltage_drop.reply import FixtureRow, Solved, SpanRow
from service.translate.naming import run_name
from service.wire.wiring import Wiring


def trails_of(network: DrawnNetwork) -> list[Trail]:
    """Every line of cable, each after the one that it begins on."""
    behind = [
        [point for point in beyond if network.legs[network.into[point] or 0].cable]
        for beyond in network.behind()
    ]
    reach = _reach(network, behind)
    waiting = [(0, first) for first in reversed(behind[0])]
    found = []
    while waiting:
        start, first = waiting.pop()
        points = [start, first]
        while (beyond := _onwards(network, points[-1], behind, reach)) is not None:
            points.append(beyond)
        legs = [network.legs[network.into[point] or 0] for point in points[1:]]
        found.append(Trail(_name(network, legs[-1], points[-1]), points, legs))
        along = set(points)
        waiting += [
            (point, other)
            for point in reversed(points[1:])
            for other in reversed(behind[point])
            if other not in along
        ]
    return found


def _onwards(network: DrawnNetwork, point: int, behind: list[list[int]], reach: list[float]) -> int | None:
    """The point at which a line goes on: of the same run, or in a graph where most cable is left."""
    leg = network.legs[network.into[point] or 0]
    if _of_graph(leg):
        return max(behind[point], key=lambda each: reach[each], default=None)
    run = leg.row.pointer
    same = [each for each in behind[point] if network.legs[network.into[each] or 0].row.pointer == run]
    return same[0] if same else None


def _reach(network: DrawnNetwork, behind: list[list[int]]) -> list[float]:
    """The distance from the supply to the farthest point behind each."""
    reach = list(network.distance)
    for point in reversed(network.order()):
        reach[point] = max([reach[point], *(reach[each] for each in behind[point])])
    return reach


def _name(network: DrawnNetwork, leg: Leg, last: int) -> str:
    """The name of the run that ends here; of an arm of a graph where it leads."""
    return f"to {network.names[last]}" if _of_graph(leg) else leg.run


def _of_graph(leg: Leg) -> bool:
    pointer = leg.row.pointer
    return isinstance(pointer, str) and pointer.startswith("/wiring/spans/")


def voltages(network: DrawnNetwork, reply: Solved) -> list[float]:
    """The voltage at each point: that of its terminal, less what is lost on the way. [V]"""
    lost = network.lost()
    first_of = [0] * len(network.names)
    for point in network.order():
        index = network.into[point]
        if index is not None:
            leg = network.legs[index]
            before = leg.start if leg.end == point else leg.end
            first_of[point] = first_of[before] or point
    terminal = {
        first_of[lamp]: row.voltage.value + row.cable_drop.value
        for row, lamp in zip(reply.fixtures, network.lamps, strict=True)
        if lamp
    }
    own = reply.supply.terminal.value
    return [terminal.get(first_of[point], own) - lost[point] for point in range(len(network.names))]


def fixtures_at(network: DrawnNetwork, rows: list[FixtureRow]) -> dict[int, list[FixtureRow]]:
    """The fixtures at each point of the cable, a lead away or not."""
    found: dict[int, list[FixtureRow]] = {}
    for row, lamp in zip(rows, network.lamps, strict=True):
        point = lamp
        while (index := network.into[point]) is not None and not network.legs[index].cable:
            point = network.legs[index].start
        found.setdefault(point, []).append(row)
    return found


SUPPLY = "supply"


class Leg(NamedTuple):
    """A span between two points, by their numbers; cable and of which run, or a lead, splice or strip."""

    start: int
    end: int
    row: SpanRow
    cable: bool
    run: str


class Trail(NamedTuple):
    """Points along one line, the first of them where it begins; and the spans between them."""

    name: str
    points: list[int]
    legs: list[Leg]


class DrawnNetwork(NamedTuple):
    """Points by number, the supply first.

    `into` is the leg by which each point is reached from the supply, None where there is none; `distance` is
    along those legs, in the unit of the reply. `lamps` are the points of the fixtures, in their order.
    `closing` are legs that close a loop.
    """

    legs: list[Leg]
    names: list[str]
    into: list[int | None]
    distance: list[float]
    lamps: list[int]
    closing: list[Leg]

    def way(self, point: int) -> list[Leg]:
        """The legs from the supply to a point."""
        found = []
        while (index := self.into[point]) is not None:
            leg = self.legs[index]
            found.append(leg)
            point = leg.start if leg.end == point else leg.end
        return found[::-1]

    def on_loops(self) -> set[int]:
        """The points into which a span of some loop leads."""
        found: set[int] = set()
        for leg in self.closing:
            found |= self._above(leg.start) ^ self._above(leg.end)
        return found

    def _above(self, point: int) -> set[int]:
        """A point and those on its way, the supply left out."""
        above = set()
        while (index := self.into[point]) is not None:
            above.add(point)
            leg = self.legs[index]
            point = leg.start if leg.end == point else leg.end
        return above

    def lost(self) -> list[float]:
        """Volts lost on the way to each point, the drops of the rows added up."""
        lost = [0.0] * len(self.names)
        for point in self.order():
            index = self.into[point]
            if index is not None:
                leg = self.legs[index]
                forward = leg.end == point
                before = leg.start if forward else leg.end
                lost[point] = lost[before] + (leg.row.drop.value if forward else -leg.row.drop.value)
        return lost

    def order(self) -> list[int]:
        """Points, each after the one before it on its way."""
        behind = self.behind()
        found = [0]
        for point in found:
            found += behind[point]
        return found

    def behind(self) -> list[list[int]]:
        """The points that come next, for each point."""
        behind: list[list[int]] = [[] for _ in self.names]
        for point, index in enumerate(self.into):
            if index is not None:
                leg = self.legs[index]
                behind[leg.start if leg.end == point else leg.end].append(point)
        return behind


def drawn_network_of(wiring: Wiring, reply: Solved) -> DrawnNetwork:
    """The network of a reply to a request with this wiring."""
    names, number_of = [SUPPLY], {0: 0}
    legs = []
    for row in reply.spans:
        for point, name in ((row.from_point, row.start), (row.to_point, row.end)):
            if number_of.setdefault(point, len(names)) == len(names):
                names.append(name)
        legs.append(_leg(row, number_of[row.from_point], number_of[row.to_point], wiring))
    into, distance, closing = _reached(legs, len(names))
    lamps = [number_of[row.point] for row in reply.fixtures]
    return DrawnNetwork(legs, names, into, distance, lamps, closing)


def _leg(row: SpanRow, start: int, end: int, wiring: Wiring) -> Leg:
    pointer = "" if isinstance(row.pointer, UnsetType) else row.pointer
    cable = not isinstance(row.conductor, UnsetType) and "/fixtures/" not in pointer
    return Leg(start, end, row, cable, run_name(wiring, pointer) if cable else "")


def _reached(legs: list[Leg], points: int) -> tuple[list[int | None], list[float], list[Leg]]:
    """How each point is reached from the supply, along the spans as they are listed before against them.

    A loop is closed by the leg that brings it back, as it was stated, and not somewhere in its middle.
    """
    onwards: list[list[int]] = [[] for _ in range(points)]
    backwards: list[list[int]] = [[] for _ in range(points)]
    for index, leg in enumerate(legs):
        onwards[leg.start].append(index)
        backwards[leg.end].append(index)
    into: list[int | None] = [None] * points
    distance = [0.0] * points
    seen = {0}
    first, later = deque([0]), deque([0])
    while first or later:
        forward = bool(first)
        point = first.popleft() if forward else later.popleft()
        for index in (onwards if forward else backwards)[point]:
            leg = legs[index]
            beyond = leg.end if forward else leg.start
            if beyond not in seen:
                seen.add(beyond)
                into[beyond] = index
                distance[beyond] = distance[point] + leg.row.length.value
                first.append(beyond)
                later.append(beyond)
    used = set(into)
    return into, distance, [leg for index, leg in enumerate(legs) if index not in used]


def least_voltage(row: FixtureRow) -> float:
    """The lower end of a fixture: of a strip its far end. [V]"""
    far = given(row.far_voltage)
    return row.voltage.value if far is None else min(row.voltage.value, far.value)


def spare_ratio(row: FixtureRow) -> float:
    """How far a fixture stands above the least that it should get, as a share of that. [-]"""
    least_v = row.window.minimum.value
    return (least_voltage(row) - least_v) / least_v
