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
        self.names: set[RowName] = set()

    def column(self, cost: float, most: float) -> int:
        """A column more, by its index."""
        self.costs.append(cost)
        self.most.append(most)
        return len(self.costs) - 1

    def row(self, row: Row) -> bool:
        """A row more, where it is not there yet."""
        if row.name in self.names:
            return False
        self.names.add(row.name)
        self.rows.append(row)
        return True


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
    programme: Programme, multipliers: Mapping[int, Fraction], bounds: Bounds, *, costly: bool = True
) -> Fraction:
    """What no point of a programme costs less than, by some multipliers of its rows.

    Without its costs, `costly` being false, a positive one proves that there is no point.
    """
    reduced: dict[int, Fraction] = {}
    bound = Fraction(0)
    for index, multiplier in multipliers.items():
        row = programme.rows[index]
        bound += multiplier * Fraction(row.least)
        for column, coefficient in row.terms:
            reduced[column] = reduced.get(column, Fraction(0)) - multiplier * Fraction(coefficient)
    for column, cost in enumerate(programme.costs):
        own = reduced.get(column, Fraction(0))
        if costly:
            own += Fraction(cost)
        if column in bounds.one:
            bound += own
        elif own < 0 and column not in bounds.zero:
            bound += own * Fraction(programme.most[column])
    return bound
