"""Voltage drop: the request into a job, the answer into a reply."""

from __future__ import annotations

from msgspec import UNSET, UnsetType

from service.circuit.cables import Cable
from service.circuit.job import Job
from service.circuit.layout import LaidSpan
from service.circuit.state import FixtureResult, RunResult, SpanResult
from service.findings.protection import thinnest_cables
from service.findings.rows import closing, finding_row
from service.studies.voltage_drop.reply import (
    FixtureRow,
    JudgedWindow,
    NoOperatingPoint,
    RestState,
    RunRow,
    Solved,
    SpanRow,
    Totals,
    VoltageDropReply,
)
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.study import Answer, BracketResult, RestResult
from service.translate.job import described_job, length_unit
from service.translate.naming import PlaceNames
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import (
    TOWARDS_FAILING,
    amps,
    end_row,
    envelope_row,
    load_margin,
    solution,
    subject_row,
    supply_state,
    volts,
    watts,
)
from service.wire.quantities import (
    ShownLength,
    ShownResistance,
)
from service.wire.reply import (
    Bracket,
)


def job_of(request: VoltageDropRequest) -> Job:
    """The job that a request asks to be solved."""
    return described_job(request, margin=request.margin is True)


def reply_of(request: VoltageDropRequest, answer: Answer, sha256: str) -> VoltageDropReply:
    """The reply to a request.

    Parameters
    ----------
    request : VoltageDropRequest
    answer : Answer
        What the study found.
    sha256 : str
        Of the request as it came.
    """
    naming = PlaceNames(answer.layout, length_unit(request))
    findings = [finding_row(finding, naming) for finding in answer.findings]
    ending = closing(answer.assumptions, answer.sources, sha256=sha256, caller_id=request.id)
    margin = load_margin(answer.margin)
    bracket = UNSET if answer.bracket is None else bracket_row(answer.bracket)
    if answer.proof is None or answer.supply is None:
        rest = UNSET if answer.rest is None else rest_row(answer.rest, length_unit(request))
        return NoOperatingPoint([], findings, margin, bracket=bracket, rest=rest, **ending)
    return Solved(
        supply_state(answer.supply),
        [fixture_row(row, naming) for row in answer.fixtures],
        [span_row(row, naming) for row in answer.spans],
        run_rows(answer, naming),
        totals_row(answer),
        findings,
        solution(answer.proof),
        margin,
        envelope=UNSET if answer.envelope is None else envelope_row(answer.envelope, naming),
        bracket=bracket,
        **ending,
    )


def totals_row(answer: Answer) -> Totals:
    """Where the power goes."""
    return Totals(watts(answer.fixture_w), watts(answer.cable_loss_w), watts(answer.winding_loss_w))


def rest_row(rest: RestResult, unit: str) -> RestState | UnsetType:
    """What the others get while some runs are off."""
    answer, naming = rest.answer, PlaceNames(rest.answer.layout, unit)
    if answer.supply is None:
        return UNSET
    return RestState(
        [subject_row(run) for run in rest.off],
        supply_state(answer.supply),
        [fixture_row(row, naming) for row in answer.fixtures],
        [span_row(row, naming) for row in answer.spans],
        run_rows(answer, naming),
        totals_row(answer),
        [finding_row(finding, naming) for finding in answer.findings],
    )


def fixture_row(row: FixtureResult, naming: PlaceNames) -> FixtureRow:
    """One fixture under load."""
    placed = row.placed
    subject = row.subject
    towards = TOWARDS_FAILING[row.verdict]
    return FixtureRow(
        subject.pointer,
        naming.fixture(placed.line, placed.number),
        ShownLength(naming.length(placed.at_m), naming.length_unit),  # type: ignore[arg-type]
        volts(row.start_v, max(0, towards) if placed.rail else towards),
        row.verdict,
        volts(row.cable_drop_v),
        volts(row.total_drop_v),
        rounded(100.0 * row.drop_ratio, DECIMALS["%"], int(row.drop_over)),
        amps(row.current_a),
        watts(row.real_w),
        placed.lamp_point,
        JudgedWindow(volts(row.bounds.low_v), volts(row.bounds.highest_v)),
        UNSET if subject.id is None else subject.id,
        UNSET if placed.number is None else placed.number,
        UNSET if placed.pieces == 1 else placed.pieces,
        UNSET if placed.lamp_point == placed.cable_point else volts(row.splice_v),
        volts(row.far_v, min(0, towards)) if placed.rail else UNSET,
    )


def span_row(row: SpanResult, naming: PlaceNames) -> SpanRow:
    """One span under load."""
    laid = row.laid
    return SpanRow(
        naming.points[laid.start],
        naming.points[laid.end],
        ShownLength(naming.length(laid.length_m), naming.length_unit),  # type: ignore[arg-type]
        ShownResistance(round(laid.resistance_ohm, DECIMALS["ohm"]), "ohm"),
        amps(row.current_a),
        volts(row.drop_v),
        watts(row.loss_w),
        laid.start,
        laid.end,
        laid.subject.pointer,
        UNSET if laid.subject.id is None else laid.subject.id,
        UNSET if laid.cable is None else _cables(laid),
    )


def run_rows(answer: Answer, naming: PlaceNames) -> list[RunRow]:
    """Every run under load."""
    thinnest = thinnest_cables(answer.layout)
    return [run_row(row, naming, thinnest.get(row.subject)) for row in answer.runs]


def run_row(row: RunResult, naming: PlaceNames, thinnest: Cable | None) -> RunRow:
    """One run under load, and what device its thinnest cable allows."""
    lowest = row.lowest
    towards = 0 if lowest is None else TOWARDS_FAILING[lowest.verdict]
    return RunRow(
        row.subject.pointer,
        naming.run(row.subject),
        amps(row.current_a),
        volts(row.lowest_v, towards),
        volts(row.end_v),
        watts(row.cable_loss_w),
        UNSET if row.subject.id is None else row.subject.id,
        UNSET if lowest is None else lowest.subject.pointer,
        UNSET if lowest is None or lowest.subject.number is None else lowest.subject.number,
        UNSET if thinnest is None or thinnest.device_a is None else amps(thinnest.device_a, -1),
    )


def _cables(laid: LaidSpan) -> str:
    """The conductor of a span, and how many leads alike stand for it."""
    name = "" if laid.cable is None else laid.cable.name
    return name if laid.pieces == 1 else f"{laid.pieces} x {name}"


def bracket_row(bracket: BracketResult) -> Bracket:
    """Both bounds."""
    return Bracket(end_row(bracket.lumped), end_row(bracket.evenly_spread))
