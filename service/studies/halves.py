"""Sums of parts of a set, by way of two sorted halves (Horowitz and Sahni 1974)."""

from __future__ import annotations

from bisect import bisect_left
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

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
