"""Conductors that no standard prints, from those that one does print and a stated ratio."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from itertools import product
from math import prod

from service.tables.conductors import MATERIALS, SIZES, STRANDINGS, Coefficients, Key, sizes_of
from service.tables.errors import TableError
from service.tables.reading import read_rows
from service.tables.rows import Derivation, ListedConductor

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
    printed: Mapping[Key, ListedConductor], derivations: Iterable[Derivation], coefficients: Coefficients
) -> dict[Key, ListedConductor]:
    """Answer every combination of the printed sizes, the materials and the strandings.

    Parameters
    ----------
    printed : mapping of (name, material, stranding) to ListedConductor
        What the standards print.
    derivations : iterable of Derivation
        In order of preference.
    coefficients : mapping of (material, datum) to Coefficient
        A derived conductor takes the coefficient of its own material at the datum of the printed row.

    Returns
    -------
    conductors : dict of (name, material, stranding) to ListedConductor
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
    printed: Mapping[Key, ListedConductor],
    derivations: tuple[Derivation, ...],
    coefficients: Coefficients,
) -> ListedConductor:
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
    wanted: Key, origin: ListedConductor, taken: list[Derivation], coefficients: Coefficients
) -> ListedConductor:
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
