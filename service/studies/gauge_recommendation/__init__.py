"""Gauge recommendation: which cable."""

from contextlib import suppress
from typing import Final

from msgspec.structs import replace

from service.circuit.estimate import size_of
from service.circuit.work import WorkOverLimitError, held_back, left, work_of
from service.sheets.papers import ALL_PAPERS
from service.studies.description import Description, Example
from service.studies.gauge_recommendation.choosing import Choosing
from service.studies.gauge_recommendation.papers import printed, work_of_papers
from service.studies.gauge_recommendation.remedies import Remedies, Remedy, kinds_of
from service.studies.gauge_recommendation.remedy_rows import remedy_row
from service.studies.gauge_recommendation.reply import GaugeRecommendationReply, RemedyRow
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.shorter import IN_SHORT, WHOLE, remedies_in_short
from service.studies.gauge_recommendation.study import (
    KEPT_FOR_REMEDIES,
    GaugeJob,
    Recommendation,
    gauge_recommendation_work,
)
from service.studies.gauge_recommendation.translate import (
    as_stated,
    complete_conditions,
    job_of,
    none_passes_reply,
    recommended_reply,
)
from service.studies.record import JSON, Study, json_form, sheet_forms
from service.studies.shortening import Kept
from service.studies.voltage_drop.study import DropAnswer, voltage_drop
from service.translate.job import described_job, length_unit
from service.translate.naming import PlaceNames


def answer(message: GaugeRecommendationRequest, gauge_job: GaugeJob, sha256: str) -> GaugeRecommendationReply:
    """Choose, and tell what is chosen as solved with it; or why nothing is.

    Where no choice holds the usual range, which the caller did not ask for, the state as stated is enough.
    """
    begun = left()
    if not gauge_job.job.usual_range and described_job(message, usual=True).usual_range:
        message = as_stated(message)  # A job so large is judged as stated alone.
    ranged = Choosing(message, gauge_job)
    chosen = _run(ranged)
    if chosen.found is not None or not gauge_job.job.usual_range:
        return _reply(ranged, sha256, begun)
    stated = Choosing(as_stated(message), job_of(as_stated(message)))
    alone = _run(stated)
    if alone.found is not None:
        return _reply(stated, sha256, begun, over=message)
    # What fails as stated fails over any range.
    return _reply(ranged, sha256, begun, proven=chosen.proven or alone.proven)


MOST_OF_A_SEARCH: Final = 40_000
"""Work that one search may be charged; a range that is not held takes two."""


WORK_OF_THE_REST: Final = 500
"""Work of what follows a search, beside solving."""


STATES_OF_A_COLLAPSE: Final = 40
"""States that are solved for the share of a load that can be carried, those near the limit counted twice."""


def _kept(gauge_job: GaugeJob) -> int:
    """Work to solve and to write down what is answered, a job that cannot be carried too."""
    collapse = STATES_OF_A_COLLAPSE * work_of(size_of(gauge_job.job).effort)
    return 2 * gauge_recommendation_work(gauge_job).first + WORK_OF_THE_REST + collapse


def _run(choosing: Choosing) -> Recommendation:
    """Search, and leave work over for another search and for what is told."""
    with held_back(max(_kept(choosing.gauge_job), left() - MOST_OF_A_SEARCH)):
        choosing.search.run()
    with held_back(max(_kept(choosing.gauge_job), left() - MOST_OF_A_SEARCH)):
        choosing.search.go_on()
    return choosing.search.recommended


def _reply(
    choosing: Choosing,
    sha256: str,
    begun: int,
    *,
    over: GaugeRecommendationRequest | None = None,
    proven: bool = False,
) -> GaugeRecommendationReply:
    """The reply; `over` is the request with the range that what is chosen does not hold.

    `begun` is the work that was left before the search. `proven`: it is known that nothing passes.
    """
    message, gauge_job = choosing.message, choosing.gauge_job
    with held_back(_kept(gauge_job)):
        chosen = choosing.search.recommendation()
    if chosen.found is None or choosing.last is None:
        solved = voltage_drop(gauge_job.job)
        remedies, untried = _remedies(choosing, solved, begun)
        return none_passes_reply(
            message,
            gauge_job,
            chosen._replace(proven=chosen.proven or proven),
            solved,
            remedies=remedies,
            untried=untried,
            sha256=sha256,
        )
    wiring, solved = choosing.last
    return recommended_reply(
        message,
        gauge_job,
        chosen,
        chosen.found,
        wiring=wiring,
        solved=solved,
        over_range=[] if over is None else choosing.broken_by(wiring, over),
        sha256=sha256,
    )


MOST_FOR_REMEDIES: Final = 2 * KEPT_FOR_REMEDIES
"""Work for what would help, where the search left as much of its own."""


MOST_AS_STATED: Final = 3
"""Remedies that hold the state as stated alone, beside those that hold the range."""


def _remedies(choosing: Choosing, solved: DropAnswer, begun: int) -> tuple[list[RemedyRow], list[str]]:
    """What would help, and the kinds that the work ended before; where joints are enough, only those.

    What holds the range comes first; what holds the state as stated, and not the range, says so.
    """
    message, unit = choosing.message, length_unit(choosing.message)
    unspent = gauge_recommendation_work(choosing.gauge_job).most - (begun - left())
    found, less, untried = list[Remedy](), list[Remedy](), list(kinds_of(message.wiring))
    # What there is no work left for is left out.
    with held_back(WORK_OF_THE_REST), suppress(WorkOverLimitError):
        work = max(KEPT_FOR_REMEDIES, min(unspent, MOST_FOR_REMEDIES))
        tried, too_long = Remedies(message, work), choosing.search.too_long()
        found = [] if too_long is None else tried.for_spools(too_long.piece.subject)
        if not found:
            found, untried = tried.solved(), tried.untried
            if choosing.gauge_job.job.usual_range:
                holding, less = _as_stated(choosing, found, tried.left)
                found = [each for each in (*found, *holding) if each.assessment.passes or not less]
        else:
            untried = tried.untried
    naming = PlaceNames(solved.layout, unit)
    judged = complete_conditions(as_stated(message))
    return [
        *(remedy_row(each, naming, unit) for each in found),
        *(remedy_row(each, naming, unit, judged) for each in less),
    ], untried


def _as_stated(choosing: Choosing, found: list[Remedy], work: int) -> tuple[list[Remedy], list[Remedy]]:
    """Of what passes as stated and was not found before, what holds the range as well, and what does not."""
    message = choosing.message
    known = [each.changes for each in found if each.assessment.passes]
    passing = [each for each in Remedies(as_stated(message), work).solved() if each.assessment.passes]
    new = [each for each in passing if each.changes not in known][:MOST_AS_STATED]
    holding: list[Remedy] = []
    less: list[Remedy] = []
    for each in new:
        changed = message if each.supply is None else replace(message, supply=each.supply)
        (less if choosing.broken_by(each.wiring, changed) else holding).append(each)
    return holding, less


KEPT: Final = Kept(
    ("remedies_untried", "total", "currency"),
    ("chosen", "taps", "purchase", "least_possible_total", "least_possible_metal"),
    cut=remedies_in_short,
    always_in_part=IN_SHORT,
    fixtures_in_part=WHOLE,
)
"""Of a shorter reply."""


DESCRIPTION: Final = Description(
    summary="Gauge recommendation",
    trade_names=(
        "wire size",
        "wire gauge",
        "cable sizing",
        "conductor size",
        "AWG",
        "mm²",
        "cable take-off",
        "spools to buy",
    ),
    question="Which cable?"
    " The cheapest choice that keeps every limit, or what each breaks and what would help.",
    reply=GaugeRecommendationReply,
    reply_words="The cheapest choice that keeps every limit, or what each breaks and what would help.",
    refusals=("wiring-invalid", "taps-joined", "supply-not-computable", "job-too-large", "work-over-limit"),
    more=(
        "What stands in the open places of the wiring only says where a cable lies. The filled `wiring`"
        " of the reply can be posted to voltage-drop as it is.\n\n"
        "`method` is `exact` where no cheaper choice passes; where the work of one request ran out before"
        " that was certain it is `best-found`, with the bound that nothing can cost less than. Where it ran"
        " out before anything was found that passes `status` is `none-found`: there may be such a choice."
        " `remedies` are solved: each row that passes does so when it is posted. Those for which work was"
        " left are told, and `remedies_untried` names the kinds for which there was not enough."
        "\n\n"
        "Cable that is sold in spools is cut: each piece (a run, a branch or a spur as far as it has one"
        " cable, a return leg, a span) from one spool, unless `cutting.joints` is `anywhere`. `purchase` says"
        " which spools are cheapest, whether that is `proven` or what they cost `at_least`, and in `cut_list`"
        " which piece comes from which; joints are counted, their resistance is not solved with. A piece"
        " longer than every spool rules that cable out (`piece-longer-than-any-spool`). Lengths are as the"
        " wiring has them: nothing is added for slack or for making up ends.\n\n" + KEPT.words
    ),
    examples=(
        Example("per-run", "The cheapest cable for each run", file="gauge_recommendation.json"),
        Example(
            "spools",
            "Two runs cut from spools, none of them joined",
            file="gauge_recommendation_spools.json",
        ),
        Example(
            "none-passes",
            "No cable of the stock is enough; what would help",
            file="gauge_recommendation_none_passes.json",
        ),
    ),
)


GAUGE_RECOMMENDATION: Final = Study(
    "gauge-recommendation",
    GaugeRecommendationRequest,
    job_of,
    gauge_recommendation_work,
    answer,
    {JSON: json_form(KEPT), **sheet_forms("gauge-recommendation", printed, work_of_papers, ALL_PAPERS)},
    DESCRIPTION,
)
