"""`POST /v1/voltage-drop`."""

from typing import Any

from litestar import Request, Response, post

from service.endpoints.posted import digest, json_reply, posted_body
from service.intake import decode
from service.messages.voltage_drop import VoltageDropReply, VoltageDropRequest
from service.studies.voltage_drop import voltage_drop as solve_voltage_drop
from service.translate.voltage_drop import job_of, reply_of


@post("/v1/voltage-drop", status_code=200)
async def voltage_drop(request: Request[Any, Any, Any]) -> Response[bytes]:
    """What does each lamp get? Volts at every fixture, drop, loading and findings, in one state."""
    return json_reply(answer_voltage_drop(await posted_body(request)))


def answer_voltage_drop(body: bytes) -> VoltageDropReply:
    """Decode, compute, reply."""
    message = decode(body, VoltageDropRequest)
    return reply_of(message, solve_voltage_drop(job_of(message)), digest(body))
