"""`POST /v1/voltage-drop`."""

from typing import Any, Final

from litestar import Request, Response, post
from msgspec import UnsetType

from service.endpoints.posted import digest, posted_body
from service.endpoints.sheets import Forms, written
from service.intake import decode
from service.messages.voltage_drop import VoltageDropReply, VoltageDropRequest
from service.sheets.sheet import Sheet
from service.sheets.voltage_drop import voltage_drop_drawing, voltage_drop_sheet
from service.studies.commissioning_sheet import commissioning_sheet
from service.studies.voltage_drop import voltage_drop as solve_voltage_drop
from service.translate import commissioning_sheet as stages
from service.translate.voltage_drop import job_of, reply_of


@post("/v1/voltage-drop", status_code=200)
async def voltage_drop(request: Request[Any, Any, Any]) -> Response[bytes]:
    """What does each lamp get? Volts at every fixture, drop, loading and findings, in one state."""
    body = await posted_body(request, FORMS.offered)
    return await written(request, body, answer_voltage_drop(body), FORMS)


def answer_voltage_drop(body: bytes) -> VoltageDropReply:
    """Decode, compute, reply."""
    message = decode(body, VoltageDropRequest)
    return reply_of(message, solve_voltage_drop(job_of(message)), digest(body))


def printed(message: VoltageDropRequest, reply: VoltageDropReply) -> Sheet:
    """The sheet, with the stages to read with a meter where the request asks for them."""
    if isinstance(message.sheet, UnsetType) or message.sheet.commissioning is not True:
        return voltage_drop_sheet(message, reply)
    answer = commissioning_sheet(stages.as_described(message))
    return voltage_drop_sheet(message, reply, stages.reply_of(message, answer, reply.request_sha256))


FORMS: Final = Forms("voltage-drop", VoltageDropRequest, printed, voltage_drop_drawing)
