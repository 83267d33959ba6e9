"""Vectors of numbers: lists where this runs as Python, packed arrays where it was compiled."""

from __future__ import annotations

from array import array
from collections.abc import MutableSequence

Reals = MutableSequence[float]

Wholes = MutableSequence[int]

COMPILED = not __file__.endswith(".py")
"""Whether this file was compiled, and all of its folder with it."""


def zeros(count: int) -> Reals:
    """So many real numbers."""
    return array("d", bytes(8 * count)) if COMPILED else [0.0] * count


def wholes(count: int) -> Wholes:
    """So many whole numbers, each zero."""
    return array("i", bytes(4 * count)) if COMPILED else [0] * count
