"""Every size in every material and stranding: what the standards print, and what follows from it."""

from collections.abc import Iterable, Mapping
from itertools import product
from math import prod
from typing import NamedTuple

from service.tables.reading import TableError
from service.tables.rows import (
    MATERIALS,
    STRANDINGS,
    Coefficient,
    Derivation,
    PrintedConductor,
)

Key = tuple[str, str, str]


Coefficients = Mapping[tuple[str, float], Coefficient]


_TABLE = "derivations.csv"


class ConductorEntry(NamedTuple):
    """ONE conductor as the tables give it.

    Attributes
    ----------
    name, material, stranding : str
        What it is listed under, such as ``12 AWG``, ``copper``, ``stranded``.
    resistance_ohm_per_m : float
        Direct-current resistance of one conductor at `datum_c`. [ohm/m]
    datum_c : float
        Conductor temperature at which the table states resistance. [°C]
    coefficient_per_k : float
        Temperature coefficient that belongs to that datum and to no other. [1/K]
    area_mm2 : float
        Section: from the diameter for AWG, nominal for metric sizes. [mm²]
    source : str
        Id of the source of the printed resistance.
    sources : tuple of str
        Ids of all sources behind the figures: resistance, coefficient, derivations. [one each]
    derived : tuple of str
        Ids of the derivations that led here from the printed row, in order; empty if the table prints it.
    """

    name: str
    material: str
    stranding: str
    resistance_ohm_per_m: float
    datum_c: float
    coefficient_per_k: float
    area_mm2: float
    source: str
    sources: tuple[str, ...]
    derived: tuple[str, ...]


def complete(
    printed: Iterable[PrintedConductor], derivations: Iterable[Derivation], coefficients: Coefficients
) -> dict[Key, ConductorEntry]:
    """Answer every combination of the printed sizes, the materials and the strandings.

    Parameters
    ----------
    printed : iterable of PrintedConductor
        What the standards print.
    derivations : iterable of Derivation
        In order of preference.
    coefficients : mapping of (material, datum) to Coefficient
        A derived conductor takes the coefficient of its own material at the datum of the printed row.

    Returns
    -------
    conductors : dict of (name, material, stranding) to ConductorEntry
        Every combination, size by size.

    Raises
    ------
    TableError
        If no chain of derivations leads from a combination to a printed row.
    """
    rows = {(row.name, row.material, row.stranding): row for row in printed}
    names = dict.fromkeys(row.name for row in rows.values())
    steps = tuple(derivations)
    return {key: _entry(key, rows, steps, coefficients) for key in product(names, MATERIALS, STRANDINGS)}


def _entry(
    wanted: Key,
    printed: Mapping[Key, PrintedConductor],
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
    return step.covers(name) and step.material in {"any", material} and step.stranding in {"any", stranding}


def _origin(step: Derivation, key: Key) -> Key:
    name, material, stranding = key
    return (
        name,
        material if step.from_material == "same" else step.from_material,
        stranding if step.from_stranding == "same" else step.from_stranding,
    )


def _scaled(
    wanted: Key, origin: PrintedConductor, taken: list[Derivation], coefficients: Coefficients
) -> ConductorEntry:
    name, material, stranding = wanted
    coefficient = coefficients.get((material, origin.datum_c))
    if coefficient is None:
        raise TableError(
            _TABLE,
            f"{name} in {material} needs a coefficient at {origin.datum_c:g} °C. Add it to coefficients.csv.",
        )
    return ConductorEntry(
        name=name,
        material=material,
        stranding=stranding,
        resistance_ohm_per_m=origin.resistance_ohm_per_m * prod(step.ratio for step in taken),
        datum_c=origin.datum_c,
        coefficient_per_k=coefficient.coefficient_per_k,
        area_mm2=origin.area_mm2,
        source=origin.source,
        # A dict keeps the order and drops a source that gives several figures.
        sources=tuple(dict.fromkeys((origin.source, coefficient.source, *(step.source for step in taken)))),
        derived=tuple(step.id for step in taken),
    )
