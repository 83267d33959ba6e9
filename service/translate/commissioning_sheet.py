"""Commissioning sheet: a request into a job to predict, the predictions into a reply."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service import tables
from service.messages.commissioning_sheet import (
    CommissioningSheetReply,
    ExpectedValue,
    FixtureWindow,
    MainsColumn,
    MeasuringPoint,
    PlaceToRead,
    Stage,
)
from service.messages.readings_check import NextState
from service.messages.reply import Subject
from service.messages.shown import ShownQuantity, ShownVoltage
from service.studies.commissioning.asked import CommissioningJob
from service.studies.commissioning.notes import stage_finding
from service.studies.readings.asked import LISTED, VOLTAGE, Terminal
from service.studies.version import CALCULATION_VERSION
from service.translate.commissioning_words import Wording
from service.translate.finding import (
    CAUTION_ROWS,
    READING_CAUTION_ROWS,
    assumption_rows,
    finding_row,
    source_rows,
    subject_row,
)
from service.translate.fixture import amount
from service.translate.job import job_of, length_unit
from service.translate.naming import Naming
from service.translate.readings_check import instrument_of, priors_of
from service.translate.rounding import DECIMALS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from service.messages.commissioning_sheet import CommissioningSheetRequest
    from service.messages.job import JobRequest
    from service.messages.reply import Finding
    from service.studies.commissioning.asked import CommissioningAnswer, Expected, StageAnswer
    from service.studies.commissioning.stages import ReadPoint
    from service.studies.commissioning.stages import Stage as StudiedStage
    from service.studies.window import Bounds


def asked_of(request: CommissioningSheetRequest) -> CommissioningJob:
    """What a request asks to be predicted."""
    mains = request.mains
    return CommissioningJob(
        job=job_of(request),
        instrument=instrument_of(request.instrument),
        priors=priors_of(request.priors),
        mains_v=None if isinstance(mains, UnsetType) else tuple(amount(each) for each in mains),
        every=request.points == "every",
    )


def as_described(request: JobRequest) -> CommissioningJob:
    """Key places of a job at the mains that it says, with a usual meter."""
    job = job_of(request)
    mains_v = () if job.supply.mains is None else (job.supply.mains.actual_v,)
    return CommissioningJob(job, instrument_of(UNSET), priors_of(UNSET), mains_v, every=False)


def reply_of(request: JobRequest, answer: CommissioningAnswer, sha256: str) -> CommissioningSheetReply:
    """The reply to a request; `sha256` is of the request as it came."""
    rows = _Rows(answer, length_unit(request))
    return CommissioningSheetReply(
        list(rows.columns()),
        list(rows.stages()),
        list(rows.findings()),
        assumption_rows(answer.assumptions),
        source_rows(answer.sources),
        [*CAUTION_ROWS, *READING_CAUTION_ROWS],
        CALCULATION_VERSION,
        tables.TABLES_VERSION,
        sha256,
        request.id,
    )


class _Rows:
    """Writes the rows of one reply."""

    def __init__(self, answer: CommissioningAnswer, unit: str) -> None:
        connected = answer.model.connected
        self._answer, self._connected = answer, connected
        self._naming = Naming(connected.layout, unit)
        self._wording = Wording(connected, self._naming)
        self._number = 0

    def columns(self) -> Iterator[MainsColumn]:
        """One for each state behind the supply."""
        both = zip(self._answer.columns, self._answer.open_circuit_v, strict=True)
        for number, (column, open_circuit_v) in enumerate(both, 1):
            mains = UNSET if column.mains_v is None else ShownVoltage(column.mains_v, "V")
            yield MainsColumn(number, self._wording.column(column), _volts(open_circuit_v), mains)

    def stages(self) -> Iterator[Stage]:
        """One for each state of the switches; places are numbered through all of them."""
        for number, answer in enumerate(self._answer.stages, 1):
            stage = answer.stage
            yield Stage(
                number,
                stage.code,
                self._wording.stage(stage),
                self._wording.instruction(stage),
                _state(stage),
                [self._point(answer, place, point) for place, point in enumerate(stage.points)],
                UNSET if stage.part is None else subject_row(stage.part.subject),
            )

    def findings(self) -> Iterator[Finding]:
        """What cannot be predicted, stage by stage."""
        for answer in self._answer.stages:
            found = stage_finding(answer)
            if found is not None:
                names = [self._wording.column(self._answer.columns[place]) for place in answer.empty]
                told = (("where", self._wording.stage(answer.stage)), ("name", ", ".join(names)))
                yield finding_row(found._replace(parameters=told), self._naming)

    def _point(self, answer: StageAnswer, place: int, point: ReadPoint) -> MeasuringPoint:
        self._number += 1
        columns = enumerate(answer.columns, 1)
        return MeasuringPoint(
            self._number,
            self._wording.place(point),
            _subject(point),
            point.quantity,
            [_expected(number, column[place], point) for number, column in columns if column is not None],
            UNSET if point.subject.id is None else point.subject.id,
            UNSET if point.row is None else _window(self._answer.bounds[point.row]),
        )


def _expected(number: int, expected: Expected, point: ReadPoint) -> ExpectedValue:
    unit = "V" if point.quantity == VOLTAGE else "A"
    return ExpectedValue(
        number,
        ShownQuantity(round(expected.value, DECIMALS[unit]), unit),
        ShownQuantity(round(expected.tolerance, DECIMALS[unit]), unit),
        UNSET if expected.verdict is None else expected.verdict,
    )


def _window(bounds: Bounds) -> FixtureWindow:
    return FixtureWindow(_volts(bounds.low_v), _volts(bounds.high_v))


def _volts(value_v: float) -> ShownVoltage:
    return ShownVoltage(round(value_v, DECIMALS["V"]), "V")


def _subject(point: ReadPoint) -> PlaceToRead:
    """The place as a reading names it."""
    where = point.where
    if isinstance(where, Terminal):
        tap = UNSET if where.tap_v is None else ShownVoltage(where.tap_v, "V")
        return PlaceToRead("terminal", tap=tap, circuit=UNSET if where.circuit is None else where.circuit)
    return PlaceToRead("wired", where.pointer, UNSET if where.number is None else where.number)


def _state(stage: StudiedStage) -> NextState:
    """The state as a reading names it, but for the mains."""
    lit = [Subject(part.pointer) for part in stage.lit] if stage.on == LISTED else UNSET
    return NextState(stage.on, lit)
