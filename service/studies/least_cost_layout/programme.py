r"""A linear programme, row by row, and what it proves exactly: a lower bound from any multipliers.

Every column lies between two finite bounds. For multipliers of the rows, of which those of a row that is only
bounded from below are not negative, no point that keeps all rows costs less than

.. math:: \sum_i \lambda_i b_i + \sum_j \min(r_j l_j, r_j u_j), \qquad r = c - A^T \lambda

whatever the multipliers are and wherever they come from. It is worked out in rational arithmetic, in which
the floats of the programme are what they are; nothing that an engine says of its own result is taken.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final, NamedTuple

Term = tuple[int, float]
"""A column by its index, and its coefficient in a row."""


Whole = tuple[int, int]
"""A column by its index, and how many parts of one its coefficient is."""


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
    """Columns with their costs and bounds, and rows.

    An engine is shown the columns that are awake, and rows only where one of them is in.
    """

    def __init__(self) -> None:
        self.costs: list[float] = []
        self.most: list[float] = []
        """Of each column what it is at most; the least is zero."""
        self.rows: list[Row] = []
        self.rows_of: list[list[int]] = []
        """Of each column the rows that it is in."""
        self.awake: dict[int, None] = {}
        """Columns that an engine is shown, in the order in which they woke."""
        self._whole: dict[int, tuple[int, list[Whole]]] = {}
        self._whole_costs: tuple[int, list[Whole]] = 0, []
        self.places: dict[RowName, int] = {}
        """Of each row its index."""

    def column(self, cost: float, most: float, *, asleep: bool = False) -> int:
        """A column more, by its index."""
        column = len(self.costs)
        self.costs.append(cost)
        self.most.append(most)
        self.rows_of.append([])
        if not asleep:
            self.awake[column] = None
        return column

    def wake(self, columns: Iterable[int]) -> None:
        """Show columns to an engine, if they are not shown yet."""
        self.awake |= dict.fromkeys(columns)

    def bits(self, index: int) -> int:
        """To what power of 2 there are parts of one of which coefficients of a row have whole numbers."""
        return self._whole_row(index)[0]

    def whole_terms(self, index: int) -> Sequence[Whole]:
        """The terms of a row in these parts."""
        return self._whole_row(index)[1]

    def _whole_row(self, index: int) -> tuple[int, list[Whole]]:
        found = self._whole.get(index)
        if found is None:
            found = self._whole[index] = whole_numbers(self.rows[index].terms)
        return found

    def reduced(self, multipliers: Mapping[int, float]) -> list[float]:
        """What multipliers of rows leave of the costs, as nearly as floats tell. [currency]"""
        left = list(self.costs)
        for index, multiplier in multipliers.items():
            for column, coefficient in self.rows[index].terms:
                left[column] -= multiplier * coefficient
        return left

    def whole_costs(self) -> tuple[int, Sequence[Whole]]:
        """All costs in the same way."""
        if len(self._whole_costs[1]) != len(self.costs):
            self._whole_costs = whole_numbers(list(enumerate(self.costs)))
        return self._whole_costs

    def row(self, row: Row) -> bool:
        """A row more, where it is not there yet."""
        if row.name in self.places:
            return False
        index = self.places[row.name] = len(self.rows)
        self.rows.append(row)
        for column, _ in row.terms:
            self.rows_of[column].append(index)
        return True


Standing = dict[int, float | None]
"""Rows that stand otherwise in a case, by their index: what they are no less than; None: they do not hold."""


class Bounds(NamedTuple):
    """Columns that a branch has fixed, by their index: at zero, or at one."""

    zero: frozenset[int] = frozenset()
    one: frozenset[int] = frozenset()


SHORTEST_BITS: Final = 24
"""Binary digits that are kept of a multiplier behind the point."""


def rounded(multipliers: Mapping[int, float], rows: Sequence[Row]) -> dict[int, Fraction]:
    """Multipliers with few digits, by the index of their rows; of the wrong sign none."""
    scale = 1 << SHORTEST_BITS
    found = {}
    for index, multiplier in multipliers.items():
        digits = round(multiplier * scale)
        if digits > 0 or (digits and rows[index].equal):
            found[index] = Fraction(digits, scale)
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
    bits = max((each.denominator.bit_length() - 1 for each in multipliers.values()), default=0)
    cost_bits, costs = programme.whole_costs()
    parts = max([cost_bits, *(programme.bits(index) for index in multipliers)])
    reduced, sums = [0] * len(programme.costs), Sums()
    if costly:
        reduced = [cost << (bits + parts - cost_bits) for _, cost in costs]
    for index, each in multipliers.items():
        least = standing.get(index, programme.rows[index].least)
        if least is None:
            continue
        multiplier = each.numerator << (bits - each.denominator.bit_length() + 1)
        sums.add(multiplier << parts, least)
        multiplier <<= parts - programme.bits(index)
        for column, coefficient in programme.whole_terms(index):
            reduced[column] -= multiplier * coefficient
    for column in bounds.one:
        sums.add(reduced[column], 1.0)
    for column, own in enumerate(reduced):
        if own < 0 and column not in bounds.zero and column not in bounds.one:
            sums.add(own, programme.most[column])
    return sums.total / (1 << (bits + parts))


def refutes(
    programme: Programme,
    multipliers: Mapping[int, Fraction],
    bounds: Bounds,
    standing: Mapping[int, float | None] = MappingProxyType({}),
) -> bool:
    """Whether multipliers prove that a programme has no point: clear of the last digits of its floats."""
    size = Sums()
    for index, each in multipliers.items():
        least = standing.get(index, programme.rows[index].least) or 0.0
        size.add(abs(each.numerator) << (SHORTEST_BITS + 1 - each.denominator.bit_length()), abs(least))
    guard = size.total / (1 << SHORTEST_BITS) * Fraction(CLEAR)
    return proven(programme, multipliers, bounds, standing, costly=False) > guard


CLEAR: Final = 1e-9
"""Of all that is added up, by which a proof that there is nothing must be clear of its limit. [relative]"""


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


def whole_numbers(terms: Sequence[Term]) -> tuple[int, list[Whole]]:
    """To what power of 2 there are parts of one of which all coefficients have whole numbers; and these."""
    ratios = [coefficient.as_integer_ratio() for _, coefficient in terms]
    bits = max((denominator.bit_length() for _, denominator in ratios), default=1) - 1
    return bits, [
        (column, numerator << (bits + 1 - denominator.bit_length()))
        for (column, _), (numerator, denominator) in zip(terms, ratios, strict=True)
    ]
