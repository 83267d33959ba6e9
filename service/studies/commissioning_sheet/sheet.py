"""The sheet that goes into the garden with a meter: what it should show, and room for what it shows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec import UnsetType

from service.estimation.job import UNITS
from service.sheets.figures import NOTHING, given, plain, quantity
from service.sheets.sections import (
    Request,
    caution_facts,
    closing_sections,
    findings_section,
    head,
    job_section,
    summary_section,
    told_findings,
    verdict_blocks,
)
from service.sheets.sheet import (
    Column,
    Facts,
    Paragraph,
    Section,
    Sheet,
    Table,
    filled,
    numbers,
)
from service.studies.commissioning_sheet.reply import (
    CommissioningSheetReply,
    ExpectedValue,
    MainsColumn,
    MeasuringPoint,
    Stage,
)
from service.studies.commissioning_sheet.request import CommissioningSheetRequest
from service.studies.commissioning_sheet.study import STAGE_CANNOT_BE_CARRIED, WHOLE_WIRING
from service.translate.job import length_unit
from service.wire.summary import Summary

STUDY = "Commissioning sheet"

TO_WRITE_IN = "\N{NO-BREAK SPACE}" * 14
"""An empty cell as wide as a number written by hand."""

NAME_ROOM = 64.0
"""What is left for names, however many columns there are. [pt]"""

USUAL_DIGITS, FINE_DIGITS, FINE = 2, 4, 0.02
"""Two digits, as a meter shows; four where a tolerance is finer than two could tell. [V], [A]"""

INSIDE = "inside"

MARKS = {"low": "*", "below": "**", "above": "**"}

_COLUMN = (
    "Each stage begins with the supply isolated. Take the column of the mains that the supply has while you"
    " read; between two columns the values lie between."
)

_OF_A_BATTERY = (
    "Each stage begins with the supply isolated. Take the column that is nearest to what the bare battery"
    " reads; between two columns the values lie between."
)

_ONE_COLUMN = "Each stage begins with the supply isolated."

_OUTSIDE = (
    " A value outside its tolerance means that something is not as described: stop, isolate, and look for it"
    " before the next stage. The readings check judges each reading by the same tolerance and says what"
    " explains a difference."
)

_PLACES = (
    " Volts of a fixture are those at its splice on the cable, before its lead; its window counts at the"
    " lamp. Amperes are those in one conductor."
)

_MARKED = (
    " Bold rows: even sound wiring leaves that fixture outside its window where a star stands (*: outside"
    " what the trade goes by, **: outside the window itself)."
)


def commissioning_sheet_sheet(request: CommissioningSheetRequest, reply: CommissioningSheetReply) -> Sheet:
    """Cautions first, then stage by stage in the order of the walk, then what it was computed from."""
    cautions, *closing = closing_sections(reply)
    failing = [findings_section(reply.findings, "What cannot be expected")] if reply.findings else []
    levels = [(f"Without load, {each.name}", quantity(each.open_circuit)) for each in reply.mains]
    sections = [
        cautions,
        summary_section(reply.summary),
        *failing,
        *reading_sections(reply),
        job_section(request, *levels),
        *closing,
    ]
    return head(request, STUDY, length_unit(request), filled(sections))


_NUMBERED = " Lamp: its number on the plan."

LampNumbers = Mapping[tuple[str, int], str]
"""Numbers of lamps on the plan of the same job, by pointer and number of a fixture."""


def meter_sheet(
    request: Request,
    reply: CommissioningSheetReply,
    unit: str,
    summary: Summary | None = None,
    lamps: LampNumbers | None = None,
) -> Sheet:
    """The stages alone, to tick off: no codes, and nothing of how it was computed.

    Parameters
    ----------
    request : Request
        With the words for its head.
    reply : CommissioningSheetReply
    unit : str
        Of lengths: feet are read on letter paper, metres on A4.
    summary : Summary, optional
        Of the job itself, where that was judged; else that of the stages.
    lamps : mapping of tuple to str, optional
        As the installer's list numbers them, where there is one.
    """
    failing = [Section("What cannot be expected", [told_findings(reply.findings)])] if reply.findings else []
    assumed = [Paragraph(each.message) for each in reply.assumptions]
    cautions = [each for each in reply.cautions if each.code != "meter-category" or _has_mains(reply)]
    sections = [
        Section("", verdict_blocks(reply.summary if summary is None else summary)),
        Section("Cautions", [caution_facts(cautions)]),
        *failing,
        *reading_sections(reply, lamps),
        Section("Assumptions", assumed),
    ]
    return head(request, STUDY, unit, filled(sections))


def reading_sections(reply: CommissioningSheetReply, lamps: LampNumbers | None = None) -> list[Section]:
    """How to read, and a table to fill in for each stage."""
    numbered = {} if lamps is None else lamps
    several = _COLUMN if _has_mains(reply) else _OF_A_BATTERY
    how = (several if len(reply.mains) > 1 else _ONE_COLUMN) + _OUTSIDE + _PLACES
    if any(_outside(point) for stage in reply.stages for point in stage.test_points):
        how += _MARKED
    if numbered:
        how += _NUMBERED
    by_hand = Facts(
        [(name, TO_WRITE_IN * 3) for name in ("Read by, date", "Meter, its number", "Supply, its number")]
    )
    digits = _digits(reply)
    return [
        Section("What a meter should show", [Paragraph(how), by_hand]),
        *(
            Section(
                f"Stage {stage.number}: {stage.name}",
                list(_stage(stage, reply, digits, numbered)),
            )
            for stage in reply.stages
        ),
    ]


def _stage(
    stage: Stage, reply: CommissioningSheetReply, digits: int, lamps: LampNumbers
) -> Iterator[Paragraph | Table]:
    """What to do and the table to fill in; none of what must not be switched on."""
    yield Paragraph(stage.instruction)
    if not _is_carried(stage, reply):
        return
    mains = reply.mains
    columns = [
        Column("No.", numbers=True),
        *([Column("Lamp", numbers=True)] if lamps else []),
        Column("Where", least=NAME_ROOM),
        Column("Unit", short=True),
        *numbers(*_headings(mains), "Read", "Window [V]"),
    ]
    first = [_mains_row(mains)] if _has_mains(reply) else []
    rows = [_row(point, mains, digits) for point in stage.test_points]
    if lamps:
        names = [*(NOTHING for _ in first), *(_lamp(point, lamps) for point in stage.test_points)]
        numbered = [[row[0], name, *row[1:]] for row, name in zip([*first, *rows], names, strict=True)]
    else:
        numbered = [*first, *rows]
    outside = {len(first) + place for place, point in enumerate(stage.test_points) if _outside(point)}
    yield Table(columns, numbered, frozenset(outside), roomy=True)


def _has_mains(reply: CommissioningSheetReply) -> bool:
    """Whether mains are read: neither those of a battery nor those of a DC supply are."""
    return given(reply.mains[0].mains) is not None


def _lamp(point: MeasuringPoint, lamps: LampNumbers) -> str:
    """The number of the lamp that is read; nothing where no lamp is."""
    pointer = given(point.subject.pointer)
    if pointer is None or given(point.window) is None:
        return NOTHING
    return lamps.get((pointer, given(point.subject.number) or 1), NOTHING)


def _is_carried(stage: Stage, reply: CommissioningSheetReply) -> bool:
    """Whether there is a column in which a stage has an operating point."""
    subject = WHOLE_WIRING if isinstance(stage.subject, UnsetType) else stage.subject.pointer
    refused = {each.subject.pointer for each in reply.findings if each.code == STAGE_CANNOT_BE_CARRIED.code}
    return subject not in refused or any(point.expected for point in stage.test_points)


def _headings(mains: list[MainsColumn]) -> list[str]:
    """What the columns of expected values are called; a single one that no mains rules is just that."""
    single = len(mains) == 1 and isinstance(mains[0].mains, UnsetType)
    return ["Expected"] if single else [column.name for column in mains]


def _mains_row(mains: list[MainsColumn]) -> list[str]:
    """The mains of each column, and room for what they are."""
    shown = [plain(column.mains.value) for column in mains if not isinstance(column.mains, UnsetType)]
    return [NOTHING, "Mains, as you begin", "V", *shown, TO_WRITE_IN, NOTHING]


def _row(point: MeasuringPoint, mains: list[MainsColumn], digits: int) -> list[str]:
    unit = UNITS[point.quantity]
    expected = {each.mains_number: each for each in point.expected}
    cells = [
        _cell(expected[column.number], digits) if column.number in expected else NOTHING for column in mains
    ]
    own_id = given(point.id)
    name = point.name if own_id is None else f"{point.name} [{own_id}]"
    return [str(point.number), name, unit, *cells, TO_WRITE_IN, _window(point)]


def _cell(expected: ExpectedValue, digits: int) -> str:
    value, tolerance = expected.value.value, expected.tolerance.value
    mark = MARKS.get(given(expected.verdict) or INSIDE, "")
    return f"{value + 0.0:.{digits}f} ±\N{NO-BREAK SPACE}{tolerance:.{digits}f}{mark}"


def _window(point: MeasuringPoint) -> str:
    window = given(point.window)
    if window is None:
        return NOTHING
    return f"{plain(window.minimum.value)} to\N{NO-BREAK SPACE}{plain(window.maximum.value)}"


def _outside(point: MeasuringPoint) -> bool:
    return any(given(each.verdict) in MARKS for each in point.expected)


def _digits(reply: CommissioningSheetReply) -> int:
    tolerances = [
        each.tolerance.value
        for stage in reply.stages
        for point in stage.test_points
        for each in point.expected
    ]
    return FINE_DIGITS if min(tolerances, default=1.0) < FINE else USUAL_DIGITS
