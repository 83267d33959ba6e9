"""Reads the text of one table into rows whose cells are checked as they are taken out."""

from __future__ import annotations

import csv
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from io import StringIO
from typing import NoReturn

from service.tables.errors import TableError

# Stricter than `float`, which would also take "1_000", "nan", "1e3" and a number with spaces around it.
_DECIMAL = re.compile(r"[0-9]+(\.[0-9]+)?")


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table, with the place where it stands."""

    table: str
    line: int
    cells: Mapping[str, str]

    def refuse(self, sentence: str) -> NoReturn:
        """Raise the error that says where this row stands and what is wrong with it."""
        place = f"{self.table}, line {self.line}"
        raise TableError(place, sentence)

    def text(self, column: str) -> str:
        """Return a cell that must not be empty."""
        cell = self.cells[column]
        if not cell or cell != cell.strip():
            self.refuse(f'"{column}" is empty or has spaces around it. Write a value.')
        return cell

    def optional(self, column: str) -> str:
        """Return a cell that may be empty."""
        return self.cells[column]

    def number(self, column: str) -> float:
        """Return a cell that must be a decimal number above zero, as every figure in these tables is."""
        cell = self.cells[column]
        if not _DECIMAL.fullmatch(cell) or float(cell) == 0:
            self.refuse(f'"{column}" is "{cell}". Write a decimal number above zero.')
        return float(cell)

    def one_of(self, column: str, allowed: Collection[str]) -> str:
        """Return a cell that must be one of some words."""
        cell = self.cells[column]
        if cell not in allowed:
            self.refuse(f'"{column}" is "{cell}". Write one of: {", ".join(allowed)}.')
        return cell

    def source(self, known: Collection[str]) -> str:
        """Return the id of the source, which must stand in the table of sources."""
        cell = self.text("source")
        if cell not in known:
            self.refuse(f'source "{cell}" is not in sources.csv. Add it there or correct the row.')
        return cell


def read_rows(table: str, text: str, *, columns: tuple[str, ...], key: tuple[str, ...]) -> tuple[Row, ...]:
    """Read a table.

    Parameters
    ----------
    table : str
        File name, for the words of an error.
    text : str
        Contents of the file.
    columns : tuple of str
        The header that it must have.
    key : tuple of str
        The columns that together may occur only once.

    Returns
    -------
    rows : tuple of Row
        In the order of the file. [one per line below the header]

    Raises
    ------
    TableError
        On another header, no rows, a row with too few or too many cells, or two rows with one key.
    """
    lines = _lines(table, text)
    _, header = next(lines, (1, []))
    if tuple(header) != columns:
        raise TableError(table, f'the header is "{",".join(header)}". Write "{",".join(columns)}".')
    rows = tuple(_row(table, line, cells, columns) for line, cells in lines)
    if not rows:
        raise TableError(table, "there are no rows below the header. Restore the file.")
    _refuse_duplicates(rows, key)
    return rows


def _lines(table: str, text: str) -> Iterator[tuple[int, list[str]]]:
    lines = csv.reader(StringIO(text, newline=""), strict=True)
    try:
        for cells in lines:
            yield lines.line_num, cells
    except csv.Error as error:
        place = f"{table}, line {lines.line_num}"
        raise TableError(place, f"this is not CSV ({error}). Check the quotes.") from error


def _row(table: str, line: int, cells: list[str], columns: tuple[str, ...]) -> Row:
    row = Row(table, line, dict(zip(columns, cells, strict=False)))
    if len(cells) != len(columns):
        row.refuse(f"there are {len(cells)} cells. Write {len(columns)}.")
    return row


def _refuse_duplicates(rows: tuple[Row, ...], key: tuple[str, ...]) -> None:
    first: dict[tuple[str, ...], int] = {}
    for row in rows:
        name = tuple(row.cells[column] for column in key)
        if name in first:
            row.refuse(f"{', '.join(name)} stands in line {first[name]} already. Remove one of the two rows.")
        first[name] = row.line
