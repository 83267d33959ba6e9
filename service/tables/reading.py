"""Reads the text of one table into rows whose cells are checked as they are taken out."""

from __future__ import annotations

import csv
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from io import StringIO
from typing import NoReturn

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


class TableError(ValueError):
    """A table breaks its own rules; raised while it is loaded, so that the service does not start on it."""

    def __init__(self, place: str, sentence: str) -> None:
        self.place = place
        self.sentence = sentence
        super().__init__(f"{place}: {sentence}")


class NotListedError(LookupError):
    """The tables have no entry of that name.

    Attributes
    ----------
    kind : str
        What was looked for, such as ``conductor``.
    asked : str
        The name as given.
    listed : tuple of str
        All names that would have been answered.
    """

    def __init__(self, *, kind: str, asked: str, listed: Iterable[str]) -> None:
        self.kind = kind
        self.asked = asked
        self.listed = tuple(listed)
        super().__init__(f'The tables list no {kind} "{asked}". Use one of: {", ".join(self.listed)}.')


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from; `known` is ``seen``, ``memory`` or ``trade-practice``."""

    id: str
    title: str
    edition: str
    publisher: str
    clause: str
    known: str
    note: str


@dataclass(frozen=True, slots=True)
class ConductorEntry:
    """ONE conductor as the tables give it.

    Attributes
    ----------
    name, material, stranding : str
        What it is listed under, such as ``12 AWG``, ``copper``, ``stranded``.
    resistance_ohm_per_m : float
        Direct-current resistance of one conductor at `datum_c`. [ohm/m]
    datum_c : float
        Conductor temperature at which the table states resistance. [°C]
    coefficient_per_k : float
        Temperature coefficient that belongs to that datum and to no other. [1/K]
    area_mm2 : float
        Section: from the diameter for AWG, nominal for metric sizes. [mm²]
    source : str
        Id of the source of the printed resistance.
    sources : tuple of str
        Ids of all sources behind the figures: resistance, coefficient, derivations. [one each]
    derived : tuple of str
        Ids of the derivations that led here from the printed row, in order; empty if the table prints it.
    """

    name: str
    material: str
    stranding: str
    resistance_ohm_per_m: float
    datum_c: float
    coefficient_per_k: float
    area_mm2: float
    source: str
    sources: tuple[str, ...]
    derived: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Coefficient:
    """Temperature coefficient of resistance of a metal, in 1/K, good for one datum only."""

    material: str
    datum_c: float
    coefficient_per_k: float
    source: str


@dataclass(frozen=True, slots=True)
class Derivation:
    """How a conductor that no table prints follows from one that a table does print.

    `sizes` is ``AWG``, ``mm2`` or ``any``; `material` and `stranding` may be ``any``, `from_material` and
    `from_stranding` may be ``same``.
    """

    id: str
    sizes: str
    material: str
    stranding: str
    from_material: str
    from_stranding: str
    ratio: float
    source: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Limit:
    """A current that is not to be passed, in A."""

    ampere: float
    source: str


@dataclass(frozen=True, slots=True)
class Constant:
    """One figure with the unit that its source states; ``1`` is a plain number."""

    value: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class MainsRange:
    """Lowest and highest mains voltage beside its nominal, all in `unit`; in unit ``1`` they are shares."""

    name: str
    lowest: float
    highest: float
    nominal: float
    unit: str
    source: str

    @property
    def lowest_ratio(self) -> float:
        """Lowest over nominal."""
        return self.lowest / self.nominal

    @property
    def highest_ratio(self) -> float:
        """Highest over nominal."""
        return self.highest / self.nominal


@dataclass(frozen=True, slots=True)
class CableConstantEntry:
    """What the trade divides watts times feet by to find a drop on 12 V, in W·ft/V."""

    conductor: str
    watt_feet_per_volt: float
    source: str


@dataclass(frozen=True, slots=True)
class UsualRating:
    """An apparent power for which transformers are usually made, in VA."""

    rating_va: float
    source: str
