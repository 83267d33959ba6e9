"""`GET /openapi.json`."""

from typing import Any, Final, Protocol

from litestar import Request, Response, get

from service.http.replies import Kept, kept_reply
from service.intake import negotiate
from service.studies.record import JSON, digest

DOCUMENT: Final = "document"
"""The name under which the application's state holds its document."""


class WrittenDocument(Protocol):
    """The document is written in a room above this one, from the routes of the whole application."""

    async def text(self) -> bytes:
        """Return the document as JSON, UTF-8."""


@get("/openapi.json")
async def openapi_document(request: Request[Any, Any, Any]) -> Response[bytes]:
    """Every address, message and refusal of this service, in OpenAPI 3.1."""
    # First of all, because the document shows this refusal: while it is written, it is asked for here.
    negotiate(request.headers.get("accept"), (JSON,))
    document: WrittenDocument = request.app.state[DOCUMENT]
    text = await document.text()
    return kept_reply(request, Kept(text, f'"{digest(text)[:32]}"'))
