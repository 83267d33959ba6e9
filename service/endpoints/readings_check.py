"""`POST /v1/readings-check`."""

from typing import Any, Final

from litestar import Request, Response, post

from service.endpoints.posted import digest, posted_body
from service.endpoints.sheets import Forms, written
from service.intake import decode
from service.messages.readings_check import ReadingsCheckReply, ReadingsCheckRequest
from service.sheets.readings_check import readings_check_sheet
from service.studies.readings_check import readings_check as check_readings
from service.translate.readings_check import asked_of
from service.translate.readings_reply import reply_of

FORMS: Final = Forms("readings-check", ReadingsCheckRequest, readings_check_sheet)


@post("/v1/readings-check", status_code=200)
async def readings_check(request: Request[Any, Any, Any]) -> Response[bytes]:
    """Does the meter agree with the wiring as built and, if not, what explains it and where to look?"""
    body = await posted_body(request, FORMS.offered)
    return await written(request, body, answer_readings_check(body), FORMS)


def answer_readings_check(body: bytes) -> ReadingsCheckReply:
    """Decode, compute, reply."""
    message = decode(body, ReadingsCheckRequest)
    return reply_of(message, check_readings(asked_of(message)), digest(body))
