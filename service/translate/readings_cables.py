"""Which other cable has such a resistance, by the tables: another size, another metal, another length."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from service import tables
from service.studies.cables import resolve_cable
from service.studies.job import Listed
from service.studies.readings.verdict import COVERAGE
from service.translate.readings_numbers import number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from service.studies.cables import Cable

LEAST_WITHIN, USUAL_WITHIN = 0.05, 0.12
"""A cable is named whose resistance is so near to what was found: at least, and where the size found has no
uncertainty of its own. [-]"""

CLAD = "copper-clad-aluminium"


def like_cables(cable: Cable | None, ratio: float, uncertainty: float | None, temperature_c: float) -> str:
    """What a cable with `ratio` times its resistance may be in truth, in words.

    Parameters
    ----------
    cable : Cable or None
        What is said to be laid.
    ratio : float
        Resistance found over resistance thought. [-]
    uncertainty : float or None
        One standard uncertainty of the ratio, where it is known. [-]
    temperature_c : float
        Of the conductors. [°C]
    """
    within = USUAL_WITHIN * ratio
    if uncertainty is not None and isfinite(uncertainty):
        within = max(COVERAGE * uncertainty, LEAST_WITHIN * ratio)
    names = [] if cable is None else [*_size(cable, ratio, within, temperature_c)]
    names += [] if cable is None else [*_clad(cable, ratio, within, temperature_c)]
    length = f"{number(abs(ratio - 1.0) * 100.0)} % {'more' if ratio > 1.0 else 'less'} length"
    return ", or ".join(f"like {name}" for name in [*names, length])


def _size(cable: Cable, ratio: float, within: float, temperature_c: float) -> Iterator[str]:
    """The size of the same table, metal and stranding that comes nearest, if it comes near."""
    said = cable.spec.conductor
    if not isinstance(said, Listed) or cable.spec.other is not None:
        return
    material, stranding = said.material or "copper", said.stranding or "stranded"
    found = []
    for row in tables.conductors():
        alike = (row.material, row.stranding, row.name.split()[1:])
        if row.name != said.name and alike == (material, stranding, said.name.split()[1:]):
            off = abs(_ratio(cable, said._replace(name=row.name), temperature_c) - ratio)
            found.append((off, row.name))
    off, name = min(found, default=(within, ""))
    if off < within:
        yield name


def _clad(cable: Cable, ratio: float, within: float, temperature_c: float) -> Iterator[str]:
    """The same size in copper-clad aluminium, where copper is said."""
    said = cable.spec.conductor
    if not isinstance(said, Listed) or cable.spec.other is not None or said.material not in {None, "copper"}:
        return
    try:
        own = _ratio(cable, said._replace(material=CLAD), temperature_c)
    except tables.NotListedError:
        return
    if abs(own - ratio) < within:
        yield f"{said.name} copper-clad aluminium"


def _ratio(cable: Cable, other: Listed, temperature_c: float) -> float:
    """Resistance of the cable with another conductor over its own. [-]"""
    return resolve_cable(cable.spec._replace(conductor=other), temperature_c).ohm_per_m / cable.ohm_per_m
