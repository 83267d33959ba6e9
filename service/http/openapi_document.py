"""`GET /openapi.json`, and the schema of each request by itself."""

from functools import lru_cache
from typing import Any, Final, Protocol

from litestar import Request, Response, get
from litestar.params import FromPath

from service.http.static_files import File, file_of, packed_reply
from service.intake import negotiate
from service.problems import Refused
from service.studies.record import JSON

DOCUMENT: Final = "document"
"""The name under which the application's state holds its document."""


SCHEMAS_AT: Final = "/schemas"


_ENDING: Final = ".json"


class WrittenDocument(Protocol):
    """The document is written in a room above this one, from the routes of the whole application."""

    async def text(self) -> bytes:
        """Return the document as JSON, UTF-8."""

    def schema(self, name: str) -> bytes | None:
        """Return the JSON Schema of a request by the name of its study, UTF-8; None where there is none."""


@get("/openapi.json")
async def openapi_document(request: Request[Any, Any, Any]) -> Response[bytes]:
    """Every address, message and refusal of this service, in OpenAPI 3.1."""
    # First of all, because the document shows this refusal: while it is written, it is asked for here.
    negotiate(request.headers.get("accept"), (JSON,))
    document: WrittenDocument = request.app.state[DOCUMENT]
    text = await document.text()
    return packed_reply(request, _file(text))


@get(f"{SCHEMAS_AT}/{{name:str}}", include_in_schema=False, sync_to_thread=False)
def request_schema(request: Request[Any, Any, Any], name: FromPath[str]) -> Response[bytes]:
    """The JSON Schema of one request.

    Raises
    ------
    Refused
        ``not-found``: there is no study of this name.
    """
    document: WrittenDocument = request.app.state[DOCUMENT]
    text = document.schema(name.removesuffix(_ENDING)) if name.endswith(_ENDING) else None
    if text is None:
        raise Refused("not-found", "No study has this name. The schema of reach is /schemas/reach.json.")
    return packed_reply(request, _file(text))


@lru_cache(maxsize=64)
def _file(text: bytes) -> File:
    """Compressed once, since it does not change while the process runs."""
    return file_of(text, JSON)
