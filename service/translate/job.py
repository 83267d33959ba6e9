"""Supply, wiring, conditions and limits: from a request to a job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service.messages.fixture import Strip
from service.messages.wiring import EvenWiring, SpansWiring, TotalsWiring
from service.studies.job import Job, Subject
from service.translate.conditions import corners_of, in_phase, temperature_of
from service.translate.supply import supply_of
from service.translate.wiring import wiring_of

if TYPE_CHECKING:
    from service.messages.job import JobRequest
    from service.messages.quantities import Length
    from service.messages.wiring import Run

METRIC = frozenset({"m", "cm", "mm", "km"})


def job_of(request: JobRequest, *, margin: bool = False) -> Job:
    """The job that a request asks about; `margin` asks for the exact one as well."""
    supply = supply_of(request.supply, "/supply")
    limits = request.limits
    drop_percent = UNSET if limits is UNSET else limits.maximum_drop_percent
    nominal = request.wiring.nominal_voltage
    return Job(
        subject=Subject("", None if request.id is UNSET else request.id),
        supply=supply,
        wiring=wiring_of(request.wiring, "/wiring", direct_current=supply.direct_current),
        nominal_v=None if nominal is UNSET else float(nominal.value),
        temperature_c=temperature_of(request.conditions),
        all_in_phase=in_phase(request.conditions),
        maximum_drop_ratio=None if drop_percent is UNSET else drop_percent / 100.0,
        margin=margin,
        corners=corners_of(request.conditions, supply),
        layout_unknown=isinstance(request.wiring, TotalsWiring),
    )


def length_unit(request: JobRequest) -> str:
    """The unit of the lengths in the reply: as asked, else the family of the first length in the request."""
    if request.units is not UNSET:
        return "m" if request.units == "metric" else "ft"
    first = _first_length(request)
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
