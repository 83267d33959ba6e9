"""Reach: the question into a job, the answer into a reply."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service import tables
from service.messages.fixture import ConstantPower, Filament
from service.messages.quantities import RealPower
from service.messages.reach import (
    EvenlySpreadLayout,
    LargestLoad,
    LongestRun,
    OutOfReach,
    Reached,
    ReachPoint,
    SpacingLayout,
    Unlimited,
)
from service.messages.shown import ShownLength, ShownRealPower
from service.studies import trial
from service.studies.job import FixtureLine, Job, Subject
from service.studies.version import CALCULATION_VERSION
from service.translate.bracket import end_row
from service.translate.cable import cable_spec
from service.translate.conditions import corners_of, in_phase, temperature_of
from service.translate.envelope import extreme_volts
from service.translate.finding import CAUTION_ROWS, assumption_rows, finding_row, source_rows
from service.translate.fixture import amount, read_load, window_of
from service.translate.job import METRIC
from service.translate.naming import Naming
from service.translate.postable import postable
from service.translate.supply import supply_of
from service.units import inside

if TYPE_CHECKING:
    from service.messages.fixture import Load
    from service.messages.quantities import Length
    from service.messages.reach import Layout, Question, ReachReply, ReachRequest
    from service.messages.reply import Finding as FindingRow
    from service.studies.finding import Finding
    from service.studies.loads import ReadLoad
    from service.studies.reach import ReachAnswer, Tried

ONE_WATT = RealPower(1.0, "W")


def job_of(request: ReachRequest) -> trial.ReachJob:
    """The question that a request asks."""
    supply = supply_of(request.supply, "/supply")
    limits, nominal = request.limits, request.nominal_voltage
    drop_percent = UNSET if limits is UNSET else limits.maximum_drop_percent
    job = Job(
        subject=Subject("", None if request.id is UNSET else request.id),
        supply=supply,
        wiring=(),
        nominal_v=None if nominal is UNSET else float(nominal.value),
        temperature_c=temperature_of(request.conditions),
        all_in_phase=in_phase(request.conditions),
        maximum_drop_ratio=None if drop_percent is UNSET else drop_percent / 100.0,
        margin=False,
        corners=corners_of(request.conditions, supply),
    )
    line = _line(request, direct_current=supply.direct_current)
    return trial.ReachJob(job, line, cable_spec(request.cable), _question(request))


def reply_of(request: ReachRequest, answer: ReachAnswer, sha256: str) -> ReachReply:
    """The reply to a request; `sha256` is of the request as it came."""
    unit = length_unit(request)
    shown = answer.kept or answer.beyond
    assert shown is not None  # noqa: S101  the study has tried at least one run
    ending = (
        assumption_rows(shown.answer.assumptions),
        source_rows(shown.answer.sources),
        CAUTION_ROWS,
        CALCULATION_VERSION,
        tables.TABLES_VERSION,
        sha256,
        request.id,
    )
    beyond = None if answer.beyond is None else _point(answer.beyond, unit)
    binding = [] if answer.beyond is None else _findings(answer.binding, answer.beyond, unit)
    if answer.kept is None:
        return OutOfReach(_point(shown, unit), binding, *ending)
    kept = _point(answer.kept, unit)
    wiring = postable(request, _load(request.question, answer.kept.trial), answer.kept.trial, unit)
    findings = _findings(answer.kept.answer.findings, answer.kept, unit)
    if beyond is None:
        return Unlimited(kept, wiring, findings, *ending)
    return Reached(kept, beyond, binding, wiring, findings, *ending)


def length_unit(request: ReachRequest) -> str:
    """The unit of the lengths in the reply: as asked, else the family of the first length in the request."""
    if request.units is not UNSET:
        return "m" if request.units == "metric" else "ft"
    first = _first_length(request)
    return "m" if first is None or first.unit in METRIC else "ft"


def _first_length(request: ReachRequest) -> Length | None:
    """The first length in document order: the supply's, then the question's."""
    asked = request.question
    if not isinstance(request.supply.maximum_cable_length, UnsetType):
        return request.supply.maximum_cable_length
    if isinstance(asked, LongestRun):
        return asked.layout.spacing if isinstance(asked.layout, SpacingLayout) else None
    return asked.length if isinstance(asked, LargestLoad) else asked.spacing


def _line(request: ReachRequest, *, direct_current: bool) -> FixtureLine:
    """The fixture line of which every run that is tried has some share."""
    asked, limits = request.question, request.limits
    read: ReadLoad = read_load(_unit_load(asked), direct_current=direct_current)
    window = UNSET if limits is UNSET else limits.window
    gapless = isinstance(asked, LongestRun | LargestLoad) and isinstance(asked.layout, EvenlySpreadLayout)
    return FixtureLine(
        subject=Subject(trial.QUESTION if isinstance(asked, LargestLoad) else f"{trial.QUESTION}/load"),
        name=None if _is_counted(asked) else "load",
        at_m=0.0,
        pieces=1,
        spacing_m=None,
        load=read.load,
        filament=isinstance(_unit_load(asked), Filament),
        window=None if isinstance(window, UnsetType) else window_of(window),
        lead=None,
        splice_ohm=0.0,
        input="either",
        remarks=(*read.remarks, "spread-as-lumps") if gapless else read.remarks,
    )


def _unit_load(asked: Question) -> Load:
    """The load that the question names, or one watt where it asks for watts."""
    return ConstantPower(ONE_WATT, asked.power_factor) if isinstance(asked, LargestLoad) else asked.load


def _load(asked: Question, found: trial.Trial) -> Load:
    """The load of which every fixture of a run has some share."""
    if isinstance(asked, LargestLoad):
        return ConstantPower(RealPower(found.power_w or 0.0, "W"), asked.power_factor)
    return asked.load


def _is_counted(asked: Question) -> bool:
    """Whether the fixtures stand one by one."""
    return not isinstance(asked, LongestRun | LargestLoad) or isinstance(asked.layout, SpacingLayout)


def _question(request: ReachRequest) -> trial.LongestRun | trial.LargestLoad | trial.MostFixtures:
    asked = request.question
    if isinstance(asked, LongestRun):
        return trial.LongestRun(_layout(asked.layout), inside(1.0, length_unit(request)))
    if isinstance(asked, LargestLoad):
        return trial.LargestLoad(_layout(asked.layout), amount(asked.length))
    return trial.MostFixtures(_spaced(asked.spacing, asked.first_at))


def _layout(layout: Layout) -> trial.Layout:
    if isinstance(layout, SpacingLayout):
        return _spaced(layout.spacing, layout.first_at)
    return trial.EVENLY_SPREAD if isinstance(layout, EvenlySpreadLayout) else trial.LUMPED


def _spaced(spacing: Length, first_at: Length | UnsetType) -> trial.Spaced:
    return trial.Spaced(amount(spacing), amount(spacing if isinstance(first_at, UnsetType) else first_at))


def _point(tried: Tried, unit: str) -> ReachPoint:
    found, naming = tried.trial, Naming(tried.answer.layout, unit)
    return ReachPoint(
        ShownLength(naming.length(found.length_m), unit),  # type: ignore[arg-type]
        end_row(tried.end),
        UNSET if found.power_w is None else ShownRealPower(round(found.power_w, 4), "W"),
        UNSET if found.pieces is None else found.pieces,
        UNSET if tried.lowest is None else extreme_volts(tried.lowest),
    )


def _findings(found: list[Finding], tried: Tried, unit: str) -> list[FindingRow]:
    naming = Naming(tried.answer.layout, unit)
    return [finding_row(finding, naming) for finding in found]
