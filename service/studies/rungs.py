"""Values of four digits in a row, and the search for the last one that holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

SMALLEST_DECADE, DECADES = -1, 5
"""Rungs go from 0.1 to 9,999 in whatever unit is asked for."""

DIGITS = 1_000
PER_DECADE = 9 * DIGITS

LAST_RUNG = DECADES * PER_DECADE - 1


def rung(index: int) -> float:
    """The value of four digits at a place in their row.

    Neighbours are at most 0.1 % apart, and each is the float that its decimal text is read as.

    Parameters
    ----------
    index : int
        From nought to `LAST_RUNG`.

    Examples
    --------
    >>> rung(0), rung(1), rung(PER_DECADE), rung(LAST_RUNG)
    (0.1, 0.1001, 1.0, 9999.0)
    """
    decade, digits = divmod(index, PER_DECADE)
    shift = SMALLEST_DECADE + decade - 3
    whole = digits + DIGITS
    return whole / 10**-shift if shift < 0 else float(whole * 10**shift)


def last_holding(holds: Callable[[int], bool], last: int) -> int | None:
    """The last index that holds, where all before it hold too; None where not even the first does.

    Steps double from the first on, so that nothing much larger than the answer is tried; then they halve.

    Parameters
    ----------
    holds : callable
        Once it fails it must keep failing.
    last : int
        The largest index there is.
    """
    if not holds(0):
        return None
    low, step = 0, 1
    while low < last and holds(min(low + step, last)):
        low = min(low + step, last)
        step *= 2
    high = min(low + step, last + 1)
    while high - low > 1:
        middle = (low + high) // 2
        if holds(middle):
            low = middle
        else:
            high = middle
    return low
