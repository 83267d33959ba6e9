"""Rounding for show: to fixed decimals, and never so that a failure looks like a pass."""

from __future__ import annotations

from math import floor, log10
from typing import Final

from service.physics.kernel import columns

DECIMALS: Final[dict[str, int]] = {"V": 4, "A": 5, "W": 3, "VA": 3, "ohm": 6, "m": 4, "ft": 4, "%": 3, "1": 4}
"""Decimals of a shown value, by its unit."""


def rounded(value: float, decimals: int, towards: int = 0) -> float:
    """Round to decimals, then step towards the failing side if rounding crossed to the other.

    Parameters
    ----------
    value : float
        Unrounded.
    decimals : int
        Places after the point.
    towards : int
        -1 where a low value fails: the result is never above `value`; 1 where a high one does; 0 for neither.

    Examples
    --------
    >>> rounded(8.99999, 4, -1), rounded(8.99999, 4)
    (8.9999, 9.0)
    """
    shown = round(value, decimals)
    if towards < 0 and shown > value:
        return round(shown - 10.0**-decimals, decimals)
    if towards > 0 and shown < value:
        return round(shown + 10.0**-decimals, decimals)
    return shown


def rounded_all(values: list[float], decimals: int) -> list[float]:
    """A column of values, each rounded to decimals.

    Examples
    --------
    >>> rounded_all([8.99999, -0.00001, 2.5], 4)
    [9.0, -0.0, 2.5]
    """
    return columns.rounded(values, decimals)


def known_to_1_percent(value: float) -> float:
    """What a search from below to 1 % knows of a value, never more than was found.

    The last place that is kept is worth at most 2 % of the value, and at least a fifth of a per cent.

    Examples
    --------
    >>> known_to_1_percent(98.361), known_to_1_percent(1.2349), known_to_1_percent(0.0)
    (98.0, 1.23, 0.0)
    """
    if value <= 0.0:
        return 0.0
    return rounded(value, -floor(log10(0.02 * value)), -1)
