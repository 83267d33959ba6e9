"""`POST /v1/transformer-loading`."""

from typing import Any, Final

from litestar import Request, Response, post

from service.endpoints.posted import digest, posted_body
from service.endpoints.sheets import Forms, written
from service.intake import decode
from service.messages.transformer_loading import TransformerLoadingReply, TransformerLoadingRequest
from service.sheets.transformer_loading import transformer_loading_sheet
from service.studies.transformer_loading import transformer_loading as load_transformer
from service.translate.transformer_loading import question_of, reply_of

FORMS: Final = Forms("transformer-loading", TransformerLoadingRequest, transformer_loading_sheet)


@post("/v1/transformer-loading", status_code=200)
async def transformer_loading(request: Request[Any, Any, Any]) -> Response[bytes]:
    """What does the transformer carry, which would carry it best, and how do the runs go on its circuits?"""
    body = await posted_body(request, FORMS.offered)
    return await written(request, body, answer_transformer_loading(body), FORMS)


def answer_transformer_loading(body: bytes) -> TransformerLoadingReply:
    """Decode, compute, reply."""
    message = decode(body, TransformerLoadingRequest)
    return reply_of(message, load_transformer(question_of(message)), digest(body))
