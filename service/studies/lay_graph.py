"""From a graph of spans to points and spans; the ends of a span shorter than 1 mm are one point."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.studies.cables import resolve_cable
from service.studies.errors import WiringContradictoryError, refuse_too_large
from service.studies.graph import distances, leaves_supply, mistakes_in, regions
from service.studies.job import SUPPLY_POINT
from service.studies.layout import SAME_PLACE_M, Layout, Place, RunEnd
from service.studies.stations import Stand
from service.studies.strip import points_of

if TYPE_CHECKING:
    from service.studies.feed import Feed
    from service.studies.job import Graph


def lay_graph(graph: Graph, feed: Feed, temperature_c: float) -> Layout:
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
    layer.lay_spans()
    layer.hang_fixtures()
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

    def lay_spans(self) -> None:
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
            self.layout.span((start, end), length_m, cable, span.subject, feeder=owner, cable_at=cable_at)

    def hang_fixtures(self) -> None:
        """Hang every fixture on its point, as far from the supply as the shortest cable to it is long."""
        for line, point in self._graph.fixtures:
            placed = line._replace(at_m=self._distance_m[point])
            feeder = self._leader[self._region[point]]
            volts = self._volts(self._region[point])
            self.layout.lines.append(placed)
            stand = Stand(placed, None, placed.at_m)
            self.layout.hang(stand, self._point_of[point], volts, feeder, placed.at_m)

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
        same: dict[str, str] = {}

        def representative(point: str) -> str:
            while point in same:
                point = same[point]
            return point

        for span in self._graph.spans:
            a, b = representative(span.start), representative(span.end)
            if span.length_m < SAME_PLACE_M and a != b and not leaves_supply(span):
                same[b] = a
                self.layout.merged = True
        for point, region in self._region.items():
            name = representative(point)
            if name not in self._point_of:
                self._point_of[name] = self.layout.point(self._volts(region), Place(None, 0.0, name=name))
            self._point_of[point] = self._point_of[name]

    def _volts(self, region: int) -> float:
        """Open-circuit voltage of the tap that feeds a part. [V]"""
        return self._feed.open_circuit_v[self._feed.tap_of[self._leader[region]]]

    def _limit_a(self, feeder: int) -> float:
        return self._feed.circuits[self._feed.circuit_of[feeder]].limit_a
