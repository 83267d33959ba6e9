"""Commissioning sheet: the request into a job, the answer into a reply and its words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from msgspec import UNSET, UnsetType

from service.circuit.job import Graph, JobPart
from service.circuit.state import Connected
from service.circuit.windows import WindowBounds
from service.estimation.job import LISTED, UNITS, VOLTAGE, Terminal
from service.estimation.translate import instrument_of, priors_of
from service.findings.finding import NOTE, FindingFacts
from service.findings.rows import closing, finding_row
from service.findings.summary import (
    FAILS,
    PASSES,
    VERDICT_WORDS,
    WITH_WARNINGS,
    gravest_first,
    grouped,
    short_summary,
    verdict_of,
)
from service.intake.words import listed
from service.physics.network import TERMINAL
from service.studies.commissioning_sheet.reply import (
    CommissioningSheetReply,
    ExpectedValue,
    FixtureWindow,
    MainsColumn,
    MeasuringPoint,
    PlaceToRead,
    Stage,
)
from service.studies.commissioning_sheet.request import CommissioningSheetRequest
from service.studies.commissioning_sheet.stages import (
    AS_DESCRIBED,
    AT_MAINS,
    FIXTURE,
    HIGHEST_BATTERY,
    LOWEST_BATTERY,
    NOMINAL_BATTERY,
    CommissioningJob,
    MainsStep,
    ReadPoint,
    StageSpec,
)
from service.studies.commissioning_sheet.study import (
    CommissioningAnswer,
    Expected,
    StageAnswer,
    stage_finding,
)
from service.translate.job import described_job, length_unit
from service.translate.naming import PlaceNames
from service.translate.rounding import DECIMALS
from service.translate.rows import subject_row
from service.translate.wiring import amount
from service.wire.job import JobRequest
from service.wire.quantities import ShownQuantity, ShownVoltage
from service.wire.readings import NextState
from service.wire.reply import Subject

STAGE_NAMES: Final[dict[str, str]] = {
    "no-load": "Nothing connected",
    "run-alone": "{run} alone",
    "all-on": "Everything on",
}

INSTRUCTIONS: Final[dict[str, str]] = {
    "no-load": "Switch the supply off and isolate it. Take every run off its terminals. Switch on and"
    " read the bare terminals.",
    "run-alone": "Switch the supply off and isolate it. Connect {run} alone and tighten its terminals;"
    " leave every other run off. Switch on, see that every fixture of it is lit, and read from the terminals"
    " outwards.",
    "all-on": "Switch the supply off and isolate it. Connect every run and tighten all terminals."
    " Switch on, see that every fixture is lit, and read from the terminals outwards, run by run.",
}

NOT_TO_BE_SWITCHED_ON: Final[dict[str, str]] = {
    "run-alone": "Do not switch {run} on, alone or with others, and read nothing here: the wiring as"
    " described cannot carry it. Put lengths, sizes and watts right first.",
    "all-on": "Do not switch everything on, and read nothing here: the wiring as described cannot carry it."
    " Put lengths, sizes and watts right first.",
}
"""In place of the instruction of a stage that has no operating point in any column."""


PLACES: Final[dict[str, str]] = {
    "terminals": "Terminals",
    "tap": "Terminals, {tap} tap",
    "leaving": "Terminals, all that leaves",
    "leaving-tap": "Terminals, all on the {tap} tap",
    "circuit": 'Terminals, circuit "{circuit}"',
    "start": "Start of {run}",
    "span": "Cable from {start} to {end}",
    "end": "Far end of {run}",
}

COLUMNS: Final[dict[str, str]] = {
    AT_MAINS: "{mains} mains",
    AS_DESCRIBED: "as described",
    LOWEST_BATTERY: "battery lowest",
    NOMINAL_BATTERY: "battery nominal",
    HIGHEST_BATTERY: "battery highest",
}


def job_of(request: CommissioningSheetRequest) -> CommissioningJob:
    """What a request asks to be predicted."""
    mains = request.mains
    return CommissioningJob(
        circuit=described_job(request),
        instrument=instrument_of(request.instrument),
        priors=priors_of(request.priors),
        mains_v=None if isinstance(mains, UnsetType) else tuple(amount(each) for each in mains),
        every=request.points == "every",
    )


def as_described(request: JobRequest) -> CommissioningJob:
    """Key places of a job at the mains that it says, with a usual meter."""
    job = described_job(request)
    mains_v = () if job.supply.mains is None else (job.supply.mains.actual_v,)
    return CommissioningJob(job, instrument_of(UNSET), priors_of(UNSET), mains_v, every=False)


def reply_of(request: JobRequest, answer: CommissioningAnswer, sha256: str) -> CommissioningSheetReply:
    """The reply to a request; `sha256` is of the request as it came."""
    rows = _Rows(answer, length_unit(request))
    stages, findings = list(rows.stages()), gravest_first(rows.findings())
    verdict = _verdict(stages, findings)
    return CommissioningSheetReply(
        short_summary(verdict, findings, rows.naming, _in_short(verdict, stages, findings, rows.naming)),
        list(rows.columns()),
        stages,
        [finding_row(finding, rows.naming) for finding in findings],
        **closing(answer.assumptions, answer.sources, sha256=sha256, caller_id=request.id, meter=True),
    )


def _verdict(stages: list[Stage], findings: list[FindingFacts]) -> str:
    """By what cannot be carried, and by where the lamps are expected to be."""
    expected = {value.verdict for stage in stages for point in stage.test_points for value in point.expected}
    found = verdict_of(findings)
    if found == FAILS or expected & {"below", "above"}:
        return FAILS
    return WITH_WARNINGS if found == WITH_WARNINGS or expected & {"low", "high"} else PASSES


def _in_short(verdict: str, stages: list[Stage], findings: list[FindingFacts], naming: PlaceNames) -> str:
    """How much there is to read; before that what does not pass."""
    places = sum(len(stage.test_points) for stage in stages)
    counted = f"{places} readings in {len(stages)} stages."
    if verdict == PASSES:
        return counted
    grave = [group.message for group in grouped(findings, naming) if group.severity != NOTE]
    outside = {
        point.name: None
        for stage in stages
        for point in stage.test_points
        if any(value.verdict in OUTSIDE for value in point.expected)
    }
    if outside:
        more = len(outside) - MOST_NAMED
        named = [*list(outside)[:MOST_NAMED], *([f"{more} more"] if more > 0 else [])]
        grave.append(f"Expected outside their voltage range: {listed(named, 'and')}.")
    return " ".join([VERDICT_WORDS[verdict], *grave[:MOST_NAMED], counted])


OUTSIDE: Final = frozenset({"below", "above", "low", "high"})
"""What is expected of a lamp that its window does not hold, or that common practice warns of."""


MOST_NAMED: Final = 3
"""So many places, and so many faults, are named in short."""


class _Rows:
    """Writes the rows of one reply."""

    def __init__(self, answer: CommissioningAnswer, unit: str) -> None:
        connected = answer.model.connected
        self._answer, self._connected = answer, connected
        self.naming = PlaceNames(connected.layout, unit)
        self._words = StageWords(connected, self.naming)
        self._number = 0

    def columns(self) -> Iterator[MainsColumn]:
        """One for each state behind the supply."""
        both = zip(self._answer.columns, self._answer.open_circuit_v, strict=True)
        for number, (column, open_circuit_v) in enumerate(both, 1):
            mains = UNSET if column.mains_v is None else ShownVoltage(column.mains_v, "V")
            yield MainsColumn(number, self._words.column(column), _volts(open_circuit_v), mains)

    def stages(self) -> Iterator[Stage]:
        """One for each state of the switches; places are numbered through all of them."""
        for number, answer in enumerate(self._answer.stages, 1):
            stage = answer.stage
            yield Stage(
                number,
                stage.code,
                self._words.stage(stage),
                self._words.instruction(stage, carried=not answer.never_carried),
                _state(stage),
                [self._point(answer, place, point) for place, point in enumerate(stage.points)],
                UNSET if stage.part is None else subject_row(stage.part.subject),
            )

    def findings(self) -> Iterator[FindingFacts]:
        """What cannot be predicted, stage by stage."""
        for answer in self._answer.stages:
            found = stage_finding(answer)
            if found is not None:
                names = [self._words.column(self._answer.columns[place]) for place in answer.empty]
                at = "" if answer.never_carried else f" at {listed(names, 'and')}"
                parameters = (("where", self._words.stage(answer.stage)), ("name", at))
                yield found._replace(parameters=parameters)

    def _point(self, answer: StageAnswer, place: int, point: ReadPoint) -> MeasuringPoint:
        self._number += 1
        columns = enumerate(answer.columns, 1)
        return MeasuringPoint(
            self._number,
            self._words.place(point),
            _subject(point),
            point.quantity,
            [_expected(number, column[place], point) for number, column in columns if column is not None],
            UNSET if point.subject.id is None else point.subject.id,
            UNSET if point.row is None else _window(self._answer.bounds[point.row]),
        )


def _expected(number: int, expected: Expected, point: ReadPoint) -> ExpectedValue:
    unit = UNITS[point.quantity]
    return ExpectedValue(
        number,
        ShownQuantity(round(expected.value, DECIMALS[unit]), unit),
        ShownQuantity(round(expected.tolerance, DECIMALS[unit]), unit),
        UNSET if expected.verdict is None else expected.verdict,
    )


def _window(bounds: WindowBounds) -> FixtureWindow:
    return FixtureWindow(_volts(bounds.low_v), _volts(bounds.highest_v))


def _volts(value_v: float) -> ShownVoltage:
    return ShownVoltage(round(value_v, DECIMALS["V"]), "V")


def _subject(point: ReadPoint) -> PlaceToRead:
    """The place as a reading names it."""
    where = point.where
    if isinstance(where, Terminal):
        tap = UNSET if where.tap_v is None else ShownVoltage(where.tap_v, "V")
        return PlaceToRead("terminal", tap=tap, circuit=UNSET if where.circuit is None else where.circuit)
    return PlaceToRead("wired", where.pointer, UNSET if where.number is None else where.number)


def _state(stage: StageSpec) -> NextState:
    """The state as a reading names it, but for the mains."""
    lit = [Subject(part.pointer) for part in stage.lit] if stage.on == LISTED else UNSET
    return NextState(stage.on, lit)


class StageWords:
    """Finds the words of one sheet.

    Parameters
    ----------
    connected : Connected
    naming : PlaceNames
    """

    __slots__ = ("_connected", "_graph", "_spans", "naming")

    def __init__(self, connected: Connected, naming: PlaceNames) -> None:
        self._connected, self.naming = connected, naming
        self._graph = isinstance(connected.job.wiring, Graph)
        spans = connected.layout.spans
        self._spans = {span.subject.pointer: span for span in spans} if self._graph else {}

    def column(self, column: MainsStep) -> str:
        """What a column is for."""
        mains = "" if column.mains_v is None else f"{column.mains_v:.12g} V"
        return COLUMNS[column.code].format(mains=mains)

    def stage(self, stage: StageSpec) -> str:
        """The name of a stage."""
        return self.naming.capital(STAGE_NAMES[stage.code].format(run=self._part(stage)))

    def instruction(self, stage: StageSpec, *, carried: bool = True) -> str:
        """What to do before reading, or that nothing may be switched on."""
        words = INSTRUCTIONS if carried else NOT_TO_BE_SWITCHED_ON
        return words[stage.code].format(run=self._part(stage))

    def place(self, point: ReadPoint) -> str:
        """The name of a place to read."""
        where = point.where
        if isinstance(where, Terminal):
            return self._terminal(where, point.quantity)
        if point.kind == FIXTURE:
            return self.naming.capital(self.naming.fixture_at(point.subject))
        if self._graph:
            return self._span(where.pointer)
        return PLACES[point.kind].format(run=self._run(JobPart(where.pointer)))

    def _terminal(self, where: Terminal, quantity: str) -> str:
        tap = "" if where.tap_v is None else f"{where.tap_v:.12g} V"
        if where.circuit is not None:
            return PLACES["circuit"].format(circuit=where.circuit)
        if quantity == VOLTAGE:
            return PLACES["tap" if tap else "terminals"].format(tap=tap)
        return PLACES["leaving-tap" if tap else "leaving"].format(tap=tap)

    def _part(self, stage: StageSpec) -> str:
        """What alone is connected: a run, or all cables of a graph that lead from the supply to one part."""
        if stage.part is None:
            return ""
        if not self._graph:
            return self._run(stage.part.subject)
        spans = [self._spans[start.pointer] for start in stage.part.starts]
        ends = [self.naming.points[span.start + span.end - TERMINAL] for span in spans]
        return f"the cable{'s' if len(ends) > 1 else ''} to {listed(ends, 'and')}"

    def _run(self, subject: JobPart) -> str:
        """What a run is called."""
        name = self.naming.run(subject)
        return name if name.startswith(("run ", "the ")) else f'"{name}"'

    def _span(self, pointer: str) -> str:
        span, names = self._spans[pointer], self.naming.points
        return PLACES["span"].format(start=names[span.start], end=names[span.end])
