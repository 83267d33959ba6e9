"""The constants by which the trade divides watts times feet to find a drop on 12 V."""

from __future__ import annotations

from collections.abc import Collection

from service.tables.reading import read_rows
from service.tables.rows import CableConstant

UNIT = "W.ft/V"
_COLUMNS = ("conductor", "constant", "unit", "source", "note")


def read_cable_constants(
    text: str, names: Collection[str], sources: Collection[str]
) -> dict[str, CableConstant]:
    """Read ``cable_constants.csv``.

    Parameters
    ----------
    text : str
        Contents of the file.
    names : collection of str
        Names that ``conductors.csv`` lists.
    sources : collection of str
        Ids that ``sources.csv`` lists.

    Returns
    -------
    constants : dict of str to CableConstant
        By conductor; a size that is not listed has none. [W·ft/V]

    Raises
    ------
    TableError
        On a broken row, an unknown conductor, or a constant that is not larger than the one above it.
    """
    constants: dict[str, CableConstant] = {}
    above = 0.0
    for row in read_rows("cable_constants.csv", text, columns=_COLUMNS, key=("conductor",)):
        row.one_of("unit", (UNIT,))
        constant = CableConstant(row.one_of("conductor", names), row.number("constant"), row.source(sources))
        if constant.watt_feet_per_volt <= above:
            row.refuse('"constant" is not above the one in the row above. Write thin before thick.')
        above = constant.watt_feet_per_volt
        constants[constant.conductor] = constant
    return constants
