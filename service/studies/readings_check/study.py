"""Whether a meter agrees with the wiring as built and, if not, what explains it and where to look.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from typing import NamedTuple

from service.circuit.estimate import (
    Estimate,
    estimate_of,
    refuse_over_limit,
    size_of,
)
from service.circuit.state import connect_job
from service.estimation.covariance import chi_square_probability, covariance_of, work_of_covariance
from service.estimation.jacobian import Sensitivities, sensitivities_of, work_of_sensitivities
from service.estimation.job import ReadingsJob
from service.estimation.measurements import Placed, place_readings
from service.estimation.model import Measurement, Model, model_of, work_of_solve
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
from service.studies.readings_check.bad_data import (
    READING_ABOVE_UPSTREAM,
    Unused,
    recording_errors,
    stateless,
    unusable,
)
from service.studies.readings_check.fault import Basis, FaultHypothesis
from service.studies.readings_check.faults import CAUSES_OF_POINT, causes_of, work_of_causes
from service.studies.readings_check.next_reading import SuggestedReading, first_reading, next_reading
from service.studies.readings_check.ranking import (
    WEIGHING_WORK,
    Explanation,
    Ranked,
    Ranker,
    work_of_whitening,
)

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

    `single`: the probability that chance lets the best single cause take so much off; None: not computed.
    """

    value: float
    degrees: int
    probability: float
    single: float | None = None

    @property
    def is_chance(self) -> bool:
        """Whether all of it may be chance."""
        return self.probability >= IMPROBABLE and (self.single is None or self.single >= IMPROBABLE)


class CheckAnswer(NamedTuple):
    """Readings against the model."""

    job: ReadingsJob
    verdict: str
    chance: Chance
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


SOLVED_OF_A_STATE = 3
"""How often a check solves each state: whether it is carried, what is read in it, and how that follows."""

WORK_OF_A_SEARCH = 60_000
"""The most that a search for the cause of readings takes."""


def readings_check_work(job: ReadingsJob) -> Estimate:
    """Of a check: each state read in, and how each reading follows the wiring; a search may stop anywhere."""
    size, readings = size_of(job.circuit), len(job.readings)
    states = len({reading.state for reading in job.readings}) or 1
    solved = SOLVED_OF_A_STATE * states * work_of_solve(size.effort, turned=size.turned)
    followed = readings * work_of_sensitivities(size.effort, turned=size.turned)
    weighed = min(WEIGHING_WORK, work_of_whitening(CAUSES_OF_POINT * size.points, readings))
    weighed += work_of_covariance(readings, 2 * size.points) + work_of_causes(size.points, readings)
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
    chance = _chance(ranker.covariance.chi_square(ranker.residuals), len(base.used))
    causes = _causes(base, ranker, sensitivities)
    weighed = None
    if ranker.is_cheap(causes):
        weighed = ranker.weighed(causes)
        chance = chance._replace(single=ranker.chance_of_best(weighed))
    if chance.is_chance:
        verdict = _beside(base.unused)
        found = [] if verdict == AGREES else recording_errors(job, base.model, base.placed.measurements)
        return _answer(base, ranker, verdict, chance, NOTHING_FOUND, found)
    # First of all, while there is work left: a search may take as much of it as it likes.
    found = recording_errors(job, base.model, base.placed.measurements)
    ranked = ranker.rank(ranker.weighed(causes) if weighed is None else weighed)
    best = ranked.explanations[0].chi_square if ranked.explanations else chance.value
    explained = chi_square_probability(best, max(1, len(base.used) - 1)) >= IMPROBABLE
    return _answer(base, ranker, DISAGREES if explained else CONTRADICTS, chance, ranked, found)


def _base_of(job: ReadingsJob) -> _Base:
    """Build the job at the temperature at which it is predicted, and place every reading."""
    uncertainty = uncertainty_of(job)
    connected = connect_job(job.circuit._replace(temperature_c=uncertainty.temperature_c))
    placed = place_readings(job, connected)
    model, routes = model_of(connected, placed.states), Routes(connected.layout)
    unused = [*stateless(job), *unusable(job, model, routes, placed.measurements)]
    out = {each.position for each in unused}
    used = [one for one in placed.measurements if one.position not in out]
    return _Base(job, model, routes, uncertainty, placed, used, unused)


def _ranker(base: _Base, sensitivities: list[Sensitivities]) -> Ranker:
    predicted = base.model.predicted(base.used)
    residuals = [one.value - each for one, each in zip(base.used, predicted, strict=True)]
    covariance = covariance_of(base.model, base.uncertainty, base.used, sensitivities)
    return Ranker(base.model, base.uncertainty, base.used, covariance, residuals, sensitivities)


def _causes(base: _Base, ranker: Ranker, sensitivities: list[Sensitivities]) -> list[FaultHypothesis]:
    pairs = zip(ranker.residuals, ranker.covariance.variance, strict=True)
    weighted = [each / variance for each, variance in pairs]
    return causes_of(Basis(base.model, base.routes, base.used, sensitivities, weighted))


def _beside(unused: list[Unused]) -> str:
    """The verdict where whatever can be judged agrees: something that cannot be spoils it."""
    reasons = {each.reason for each in unused if each.is_impossible}
    if READING_ABOVE_UPSTREAM.code in reasons:
        return CONTRADICTS
    return DISAGREES if reasons else AGREES


def _chance(chi_square: float, degrees: int) -> Chance:
    return Chance(chi_square, degrees, chi_square_probability(chi_square, degrees))


def _answer(  # noqa: PLR0913, PLR0917  the parts of one answer
    base: _Base,
    ranker: Ranker | None,
    verdict: str,
    chance: Chance,
    ranked: Ranked,
    found: list[FindingFacts],
) -> CheckAnswer:
    explanations = ranked.explanations
    alternatives = [
        index
        for index, each in enumerate(explanations)
        if index and each.cost < explanations[0].cost + NOT_SEPARATED
    ]
    places = [each.fit.cause.place for each in explanations]
    elsewhere = [index for index in alternatives if places[index] != places[0]]
    following = None
    if ranker is not None and alternatives and verdict == DISAGREES:
        following = next_reading(base.job, ranker, [0, *(elsewhere or alternatives)], explanations)
    return CheckAnswer(
        job=base.job,
        verdict=verdict,
        chance=chance,
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
