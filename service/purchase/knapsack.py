"""The best pieces for one spool: the bounded knapsack problem, by branch and bound in whole numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from service.purchase.steps import Steps

LOOKED_AT = 2
"""Operations of one step of the search."""

LENGTH_BITS = 40
"""Bits of any length: then two worths per length are either the same, or apart by more than is cut off."""


class Filling(NamedTuple):
    """How many of each length, what they are worth, and what no filling is worth more than."""

    counts: tuple[int, ...]
    worth: int
    at_most: int


def best_filling(  # noqa: PLR0913  # what fills, what it fills, and what it may take
    values: Sequence[int],
    lengths: Sequence[int],
    wanted: Sequence[int],
    room: int,
    *,
    steps: Steps,
    most_steps: int,
) -> Filling:
    """The filling of one spool that is worth most.

    Depth first, most of what is worth most per length first, a branch left as soon as filling up the rest at
    the next value per length could not beat the best [1]_.

    Parameters
    ----------
    values, lengths, wanted : sequence of int
        Of each length its worth, how long it is (of no more than `LENGTH_BITS`), how many there are.
    room : int
        What the spool holds.
    steps : Steps
        Taken from.
    most_steps : int
        Steps after which the best so far is answered, with a bound.

    References
    ----------
    .. [1] Martello, S. and Toth, P., Knapsack Problems, Wiley 1990, chapter 3 (from memory).
    """
    order = [
        index
        for index, value in enumerate(values)
        if value > 0 and wanted[index] > 0 and lengths[index] <= room
    ]
    order.sort(key=lambda index: (-(values[index] << 2 * LENGTH_BITS) // lengths[index], index))
    worths, sizes = [values[index] for index in order], [lengths[index] for index in order]
    most = [wanted[index] for index in order]
    last, taken, looked = len(order), [0] * len(order), 0
    best, best_worth, left, worth, place = list(taken), 0, room, 0, 0
    relaxed = room * worths[0] // sizes[0] if order else 0
    while True:
        while place < last and worth + left * worths[place] // sizes[place] > best_worth:
            fits = min(most[place], left // sizes[place])
            taken[place] = fits
            left -= fits * sizes[place]
            worth += fits * worths[place]
            place += 1
            looked += 1
        if worth > best_worth:
            best, best_worth = list(taken), worth
        place -= 1
        while place >= 0 and not taken[place]:
            place -= 1
            looked += 1
        looked += 1
        ended = place < 0
        if ended or looked > most_steps:
            break
        taken[place] -= 1
        left += sizes[place]
        worth -= worths[place]
        place += 1
    steps.take(LOOKED_AT * looked + LOOKED_AT * len(values))
    counts = [0] * len(values)
    for index, fits in zip(order, best, strict=True):
        counts[index] = fits
    return Filling(tuple(counts), best_worth, best_worth if ended else max(best_worth, relaxed))
