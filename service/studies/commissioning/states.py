"""The states of a stage as a check of readings knows them: what is lit, and the volts of the supply."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.studies.job import Subject
from service.studies.readings.asked import ALL_ON, VOLTAGE, Reading, SwitchedState, Terminal
from service.studies.readings.taking import place_readings
from service.studies.work import charge

if TYPE_CHECKING:
    from service.studies.commissioning.columns import Column
    from service.studies.commissioning.stages import Stage
    from service.studies.connected import Connected
    from service.studies.readings.asked import ReadingsJob
    from service.studies.readings.model import Model, ReadState

COMPARED_OF_WORK = 2_000
"""Pointers compared that are one unit of work."""


def everything_on(asked: ReadingsJob, connected: Connected, column: Column) -> ReadState:
    """Everything on, at the mains or with the battery of a column."""
    state = _state_of(asked, connected, SwitchedState(ALL_ON, (), column.mains_v))
    return state._replace(supply_ratio=state.supply_ratio * column.battery_ratio)


def read_states(asked: ReadingsJob, model: Model, stage: Stage) -> list[ReadState]:
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
    reading = Reading(Subject(""), Terminal(None, None, ""), VOLTAGE, 0.0, state)
    return place_readings(asked._replace(readings=(reading,)), connected).states[0]
