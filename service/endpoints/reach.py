"""`POST /v1/reach`."""

from typing import Any, Final

from litestar import Request, Response, post

from service.endpoints.posted import digest, posted_body
from service.endpoints.sheets import Forms, written
from service.intake import decode
from service.messages.reach import ReachReply, ReachRequest
from service.sheets.reach import reach_sheet
from service.studies.reach import reach as find_reach
from service.translate.reach import job_of, reply_of

FORMS: Final = Forms("reach", ReachRequest, reach_sheet)


@post("/v1/reach", status_code=200)
async def reach(request: Request[Any, Any, Any]) -> Response[bytes]:
    """How far, how much, how many? The longest run for a load, the largest load for a run, most fixtures."""
    body = await posted_body(request, FORMS.offered)
    return await written(request, body, answer_reach(body), FORMS)


def answer_reach(body: bytes) -> ReachReply:
    """Decode, compute, reply."""
    message = decode(body, ReachRequest)
    return reply_of(message, find_reach(job_of(message)), digest(body))
