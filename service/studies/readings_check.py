"""Do the meter's readings agree with the wiring as it is thought to be and, if not, what explains them?"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.studies.connected import connect_job
from service.studies.estimates import readings_check_work, refuse_over_limit
from service.studies.readings.allowance import allowance_of
from service.studies.readings.basis import Basis
from service.studies.readings.causes import causes_of
from service.studies.readings.chance import chi_square_probability
from service.studies.readings.impossible import ABOVE_UPSTREAM, Unused, stateless, unusable
from service.studies.readings.model import model_of
from service.studies.readings.notes import assumptions_made, sources_used
from service.studies.readings.ranking import Ranked, Ranker
from service.studies.readings.routes import Routes
from service.studies.readings.separating import first_reading, next_reading
from service.studies.readings.slips import slips
from service.studies.readings.slopes import slopes_of
from service.studies.readings.spread import spread_of
from service.studies.readings.taking import place_readings
from service.studies.readings.verdict import (
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

if TYPE_CHECKING:
    from service.studies.finding import Finding
    from service.studies.readings.allowance import Allowance
    from service.studies.readings.asked import ReadingsJob
    from service.studies.readings.cause import Cause
    from service.studies.readings.model import Model, Taken
    from service.studies.readings.slopes import Slopes
    from service.studies.readings.taking import Placed

NOTHING_FOUND = Ranked([], 1.0, 0)


class _Base(NamedTuple):
    """A job laid out and read: the model, what may be off, the readings that can be used and the others."""

    model: Model
    routes: Routes
    allowance: Allowance
    placed: Placed
    used: list[Taken]
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
    slopes = slopes_of(base.model, base.used, base.model.near_ideal, watts=True)
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
    found = slips(asked, base.model, base.placed.taken)
    ranked = ranker.rank(ranker.weighed(causes) if weighed is None else weighed)
    best = ranked.explanations[0].chi_square if ranked.explanations else chance.value
    explained = chi_square_probability(best, max(1, len(base.used) - 1)) >= IMPROBABLE
    return _answer(asked, base, ranker, DISAGREES if explained else CONTRADICTS, chance, ranked, found)


def _base_of(asked: ReadingsJob) -> _Base:
    """Lay the job out at the temperature at which it is predicted, and place every reading."""
    allowance = allowance_of(asked)
    connected = connect_job(asked.job._replace(temperature_c=allowance.temperature_c))
    placed = place_readings(asked, connected)
    model, routes = model_of(connected, placed.states), Routes(connected.layout)
    unused = [*stateless(asked), *unusable(asked, model, routes, placed.taken)]
    out = {each.position for each in unused}
    used = [one for one in placed.taken if one.position not in out]
    return _Base(model, routes, allowance, placed, used, unused)


def _ranker(base: _Base, slopes: list[Slopes]) -> Ranker:
    predicted = base.model.predicted(base.used)
    deviations = [one.value - each for one, each in zip(base.used, predicted, strict=True)]
    spread = spread_of(base.model, base.allowance, base.used, slopes)
    return Ranker(base.model, base.allowance, base.used, spread, deviations, slopes)


def _causes(base: _Base, ranker: Ranker, slopes: list[Slopes]) -> list[Cause]:
    urge = [each / variance for each, variance in zip(ranker.deviations, ranker.spread.variance, strict=True)]
    return causes_of(Basis(base.model, base.routes, base.used, slopes, urge))


def _beside(unused: list[Unused]) -> str:
    """The verdict where whatever can be judged agrees: something that cannot be spoils it."""
    reasons = {each.reason for each in unused if each.is_impossible}
    if ABOVE_UPSTREAM in reasons:
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
    found: list[Finding],
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


def _slips(asked: ReadingsJob, base: _Base, verdict: str) -> list[Finding]:
    """Slips are looked for where something is wrong, among all readings whose state was said."""
    return [] if verdict == AGREES else slips(asked, base.model, base.placed.taken)


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
