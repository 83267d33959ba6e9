"""What lies behind what: which points a break would cut off, and which are fed through which.

One depth-first search from the supply numbers the points; all behind a point are then one range of numbers,
and the lowest number that its range reaches back to says whether a loop leads round it (Tarjan 1974).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.physics.network import TERMINAL

if TYPE_CHECKING:
    from service.studies.layout import Layout


class Behind(NamedTuple):
    """Points whose number lies in a range."""

    number: list[int]
    first: int
    last: int

    def __contains__(self, point: object) -> bool:
        """Whether a point is among them."""
        return bool(self) and isinstance(point, int) and self.first <= self.number[point] <= self.last

    def __bool__(self) -> bool:
        """Whether there are any."""
        return self.last >= self.first


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
