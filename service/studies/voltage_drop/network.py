"""A network as lines to draw, from the request and the reply: runs, branches, spurs, arms of a graph."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from msgspec import UnsetType

from service.circuit.windows import REFERENCE_NOMINAL_V, Bounds, usual_bounds
from service.sheets.figures import said
from service.studies.voltage_drop.reply import FixtureRow, Solved, SpanRow
from service.wire.fixture import Filament, FixtureLine, PointFixture
from service.wire.job import JobRequest
from service.wire.supply import Transformer
from service.wire.wiring import EvenWiring, TotalsWiring


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
    name = network.names[last]
    return f"to {name}" if _of_graph(leg) else name.rpartition(" at ")[0] or name


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


def hung_on(network: DrawnNetwork, rows: list[FixtureRow]) -> dict[int, list[FixtureRow]]:
    """The fixtures at each point of the cable, a lead away or not."""
    found: dict[int, list[FixtureRow]] = {}
    for row, lamp in zip(rows, network.lamps, strict=True):
        if lamp is None:
            continue
        point = lamp
        while (index := network.into[point]) is not None and not network.legs[index].cable:
            point = network.legs[index].start
        found.setdefault(point, []).append(row)
    return found


SUPPLY = "supply"


LAMP, FAR = "lamp of ", "far end of "


class Leg(NamedTuple):
    """A span between two points, by their numbers; cable, or a lead, a splice or a strip."""

    start: int
    end: int
    row: SpanRow
    cable: bool


class Trail(NamedTuple):
    """Points along one line, the first of them where it begins; and the spans between them."""

    name: str
    points: list[int]
    legs: list[Leg]


class DrawnNetwork(NamedTuple):
    """Points by number, the supply first.

    `into` is the leg by which each point is reached from the supply, None where there is none; `distance` is
    along those legs, in the unit of the reply. `lamps` are the points of the fixtures, in their order, None
    where the reply does not tell. `closing` are legs that close a loop.
    """

    legs: list[Leg]
    names: list[str]
    into: list[int | None]
    distance: list[float]
    lamps: list[int | None]
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


def drawn_network_of(
    spans: Sequence[SpanRow], fixtures: Sequence[FixtureRow], points: Mapping[str, str]
) -> DrawnNetwork:
    """The network of a reply; `points` are the names of the points at which fixtures of a graph hang."""
    reader = _Reader()
    for row in spans:
        reader.read(row)
    lamps = [reader.lamp(row, points.get(row.pointer)) for row in fixtures]
    into, distance, closing = _reached(reader.legs, len(reader.names))
    return DrawnNetwork(reader.legs, reader.names, into, distance, lamps, closing)


class _Reader:
    """Gives the points of a reply their numbers."""

    def __init__(self) -> None:
        self.names = [SUPPLY]
        self.legs: list[Leg] = []
        self._of_graph = {SUPPLY: 0}
        self._of_run: dict[str, dict[str, int]] = {}
        self._at: dict[str, dict[str, int]] = {}
        self._last: dict[str, int] = {}
        self._hung: dict[tuple[str, str], int] = {}

    def read(self, row: SpanRow) -> None:
        """Add one span; a reply lists them so that each begins where an earlier one was."""
        pointer = "" if isinstance(row.pointer, UnsetType) else row.pointer
        rail = row.end.startswith(FAR) and isinstance(row.conductor, UnsetType)
        if rail or "/fixtures/" in pointer:
            self._hang(pointer, row)
        elif pointer.startswith("/wiring/spans/"):
            self._add(self._graph_point(row.start), self._graph_point(row.end), row)
        elif pointer.endswith("/return_leg"):
            run = pointer.rpartition("/")[0]
            self._add(self._on(run, row.start), self._on(run, row.end), row)
        else:
            self._follow(pointer, row)

    def lamp(self, row: FixtureRow, point: str | None) -> int | None:
        """The point of a fixture: its own where it hangs on a lead, else that of the cable."""
        hung = self._hung.get((row.pointer, LAMP + row.name))
        if hung is not None:
            return hung
        if point is not None:
            return self._of_graph.get(point)
        run = row.pointer.rpartition("/fixtures/")[0] or row.pointer
        if row.at.value == 0.0 and run not in self._of_run:
            return 0 if _parent(run) is None else None
        return self._at.get(run, {}).get(f"{round(row.at.value, 3):g} {row.at.unit}", None)

    def _follow(self, run: str, row: SpanRow) -> None:
        """The next stretch of a run; its first one begins at the run or branch that feeds it."""
        if run not in self._last:
            self._last[run] = self._on(run, row.start)
        end = self._new(row.end)
        self._add(self._last[run], end, row)
        self._last[run] = end
        self._of_run[run].setdefault(row.end, end)
        self._at[run].setdefault(row.end.rpartition(" at ")[2], end)

    def _on(self, run: str, name: str) -> int:
        """The point of a run that has this name; its start is a point of what feeds it."""
        if run not in self._of_run:
            parent = _parent(run)
            start = 0 if parent is None else self._on(parent, name)
            self._of_run[run] = {name: start}
            self._at[run] = {"0 ft": start, "0 m": start}
        found = self._of_run[run].get(name)
        return self._new(name) if found is None else found

    def _hang(self, pointer: str, row: SpanRow) -> None:
        """A lead, a splice or a strip, each behind the one before."""
        start = self._hung.get((pointer, row.start))
        if start is None:
            run = pointer.rpartition("/fixtures/")[0] or pointer
            start = self._of_graph.get(row.start) if run == "/wiring" and len(self._of_graph) > 1 else None
            start = self._on(run, row.start) if start is None else start
        end = self._new(row.end)
        self._hung[pointer, row.end] = end
        self._add(start, end, row, cable=False)

    def _graph_point(self, name: str) -> int:
        if name not in self._of_graph:
            self._of_graph[name] = self._new(name)
        return self._of_graph[name]

    def _new(self, name: str) -> int:
        self.names.append(name)
        return len(self.names) - 1

    def _add(self, start: int, end: int, row: SpanRow, *, cable: bool = True) -> None:
        self.legs.append(Leg(start, end, row, cable))


def _parent(run: str) -> str | None:
    """The pointer of what feeds a branch or spur; None for what leaves the supply."""
    for word in ("/spurs/", "/branches/"):
        before, found, _ = run.rpartition(word)
        if found:
            return before
    return None


def _reached(legs: list[Leg], points: int) -> tuple[list[int | None], list[float], list[Leg]]:
    """How each point is reached from the supply, along the spans as they are told before against them.

    A loop is closed by the leg that brings it back, as it was laid, and not somewhere in its middle.
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


class Windows:
    """The windows of one request.

    Parameters
    ----------
    request : JobRequest
    taps_in_use : int
        How many taps the reply tells of; behind several a fixture without its own window is warned lower.
    """

    def __init__(self, request: JobRequest, taps_in_use: int) -> None:
        nominal = said(request.wiring.nominal_voltage)
        self._wiring = request.wiring
        self._nominal_v = REFERENCE_NOMINAL_V if nominal is None else float(nominal.value)
        taps = request.supply.taps if isinstance(request.supply, Transformer) else None
        offered = 0 if taps is None or isinstance(taps, UnsetType) else len(taps)
        self._several_taps = offered > 1 or taps_in_use > 1

    def of(self, pointer: str) -> Bounds:
        """The window of the fixture line at a pointer. [V]"""
        line = self.line(pointer)
        if isinstance(line, EvenWiring | TotalsWiring):
            return self._usual(filament=isinstance(line.load, Filament))
        window = said(line.window)
        if window is None:
            return self._usual(filament=isinstance(line.load, Filament))
        low, high = window.minimum.value, window.maximum.value
        return Bounds(low, low, high, high, "caller", "caller", stated=True)

    def line(self, pointer: str) -> FixtureLine | PointFixture | EvenWiring | TotalsWiring:
        """What the request says at a pointer that a fixture has."""
        place: object = self._wiring
        for token in pointer.removeprefix("/wiring").split("/")[1:]:
            place = place[int(token)] if isinstance(place, list) else getattr(place, token)
        assert isinstance(place, FixtureLine | PointFixture | EvenWiring | TotalsWiring)  # noqa: S101  # by make
        return place

    def _usual(self, *, filament: bool) -> Bounds:
        return usual_bounds(filament=filament, nominal_v=self._nominal_v, several_taps=self._several_taps)


def least_voltage(row: FixtureRow) -> float:
    """The lower end of a fixture: of a strip its far end. [V]"""
    far = said(row.far_voltage)
    return row.voltage.value if far is None else min(row.voltage.value, far.value)


def spare_ratio(row: FixtureRow, bounds: Bounds) -> float:
    """How far a fixture stands above the least that it should get, as a share of that. [-]"""
    return (least_voltage(row) - bounds.low_v) / bounds.low_v
