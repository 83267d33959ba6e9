"""`POST /v1/batch`."""

from collections.abc import Callable
from typing import Any, Final

from litestar import Request, Response, post
from msgspec import Raw, Struct, json

from service.endpoints.commissioning_sheet import answer_commissioning_sheet
from service.endpoints.drop_chart import answer_drop_chart
from service.endpoints.gauge_recommendation import answer_gauge_recommendation
from service.endpoints.posted import json_reply, posted_body
from service.endpoints.reach import answer_reach
from service.endpoints.readings_check import answer_readings_check
from service.endpoints.refusal_of import STUDY_ERRORS, refusal_of
from service.endpoints.transformer_loading import answer_transformer_loading
from service.endpoints.voltage_drop import answer_voltage_drop
from service.intake import decode
from service.messages.batch import Answered, BatchItem, BatchReply, BatchRequest, RefusedItem
from service.observability.exchange import exchange_of, note_answer, note_refused_item
from service.problems import Refused, problem_bytes

STUDIES: Final[dict[str, Callable[[bytes], Struct]]] = {
    "voltage-drop": answer_voltage_drop,
    "transformer-loading": answer_transformer_loading,
    "gauge-recommendation": answer_gauge_recommendation,
    "reach": answer_reach,
    "drop-chart": answer_drop_chart,
    "readings-check": answer_readings_check,
    "commissioning-sheet": answer_commissioning_sheet,
}
"""What answers each study that a batch may name."""


@post("/v1/batch", status_code=200)
async def batch(request: Request[Any, Any, Any]) -> Response[bytes]:
    """Several questions at once: an answer or a problem for each, in order, as if asked alone."""
    message = decode(await posted_body(request), BatchRequest)
    request_id = exchange_of(request.scope).request_id
    return json_reply(BatchReply([answer_item(item, request_id) for item in message.items]))


def answer_item(item: BatchItem, request_id: str) -> Answered | RefusedItem:
    """Answer one item; what is wrong with it stays with it."""
    try:
        reply = STUDIES[item.study](bytes(item.request))
        answer = json.encode(reply)
    except (Refused, *STUDY_ERRORS) as error:
        refusal = refusal_of(error)
        note_refused_item(refusal.code)
        _, problem = problem_bytes(refusal.code, refusal.detail, request_id, refusal.errors)
        return RefusedItem(item.study, Raw(problem), item.id)
    note_answer(reply)
    return Answered(item.study, Raw(answer), item.id)
