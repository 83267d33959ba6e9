"""Dividing runs over the circuits of a supply, so that the fullest circuit has the most room left."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from service.circuit.limits import continuous_limit, near_circuit_limit
from service.circuit.work import OPERATIONS_OF_WORK, charge, count, left

EXACT_LOADS = 20
"""Up to here the best division is searched for; beyond, a good one is found and said to be no more."""


MAXIMUM_STEPS = 2_000_000
"""Work after which the search is left, the same on every machine: about a second on one core."""


QUICK_STEPS = 50_000
"""Work after which a search is left that only asks whether there is a division at all."""


STEPS_OF_WORK = 20
"""Steps that are one unit of work."""


FILL_STEPS = 8
"""Work of one fill, beside one step for each sum that is looked at."""


STRICTLY = 1.0 - 1e-12
"""A share counts as smaller from here on; less is the last digit of a sum."""


Fills = tuple[tuple[int, ...], ...]
"""The loads of each circuit that is filled so far."""


class Division(NamedTuple):
    """Which circuit each load is on.

    Parameters
    ----------
    circuit_of : tuple of int
        One per load.
    largest_ratio : float
        Sum of the fullest circuit over its limit. [-]
    exact : bool
        Whether it is proved that no division has a smaller one.
    """

    circuit_of: tuple[int, ...]
    largest_ratio: float
    exact: bool


def divide(
    loads: Sequence[float],
    limits: Sequence[float],
    *,
    held: Sequence[float] = (),
    steps: int = MAXIMUM_STEPS,
) -> Division:
    """Divide loads over circuits so that the largest share of a limit is the smallest there is.

    A first division (largest load first, each where the share stays smallest) is bettered by filling one
    circuit after another. A fill must stay below the best share so far and must leave what the circuits
    behind it can hold below that share: a narrow window of sums, found from two sorted halves (Horowitz and
    Sahni 1974). This is sequential number partitioning (Korf 2009), for circuits of unequal limits.

    Parameters
    ----------
    loads : sequence of float
        At least 0. [A]
    limits : sequence of float
        One per circuit, at least one, positive. [A]
    held : sequence of float
        What each circuit carries already; left out, nothing. [A]
    steps : int
        Work after which the search is left. [-]

    Returns
    -------
    division : Division
        Exact up to 20 loads, unless so many divisions are almost as good that the search is left.

    Examples
    --------
    >>> divide([9.0, 8.0, 7.0, 6.0, 5.0], [25.0, 25.0])
    Division(circuit_of=(0, 0, 1, 1, 1), largest_ratio=0.72, exact=True)
    """
    # No more than half of what is left of the request: whoever asks for several divisions gets them all.
    allowed = min(steps, left() * STEPS_OF_WORK // 2)
    search = _DivisionSearch(loads, limits, held or [0.0] * len(limits), allowed)
    searched = len(search.order) <= EXACT_LOADS and search.run()
    taken = allowed - max(0, search.steps)
    charge(taken // STEPS_OF_WORK)
    count(taken * OPERATIONS_OF_WORK // STEPS_OF_WORK)
    return Division(tuple(search.circuit_of), search.best_ratio, searched or search.at_bound())


def divide_where_known(
    loads: Sequence[float],
    limits: Sequence[float | None],
    *,
    held: Sequence[float] = (),
    steps: int = MAXIMUM_STEPS,
) -> Division:
    """Divide loads over circuits of which some have no known limit, None; nothing is full there.

    Such a circuit counts as the widest of the others, all alike where none is known. As long as one of those
    would then carry more than a continuous load may be, it counts as twice as wide, until it could take all.

    Parameters
    ----------
    loads : sequence of float
        At least 0. [A]
    limits : sequence of float or None
        One per circuit, at least one. [A]
    held : sequence of float
        What each circuit carries already; left out, nothing. [A]
    steps : int
        Work after which the search is left. [-]

    Examples
    --------
    >>> divide_where_known([9.0, 8.0, 7.0], [None, None]).circuit_of
    (0, 1, 1)
    >>> divide_where_known([9.0, 8.0, 7.0], [10.0, None]).circuit_of
    (1, 0, 1)
    """
    known = [limit for limit in limits if limit is not None]
    width, roomy = max(known, default=1.0), (sum(loads) + sum(held)) / continuous_limit(1.0)
    if len(known) in {0, len(limits)}:
        widths = [width if limit is None else limit for limit in limits]
        return divide(loads, widths, held=held, steps=steps)
    while True:
        widths = [width if limit is None else limit for limit in limits]
        found = divide(loads, widths, held=held, steps=min(steps, QUICK_STEPS))
        if width >= roomy or _within(loads, limits, held, found):
            break
        width = min(2.0 * width, roomy)
    # Longer is searched once, and what the circuits of a known limit then carry may be more.
    longer = found if found.exact else divide(loads, widths, held=held, steps=steps)
    return longer if _within(loads, limits, held, longer) else found


def divide_where_suited(
    loads: Sequence[float], limits: Sequence[float | None], suited: Sequence[Sequence[int]]
) -> Division:
    """Divide loads over the circuits that suit each: a good division, not proved to be the best.

    Those that fewest circuits suit come first, of those the largest, each where the share stays smallest. A
    circuit of no known limit counts as the widest of the others.

    Parameters
    ----------
    loads : sequence of float
        At least 0. [A]
    limits : sequence of float or None
        One per circuit, at least one. [A]
    suited : sequence of sequence of int
        Of each load the circuits that it may be on, at least one.

    Examples
    --------
    >>> divide_where_suited([7.0, 7.5], [25.0, 10.0], [[0, 1], [1]]).circuit_of
    (0, 1)
    """
    widest = max((limit for limit in limits if limit is not None), default=1.0)
    widths = [widest if limit is None else limit for limit in limits]
    held, circuit_of = [0.0] * len(limits), [0] * len(loads)
    for load in sorted(range(len(loads)), key=lambda each: (len(suited[each]), -loads[each])):
        place = min(suited[load], key=lambda circuit: (held[circuit] + loads[load]) / widths[circuit])
        held[place] += loads[load]
        circuit_of[load] = place
    shares = [load / width for load, width in zip(held, widths, strict=True)]
    return Division(tuple(circuit_of), max(shares), exact=False)


def _within(
    loads: Sequence[float], limits: Sequence[float | None], held: Sequence[float], division: Division
) -> bool:
    """Whether no circuit of a known limit carries more than a continuous load may be."""
    carried = list(held) or [0.0] * len(limits)
    for load, circuit in zip(loads, division.circuit_of, strict=True):
        carried[circuit] += load
    shares = zip(carried, limits, strict=True)
    return not any(limit is not None and near_circuit_limit(load, limit) for load, limit in shares)


class _DivisionSearch:
    """The best division so far, and what is left to look at."""

    def __init__(
        self, loads: Sequence[float], limits: Sequence[float], held: Sequence[float], steps: int
    ) -> None:
        self.loads = loads
        self.order = sorted((i for i, load in enumerate(loads) if load > 0.0), key=lambda i: -loads[i])
        used = sorted(range(len(limits)), key=lambda j: -limits[j])
        # More circuits than loads cannot all be used, and a wider circuit is never the worse one, where all
        # are empty. Those that many are alike with come last, where one can stand for the other.
        if not any(held):
            used = used[: max(1, len(self.order))]
        alike = Counter((limits[j], held[j]) for j in used)
        self.circuits = sorted(used, key=lambda j: (alike[limits[j], held[j]], -limits[j], held[j]))
        self.limits = [limits[j] for j in self.circuits]
        self.held = [held[j] for j in self.circuits]
        self.steps = steps
        self.seen: set[tuple[float, ...]] = set()
        self.circuit_of = [self.circuits[0]] * len(loads)
        self.best_ratio = 0.0
        self._keep(self._first())

    def _first(self) -> Fills:
        """Largest first, each where the share stays smallest."""
        held = list(self.held)
        fills: list[tuple[int, ...]] = [()] * len(self.limits)
        for load in self.order:
            place = min(range(len(held)), key=lambda j: (held[j] + self.loads[load]) / self.limits[j])
            held[place] += self.loads[load]
            fills[place] += (load,)
        return tuple(fills)

    def _keep(self, fills: Fills) -> None:
        """Take a division as the best."""
        self.best_ratio = self._largest(fills)
        for circuit, fill in zip(self.circuits, fills, strict=True):
            for load in fill:
                self.circuit_of[load] = circuit

    def _largest(self, fills: Fills) -> float:
        """Share of the fullest circuit. [-]"""
        circuits = zip(fills, self.held, self.limits, strict=True)
        return max((held + self._sum(fill)) / limit for fill, held, limit in circuits)

    def at_bound(self) -> bool:
        """Whether the best meets what no division can pass.

        That is all circuits even, the largest load alone where it takes least, or what a circuit has already.
        """
        circuits = list(zip(self.held, self.limits, strict=True))
        even = (self._sum(tuple(self.order)) + sum(self.held)) / sum(self.limits)
        largest = self.loads[self.order[0]] if self.order else 0.0
        alone = min((held + largest) / limit for held, limit in circuits)
        already = max(held / limit for held, limit in circuits)
        return max(even, alone, already) >= self.best_ratio * STRICTLY

    def run(self) -> bool:
        """Search; whether it came to its end."""
        if not self.at_bound():
            self._fill(tuple(self.order), ())
        return self.steps > 0

    def _fill(self, rest: tuple[int, ...], filled: Fills) -> None:
        """Fill the next circuit in every way that can still lead to a better division."""
        place = len(filled)
        if place + 2 >= len(self.limits):
            self._last_two(rest, filled)
            return
        for fill in self._fills(rest, place):
            left = tuple(load for load in rest if load not in fill)
            # Loads of one current stand for each other, so what is left is known by its currents.
            key = (float(place), *(self.loads[load] for load in left))
            self.steps -= FILL_STEPS
            if self.steps <= 0:
                return
            if key not in self.seen and self._fits(fill, left, place):
                self.seen.add(key)
                self._fill(left, (*filled, fill))

    def _fills(self, rest: tuple[int, ...], place: int) -> list[tuple[int, ...]]:
        """Fills inside the window, those nearest to an even share first."""
        # Where all limits are alike the circuits can stand for each other: this one takes the largest load.
        last = self.limits[-1], self.held[-1]
        forced = rest[:1] if (self.limits[place], self.held[place]) == last else ()
        free = rest[len(forced) :]
        total, held = self._sum(rest), self._sum(forced)
        low, high = self._window(total, place)
        amps = [self.loads[load] for load in free]
        parts = parts_between(amps, low - held, high - held, most=self.steps)
        self.steps -= len(parts) + (1 << len(free) // 2)
        even = (total + sum(self.held[place:])) / sum(self.limits[place:])
        goal = even * self.limits[place] - self.held[place] - held
        parts.sort(key=lambda part: abs(part[0] - goal))
        return [(*forced, *_picked(free, bits)) for _, bits in parts]

    def _window(self, total: float, place: int) -> tuple[float, float]:
        """Between which sums a fill can lead to a better division. [A]"""
        better = self.best_ratio * STRICTLY
        behind = better * sum(self.limits[place + 1 :]) - sum(self.held[place + 1 :])
        return total - behind, better * self.limits[place] - self.held[place]

    def _fits(self, fill: tuple[int, ...], left: tuple[int, ...], place: int) -> bool:
        """Whether the fill is still in the window, and the circuits behind can hold as many as are left."""
        better = self.best_ratio * STRICTLY
        if self.held[place] + self._sum(fill) >= better * self.limits[place]:
            return False
        smallest, room = [self.loads[load] for load in reversed(left)], 0
        for limit, held in zip(self.limits[place + 1 :], self.held[place + 1 :], strict=True):
            room += _most(smallest, better * limit - held)
        return room >= len(left)

    def _last_two(self, rest: tuple[int, ...], filled: Fills) -> None:
        """Divide what is left over the last two circuits, or put it all on the only one."""
        limits, held = self.limits[len(filled) :], self.held[len(filled) :]
        options: list[tuple[int, ...]] = [rest]
        if len(limits) > 1:
            goal = (self._sum(rest) + sum(held)) * limits[0] / sum(limits) - held[0]
            parts = nearest_parts([self.loads[load] for load in rest], goal)
            options = [_picked(rest, bits) for _, bits in parts]
        self.steps -= 1 << len(rest) // 2
        for fill in options:
            left = tuple(load for load in rest if load not in fill)
            fills = (*filled, fill, left) if len(limits) > 1 else (*filled, rest)
            if self._largest(fills) < self.best_ratio * STRICTLY:
                self._keep(fills)

    def _sum(self, loads: tuple[int, ...]) -> float:
        return sum(self.loads[load] for load in loads)


def _picked(loads: tuple[int, ...], bits: int) -> tuple[int, ...]:
    return tuple(load for place, load in enumerate(loads) if bits >> place & 1)


def _most(ascending: list[float], capacity: float) -> int:
    """How many loads a circuit can hold at most: the smallest ones that stay below its capacity."""
    held, count = 0.0, 0
    for load in ascending:
        held += load
        if held >= capacity:
            break
        count += 1
    return count


Part = tuple[float, int]
"""The sum of a part, and a bit for each load in it."""


def parts_between(loads: Sequence[float], low: float, high: float, *, most: int) -> list[Part]:
    """Every part of the loads whose sum is above `low` and below `high` [A]; not many more than `most`."""
    left, right = _halves(loads)
    sums = [total for total, _ in right]
    found: list[Part] = []
    for total, bits in left:
        if len(found) > most:
            break
        place = bisect_left(sums, low - total)
        while place < len(sums) and total + sums[place] < high:
            if total + sums[place] > low:
                found.append((total + sums[place], bits | right[place][1]))
            place += 1
    return found


def nearest_parts(loads: Sequence[float], goal: float) -> tuple[Part, Part]:
    """The part with the largest sum up to a goal and the one with the smallest from it on. [A]

    Where there is none on one side, the part nearest to it on the other stands for it.
    """
    left, right = _halves(loads)
    sums = [total for total, _ in right]
    below, above = (0.0, 0), (sum(loads), (1 << len(loads)) - 1)
    for total, bits in left:
        place = bisect_left(sums, goal - total)
        if place < len(sums) and total + sums[place] < above[0]:
            above = total + sums[place], bits | right[place][1]
        if place and total + sums[place - 1] > below[0]:
            below = total + sums[place - 1], bits | right[place - 1][1]
    return below, above


def _halves(loads: Sequence[float]) -> tuple[list[Part], list[Part]]:
    middle = len(loads) // 2
    return _sums(loads[:middle], 0), _sums(loads[middle:], middle)


def _sums(loads: Sequence[float], shift: int) -> list[Part]:
    """Every part, in ascending order of its sum."""
    parts: list[Part] = [(0.0, 0)]
    for place, load in enumerate(loads, shift):
        parts += [(total + load, bits | 1 << place) for total, bits in parts]
    return sorted(parts)
