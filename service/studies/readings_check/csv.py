"""A commissioning sheet that was filled in, as comma-separated values: a reading for each value."""

from __future__ import annotations

import csv
import re
from io import StringIO
from math import inf, isfinite
from typing import NamedTuple

from service.circuit.job import JobPart
from service.estimation.job import (
    ALL_ON,
    LISTED,
    NO_LOAD,
    UNITS,
    Pointed,
    StatedReading,
    SwitchedState,
    Terminal,
)
from service.problems.unanswered import Mistake
from service.translate.csv_cells import as_text
from service.wire.quantities import ID_PATTERN
from service.wire.readings import MOST_READINGS

AT = "/readings_csv"

NEEDED = ("quantity", "read", "subject", "state")
"""Columns without which no row can be understood; others are looked at where they are there."""

HIGHEST = 1e5
"""As of a reading that is sent one by one. [V], [A]"""

LONGEST_POINTER = 200

LONGEST_ID = 64

MOST_DIGITS = 6
"""No line stands for so many fixtures."""

MAINS_V = (1.0, 1000.0)

NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
"""A number in digits; what Python alone reads (`1_2`, other scripts) is none."""

SEPARATORS = ",;\t"

BYTE_ORDER_MARK = "\ufeff"


class SheetRows(NamedTuple):
    """What a filled-in sheet says, and every line that cannot be understood."""

    readings: list[StatedReading]
    mistakes: list[Mistake]


def readings_of_csv(text: str, mains_v: float | None) -> SheetRows:
    """Readings of a sheet; rows in which nothing was written are passed over.

    A spreadsheet may have saved it with semicolons or tabs and decimal commas.

    Parameters
    ----------
    text : str
        The sheet, its header first.
    mains_v : float or None
        The mains while it was read, for rows that have none of their own. [V]
    """
    text = text.removeprefix(BYTE_ORDER_MARK)
    first = text.lstrip().partition("\n")[0]
    separator = max(SEPARATORS, key=first.count)
    rows = csv.reader(StringIO(text, newline=""), delimiter=separator, strict=True)
    found = SheetRows([], [])
    try:
        first_row = next((cells for cells in rows if any(map(str.strip, cells))), [])
        header = [name.strip() for name in first_row]
        at = f"{AT}/{rows.line_num or 1}"
        missing = [name for name in NEEDED if name not in header]
        if missing:
            return SheetRows([], [Mistake("csv-columns", at, (", ".join(missing),))])
        doubled = sorted({name for name in header if name and header.count(name) > 1})
        if doubled:
            return SheetRows([], [Mistake("csv-columns-doubled", at, (", ".join(doubled),))])
        for cells in rows:
            if len(found.readings) + len(found.mistakes) > MOST_READINGS:
                return SheetRows([], [Mistake("csv-too-many", AT, (str(MOST_READINGS),))])
            if any(cells[len(header) :]):
                found.mistakes.append(Mistake("csv-cells", f"{AT}/{rows.line_num}", (str(len(header)),)))
                continue
            # A spreadsheet may leave empty cells out at the end of a row.
            row = dict(zip(header, map(str.strip, cells), strict=False))
            _add(found, row, rows.line_num, mains_v, separator)
    except csv.Error:
        found.mistakes.append(Mistake("csv-unreadable", f"{AT}/{rows.line_num}"))
    return found


def _add(found: SheetRows, row: dict[str, str], line: int, mains_v: float | None, separator: str) -> None:
    """A reading of one row, or what is wrong with it."""
    if not row.get("read"):
        return
    at = f"{AT}/{line}"
    value, own_mains_v = (_number(row.get(name, ""), separator) for name in ("read", "mains_read"))
    if value is None or not 0.0 <= value <= HIGHEST:
        found.mistakes.append(Mistake("csv-value", at, ("read", row["read"], f"0 to {HIGHEST:g}")))
    elif row.get("mains_read") and (own_mains_v is None or not MAINS_V[0] <= own_mains_v <= MAINS_V[1]):
        found.mistakes.append(Mistake("csv-value", at, ("mains_read", row["mains_read"], "1 to 1000")))
    elif row["quantity"] not in UNITS:
        found.mistakes.append(Mistake("csv-word", at, ("quantity", row["quantity"], " or ".join(UNITS))))
    elif row.get("unit", UNITS[row["quantity"]]) != UNITS[row["quantity"]]:
        found.mistakes.append(Mistake("csv-word", at, ("unit", row["unit"], UNITS[row["quantity"]])))
    else:
        where, state = _where(row, at, separator), _state(row.get("state", ""), at, own_mains_v or mains_v)
        stage = _stage(row.get("stage", ""), at, separator)
        if isinstance(where, Mistake) or isinstance(state, Mistake) or isinstance(stage, Mistake):
            found.mistakes.extend(each for each in (where, state, stage) if isinstance(each, Mistake))
        else:
            subject = JobPart(AT, _id(row.get("id", "")), line)
            found.readings.append(StatedReading(subject, where, row["quantity"], value, state, stage))


def _where(row: dict[str, str], at: str, separator: str) -> Pointed | Terminal | Mistake:
    subject = row.get("subject", "")
    if subject == "terminal":
        tap_v = _number(row.get("tap_v", ""), separator)
        if tap_v is None and row.get("tap_v"):
            return Mistake("csv-value", at, ("tap_v", row["tap_v"], "the volts of a tap"))
        return Terminal(tap_v, _plain(row.get("circuit", "")) or None, at)
    if not subject.startswith("/") or len(subject) > LONGEST_POINTER:
        return Mistake("csv-word", at, ("subject", subject, "terminal, or a pointer into the wiring"))
    number = row.get("subject_number", "")
    if number and not (number.isdecimal() and len(number) <= MOST_DIGITS and int(number)):
        return Mistake("csv-value", at, ("subject_number", number, "a whole number from 1"))
    return Pointed(subject, int(number) if number else None, at)


def _state(cell: str, at: str, mains_v: float | None) -> SwitchedState | Mistake:
    """The state of a stage: a word, or pointers to what alone was lit."""
    if cell in {NO_LOAD, ALL_ON}:
        return SwitchedState(cell, (), mains_v)
    parts = cell.split()
    if not parts or not all(part.startswith("/") and len(part) <= LONGEST_POINTER for part in parts):
        allowed = f"{NO_LOAD}, {ALL_ON}, or pointers to what alone was lit"
        return Mistake("csv-word", at, ("state", cell, allowed))
    return SwitchedState(LISTED, tuple(Pointed(part, None, at) for part in parts), mains_v)


def _stage(cell: str, at: str, separator: str) -> int | Mistake | None:
    """The number of a stage; a row in a hand of its own may have none."""
    if not cell:
        return None
    number = _number(cell, separator)
    if number is None or number != int(number):
        return Mistake("csv-value", at, ("stage", cell, "the number of a stage"))
    return int(number)


def _number(cell: str, separator: str) -> float | None:
    """A number as a meter or a spreadsheet writes it; None where it is none."""
    written = cell if separator == "," else cell.replace(",", ".")
    value = float(written) if NUMBER.fullmatch(written) else inf
    return value if isfinite(value) else None


def _id(cell: str) -> str | None:
    """The id of a fixture; None where it is none that a request may have."""
    own_id = _plain(cell)
    return own_id if len(own_id) <= LONGEST_ID and re.match(ID_PATTERN, own_id) else None


def _plain(cell: str) -> str:
    """A text without the apostrophe that keeps a spreadsheet from computing it."""
    return cell[1:] if cell.startswith("'") and as_text(cell[1:]) == cell else cell
