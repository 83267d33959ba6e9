"""Rows of a sheet beside the stages that a commissioning sheet of the job has."""

from __future__ import annotations

from collections.abc import Iterable

from service.circuit.job import JobPart, Mistake
from service.estimation.job import LISTED, StatedReading, SwitchedState


def of_other_stages(readings: Iterable[StatedReading], stages: list[SwitchedState]) -> dict[JobPart, Mistake]:
    """Rows whose stage the job has not got, or has in another state than theirs."""
    found = {}
    for reading in readings:
        if reading.stage is None or reading.state is None:
            continue
        at = reading.where.at
        if not 1 <= reading.stage <= len(stages):
            names = "stage", str(reading.stage), f"1 to {len(stages)}"
            found[reading.subject] = Mistake("csv-word", at, names)
        elif _written(reading.state) != _written(stages[reading.stage - 1]):
            own = f"{_written(stages[reading.stage - 1])} in stage {reading.stage}"
            found[reading.subject] = Mistake("csv-word", at, ("state", _written(reading.state), own))
    return found


def _written(state: SwitchedState) -> str:
    """What a sheet has in the column `state`."""
    return state.on if state.on != LISTED else " ".join(each.pointer for each in state.lit)
