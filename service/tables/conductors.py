"""Conductors as the standards print them, each with the coefficient of its own datum."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from itertools import product
from math import prod

from service.tables.reading import Coefficient, ConductorEntry, Derivation, Row, TableError, read_rows

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
) -> dict[Key, ConductorEntry]:
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
    conductors : dict of (name, material, stranding) to ConductorEntry
        In the order of the file, thin to thick within a column of the standard.

    Raises
    ------
    TableError
        On a broken row, a datum without coefficient, one size with two sections, or a column in which the
        section does not rise or the resistance does not fall.
    """
    key = ("name", "material", "stranding")
    rows = read_rows("conductors.csv", text, columns=_CONDUCTOR_COLUMNS, key=key)
    printed: dict[Key, ConductorEntry] = {}
    thinner: dict[tuple[str, str, str], ConductorEntry] = {}
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


def _conductor(row: Row, coefficients: Coefficients, sources: Collection[str]) -> ConductorEntry:
    name = row.text("name")
    if sizes_of(name) not in SIZES:
        row.refuse(f'"name" is "{name}". Write a number, a space, and AWG or mm2.')
    material = row.one_of("material", MATERIALS)
    unit = row.one_of("unit", _METRES_PER_UNIT)
    coefficient = coefficients.get((material, row.number("datum_c")))
    if coefficient is None:
        row.refuse(f"coefficients.csv has no row for {material} at {row.text('datum_c')} °C. Add one there.")
    return ConductorEntry(
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


def _refuse_disorder(row: Row, conductor: ConductorEntry, thinner: ConductorEntry | None) -> None:
    if thinner is None:
        return
    if conductor.area_mm2 <= thinner.area_mm2:
        row.refuse(f"the section does not rise from {thinner.name} to {conductor.name}. Check both rows.")
    if conductor.resistance_ohm_per_m >= thinner.resistance_ohm_per_m:
        row.refuse(f"the resistance does not fall from {thinner.name} to {conductor.name}. Check both rows.")


_TABLE = "derivations.csv"


_COLUMNS = (
    "id", "sizes", "material", "stranding", "from_material", "from_stranding", "ratio", "source", "sentence",
)  # fmt: skip


def read_derivations(text: str, sources: Collection[str]) -> dict[str, Derivation]:
    """Read ``derivations.csv``.

    Parameters
    ----------
    text : str
        Contents of the file.
    sources : collection of str
        Ids that ``sources.csv`` lists.

    Returns
    -------
    derivations : dict of str to Derivation
        By id; where two fit, the first in the file is taken first.

    Raises
    ------
    TableError
        On a broken row.
    """
    rows = read_rows(_TABLE, text, columns=_COLUMNS, key=("id",))
    return {
        row.text("id"): Derivation(
            id=row.text("id"),
            sizes=row.one_of("sizes", (*SIZES, "any")),
            material=row.one_of("material", (*MATERIALS, "any")),
            stranding=row.one_of("stranding", (*STRANDINGS, "any")),
            from_material=row.one_of("from_material", (*MATERIALS, "same")),
            from_stranding=row.one_of("from_stranding", (*STRANDINGS, "same")),
            ratio=row.number("ratio"),
            source=row.source(sources),
            sentence=row.text("sentence"),
        )
        for row in rows
    }


def complete(
    printed: Mapping[Key, ConductorEntry], derivations: Iterable[Derivation], coefficients: Coefficients
) -> dict[Key, ConductorEntry]:
    """Answer every combination of the printed sizes, the materials and the strandings.

    Parameters
    ----------
    printed : mapping of (name, material, stranding) to ConductorEntry
        What the standards print.
    derivations : iterable of Derivation
        In order of preference.
    coefficients : mapping of (material, datum) to Coefficient
        A derived conductor takes the coefficient of its own material at the datum of the printed row.

    Returns
    -------
    conductors : dict of (name, material, stranding) to ConductorEntry
        Every combination; the printed ones unchanged.

    Raises
    ------
    TableError
        If no chain of derivations leads from a combination to a printed row.
    """
    names = dict.fromkeys(name for name, _, _ in printed)
    steps = tuple(derivations)
    return {
        key: printed[key] if key in printed else _derive(key, printed, steps, coefficients)
        for key in product(names, MATERIALS, STRANDINGS)
    }


def _derive(
    wanted: Key,
    printed: Mapping[Key, ConductorEntry],
    derivations: tuple[Derivation, ...],
    coefficients: Coefficients,
) -> ConductorEntry:
    taken: list[Derivation] = []
    here = wanted
    while here not in printed:
        step = next((step for step in derivations if _fits(step, here)), None)
        # A derivation that is met twice leads in a circle.
        if step is None or step in taken:
            raise TableError(_TABLE, f"nothing leads from {', '.join(wanted)} to a printed row. Add a row.")
        taken.append(step)
        here = _origin(step, here)
    return _scaled(wanted, printed[here], taken, coefficients)


def _fits(step: Derivation, key: Key) -> bool:
    name, material, stranding = key
    return (
        step.sizes in {"any", sizes_of(name)}
        and step.material in {"any", material}
        and step.stranding in {"any", stranding}
    )


def _origin(step: Derivation, key: Key) -> Key:
    name, material, stranding = key
    return (
        name,
        material if step.from_material == "same" else step.from_material,
        stranding if step.from_stranding == "same" else step.from_stranding,
    )


def _scaled(
    wanted: Key, origin: ConductorEntry, taken: list[Derivation], coefficients: Coefficients
) -> ConductorEntry:
    name, material, stranding = wanted
    coefficient = coefficients.get((material, origin.datum_c))
    if coefficient is None:
        raise TableError(
            _TABLE,
            f"{name} in {material} needs a coefficient at {origin.datum_c:g} °C. Add it to coefficients.csv.",
        )
    return replace(
        origin,
        material=material,
        stranding=stranding,
        resistance_ohm_per_m=origin.resistance_ohm_per_m * prod(step.ratio for step in taken),
        coefficient_per_k=coefficient.coefficient_per_k,
        sources=tuple(dict.fromkeys((origin.source, coefficient.source, *(step.source for step in taken)))),
        derived=tuple(step.id for step in taken),
    )
