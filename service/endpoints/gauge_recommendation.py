"""`POST /v1/gauge-recommendation`."""

from typing import Any, Final

from litestar import Request, Response, post
from msgspec.structs import replace

from service.endpoints.posted import digest, posted_body
from service.endpoints.sheets import Forms, written
from service.intake import decode
from service.messages.gauge_recommendation import GaugeRecommendationReply, GaugeRecommendationRequest
from service.sheets.gauge_recommendation import gauge_recommendation_sheet
from service.studies.gauge_recommendation import gauge_recommendation as recommend
from service.studies.voltage_drop import voltage_drop
from service.translate.filled_wiring import filled_wiring
from service.translate.gauge_recommendation import question_of
from service.translate.gauge_reply import none_passes_reply, recommended_reply
from service.translate.job import job_of

FORMS: Final = Forms("gauge-recommendation", GaugeRecommendationRequest, gauge_recommendation_sheet)


@post("/v1/gauge-recommendation", status_code=200)
async def gauge_recommendation(request: Request[Any, Any, Any]) -> Response[bytes]:
    """Which cable? The cheapest choice that keeps every limit, or what each breaks and what would help."""
    body = await posted_body(request, FORMS.offered)
    return await written(request, body, answer_gauge_recommendation(body), FORMS)


def answer_gauge_recommendation(body: bytes) -> GaugeRecommendationReply:
    """Decode, compute, reply."""
    message = decode(body, GaugeRecommendationRequest)
    question = question_of(message)
    answer = recommend(question)
    if answer.found is None:
        return none_passes_reply(message, question, answer, voltage_drop(question.job), digest(body))
    wiring = filled_wiring(message.wiring, answer, answer.found, question.job.feeders())
    return recommended_reply(
        message,
        question,
        answer,
        answer.found,
        wiring=wiring,
        solved=voltage_drop(job_of(replace(message, wiring=wiring))),
        sha256=digest(body),
    )
