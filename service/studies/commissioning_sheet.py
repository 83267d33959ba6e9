"""What should a meter show, place by place, while a garden is taken into use?"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.studies.commissioning.asked import CommissioningAnswer, StageAnswer
from service.studies.commissioning.columns import columns_of
from service.studies.commissioning.expected import Meter
from service.studies.commissioning.notes import assumptions_made, sources_used
from service.studies.commissioning.stages import stages_of
from service.studies.commissioning.states import everything_on, read_states
from service.studies.connected import connect_job
from service.studies.estimates import commissioning_sheet_work, refuse_over_limit, work_of_column
from service.studies.readings.allowance import allowance_of
from service.studies.readings.asked import ReadingsJob
from service.studies.readings.model import model_of
from service.studies.readings.places import Places

if TYPE_CHECKING:
    from service.studies.commissioning.asked import CommissioningJob
    from service.studies.commissioning.columns import Column
    from service.studies.commissioning.stages import Stage
    from service.studies.connected import Connected
    from service.studies.job import Run
    from service.studies.readings.allowance import Allowance
    from service.studies.window import Bounds


def commissioning_sheet(asked: CommissioningJob) -> CommissioningAnswer:
    """Predict what is read in each stage.

    Raises
    ------
    JobTooLargeError, WiringContradictoryError, WorkOverLimitError
        As of any job.
    """
    refuse_over_limit(commissioning_sheet_work(asked))
    job = asked.job._replace(corners=None, maximum_drop_ratio=None)
    readings = ReadingsJob(job, asked.instrument, asked.priors, ())
    allowance = allowance_of(readings)
    connected = connect_job(job._replace(temperature_c=allowance.temperature_c))
    columns = columns_of(asked, work=work_of_column(asked))
    bench = _Bench(readings, allowance, columns)
    meter = bench.meter(connected)
    bounds = [connected.bounds(placed.line) for placed in connected.layout.fixtures]
    stages = stages_of(connected, lowest=_lowest(meter), every=asked.every)
    return CommissioningAnswer(
        model=meter.model,
        columns=columns,
        open_circuit_v=[connected.feed.open_circuit_v[0] * each.supply_ratio for each in meter.model.states],
        stages=[bench.answer(meter, stage, bounds) for stage in stages],
        bounds=bounds,
        assumptions=assumptions_made(asked, readings, meter.model, bounds),
        sources=sources_used(asked, meter.model, bounds),
    )


class _Bench(NamedTuple):
    """What all stages have in common."""

    readings: ReadingsJob
    allowance: Allowance
    columns: list[Column]

    def meter(self, connected: Connected) -> Meter:
        """A meter for some wiring, with everything on in every column."""
        lit = [everything_on(self.readings, connected, column) for column in self.columns]
        model = model_of(connected, lit)
        return Meter(model, Places(connected), self.allowance, self.readings.instrument)

    def answer(self, whole: Meter, stage: Stage, bounds: list[Bounds]) -> StageAnswer:
        """What is expected in one stage, column by column; nothing of a meter that cannot be predicted."""
        meter = whole if stage.alone is None else self.meter(self._alone(stage.alone))
        states = read_states(self.readings, meter.model, stage)
        if meter.averages(states[0]):
            return StageAnswer(stage, [None] * len(states), averaged=True)
        places = meter.places(stage.points, bounds)
        return StageAnswer(stage, [meter.expected(places, state) for state in states])

    def _alone(self, run: Run) -> Connected:
        """One run on the supply, and nothing else: what is not connected is not solved either."""
        temperature_c = self.allowance.temperature_c
        return connect_job(self.readings.job._replace(wiring=(run,), temperature_c=temperature_c))


def _lowest(meter: Meter) -> dict[int, float] | None:
    """Volts at every fixture with everything on, at the least volts that carry it. [V]"""
    by_volts = sorted(meter.model.states, key=lambda state: state.supply_ratio)
    found = (meter.lamp_volts(state) for state in by_volts)
    return next((volts for volts in found if volts is not None), None)
