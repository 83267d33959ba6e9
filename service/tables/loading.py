"""Reads all tables together, in the order in which they lean on one another."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files

from service.tables.conductors import (
    MATERIALS,
    Key,
    complete,
    read_coefficients,
    read_conductors,
    read_derivations,
    sizes_of,
)
from service.tables.reading import (
    CableConstantEntry,
    Coefficient,
    ConductorEntry,
    Constant,
    Derivation,
    Limit,
    MainsRange,
    Row,
    Source,
    UsualRating,
    read_rows,
)

TABLE_NAMES = (
    "ampacities.csv",
    "cable_constants.csv",
    "coefficients.csv",
    "conductors.csv",
    "constants.csv",
    "derivations.csv",
    "device_limits.csv",
    "mains_ranges.csv",
    "sources.csv",
    "usual_ratings.csv",
)


_VERSION_LENGTH = 12


@dataclass(frozen=True, slots=True)
class Tables:
    """All tables, checked, with what follows from them."""

    version: str
    sources: Mapping[str, Source]
    coefficients: Mapping[tuple[str, float], Coefficient]
    printed: Mapping[Key, ConductorEntry]
    conductors: Mapping[Key, ConductorEntry]
    derivations: Mapping[str, Derivation]
    ampacities: Mapping[tuple[str, str], Limit]
    device_limits: Mapping[tuple[str, str], Limit]
    constants: Mapping[str, Constant]
    mains_ranges: Mapping[str, MainsRange]
    usual_ratings: tuple[UsualRating, ...]
    cable_constants: Mapping[str, CableConstantEntry]


def table_texts() -> dict[str, str]:
    """Return the text of every table that ships with the service, by file name."""
    # Read as bytes, because text mode would rewrite line ends and so the version.
    room = files("service.tables")
    return {name: room.joinpath(name).read_bytes().decode("utf-8") for name in TABLE_NAMES}


def load_tables(texts: Mapping[str, str]) -> Tables:
    """Check and join the tables.

    Parameters
    ----------
    texts : mapping of str to str
        Contents of each file of `TABLE_NAMES`, by file name.

    Returns
    -------
    tables : Tables
        Equal for equal texts.

    Raises
    ------
    TableError
        At the first row that breaks a rule, saying which and what to do.
    """
    sources = read_sources(texts["sources.csv"])
    coefficients = read_coefficients(texts["coefficients.csv"], sources)
    printed = read_conductors(texts["conductors.csv"], coefficients, sources)
    derivations = read_derivations(texts["derivations.csv"], sources)
    names = tuple(dict.fromkeys(name for name, _, _ in printed))
    return Tables(
        version=version_of(texts),
        sources=sources,
        coefficients=coefficients,
        printed=printed,
        conductors=complete(printed, derivations.values(), coefficients),
        derivations=derivations,
        ampacities=read_limits("ampacities.csv", texts["ampacities.csv"], names, sources),
        device_limits=read_limits("device_limits.csv", texts["device_limits.csv"], names, sources),
        constants=read_constants(texts["constants.csv"], sources),
        mains_ranges=read_mains_ranges(texts["mains_ranges.csv"], sources),
        usual_ratings=read_usual_ratings(texts["usual_ratings.csv"], sources),
        cable_constants=read_cable_constants(texts["cable_constants.csv"], names, sources),
    )


def version_of(texts: Mapping[str, str]) -> str:
    """Return the first 12 hexadecimal digits of the SHA-256 over all tables in the order of their names."""
    whole = "".join(texts[name] for name in sorted(texts)).encode("utf-8")
    return sha256(whole).hexdigest()[:_VERSION_LENGTH]


UNITS = ("1", "V", "A", "W", "VA", "VA/V", "ohm/m")


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


_RATING_COLUMNS = ("rating", "unit", "source", "note")


def read_usual_ratings(text: str, sources: Collection[str]) -> tuple[UsualRating, ...]:
    """Read ``usual_ratings.csv``.

    Parameters
    ----------
    text : str
        Contents of the file.
    sources : collection of str
        Ids that ``sources.csv`` lists.

    Returns
    -------
    ratings : tuple of UsualRating
        The smallest first. [VA]

    Raises
    ------
    TableError
        On a broken row, or a rating that is not larger than the one above it.
    """
    ratings: list[UsualRating] = []
    for row in read_rows("usual_ratings.csv", text, columns=_RATING_COLUMNS, key=("rating",)):
        row.one_of("unit", ("VA",))
        rating = UsualRating(row.number("rating"), row.source(sources))
        if ratings and rating.rating_va < ratings[-1].rating_va:
            row.refuse('"rating" is below the one above it. Write small before large.')
        ratings.append(rating)
    return tuple(ratings)


UNIT = "W.ft/V"


_CABLE_CONSTANT_COLUMNS = ("conductor", "constant", "unit", "source", "note")


def read_cable_constants(
    text: str, names: Collection[str], sources: Collection[str]
) -> dict[str, CableConstantEntry]:
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
    constants : dict of str to CableConstantEntry
        By conductor; a size that is not listed has none. [W·ft/V]

    Raises
    ------
    TableError
        On a broken row, an unknown conductor, or a constant that is not larger than the one above it.
    """
    constants: dict[str, CableConstantEntry] = {}
    above = 0.0
    for row in read_rows("cable_constants.csv", text, columns=_CABLE_CONSTANT_COLUMNS, key=("conductor",)):
        row.one_of("unit", (UNIT,))
        constant = CableConstantEntry(
            row.one_of("conductor", names), row.number("constant"), row.source(sources)
        )
        if constant.watt_feet_per_volt <= above:
            row.refuse('"constant" is not above the one in the row above. Write thin before thick.')
        above = constant.watt_feet_per_volt
        constants[constant.conductor] = constant
    return constants


KNOWN = ("seen", "memory", "trade-practice")


_SOURCE_COLUMNS = ("id", "title", "edition", "publisher", "clause", "known", "note")


def read_sources(text: str) -> dict[str, Source]:
    """Read ``sources.csv``.

    Parameters
    ----------
    text : str
        Contents of the file.

    Returns
    -------
    sources : dict of str to Source
        By id, in the order of the file.

    Raises
    ------
    TableError
        On a broken row, or a way of knowing that is not one of `KNOWN`.
    """
    rows = read_rows("sources.csv", text, columns=_SOURCE_COLUMNS, key=("id",))
    return {
        row.text("id"): Source(
            id=row.text("id"),
            title=row.text("title"),
            edition=row.optional("edition"),
            publisher=row.text("publisher"),
            clause=row.optional("clause"),
            known=row.one_of("known", KNOWN),
            note=row.text("note"),
        )
        for row in rows
    }


_LIMIT_COLUMNS = ("name", "material", "ampere", "source", "note")


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
    for row in read_rows(table, text, columns=_LIMIT_COLUMNS, key=("name", "material")):
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
