"""Rows of a table in which every two values of different columns meet at least once."""

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations, product

Row = dict[str, str]
Cell = tuple[str, str]
Allowed = Callable[[Mapping[str, str]], bool]
"""Whether values of some columns may stand in one row."""


def every_pair(columns: Mapping[str, Sequence[str]], allowed: Allowed, usual: Row) -> Iterator[Row]:
    """Cover every allowed pair greedily, the same rows on every run.

    Parameters
    ----------
    columns : mapping of str to sequence of str
        The values of each column.
    allowed : callable
        From part of a row to whether it may stand.
    usual : dict of str to str
        What stands in a column that has nothing more to cover.
    """
    waiting = {
        frozenset(pair): None
        for one, two in combinations(columns, 2)
        for pair in product(
            [(one, value) for value in columns[one]], [(two, value) for value in columns[two]]
        )
        if allowed(dict(pair))
    }
    draw = random.Random(1)  # the same rows each time, no secret
    while waiting:
        row: Row = dict(next(iter(waiting)))
        rest = [column for column in columns if column not in row]
        draw.shuffle(rest)
        for column in rest:
            fitting = [value for value in columns[column] if allowed({**row, column: value})]
            new = {value: _new_pairs(row, (column, value), waiting) for value in fitting}
            most = max(new.values())
            best = [value for value in fitting if new[value] == most]
            row[column] = usual[column] if usual.get(column) in best else best[0]
        for pair in combinations(row.items(), 2):
            waiting.pop(frozenset(pair), None)
        yield {column: row[column] for column in columns}


def _new_pairs(row: Row, cell: Cell, waiting: Mapping[frozenset[Cell], None]) -> int:
    """How many pairs would be covered by one more cell of a row."""
    return sum(frozenset((other, cell)) in waiting for other in row.items())


def every_row(columns: Mapping[str, Sequence[str]], allowed: Allowed) -> Iterator[Row]:
    """The full product."""
    for values in product(*columns.values()):
        row = dict(zip(columns, values, strict=True))
        if allowed(row):
            yield row
