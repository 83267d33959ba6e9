"""Published figures and where each comes from: CSV, one fact a row, checked when the service starts."""

from service.tables.conductors import MATERIALS, STRANDINGS
from service.tables.errors import NotListedError, TableError
from service.tables.lookup import (
    CONDUCTOR_NAMES,
    TABLES_VERSION,
    ampacity_a,
    coefficient,
    conductor,
    conductors,
    constant,
    derivation,
    device_limit_a,
    mains_range,
    mains_range_names,
    source,
    sources,
)
from service.tables.rows import Coefficient, Constant, Derivation, Limit, ListedConductor, MainsRange, Source

__all__ = [
    "CONDUCTOR_NAMES",
    "MATERIALS",
    "STRANDINGS",
    "TABLES_VERSION",
    "Coefficient",
    "Constant",
    "Derivation",
    "Limit",
    "ListedConductor",
    "MainsRange",
    "NotListedError",
    "Source",
    "TableError",
    "ampacity_a",
    "coefficient",
    "conductor",
    "conductors",
    "constant",
    "derivation",
    "device_limit_a",
    "mains_range",
    "mains_range_names",
    "source",
    "sources",
]
