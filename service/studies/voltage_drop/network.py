"""A network as lines to draw, from the request and the reply: runs, branches, spurs, arms of a graph."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import NamedTuple

from msgspec import UnsetType

from service.sheets.figures import given
from service.studies.voltage_drop.reply import FixtureRow, Solved, SpanRow
from service.translate.naming import UNNAMED_LAMP, lamp_name, run_name
from service.units import inside
from service.wire.job import JobRequest
from service.wire.reply import TapState
from service.wire.supply import Transformer
from service.wire.wiring import GraphSpan, Run, RunsWiring, SpansWiring, Wiring


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


def as_drawn(trails: Sequence[Trail]) -> list[Trail]:
    """The same lines in the order of their rows, so that no stroke down crosses or meets the row of another.

    Of what begins on one line the farthest lies nearest below it: what begins nearer then leads down on the
    left of all that. Each line comes with the one that it begins on.
    """
    beginning: dict[int, list[Trail]] = {}
    for trail in trails:
        beginning.setdefault(trail.points[0], []).append(trail)
    known = {point for trail in trails for point in trail.points[1:]}
    waiting = [trail for trail in reversed(trails) if trail.points[0] not in known]
    found = []
    while waiting:
        trail = waiting.pop()
        found.append(trail)
        waiting += [other for point in trail.points[1:] for other in reversed(beginning.get(point, ()))]
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


def voltages(network: DrawnNetwork) -> list[float]:
    """The voltage at each point: that of the terminal it is fed from, less what is lost on the way. [V]

    The supply's own point has several where several taps are used: it stands for the first of them.
    """
    lost = network.lost()
    return [network.fed_at(point).tap.terminal.value - lost[point] for point in range(len(network.names))]


def fixtures_at(network: DrawnNetwork) -> dict[int, list[int]]:
    """Which fixtures are at each point of the cable, a lead away or not, by their place in the rows."""
    found: dict[int, list[int]] = {}
    for place, lamp in enumerate(network.lamps):
        point = lamp
        while (index := network.into[point]) is not None and not network.legs[index].cable:
            point = network.legs[index].start
        found.setdefault(point, []).append(place)
    return found


SUPPLY = "supply"


class Leg(NamedTuple):
    """A span between two points, by their numbers; cable and of which run, or a lead, splice or strip."""

    start: int
    end: int
    row: SpanRow
    cable: bool
    run: str


class Fed(NamedTuple):
    """The terminal that cable leaves from: its tap, as it stands under load, and its circuit."""

    tap: TapState
    circuit: str


class Trail(NamedTuple):
    """Points along one line, the first of them where it begins; and the spans between them."""

    name: str
    points: list[int]
    legs: list[Leg]


class DrawnNetwork(NamedTuple):
    """Points by number, the supply first.

    `into` is the leg by which each point is reached from the supply, None where there is none; `distance` is
    along those legs, in the unit of the reply. `lamps` are the points of the fixtures, in their order.
    `called` is what each of them is called without the place where it stands; empty where it has no name.
    `closing` are legs that close a loop. `first` is the point at which the cable to each begins to be on its
    own, `fed` what each of those is wired to; `own` is the first tap with the first circuit.
    """

    legs: list[Leg]
    names: list[str]
    into: list[int | None]
    distance: list[float]
    lamps: list[int]
    called: list[str]
    closing: list[Leg]
    first: list[int]
    fed: dict[int, Fed]
    own: Fed
    tapped: bool
    """Whether the supply is a transformer, whose terminals are its taps."""

    def fed_at(self, point: int) -> Fed:
        """The terminal that feeds a point."""
        return self.fed.get(self.first[point], self.own)

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


def drawn_network_of(request: JobRequest, reply: Solved) -> DrawnNetwork:
    """The network of a reply to a request."""
    names, number_of = [SUPPLY], {0: 0}
    legs = []
    for row in reply.spans:
        for point, name in ((row.from_point, row.start), (row.to_point, row.end)):
            if number_of.setdefault(point, len(names)) == len(names):
                names.append(name)
        legs.append(_leg(row, number_of[row.from_point], number_of[row.to_point], request.wiring))
    into, distance, closing = _reached(legs, len(names))
    lamps = [number_of[row.point] for row in reply.fixtures]
    first = _first_points(legs, into)
    fed = {
        point: fed_from(request, reply, given(legs[index].row.pointer) or "")
        for point, index in enumerate(into)
        if index is not None and first[point] == point
    }
    own = fed_from(request, reply, "")
    called = [_called(request.wiring, row) for row in reply.fixtures]
    tapped = isinstance(request.supply, Transformer)
    return DrawnNetwork(legs, names, into, distance, lamps, called, closing, first, fed, own, tapped)


def _called(wiring: Wiring, row: FixtureRow) -> str:
    """A lamp by its name and its number among those of its line."""
    name, number = lamp_name(wiring, row.pointer), given(row.number)
    return "" if name == UNNAMED_LAMP else name if number is None else f"{name} {number}"


def fed_from(request: JobRequest, reply: Solved, pointer: str) -> Fed:
    """The terminal that the cable at a pointer is wired to: as its run or span says, else the first."""
    leaving = _leaving(request.wiring, pointer)
    tap = None if leaving is None else given(leaving.tap)
    circuit = None if leaving is None else given(leaving.circuit)
    taps = reply.supply.taps
    wanted_v = taps[0].rated.value if tap is None else inside(tap.value, tap.unit)
    nearest = min(taps, key=lambda each: abs(each.rated.value - wanted_v))
    return Fed(nearest, reply.supply.circuits[0].name if circuit is None else circuit)


def _leaving(wiring: Wiring, pointer: str) -> Run | GraphSpan | None:
    """The run or the span of a graph to which a pointer leads."""
    tokens = pointer.split("/")
    if isinstance(wiring, RunsWiring) and tokens[2:3] == ["runs"]:
        return wiring.runs[int(tokens[3])]
    if isinstance(wiring, SpansWiring) and tokens[2:3] == ["spans"]:
        return wiring.spans[int(tokens[3])]
    return None


def _first_points(legs: list[Leg], into: list[int | None]) -> list[int]:
    """For each point the first on its way from the supply; the supply itself for what is not reached."""
    first = [0] * len(into)
    for point in range(len(into)):
        passed, at = [], point
        while not first[at] and (index := into[at]) is not None:
            passed.append(at)
            leg = legs[index]
            at = leg.start if leg.end == at else leg.end
        found = first[at] or (passed[-1] if passed else 0)
        for each in passed:
            first[each] = found
    return first


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


def lamp_numbers(network: DrawnNetwork, trails: list[Trail], rows: list[FixtureRow]) -> list[Numbers]:
    """The numbers of the lamps of each row: counted along one line of cable after the other."""
    at = fixtures_at(network)
    order = [
        place
        for point in [0, *(p for trail in trails for p in trail.points[1:])]
        for place in at.get(point, ())
    ]
    numbers, last = [Numbers(0, 0)] * len(rows), 0
    for place in order:
        first, last = last + 1, last + (given(rows[place].count) or 1)
        numbers[place] = Numbers(first, last)
    return numbers


class Numbers(NamedTuple):
    """The numbers of lamps that stand at one point, from the first to the last."""

    first: int
    last: int

    @property
    def words(self) -> str:
        """One number, or from which to which."""
        return str(self.first) if self.first == self.last else f"{self.first}\N{EN DASH}{self.last}"


def number_words(numbers: list[Numbers]) -> str:
    """Numbers in words, those in a row told by their ends."""
    told: list[Numbers] = []
    for each in sorted(numbers):
        if told and told[-1].last + 1 == each.first:
            told[-1] = Numbers(told[-1].first, each.last)
        else:
            told.append(each)
    return ", ".join(each.words for each in told)


def least_voltage(row: FixtureRow) -> float:
    """The lower end of a fixture: of a strip its far end. [V]"""
    far = given(row.far_voltage)
    return row.voltage.value if far is None else min(row.voltage.value, far.value)


def spare_ratio(row: FixtureRow) -> float:
    """How far a fixture stands above the least that it should get, as a share of that. [-]"""
    least_v = row.window.minimum.value
    return (least_voltage(row) - least_v) / least_v
