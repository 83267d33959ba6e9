"""From a graph of spans to points and spans; the ends of a span shorter than 1 mm are one point."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from heapq import heappop, heappush

from service.circuit.cables import joints_resistance, resolve_cable
from service.circuit.job import (
    SUPPLY_POINT,
    Graph,
    SpanSpec,
    WiringContradictoryError,
    refuse_too_large,
)
from service.circuit.layout import SAME_PLACE_M, LaidPoint, Layout, PlacedFixture, RunEnd, points_of
from service.circuit.supply import Feed
from service.problems.unanswered import Mistake


def build_graph(graph: Graph, feed: Feed, temperature_c: float) -> Layout:
    """Lay every span of a graph.

    Parameters
    ----------
    graph : Graph
    feed : Feed
        The taps that its spans from the supply are connected to.
    temperature_c : float
        Of every conductor. [°C]

    Raises
    ------
    WiringContradictoryError
        With every mistake in the graph.
    JobTooLargeError
        More points or loops than one request may have.
    """
    mistakes = mistakes_in(graph, feed.taps_v[0])
    if mistakes:
        raise WiringContradictoryError(mistakes)
    layer = _GraphLayer(graph, feed, Layout(temperature_c, [feed.open_circuit_v[0]]))
    layer.refuse_too_large()
    layer.build_spans()
    layer.connect_fixtures()
    layer.mark_ends()
    return layer.layout


class _GraphLayer:
    """Lays one graph; each part that hangs together has one leading feeder that stands for it.

    The leader is the feeder with the largest device, since that device is what a fault behind it would meet.
    """

    def __init__(self, graph: Graph, feed: Feed, layout: Layout) -> None:
        self.layout = layout
        self._graph, self._feed = graph, feed
        self._distance_m = distances(graph)
        self._region = regions(graph)
        self._leader: dict[int, int] = {}
        self._feeder_regions = [
            self._region[span.end if span.start == SUPPLY_POINT else span.start]
            for span in graph.spans
            if leaves_supply(span)
        ]
        for feeder, region in enumerate(self._feeder_regions):
            leader = self._leader.setdefault(region, feeder)
            if self._limit_a(feeder) > self._limit_a(leader):
                self._leader[region] = feeder
        layout.leaders = [self._leader[region] for region in self._feeder_regions]
        self._point_of = {SUPPLY_POINT: 0}

    def refuse_too_large(self) -> None:
        """Count points and loops before anything is laid."""
        lamps = sum(points_of(fixture.line) for fixture in self._graph.fixtures)
        points = len(self._distance_m) - 1 + lamps
        loops = len(self._graph.spans) - len(self._distance_m) + 1
        refuse_too_large(points=points, loops=loops)

    def build_spans(self) -> None:
        """Lay the spans, those too short to tell their ends apart by making one point of two.

        A span at the supply is never merged away: it carries the tap and the circuit, and is taken as 1 mm at
        least.
        """
        self._merge_short()
        feeder = -1
        for span in self._graph.spans:
            leaving = leaves_supply(span)
            feeder += leaving
            start, end = self._point_of[span.start], self._point_of[span.end]
            if start == end:
                continue
            owner = feeder if leaving else self._leader[self._region[span.start]]
            length_m = max(span.length_m, SAME_PLACE_M)
            cable = resolve_cable(span.cable, self.layout.temperature_c)
            cable_at = f"{span.subject.pointer}/cable"
            self.layout.span(
                (start, end),
                length_m,
                cable,
                span.subject,
                feeder=owner,
                cable_at=cable_at,
                joints_ohm=joints_resistance(cable, length_m, span.joined),
            )

    def connect_fixtures(self) -> None:
        """Hang every fixture on its point, as far from the supply as the shortest cable to it is long."""
        for stated, point in self._graph.fixtures:
            line = stated._replace(at_m=self._distance_m[point])
            feeder = self._leader[self._region[point]]
            volts = self._volts(self._region[point])
            self.layout.lines.append(line)
            at, at_m = self._point_of[point], line.at_m
            pieces = line.pieces if line.spacing_m is None else 1
            self.layout.connect(PlacedFixture(line, None, pieces, at_m, at, at, feeder, volts, at_m))

    def mark_ends(self) -> None:
        """The far ends: of each part the farthest point first, then every other point with a single span."""
        touching: dict[str, list[int]] = {}
        for index, span in enumerate(self._graph.spans):
            touching.setdefault(span.start, []).append(index)
            touching.setdefault(span.end, []).append(index)
        by_distance = sorted(self._region, key=lambda point: -self._distance_m[point])
        farthest: set[int] = set()
        for point in by_distance:
            region = self._region[point]
            if region not in farthest or len(touching[point]) == 1:
                farthest.add(region)
                subject = self._graph.spans[touching[point][-1]].subject
                distance_m = self._distance_m[point]
                self.layout.ends.append(
                    RunEnd(
                        subject, point, self._leader[region], self._point_of[point], distance_m, distance_m
                    )
                )

    def _merge_short(self) -> None:
        """Number the points; those joined by spans shorter than 1 mm share a number."""
        short = [
            (span.start, span.end)
            for span in self._graph.spans
            if span.length_m < SAME_PLACE_M and not leaves_supply(span)
        ]
        same = one_of_each(short)
        self.layout.merged |= bool(same)
        for point, region in self._region.items():
            name = representative(point, same)
            if name not in self._point_of:
                self._point_of[name] = self.layout.point(self._volts(region), LaidPoint(None, 0.0, name=name))
            self._point_of[point] = self._point_of[name]

    def _volts(self, region: int) -> float:
        """Open-circuit voltage of the tap that feeds a part. [V]"""
        return self._feed.open_circuit_v[self._feed.tap_of[self._leader[region]]]

    def _limit_a(self, feeder: int) -> float:
        """Limit of the circuit of a feeder; zero where none is known. [A]"""
        return self._feed.circuits[self._feed.circuit_of[feeder]].limit_a or 0.0


def one_of_each(joined: Iterable[tuple[str, str]]) -> dict[str, str]:
    """By a point the one that stands for it, one step on, where the ends of some spans are one point."""
    same: dict[str, str] = {}
    for start, end in joined:
        first, second = representative(start, same), representative(end, same)
        if first != second:
            same[second] = first
    return same


def representative(point: str, same: Mapping[str, str]) -> str:
    """The point that stands for another, and for itself where none does."""
    while point in same:
        point = same[point]
    return point


def regions(graph: Graph) -> dict[str, int]:
    """Which points hang together once the supply is taken away: a number for each point but the supply."""
    neighbours: dict[str, list[str]] = {}
    for span in graph.spans:
        neighbours.setdefault(span.start, []).append(span.end)
        neighbours.setdefault(span.end, []).append(span.start)
    region: dict[str, int] = {}
    for first in neighbours:
        if first == SUPPLY_POINT or first in region:
            continue
        number = len(set(region.values()))
        waiting = [first]
        region[first] = number
        while waiting:
            for other in neighbours[waiting.pop()]:
                if other != SUPPLY_POINT and other not in region:
                    region[other] = number
                    waiting.append(other)
    return region


def distances(graph: Graph) -> dict[str, float]:
    """Shortest way along the cable from the supply to each point that it reaches. [m]"""
    ways: dict[str, list[tuple[str, float]]] = {}
    for span in graph.spans:
        ways.setdefault(span.start, []).append((span.end, span.length_m))
        ways.setdefault(span.end, []).append((span.start, span.length_m))
    distance: dict[str, float] = {}
    waiting = [(0.0, SUPPLY_POINT)]
    while waiting:
        so_far_m, point = heappop(waiting)
        if point in distance:
            continue
        distance[point] = so_far_m
        for other, length_m in ways.get(point, ()):
            if other not in distance:
                heappush(waiting, (so_far_m + length_m, other))
    return distance


def mistakes_in(graph: Graph, rated_v: float) -> list[Mistake]:
    """Everything that cannot be as it is described, in the order of the request.

    Parameters
    ----------
    graph : Graph
    rated_v : float
        The tap of a span that leaves the supply without naming one. [V]
    """
    return [
        *_wrong_ids(graph),
        *_wrong_ends(graph),
        *_islands(graph),
        *_joined_taps(graph, rated_v),
        *_wrong_points(graph),
    ]


def leaves_supply(span: SpanSpec) -> bool:
    """Whether a span has the supply at one of its ends."""
    return SUPPLY_POINT in {span.start, span.end}


def _wrong_ids(graph: Graph) -> list[Mistake]:
    """Span ids given twice: an answer could not be told apart by them."""
    counts = Counter(span.subject.id for span in graph.spans if span.subject.id is not None)
    return [
        Mistake("duplicate-id", f"{span.subject.pointer}/id", (span.subject.id,))
        for span in graph.spans
        if span.subject.id is not None and counts[span.subject.id] > 1
    ]


def _wrong_ends(graph: Graph) -> list[Mistake]:
    """Spans that end where they start, and taps or circuits on spans that do not leave the supply."""
    found = []
    for span in graph.spans:
        if span.start == span.end:
            found.append(Mistake("self-span", f"{span.subject.pointer}/to", (span.start,)))
        if not leaves_supply(span):
            asked = (("tap", span.tap_v), ("circuit", span.circuit))
            found.extend(
                Mistake("not-at-supply", f"{span.subject.pointer}/{member}", (member,))
                for member, value in asked
                if value is not None
            )
    return found


def _islands(graph: Graph) -> list[Mistake]:
    """The first span of each part that no span joins to the supply."""
    region = regions(graph)
    reached = set(distances(graph))
    found, seen = [], set()
    for span in graph.spans:
        if span.start not in reached and region[span.start] not in seen:
            seen.add(region[span.start])
            found.append(Mistake("island", span.subject.pointer, (span.start, span.end)))
    return found


def _joined_taps(graph: Graph, rated_v: float) -> list[Mistake]:
    """Spans whose tap meets another tap in the same mesh: two taps must never be tied together."""
    region = regions(graph)
    first: dict[int, SpanSpec] = {}
    found = []
    for span in graph.spans:
        if not leaves_supply(span) or span.start == span.end:
            continue
        number = region[span.end if span.start == SUPPLY_POINT else span.start]
        known = first.setdefault(number, span)
        taps_v = [rated_v if asked.tap_v is None else asked.tap_v for asked in (known, span)]
        if taps_v[0] != taps_v[1]:
            names = (f"{taps_v[1]:g} V", f"{taps_v[0]:g} V", known.subject.pointer)
            found.append(Mistake("taps-joined", span.subject.pointer, names))
    return found


def _wrong_points(graph: Graph) -> list[Mistake]:
    """Fixtures at a point that no span touches, or at the supply itself, where no tap is stated."""
    points = {point for span in graph.spans for point in (span.start, span.end)}
    known = sorted(points)
    found = []
    for fixture in graph.fixtures:
        pointer = f"{fixture.line.subject.pointer}/point"
        if fixture.point == SUPPLY_POINT:
            found.append(Mistake("fixture-at-supply", pointer, (fixture.point,)))
        elif fixture.point not in points:
            found.append(Mistake("unknown-point", pointer, (fixture.point,), known))
    return found
