"""From pointers into the request to points, spans and rows of the layout."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from service.circuit.job import Graph
from service.circuit.layout import Layout
from service.circuit.state import Connected
from service.estimation.job import CURRENT, RESISTANCE, VOLTAGE, WIRING, Pointed, StatedReading, Terminal
from service.physics.network import TERMINAL
from service.problems.unanswered import Mistake


class Connection(NamedTuple):
    """The tap [V] and the circuit by which a run leaves the supply; of a clamp there None: whichever."""

    tap_v: float | None
    circuit: str | None

    def encloses(self, other: Connection) -> bool:
        """Whether a clamp here is round a run that leaves there."""
        return self.tap_v in {None, other.tap_v} and self.circuit in {None, other.circuit}


class Probe(NamedTuple):
    """What a meter reads.

    Volts between the conductors at `point`, at the terminal of a tap with `tap_ratio` times the volts of the
    secondary [-]; or the amperes that flow through `spans`, each forwards (1) or backwards (-1), and into
    `rows` of fixtures, each with the ratio by which its load was referred, over `shared_by` alike. [-]
    `leaving`: of a clamp at the supply what it is round, whatever runs that may be.
    """

    quantity: str
    point: int = TERMINAL
    tap_ratio: float = 1.0
    spans: tuple[tuple[int, int], ...] = ()
    rows: tuple[tuple[int, float], ...] = ()
    shared_by: float = 1.0
    row: int | None = None
    lead_ohm: float = 0.0
    leaving: Connection | None = None

    @property
    def is_resistance(self) -> bool:
        """Whether ohms of a loop are read, joined at `point`; the meter's own leads are `lead_ohm`. [ohm]"""
        return self.quantity == RESISTANCE

    @property
    def is_voltage(self) -> bool:
        """Whether volts are read."""
        return self.quantity == VOLTAGE


class Probes:
    """The layout by pointer.

    Parameters
    ----------
    connected : Connected
        A job connected to its supply.
    """

    __slots__ = ("_connected", "_ends", "_rows", "_under", "graph", "mistakes")

    def __init__(self, connected: Connected) -> None:
        self._connected = connected
        self.graph = isinstance(connected.job.wiring, Graph)
        self._ends = {end.subject.pointer: end for end in reversed(connected.layout.ends)}
        self._rows: dict[str, list[int]] = {}
        for index, placed in enumerate(connected.layout.fixtures):
            self._rows.setdefault(placed.line.subject.pointer, []).append(index)
        self._under: dict[str, list[int]] = {}
        for line, rows in self._rows.items():
            for around in _around(line):
                self._under.setdefault(around, []).extend(rows)
        self.mistakes: list[Mistake] = []

    def probe(self, reading: StatedReading) -> Probe | None:
        """What a reading was taken of; None, and a mistake, where there is no such thing."""
        where = reading.where
        if isinstance(where, Terminal):
            return self.terminal_probe(where, reading.quantity)
        if where.pointer in self._rows and (where.number is not None or where.pointer not in self._ends):
            row = self._row(where)
            return None if row is None else self.fixture_probe(row, reading.quantity)
        if where.number is None and where.pointer in self._ends and not self.graph:
            return self.run_probe(where.pointer, reading.quantity)
        span = self._span(where.pointer) if self.graph else None
        if span is None or where.number is not None:
            self._refuse("reading-unknown-place", where)
            return None
        if reading.quantity != CURRENT:
            self._refuse("reading-volts-of-span", where)
            return None
        return Probe(reading.quantity, spans=((span, 1),))

    def fixture_probe(self, row: int, quantity: str) -> Probe:
        """Volts at a fixture's splice, before its lead; or what one fixture of a row draws."""
        placed = self._connected.layout.fixtures[row]
        if quantity == RESISTANCE:
            return Probe(quantity, placed.cable_point, row=row)
        if quantity == VOLTAGE:
            return Probe(quantity, placed.cable_point, self._tap_ratio(placed.open_circuit_v), row=row)
        return Probe(quantity, rows=(self._referred(row),), shared_by=placed.pieces, row=row)

    def run_probe(self, pointer: str, quantity: str) -> Probe:
        """Volts at the far end of a run, a branch or a spur; or what flows into it."""
        end = self._ends[pointer]
        if quantity == RESISTANCE:
            return Probe(quantity, end.point)
        if quantity == VOLTAGE:
            tap_v = self._connected.tap_open_circuit_v(end.feeder)
            return Probe(quantity, end.point, self._tap_ratio(tap_v))
        return self._inflow(quantity, pointer, self._start(pointer))

    def runs(self) -> Iterator[str]:
        """Pointers of the runs, branches and spurs; none in a graph."""
        return iter(() if self.graph else self._ends)

    def lit(self, pointed: Pointed) -> dict[int, float]:
        """Share of each row that is lit by what is pointed at: a line, one of it, a run, all wiring. [-]"""
        if pointed.number is not None:
            row = self._row(pointed)
            return {} if row is None else {row: 1.0 / self._connected.layout.fixtures[row].pieces}
        if not self._is_lit_by(pointed.pointer):
            self._refuse("reading-unknown-place", pointed)
            return {}
        return dict.fromkeys(self.rows_under(pointed.pointer), 1.0)

    def _is_lit_by(self, pointer: str) -> bool:
        """Whether a pointer names what can be lit: all wiring, a line, a run, a branch or a spur."""
        run = not self.graph and pointer in self._ends
        return pointer == WIRING or pointer in self._rows or run

    def rows_under(self, pointer: str) -> list[int]:
        """Rows of a line, or of all lines on a run and on what hangs from it."""
        return self._under.get(pointer, [])

    def terminal_probe(self, where: Terminal, quantity: str) -> Probe | None:
        """Volts of a tap; or what leaves by a tap and a circuit; None, and a mistake, where there is none."""
        if quantity == RESISTANCE:
            self.mistakes.append(Mistake("reading-ohms-of-supply", where.at))
            return None
        feed, supply = self._connected.feed, self._connected.job.supply
        taps_v = list(dict.fromkeys((*feed.taps_v, *(() if supply.direct_current else supply.taps_v))))
        tap_v = feed.taps_v[0] if where.tap_v is None else where.tap_v
        if tap_v not in taps_v:
            self._refuse_terminal("reading-unknown-tap", where, [f"{each:g} V" for each in taps_v])
            return None
        names = [circuit.name for circuit in feed.circuits]
        if where.circuit is not None and where.circuit not in names:
            self._refuse_terminal("reading-unknown-circuit", where, names)
            return None
        if quantity == VOLTAGE:
            return Probe(quantity, TERMINAL, self._tap_ratio(feed.open_circuit_v[0] * tap_v / feed.taps_v[0]))
        round_these = Connection(where.tap_v, where.circuit)
        feeders = range(len(feed.tap_of))
        wanted = [feeder for feeder in feeders if round_these.encloses(self.connection(feeder))]
        return self._leaving(quantity, wanted)._replace(leaving=round_these)

    def connection(self, feeder: int) -> Connection:
        """The tap and the circuit by which a feeder leaves the supply."""
        feed = self._connected.feed
        return Connection(feed.taps_v[feed.tap_of[feeder]], feed.circuits[feed.circuit_of[feeder]].name)

    def feeder_probe(self, feeder: int) -> Probe:
        """What flows into one feeder, wherever that leaves the supply."""
        return self._leaving(CURRENT, [feeder])

    def _leaving(self, quantity: str, feeders: list[int]) -> Probe:
        """What flows into some feeders together."""
        layout = self._connected.layout
        spans = tuple(
            (index, 1 if span.start == TERMINAL else -1)
            for index, span in enumerate(layout.spans)
            if TERMINAL in {span.start, span.end} and span.feeder in feeders
        )
        rows = tuple(
            self._referred(index)
            for index, placed in enumerate(layout.fixtures)
            if placed.lamp_point == TERMINAL and placed.feeder in feeders
        )
        return Probe(quantity, spans=spans, rows=rows)

    def _inflow(self, quantity: str, pointer: str, start: int) -> Probe:
        layout = self._connected.layout
        spans = tuple(
            (index, 1 if span.start == start else -1)
            for index, span in enumerate(layout.spans)
            if start in {span.start, span.end} and _under(span.subject.pointer, pointer)
        )
        rows = tuple(
            self._referred(index)
            for index in self.rows_under(pointer)
            if layout.fixtures[index].lamp_point == start
        )
        return Probe(quantity, spans=spans, rows=rows)

    def _tap_ratio(self, open_circuit_v: float) -> float:
        """A tap's volts over those of the secondary. [-]"""
        return open_circuit_v / self._connected.feed.open_circuit_v[0]

    def _referred(self, row: int) -> tuple[int, float]:
        """A row, and the volts that its load was referred to over its own. [-]"""
        placed = self._connected.layout.fixtures[row]
        return row, self._connected.layout.open_circuit_v[placed.lamp_point] / placed.open_circuit_v

    def _start(self, pointer: str) -> int:
        """The point where a run begins: that of its first span, else the point of all its loads."""
        layout = self._connected.layout
        first = next((span.start for span in layout.spans if span.subject.pointer == pointer), None)
        return self._ends[pointer].point if first is None else first

    def _span(self, pointer: str) -> int | None:
        spans = enumerate(self._connected.layout.spans)
        return next((index for index, span in spans if span.subject.pointer == pointer), None)

    def _row(self, pointed: Pointed) -> int | None:
        """The row of one fixture; None, and a mistake, where its line is of several and none is named."""
        rows = self._rows.get(pointed.pointer)
        if rows is None:
            self._refuse("reading-unknown-place", pointed)
            return None
        placed = self._connected.layout.fixtures[rows[0]]
        count = placed.line.pieces
        if pointed.number is None and len(rows) > 1:
            self._refuse("reading-number-missing", pointed, str(count))
            return None
        if pointed.number is not None and pointed.number > count:
            self._refuse("reading-number-unknown", pointed, str(count))
            return None
        return rows[0] if len(rows) == 1 or pointed.number is None else rows[pointed.number - 1]

    def _refuse(self, code: str, pointed: Pointed, *names: str) -> None:
        member = "number" if code == "reading-number-unknown" else "pointer"
        self.mistakes.append(Mistake(code, f"{pointed.at}/{member}", (pointed.pointer, *names)))

    def _refuse_terminal(self, code: str, where: Terminal, names: list[str]) -> None:
        member = "tap" if code == "reading-unknown-tap" else "circuit"
        job = f"{where.tap_v:g} V" if member == "tap" and where.tap_v is not None else str(where.circuit)
        self.mistakes.append(Mistake(code, f"{where.at}/{member}", (job, ", ".join(names))))


def _around(pointer: str) -> Iterator[str]:
    """A pointer, and those to all that it lies in."""
    while pointer:
        yield pointer
        pointer = pointer.rpartition("/")[0]


def _under(pointer: str, around: str) -> bool:
    return pointer == around or pointer.startswith(f"{around}/")


class Behind(NamedTuple):
    """Points whose number lies in a range, and those behind another break."""

    number: list[int]
    first: int
    last: int
    other: Behind | None = None

    def __contains__(self, point: object) -> bool:
        """Whether a point is among them."""
        if self.other is not None and point in self.other:
            return True
        return isinstance(point, int) and self.last >= self.first <= self.number[point] <= self.last

    def __bool__(self) -> bool:
        """Whether there are any."""
        return self.last >= self.first or bool(self.other)


NOTHING = Behind([], 0, -1)


class Routes:
    """The points of a layout in the order of one search from the supply."""

    __slots__ = ("_back", "_children", "_last", "_layout", "_parent", "_way", "number")

    def __init__(self, layout: Layout) -> None:
        points = len(layout.places)
        self._layout = layout
        self.number = [-1] * points
        self._last, self._back = [0] * points, [0] * points
        self._parent, self._way = [-1] * points, [-1] * points
        self._children: list[list[int]] = [[] for _ in range(points)]
        self._search(_ways(layout))

    def _search(self, ways: list[list[tuple[int, int]]]) -> None:
        count = 0
        self.number[TERMINAL] = self._back[TERMINAL] = count
        waiting = [(TERMINAL, iter(ways[TERMINAL]))]
        while waiting:
            here, rest = waiting[-1]
            step = next(rest, None)
            if step is None:
                waiting.pop()
                self._last[here] = count
                if waiting:
                    above = waiting[-1][0]
                    self._back[above] = min(self._back[above], self._back[here])
            elif self.number[step[0]] < 0:
                count += 1
                there, way = step
                self.number[there] = self._back[there] = count
                self._parent[there], self._way[there] = here, way
                self._children[here].append(there)
                waiting.append((there, iter(ways[there])))
            elif step[1] != self._way[here]:
                self._back[here] = min(self._back[here], self.number[step[0]])

    def cut_off(self, span: int) -> Behind:
        """Points that nothing joins to the supply once a span is broken; none where a loop leads round it."""
        start, end = self._layout.spans[span].start, self._layout.spans[span].end
        far = end if self._way[end] == span else start
        if self._way[far] != span or self._back[far] < self.number[far]:
            return NOTHING
        return self._range(far)

    def all_points(self) -> Behind:
        """Every point, the supply's terminals among them."""
        return self._range(TERMINAL)

    def far_end(self, span: int) -> int:
        """The end of a span that the search reached later: the one away from the supply."""
        start, end = self._layout.spans[span].start, self._layout.spans[span].end
        return end if self.number[end] > self.number[start] else start

    def is_behind(self, point: int, through: int) -> bool:
        """Whether a point is fed through another and in no other way."""
        return any(
            self._back[child] >= self.number[through] and point in self._range(child)
            for child in self._children[through]
        )

    def path_ohm(self, point: int) -> float | None:
        """Resistance of the cable to a point; None where a loop leaves several ways. [ohm]"""
        total = 0.0
        while point != TERMINAL:
            if self._back[point] < self.number[point]:
                return None
            total += self._layout.spans[self._way[point]].resistance_ohm
            point = self._parent[point]
        return total

    def _range(self, point: int) -> Behind:
        return Behind(self.number, self.number[point], self._last[point])


def _ways(layout: Layout) -> list[list[tuple[int, int]]]:
    """For each point the points next to it, and the span between."""
    ways: list[list[tuple[int, int]]] = [[] for _ in layout.places]
    for index, span in enumerate(layout.spans):
        ways[span.start].append((span.end, index))
        ways[span.end].append((span.start, index))
    return ways
