"""Supply, wiring, conditions and limits: from a request to a job."""

from __future__ import annotations

from typing import Final

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from service import tables
from service.circuit.corners import TOGETHER, USUAL_MAINS, USUAL_TEMPERATURES_C
from service.circuit.job import Corners, Job, JobPart, Supply, usual_rated_v
from service.translate.supply import supply_of
from service.translate.wiring import amount, celsius, wiring_of
from service.wire import supply as wire
from service.wire.conditions import Conditions, Mains, NamedMains, TemperatureRange
from service.wire.fixture import Strip
from service.wire.job import JobRequest, UnitSystem
from service.wire.optional import given
from service.wire.quantities import Celsius, Length
from service.wire.wiring import EvenWiring, Run, SpansWiring, TotalsWiring

METRIC = frozenset({"m", "cm", "mm", "km"})


def described_job(request: JobRequest, *, margin: bool = False, usual: bool = False) -> Job:
    """The job that a request asks about.

    Parameters
    ----------
    request : JobRequest
    margin : bool
        Whether the exact margin is asked for as well.
    usual : bool
        Whether a usual range is judged where the request leaves it open, as in a choice.
    """
    supply = supply_of(request.supply, "/supply")
    judged = judged_conditions(request.conditions, request.supply, usual=usual)
    limits = request.limits
    drop_percent = UNSET if limits is UNSET else limits.maximum_drop_percent
    nominal = request.wiring.nominal_voltage
    return Job(
        subject=JobPart("", None if request.id is UNSET else request.id),
        supply=supply,
        wiring=wiring_of(request.wiring, "/wiring", direct_current=supply.direct_current),
        nominal_v=None if nominal is UNSET else float(nominal.value),
        temperature_c=temperature_of(request.conditions),
        all_in_phase=in_phase(request.conditions),
        maximum_drop_ratio=None if drop_percent is UNSET else drop_percent / 100.0,
        margin=margin,
        corners=corners_of(judged, supply),
        layout_unknown=isinstance(request.wiring, TotalsWiring),
        wet_contact=wet_contact_of(request.conditions),
        usual_range=judged is not request.conditions,
        stated_corners=corners_of(request.conditions, supply),
    )


USUAL_RANGES: Final = (NamedMains(USUAL_MAINS), TemperatureRange(*map(Celsius, USUAL_TEMPERATURES_C)))
"""The mains and the conductor temperatures that a choice is judged over where nothing else is stated."""


def judged_conditions(
    conditions: Conditions | UnsetType, supply: wire.Supply, *, usual: bool
) -> Conditions | UnsetType:
    """The conditions that are judged, complete: those of the request, its open ranges filled by usual ones.

    Whoever posts them to another study is judged over the same range there. A DC supply does not follow the
    mains, and a battery has its own range.
    """
    stated = Conditions() if isinstance(conditions, UnsetType) else conditions
    if stated.range == "as-stated" or (stated.range is UNSET and not usual):
        return conditions
    judged, (mains, temperatures) = stated, USUAL_RANGES
    if stated.mains is UNSET and isinstance(supply, wire.Transformer):
        judged = replace(judged, mains=mains)
    if stated.conductor_temperature_range is UNSET:
        judged = replace(judged, conductor_temperature_range=temperatures)
    return conditions if judged is stated else judged


def length_unit(request: JobRequest) -> str:
    """The unit of the lengths in the reply: as stated, else the family of the first length in the request."""
    return unit_of_lengths(request.units, _first_length(request))


def unit_of_lengths(stated: UnitSystem | UnsetType, first: Length | None) -> str:
    """The unit of the lengths in a reply, from what is stated and the first length of the request."""
    if not isinstance(stated, UnsetType):
        return "m" if stated == "metric" else "ft"
    return "m" if first is None or first.unit in METRIC else "ft"


def _first_length(request: JobRequest) -> Length | None:
    """The first length in document order: the supply's, then the wiring's."""
    supply, wiring = request.supply, request.wiring
    if not isinstance(supply.maximum_cable_length, UnsetType):
        return supply.maximum_cable_length
    if isinstance(wiring, EvenWiring):
        return wiring.load.length if isinstance(wiring.load, Strip) else wiring.length
    if isinstance(wiring, TotalsWiring):
        return wiring.length
    if isinstance(wiring, SpansWiring):
        return wiring.spans[0].length
    return next((first for run in wiring.runs if (first := _first_of_run(run)) is not None), None)


def _first_of_run(run: Run) -> Length | None:
    """The first length of a run in document order: fixtures, changes, tail, return leg, branches."""
    if run.fixtures:
        return run.fixtures[0].at
    if not isinstance(run.cable_changes, UnsetType) and run.cable_changes:
        return run.cable_changes[0].at
    if not isinstance(run.tail, UnsetType):
        return run.tail
    if not isinstance(run.return_leg, UnsetType):
        return run.return_leg.length
    return None if isinstance(run.branches, UnsetType) or not run.branches else run.branches[0].at


def temperature_of(conditions: Conditions | UnsetType) -> float | None:
    """Conductor temperature of the state that is answered; None where it was left open. [°C]"""
    if isinstance(conditions, UnsetType) or conditions.conductor_temperature is UNSET:
        return None
    return celsius(conditions.conductor_temperature)


def wet_contact_of(conditions: Conditions | UnsetType) -> bool | None:
    """Whether wet contact is likely; None where that was left open."""
    return None if isinstance(conditions, UnsetType) else given(conditions.wet_contact)


def in_phase(conditions: Conditions | UnsetType) -> bool:
    """Whether every volt-ampere counts as if it were a watt."""
    return not isinstance(conditions, UnsetType) and conditions.non_active_current == "in-phase"


def corners_of(conditions: Conditions | UnsetType, supply: Supply) -> Corners | None:
    """The corners that a request asks for, and a battery's own range; None where there is one state only.

    What gives direct current does not follow the mains.
    """
    battery = supply.range_v is not None
    if isinstance(conditions, UnsetType):
        return Corners(None, None, TOGETHER, battery=True) if battery else None
    mains, warmth = conditions.mains, conditions.conductor_temperature_range
    if mains is UNSET and warmth is UNSET and conditions.switching is UNSET and not battery:
        return None
    temperatures_c = None
    if not isinstance(warmth, UnsetType):
        both = celsius(warmth.lowest), celsius(warmth.highest)
        temperatures_c = min(both), max(both)
    return Corners(
        mains_ratios=None
        if isinstance(mains, UnsetType) or supply.direct_current
        else _ratios(mains, supply),
        temperatures_c=temperatures_c,
        switching=TOGETHER if conditions.switching is UNSET else conditions.switching,
        battery=battery,
    )


def _ratios(mains: Mains, supply: Supply) -> tuple[float, float]:
    """Lowest and highest mains over the rated mains. [-]"""
    if isinstance(mains, NamedMains):
        named = tables.mains_range(mains.range)
        return named.lowest_ratio, named.highest_ratio
    both = amount(mains.lowest), amount(mains.highest)
    rated_v = supply.mains.rated_v if supply.mains else usual_rated_v(max(both))
    return min(both) / rated_v, max(both) / rated_v
