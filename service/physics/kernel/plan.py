"""The order in which points are removed from a network and what each removal touches; topology alone.

Points are renumbered in the order of their removal: what remains of a point then are links to higher numbers
only, its row. A leaf has one, a point of a loop two or more, the terminal, which is last, none.
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heapify, heappop, heappush

from service.physics.kernel.vectors import Reals, Wholes, wholes, zeros


class Plan:
    """The order of removal: the point with the fewest neighbours first, point 0 last.

    Leaves have one neighbour and go first, so a tree fills in nothing.

    Parameters
    ----------
    points : int
        Number of points, 0 being the terminal.
    pairs : sequence of (int, int, ...)
        Joined points, each pair two different ones; a pair may repeat, either way round.

    Raises
    ------
    IndexError
        A pair names a point that is not there.
    """

    # `points`; `links` between two points, parallel ones counted once; `leaves` that go first; `slots`, the
    # links with those that fill in; `fills`, how often two neighbours of a removed point are joined.
    #
    # By point: `place` in the order. By pair: `_link`. By link: `lower` and `upper` place, `slot`. By place:
    # `first` slot of its row; by slot: `column`, the place at its other end. `target`: for each point of a
    # loop in turn, the slot that each two of its row add to.

    def __init__(self, points: int, pairs: Sequence[Sequence[float]]) -> None:
        self.points = points
        self._set_down(pairs)
        self._number(len(pairs))
        self._strip_leaves()
        self._take_loops_apart()
        self._renumber()
        self._aim()

    def _set_down(self, pairs: Sequence[Sequence[float]]) -> None:
        """List at each point the halves of its links: half 2k is the start of pair k, 2k + 1 its end."""
        count = len(pairs)
        to, after, head = wholes(2 * count), wholes(2 * count), wholes(self.points)
        for point in range(self.points):
            head[point] = -1
        # From the last on, so that each list has the first pair in front.
        half = 2 * count
        while half:
            both = pairs[(half >> 1) - 1]
            start, end = int(both[0]), int(both[1])
            # Compiled, a vector does not know where it ends.
            if not (0 <= start < self.points and 0 <= end < self.points):
                raise IndexError(start, end)
            half -= 1
            to[half], after[half], head[end] = start, head[end], half
            half -= 1
            to[half], after[half], head[start] = end, head[start], half
        self._to, self._after, self._head = to, after, head

    def _number(self, count: int) -> None:
        """Give parallel pairs one link, links in the order in which they first appear; count neighbours."""
        points, to, after, head = self.points, self._to, self._after, self._head
        links, degree, beside = wholes(count), wholes(points), wholes(points)
        seen, by = wholes(points), wholes(points)
        for point in range(points):
            seen[point] = -1
        for pair in range(count):
            links[pair] = pair
        for point in range(points):
            neighbours, together, before, half = 0, 0, -1, head[point]
            while half >= 0:
                other = to[half]
                if seen[other] == point:
                    links[half >> 1] = by[other]
                    after[before] = after[half]
                else:
                    seen[other], by[other], before = point, half >> 1, half
                    neighbours += 1
                    together ^= other
                half = after[half]
            degree[point], beside[point] = neighbours, together
        found = 0
        for pair in range(count):
            if links[pair] == pair:
                links[pair] = found
                found += 1
            else:
                links[pair] = links[links[pair]]
        self._link, self._degree, self._beside, self.links = links, degree, beside, found

    def _strip_leaves(self) -> None:
        """Take off every point that hangs on one other, until only loops and the terminal are left.

        What is beside a point, all neighbours exclusive-ored, is the last of them once the others are off.
        """
        points, degree, beside = self.points, self._degree, self._beside
        places, order, first = wholes(points), wholes(points), wholes(points + 1)
        column, waiting, top = wholes(self.links + 1), wholes(points), 0
        for point in range(points):
            places[point] = -1
            if point and degree[point] == 1:
                waiting[top] = point
                top += 1
        leaves = 0
        while top:
            top -= 1
            point = waiting[top]
            if degree[point] != 1:
                continue
            other = beside[point]
            places[point], order[leaves], column[leaves] = leaves, point, other
            leaves += 1
            first[leaves] = leaves
            degree[point] = 0
            degree[other] -= 1
            beside[other] ^= point
            if other and degree[other] == 1:
                waiting[top] = other
                top += 1
        self.place, self.order, self.first, self.column, self.leaves = places, order, first, column, leaves

    def _take_loops_apart(self) -> None:
        """Order the points of the loops, the one with the fewest neighbours first, then the terminal."""
        points, places, order, first, degrees = self.points, self.place, self.order, self.first, self._degree
        self._halves, self._stamp, self._seen = len(self._to), 0, wholes(points)
        self.fills, removed = 0, self.leaves
        # The fewest neighbours first, of those the point with the highest number.
        waiting = [
            degrees[point] * points + points - 1 - point for point in range(1, points) if degrees[point]
        ]
        heapify(waiting)
        while waiting:
            key = heappop(waiting)
            point = points - 1 - key % points
            degree = degrees[point]
            if places[point] >= 0 or not degree or degree != key // points:
                continue
            places[point], order[removed] = removed, point
            start = first[removed]
            end = self._gather(point, start)
            removed += 1
            first[removed] = end
            self.fills += (end - start) * (end - start - 1) // 2
            for slot in range(start, end):
                other = self.column[slot]
                degree = degrees[other]
                self._join(other, start, end)
                # Who has as many neighbours as before is waiting already.
                if other and degrees[other] != degree:
                    heappush(waiting, degrees[other] * points + points - 1 - other)
        for point in range(points - 1, -1, -1):
            if places[point] < 0:
                places[point], order[removed] = removed, point
                first[removed + 1] = first[removed]
                removed += 1
        self.slots = first[points]

    def _gather(self, point: int, start: int) -> int:
        """Write down the neighbours of a point that are still there, the lowest first; the end of its row."""
        if start + self._degree[point] > len(self.column):
            self.column = _longer(self.column, start + self._degree[point])
        places, to, after, column = self.place, self._to, self._after, self.column
        end, half = start, self._head[point]
        while half >= 0:
            other = to[half]
            if places[other] < 0:
                slot = end
                while slot > start and column[slot - 1] > other:
                    column[slot] = column[slot - 1]
                    slot -= 1
                column[slot] = other
                end += 1
            half = after[half]
        return end

    def _join(self, other: int, start: int, end: int) -> None:
        """Join one neighbour of a removed point with those of its row that it is not joined with yet."""
        width = end - start
        if self._halves + width > len(self._to):
            self._to = _longer(self._to, self._halves + width)
            self._after = _longer(self._after, self._halves + width)
        places, to, after, column, seen = self.place, self._to, self._after, self.column, self._seen
        self._stamp += 1
        stamp, before, half = self._stamp, -1, self._head[other]
        neighbours = 0
        while half >= 0:
            there = to[half]
            if places[there] < 0:
                seen[there], before = stamp, half
                neighbours += 1
            elif before < 0:
                # Whatever is removed leaves the list.
                self._head[other] = after[half]
            else:
                after[before] = after[half]
            half = after[half]
        seen[other] = stamp
        for slot in range(start, end):
            there = column[slot]
            if seen[there] != stamp:
                half = self._halves
                to[half], after[half], self._head[other] = there, self._head[other], half
                self._halves = half + 1
                neighbours += 1
        self._degree[other] = neighbours

    def _renumber(self) -> None:
        """Call points by their places, and find the slot of each link."""
        places, first, column, to, links = self.place, self.first, self.column, self._to, self._link
        lowers, uppers, slots = wholes(self.links), wholes(self.links), wholes(self.links)
        for slot in range(self.slots):
            column[slot] = places[column[slot]]
        # The two halves of a pair still say what it joins.
        for pair in range(len(links)):
            link, lower, upper = links[pair], places[to[2 * pair + 1]], places[to[2 * pair]]
            if lower > upper:
                lower, upper = upper, lower
            slot = first[lower]
            while column[slot] != upper:
                slot += 1
            lowers[link], uppers[link], slots[link] = lower, upper, slot
        self.lower, self.upper, self.slot = lowers, uppers, slots

    def _aim(self) -> None:
        """Find the slot that each two neighbours of a removed point add to."""
        first, column = self.first, self.column
        target, at, base = wholes(self.fills), wholes(self.points), 0
        for place in range(self.leaves, self.points):
            start, end = first[place], first[place + 1]
            width = end - start
            if width == 2:  # noqa: PLR2004  # most points of loops lie between two others
                row, other = column[start], column[start + 1]
                if row > other:
                    row, other = other, row
                slot = first[row]
                while column[slot] != other:
                    slot += 1
                target[base] = slot
                base += 1
                continue
            for i in range(width):
                row = column[start + i]
                for slot in range(first[row], first[row + 1]):
                    at[column[slot]] = slot
                for j in range(width):
                    other = column[start + j]
                    if other > row:
                        low, high = (i, j) if i < j else (j, i)
                        target[base + low * (2 * width - low - 1) // 2 + high - low - 1] = at[other]
            base += width * (width - 1) // 2
        self.target = target

    def conductances(self, open_circuit_v: Sequence[float], spans: Sequence[tuple[int, int, float]]) -> Reals:
        """Conductance of each link in per-unit, parallel spans added up. [W]"""
        found = zeros(self.links)
        self._add_up(open_circuit_v, spans, found)
        return found

    def _add_up(
        self, open_circuit_v: Sequence[float], spans: Sequence[tuple[int, int, float]], found: Reals
    ) -> None:
        links = self._link
        if len(spans) != len(links):
            raise IndexError(len(spans))
        for index in range(len(spans)):
            span = spans[index]
            volts, ohm = open_circuit_v[span[1] or span[0]], span[2]
            found[links[index]] += volts * volts / ohm

    def changed(
        self,
        conductance: Reals,
        open_circuit_v: Sequence[float],
        spans: Sequence[tuple[int, int, float]],
        those: Sequence[int],
    ) -> Reals:
        """The same with other resistances in some of the spans, by index. [W]"""
        found, links = zeros(self.links), self._link
        found[:] = conductance
        for index in those:
            link = links[index]
            found[link] = 0.0
            for other in range(len(links)):
                if links[other] == link:
                    span = spans[other]
                    volts, ohm = open_circuit_v[span[1] or span[0]], span[2]
                    found[link] += volts * volts / ohm
        return found

    def by_place(self, values: Sequence[float]) -> Reals:
        """Values of points in the order of removal."""
        found = zeros(self.points)
        self._sort_in(values, found)
        return found

    def _sort_in(self, values: Sequence[float], found: Reals) -> None:
        places = self.place
        for point in range(self.points):
            found[places[point]] = values[point]

    def by_point(self, values: Reals) -> list[float]:
        """Values in the order of removal, by point."""
        places = self.place
        return [values[places[point]] for point in range(self.points)]

    def joined(self) -> list[tuple[int, int]]:
        """The points that each link joins, the lower number first, in the order of links."""
        pairs = [(self.order[self.lower[link]], self.order[self.upper[link]]) for link in range(self.links)]
        return [(min(pair), max(pair)) for pair in pairs]

    def hanging(self) -> list[tuple[int, int, int]]:
        """Leaves in the order of removal: the point, what it hangs on, and the link between them."""
        link_of = {self.slot[link]: link for link in range(self.links)}
        return [
            (self.order[place], self.order[self.column[place]], link_of[place])
            for place in range(self.leaves)
        ]


def _longer(numbers: Wholes, least: int) -> Wholes:
    """The same numbers with room for as many more, and for `least` at any rate."""
    found = wholes(2 * len(numbers) + least)
    for index in range(len(numbers)):
        found[index] = numbers[index]
    return found
