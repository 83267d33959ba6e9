"""What a meter should show, and within what: the model and the uncertainties by which readings are judged."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

from service.physics.elimination import PivotNotPositiveError
from service.physics.solve import NoOperatingPointError
from service.physics.tree import is_tree
from service.studies.commissioning.asked import Expected
from service.studies.readings.allowance import meter_error
from service.studies.readings.asked import VOLTAGE, Reading
from service.studies.readings.model import AS_THOUGHT, Taken, read
from service.studies.readings.slopes import linearised, slopes_at
from service.studies.readings.spread import columns_of
from service.studies.readings.tree_spread import volts_variances
from service.studies.readings.verdict import COVERAGE
from service.studies.work import count

if TYPE_CHECKING:
    from service.studies.commissioning.stages import ReadPoint
    from service.studies.readings.allowance import Allowance
    from service.studies.readings.asked import Instrument
    from service.studies.readings.model import Model, ReadState, Solved
    from service.studies.readings.places import Places, Probe
    from service.studies.readings.slopes import Linearised
    from service.studies.window import Bounds

FORETOLD = 80
"""Operations of one value, told with what it may be off."""

NUMBERS_OF_WORK = 600
"""Products of numbers that are one unit of work, as in a check of readings."""


class Place(NamedTuple):
    """What a meter reads, and the window of the fixture of which it reads it."""

    probe: Probe
    bounds: Bounds | None


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

    def __init__(self, model: Model, places: Places, allowance: Allowance, instrument: Instrument) -> None:
        self.model, self._places = model, places
        self._allowance, self._instrument = allowance, instrument

    def averages(self, state: ReadState) -> bool:
        """Whether the meter averages, and what is lit draws a current of which that says nothing."""
        return self._instrument.averaging and any(
            load.non_active_var or load.non_active_a
            for row in self.model.lit(state, AS_THOUGHT)
            for _, load in row
        )

    def places(self, points: list[ReadPoint], bounds: list[Bounds]) -> list[Place]:
        """Some places to read on this wiring; `bounds` are the windows of all fixture rows of the job."""
        readings = [Reading(point.subject, point.where, point.quantity, 0.0, None) for point in points]
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

    def _verdict(self, solved: Solved, place: Place) -> str | None:
        """Where a fixture stands in its window, as a voltage drop judges it; None of anything else."""
        row, bounds = place.probe.row, place.bounds
        if row is None or bounds is None:
            return None
        lamp_v, far_v = self._lamp(solved, row)
        return bounds.verdict(lamp_v if lamp_v > bounds.high_v and far_v >= bounds.low_v else far_v)

    def _lamp(self, solved: Solved, row: int) -> tuple[float, float]:
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

    def _variance(self, model: Model, line: Linearised, one: Taken) -> float:
        """Variance of one reading, by how it follows everything that may be off. [V²], [A²]"""
        columns = columns_of(model, self._allowance, [one], [slopes_at(model, line, one.probe)])
        model.spend(1 + len(columns) // NUMBERS_OF_WORK)
        return one.own * one.own + sum(column[0] * column[0] for column in columns)

    def _taken(self, index: int, probe: Probe, value: float) -> Taken:
        error = meter_error(self._instrument, probe.quantity, value)
        return Taken(index, probe, 0, value, error.own, error.gain)
