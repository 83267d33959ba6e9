"""Bodies that are taken, quotas that are held for them, and replies that a client may keep."""

from hashlib import sha256
from typing import Any, Final, NamedTuple

from litestar import Request, Response
from msgspec import Struct, json

from service.access.quotas import Caller, meter_of
from service.circuit.work import HEAVY_WORK, begin_request
from service.intake import check_headers, negotiate
from service.observability.exchange import exchange_of
from service.studies.record import JSON

MAXIMUM_BODY: Final = "maximum_body_bytes"
"""The name under which the application's state holds the largest body that is read."""


AnyRequest = Request[Any, Any, Any]


def id_of(request: AnyRequest) -> str:
    """The id of a request."""
    return exchange_of(request.scope).request_id


async def posted_body(request: AnyRequest, offered: tuple[str, ...] = (JSON,)) -> bytes:
    """The body of a calculation, once its headers have shown that it can be read and answered.

    `offered` are the media types in which it can be.

    Raises
    ------
    Refused
        415 before the body is read; 406 where none of the offered types is accepted; 429 where the quota of
        the caller is spent.
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
    begin(request, len(body))
    return body


_FRESH_FOR: Final = "public, max-age=300"


class Tagged(NamedTuple):
    """A reply that does not change while the process runs."""

    content: bytes
    etag: str


def kept(message: Struct) -> Tagged:
    """Encode a message once, with the tag that names its very bytes."""
    content = json.encode(message)
    return Tagged(content, f'"{sha256(content).hexdigest()[:32]}"')


def kept_reply(request: Request[Any, Any, Any], message: Tagged, media_type: str = JSON) -> Response[bytes]:
    """The message, or only word that the client's copy is still good."""
    negotiate(request.headers.get("accept"), (media_type,))
    headers = {"ETag": message.etag, "Cache-Control": _FRESH_FOR}
    if _has_it(request.headers.get("if-none-match"), message.etag):
        return Response(b"", status_code=304, headers=headers)
    return Response(message.content, media_type=media_type, headers=headers)


def _has_it(if_none_match: str | None, etag: str) -> bool:
    """Whether the client names this tag, weakly or not, or any."""
    if if_none_match is None:
        return False
    tags = {tag.strip().removeprefix("W/") for tag in if_none_match.split(",")}
    return etag in tags or "*" in tags


def begin(request: AnyRequest, size: int) -> None:
    """Begin to count the work of a request, before it is read.

    Parameters
    ----------
    request : Request
    size : int
        Of what it asks with. [bytes]

    Raises
    ------
    Refused
        ``quota-spent``.
    """
    begin_request()
    meter = meter_of(request.scope)
    if meter is not None:
        meter.admit(size)


def reserve(request: AnyRequest, work: int) -> None:
    """Hold what the answer may cost at most, before it is worked out.

    Raises
    ------
    Refused
        ``quota-spent`` or ``heavy-in-progress``.
    """
    meter = meter_of(request.scope)
    if meter is not None:
        meter.reserve(work, is_heavy=work > HEAVY_WORK)


def caller_of(request: AnyRequest) -> Caller | None:
    """Whose request it is; None where nobody tells callers apart."""
    meter = meter_of(request.scope)
    return None if meter is None else meter.caller
