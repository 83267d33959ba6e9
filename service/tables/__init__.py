"""Published figures and where each comes from: CSV, one fact a row, checked when the service starts."""

from collections.abc import Iterable, Mapping
from typing import TypeVar

from service.tables.conductors import ConductorEntry as ConductorEntry
from service.tables.loading import load_tables, table_texts
from service.tables.rows import LEAD_SIZES as LEAD_SIZES
from service.tables.rows import MATERIALS as MATERIALS
from service.tables.rows import STRANDINGS as STRANDINGS
from service.tables.rows import Ampacity as Ampacity
from service.tables.rows import CableConstantEntry as CableConstantEntry
from service.tables.rows import Coefficient, Currency, MainsRange, Source, UnitCode, UsualRating
from service.tables.rows import Constant as Constant
from service.tables.rows import Limit as Limit

# Loaded on import, so that a service with a broken table does not start instead of failing on a request.
_TABLES = load_tables(table_texts())


TABLES_VERSION: str = _TABLES.version


CONDUCTOR_NAMES: tuple[str, ...] = tuple(dict.fromkeys(row.name for row in _TABLES.printed))


CABLE_SIZES: tuple[str, ...] = tuple(name for name in CONDUCTOR_NAMES if name not in LEAD_SIZES)
"""What a cable is laid in where nobody says otherwise."""


_Entry = TypeVar("_Entry")


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


def conductor(name: str, material: str, stranding: str) -> ConductorEntry:
    """Return one conductor, printed or derived; every combination of the three lists has an answer.

    Parameters
    ----------
    name : str
        One of `CONDUCTOR_NAMES`.
    material : str
        One of `MATERIALS`.
    stranding : str
        One of `STRANDINGS`.

    Returns
    -------
    conductor : ConductorEntry
        Resistance of ONE conductor at its datum, with the coefficient of that datum.

    Raises
    ------
    NotListedError
        For any other word.

    Examples
    --------
    >>> listed = conductor("12 AWG", "copper", "stranded")
    >>> round(listed.resistance_ohm_per_m * 304.8, 6), listed.datum_c
    (1.98, 75.0)
    >>> conductor("6 AWG", "copper-clad-aluminium", "solid").derived
    ('copper-clad-aluminium', 'awg-solid-as-stranded')
    """
    try:
        return _TABLES.conductors[name, material, stranding]
    except KeyError:
        raise _not_listed(name, material, stranding) from None


def conductors() -> tuple[ConductorEntry, ...]:
    """Return all conductors that the standards print, in the order of the table."""
    return tuple(_TABLES.conductors[row.name, row.material, row.stranding] for row in _TABLES.printed)


def coefficient(material: str, datum_c: float) -> Coefficient:
    """Return the temperature coefficient of a material at one of the two printed datums, 20 °C and 75 °C."""
    try:
        return _TABLES.coefficients[material, datum_c]
    except KeyError:
        listed = (f"{metal} at {datum:g} °C" for metal, datum in _TABLES.coefficients)
        raise NotListedError(
            kind="coefficient", asked=f"{material} at {datum_c:g} °C", listed=listed
        ) from None


def ampacity_a(name: str, material: str) -> Ampacity | None:
    """Return the current that a conductor carries for good, in A; None where no table lists it."""
    return _TABLES.ampacities.get((name, material))


def device_limit_a(name: str, material: str) -> Limit | None:
    """Return the largest overcurrent device that may stand before a conductor, in A; None if not listed."""
    return _TABLES.device_limits.get((name, material))


def device_sizes_a() -> list[float]:
    """Overcurrent devices that some conductor may stand behind, smallest first. [A]"""
    return sorted({row.ampere for row in _TABLES.device_limits.values()})


def constant(name: str) -> Constant:
    """Return one figure by its name in ``constants.csv``."""
    return _entry(_TABLES.constants, "constant", name)


def mains_range(name: str) -> MainsRange:
    """Return the range of mains voltage under one of the names in ``mains_ranges.csv``."""
    return _entry(_TABLES.mains_ranges, "mains range", name)


def usual_ratings() -> tuple[UsualRating, ...]:
    """Return the ratings in which transformers are usually sold, the smallest first."""
    return _TABLES.usual_ratings


def cable_constant(name: str) -> CableConstantEntry | None:
    """Return the trade's constant for copper of a size on 12 V, in W·ft/V; None where there is none."""
    return _TABLES.cable_constants.get(name)


def currency(code: str) -> Currency:
    """Return one currency by its code of ISO 4217, fund or metal too."""
    return _entry(_TABLES.currencies, "currency", code)


def unit_code(unit: str) -> UnitCode:
    """Return the code of UN/ECE of one unit in which trade counts."""
    return _entry(_TABLES.unit_codes, "unit of trade", unit)


def source(identity: str) -> Source:
    """Return one source by its id."""
    return _entry(_TABLES.sources, "source", identity)


def sources() -> tuple[Source, ...]:
    """Return all sources, in the order of the table."""
    return tuple(_TABLES.sources.values())


def _not_listed(name: str, material: str, stranding: str) -> NotListedError:
    if name not in CONDUCTOR_NAMES:
        return NotListedError(kind="conductor", asked=name, listed=CONDUCTOR_NAMES)
    if material not in MATERIALS:
        return NotListedError(kind="material", asked=material, listed=MATERIALS)
    return NotListedError(kind="stranding", asked=stranding, listed=STRANDINGS)


def _entry(table: Mapping[str, _Entry], kind: str, name: str) -> _Entry:
    try:
        return table[name]
    except KeyError:
        raise NotListedError(kind=kind, asked=name, listed=table) from None
