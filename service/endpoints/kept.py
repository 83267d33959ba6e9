"""Replies that a client may keep: an ETag for each, and 304 for one that it has (RFC 9110, 13.1.2)."""

from hashlib import sha256
from typing import Any, Final, NamedTuple

from litestar import Request, Response
from msgspec import Struct, json

from service.endpoints.encoding import JSON
from service.intake import negotiate

_FRESH_FOR: Final = "public, max-age=300"


class Kept(NamedTuple):
    """A reply that does not change while the process runs."""

    content: bytes
    etag: str


def kept(message: Struct) -> Kept:
    """Encode a message once, with the tag that names its very bytes."""
    content = json.encode(message)
    return Kept(content, f'"{sha256(content).hexdigest()[:32]}"')


def kept_reply(request: Request[Any, Any, Any], message: Kept, media_type: str = JSON) -> Response[bytes]:
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
