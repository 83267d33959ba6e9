"""Readings check: the request into a job, the answer into a reply."""

from __future__ import annotations

from math import isfinite
from typing import Final

from msgspec import UNSET, UnsetType

from service.circuit.job import JobPart
from service.estimation.job import (
    ALL_ON,
    CURRENT,
    DISCONNECTED,
    LISTED,
    NO_LOAD,
    RESISTANCE,
    UNITS,
    VOLTAGE,
    Pointed,
    ReadingsJob,
    StatedReading,
    SwitchedState,
    Terminal,
)
from service.estimation.translate import capital, instrument_of, priors_of
from service.estimation.uncertainty import COVERAGE
from service.findings.finding import FindingFacts
from service.findings.rows import closing, finding_row
from service.findings.summary import FAILS, PASSES, gravest_first, short_summary
from service.intake.words import listed
from service.studies.readings_check.csv import SheetRows, readings_of_csv
from service.studies.readings_check.next_reading import SuggestedReading as Following
from service.studies.readings_check.ranking import Explanation
from service.studies.readings_check.reply import (
    Between,
    CheckedRun,
    ChiSquare,
    Expectation,
    ExplanationRow,
    Identifiability,
    NextReading,
    ReadingRow,
    ReadingsCheckReply,
)
from service.studies.readings_check.request import ReadingsCheckRequest
from service.studies.readings_check.study import (
    AGREES,
    CONTRADICTS,
    DISAGREES,
    IMPOSSIBLE,
    NOTHING,
    CheckAnswer,
    Judged,
    RunCheck,
)
from service.studies.readings_check.words import CONCLUSIONS, IDENTIFIABILITY, ReadingsWords
from service.translate.job import described_job, length_unit
from service.translate.naming import PlaceNames
from service.translate.rounding import DECIMALS
from service.translate.rows import subject_row
from service.units import inside
from service.wire import readings as wire
from service.wire.optional import given
from service.wire.quantities import ShownQuantity, ShownVoltage
from service.wire.readings import NextState


def job_of(request: ReadingsCheckRequest) -> ReadingsJob:
    """The wiring and the readings of it; what a corner or a limit would add is not asked here."""
    readings = [
        _reading(reading, f"/readings/{index}") for index, reading in enumerate(given(request.readings) or ())
    ]
    text, mains = given(request.readings_csv), given(request.mains_read)
    sheet = SheetRows([], [])
    if text is not None:
        sheet = readings_of_csv(text, None if mains is None else inside(mains.value, mains.unit))
    circuit = described_job(request)._replace(corners=None, maximum_drop_ratio=None)
    return ReadingsJob(
        circuit,
        instrument_of(request.instrument),
        priors_of(request.priors),
        (*readings, *sheet.readings),
        tuple(sheet.mistakes),
    )


def _reading(reading: wire.Reading, pointer: str) -> StatedReading:
    place, quantity = reading.subject, reading.quantity
    where: Pointed | Terminal
    if isinstance(place, wire.AtTerminal):
        tap_v = None if place.tap is UNSET else inside(place.tap.value, place.tap.unit)
        where = Terminal(tap_v, given(place.circuit), f"{pointer}/subject")
    else:
        where = _pointed(place, f"{pointer}/subject")
    return StatedReading(
        subject=JobPart(pointer, given(reading.id)),
        where=where,
        quantity=QUANTITIES[type(quantity)],
        value=inside(quantity.value.value, quantity.value.unit),
        state=None if isinstance(reading.state, UnsetType) else _state(reading.state, f"{pointer}/state"),
    )


def _pointed(part: wire.Wired | wire.LitPart, at: str) -> Pointed:
    return Pointed(part.pointer, None if part.number is UNSET else int(part.number), at)


def _state(state: wire.ReadingState, pointer: str) -> SwitchedState:
    if isinstance(state, wire.DisconnectedState):
        return SwitchedState(DISCONNECTED, lamps_out=given(state.lamps_out) or False)
    mains_v = None if state.mains is UNSET else inside(state.mains.value, state.mains.unit)
    if isinstance(state, wire.ListedState):
        lit = tuple(_pointed(part, f"{pointer}/lit/{index}") for index, part in enumerate(state.lit))
        return SwitchedState(LISTED, lit, mains_v)
    return SwitchedState(NO_LOAD if isinstance(state, wire.NoLoadState) else ALL_ON, (), mains_v)


RATIO_DECIMALS = 5

QUANTITIES: Final = {
    wire.VoltageRead: VOLTAGE,
    wire.CurrentRead: CURRENT,
    wire.ResistanceRead: RESISTANCE,
}

COUNTS = {2: "two", 3: "three", 4: "four"}

MOST_TIES = 5
"""Causes that the conclusion names where nothing tells them apart; of more the number."""

MOST_RUNS = 4
"""Runs that a contradiction names; of more nothing is said run by run."""

LEAST_PERCENT, MOST_PERCENT = 0.01, 99.0
"""Beyond these a probability is given as a bound."""


def reply_of(request: ReadingsCheckRequest, answer: CheckAnswer, sha256: str) -> ReadingsCheckReply:
    """The reply to a request; `sha256` is of the request as it came."""
    naming = PlaceNames(answer.model.connected.layout, length_unit(request))
    words = ReadingsWords(answer.model, answer.routes, naming)
    messages = [words.message(each) for each in answer.explanations]
    names = {each.subject: each.name for each in answer.job.readings}
    statistics = answer.statistics
    following = answer.next_reading
    said = conclusion(answer, messages, words)
    findings = [_named(each, naming, names) for each in gravest_first(answer.findings)]
    return ReadingsCheckReply(
        short_summary(VERDICTS[answer.verdict], findings, naming, said),
        answer.verdict,
        said,
        ChiSquare(
            round(statistics.value, 4),
            statistics.degrees,
            _probability(statistics.probability),
            UNSET if statistics.single is None else _probability(statistics.single),
        ),
        [reading_row(answer, judged, words) for judged in answer.readings],
        [explanation_row(each, words) for each in answer.explanations],
        Identifiability(answer.place_settled, answer.alternatives, identifiability(answer, messages)),
        [finding_row(each, naming) for each in findings],
        next_reading=UNSET if following is None else next_row(following, messages, words),
        by_run=[run_row(each) for each in answer.by_run] or UNSET,
        **closing(answer.assumptions, answer.sources, sha256=sha256, caller_id=request.id, meter=True),
    )


VERDICTS: Final = {"agrees": PASSES, "disagrees": FAILS, "contradicts": FAILS, "nothing-to-judge": None}


def run_row(check: RunCheck) -> CheckedRun:
    """One run by itself."""
    statistics = check.statistics
    return CheckedRun(
        subject_row(check.run.subject),
        check.verdict,
        statistics.degrees,
        _probability(statistics.probability),
        list(check.explained_by),
    )


def conclusion(answer: CheckAnswer, messages: list[str], words: ReadingsWords) -> str:
    """The whole answer in one plain sentence."""
    parts = {"probability": _percent(answer.statistics.probability), "first": messages[0] if messages else ""}
    key = answer.verdict
    if key == DISAGREES and not answer.place_settled:
        key = "disagrees-unsettled"
    elif key == DISAGREES and answer.alternatives:
        key = "disagrees-place"
    if key != NOTHING and answer.impossible and answer.statistics.is_by_chance:
        parts["which"] = listed([answer.job.readings[position].name for position in answer.impossible], "and")
        key = IMPOSSIBLE if len(answer.impossible) == 1 else f"{IMPOSSIBLE}-some"
    elif key == CONTRADICTS:
        high, low = _torn(answer)
        key = "contradicts-both-ways" if high and low else CONTRADICTS
        parts |= {"high": high, "low": low}
    if answer.several:
        key = "several"
        parts |= {"count": capital(COUNTS.get(len(answer.several), str(len(answer.several))))}
        parts["runs"] = ". ".join(
            f"{words.run(each.run.subject)}: {_ties([messages[index] for index in each.explained_by])}"
            for each in answer.several
        )
    elif key.startswith("disagrees-"):
        parts["ties"] = _ties([messages[index] for index in (0, *answer.alternatives)])
    text = CONCLUSIONS[key].format(**parts)
    outside = [
        answer.job.readings[each.position].name for each in answer.readings if each.verdict in {"high", "low"}
    ]
    if key == AGREES and outside:
        text += CONCLUSIONS["agrees-but"].format(which=listed(outside, "and"))
    text += _unseen(answer, words) + _apart(answer, words)
    if "ties" in parts:
        following = answer.next_reading
        place = "" if following is None else words.place_to_read(following)
        text += CONCLUSIONS["read-next" if place else "look-there"].format(place=place)
    return text


def _unseen(answer: CheckAnswer, words: ReadingsWords) -> str:
    """Which fixtures might be dark for all that was read, where the readings agree."""
    return CONCLUSIONS["unseen"].format(which=words.unseen(answer.unseen)) if answer.unseen else ""


def _apart(answer: CheckAnswer, words: ReadingsWords) -> str:
    """Which runs do not fit by themselves, where not all of them are alike in that."""
    wrong = [words.run(each.run.subject) for each in answer.by_run if each.verdict != AGREES]
    if answer.verdict != CONTRADICTS or not wrong or len(wrong) > MOST_RUNS:
        return ""
    do = "does" if len(wrong) == 1 else "do"
    right = len(answer.by_run) - len(wrong)
    others = "" if not right else "; the other run does" if right == 1 else "; the other runs do"
    return CONCLUSIONS["by-run"].format(wrong=listed(wrong, "and"), do=do, others=others)


def _ties(messages: list[str]) -> str:
    """What these readings do not tell apart, numbered; of many the number."""
    named = [f"({place}) {each.rstrip('.')}" for place, each in enumerate(messages[:MOST_TIES], start=1)]
    more = len(messages) - len(named)
    return "; ".join([*named, *([f"{more} more"] if more else [])])


def _torn(answer: CheckAnswer) -> tuple[str, str]:
    """The readings that stay highest above and lowest below whatever is the best explanation."""
    used = [judged for judged in answer.readings if judged.predicted is not None]
    predicted = (
        answer.explanations[0].fit.predicted if answer.explanations else [judged.predicted for judged in used]
    )
    left = [
        (
            (judged.reading - (each or 0.0)) / (judged.uncertainty or 1.0),
            answer.job.readings[judged.position].name,
        )
        for judged, each in zip(used, predicted, strict=True)
    ]
    (lowest, low), (highest, high) = min(left), max(left)
    return (high if highest > 0.0 else ""), (low if lowest < 0.0 else "")


def identifiability(answer: CheckAnswer, messages: list[str]) -> str:
    """What the readings tell apart and what they do not."""
    others = [messages[index] for index in answer.alternatives]
    key = answer.verdict
    if answer.statistics.is_by_chance and answer.impossible:
        key = IMPOSSIBLE if key != NOTHING else key
    elif answer.several:
        key = "several"
    elif key == DISAGREES:
        apart = "not-separated" if others[1:] else "not-separated-one"
        key = "alone" if not others else "same-place" if answer.place_settled else apart
    text = IDENTIFIABILITY[key].format(
        count=len(others), others="; ".join(each.rstrip(".") for each in others[:3])
    )
    if answer.left_out:
        text += " " + IDENTIFIABILITY["left-out"].format(count=answer.left_out)
    return text


def reading_row(answer: CheckAnswer, judged: Judged, words: ReadingsWords) -> ReadingRow:
    """One reading beside what the model says."""
    stated = answer.job.readings[judged.position]
    unit = UNITS[judged.quantity]
    where = stated.where
    discrepancy, uncertainty, normalised = judged.discrepancy, judged.uncertainty, judged.normalised
    return ReadingRow(
        stated.subject.pointer,
        words.reading(stated),
        judged.verdict,
        ShownQuantity(round(judged.reading, DECIMALS[unit]), unit),
        UNSET if stated.subject.id is None else stated.subject.id,
        UNSET if isinstance(where, Terminal) else subject_row(words.subject_of(where)),
        _shown(judged.predicted, unit),
        _shown(None if uncertainty is None else COVERAGE * uncertainty, unit),
        _shown(discrepancy, unit),
        UNSET if normalised is None else round(normalised, 3),
        UNSET if judged.reason is None else judged.reason,
        UNSET if stated.subject.number is None else stated.subject.number,
    )


def explanation_row(explanation: Explanation, words: ReadingsWords) -> ExplanationRow:
    """One fault with its size."""
    fault, unit = (
        explanation.fit.fault,
        "ratio" if explanation.fit.fault.unit == "1" else explanation.fit.fault.unit,
    )
    located, between = words.located_at(fault), words.between(fault)
    other = words.exchanged_with(fault)
    sized = fault.sized
    certain = explanation.uncertainty is not None and isfinite(explanation.uncertainty)
    return ExplanationRow(
        fault.kind.code,
        round(explanation.chi_square, 4),
        round(explanation.share, 6),
        words.message(explanation),
        UNSET if located is None else subject_row(located),
        UNSET if between is None else Between(*between),
        UNSET if other is None else subject_row(other),
        _sized(explanation.fit.size, unit) if sized and explanation.at_least is None else UNSET,
        _sized(COVERAGE * explanation.uncertainty, unit)
        if explanation.uncertainty is not None and certain
        else UNSET,
        UNSET if explanation.at_least is None else _sized(explanation.at_least, unit),
        UNSET if fault.tap_v is None else ShownVoltage(fault.tap_v, "V"),
    )


def next_row(following: Following, messages: list[str], words: ReadingsWords) -> NextReading:
    """The reading to take next."""
    unit = UNITS[following.probe.quantity]
    where = JobPart(following.where, number=words.number(following.probe.row))
    lit = UNSET if following.lit is None else [subject_row(JobPart(following.lit))]
    state = NextState(following.state.on, lit)
    expected = [
        Expectation(index, ShownQuantity(round(value, DECIMALS[unit]), unit))
        for index, value in following.expected
    ]
    return NextReading(
        words.next_reading(following, messages),
        subject_row(where),
        following.probe.quantity,
        state,
        expected,
    )


def _named(finding: FindingFacts, naming: PlaceNames, names: dict[JobPart, str]) -> FindingFacts:
    """A finding, told of its reading where it is of one: that has a place in the list, none on the wiring."""
    name = names.get(finding.subject)
    if name is None:
        return finding
    return finding._replace(parameters=(*finding.parameters, ("where", naming.capital(name))))


def _shown(value: float | None, unit: str) -> ShownQuantity | UnsetType:
    return UNSET if value is None else ShownQuantity(round(value, DECIMALS[unit]), unit)


def _sized(value: float, unit: str) -> ShownQuantity:
    """A size in its unit; a ratio to five decimals."""
    return ShownQuantity(round(value, DECIMALS.get(unit, RATIO_DECIMALS)), unit)


def _probability(value: float) -> float:
    """Four significant digits, however small."""
    return float(f"{value:.4g}")


def _percent(ratio: float) -> str:
    percent = 100.0 * ratio
    if percent > MOST_PERCENT:
        return f"more than {MOST_PERCENT:g}"
    return "less than 0.01" if percent < LEAST_PERCENT else f"{float(f'{percent:.2g}'):g}"
