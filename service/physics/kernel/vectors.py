"""Vectors of numbers: lists where this runs as Python, packed arrays where it was compiled."""

from __future__ import annotations

from array import array
from collections.abc import MutableSequence

Reals = MutableSequence[float]

Wholes = MutableSequence[int]

COMPILED = not __file__.endswith(".py")
"""Whether this file was compiled, and all of its folder with it."""


REAL_ZERO: array[float] | list[float] = array("d", [0.0]) if COMPILED else [0.0]
"""One real number, zero."""

WHOLE_ZERO: array[int] | list[int] = array("i", [0]) if COMPILED else [0]
"""One whole number, zero."""


def zeros(count: int) -> Reals:
    """So many real numbers."""
    return REAL_ZERO * count


def wholes(count: int) -> Wholes:
    """So many whole numbers, each zero."""
    return WHOLE_ZERO * count
