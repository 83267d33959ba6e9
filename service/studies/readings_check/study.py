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
from service.estimation.covariance import covariance_of, work_of_spread
from service.estimation.jacobian import Sensitivities, sensitivities_of, work_of_slopes
from service.estimation.job import ReadingsJob
from service.estimation.measurements import Placed, place_readings
from service.estimation.model import Measurement, Model, model_of, work_of_solve
from service.estimation.notes import assumptions_made, sources_used
from service.estimation.probes import Routes
from service.estimation.statistics import chi_square_probability
from service.estimation.uncertainty import Uncertainty, uncertainty_of
from service.findings.finding import FindingFacts
from service.studies.readings_check.fault import Basis, FaultHypothesis
from service.studies.readings_check.faults import CAUSES_OF_POINT, causes_of, work_of_causes
from service.studies.readings_check.inconsistent import READING_ABOVE_UPSTREAM, Unused, stateless, unusable
from service.studies.readings_check.next_reading import first_reading, next_reading
from service.studies.readings_check.ranking import WEIGHING_WORK, Ranked, Ranker, work_of_whitening
from service.studies.readings_check.recording_errors import recording_errors
from service.studies.readings_check.result import (
    AGREES,
    CONTRADICTS,
    DISAGREES,
    IMPROBABLE,
    NOT_SEPARATED,
    NOTHING,
    Chance,
    CheckAnswer,
    Judged,
)

SOLVED_OF_A_STATE = 3
"""How often a check solves each state: whether it is carried, what is read in it, and how that follows."""


WORK_OF_A_SEARCH = 60_000
"""The most that a search for the cause of readings takes."""


def readings_check_work(asked: ReadingsJob) -> Estimate:
    """Of a check: each state read in, and how each reading follows the wiring; a search may stop anywhere."""
    size, readings = size_of(asked.job), len(asked.readings)
    states = len({reading.state for reading in asked.readings}) or 1
    solved = SOLVED_OF_A_STATE * states * work_of_solve(size.effort, turned=size.turned)
    followed = readings * work_of_slopes(size.effort, turned=size.turned)
    weighed = min(WEIGHING_WORK, work_of_whitening(CAUSES_OF_POINT * size.points, readings))
    weighed += work_of_spread(readings, 2 * size.points) + work_of_causes(size.points, readings)
    return estimate_of(solved + followed + weighed, WORK_OF_A_SEARCH)


NOTHING_FOUND = Ranked([], 1.0, 0)


class _Base(NamedTuple):
    """A job laid out and read: the model, what may be off, the readings that can be used and the others."""

    model: Model
    routes: Routes
    allowance: Uncertainty
    placed: Placed
    used: list[Measurement]
    unused: list[Unused]


def readings_check(asked: ReadingsJob) -> CheckAnswer:
    """Judge readings.

    Raises
    ------
    ReadingsContradictoryError
        Readings that point at nothing.
    JobTooLargeError, WiringContradictoryError, WorkOverLimitError
        As of any job.
    """
    refuse_over_limit(readings_check_work(asked))
    base = _base_of(asked)
    slopes = sensitivities_of(base.model, base.used, base.model.near_ideal, watts=True)
    if not base.used or slopes is None:
        return _unjudged(asked, base)
    ranker = _ranker(base, slopes)
    chance = _chance(ranker.spread.chi_square(ranker.deviations), len(base.used))
    causes = _causes(base, ranker, slopes)
    weighed = None
    if ranker.is_cheap(causes):
        weighed = ranker.weighed(causes)
        chance = chance._replace(single=ranker.chance_of_best(weighed))
    if chance.is_chance:
        verdict = _beside(base.unused)
        found = _slips(asked, base, verdict)
        return _answer(asked, base, ranker, verdict, chance, NOTHING_FOUND, found)
    # First of all, while there is work left: a search may take as much of it as it likes.
    found = recording_errors(asked, base.model, base.placed.taken)
    ranked = ranker.rank(ranker.weighed(causes) if weighed is None else weighed)
    best = ranked.explanations[0].chi_square if ranked.explanations else chance.value
    explained = chi_square_probability(best, max(1, len(base.used) - 1)) >= IMPROBABLE
    return _answer(asked, base, ranker, DISAGREES if explained else CONTRADICTS, chance, ranked, found)


def _base_of(asked: ReadingsJob) -> _Base:
    """Lay the job out at the temperature at which it is predicted, and place every reading."""
    allowance = uncertainty_of(asked)
    connected = connect_job(asked.job._replace(temperature_c=allowance.temperature_c))
    placed = place_readings(asked, connected)
    model, routes = model_of(connected, placed.states), Routes(connected.layout)
    unused = [*stateless(asked), *unusable(asked, model, routes, placed.taken)]
    out = {each.position for each in unused}
    used = [one for one in placed.taken if one.position not in out]
    return _Base(model, routes, allowance, placed, used, unused)


def _ranker(base: _Base, slopes: list[Sensitivities]) -> Ranker:
    predicted = base.model.predicted(base.used)
    deviations = [one.value - each for one, each in zip(base.used, predicted, strict=True)]
    spread = covariance_of(base.model, base.allowance, base.used, slopes)
    return Ranker(base.model, base.allowance, base.used, spread, deviations, slopes)


def _causes(base: _Base, ranker: Ranker, slopes: list[Sensitivities]) -> list[FaultHypothesis]:
    urge = [each / variance for each, variance in zip(ranker.deviations, ranker.spread.variance, strict=True)]
    return causes_of(Basis(base.model, base.routes, base.used, slopes, urge))


def _beside(unused: list[Unused]) -> str:
    """The verdict where whatever can be judged agrees: something that cannot be spoils it."""
    reasons = {each.reason for each in unused if each.is_impossible}
    if READING_ABOVE_UPSTREAM.code in reasons:
        return CONTRADICTS
    return DISAGREES if reasons else AGREES


def _chance(chi_square: float, degrees: int) -> Chance:
    return Chance(chi_square, degrees, chi_square_probability(chi_square, degrees))


def _answer(  # noqa: PLR0913, PLR0917  the parts of one answer
    asked: ReadingsJob,
    base: _Base,
    ranker: Ranker,
    verdict: str,
    chance: Chance,
    ranked: Ranked,
    found: list[FindingFacts],
) -> CheckAnswer:
    told = ranked.explanations
    alternatives = [
        index for index, each in enumerate(told) if index and each.cost < told[0].cost + NOT_SEPARATED
    ]
    elsewhere = [index for index in alternatives if told[index].fit.cause.place != told[0].fit.cause.place]
    following = None
    if elsewhere and verdict == DISAGREES:
        following = next_reading(asked, ranker, [0, *elsewhere], told)
    return CheckAnswer(
        asked=asked,
        verdict=verdict,
        chance=chance,
        readings=_judged(asked, base, ranker),
        explanations=told,
        nothing_wrong=ranked.nothing_wrong,
        alternatives=alternatives,
        place_settled=verdict == DISAGREES and bool(told) and not elsewhere,
        left_out=ranked.left_out,
        impossible=[each.position for each in base.unused if each.is_impossible],
        next_reading=following,
        findings=[*(each.finding for each in base.unused), *found],
        assumptions=assumptions_made(asked, base.model, left_out=ranked.left_out),
        sources=sources_used(base.model),
        model=base.model,
        routes=base.routes,
    )


def _slips(asked: ReadingsJob, base: _Base, verdict: str) -> list[FindingFacts]:
    """Slips are looked for where something is wrong, among all readings whose state was said."""
    return [] if verdict == AGREES else recording_errors(asked, base.model, base.placed.taken)


def _unjudged(asked: ReadingsJob, base: _Base) -> CheckAnswer:
    """The answer where no reading can be judged."""
    reasons = {each.position: each.reason for each in base.unused}
    readings = [
        Judged(index, reading.quantity, reading.value, reason=reasons.get(index))
        for index, reading in enumerate(asked.readings)
    ]
    return CheckAnswer(
        asked=asked,
        verdict=NOTHING,
        chance=Chance(0.0, 0, 1.0),
        readings=readings,
        explanations=[],
        nothing_wrong=1.0,
        alternatives=[],
        place_settled=False,
        left_out=0,
        impossible=[each.position for each in base.unused if each.is_impossible],
        next_reading=first_reading(asked),
        findings=[*(each.finding for each in base.unused), *_slips(asked, base, NOTHING)],
        assumptions=assumptions_made(asked, base.model),
        sources=sources_used(base.model),
        model=base.model,
        routes=base.routes,
    )


def _judged(asked: ReadingsJob, base: _Base, ranker: Ranker) -> list[Judged]:
    """Every reading in its order, with what was predicted where it was used."""
    reasons = {each.position: each.reason for each in base.unused}
    found = {
        one.position: (one.value - deviation, variance**0.5)
        for one, deviation, variance in zip(base.used, ranker.deviations, ranker.spread.variance, strict=True)
    }
    return [
        Judged(index, reading.quantity, reading.value, *found[index])
        if index in found
        else Judged(index, reading.quantity, reading.value, reason=reasons.get(index))
        for index, reading in enumerate(asked.readings)
    ]
