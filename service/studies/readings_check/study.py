"""Whether a meter agrees with the wiring as built and, if not, what explains it and where to look.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import inf
from typing import NamedTuple

from service.circuit.estimate import (
    Estimate,
    estimate_of,
    refuse_over_limit,
    size_of,
)
from service.circuit.job import JobPart
from service.circuit.state import Connected, connect_job
from service.circuit.work import WorkOverLimitError
from service.estimation.covariance import chi_square_probability, covariance_of, work_of_covariance
from service.estimation.jacobian import Sensitivities, sensitivities_of, work_of_sensitivities
from service.estimation.job import LISTED, RESISTANCE, ReadingsJob, StatedReading, SwitchedState
from service.estimation.measurements import Placed, place_readings
from service.estimation.model import Measurement, Model, model_of, together, work_of_solve
from service.estimation.probes import Routes
from service.estimation.uncertainty import (
    COVERAGE,
    Uncertainty,
    assumptions_of_readings,
    sources_of_readings,
    uncertainty_of,
)
from service.findings.assumptions import AssumptionKind
from service.findings.finding import FindingFacts
from service.physics.network import TERMINAL
from service.problems.unanswered import Mistake
from service.studies.commissioning_sheet.stages import states_of
from service.studies.readings_check.bad_data import (
    CLAMP_READS_NOTHING,
    READING_ABOVE_UPSTREAM,
    READINGS_EXCHANGED,
    Unused,
    recording_errors,
    stateless,
    unusable,
)
from service.studies.readings_check.fault import EXCHANGED_RUNS, POWER, Basis, FaultHypothesis, beside
from service.studies.readings_check.faults import CAUSES_OF_POINT, faults_of, work_of_faults
from service.studies.readings_check.next_reading import SuggestedReading, first_reading, next_reading
from service.studies.readings_check.ranking import (
    COST,
    REFINING_WORK,
    WEIGHING_WORK,
    Explanation,
    Fitter,
    Ranked,
    Ranker,
    work_of_whitening,
)
from service.studies.readings_check.runs import RunReadings, runs_of

AGREES, DISAGREES, CONTRADICTS, NOTHING = "agrees", "disagrees", "contradicts", "nothing-to-judge"

IMPOSSIBLE = "impossible"
"""The conclusion where what can be judged agrees, and something else cannot be of this wiring."""

IMPROBABLE = 0.01
"""A chi-square less probable than this is not chance. [-]"""

NOT_SEPARATED = 4.0
"""Explanations whose cost is within this of the first are not separated from it. [-]"""


class Judged(NamedTuple):
    """One reading beside what the model says; `predicted` and `uncertainty` None where it was not used.

    The uncertainty is the standard one of the discrepancy, reading minus predicted. [V], [A]
    """

    position: int
    quantity: str
    reading: float
    predicted: float | None = None
    uncertainty: float | None = None
    reason: str | None = None

    @property
    def discrepancy(self) -> float | None:
        """Reading minus predicted. [V], [A]"""
        return None if self.predicted is None else self.reading - self.predicted

    @property
    def normalised(self) -> float | None:
        """Discrepancy over its standard uncertainty. [-]"""
        if self.predicted is None or not self.uncertainty:
            return None
        return (self.reading - self.predicted) / self.uncertainty

    @property
    def verdict(self) -> str:
        """The reading beside its prediction: agrees, high or low; not-used."""
        normalised = self.normalised
        if normalised is None:
            return "not-used"
        if abs(normalised) <= COVERAGE:
            return "agrees"
        return "high" if normalised > 0.0 else "low"


class Chance(NamedTuple):
    """Chi-square, its degrees of freedom, and the probability that chance alone gives more. [-]

    `single`: the probability that chance lets the best single fault take so much off; None: not computed.
    """

    value: float
    degrees: int
    probability: float
    single: float | None = None

    @property
    def is_by_chance(self) -> bool:
        """Whether all of it may be chance."""
        return self.probability >= IMPROBABLE and (self.single is None or self.single >= IMPROBABLE)


class CheckAnswer(NamedTuple):
    """Readings against the model; `unseen`: rows of fixtures that might be dark, for all that was read."""

    job: ReadingsJob
    verdict: str
    statistics: Chance
    readings: list[Judged]
    explanations: list[Explanation]
    nothing_wrong: float
    alternatives: list[int]
    place_settled: bool
    left_out: int
    impossible: list[int]
    next_reading: SuggestedReading | None
    findings: list[FindingFacts]
    assumptions: list[AssumptionKind]
    sources: list[str]
    model: Model
    routes: Routes
    by_run: list[RunCheck]
    unseen: list[int]

    @property
    def several(self) -> list[RunCheck]:
        """The runs that have each a fault of its own; none where one fault explains everything."""
        return [each for each in self.by_run if each.explained_by]


LEAST_SEVERAL = 2
"""Runs that disagree by themselves, from which on each gets an answer of its own."""

MOST_BY_RUN = 12
"""Runs that are judged each by itself; of a job of more none is."""

MOST_SPENT = 20_000
"""Work of a search after which no run is judged by itself."""

FREE_SUPPLY = 0.1
"""Standard uncertainty of the supply's volts in each state where a run is judged by itself: they are what the
terminals show, whatever other runs do to them. [-]"""


class RunCheck(NamedTuple):
    """One run judged by the terminals and its own readings; `explained_by`: indices into the explanations.

    `explanations` are single faults on this run alone, best first.
    """

    run: RunReadings
    verdict: str
    statistics: Chance
    explanations: list[Explanation]
    ranker: Ranker
    explained_by: tuple[int, ...] = ()

    @property
    def tied(self) -> list[Explanation]:
        """What explains this run, and what these readings do not tell from it."""
        return [each for each in self.explanations if each.cost < self.explanations[0].cost + NOT_SEPARATED]


SOLVED_OF_A_STATE = 3
"""How often a check solves each state: whether it is carried, what is read in it, and how that follows."""

WORK_OF_A_SEARCH = 60_000
"""The most that a search for the fault of readings takes."""


def readings_check_work(job: ReadingsJob) -> Estimate:
    """Of a check: each state read in, and how each reading follows the wiring; a search may stop anywhere."""
    size, readings = size_of(job.circuit), len(job.readings)
    states = len({reading.state for reading in job.readings}) or 1
    solved = SOLVED_OF_A_STATE * states * work_of_solve(size.effort, turned=size.turned)
    loops = sum(reading.quantity == RESISTANCE for reading in job.readings)
    solved += SOLVED_OF_A_STATE * loops * work_of_solve(size.effort, turned=False)
    followed = readings * work_of_sensitivities(size.effort, turned=size.turned)
    weighed = min(WEIGHING_WORK, work_of_whitening(CAUSES_OF_POINT * size.points, readings))
    weighed += work_of_covariance(readings, 2 * size.points) + work_of_faults(size.points, readings)
    return estimate_of(solved + followed + weighed, WORK_OF_A_SEARCH)


NOTHING_FOUND = Ranked([], 1.0, 0)


class _Base(NamedTuple):
    """A job laid out and read: the model, what may be off, the readings that can be used and the others."""

    job: ReadingsJob
    model: Model
    routes: Routes
    uncertainty: Uncertainty
    placed: Placed
    used: list[Measurement]
    unused: list[Unused]


def readings_check(job: ReadingsJob) -> CheckAnswer:
    """Judge readings.

    Raises
    ------
    ReadingsContradictoryError
        Readings that point at nothing.
    JobTooLargeError, WiringContradictoryError, WorkOverLimitError
        As of any job.
    """
    refuse_over_limit(readings_check_work(job))
    base = _base_of(job)
    sensitivities = sensitivities_of(base.model, base.used, base.model.near_ideal, watts=True)
    if not base.used or sensitivities is None:
        found = recording_errors(job, base.model, base.placed.measurements)
        nothing = _answer(base, None, NOTHING, Chance(0.0, 0, 1.0), NOTHING_FOUND, found)
        return nothing._replace(next_reading=first_reading(job))
    ranker = _ranker(base, sensitivities)
    statistics = _statistics(ranker.covariance.chi_square(ranker.residuals), len(base.used))
    faults = _faults(base, ranker, sensitivities)
    weighed = None
    if ranker.is_cheap(faults):
        weighed = ranker.weighed(faults)
        statistics = statistics._replace(single=ranker.probability_of_best(weighed))
    if statistics.is_by_chance:
        verdict = _beside(base.unused)
        found = [] if verdict == AGREES else recording_errors(job, base.model, base.placed.measurements)
        answer = _answer(base, ranker, verdict, statistics, NOTHING_FOUND, found)
        return answer if verdict != AGREES else answer._replace(unseen=_unseen(ranker, faults))
    # First of all, while there is work left: a search may take as much of it as it likes.
    found = recording_errors(job, base.model, base.placed.measurements)
    ranked = ranker.rank(ranker.weighed(faults) if weighed is None else weighed)
    checks = _by_run(base, ranker, faults)
    best = ranked.explanations[0].chi_square if ranked.explanations else statistics.value
    explained = _is_explained(best, len(base.used), 1)
    if explained:
        found = _without_moved(base, found, ranked.explanations[:1])
    single = ranked.explanations[0].cost if explained else inf
    joint = checks
    if not explained and _cost_by_run(base, ranker, joint) == inf:
        joint = _jointly(base, ranker, checks, faults)
        if _cost_by_run(base, ranker, joint) == inf:
            joint = _settled(ranker, joint)
    if _cost_by_run(base, ranker, joint) + NOT_SEPARATED < single:
        return _answer_by_run(base, ranker, joint, statistics, ranked, found)
    answer = _answer(base, ranker, DISAGREES if explained else CONTRADICTS, statistics, ranked, found)
    return answer._replace(by_run=checks)


def _base_of(job: ReadingsJob) -> _Base:
    """Build the job at the temperature at which it is predicted, and place every reading."""
    uncertainty = uncertainty_of(job)
    connected = connect_job(job.circuit._replace(temperature_c=uncertainty.temperature_c))
    job = _of_its_stages(job, connected)
    placed = place_readings(job, connected)
    model, routes = model_of(connected, placed.states), Routes(connected.layout)
    unused = [*stateless(job), *unusable(job, model, routes, placed.measurements)]
    out = {each.position for each in unused}
    used = [one for one in placed.measurements if one.position not in out]
    return _Base(job, model, routes, uncertainty, placed, used, unused)


def _of_its_stages(job: ReadingsJob, connected: Connected) -> ReadingsJob:
    """The job, where a row of a sheet that belongs to no stage of this job is a mistake and no reading."""
    if all(reading.stage is None for reading in job.readings):
        return job
    wrong = of_other_stages(job.readings, states_of(connected))
    readings = tuple(reading for reading in job.readings if reading.subject not in wrong)
    return job._replace(readings=readings, mistakes=(*job.mistakes, *wrong.values()))


def of_other_stages(readings: Iterable[StatedReading], stages: list[SwitchedState]) -> dict[JobPart, Mistake]:
    """Rows of a sheet whose stage the job has not got, or has in another state than theirs."""
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


def _ranker(base: _Base, sensitivities: list[Sensitivities]) -> Ranker:
    predicted = base.model.predicted(base.used)
    residuals = [one.value - each for one, each in zip(base.used, predicted, strict=True)]
    covariance = covariance_of(base.model, base.uncertainty, base.used, sensitivities)
    return Ranker(base.model, base.uncertainty, base.used, covariance, residuals, sensitivities)


def _faults(base: _Base, ranker: Ranker, sensitivities: list[Sensitivities]) -> list[FaultHypothesis]:
    pairs = zip(ranker.residuals, ranker.covariance.variance, strict=True)
    weighted = [each / variance for each, variance in pairs]
    return faults_of(Basis(base.model, base.routes, base.used, sensitivities, weighted))


def _unseen(ranker: Ranker, faults: list[FaultHypothesis]) -> list[int]:
    """Rows of fixtures that would move no reading out of its uncertainty if dark, as work allows."""
    try:
        hidden = ranker.hidden([each for each in faults if each.kind is POWER])
    except WorkOverLimitError:
        return []
    return [fault.rows[0] for fault in hidden]


def _by_run(base: _Base, ranker: Ranker, faults: list[FaultHypothesis]) -> list[RunCheck]:
    """Every run judged by itself; none where there is only one, or no work left for all of them."""
    runs = [run for run in runs_of(base.model.connected) if run.points]
    if not 1 < len(runs) <= MOST_BY_RUN or base.model.spent > MOST_SPENT:
        return []
    states = [each._replace(drift=FREE_SUPPLY) for each in base.model.states]
    free = replace(base.model, states=states)
    found = []
    try:
        for run in runs:
            own = {index for index, one in enumerate(base.used) if run.holds(one.probe)}
            read_in = {base.used[index].state for index in own}
            kept = [
                index
                for index, one in enumerate(base.used)
                if index in own or (one.state in read_in and _at_terminals(one))
            ]
            if own:
                of_run = [
                    replace(fault, slope=[fault.slope[index] for index in kept])
                    for fault in faults
                    if run.has(fault)
                ]
                found.append(_run_check(run, _part_of(ranker, free, kept), of_run))
            if free.spent > REFINING_WORK:
                return []
    except WorkOverLimitError:
        return []
    return found


def _at_terminals(one: Measurement) -> bool:
    return one.probe.is_voltage and one.probe.point == TERMINAL


def _part_of(ranker: Ranker, model: Model, kept: list[int]) -> Ranker:
    """Some of the readings by themselves."""
    measurements = [ranker.measurements[index] for index in kept]
    sensitivities = [ranker.sensitivities[index] for index in kept]
    covariance = covariance_of(model, ranker.uncertainty, measurements, sensitivities)
    residuals = [ranker.residuals[index] for index in kept]
    return Ranker(model, ranker.uncertainty, measurements, covariance, residuals, sensitivities)


def _run_check(run: RunReadings, ranker: Ranker, faults: list[FaultHypothesis]) -> RunCheck:
    statistics = _statistics(ranker.covariance.chi_square(ranker.residuals), len(ranker.residuals))
    weighed = ranker.weighed(faults)
    if ranker.is_cheap(faults):
        statistics = statistics._replace(single=ranker.probability_of_best(weighed))
    if statistics.is_by_chance:
        return RunCheck(run, AGREES, statistics, [], ranker)
    explanations = ranker.rank(weighed).explanations
    explained = explanations and _is_explained(explanations[0].chi_square, len(ranker.residuals), 1)
    return RunCheck(run, DISAGREES if explained else CONTRADICTS, statistics, explanations, ranker)


def _is_explained(chi_square: float, readings: int, unknowns: int) -> bool:
    """Whether what a number of faults leaves over may be chance."""
    return chi_square_probability(chi_square, max(1, readings - unknowns)) >= IMPROBABLE


def _cost_by_run(base: _Base, ranker: Ranker, checks: list[RunCheck]) -> float:
    """The cost of one fault on each run that disagrees, all at once; infinite where that explains nothing."""
    wrong = [each for each in checks if each.explanations]
    if len(wrong) < LEAST_SEVERAL or any(each.verdict == CONTRADICTS for each in checks):
        return inf
    fits = [each.explanations[0].fit for each in wrong]
    try:
        predicted = base.model.predicted(base.used, together(fit.fault.change(fit.size) for fit in fits))
    except WorkOverLimitError:
        return inf
    chi_square = ranker.covariance.chi_square(
        [one.value - each for one, each in zip(base.used, predicted, strict=True)]
    )
    if not _is_explained(chi_square, len(base.used), len(fits)):
        return inf
    return chi_square + sum(COST + fit.fault.surprise(fit.size) for fit in fits)


def _jointly(
    base: _Base, ranker: Ranker, checks: list[RunCheck], faults: list[FaultHypothesis]
) -> list[RunCheck]:
    """The runs, one more explained by what all readings ask for once the worst is put right; else as before.

    Amperes at the supply are of no run by itself, and volts on a run may hardly move with a lamp of it.
    """
    wrong = sorted((each for each in checks if each.explanations), key=lambda each: -each.statistics.value)
    if not wrong or len(wrong) > LEAST_SEVERAL or any(each.verdict == CONTRADICTS for each in checks):
        return checks
    others = wrong[1:] or [each for each in checks if each is not wrong[0]]
    fit = wrong[0].explanations[0].fit
    given = fit.fault.change(fit.size)
    try:
        predicted = base.model.predicted(base.used, given)
        left = replace(
            ranker, residuals=[one.value - each for one, each in zip(base.used, predicted, strict=True)]
        )
        own = [fault for fault in faults if any(each.run.has(fault) for each in others)]
        explanations = left.rank(left.weighed([beside(given, fault) for fault in own])).explanations
    except WorkOverLimitError:
        return checks
    explanations = [each._replace(fit=each.fit.alone()) for each in explanations]
    first = next((each for each in others if explanations and each.run.has(explanations[0].fit.fault)), None)
    if first is None:
        return checks
    found = first._replace(explanations=explanations)
    if not all(first.run.has(each.fit.fault) for each in found.tied):
        return checks
    return [found if each is first else each for each in checks]


ROUNDS = 2
"""How often the sizes of faults on several runs are found anew, each beside the others."""


def _settled(ranker: Ranker, checks: list[RunCheck]) -> list[RunCheck]:
    """The runs with the sizes that all readings together ask for; as before where that takes too much work.

    A run by itself is judged with the supply's volts free, which leaves the sizes of large faults looser than
    all readings allow: together they would fit nothing, though each is the right one.
    """
    wrong = [index for index, each in enumerate(checks) if each.explanations]
    if len(wrong) < LEAST_SEVERAL:
        return checks
    fitter = Fitter(ranker.model, ranker.measurements, ranker.covariance)
    fits = {index: checks[index].explanations[0].fit for index in wrong}
    try:
        for _ in range(ROUNDS):
            for index, fit in fits.items():
                others = [one.fault.change(one.size) for at, one in fits.items() if at != index]
                fault = beside(together(others), fit.fault)
                fits[index] = fitter.fit(fault, start=fit.size).alone()
    except WorkOverLimitError:
        return checks
    if any(fit.is_cut_short for fit in fits.values()):
        return checks
    settled = list(checks)
    for index, fit in fits.items():
        first, *rest = checks[index].explanations
        settled[index] = checks[index]._replace(explanations=[first._replace(fit=fit), *rest])
    return settled


def _answer_by_run(  # noqa: PLR0913, PLR0917  # the parts of one answer
    base: _Base,
    ranker: Ranker,
    checks: list[RunCheck],
    statistics: Chance,
    ranked: Ranked,
    found: list[FindingFacts],
) -> CheckAnswer:
    """One answer for each run that disagrees: what explains each first, then what is not told from that."""
    wrong = [index for index, each in enumerate(checks) if each.explanations]
    explanations = [checks[index].explanations[0] for index in wrong]
    for place, index in enumerate(wrong):
        rest = checks[index].tied[1:]
        own = (place, *range(len(explanations), len(explanations) + len(rest)))
        explanations += rest
        checks[index] = checks[index]._replace(explained_by=own)
    tied = next((checks[index] for index in wrong if len(checks[index].explained_by) > 1), None)
    following = None
    if tied is not None:
        following = next_reading(base.job, tied.ranker, list(tied.explained_by), explanations)
    places = [{each.fit.fault.place for each in checks[index].tied} for index in wrong]
    found = _without_moved(base, found, explanations[: len(wrong)])
    answer = _answer(base, ranker, CONTRADICTS, statistics, ranked._replace(explanations=explanations), found)
    return answer._replace(
        verdict=DISAGREES,
        alternatives=list(range(len(wrong), len(explanations))),
        place_settled=all(len(each) == 1 for each in places),
        next_reading=following,
        by_run=checks,
    )


def _without_moved(
    base: _Base, found: list[FindingFacts], explanations: list[Explanation]
) -> list[FindingFacts]:
    """Findings without what is read as it should be because a run leaves the supply elsewhere.

    A clamp that shows nothing there, and two readings that are not exchanged but stand on exchanged runs.
    """
    change = together(each.fit.fault.change(each.fit.size) for each in explanations)
    moved = {
        base.job.readings[one.position].subject
        for one in base.used
        if one.probe.leaving is not None and change.reads(one.probe) != one.probe
    }
    exchanged = any(each.fit.fault.kind is EXCHANGED_RUNS for each in explanations)
    return [
        each
        for each in found
        if not (each.kind is CLAMP_READS_NOTHING and each.subject in moved)
        and not (each.kind is READINGS_EXCHANGED and exchanged)
    ]


def _beside(unused: list[Unused]) -> str:
    """The verdict where whatever can be judged agrees: something that cannot be spoils it."""
    reasons = {each.reason for each in unused if each.is_impossible}
    if READING_ABOVE_UPSTREAM.code in reasons:
        return CONTRADICTS
    return DISAGREES if reasons else AGREES


def _statistics(chi_square: float, degrees: int) -> Chance:
    return Chance(chi_square, degrees, chi_square_probability(chi_square, degrees))


def _answer(  # noqa: PLR0913, PLR0917  # the parts of one answer
    base: _Base,
    ranker: Ranker | None,
    verdict: str,
    statistics: Chance,
    ranked: Ranked,
    found: list[FindingFacts],
) -> CheckAnswer:
    explanations = ranked.explanations
    alternatives = [
        index
        for index, each in enumerate(explanations)
        if index and each.cost < explanations[0].cost + NOT_SEPARATED
    ]
    places = [each.fit.fault.place for each in explanations]
    elsewhere = [index for index in alternatives if places[index] != places[0]]
    following = None
    if ranker is not None and alternatives and verdict == DISAGREES:
        following = next_reading(base.job, ranker, [0, *(elsewhere or alternatives)], explanations)
    return CheckAnswer(
        job=base.job,
        verdict=verdict,
        statistics=statistics,
        readings=_judged(base, ranker),
        explanations=explanations,
        nothing_wrong=ranked.nothing_wrong,
        alternatives=alternatives,
        place_settled=verdict == DISAGREES and bool(explanations) and not elsewhere,
        left_out=ranked.left_out,
        impossible=[each.position for each in base.unused if each.is_impossible],
        next_reading=following,
        findings=[*(each.finding for each in base.unused), *found],
        assumptions=assumptions_of_readings(base.job, base.model, left_out=ranked.left_out),
        sources=sources_of_readings(base.model),
        model=base.model,
        routes=base.routes,
        by_run=[],
        unseen=[],
    )


def _judged(base: _Base, ranker: Ranker | None) -> list[Judged]:
    """Every reading in its order, with what was predicted where it was used."""
    reasons = {each.position: each.reason for each in base.unused}
    found: dict[int, tuple[float | None, float | None]] = {}
    if ranker is not None:
        residuals = zip(base.used, ranker.residuals, ranker.covariance.variance, strict=True)
        found = {one.position: (one.value - off, variance**0.5) for one, off, variance in residuals}
    return [
        Judged(index, reading.quantity, reading.value, *found.get(index, (None, None)), reasons.get(index))
        for index, reading in enumerate(base.job.readings)
    ]
