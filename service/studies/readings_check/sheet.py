"""The sheet of a check of readings: what fits, what explains the rest, what to read next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from msgspec import UnsetType

from service.sheets.figures import NOTHING, as_stated, given, percent, plain, quantity, temperature
from service.sheets.sections import (
    closing_sections,
    findings_section,
    head,
    job_section,
    summary_section,
)
from service.sheets.sheet import Column, Facts, Section, Sheet, Table, filled, numbers, texts
from service.studies.readings_check.reply import ExplanationRow, ReadingRow, ReadingsCheckReply
from service.studies.readings_check.request import ReadingsCheckRequest
from service.translate.job import length_unit
from service.translate.naming import place_words, run_name
from service.wire.quantities import ShownQuantity
from service.wire.readings import Instrument, Priors
from service.wire.reply import Subject

STUDY = "Readings check"

CAUSE_ROOM = 150.0
"""What a sentence of a fault has of the line. [pt]"""


def readings_check_sheet(request: ReadingsCheckRequest, reply: ReadingsCheckReply) -> Sheet:
    """Whether meter readings fit the wiring as described, and what single fault would explain them."""
    sections = [
        summary_section(reply.summary),
        Section("Result", [Facts(list(_result(reply)))]),
        Section("Readings", [_readings(reply.readings)]),
        *_by_run(request, reply),
        *_explanations(reply),
        *_expected(reply),
        *([findings_section(reply.findings)] if reply.findings or reply.verdict == "agrees" else []),
        job_section(request, *_meter(request.instrument), *_priors(request.priors)),
        *closing_sections(reply),
    ]
    return head(request, STUDY, length_unit(request), filled(sections))


def _result(reply: ReadingsCheckReply) -> Iterator[tuple[str, str]]:
    statistics = reply.chi_square
    yield "Verdict", reply.verdict
    yield "Chi-square", f"{statistics.statistic:.2f} of {statistics.degrees_of_freedom} readings"
    yield "Probability that sound wiring gives as much", chance(statistics.probability)
    if (single := given(statistics.single_cause_probability)) is not None:
        yield "Probability that it points as much to one cause", chance(single)
    yield "What the readings tell apart", reply.identifiability.sentence
    if (following := given(reply.next_reading)) is not None:
        yield "Read next", following.message


def chance(probability: float) -> str:
    """A probability as one says it.

    Examples
    --------
    >>> chance(0.0412), chance(0.31), chance(1.2e-19)
    ('4.1 %', '31 %', 'less than 1 in a million')
    """
    return "less than 1 in a million" if probability < LEAST_CHANCE else f"{100.0 * probability:.2g} %"


LEAST_CHANCE: Final = 1e-6
"""What is less likely is no longer told apart on paper. [-]"""


def _readings(rows: list[ReadingRow]) -> Table:
    columns = [
        *texts("Reading", "Id"),
        *numbers("Read", "Predicted", "Off by", "Tolerance", "Normalised"),
        Column("Verdict", short=True),
        Column("Why not"),
    ]
    found = [
        [
            row.where,
            given(row.id) or NOTHING,
            _with_unit(row.reading),
            _with_unit(row.predicted),
            _with_unit(row.discrepancy),
            _with_unit(row.uncertainty),
            _number(row.normalised_residual),
            row.verdict,
            given(row.reason) or NOTHING,
        ]
        for row in rows
    ]
    strong = frozenset(place for place, row in enumerate(rows) if row.verdict in {"high", "low"})
    return Table(columns, found, strong)


def _explanations(reply: ReadingsCheckReply) -> list[Section]:
    """Single faults, best first; none where there is nothing to explain."""
    columns = [
        *numbers("No."),
        Column("Single cause", least=CAUSE_ROOM),
        Column("Where"),
        *numbers("Size", "Within", "At least", "Chi-square", "Likelihood"),
        Column("Code", short=True),
    ]
    rows = [[str(place), *_fault(each)] for place, each in enumerate(reply.explanations, 1)]
    return [Section("What would explain them", [Table(columns, rows)])] if rows else []


def _by_run(request: ReadingsCheckRequest, reply: ReadingsCheckReply) -> list[Section]:
    """Each run by itself, where they were judged so."""
    rows = [
        [
            run_name(request.wiring, each.subject.pointer),
            each.verdict,
            plain(float(each.readings)),
            chance(each.probability),
            ", ".join(str(index + 1) for index in each.explained_by) or NOTHING,
        ]
        for each in given(reply.by_run) or ()
    ]
    columns = [Column("Run"), Column("Verdict", short=True), *numbers("Readings", "Probability", "Cause no.")]
    return [Section("Run by run", [Table(columns, rows)])] if rows else []


def _expected(reply: ReadingsCheckReply) -> list[Section]:
    """What each explanation expects of the next reading."""
    following = given(reply.next_reading)
    if following is None or not following.expected:
        return []
    rows = [[str(each.explanation + 1), _with_unit(each.value)] for each in following.expected]
    where = Facts(
        [("Where", _place(following.subject)), ("State", following.state.on), ("Read", following.quantity)]
    )
    return [Section("The next reading", [where, Table(numbers("Cause no.", "Expected"), rows)])]


def _fault(row: ExplanationRow) -> list[str]:
    """A fault that may be; its message names the lamp or the run, so that no pointer is read here."""
    between = given(row.between)
    ids = [own_id for each in (row.located_at, row.exchanged_with) if (own_id := _own_id(each))]
    return [
        row.message,
        (" and ".join(ids) or NOTHING) if between is None else f"{between.start} – {between.end}",
        _with_unit(row.size),
        _with_unit(row.uncertainty),
        _with_unit(row.at_least),
        f"{row.chi_square:.2f}",
        percent(row.likelihood_share),
        row.code,
    ]


def _own_id(subject: Subject | UnsetType) -> str | None:
    return None if isinstance(subject, UnsetType) else given(subject.id)


def _place(subject: Subject | UnsetType) -> str:
    if isinstance(subject, UnsetType):
        return NOTHING
    number, own_id = given(subject.number), given(subject.id)
    words = place_words(subject.pointer, number)
    return words if own_id is None else f"{words} ({own_id})"


def _with_unit(shown: ShownQuantity | UnsetType) -> str:
    return NOTHING if isinstance(shown, UnsetType) else quantity(shown)


def _number(value: float | UnsetType) -> str:
    return NOTHING if isinstance(value, UnsetType) else plain(value)


def _meter(meter: Instrument | UnsetType) -> Iterator[tuple[str, str]]:
    """The meter as its sheet was stated."""
    if isinstance(meter, UnsetType):
        return
    if not isinstance(meter.kind, UnsetType):
        yield "Meter", meter.kind
    for name, within, counts, resolution in (
        ("Volts within", meter.accuracy_percent, meter.counts, meter.voltage_resolution),
        (
            "Amperes within",
            meter.current_accuracy_percent,
            meter.current_counts,
            meter.current_resolution,
        ),
        (
            "Ohms within",
            meter.resistance_accuracy_percent,
            meter.resistance_counts,
            meter.resistance_resolution,
        ),
    ):
        parts = [] if isinstance(within, UnsetType) else [f"{plain(within)} %"]
        parts += [] if isinstance(counts, UnsetType) else [f"{plain(counts)} counts"]
        parts += [] if isinstance(resolution, UnsetType) else [f"of {as_stated(resolution)}"]
        if parts:
            yield name, " ".join(parts)
    if not isinstance(meter.lead_resistance, UnsetType):
        yield "Leads of the ohmmeter", as_stated(meter.lead_resistance)


def _priors(priors: Priors | UnsetType) -> Iterator[tuple[str, str]]:
    """How well the wiring was stated to be known."""
    if isinstance(priors, UnsetType):
        return
    for name, within in (
        ("Lengths within", priors.length_percent),
        ("Fixtures' power within", priors.power_percent),
        ("Supply's resistance within", priors.winding_percent),
        ("Supply's volts within", priors.mains_percent),
        ("Cables' resistance within", priors.resistance_percent),
    ):
        if not isinstance(within, UnsetType):
            yield name, f"{plain(within)} %"
    if (span := given(priors.temperature_span)) is not None:
        yield "Conductors between", f"{temperature(span.lowest)} and {temperature(span.highest)}"
