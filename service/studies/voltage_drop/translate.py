"""Voltage drop: the request into a job, the answer into a reply."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import UNSET, UnsetType
from msgspec.structs import asdict, replace

from service.circuit.job import Job
from service.circuit.layout import LaidSpan
from service.circuit.limits import over_drop
from service.circuit.reading import SpanResult, StateReading, run_states, span_states
from service.circuit.windows import WindowBounds
from service.findings.finding import FAULT, WARNING, FindingFacts
from service.findings.loading import usual_loading_ratio
from service.findings.protection import thinnest_cables
from service.findings.rows import closing, message_of
from service.findings.summary import (
    FAILS,
    PASSES,
    WITH_WARNINGS,
    finding_rows,
    grouped,
    shown_of,
    summary_row,
    told,
    verdict_of,
)
from service.findings.voltage import THICKER_CABLE
from service.intake import words
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
from service.studies.voltage_drop.study import (
    AS_IT_IS_PERCENT,
    MOST_PERCENT,
    BracketResult,
    DropAnswer,
    RestResult,
    Room,
)
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
from service.wire.summary import DropSummary, LoadRoom, LoadSummary


def job_of(request: VoltageDropRequest) -> Job:
    """The job that a request asks to be solved."""
    return described_job(request, margin=request.margin is True)


WHO_SIZES = "`gauge-recommendation` names the cable that would do, or says what else would."
"""This study tries no other cable than the one that is stated, nor anything else."""


def _with_who_sizes(summary: DropSummary, found: Iterable[FindingFacts]) -> DropSummary:
    """The answer in short, with the study that says how thick, where thicker cable is asked for."""
    told = (text for each in found for _, text in each.parameters if isinstance(text, str))
    if any(text.startswith(THICKER_CABLE) for text in told):
        return replace(summary, text=f"{summary.text} {WHO_SIZES}")
    return summary


NAMED_OFF = 3
"""Runs that are named where they are off; more are counted."""


THE_REST = {PASSES: "passes", WITH_WARNINGS: "passes with warnings", FAILS: "does not pass either"}


def _with_rest(summary: DropSummary, rest: RestResult | None, naming: PlaceNames) -> DropSummary:
    """The answer in short, with what the other runs do while those that cannot be carried are off."""
    if rest is None or rest.answer.reading is None:
        return summary
    names = [naming.part(run) for run in rest.off]
    off = words.listed(names, "and") if len(names) <= NAMED_OFF else f"these {len(names)} runs"
    found = rest.answer.findings
    verdict = verdict_of(found)
    groups = grouped(found, PlaceNames(rest.answer.layout, naming.length_unit))
    unsaid = [group for group in groups if group.message not in summary.text]
    why = told(unsaid, FAULT if verdict == FAILS else WARNING)
    sentence = f"With {off} switched off the rest {THE_REST[verdict]}."
    return replace(summary, text=" ".join(filter(None, [summary.text, sentence, why])))


def _with_room(summary: LoadSummary, room: Room | None, naming: PlaceNames) -> DropSummary:
    """A summary with the room for more load, or the share of it with which the job passes."""
    whole = DropSummary(**asdict(summary))
    if room is None:
        return whole
    binding = room.binding
    row = LoadRoom(room.percent, MOST_PERCENT)
    if binding is not None:
        row = replace(row, binding=binding.code, message=message_of(binding, naming))
    return replace(whole, text=f"{summary.text} {_room_words(room)}", room=row)


def _room_words(room: Room) -> str:
    """What may be added, which is said of every lamp: one more at the far end is another question."""
    more = room.percent - AS_IT_IS_PERCENT
    if more < 0:
        return f"It would pass with every lamp at {room.percent} % of its load."
    if more == 0:
        return "No room for more load."
    return f"Room for {'at least ' if room.binding is None else ''}{more} % more load at every lamp."


def reply_of(request: VoltageDropRequest, answer: DropAnswer, sha256: str) -> VoltageDropReply:
    """The reply to a request.

    Parameters
    ----------
    request : VoltageDropRequest
    answer : DropAnswer
        What the study found.
    sha256 : str
        Of the request as it came.
    """
    naming = PlaceNames(answer.layout, length_unit(request))
    found = answer.findings
    findings = finding_rows(found, naming)
    verdict = FAILS if answer.reading is None else verdict_of(found)
    in_short = summary_row(verdict, found, naming, shown_of(answer.reading, answer.envelope))
    summary = _with_who_sizes(_with_room(in_short, answer.room, naming), found)
    ending = closing(answer.assumptions, answer.sources, sha256=sha256, caller_id=request.id)
    margin = load_margin(answer.margin)
    bracket = UNSET if answer.bracket is None else bracket_row(answer.bracket)
    reading = answer.reading
    if reading is None:
        rest = UNSET if answer.rest is None else rest_row(answer.rest, length_unit(request))
        summary = _with_rest(summary, answer.rest, naming)
        return NoOperatingPoint(summary, [], findings, margin, bracket=bracket, rest=rest, **ending)
    return Solved(
        summary,
        supply_state(reading.supply, usual_loading_ratio(reading)),
        fixture_rows(reading, naming),
        [span_row(row, naming) for row in span_states(reading)],
        run_rows(reading, naming),
        totals_row(reading),
        findings,
        solution(reading.state.proof),
        margin,
        envelope=UNSET if answer.envelope is None else envelope_row(answer.envelope, naming),
        bracket=bracket,
        **ending,
    )


def totals_row(reading: StateReading) -> Totals:
    """Where the power goes."""
    return Totals(watts(reading.fixture_w), watts(reading.cable_loss_w), watts(reading.winding_loss_w))


def rest_row(rest: RestResult, unit: str) -> RestState | UnsetType:
    """What the others get while some runs are off."""
    reading, naming = rest.answer.reading, PlaceNames(rest.answer.layout, unit)
    if reading is None:
        return UNSET
    return RestState(
        [subject_row(run) for run in rest.off],
        supply_state(reading.supply, usual_loading_ratio(reading)),
        fixture_rows(reading, naming),
        [span_row(row, naming) for row in span_states(reading)],
        run_rows(reading, naming),
        totals_row(reading),
        finding_rows(rest.answer.findings, naming),
    )


def fixture_rows(reading: StateReading, naming: PlaceNames) -> list[FixtureRow]:
    """Every fixture under load."""
    state, voltage_v, limit_ratio = reading.state, reading.voltage_v, reading.state.job.maximum_drop_ratio
    unit, tap_of, level = naming.length_unit, state.feed.tap_of, abs(state.terminal)
    windows: dict[WindowBounds, JudgedWindow] = {}
    rows = []
    columns = zip(
        state.layout.fixtures, state.windows, *reading.volts, reading.current_a, reading.real_w,
        reading.verdicts, strict=True,
    )  # fmt: skip
    for placed, bounds, start_v, far_v, _, drop_ratio, current_a, real_w, verdict in columns:
        subject, towards = placed.subject, TOWARDS_FAILING[verdict]
        open_circuit_v = state.feed.open_circuit_v[tap_of[placed.feeder]]
        terminal_v = open_circuit_v * level
        if bounds not in windows:
            windows[bounds] = JudgedWindow(volts(bounds.low_v), volts(bounds.highest_v))
        over = over_drop(drop_ratio, limit_ratio)
        splice_v = voltage_v[placed.cable_point] if placed.cable_point else terminal_v
        rows.append(
            FixtureRow(
                subject.pointer,
                naming.fixture(placed.line, placed.number),
                ShownLength(naming.length(placed.at_m), unit),  # type: ignore[arg-type]
                volts(start_v, max(0, towards) if placed.rail else towards),
                verdict,
                volts(terminal_v - start_v),
                volts(open_circuit_v - start_v),
                rounded(100.0 * drop_ratio, DECIMALS["%"], int(over)),
                amps(current_a),
                watts(real_w),
                placed.lamp_point,
                windows[bounds],
                UNSET if subject.id is None else subject.id,
                UNSET if placed.number is None else placed.number,
                UNSET if placed.pieces == 1 else placed.pieces,
                UNSET if placed.lamp_point == placed.cable_point else volts(splice_v),
                volts(far_v, min(0, towards)) if placed.rail else UNSET,
            )
        )
    return rows


def span_row(row: SpanResult, naming: PlaceNames) -> SpanRow:
    """One span under load."""
    span = row.span
    return SpanRow(
        naming.points[span.start],
        naming.points[span.end],
        ShownLength(naming.length(span.length_m), naming.length_unit),  # type: ignore[arg-type]
        ShownResistance(round(span.resistance_ohm, DECIMALS["ohm"]), "ohm"),
        amps(row.current_a),
        volts(row.drop_v),
        watts(row.loss_w),
        span.start,
        span.end,
        span.subject.pointer,
        UNSET if span.subject.id is None else span.subject.id,
        UNSET if span.cable is None else _cables(span),
    )


def run_rows(reading: StateReading, naming: PlaceNames) -> list[RunRow]:
    """Every run under load, and what device its thinnest cable allows."""
    fixtures, thinnest = reading.state.layout.fixtures, thinnest_cables(reading.state.layout)
    rows = []
    for run in run_states(reading):
        lowest = None if run.lowest is None else fixtures[run.lowest].subject
        towards = 0 if run.lowest is None else TOWARDS_FAILING[reading.verdicts[run.lowest]]
        cable = thinnest.get(run.subject)
        rows.append(
            RunRow(
                run.subject.pointer,
                naming.run(run.subject),
                amps(run.current_a),
                volts(run.lowest_v, towards),
                volts(run.end_v),
                watts(run.cable_loss_w),
                UNSET if run.subject.id is None else run.subject.id,
                UNSET if lowest is None else lowest.pointer,
                UNSET if lowest is None or lowest.number is None else lowest.number,
                UNSET if cable is None or cable.device_a is None else amps(cable.device_a, -1),
            )
        )
    return rows


def _cables(span: LaidSpan) -> str:
    """The conductor of a span, and how many leads alike stand for it."""
    name = "" if span.cable is None else span.cable.name
    return name if span.pieces == 1 else f"{span.pieces} x {name}"


def bracket_row(bracket: BracketResult) -> Bracket:
    """Both bounds."""
    return Bracket(end_row(bracket.lumped), end_row(bracket.evenly_spread))
