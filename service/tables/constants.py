"""Single figures and the ranges in which mains voltage lives."""

from __future__ import annotations

from collections.abc import Collection

from service.tables.reading import Row, read_rows
from service.tables.rows import Constant, MainsRange

UNITS = ("1", "V", "A", "VA", "VA/V")
_CONSTANT_COLUMNS = ("name", "value", "unit", "source", "note")
_RANGE_COLUMNS = ("name", "lowest", "highest", "nominal", "unit", "source", "note")


def read_constants(text: str, sources: Collection[str]) -> dict[str, Constant]:
    """Read ``constants.csv``.

    Parameters
    ----------
    text : str
        Contents of the file.
    sources : collection of str
        Ids that ``sources.csv`` lists.

    Returns
    -------
    constants : dict of str to Constant
        By name.

    Raises
    ------
    TableError
        On a broken row.
    """
    rows = read_rows("constants.csv", text, columns=_CONSTANT_COLUMNS, key=("name",))
    return {
        row.text("name"): Constant(row.number("value"), row.one_of("unit", UNITS), row.source(sources))
        for row in rows
    }


def read_mains_ranges(text: str, sources: Collection[str]) -> dict[str, MainsRange]:
    """Read ``mains_ranges.csv``.

    Parameters
    ----------
    text : str
        Contents of the file.
    sources : collection of str
        Ids that ``sources.csv`` lists.

    Returns
    -------
    ranges : dict of str to MainsRange
        By name.

    Raises
    ------
    TableError
        On a broken row, or a nominal voltage outside its own range.
    """
    rows = read_rows("mains_ranges.csv", text, columns=_RANGE_COLUMNS, key=("name",))
    return {row.text("name"): _mains_range(row, sources) for row in rows}


def _mains_range(row: Row, sources: Collection[str]) -> MainsRange:
    lowest, highest, nominal = row.number("lowest"), row.number("highest"), row.number("nominal")
    if not lowest < nominal < highest:
        row.refuse('"lowest", "nominal" and "highest" do not rise in that order. Check the row.')
    unit = row.one_of("unit", ("1", "V"))
    return MainsRange(row.text("name"), lowest, highest, nominal, unit, row.source(sources))
