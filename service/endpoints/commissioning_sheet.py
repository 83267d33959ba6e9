"""`POST /v1/commissioning-sheet`."""

from typing import Any, Final

from litestar import Request, Response, post

from service.endpoints.posted import digest, posted_body
from service.endpoints.sheets import VARY, Forms, written
from service.intake import decode, negotiate
from service.messages.commissioning_sheet import CommissioningSheetReply, CommissioningSheetRequest
from service.observability.exchange import note_answer
from service.sheets.commissioning_sheet import commissioning_sheet_sheet
from service.studies.commissioning_sheet import commissioning_sheet as predict
from service.translate.commissioning_csv import commissioning_csv
from service.translate.commissioning_sheet import asked_of, reply_of

CSV: Final = "text/csv"
FORMS: Final = Forms("commissioning-sheet", CommissioningSheetRequest, commissioning_sheet_sheet)
OFFERED: Final = (*FORMS.offered, CSV)

_FILE: Final = {**VARY, "Content-Disposition": 'attachment; filename="commissioning-sheet.csv"'}


@post("/v1/commissioning-sheet", status_code=200)
async def commissioning_sheet(request: Request[Any, Any, Any]) -> Response[bytes]:
    """What should a meter show, place by place, from bare terminals to everything on?"""
    body = await posted_body(request, OFFERED)
    reply = answer_commissioning_sheet(body)
    if negotiate(request.headers.get("accept"), OFFERED) == CSV:
        note_answer(reply)
        return Response(commissioning_csv(reply).encode(), media_type=CSV, headers=dict(_FILE))
    return await written(request, body, reply, FORMS)


def answer_commissioning_sheet(body: bytes) -> CommissioningSheetReply:
    """Decode, compute, reply."""
    message = decode(body, CommissioningSheetRequest)
    return reply_of(message, predict(asked_of(message)), digest(body))
