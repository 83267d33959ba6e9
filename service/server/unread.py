"""Answers in place of the application: for a request that was not whole, or that was no HTTP at all."""

from collections.abc import Iterable
from http import HTTPStatus
from typing import Final

from service.observability.exchange import UNREAD, CutOff, Exchange, exchange_from
from service.observability.metrics import OTHER
from service.observability.reply_headers import dressed
from service.observability.watch import Watch
from service.problems import PROBLEM_MEDIA_TYPE, problem_bytes

MALFORMED_HTTP: Final = "malformed-http"
HEAD_TOO_LARGE: Final = "head-too-large"
REQUEST_TIMEOUT: Final = "request-timeout"
EXPECTATION_FAILED: Final = "expectation-failed"
CODING_NOT_SUPPORTED: Final = "coding-not-supported"
VERSION_NOT_SUPPORTED: Final = "version-not-supported"

_DETAILS: Final = {
    MALFORMED_HTTP: "What arrived is no request of HTTP/1.1 with one good Host field."
    " Send plain HTTP here; TLS ends at the proxy in front.",
    HEAD_TOO_LARGE: "The request line and the header fields together are larger than this service reads."
    " Send fewer or shorter fields.",
    REQUEST_TIMEOUT: "The request was not whole within the time that this service gives it."
    " Send it again, in one go.",
    EXPECTATION_FAILED: "The Expect field asks for something else than 100-continue. Leave it out.",
    CODING_NOT_SUPPORTED: "The Transfer-Encoding field names another coding than chunked."
    " Send the body as it is, with its length or in chunks.",
    VERSION_NOT_SUPPORTED: "The request line names a version of HTTP that is not spoken here. Send HTTP/1.1.",
}

Fields = Iterable[tuple[bytes, bytes]]

FOR_ANY_PAGE: Final = (
    # Any page may read why it got no answer: nothing here is about anybody.
    (b"access-control-allow-origin", b"*"),
    (b"access-control-expose-headers", b"Retry-After, X-Request-ID"),
)


def note_unread(watch: Watch, fields: Fields, code: str, started: float) -> bytes:
    """Refuse a request that the application has not seen, and tell the watch.

    Parameters
    ----------
    watch : Watch
        The application's.
    fields : iterable of (bytes, bytes)
        The header fields that were read before it was refused.
    code : str
        One of the codes above.
    started : float
        When the request began, by `time.perf_counter`. [s]

    Returns
    -------
    reply : bytes
        All of it, from the status line on.
    """
    exchange = exchange_from(fields, OTHER)
    exchange.route, exchange.started = UNREAD, started
    exchange.more_headers.extend(FOR_ANY_PAGE)
    watch.began(exchange)
    reply = note_cut_off(exchange, code)
    watch.ended(exchange)
    return reply


def note_cut_off(exchange: Exchange, code: str) -> bytes:
    """Refuse a request for whose body the application still waits; the envelope tells the watch.

    Returns
    -------
    reply : bytes
        All of it, from the status line on.
    """
    status, body = problem_bytes(code, _DETAILS[code], exchange.request_id)
    exchange.cut_off = CutOff(status, code)
    return whole_reply(status, body, exchange.request_id, exchange.more_headers)


def whole_reply(
    status: int, body: bytes, request_id: str, extra: Fields = (), *, keep_alive: bool = False
) -> bytes:
    """Write a problem as the bytes that go out, with the header fields that every reply carries."""
    own = [
        (b"content-type", PROBLEM_MEDIA_TYPE.encode()),
        (b"content-length", b"%d" % len(body)),
        *(() if keep_alive else ((b"connection", b"close"),)),
        *extra,
    ]
    lines = [b"%b: %b" % field for field in dressed(own, request_id)]
    status_line = b"HTTP/1.1 %d %b" % (status, HTTPStatus(status).phrase.encode())
    return b"\r\n".join([status_line, *lines, b"", body])
