"""Reads all tables together, in the order in which they lean on one another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files

from service.tables.cable_constants import read_cable_constants
from service.tables.conductors import Key, read_coefficients, read_conductors
from service.tables.constants import read_constants, read_mains_ranges
from service.tables.derivations import complete, read_derivations
from service.tables.limits import read_limits
from service.tables.rows import (
    CableConstant,
    Coefficient,
    Constant,
    Derivation,
    Limit,
    ListedConductor,
    MainsRange,
    Source,
    UsualRating,
)
from service.tables.sources import read_sources
from service.tables.usual_ratings import read_usual_ratings

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
    printed: Mapping[Key, ListedConductor]
    conductors: Mapping[Key, ListedConductor]
    derivations: Mapping[str, Derivation]
    ampacities: Mapping[tuple[str, str], Limit]
    device_limits: Mapping[tuple[str, str], Limit]
    constants: Mapping[str, Constant]
    mains_ranges: Mapping[str, MainsRange]
    usual_ratings: tuple[UsualRating, ...]
    cable_constants: Mapping[str, CableConstant]


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
