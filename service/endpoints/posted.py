"""Bodies in, answers out: what every calculation does the same way."""

from hashlib import sha256
from typing import Any, Final

from litestar import Request, Response
from msgspec import Struct, json

from service.access.quotas import meter_of
from service.intake import check_headers, negotiate
from service.observability.exchange import note_answer
from service.studies.work import MAXIMUM_REQUEST_WORK, begin_request

JSON: Final = "application/json"
MAXIMUM_BODY: Final = "maximum_body_bytes"
"""The name under which the application's state holds the largest body that is read."""

_ENCODER: Final = json.Encoder()

AnyRequest = Request[Any, Any, Any]


async def posted_body(request: AnyRequest, offered: tuple[str, ...] = (JSON,)) -> bytes:
    """The body of a calculation, once its headers have shown that it can be read and answered.

    `offered` are the media types in which it can be.

    Raises
    ------
    Refused
        415 before the body is read; 406 where none of the offered types is accepted; 429 where the caller's
        quota of work is spent.
    """
    headers = request.headers
    check_headers(
        headers.get("content-type"),
        headers.get("content-encoding"),
        headers.get("content-length"),
        request.app.state[MAXIMUM_BODY],
    )
    negotiate(headers.get("accept"), offered)
    body = await request.body()
    begin_work(request, len(body))
    return body


def begin_work(request: AnyRequest, size: int) -> None:
    """Begin to count the work of a request, and hold what it may cost of its caller's quota.

    Raises
    ------
    Refused
        ``quota-spent``.
    """
    begin_request()
    meter = meter_of(request.scope)
    if meter is not None:
        meter.admit(size)
        meter.reserve(MAXIMUM_REQUEST_WORK, is_heavy=False)


def json_reply(message: Struct | list[Any], status_code: int = 200) -> Response[bytes]:
    """A message as a JSON reply."""
    note_answer(message)
    return Response(_ENCODER.encode(message), status_code=status_code, media_type=JSON)


def digest(body: bytes) -> str:
    """SHA-256 of a request, so that a quotation can name the very bytes it was computed from."""
    return sha256(body).hexdigest()
