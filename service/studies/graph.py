"""A graph of spans, looked over before it is laid: what hangs together, how far it is, and what cannot be."""

from __future__ import annotations

from collections import Counter
from heapq import heappop, heappush
from typing import TYPE_CHECKING

from service.studies.errors import Mistake
from service.studies.job import SUPPLY_POINT

if TYPE_CHECKING:
    from service.studies.job import Graph, GraphSpan


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


def leaves_supply(span: GraphSpan) -> bool:
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
    first: dict[int, GraphSpan] = {}
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
    """Fixtures at a point that no span touches, or at the supply itself, where no tap is said."""
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
