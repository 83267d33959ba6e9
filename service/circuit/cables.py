"""Cables at their working temperature, from the tables or from a measured resistance."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import NamedTuple, TypeVar

from service import tables
from service.circuit.job import CableSpec, JoinedCable, Listed, MeasuredResistance, Remark
from service.physics.conductor import cable_resistance, joined_resistance, resistance_at

LimitT = TypeVar("LimitT", tables.Ampacity, tables.Limit)


DATUM_20_C = 20.0
"""Datum of the coefficients used for measured conductors. [°C]"""


class Cable(NamedTuple):
    """A cable ready to be laid.

    Parameters
    ----------
    ohm_per_m : float
        Both conductors, all cables in parallel, at the working temperature. [ohm/m of route]
    poles_ohm_per_m : tuple of float
        Each conductor of one of them. [ohm/m]
    name : str
        What to call its conductor.
    ampacity_a, device_a : float or None
        Limits of the conductor, times the cables in parallel for the ampacity; None where no table lists one.
        [A]
    installation_method, ampacity_source, device_source : str
        How the cable is laid for its ampacity, and where those limits come from; empty where there is none.
    remarks : tuple of Remark
        What resolving the cable gave rise to.
    sources : tuple of str
        Ids of the sources used.
    spec : CableSpec
        What was asked for.
    """

    ohm_per_m: float
    poles_ohm_per_m: tuple[float, float]
    name: str
    ampacity_a: float | None
    installation_method: str
    ampacity_source: str
    device_a: float | None
    device_source: str
    remarks: tuple[Remark, ...]
    sources: tuple[str, ...]
    spec: CableSpec


class _Conductor(NamedTuple):
    """One conductor at its working temperature. [ohm/m]"""

    ohm_per_m: float
    name: str
    material: str
    listed: str | None
    remarks: tuple[Remark, ...]
    sources: tuple[str, ...]


@lru_cache(maxsize=1024)
def resolve_cable(spec: CableSpec, temperature_c: float) -> Cable:
    """Find a cable's resistance and limits.

    Parameters
    ----------
    spec : CableSpec
        What was asked for.
    temperature_c : float
        Working temperature of its conductors. [°C]
    """
    first = _resolve_conductor(spec.conductor, temperature_c)
    second = _resolve_conductor(spec.other, temperature_c) if spec.other else first
    ampacity = _weaker(first, second, tables.ampacity_a)
    device = _weaker(first, second, tables.device_limit_a)
    return Cable(
        ohm_per_m=cable_resistance(
            first.ohm_per_m, other_ohm_per_m=second.ohm_per_m, cables_in_parallel=spec.in_parallel
        ),
        poles_ohm_per_m=(first.ohm_per_m, second.ohm_per_m),
        name=_cable_name(first, second, spec),
        ampacity_a=None if ampacity is None else ampacity.ampere * spec.in_parallel,
        installation_method="" if ampacity is None else ampacity.installation_method,
        ampacity_source="" if ampacity is None else ampacity.source,
        device_a=None if device is None else device.ampere,
        device_source="" if device is None else device.source,
        remarks=tuple(dict.fromkeys(first.remarks + second.remarks)),
        sources=tuple(dict.fromkeys(first.sources + second.sources)),
        spec=spec,
    )


def joints_resistance(cable: Cable, length_m: float, joined: Sequence[JoinedCable]) -> float:
    """What joints in some of the cables side by side add to their resistance. [ohm]

    Parameters
    ----------
    cable : Cable
    length_m : float
        Of a cable without joints. [m]
    joined : sequence of JoinedCable
        No more than there are cables.
    """
    if not joined:
        return 0.0
    plain = cable.spec.in_parallel - len(joined)
    first, second = cable.poles_ohm_per_m
    whole = joined_resistance(
        first,
        other_ohm_per_m=second,
        lengths_m=[*(length_m + each.more_m for each in joined), *([length_m] * plain)],
        joints_ohm=[*(each.joints_ohm for each in joined), *([0.0] * plain)],
    )
    return whole - length_m * cable.ohm_per_m


def _resolve_conductor(conductor: Listed | MeasuredResistance, temperature_c: float) -> _Conductor:
    if isinstance(conductor, MeasuredResistance):
        return _measured(conductor, temperature_c)
    row = tables.conductor(conductor.name, conductor.material or "copper", conductor.stranding or "stranded")
    ohm_per_m = resistance_at(
        temperature_c,
        resistance=row.resistance_ohm_per_m,
        datum_c=row.datum_c,
        coefficient_per_k=row.coefficient_per_k,
    )
    remarks: tuple[Remark, ...] = (Remark.CONDUCTOR_DERIVED,) if row.derived else ()
    if conductor.material is None:
        remarks += (Remark.MATERIAL_UNSTATED,)
    if conductor.stranding is None:
        remarks += (Remark.STRANDING_UNSTATED,)
    return _Conductor(ohm_per_m, _conductor_name(row), row.material, row.name, remarks, row.sources)


def _measured(conductor: MeasuredResistance, temperature_c: float) -> _Conductor:
    """Bring a measured resistance to the working temperature with the coefficient that belongs to 20 °C.

    The coefficient is stated at 20 °C, the reading at its own temperature: the reading is first brought to 20
    °C.
    """
    material = conductor.material or "copper"
    coefficient = tables.coefficient(material, DATUM_20_C)
    per_datum = resistance_at(
        conductor.at_c, resistance=1.0, datum_c=DATUM_20_C, coefficient_per_k=coefficient.coefficient_per_k
    )
    ohm_per_m = resistance_at(
        temperature_c,
        resistance=conductor.ohm_per_m / per_datum,
        datum_c=DATUM_20_C,
        coefficient_per_k=coefficient.coefficient_per_k,
    )
    remarks = (Remark.MATERIAL_UNSTATED,) if conductor.material is None else ()
    return _Conductor(
        ohm_per_m, "measured conductor", material, None, remarks, (coefficient.source, "caller")
    )


def _weaker(
    first: _Conductor, second: _Conductor, limit_of: Callable[[str, str], LimitT | None]
) -> LimitT | None:
    """The lower of the limits of two conductors; none if either is not listed."""
    limits = [
        limit_of(conductor.listed, conductor.material) if conductor.listed else None
        for conductor in (first, second)
    ]
    known = [limit for limit in limits if limit is not None]
    return min(known, key=lambda limit: limit.ampere) if len(known) == len(limits) else None


def _conductor_name(row: tables.ConductorEntry) -> str:
    return row.name if row.material == "copper" else f"{row.name} {row.material}"


def _cable_name(first: _Conductor, second: _Conductor, spec: CableSpec) -> str:
    name = first.name if first == second else f"{first.name} and {second.name}"
    return name if spec.in_parallel == 1 else f"{spec.in_parallel} x {name}"
