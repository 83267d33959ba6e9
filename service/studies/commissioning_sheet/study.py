"""What a meter should show, place by place, from bare terminals to everything on.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from service import tables
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
from service.estimation import notes
from service.estimation.covariance import work_of_tree
from service.estimation.jacobian import work_of_slopes
from service.estimation.job import CURRENT, VOLTAGE, ReadingsJob, StatedReading, Terminal
from service.estimation.model import Model, model_of, work_of_solve
from service.estimation.probes import Probes
from service.estimation.uncertainty import Uncertainty, uncertainty_of
from service.findings.assumptions import BATTERY_NOMINAL, WINDOW_DEFAULT, AssumptionKind
from service.findings.finding import FAULT, WARNING, FindingFacts, FindingKind
from service.studies.commissioning_sheet.expected import (
    CommissioningAnswer,
    Meter,
    StageAnswer,
    everything_on,
    read_states,
)
from service.studies.commissioning_sheet.job import (
    RANGE,
    CommissioningJob,
    MainsStep,
    columns_of,
    follows_mains,
    steps_assumed,
)
from service.studies.commissioning_sheet.stages import StageSpec, stages_of


def commissioning_sheet_work(asked: CommissioningJob) -> Estimate:
    """Of a sheet: each stage in each column."""
    one = work_of_column(asked)
    return estimate_of(len(columns_of(asked, work=one)) * one, 0)


def work_of_column(asked: CommissioningJob) -> int:
    """Work of one column of a sheet: nothing on, each run alone, everything on, and what is read in each."""
    job = asked.job
    size = size_of(job)
    places = size.ends + (size.rows if asked.every else KEY_PLACES * size.feeders)
    whole = _stage_work(size, volts=places, amperes=OF_THE_SUPPLY + size.feeders)
    stages = (
        whole
        + _stage_work(size, volts=OF_THE_SUPPLY, amperes=0)
        + work_of_solve(size.effort, turned=size.turned)
    )
    if size.feeders <= 1:
        return stages
    if isinstance(job.wiring, Graph):
        # Nobody can take a graph apart: what is off stays in the circuit.
        return stages + size.feeders * (whole - size.rows) + size.rows
    alone = (size_of(job._replace(wiring=(run,))) for run in job.wiring)
    return stages + sum(_run_work(each, every=asked.every) for each in alone)


def _run_work(size: Size, *, every: bool) -> int:
    """Work of one run alone on."""
    places = size.ends + (size.rows if every else KEY_PLACES)
    return _stage_work(size, volts=1 + places, amperes=1)


def _stage_work(size: Size, *, volts: int, amperes: int) -> int:
    """Work of one stage in one column: solved for the values and for what they may be off."""
    followed = work_of_slopes(size.effort, turned=size.turned)
    spread = volts * followed if size.looped else work_of_tree(size.points, turned=size.turned)
    solved = 2 * work_of_solve(size.effort, turned=size.turned)
    return solved + spread + amperes * (1 + followed) + volts + amperes


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
    allowance = uncertainty_of(readings)
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
    allowance: Uncertainty
    columns: list[MainsStep]

    def meter(self, connected: Connected) -> Meter:
        """A meter for some wiring, with everything on in every column."""
        lit = [everything_on(self.readings, connected, column) for column in self.columns]
        model = model_of(connected, lit)
        return Meter(model, Probes(connected), self.allowance, self.readings.instrument)

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
        temperature_c = self.allowance.temperature_c
        return connect_job(self.readings.job._replace(wiring=(run,), temperature_c=temperature_c))


def _lowest(meter: Meter) -> dict[int, float] | None:
    """Volts at every fixture with everything on, at the least volts that carry it. [V]"""
    by_volts = sorted(meter.model.states, key=lambda state: state.supply_ratio)
    found = (meter.lamp_volts(state) for state in by_volts)
    return next((volts for volts in found if volts is not None), None)


OF_THE_SEARCH: Final = frozenset(
    {BATTERY_NOMINAL, notes.ONE_CAUSE, notes.SUPPLY_COMMON, notes.MAINS_SET_ASIDE}
)
"""Assumptions of a check of readings that belong to its search or its one state, not to every column."""


STAGE_CANNOT_BE_CARRIED: Final = FindingKind(
    "stage-cannot-be-carried",
    (FAULT,),
    "{where}: the wiring as described cannot carry this load at {name}; no voltage would satisfy it, so"
    " nothing is expected there. Do not switch it on before lengths, sizes and watts are put right.",
    "The wiring as described has no operating point in a stage of the sheet.",
)

STAGE_NEEDS_TRUE_RMS: Final = FindingKind(
    "stage-needs-true-rms",
    (WARNING,),
    "{where}: the lamps draw a current that is no sine. What an averaging meter shows then cannot be"
    " predicted: use a true-RMS meter.",
    "An averaging meter is to read alternating current with loads of a low power factor.",
)


def stage_finding(answer: StageAnswer) -> FindingFacts | None:
    """Why a stage has no values in some columns; None where it has them all."""
    if not answer.empty:
        return None
    part = answer.stage.part
    subject = JobPart("/wiring") if part is None else part.subject
    if answer.averaged:
        return STAGE_NEEDS_TRUE_RMS.found(subject, "own-calculation")
    return STAGE_CANNOT_BE_CARRIED.found(subject, "own-calculation")


MAINS_OUTLET_STEPS: Final = AssumptionKind(
    "mains-outlet-steps",
    "No mains voltages were asked for: the columns are even steps through what is usual at an outlet, 110"
    " to 126 of 120 V (ANSI C84.1 range A, utilisation), scaled to the rated primary.",
)

MAINS_NOT_SCALABLE: Final = AssumptionKind(
    "mains-not-scalable",
    "The no-load voltage was measured, the mains at that moment were not: it cannot be scaled to other"
    " mains, so there is one column, for the mains as they were then.",
)


def assumptions_made(
    asked: CommissioningJob, readings: ReadingsJob, model: Model, bounds: list[WindowBounds]
) -> list[AssumptionKind]:
    """The assumptions: those of a check of the very readings, and of the columns."""
    both = tuple(
        StatedReading(JobPart(""), Terminal(None, None, ""), quantity, 0.0, None)
        for quantity in (VOLTAGE, CURRENT)
    )
    held = {
        WINDOW_DEFAULT: any(not each.stated for each in bounds),
        MAINS_OUTLET_STEPS: steps_assumed(asked),
        MAINS_NOT_SCALABLE: not asked.job.supply.direct_current and not follows_mains(asked.job.supply),
        notes.MAINS_SET_ASIDE: asked.job.supply.direct_current and bool(asked.mains_v),
    }
    shared = notes.assumptions_made(readings._replace(readings=both), model)
    return [
        *(kind for kind in shared if kind not in OF_THE_SEARCH),
        *(kind for kind, holds in held.items() if holds),
    ]


def sources_used(asked: CommissioningJob, model: Model, bounds: list[WindowBounds]) -> list[str]:
    """Ids of the sources of the wiring's numbers, of the windows, and of the range of the mains."""
    windows = [each.source for each in bounds]
    ranges = [tables.mains_range(RANGE).source] if steps_assumed(asked) else []
    used = dict.fromkeys([*notes.sources_used(model), *windows, *ranges])
    return [source for source in used if source not in {"caller", "own-calculation"}]
