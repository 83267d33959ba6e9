"""What a commissioning sheet is asked for, and what it answers."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from service.studies.commissioning.columns import Column
    from service.studies.commissioning.stages import Stage
    from service.studies.job import Job
    from service.studies.readings.asked import Instrument, Priors
    from service.studies.readings.model import Model
    from service.studies.window import Bounds


class CommissioningJob(NamedTuple):
    """A job, the meter with which it will be read, and how well the wiring is known.

    `mains_v` are those for which values are wanted, None: steps through a range, empty: as the job says [V];
    `every`: every fixture, not the key ones alone.
    """

    job: Job
    instrument: Instrument
    priors: Priors
    mains_v: tuple[float, ...] | None
    every: bool


class Expected(NamedTuple):
    """What the meter should show [V] or [A], expanded uncertainty, and where the lamp then stands."""

    value: float
    tolerance: float
    verdict: str | None


class StageAnswer(NamedTuple):
    """A stage with what is expected: a list for each column, one for each place; None: not to be predicted.

    `averaged`: because the meter averages what is no sine.
    """

    stage: Stage
    columns: list[list[Expected] | None]
    averaged: bool = False

    @property
    def empty(self) -> list[int]:
        """The columns without values."""
        return [place for place, column in enumerate(self.columns) if column is None]


class CommissioningAnswer(NamedTuple):
    """The sheet; `open_circuit_v` are of the secondary, one for each column [V]; `bounds` by row."""

    model: Model
    columns: list[Column]
    open_circuit_v: list[float]
    stages: list[StageAnswer]
    bounds: list[Bounds]
    assumptions: list[str]
    sources: list[str]
