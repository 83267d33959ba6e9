"""What a meter should show, place by place, from bare terminals to everything on.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import Final, NamedTuple

from service import tables
from service.circuit.corners import USUAL_MAINS
from service.circuit.estimate import (
    KEY_PLACES,
    OF_THE_SUPPLY,
    Estimate,
    Size,
    estimate_of,
    refuse_over_limit,
    size_of,
)
from service.circuit.job import Graph, JobPart, RunSpec
from service.circuit.state import Connected, connect_job
from service.circuit.windows import WindowBounds
from service.circuit.work import charge, count
from service.estimation.covariance import WORK_OF_PRODUCTS, columns_of, volts_variances, work_of_tree
from service.estimation.jacobian import Linearised, linearised, sensitivities_at, work_of_sensitivities
from service.estimation.job import (
    ALL_ON,
    CURRENT,
    VOLTAGE,
    MeterSpec,
    ReadingsJob,
    StatedReading,
    SwitchedState,
    Terminal,
)
from service.estimation.measurements import place_readings
from service.estimation.model import (
    AS_THOUGHT,
    Measurement,
    Model,
    ReadState,
    SolvedModel,
    model_of,
    read,
    work_of_solve,
)
from service.estimation.probes import Probe, Probes
from service.estimation.uncertainty import (
    COVERAGE,
    MAINS_SET_ASIDE,
    ONE_CAUSE,
    SUPPLY_COMMON,
    Uncertainty,
    assumptions_of_readings,
    meter_error,
    sources_of_readings,
    uncertainty_of,
)
from service.findings.assumptions import BATTERY_NOMINAL, OUTLET, WINDOW_DEFAULT, AssumptionKind
from service.findings.finding import FAULT, WARNING, FindingFacts, FindingKind
from service.physics.tree import is_tree
from service.studies.commissioning_sheet.stages import (
    CommissioningJob,
    MainsStep,
    ReadPoint,
    StageSpec,
    follows_mains,
    mains_columns,
    stages_of,
    steps_assumed,
)


class Expected(NamedTuple):
    """What the meter should show [V] or [A], expanded uncertainty, and where the lamp then stands."""

    value: float
    tolerance: float
    verdict: str | None


class StageAnswer(NamedTuple):
    """A stage with what is expected: a list for each column, one for each place; None: not to be predicted.

    `averaged`: because the meter averages what is no sine.
    """

    stage: StageSpec
    columns: list[list[Expected] | None]
    averaged: bool = False

    @property
    def empty(self) -> list[int]:
        """The columns without values."""
        return [place for place, column in enumerate(self.columns) if column is None]

    @property
    def never_carried(self) -> bool:
        """Whether it has no operating point in any column: it must not be switched on."""
        return not self.averaged and len(self.empty) == len(self.columns)


class CommissioningAnswer(NamedTuple):
    """The sheet; `open_circuit_v` are of the secondary, one for each column [V]; `bounds` by row."""

    model: Model
    columns: list[MainsStep]
    open_circuit_v: list[float]
    stages: list[StageAnswer]
    bounds: list[WindowBounds]
    assumptions: list[AssumptionKind]
    sources: list[str]


COMPARED_OF_WORK = 2_000
"""Pointers compared that are one unit of work."""


def everything_on(job: ReadingsJob, connected: Connected, column: MainsStep) -> ReadState:
    """Everything on, at the mains or with the battery of a column."""
    state = _state_of(job, connected, SwitchedState(ALL_ON, (), column.mains_v))
    return state._replace(supply_ratio=state.supply_ratio * column.battery_ratio)


def read_states(job: ReadingsJob, model: Model, stage: StageSpec) -> list[ReadState]:
    """A stage in every column, of which the model's own state is the one with everything on.

    Raises
    ------
    WorkOverLimitError
        The request has spent the work that it may ask for.
    """
    connected = model.connected
    charge(len(stage.lit) * len(connected.layout.lines) // COMPARED_OF_WORK)
    switched = _state_of(job, connected, SwitchedState(stage.on, stage.lit))
    return [each._replace(on=switched.on, shares=switched.shares) for each in model.states]


def _state_of(job: ReadingsJob, connected: Connected, state: SwitchedState) -> ReadState:
    """The state in which the volts at the terminals would be read."""
    reading = StatedReading(JobPart(""), Terminal(None, None, ""), VOLTAGE, 0.0, state)
    return place_readings(job._replace(readings=(reading,)), connected).states[0]


PREDICTED = 80
"""Operations of one value with its tolerance."""


class Place(NamedTuple):
    """What a meter reads, and the window of the fixture of which it reads it."""

    probe: Probe
    bounds: WindowBounds | None


class Meter:
    """Predicts what a meter shows.

    Parameters
    ----------
    model : Model
        The wiring in all states.
    places : Probes
        Of its layout.
    uncertainty : Uncertainty
        What may be off about it.
    instrument : MeterSpec
    """

    __slots__ = ("_instrument", "_places", "_uncertainty", "model")

    def __init__(self, model: Model, places: Probes, uncertainty: Uncertainty, instrument: MeterSpec) -> None:
        self.model, self._places = model, places
        self._uncertainty, self._instrument = uncertainty, instrument

    def averages(self, state: ReadState) -> bool:
        """Whether the meter averages, and what is lit draws a current of which that says nothing."""
        return self._instrument.averaging and any(
            load.non_active_var or load.non_active_a
            for row in self.model.lit(state, AS_THOUGHT)
            for _, load in row
        )

    def places(self, points: list[ReadPoint], bounds: list[WindowBounds]) -> list[Place]:
        """Some places to read on this wiring; `bounds` are the windows of all fixture rows of the job."""
        readings = [StatedReading(point.subject, point.where, point.quantity, 0.0, None) for point in points]
        probes = [self._places.probe(reading) for reading in readings]
        return [
            Place(probe, None if point.row is None else bounds[point.row])
            for point, probe in zip(points, probes, strict=True)
            if probe is not None
        ]

    def expected(self, places: list[Place], state: ReadState) -> list[Expected] | None:
        """What is expected at some places in one state; None where it cannot be carried.

        Raises
        ------
        WorkOverLimitError
            The request has spent the work that it may ask for.
        """
        solved = self.model.solved(state)
        if solved is None:
            return None
        self.model.spend(len(places))
        count(PREDICTED * len(places))
        values = [read(solved, place.probe) for place in places]
        tolerances = self._tolerances(values, [place.probe for place in places], state)
        if tolerances is None:
            return None
        return [
            Expected(value, tolerance, self._verdict(solved, place))
            for place, value, tolerance in zip(places, values, tolerances, strict=True)
        ]

    def lamp_volts(self, state: ReadState) -> dict[int, float] | None:
        """Volts at each fixture row in one state, of a strip at its far end; None where not carried. [V]"""
        solved = self.model.solved(state)
        if solved is None:
            return None
        return {row: self._lamp(solved, row)[1] for row in range(len(solved.rows))}

    def _verdict(self, solved: SolvedModel, place: Place) -> str | None:
        """The verdict of a fixture in its window, as a voltage drop judges it; None of anything else."""
        row, bounds = place.probe.row, place.bounds
        if row is None or bounds is None:
            return None
        lamp_v, far_v = self._lamp(solved, row)
        return bounds.verdict(bounds.judged_v(lamp_v, far_v))

    def _lamp(self, solved: SolvedModel, row: int) -> tuple[float, float]:
        """Volts at a lamp, behind its lead, and at its far end. [V]"""
        placed = self.model.connected.layout.fixtures[row]
        probe = self._places.fixture_probe(row, VOLTAGE)
        return (
            read(solved, probe._replace(point=placed.lamp_point)),
            read(solved, probe._replace(point=placed.far_point)),
        )

    def _tolerances(self, values: list[float], probes: list[Probe], state: ReadState) -> list[float] | None:
        """Expanded uncertainty of each reading by itself; None at the nose. [V], [A]

        On a tree all volts are followed at once, else each reading by itself.
        """
        model = replace(self.model, states=[state])
        line = linearised(model, state, model.near_ideal)
        if line is None:
            return None
        pairs = zip(values, probes, strict=True)
        measurements = [self._measurement(index, probe, value) for index, (value, probe) in enumerate(pairs)]
        together = [one for one in measurements if one.probe.is_voltage and is_tree(line.solved.network)]
        variances = volts_variances(model, line, state, self._uncertainty, together) if together else []
        known = dict(zip((one.position for one in together), variances, strict=True))
        return [
            COVERAGE * sqrt(known[index] if index in known else self._variance(model, line, one))
            for index, one in enumerate(measurements)
        ]

    def _variance(self, model: Model, line: Linearised, one: Measurement) -> float:
        """Variance of one reading, by how it follows everything that may be off. [V²], [A²]"""
        columns = columns_of(model, self._uncertainty, [one], [sensitivities_at(model, line, one.probe)])
        model.spend(1 + len(columns) // WORK_OF_PRODUCTS)
        return one.own * one.own + sum(column[0] * column[0] for column in columns)

    def _measurement(self, index: int, probe: Probe, value: float) -> Measurement:
        error = meter_error(self._instrument, probe.quantity, value)
        return Measurement(index, probe, 0, value, error.own, error.gain)


def commissioning_sheet_work(job: CommissioningJob) -> Estimate:
    """Of a sheet: each stage in each column."""
    one = work_of_column(job)
    return estimate_of(len(mains_columns(job, work=one)) * one, 0)


def work_of_column(job: CommissioningJob) -> int:
    """Work of one column of a sheet: nothing on, each run alone, everything on, and what is read in each."""
    circuit = job.circuit
    size = size_of(circuit)
    places = size.ends + (size.rows if job.every else KEY_PLACES * size.feeders)
    whole = _stage_work(size, volts=places, amperes=OF_THE_SUPPLY + size.feeders)
    stages = (
        whole
        + _stage_work(size, volts=OF_THE_SUPPLY, amperes=0)
        + work_of_solve(size.effort, turned=size.turned)
    )
    if size.feeders <= 1:
        return stages
    if isinstance(circuit.wiring, Graph):
        # Nobody can take a graph apart: what is off stays in the circuit.
        return stages + size.feeders * (whole - size.rows) + size.rows
    alone = (size_of(circuit._replace(wiring=(run,))) for run in circuit.wiring)
    return stages + sum(_run_work(each, every=job.every) for each in alone)


def _run_work(size: Size, *, every: bool) -> int:
    """Work of one run alone on."""
    places = size.ends + (size.rows if every else KEY_PLACES)
    return _stage_work(size, volts=1 + places, amperes=1)


def _stage_work(size: Size, *, volts: int, amperes: int) -> int:
    """Work of one stage in one column: solved for the values and for what they may be off."""
    followed = work_of_sensitivities(size.effort, turned=size.turned)
    variances = volts * followed if size.looped else work_of_tree(size.points, turned=size.turned)
    solved = 2 * work_of_solve(size.effort, turned=size.turned)
    return solved + variances + amperes * (1 + followed) + volts + amperes


def commissioning_sheet(job: CommissioningJob) -> CommissioningAnswer:
    """Predict what is read in each stage.

    Raises
    ------
    JobTooLargeError, WiringContradictoryError, WorkOverLimitError
        As of any job.
    """
    refuse_over_limit(commissioning_sheet_work(job))
    circuit = job.circuit._replace(corners=None, maximum_drop_ratio=None)
    readings = ReadingsJob(circuit, job.instrument, job.priors, ())
    uncertainty = uncertainty_of(readings)
    connected = connect_job(circuit._replace(temperature_c=uncertainty.temperature_c))
    columns = mains_columns(job, work=work_of_column(job))
    prediction = _Prediction(readings, uncertainty, columns)
    meter = prediction.meter(connected)
    bounds = [connected.bounds(placed.line) for placed in connected.layout.fixtures]
    stages = stages_of(connected, lowest=_lowest(meter), every=job.every)
    return CommissioningAnswer(
        model=meter.model,
        columns=columns,
        open_circuit_v=[connected.feed.open_circuit_v[0] * each.supply_ratio for each in meter.model.states],
        stages=[prediction.answer(meter, stage, bounds) for stage in stages],
        bounds=bounds,
        assumptions=assumptions_made(job, readings, meter.model, bounds),
        sources=sources_used(job, meter.model, bounds),
    )


class _Prediction(NamedTuple):
    """What all stages have in common."""

    readings: ReadingsJob
    uncertainty: Uncertainty
    columns: list[MainsStep]

    def meter(self, connected: Connected) -> Meter:
        """A meter for some wiring, with everything on in every column."""
        lit = [everything_on(self.readings, connected, column) for column in self.columns]
        model = model_of(connected, lit)
        return Meter(model, Probes(connected), self.uncertainty, self.readings.instrument)

    def answer(self, whole: Meter, stage: StageSpec, bounds: list[WindowBounds]) -> StageAnswer:
        """What is expected in one stage, column by column; nothing of a meter that cannot be predicted."""
        meter = whole if stage.alone is None else self.meter(self._alone(stage.alone))
        states = read_states(self.readings, meter.model, stage)
        if meter.averages(states[0]):
            return StageAnswer(stage, [None] * len(states), averaged=True)
        places = meter.places(stage.points, bounds)
        return StageAnswer(stage, [meter.expected(places, state) for state in states])

    def _alone(self, run: RunSpec) -> Connected:
        """One run on the supply, and nothing else: what is not connected is not solved either."""
        temperature_c = self.uncertainty.temperature_c
        return connect_job(self.readings.circuit._replace(wiring=(run,), temperature_c=temperature_c))


def _lowest(meter: Meter) -> dict[int, float] | None:
    """Volts at every fixture with everything on, at the least volts that carry it. [V]"""
    by_volts = sorted(meter.model.states, key=lambda state: state.supply_ratio)
    found = (meter.lamp_volts(state) for state in by_volts)
    return next((volts for volts in found if volts is not None), None)


OF_THE_SEARCH: Final = frozenset({BATTERY_NOMINAL, ONE_CAUSE, SUPPLY_COMMON, MAINS_SET_ASIDE})
"""Assumptions of a check of readings that belong to its search or its one state, not to every column."""

WHOLE_WIRING: Final = "/wiring"
"""What a stage is about that is no run of its own."""


STAGE_CANNOT_BE_CARRIED: Final = FindingKind(
    "stage-cannot-be-carried",
    (FAULT,),
    "{where}: too much load for the wiring as described{name}, so nothing is expected there. Do not switch"
    " it on before lengths, sizes and watts are put right.",
    "The wiring as described has no operating point in a stage of the sheet.",
)

STAGE_NEEDS_TRUE_RMS: Final = FindingKind(
    "stage-needs-true-rms",
    (WARNING,),
    "{where}: the lamps draw a distorted current. What an averaging meter shows then cannot be"
    " predicted: use a true-RMS meter.",
    "An averaging meter is to read alternating current with loads of a low power factor.",
)


def stage_finding(answer: StageAnswer) -> FindingFacts | None:
    """Why a stage has no values in some columns; None where it has them all."""
    if not answer.empty:
        return None
    part = answer.stage.part
    subject = JobPart(WHOLE_WIRING) if part is None else part.subject
    if answer.averaged:
        return STAGE_NEEDS_TRUE_RMS.found(subject, "own-calculation")
    return STAGE_CANNOT_BE_CARRIED.found(subject, "own-calculation")


MAINS_OUTLET_STEPS: Final = AssumptionKind(
    "mains-outlet-steps",
    "No mains voltages were asked for: the columns are even steps through what is usual at an outlet,"
    f" {OUTLET} (ANSI C84.1 range A, utilisation), scaled to the rated primary.",
)

MAINS_NOT_SCALABLE: Final = AssumptionKind(
    "mains-not-scalable",
    "The no-load voltage was measured, the mains at that moment were not: it cannot be scaled to other"
    " mains, so there is one column, for the mains as they were then.",
)


def assumptions_made(
    job: CommissioningJob, readings: ReadingsJob, model: Model, bounds: list[WindowBounds]
) -> list[AssumptionKind]:
    """The assumptions: those of a check of the very readings, and of the columns."""
    both = tuple(
        StatedReading(JobPart(""), Terminal(None, None, ""), quantity, 0.0, None)
        for quantity in (VOLTAGE, CURRENT)
    )
    held = {
        WINDOW_DEFAULT: any(not each.stated for each in bounds),
        MAINS_OUTLET_STEPS: steps_assumed(job),
        MAINS_NOT_SCALABLE: not job.circuit.supply.direct_current and not follows_mains(job.circuit.supply),
        MAINS_SET_ASIDE: job.circuit.supply.direct_current and bool(job.mains_v),
    }
    shared = assumptions_of_readings(readings._replace(readings=both), model)
    return [
        *(kind for kind in shared if kind not in OF_THE_SEARCH),
        *(kind for kind, holds in held.items() if holds),
    ]


def sources_used(job: CommissioningJob, model: Model, bounds: list[WindowBounds]) -> list[str]:
    """Ids of the sources of the wiring's numbers, of the windows, and of the range of the mains."""
    windows = [each.source for each in bounds]
    ranges = [tables.mains_range(USUAL_MAINS).source] if steps_assumed(job) else []
    return [*sources_of_readings(model), *windows, *ranges]
