"""Conductors as the standards print them, each with the coefficient of its own datum."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from service.tables.reading import Row, read_rows
from service.tables.rows import Coefficient, ListedConductor

MATERIALS = ("copper", "copper-clad-aluminium", "aluminium")
STRANDINGS = ("solid", "stranded", "flexible")
SIZES = ("AWG", "mm2")

# The international foot is 0.3048 m exactly.
_METRES_PER_UNIT = {"ohm/kft": 304.8, "ohm/km": 1000.0}
_CONDUCTOR_COLUMNS = (
    "name", "material", "stranding", "resistance", "unit", "datum_c", "area_mm2", "source", "note",
)  # fmt: skip
_COEFFICIENT_COLUMNS = ("material", "datum_c", "coefficient_per_k", "source")

Key = tuple[str, str, str]
Coefficients = Mapping[tuple[str, float], Coefficient]


def read_coefficients(text: str, sources: Collection[str]) -> dict[tuple[str, float], Coefficient]:
    """Read ``coefficients.csv``.

    Parameters
    ----------
    text : str
        Contents of the file.
    sources : collection of str
        Ids that ``sources.csv`` lists.

    Returns
    -------
    coefficients : dict of (material, datum) to Coefficient
        Datum in °C. The datum is part of the key, because a coefficient is wrong at any other.

    Raises
    ------
    TableError
        On a broken row.
    """
    rows = read_rows("coefficients.csv", text, columns=_COEFFICIENT_COLUMNS, key=("material", "datum_c"))
    return {
        (row.one_of("material", MATERIALS), row.number("datum_c")): Coefficient(
            material=row.text("material"),
            datum_c=row.number("datum_c"),
            coefficient_per_k=row.number("coefficient_per_k"),
            source=row.source(sources),
        )
        for row in rows
    }


def read_conductors(
    text: str, coefficients: Coefficients, sources: Collection[str]
) -> dict[Key, ListedConductor]:
    """Read ``conductors.csv``.

    Parameters
    ----------
    text : str
        Contents of the file.
    coefficients : mapping of (material, datum) to Coefficient
        As `read_coefficients` returns them.
    sources : collection of str
        Ids that ``sources.csv`` lists.

    Returns
    -------
    conductors : dict of (name, material, stranding) to ListedConductor
        In the order of the file, thin to thick within a column of the standard.

    Raises
    ------
    TableError
        On a broken row, a datum without coefficient, one size with two sections, or a column in which the
        section does not rise or the resistance does not fall.
    """
    key = ("name", "material", "stranding")
    rows = read_rows("conductors.csv", text, columns=_CONDUCTOR_COLUMNS, key=key)
    printed: dict[Key, ListedConductor] = {}
    thinner: dict[tuple[str, str, str], ListedConductor] = {}
    areas: dict[str, float] = {}
    for row in rows:
        conductor = _conductor(row, coefficients, sources)
        if areas.setdefault(conductor.name, conductor.area_mm2) != conductor.area_mm2:
            row.refuse(f"{conductor.name} has another section in a row above. Write one of the two in both.")
        column = (sizes_of(conductor.name), conductor.material, conductor.stranding)
        _refuse_disorder(row, conductor, thinner.get(column))
        thinner[column] = conductor
        printed[conductor.name, conductor.material, conductor.stranding] = conductor
    return printed


def sizes_of(name: str) -> str:
    """Return the family of sizes that a name such as ``12 AWG`` belongs to: ``AWG`` or ``mm2``."""
    return name.rpartition(" ")[2]


def _conductor(row: Row, coefficients: Coefficients, sources: Collection[str]) -> ListedConductor:
    name = row.text("name")
    if sizes_of(name) not in SIZES:
        row.refuse(f'"name" is "{name}". Write a number, a space, and AWG or mm2.')
    material = row.one_of("material", MATERIALS)
    unit = row.one_of("unit", _METRES_PER_UNIT)
    coefficient = coefficients.get((material, row.number("datum_c")))
    if coefficient is None:
        row.refuse(f"coefficients.csv has no row for {material} at {row.text('datum_c')} °C. Add one there.")
    return ListedConductor(
        name=name,
        material=material,
        stranding=row.one_of("stranding", STRANDINGS),
        resistance_ohm_per_m=row.number("resistance") / _METRES_PER_UNIT[unit],
        datum_c=coefficient.datum_c,
        coefficient_per_k=coefficient.coefficient_per_k,
        area_mm2=row.number("area_mm2"),
        source=row.source(sources),
        # A dict keeps the order and drops a source that gives both figures.
        sources=tuple(dict.fromkeys((row.source(sources), coefficient.source))),
        derived=(),
    )


def _refuse_disorder(row: Row, conductor: ListedConductor, thinner: ListedConductor | None) -> None:
    if thinner is None:
        return
    if conductor.area_mm2 <= thinner.area_mm2:
        row.refuse(f"the section does not rise from {thinner.name} to {conductor.name}. Check both rows.")
    if conductor.resistance_ohm_per_m >= thinner.resistance_ohm_per_m:
        row.refuse(f"the resistance does not fall from {thinner.name} to {conductor.name}. Check both rows.")
