"""Gauge recommendation: which cable."""

from typing import Final

from msgspec.structs import replace

from service.studies.description import Description, Example
from service.studies.gauge_recommendation.reply import GaugeRecommendationReply
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.sheet import gauge_recommendation_sheet
from service.studies.gauge_recommendation.study import (
    GaugeJob,
    gauge_recommendation,
    gauge_recommendation_work,
)
from service.studies.gauge_recommendation.translate import (
    filled_wiring,
    job_of,
    none_passes_reply,
    recommended_reply,
)
from service.studies.record import JSON, Study, json_form, sheet_forms
from service.studies.voltage_drop.study import voltage_drop
from service.translate.job import described_job


def answer(message: GaugeRecommendationRequest, question: GaugeJob, sha256: str) -> GaugeRecommendationReply:
    """Choose, and tell what is chosen as solved with it; or why nothing is."""
    chosen = gauge_recommendation(question)
    if chosen.found is None:
        return none_passes_reply(message, question, chosen, voltage_drop(question.job), sha256)
    wiring = filled_wiring(message.wiring, chosen, chosen.found, question.job.feeders())
    return recommended_reply(
        message,
        question,
        chosen,
        chosen.found,
        wiring=wiring,
        solved=voltage_drop(described_job(replace(message, wiring=wiring))),
        sha256=sha256,
    )


DESCRIPTION: Final = Description(
    summary="Which cable",
    question="Which cable?"
    " The cheapest choice that keeps every limit, or what each breaks and what would help.",
    reply=GaugeRecommendationReply,
    reply_words="The cheapest choice that keeps every limit, or what each breaks and what would help.",
    refusals=("wiring-invalid", "taps-joined", "supply-not-computable", "job-too-large", "work-over-limit"),
    more=(
        "What stands in the open places of the wiring only says where a cable lies. The filled `wiring`"
        " of the reply can be posted to voltage-drop as it is.\n\n"
        "`method` is `exact` where no cheaper choice passes; where the work of one request ran out before"
        " that was certain it is `best-found`, with the bound that nothing can cost less than.\n\n"
        "Cable that is sold in spools is cut: each piece (a run, a branch or a spur as far as it has one"
        " cable, a return leg, a span) from one spool, unless `cutting.joints` is `anywhere`. `purchase` says"
        " which spools are cheapest, whether that is `proven` or what they cost `at_least`, and in `cut_list`"
        " which piece comes from which; joints are counted, their resistance is not solved with. A piece"
        " longer than every spool rules that cable out (`piece-longer-than-any-spool`). Lengths are as the"
        " wiring has them: nothing is added for slack or for making up ends."
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
    {JSON: json_form(), **sheet_forms("gauge-recommendation", gauge_recommendation_sheet)},
    DESCRIPTION,
)
