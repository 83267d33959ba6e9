"""`POST /v1/reach`."""

from typing import Any

from litestar import Request, Response, post

from service.endpoints.posted import digest, json_reply, posted_body
from service.intake import decode
from service.messages.reach import ReachReply, ReachRequest
from service.studies.reach import reach as find_reach
from service.translate.reach import job_of, reply_of


@post("/v1/reach", status_code=200)
async def reach(request: Request[Any, Any, Any]) -> Response[bytes]:
    """How far, how much, how many? The longest run for a load, the largest load for a run, most fixtures."""
    return json_reply(answer_reach(await posted_body(request)))


def answer_reach(body: bytes) -> ReachReply:
    """Decode, compute, reply."""
    message = decode(body, ReachRequest)
    return reply_of(message, find_reach(job_of(message)), digest(body))
