"""Currents that conductors and the devices before them are not to pass."""

from __future__ import annotations

from collections.abc import Collection

from service.tables.conductors import MATERIALS, sizes_of
from service.tables.reading import Row, read_rows
from service.tables.rows import Limit

_COLUMNS = ("name", "material", "ampere", "source", "note")


def read_limits(
    table: str, text: str, names: Collection[str], sources: Collection[str]
) -> dict[tuple[str, str], Limit]:
    """Read ``ampacities.csv`` or ``device_limits.csv``.

    Parameters
    ----------
    table : str
        File name, for the words of an error.
    text : str
        Contents of the file.
    names : collection of str
        Names that ``conductors.csv`` lists, thin to thick within AWG and within mm2.
    sources : collection of str
        Ids that ``sources.csv`` lists.

    Returns
    -------
    limits : dict of (name, material) to Limit
        What is not listed has no row: nothing is guessed from a neighbour.

    Raises
    ------
    TableError
        On a broken row, an unknown conductor, or a column in which a thicker one carries no more.
    """
    order = {name: place for place, name in enumerate(names)}
    limits: dict[tuple[str, str], Limit] = {}
    thinner: dict[tuple[str, str], Row] = {}
    for row in read_rows(table, text, columns=_COLUMNS, key=("name", "material")):
        name, material = row.one_of("name", names), row.one_of("material", MATERIALS)
        limits[name, material] = Limit(row.number("ampere"), row.source(sources))
        column = (sizes_of(name), material)
        _refuse_disorder(row, thinner.get(column), order)
        thinner[column] = row
    return limits


def _refuse_disorder(row: Row, thinner: Row | None, order: dict[str, int]) -> None:
    if thinner is None:
        return
    here, before = row.text("name"), thinner.text("name")
    if order[here] < order[before]:
        row.refuse(f"{here} stands below {before}. Write thin before thick.")
    if row.number("ampere") <= thinner.number("ampere"):
        row.refuse(f"the current does not rise from {before} to {here}. Check both rows.")
