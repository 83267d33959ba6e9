"""What each place should show in each stage, and what the readings may be off by."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import NamedTuple

from service.circuit.job import JobPart
from service.circuit.state import Connected
from service.circuit.windows import WindowBounds
from service.circuit.work import charge, count
from service.estimation.covariance import columns_of, volts_variances
from service.estimation.jacobian import Linearised, linearised, slopes_at
from service.estimation.job import (
    ALL_ON,
    VOLTAGE,
    MeterSpec,
    ReadingsJob,
    StatedReading,
    SwitchedState,
    Terminal,
)
from service.estimation.measurements import place_readings
from service.estimation.model import AS_THOUGHT, Measurement, Model, ReadState, SolvedModel, read
from service.estimation.probes import Probe, Probes
from service.estimation.uncertainty import COVERAGE, Uncertainty, meter_error
from service.findings.assumptions import AssumptionKind
from service.physics.elimination import PivotNotPositiveError
from service.physics.solve import NoOperatingPointError
from service.physics.tree import is_tree
from service.studies.commissioning_sheet.job import MainsStep
from service.studies.commissioning_sheet.stages import ReadPoint, StageSpec


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


def everything_on(asked: ReadingsJob, connected: Connected, column: MainsStep) -> ReadState:
    """Everything on, at the mains or with the battery of a column."""
    state = _state_of(asked, connected, SwitchedState(ALL_ON, (), column.mains_v))
    return state._replace(supply_ratio=state.supply_ratio * column.battery_ratio)


def read_states(asked: ReadingsJob, model: Model, stage: StageSpec) -> list[ReadState]:
    """A stage in every column, of which the model's own state is the one with everything on.

    Raises
    ------
    WorkOverLimitError
        The request has spent the work that it may ask for.
    """
    connected = model.connected
    charge(len(stage.lit) * len(connected.layout.lines) // COMPARED_OF_WORK)
    switched = _state_of(asked, connected, SwitchedState(stage.on, stage.lit))
    return [each._replace(on=switched.on, shares=switched.shares) for each in model.states]


def _state_of(asked: ReadingsJob, connected: Connected, state: SwitchedState) -> ReadState:
    """The state in which the volts at the terminals would be read."""
    reading = StatedReading(JobPart(""), Terminal(None, None, ""), VOLTAGE, 0.0, state)
    return place_readings(asked._replace(readings=(reading,)), connected).states[0]


FORETOLD = 80
"""Operations of one value, told with what it may be off."""


NUMBERS_OF_WORK = 600
"""Products of numbers that are one unit of work, as in a check of readings."""


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
    places : Places
        Of its layout.
    allowance : Allowance
        What may be off about it.
    instrument : Instrument
    """

    __slots__ = ("_allowance", "_instrument", "_places", "model")

    def __init__(self, model: Model, places: Probes, allowance: Uncertainty, instrument: MeterSpec) -> None:
        self.model, self._places = model, places
        self._allowance, self._instrument = allowance, instrument

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
        try:
            solved = self.model.solved(state)
        except NoOperatingPointError:
            return None
        self.model.spend(len(places))
        count(FORETOLD * len(places))
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
        try:
            solved = self.model.solved(state)
        except NoOperatingPointError:
            return None
        return {row: self._lamp(solved, row)[1] for row in range(len(solved.rows))}

    def _verdict(self, solved: SolvedModel, place: Place) -> str | None:
        """Where a fixture stands in its window, as a voltage drop judges it; None of anything else."""
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
        try:
            line = linearised(model, state, model.near_ideal)
        except (NoOperatingPointError, PivotNotPositiveError):
            return None
        pairs = zip(values, probes, strict=True)
        taken = [self._taken(index, probe, value) for index, (value, probe) in enumerate(pairs)]
        together = [one for one in taken if one.probe.is_voltage and is_tree(line.solved.network)]
        variances = volts_variances(model, line, state, self._allowance, together) if together else []
        known = dict(zip((one.position for one in together), variances, strict=True))
        return [
            COVERAGE * sqrt(known[index] if index in known else self._variance(model, line, one))
            for index, one in enumerate(taken)
        ]

    def _variance(self, model: Model, line: Linearised, one: Measurement) -> float:
        """Variance of one reading, by how it follows everything that may be off. [V²], [A²]"""
        columns = columns_of(model, self._allowance, [one], [slopes_at(model, line, one.probe)])
        model.spend(1 + len(columns) // NUMBERS_OF_WORK)
        return one.own * one.own + sum(column[0] * column[0] for column in columns)

    def _taken(self, index: int, probe: Probe, value: float) -> Measurement:
        error = meter_error(self._instrument, probe.quantity, value)
        return Measurement(index, probe, 0, value, error.own, error.gain)
