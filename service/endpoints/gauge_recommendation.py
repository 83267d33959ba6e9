"""Gauge recommendation: which cable."""

from typing import Final

from msgspec.structs import replace

from service.endpoints.encoding import JSON
from service.endpoints.forms import json_form, sheet_forms
from service.endpoints.study import Study
from service.messages.gauge_recommendation import GaugeRecommendationReply, GaugeRecommendationRequest
from service.sheets.gauge_recommendation import gauge_recommendation_sheet
from service.studies.estimates import gauge_recommendation_work
from service.studies.gauge_recommendation import Question, gauge_recommendation
from service.studies.voltage_drop import voltage_drop
from service.translate.filled_wiring import filled_wiring
from service.translate.gauge_recommendation import question_of
from service.translate.gauge_reply import none_passes_reply, recommended_reply
from service.translate.job import job_of


def answer(message: GaugeRecommendationRequest, question: Question, sha256: str) -> GaugeRecommendationReply:
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
        solved=voltage_drop(job_of(replace(message, wiring=wiring))),
        sha256=sha256,
    )


GAUGE_RECOMMENDATION: Final = Study(
    "gauge-recommendation",
    GaugeRecommendationRequest,
    question_of,
    gauge_recommendation_work,
    answer,
    {JSON: json_form(), **sheet_forms("gauge-recommendation", gauge_recommendation_sheet)},
)
