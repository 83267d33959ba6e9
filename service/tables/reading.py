"""Reads any table: the class of its rows says what each column may hold."""

import csv
import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from io import StringIO
from math import inf
from typing import Annotated, Any, NamedTuple, NoReturn, TypeVar, get_type_hints

# Stricter than `float`, which would also take "1_000", "nan", "1e3" and a number with spaces around it.
_DECIMAL = re.compile(r"[0-9]+(\.[0-9]+)?")


# A size has one spelling: "12.0 AWG" or "012 AWG" would stand beside "12 AWG".
_SIZE = re.compile(r"([1-9][0-9]*|0(?=\.))(\.[0-9]*[1-9])? (AWG|mm2)")


FAMILIES = ("AWG", "mm2")
"""What the name of a size ends with."""


class TableError(ValueError):
    """A table breaks its own rules; raised while it is loaded, so that the service does not start on it."""

    def __init__(self, place: str, sentence: str) -> None:
        self.place = place
        self.sentence = sentence
        super().__init__(f"{place}: {sentence}")


class OneOf(NamedTuple):
    """What other tables list: ids of sources, and sizes of conductors, thin to thick within AWG and mm2."""

    sources: Collection[str] = ()
    conductors: Collection[str] = ()


class TableCell(NamedTuple):
    """One cell, with the place where it stands."""

    place: str
    column: str
    written: str
    listed: OneOf

    def refuse(self, sentence: str) -> NoReturn:
        """Raise the error that says where this cell stands and what is wrong with it."""
        raise TableError(self.place, sentence)


def text(cell: TableCell) -> str:
    """Read a cell that must not be empty."""
    if not cell.written or cell.written != cell.written.strip():
        cell.refuse(f'"{cell.column}" is empty or has spaces around it. Write a value.')
    return cell.written


def positive(cell: TableCell) -> float:
    """Read a decimal number above zero, as every figure in these tables is."""
    if not _DECIMAL.fullmatch(cell.written) or not 0.0 < float(cell.written) < inf:
        cell.refuse(f'"{cell.column}" is "{cell.written}". Write a decimal number above zero.')
    return float(cell.written)


def size(cell: TableCell) -> str:
    """Read a size of conductor in its one spelling, such as ``12 AWG`` or ``2.5 mm2``."""
    if not _SIZE.fullmatch(text(cell)):
        cell.refuse(f'"{cell.column}" is "{cell.written}". Write a number, a space, and AWG or mm2.')
    return cell.written


def listed_source(cell: TableCell) -> str:
    """Read the id of a source, which must stand in the table of sources."""
    if text(cell) not in cell.listed.sources:
        cell.refuse(f'source "{cell.written}" is not in sources.csv. Add it there or correct the row.')
    return cell.written


def listed_size(cell: TableCell) -> str:
    """Read a size that the table of conductors lists."""
    return _word(cell, cell.listed.conductors)


def sizes(cell: TableCell) -> str:
    """Read a family of sizes, or sizes that the table of conductors lists, such as ``24 AWG; 22 AWG``."""
    for name in cell.written.split("; "):
        _word(cell._replace(written=name), (*FAMILIES, "any", *cell.listed.conductors))
    return cell.written


def one_of(*words: str) -> Callable[[TableCell], str]:
    """Read one of some words."""
    return lambda cell: _word(cell, words)


def _word(cell: TableCell, words: Collection[str]) -> str:
    if cell.written not in words:
        cell.refuse(f'"{cell.column}" is "{cell.written}". Write one of: {", ".join(words)}.')
    return cell.written


KEY = "key"
"""Marks the columns that together may hold the same values only once, however they are spelled."""

# What a column holds, and how its cells are read.
Text = Annotated[str, text]
MaybeText = Annotated[str, lambda cell: cell.written]
Positive = Annotated[float, positive]
Size = Annotated[str, size]
ListedSize = Annotated[str, listed_size]
ListedSource = Annotated[str, listed_source]


RowT = TypeVar("RowT")


def read(
    table: str,
    texts: Mapping[str, str],
    row_of: Callable[..., RowT],
    listed: OneOf,
    rule: Callable[[RowT, Sequence[RowT]], str | None] | None = None,
) -> tuple[RowT, ...]:
    """Read a table.

    Parameters
    ----------
    table : str
        File name.
    texts : mapping of str to str
        Contents of each file, by file name.
    row_of : class of rows
        Its fields are the columns, each annotated with the function that reads its cells.
    listed : Listed
        What cells may name from other tables.
    rule : function of a row and of those above it, optional
        Returns what is wrong with the row in a sentence; None where nothing is.

    Returns
    -------
    rows : tuple of RowT
        In the order of the file. [one per line below the header]

    Raises
    ------
    TableError
        On another header, no rows, a row with too few or too many cells, a cell that its column does not
        take, two rows with one key, or a row that breaks the rule.
    """
    hints = get_type_hints(row_of, include_extras=True)
    columns = {name: hint.__metadata__ for name, hint in hints.items()}
    lines = _lines(table, texts[table])
    _, header = next(lines, (1, []))
    if header != list(columns):
        raise TableError(table, f'the header is "{",".join(header)}". Write "{",".join(columns)}".')
    keys = [name for name, marks in columns.items() if KEY in marks]
    rows: list[RowT] = []
    first: dict[tuple[object, ...], int] = {}
    for number, cells in lines:
        place = f"{table}, line {number}"
        values = _values(place, columns, cells, listed)
        key = tuple(_alike(values[name]) for name in keys)
        if first.setdefault(key, number) != number:
            named = ", ".join(dict(zip(columns, cells, strict=True))[name] for name in keys)
            above = f"{named} stands in line {first[key]} already"
            raise TableError(place, f"{above}. Remove one of the two rows.")
        row = row_of(**values)
        mistake = rule(row, rows) if rule else None
        if mistake:
            raise TableError(place, mistake)
        rows.append(row)
    if not rows:
        raise TableError(table, "there are no rows below the header. Restore the file.")
    return tuple(rows)


def _lines(table: str, contents: str) -> Iterator[tuple[int, list[str]]]:
    """The cells of each line, behind its number."""
    lines = csv.reader(StringIO(contents, newline=""), strict=True)
    try:
        for cells in lines:
            yield lines.line_num, cells
    except csv.Error as error:
        place = f"{table}, line {lines.line_num}"
        raise TableError(place, f"this is not CSV ({error}). Check the quotes.") from error


def _values(
    place: str, columns: Mapping[str, tuple[Any, ...]], cells: list[str], listed: OneOf
) -> dict[str, object]:
    if len(cells) != len(columns):
        raise TableError(place, f"there are {len(cells)} cells. Write {len(columns)}.")
    return {
        name: read_cell(TableCell(place, name, cell, listed))
        for cell, (name, (read_cell, *_)) in zip(cells, columns.items(), strict=True)
    }


def _alike(value: object) -> object:
    """What two spellings of one value share: numbers are read already, words differ by capitals alone."""
    return value.casefold() if isinstance(value, str) else value
