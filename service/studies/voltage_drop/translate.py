"""Voltage drop: the request into a job, the answer into a reply."""

from __future__ import annotations

from collections.abc import Iterable
from operator import sub

from msgspec import UNSET, UnsetType
from msgspec.structs import asdict, replace

from service.circuit.cables import Cable
from service.circuit.job import Job
from service.circuit.limits import over_drop
from service.circuit.reading import StateReading, run_states, whole_spans
from service.circuit.windows import INSIDE
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
from service.translate.rounding import DECIMALS, rounded, rounded_all
from service.translate.rows import (
    TOWARDS_FAILING,
    amps,
    amps_of,
    end_row,
    envelope_row,
    load_margin,
    solution,
    subject_row,
    supply_state,
    volts,
    volts_of,
    watts,
    watts_of,
)
from service.wire.quantities import (
    ShownLength,
    ShownResistance,
    ShownVoltage,
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
        span_rows(reading, naming),
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
        span_rows(reading, naming),
        run_rows(reading, naming),
        totals_row(reading),
        finding_rows(rest.answer.findings, naming),
    )


def fixture_rows(reading: StateReading, naming: PlaceNames) -> list[FixtureRow]:
    """Every fixture under load, made column by column."""
    state, columns, limit_ratio = reading.state, reading.volts, reading.state.job.maximum_drop_ratio
    fixtures, feed, level = state.layout.fixtures, state.feed, abs(state.terminal)
    subjects, numbers = [placed.line.subject for placed in fixtures], [placed.number for placed in fixtures]
    pointers, lamp_points = [of.pointer for of in subjects], [placed.lamp_point for placed in fixtures]
    open_circuit_v = [feed.open_circuit_v[feed.tap_of[placed.feeder]] for placed in fixtures]
    terminal_v = [volts * level for volts in open_circuit_v]
    shown_v = volts_of(columns.start_v)
    splice_v: list[ShownVoltage | UnsetType] = [UNSET] * len(fixtures)
    far_v: list[ShownVoltage | UnsetType] = [UNSET] * len(fixtures)
    for row, (placed, verdict) in enumerate(zip(fixtures, columns.verdict, strict=True)):
        if verdict != INSIDE or placed.rail:
            towards = TOWARDS_FAILING[verdict]
            shown_v[row] = volts(columns.start_v[row], max(0, towards) if placed.rail else towards)
            far_v[row] = volts(columns.far_v[row], min(0, towards)) if placed.rail else UNSET
        if lamp_points[row] != placed.cable_point:
            at_v = reading.voltage_v[placed.cable_point] if placed.cable_point else terminal_v[row]
            splice_v[row] = volts(at_v)
    drop_percent = rounded_all([100.0 * ratio for ratio in columns.drop_ratio], DECIMALS["%"])
    if limit_ratio is not None:
        drop_percent = [
            rounded(100.0 * ratio, DECIMALS["%"], int(over_drop(ratio, limit_ratio)))
            for ratio in columns.drop_ratio
        ]
    windows = {
        of: JudgedWindow(volts(bounds.low_v), volts(bounds.highest_v))
        for of, bounds in {id(bounds): bounds for bounds in state.windows}.items()
    }
    return list(
        map(
            FixtureRow,
            pointers,
            naming.fixtures(pointers, numbers),
            _lengths([placed.at_m for placed in fixtures], naming),
            shown_v,
            columns.verdict,
            volts_of(list(map(sub, terminal_v, columns.start_v))),
            volts_of(list(map(sub, open_circuit_v, columns.start_v))),
            drop_percent,
            amps_of(reading.current_a),
            watts_of(reading.real_w),
            lamp_points,
            [windows[id(bounds)] for bounds in state.windows],
            [UNSET if of.id is None else of.id for of in subjects],
            [UNSET if number is None else number for number in numbers],
            [UNSET if placed.pieces == 1 else placed.pieces for placed in fixtures],
            splice_v,
            far_v,
        )
    )


def _lengths(lengths_m: list[float], naming: PlaceNames) -> list[ShownLength]:
    """A column of lengths for show. [m]"""
    unit = naming.length_unit
    return [ShownLength(each, unit) for each in naming.lengths(lengths_m)]  # type: ignore[arg-type]  # lengths of a job are in m or ft


def span_rows(reading: StateReading, naming: PlaceNames) -> list[SpanRow]:
    """Every span under load, made column by column."""
    spans, (current_a, drop_v, loss_w) = whole_spans(reading)
    points, ohms, subjects = (
        naming.points,
        [span.resistance_ohm for span in spans],
        [span.subject for span in spans],
    )
    starts, ends = [span.start for span in spans], [span.end for span in spans]
    return list(
        map(
            SpanRow,
            [points[start] for start in starts],
            [points[end] for end in ends],
            _lengths([span.length_m for span in spans], naming),
            [ShownResistance(each, "ohm") for each in rounded_all(ohms, DECIMALS["ohm"])],
            amps_of(current_a),
            volts_of(drop_v),
            watts_of(loss_w),
            starts,
            ends,
            [of.pointer for of in subjects],
            [UNSET if of.id is None else of.id for of in subjects],
            [UNSET if span.cable is None else _cables(span.cable, span.pieces) for span in spans],
        )
    )


def run_rows(reading: StateReading, naming: PlaceNames) -> list[RunRow]:
    """Every run under load, and what device its thinnest cable allows."""
    fixtures, thinnest = reading.state.layout.fixtures, thinnest_cables(reading.state.layout)
    rows = []
    for run in run_states(reading):
        lowest = None if run.lowest is None else fixtures[run.lowest].subject
        towards = 0 if run.lowest is None else TOWARDS_FAILING[reading.volts.verdict[run.lowest]]
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


def _cables(cable: Cable, pieces: int) -> str:
    """The conductor of a span, and how many leads alike stand for it."""
    return cable.name if pieces == 1 else f"{pieces} x {cable.name}"


def bracket_row(bracket: BracketResult) -> Bracket:
    """Both bounds."""
    return Bracket(end_row(bracket.lumped), end_row(bracket.evenly_spread))
