"""Every error leaves as a problem (RFC 9457): the framework's own, ours, and those nobody foresaw."""

from collections.abc import Mapping

import structlog
from litestar import Response
from litestar.exceptions import HTTPException
from litestar.types import ExceptionHandlersMap

from service.http.refusal_of import refusal_of
from service.http.replies import AnyRequest, id_of
from service.observability.exchange import exchange_of
from service.problems import INTERNAL_ERROR, PROBLEM_MEDIA_TYPE, Refused, UnansweredError, problem_bytes

# What the router and the body reader of the framework raise, as a code and a sentence of ours. Their own
# sentences name internals.
_BY_STATUS = {
    400: (
        "request-invalid",
        "The path or the query string does not fit the contract in the OpenAPI document.",
    ),
    404: ("not-found", "Nothing is served at this path. The OpenAPI document lists what is."),
    405: (
        "method-not-allowed",
        "This path does not take this method. The Allow header lists those it takes.",
    ),
    413: ("body-too-large", "The request body is larger than this service reads. Send the job in parts."),
    415: ("unsupported-media-type", "Send the body as application/json."),
}


def refused(request: AnyRequest, error: Exception) -> Response[bytes]:
    """Answer a refusal of our own, or what a study refused."""
    refusal = refusal_of(error)
    problem = problem_bytes(refusal.kind, refusal.detail, id_of(request), refusal.errors)
    return _reply(request, refusal.code, problem, refusal.headers)


def http_error(request: AnyRequest, error: Exception) -> Response[bytes]:
    """Answer an error that the framework raised, keeping header fields such as ``Allow``."""
    assert isinstance(error, HTTPException)  # noqa: S101  # the framework types every handler as taking Exception
    if error.status_code not in _BY_STATUS:
        return unexpected(request, error)
    code, detail = _BY_STATUS[error.status_code]
    return _reply(request, code, problem_bytes(code, detail, id_of(request)), error.headers or {})


def unexpected(request: AnyRequest, error: Exception) -> Response[bytes]:
    """Log what nobody foresaw, and answer without a word about the inside."""
    exchange = exchange_of(request.scope)
    # Without its body a request cannot be answered, and the framework raises: no fault of anybody here.
    if not (exchange.disconnected or exchange.cut_off):
        structlog.get_logger().error("unhandled", **exchange.names(), exc_info=error)
    return _reply(request, INTERNAL_ERROR.code, last_resort(id_of(request)))


def last_resort(request_id: str) -> tuple[int, bytes]:
    """Return status and body for an error that even the handlers above let through."""
    return problem_bytes(INTERNAL_ERROR, INTERNAL_ERROR.detail, request_id)


HANDLERS: ExceptionHandlersMap = {
    Refused: refused,
    UnansweredError: refused,
    HTTPException: http_error,
    Exception: unexpected,
}


def _reply(
    request: AnyRequest, code: str, problem: tuple[int, bytes], headers: Mapping[str, str] | None = None
) -> Response[bytes]:
    exchange_of(request.scope).problem = code
    status, body = problem
    return Response(body, status_code=status, media_type=PROBLEM_MEDIA_TYPE, headers=dict(headers or {}))
