r"""A linear programme, row by row, and what it proves exactly: a lower bound from any multipliers.

Every column lies between two finite bounds. For multipliers of the rows, of which those of a row that is only
bounded from below are not negative, no point that keeps all rows costs less than

.. math:: \sum_i \lambda_i b_i + \sum_j \min(r_j l_j, r_j u_j), \qquad r = c - A^T \lambda

whatever the multipliers are and wherever they come from. It is worked out in rational arithmetic, in which
the floats of the programme are what they are; nothing that an engine says of its own result is taken.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from math import lcm
from types import MappingProxyType
from typing import Any, Final, NamedTuple

Term = tuple[int, float]
"""A column by its index, and its coefficient in a row."""


RowName = tuple[Any, ...]
"""What a row is of: its kind, then groups, routes, places or a tangent's point."""


class Row(NamedTuple):
    """What the columns keep: a sum of terms is no less than `least`, or just that.

    `name` says what the row is of, so that it can be made again from the site.
    """

    name: RowName
    least: float
    terms: tuple[Term, ...]
    equal: bool = False


class Programme:
    """Columns with their costs and bounds, and rows."""

    def __init__(self) -> None:
        self.costs: list[float] = []
        self.most: list[float] = []
        """Of each column what it is at most; the least is zero."""
        self.rows: list[Row] = []
        self._whole: dict[int, tuple[int, list[tuple[int, int]]]] = {}
        self.places: dict[RowName, int] = {}
        """Of each row its index."""

    def column(self, cost: float, most: float) -> int:
        """A column more, by its index."""
        self.costs.append(cost)
        self.most.append(most)
        return len(self.costs) - 1

    def parts(self, index: int) -> int:
        """Into how many parts of one the coefficients of a row are whole numbers."""
        return self._whole_row(index)[0]

    def whole_terms(self, index: int) -> Sequence[tuple[int, int]]:
        """The terms of a row in these parts."""
        return self._whole_row(index)[1]

    def _whole_row(self, index: int) -> tuple[int, list[tuple[int, int]]]:
        if index not in self._whole:
            terms = self.rows[index].terms
            parts = lcm(*(coefficient.as_integer_ratio()[1] for _, coefficient in terms))
            self._whole[index] = parts, [(column, whole(coefficient, parts)) for column, coefficient in terms]
        return self._whole[index]

    def cost_parts(self) -> int:
        """Into how many parts of one the costs of columns are whole numbers."""
        return lcm(*(cost.as_integer_ratio()[1] for cost in self.costs))

    def row(self, row: Row) -> bool:
        """A row more, where it is not there yet."""
        if row.name in self.places:
            return False
        self.places[row.name] = len(self.rows)
        self.rows.append(row)
        return True


Standing = dict[int, float | None]
"""Rows that stand otherwise in a case, by their index: what they are no less than; None: they do not hold."""


class Bounds(NamedTuple):
    """Columns that a branch has fixed, by their index: at zero, or at one."""

    zero: frozenset[int] = frozenset()
    one: frozenset[int] = frozenset()


SHORTEST_BITS: Final = 24
"""Binary digits that are kept of a multiplier behind the point."""


def rounded(multipliers: Sequence[float], rows: Sequence[Row]) -> dict[int, Fraction]:
    """Multipliers with few digits, by the index of their rows; of the wrong sign none."""
    scale = 1 << SHORTEST_BITS
    found = {}
    for index, (multiplier, row) in enumerate(zip(multipliers, rows, strict=True)):
        whole = round(multiplier * scale)
        if whole > 0 or (whole and row.equal):
            found[index] = Fraction(whole, scale)
    return found


def proven(
    programme: Programme,
    multipliers: Mapping[int, Fraction],
    bounds: Bounds,
    standing: Mapping[int, float | None] = MappingProxyType({}),
    *,
    costly: bool = True,
) -> Fraction:
    """What no point of a programme costs less than, by some multipliers of its rows as they stand in a case.

    Those of rows that do not hold count as none. Without its costs, `costly` being false, a positive one
    proves that there is no point.
    """
    scale = lcm(*(each.denominator for each in multipliers.values()))
    parts = lcm(*(programme.parts(index) for index in multipliers), programme.cost_parts())
    reduced, sums = [0] * len(programme.costs), Sums()
    if costly:
        reduced = [scale * whole(cost, parts) for cost in programme.costs]
    for index, each in multipliers.items():
        least = standing.get(index, programme.rows[index].least)
        if least is None:
            continue
        multiplier = each.numerator * (scale // each.denominator)
        sums.add(multiplier * parts, least)
        multiplier *= parts // programme.parts(index)
        for column, coefficient in programme.whole_terms(index):
            reduced[column] -= multiplier * coefficient
    for column in bounds.one:
        sums.add(reduced[column], 1.0)
    for column, own in enumerate(reduced):
        if own < 0 and column not in bounds.zero and column not in bounds.one:
            sums.add(own, programme.most[column])
    return sums.total / (scale * parts)


class Sums:
    """A sum of whole numbers times floats, each of them just what it is."""

    def __init__(self) -> None:
        self._sums: dict[int, int] = {}
        """By the denominator of the float."""

    def add(self, number: int, value: float) -> None:
        """Add a number times a value."""
        if value:
            numerator, denominator = value.as_integer_ratio()
            self._sums[denominator] = self._sums.get(denominator, 0) + number * numerator

    @property
    def total(self) -> Fraction:
        """All of it."""
        return sum((Fraction(own, each) for each, own in self._sums.items()), start=Fraction(0))


def whole(value: float, parts: int) -> int:
    """A value in so many parts of one, of which it has a whole number."""
    numerator, denominator = value.as_integer_ratio()
    return numerator * (parts // denominator)
