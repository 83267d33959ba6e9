"""Cables: from the wire to the studies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET

from service.messages.cable import ListedCable, ListedConductor
from service.messages.quantities import Celsius
from service.studies.job import CableSpec, Listed, Measured
from service.units import inside

if TYPE_CHECKING:
    from service.messages.cable import Cable, MeasuredCable, MeasuredConductor
    from service.messages.quantities import Temperature


def cable_spec(cable: Cable) -> CableSpec:
    """A cable as the studies know it."""
    other = cable.other_conductor
    in_parallel = cable.cables_in_parallel
    return CableSpec(
        _conductor(cable),
        None if other is UNSET else _conductor(other),
        1 if in_parallel is UNSET else int(in_parallel),
    )


def celsius(temperature: Temperature) -> float:
    """A temperature. [°C]"""
    return inside(temperature.value, "degC" if isinstance(temperature, Celsius) else "degF")


def _conductor(asked: ListedCable | MeasuredCable | ListedConductor | MeasuredConductor) -> Listed | Measured:
    material = None if asked.material is UNSET else asked.material
    if isinstance(asked, ListedCable | ListedConductor):
        return Listed(asked.conductor, material, None if asked.stranding is UNSET else asked.stranding)
    return Measured(
        inside(asked.resistance.value, asked.resistance.unit), celsius(asked.at_temperature), material
    )
