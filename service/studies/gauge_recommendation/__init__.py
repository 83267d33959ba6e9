"""Gauge recommendation: which cable."""

from typing import Final

from msgspec.structs import replace

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


GAUGE_RECOMMENDATION: Final = Study(
    "gauge-recommendation",
    GaugeRecommendationRequest,
    job_of,
    gauge_recommendation_work,
    answer,
    {JSON: json_form(), **sheet_forms("gauge-recommendation", gauge_recommendation_sheet)},
)
