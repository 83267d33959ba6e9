"""Reads all tables together, in the order in which they lean on one another."""

from collections.abc import Mapping
from functools import partial
from hashlib import sha256
from importlib.resources import files
from typing import NamedTuple

from service.tables import rows
from service.tables.conductors import ConductorEntry, Key, complete
from service.tables.reading import OneOf, read

TABLE_NAMES = (
    "ampacities.csv",
    "cable_constants.csv",
    "coefficients.csv",
    "conductors.csv",
    "constants.csv",
    "currencies.csv",
    "derivations.csv",
    "device_limits.csv",
    "mains_ranges.csv",
    "sources.csv",
    "unit_codes.csv",
    "usual_ratings.csv",
)


_VERSION_LENGTH = 12


class Tables(NamedTuple):
    """All tables, checked, each by its key, with what follows from them."""

    version: str
    sources: Mapping[str, rows.Source]
    coefficients: Mapping[tuple[str, float], rows.Coefficient]
    printed: tuple[rows.PrintedConductor, ...]
    conductors: Mapping[Key, ConductorEntry]
    derivations: Mapping[str, rows.Derivation]
    ampacities: Mapping[tuple[str, str], rows.Ampacity]
    device_limits: Mapping[tuple[str, str], rows.Limit]
    constants: Mapping[str, rows.Constant]
    mains_ranges: Mapping[str, rows.MainsRange]
    usual_ratings: tuple[rows.UsualRating, ...]
    cable_constants: Mapping[str, rows.CableConstantEntry]
    currencies: Mapping[str, rows.Currency]
    unit_codes: Mapping[str, rows.UnitCode]


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
    sources = read("sources.csv", texts, rows.Source, OneOf())
    listed = OneOf(sources=[row.id for row in sources])
    by_datum = {
        (row.material, row.datum_c): row for row in read("coefficients.csv", texts, rows.Coefficient, listed)
    }
    in_order = partial(rows.conductor_mistake, by_datum)
    printed = read("conductors.csv", texts, rows.PrintedConductor, listed, in_order)
    names = list(dict.fromkeys(row.name for row in printed))
    listed = OneOf(listed.sources, names)
    derivations = read("derivations.csv", texts, rows.Derivation, listed)
    rising = partial(rows.limit_mistake, names)
    ampacities = read("ampacities.csv", texts, rows.Ampacity, listed, rising)
    device_limits = read("device_limits.csv", texts, rows.Limit, listed, rising)
    constants = read("constants.csv", texts, rows.Constant, listed)
    mains_ranges = read("mains_ranges.csv", texts, rows.MainsRange, listed, rows.range_mistake)
    cable_constants = read("cable_constants.csv", texts, rows.CableConstantEntry, listed, rows.cable_mistake)
    return Tables(
        version=version_of(texts),
        sources={row.id: row for row in sources},
        coefficients=by_datum,
        printed=printed,
        conductors=complete(printed, derivations, by_datum),
        derivations={row.id: row for row in derivations},
        ampacities={(row.name, row.material): row for row in ampacities},
        device_limits={(row.name, row.material): row for row in device_limits},
        constants={row.name: row for row in constants},
        mains_ranges={row.name: row for row in mains_ranges},
        usual_ratings=read("usual_ratings.csv", texts, rows.UsualRating, listed, rows.rating_mistake),
        cable_constants={row.conductor: row for row in cable_constants},
        currencies={row.code: row for row in read("currencies.csv", texts, rows.Currency, listed)},
        unit_codes={row.unit: row for row in read("unit_codes.csv", texts, rows.UnitCode, listed)},
    )


def version_of(texts: Mapping[str, str]) -> str:
    """Return the first 12 hexadecimal digits of the SHA-256 over all tables in the order of their names."""
    whole = "".join(texts[name] for name in sorted(texts)).encode("utf-8")
    return sha256(whole).hexdigest()[:_VERSION_LENGTH]
