"""Reach: the question into a job, the answer into a reply."""

from __future__ import annotations

from typing import TypeVar

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from service.circuit.job import UNNAMED, FixtureSpec, Job, JobPart, Remark
from service.circuit.loads import ReadLoad
from service.findings.finding import FindingFacts, corner_text
from service.findings.rows import closing
from service.findings.summary import FAILS, finding_rows, grouped, shown_of, summary_row, verdict_of
from service.studies.reach.reply import OutOfReach, Reached, ReachPoint, ReachReply, Searched, Unlimited
from service.studies.reach.request import (
    EvenlySpreadLayout,
    LargestLoad,
    Layout,
    LongestRun,
    MostFixtures,
    Question,
    ReachRequest,
    SpacingLayout,
)
from service.studies.reach.study import ReachAnswer, Tried
from service.studies.reach.trial import (
    EVENLY_SPREAD,
    LAST_RUNG,
    LUMPED,
    MOST_FIXTURES,
    QUESTION,
    CountSearch,
    LengthSearch,
    LoadLayout,
    LoadSearch,
    ReachJob,
    Spaced,
    Trial,
    rung,
)
from service.translate.job import (
    corners_of,
    in_phase,
    judged_conditions,
    temperature_of,
    unit_of_lengths,
    wet_contact_of,
)
from service.translate.naming import PlaceNames
from service.translate.rows import end_row, extreme_volts
from service.translate.supply import supply_of
from service.translate.wiring import amount, cable_spec, read_load, window_of
from service.units import from_inside, inside
from service.wire.cable import ListedCable
from service.wire.conditions import Conditions
from service.wire.fixture import (
    ConstantCurrent,
    ConstantPower,
    ConstantResistance,
    Filament,
    FixtureLine,
    Load,
    Zip,
)
from service.wire.quantities import ApparentPower, Current, Length, RealPower, ShownLength, ShownRealPower
from service.wire.reply import Finding as FindingRow
from service.wire.reply import Parameter
from service.wire.summary import LoadSummary
from service.wire.wiring import Run, RunsWiring

ONE_WATT = RealPower(1.0, "W")


def job_of(request: ReachRequest) -> ReachJob:
    """The question that a request asks."""
    supply = supply_of(request.supply, "/supply")
    limits, nominal = request.limits, request.nominal_voltage
    judged = judged_conditions(request.conditions, request.supply, usual=True)
    drop_percent = UNSET if limits is UNSET else limits.maximum_drop_percent
    job = Job(
        subject=JobPart("", None if request.id is UNSET else request.id),
        supply=supply,
        wiring=(),
        nominal_v=None if nominal is UNSET else float(nominal.value),
        temperature_c=temperature_of(request.conditions),
        all_in_phase=in_phase(request.conditions),
        maximum_drop_ratio=None if drop_percent is UNSET else drop_percent / 100.0,
        margin=False,
        corners=corners_of(judged, supply),
        wet_contact=wet_contact_of(request.conditions),
        usual_range=judged is not request.conditions,
        stated_corners=corners_of(request.conditions, supply),
    )
    line = _line(request, direct_current=supply.direct_current)
    accepted = frozenset(() if isinstance(request.accept, UnsetType) else request.accept)
    return ReachJob(job, line, cable_spec(request.cable), _question(request), accepted)


def reply_of(request: ReachRequest, answer: ReachAnswer, sha256: str) -> ReachReply:
    """The reply to a request; `sha256` is of the request as it came."""
    unit = length_unit(request)
    shown = answer.kept or answer.beyond
    assert shown is not None  # noqa: S101  # the study has tried at least one run
    solved = shown.answer
    ending = closing(solved.assumptions, _sources(answer, shown), sha256=sha256, caller_id=request.id)
    judged = _judged(request, as_stated=answer.as_stated)
    beyond = None if answer.beyond is None else _point(answer.beyond, unit)
    binding = [] if answer.beyond is None else _findings(answer.binding, answer.beyond, unit)
    searched = Searched(answer.every, answer.tried)
    if answer.kept is None:
        out = _out_rows(request, binding, shown, unit)
        text, naming = _out_text(request, answer, out, unit), PlaceNames(solved.layout, unit)
        summary = summary_row(FAILS, answer.binding, naming, text=text)
        return OutOfReach(summary, _point(shown, unit), out, judged, searched, **ending)
    kept = _point(answer.kept, unit)
    wiring = postable(request, _load(request.question, answer.kept.trial), answer.kept.trial, unit)
    findings = _findings([*answer.kept.remarks, *answer.kept.answer.findings], answer.kept, unit)
    first = UNSET if answer.first is None else _point(answer.first, unit)
    below = UNSET if answer.below is None else _point(answer.below, unit)
    under = UNSET if answer.below is None else _findings(list(answer.binding_below), answer.below, unit)
    summary, small = _short(request, answer, answer.kept, unit), (first, below, under)
    if beyond is None:
        return Unlimited(summary, kept, wiring, findings, judged, searched, *small, **ending)
    return Reached(summary, kept, beyond, binding, wiring, findings, judged, searched, *small, **ending)


def _short(request: ReachRequest, answer: ReachAnswer, shown: Tried, unit: str) -> LoadSummary:
    """What was found, and what rules out the next."""
    naming, drop = PlaceNames(shown.answer.layout, unit), shown.answer
    accepted = frozenset(() if isinstance(request.accept, UnsetType) else request.accept)
    found = [*shown.remarks, *drop.findings]
    least = "" if answer.first is None else f"From {_value(request, answer.first, unit)} u"
    known = "" if answer.every else f", of {answer.tried} {_several(request.question)} that were tried"
    text = f"{least or 'U'}p to {_value(request, shown, unit)}{known}."
    if answer.beyond is not None and answer.binding:
        beyond = grouped(answer.binding, PlaceNames(answer.beyond.answer.layout, unit))[0].message
        text = f"{text} Beyond that: {beyond}"
    if answer.below is not None and answer.binding_below:
        under = grouped(answer.binding_below, PlaceNames(answer.below.answer.layout, unit))[0].message
        text = f"{text} Below it: {under}"
    if shown.remarks:
        text = f"{text} {grouped(shown.remarks, naming)[0].message}"
    return summary_row(
        verdict_of(found, accepted),
        found,
        naming,
        shown_of(drop.reading, drop.envelope),
        text=text,
    )


AS_STATED_WORDS = "as stated"


def _out_rows(request: ReachRequest, binding: list[FindingRow], tried: Tried, unit: str) -> list[FindingRow]:
    """What rules a run out, each beginning with the run that it speaks of."""
    value = _run_words(request, tried, unit)
    joined = "At" if isinstance(request.question, LongestRun) else "With"
    return [_out_row(row, value, joined) for row in binding]


def _out_row(row: FindingRow, value: str, joined: str) -> FindingRow:
    """A finding that says of which run it is, and that it is as stated where it names no corner."""
    named = any(each.name == "corner" for each in row.parameters)
    more = [Parameter("tried", value), *([] if named else [Parameter("corner", AS_STATED_WORDS)])]
    lead = f"{joined} {value}" if named else f"{joined} {value}, {AS_STATED_WORDS}"
    return replace(row, message=f"{lead}: {row.message}", parameters=[*row.parameters, *more])


def _out_text(request: ReachRequest, answer: ReachAnswer, binding: list[FindingRow], unit: str) -> str:
    """That nothing was found, among what, and what rules out what comes nearest."""
    among, several = _range_words(request, unit), _several(request.question)
    kind = _single(request.question)
    tried = f"No {kind}" if answer.every else f"None of the {answer.tried} {several} that were tried"
    stands_in_the_way = _too_high(answer) or "".join(row.message for row in binding[:1])
    return f"Does not pass. {tried} {among} keeps every limit. {stands_in_the_way}".rstrip()


def _too_high(answer: ReachAnswer) -> str:
    """What a supply gives that is too high for the lamps even without load, beside what they may get."""
    found, unloaded = (answer.binding[0] if answer.binding else None), answer.unloaded
    if unloaded is None or found is None or found.limit is None:
        return ""
    stated, highest = f"{unloaded.stated_v:.2f} V", unloaded.highest
    given = f"{stated} without load"
    if highest is not None and f"{highest.value:.2f} V" != stated:
        corner = corner_text(highest.corner._replace(temperature_c=None))
        given = f"up to {highest.value:.2f} V without load ({corner}), {stated} as stated"
    remedy = dict(found.parameters)["remedy"]
    return f"The supply gives {given}; the limit is {found.limit.value:.4g} V. {remedy}."


def _single(question: Question) -> str:
    """What is asked for."""
    if isinstance(question, MostFixtures):
        return "number of fixtures"
    return "load" if isinstance(question, LargestLoad) else "length"


def _several(question: Question) -> str:
    """What is asked for, of many runs."""
    if isinstance(question, MostFixtures):
        return "numbers of fixtures"
    return "loads" if isinstance(question, LargestLoad) else "lengths"


def _range_words(request: ReachRequest, unit: str) -> str:
    """From where to where values are tried."""
    if isinstance(request.question, MostFixtures):
        return f"from 1 to {MOST_FIXTURES}"
    if _is_counted(request.question) and isinstance(request.question, LongestRun):
        return f"of 1 to {MOST_FIXTURES} fixtures"
    least, most = rung(0), rung(LAST_RUNG)
    shown = "W" if isinstance(request.question, LargestLoad) else unit
    return f"from {least:g} to {most:g} {shown}"


def _run_words(request: ReachRequest, tried: Tried, unit: str) -> str:
    """Which run was tried; of a length also its fixtures, where they stand one by one."""
    value, pieces = _value(request, tried, unit), tried.trial.pieces
    if pieces is None or not isinstance(request.question, LongestRun):
        return value
    return f"{value} with {_counted(pieces)}"


def _counted(count: int) -> str:
    return f"{count} fixtures" if count > 1 else "one fixture"


def _value(request: ReachRequest, tried: Tried, unit: str) -> str:
    """What was asked for, of one run that was tried."""
    point = _point(tried, unit)
    if isinstance(request.question, MostFixtures) and not isinstance(point.count, UnsetType):
        return _counted(point.count)
    if isinstance(request.question, LargestLoad) and not isinstance(point.power, UnsetType):
        return f"{point.power.value:g} W"
    return f"{point.length.value:g} {unit}"


def _sources(answer: ReachAnswer, shown: Tried) -> list[str]:
    """Ids of the sources of the run that is shown, and of every limit that is named beside it."""
    named = [found.source for found in (*shown.remarks, *answer.binding, *answer.binding_below)]
    return [*shown.answer.sources, *named]


def _judged(request: ReachRequest, *, as_stated: bool) -> Conditions:
    """The conditions over which every limit is kept, complete."""
    stated = Conditions() if isinstance(request.conditions, UnsetType) else request.conditions
    if as_stated:
        return replace(stated, range="as-stated")
    judged = judged_conditions(stated, request.supply, usual=True)
    return stated if isinstance(judged, UnsetType) else judged


def length_unit(request: ReachRequest) -> str:
    """The unit of the lengths in the reply: as asked, else the family of the first length in the request.

    Where no length is in it the cable tells: sizes in AWG and ohms per foot go with feet.
    """
    first = _first_length(request)
    if first is None and isinstance(request.units, UnsetType):
        cable = request.cable
        said = cable.conductor if isinstance(cable, ListedCable) else cable.resistance.unit
        return "ft" if said.endswith(IN_FEET) else "m"
    return unit_of_lengths(request.units, first)


IN_FEET = ("AWG", "ohm/ft", "ohm/kft")
"""How a size or a resistance of a cable ends whose lengths are told in feet."""


def _first_length(request: ReachRequest) -> Length | None:
    """The first length in document order: the supply's, then the question's."""
    question = request.question
    if not isinstance(request.supply.maximum_cable_length, UnsetType):
        return request.supply.maximum_cable_length
    if isinstance(question, LongestRun):
        return question.layout.spacing if isinstance(question.layout, SpacingLayout) else None
    return question.length if isinstance(question, LargestLoad) else question.spacing


def _line(request: ReachRequest, *, direct_current: bool) -> FixtureSpec:
    """The fixture line of which every run that is tried has some share."""
    question, limits = request.question, request.limits
    read: ReadLoad = read_load(_unit_load(question), direct_current=direct_current)
    window = UNSET if limits is UNSET else limits.window
    gapless = isinstance(question, LongestRun | LargestLoad) and isinstance(
        question.layout, EvenlySpreadLayout
    )
    return FixtureSpec(
        subject=JobPart(QUESTION if isinstance(question, LargestLoad) else f"{QUESTION}/load"),
        name=None,
        called=UNNAMED if _is_counted(question) else "load" if gapless else "the far end",
        at_m=0.0,
        pieces=1,
        spacing_m=None,
        load=read.load,
        filament=isinstance(_unit_load(question), Filament),
        window=None if isinstance(window, UnsetType) else window_of(window),
        remarks=(*read.remarks, Remark.SPREAD_AS_LUMPS) if gapless else read.remarks,
        together=not _is_counted(question),
    )


def _unit_load(question: Question) -> Load:
    """The load that the question names, or one watt where it asks for watts."""
    return (
        ConstantPower(ONE_WATT, question.power_factor) if isinstance(question, LargestLoad) else question.load
    )


def _load(question: Question, found: Trial) -> Load:
    """The load of which every fixture of a run has some share."""
    if isinstance(question, LargestLoad):
        return ConstantPower(RealPower(found.power_w or 0.0, "W"), question.power_factor)
    return question.load


def _is_counted(question: Question) -> bool:
    """Whether the fixtures stand one by one."""
    return not isinstance(question, LongestRun | LargestLoad) or isinstance(question.layout, SpacingLayout)


def _question(request: ReachRequest) -> LengthSearch | LoadSearch | CountSearch:
    question = request.question
    if isinstance(question, LongestRun):
        return LengthSearch(_layout(question.layout), inside(1.0, length_unit(request)))
    if isinstance(question, LargestLoad):
        return LoadSearch(_layout(question.layout), amount(question.length))
    return CountSearch(_spaced(question.spacing, question.first_at))


def _layout(layout: Layout) -> LoadLayout:
    if isinstance(layout, SpacingLayout):
        return _spaced(layout.spacing, layout.first_at)
    return EVENLY_SPREAD if isinstance(layout, EvenlySpreadLayout) else LUMPED


def _spaced(spacing: Length, first_at: Length | UnsetType) -> Spaced:
    return Spaced(amount(spacing), amount(spacing if isinstance(first_at, UnsetType) else first_at))


def _point(tried: Tried, unit: str) -> ReachPoint:
    found, naming = tried.trial, PlaceNames(tried.answer.layout, unit)
    return ReachPoint(
        ShownLength(naming.length(found.length_m), unit),  # type: ignore[arg-type]  # lengths of a job are in m or ft
        end_row(tried.end),
        UNSET if found.power_w is None else ShownRealPower(round(found.power_w, 4), "W"),
        UNSET if found.pieces is None else found.pieces,
        UNSET if tried.lowest is None else extreme_volts(tried.lowest),
    )


def _findings(found: list[FindingFacts], tried: Tried, unit: str) -> list[FindingRow]:
    naming = PlaceNames(tried.answer.layout, unit)
    return finding_rows(found, naming)


_Scalable = TypeVar("_Scalable", ApparentPower, Current, RealPower)


def postable(request: ReachRequest, load: Load, found: Trial, unit: str) -> RunsWiring:
    """The run as a wiring in the form `runs`.

    Parameters
    ----------
    request : ReachRequest
        Whose cable, window and nominal voltage it has.
    load : Load
        Of which each fixture has its share.
    found : Trial
    unit : str
        Of its lengths, m or ft.
    """
    limits = request.limits
    window = UNSET if isinstance(limits, UnsetType) else limits.window
    lines = [
        FixtureLine(
            at=_length(each.at_m, unit),
            load=scaled(load, each.share_ratio),
            count=UNSET if each.spacing_m is None else each.pieces,
            spacing=UNSET if each.spacing_m is None else _length(each.spacing_m, unit),
            window=window,
        )
        for each in found.placements
    ]
    tail = _length(found.tail_m, unit) if found.tail_m > 0.0 else UNSET
    return RunsWiring([Run(cable=request.cable, fixtures=lines, tail=tail)], request.nominal_voltage)


def scaled(load: Load, share_ratio: float) -> Load:
    """A share of a load. [-]"""
    if isinstance(load, ConstantPower):
        apparent = load.apparent_power
        return replace(
            load,
            power=_part(load.power, share_ratio),
            apparent_power=apparent if isinstance(apparent, UnsetType) else _part(apparent, share_ratio),
        )
    if isinstance(load, ConstantCurrent):
        return replace(load, current=_part(load.current, share_ratio))
    if isinstance(load, ConstantResistance | Filament):
        return replace(load, power=_part(load.power, share_ratio))
    return Zip(
        _part(load.constant_power_part, share_ratio),
        _part(load.constant_current_part, share_ratio),
        _part(load.constant_resistance_part, share_ratio),
        load.rated_voltage,
    )


def _part(quantity: _Scalable, share_ratio: float) -> _Scalable:
    return replace(quantity, value=quantity.value * share_ratio)


def _length(length_m: float, unit: str) -> Length:
    """A length as it would be written: twelve digits, so that 40 m is not 39.99999999999999 m."""
    return Length(float(f"{from_inside(length_m, unit):.12g}"), unit)  # type: ignore[arg-type]  # lengths of a job are in m or ft
