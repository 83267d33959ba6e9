"""One request and its reply, as far as an operator is concerned."""

import re
import secrets
from collections.abc import Iterable
from contextvars import ContextVar
from dataclasses import dataclass, field
from time import perf_counter
from typing import Any, Final, NamedTuple

from structlog.tracebacks import ExceptionDictTransformer

STATE_KEY = "exchange"


ARRIVED: Final = "arrived_at"
"""Beside the exchange: when the request was whole, by `time.monotonic`; only a server knows it. [s]"""


# Frames are named, their local variables never: a local may hold what a caller sent.
_TRACEBACK: Final = ExceptionDictTransformer(show_locals=False)


CLIENT_LEFT = 499
"""What is noted in place of a status when nobody was left to read it (customary, no registered code)."""


UNMATCHED = "unmatched"
"""The route of a path that is not served."""


UNREAD = "unread"
"""The route of a request that was not whole, or no HTTP, and so never reached the application."""


class CutOff(NamedTuple):
    """The reply that the server gave in place of the application, which was still waiting for the body."""

    status: int
    problem: str


def note_answer(answer: object) -> None:
    """Note the findings of an answer, once for each; outside a request nothing happens.

    Parameters
    ----------
    answer : object
        A reply. Its ``findings``, if it has any, each have a ``code`` and a ``severity``.
    """
    exchange = CURRENT.get()
    if exchange is not None:
        exchange.findings.extend((found.code, found.severity) for found in getattr(answer, "findings", ()))


def note_refused_item(code: str) -> None:
    """Note the problem of one item of a batch, whose reply as a whole is none."""
    exchange = CURRENT.get()
    if exchange is not None:
        exchange.refused_items.append(code)


def note_work(study: str, work: int) -> None:
    """Note work that was charged for a study."""
    exchange = CURRENT.get()
    if exchange is not None:
        exchange.work[study] = exchange.work.get(study, 0) + work


def note_fault(error: Exception) -> None:
    """Note an error that nobody foresaw, for the log."""
    exchange = CURRENT.get()
    if exchange is not None:
        exchange.faults.append(_TRACEBACK((type(error), error, error.__traceback__)))


HEADER = b"x-request-id"


_WELL_FORMED = re.compile(rb"[A-Za-z0-9._-]{1,64}\Z")


def request_id_from(headers: Iterable[tuple[bytes, bytes]]) -> str:
    """Take the request id that the client sent, or make one.

    Parameters
    ----------
    headers : iterable of (bytes, bytes)
        Header fields as ASGI hands them over, names in lower case.

    Returns
    -------
    request_id : str
        1 to 64 of ``A-Z a-z 0-9 . _ -``. Anything else that was sent is not repeated: it would reach the log
        and the reply as it stands.
    """
    for name, value in headers:
        if name == HEADER and _WELL_FORMED.match(value):
            return value.decode("ascii")
    return secrets.token_hex(16)


_HEADER: Final = b"traceparent"


# Lower-case hexadecimal (section 3.2.2); a later version may only add behind a further dash (3.2.4).
_FORM: Final = re.compile(rb"([0-9a-f]{2})-([0-9a-f]{32})-([0-9a-f]{16})-([0-9a-f]{2})(-.*)?", re.DOTALL)


_FORBIDDEN_VERSION: Final = b"ff"


_FIRST_VERSION: Final = b"00"


_SAMPLED: Final = 0x01


class TraceContext(NamedTuple):
    """Where a request stands in a trace that its caller began."""

    trace_id: str
    """The whole trace; 32 hexadecimal digits."""

    parent_span_id: str
    """The caller's part of it; 16 hexadecimal digits."""

    sampled: bool
    """Whether the caller may have recorded its part."""


@dataclass(slots=True)
class Exchange:
    """What becomes known about a request while it is answered. Never any of its content."""

    request_id: str
    """The id that the client sent, or a new one."""

    method: str = ""
    """As sent; what counts by method must bound it."""

    trace: TraceContext | None = None
    """The trace of the caller, where it sent one."""

    started: float = field(default_factory=perf_counter)
    """When it began, by `time.perf_counter`. [s]"""

    route: str = UNMATCHED
    """The route's template, never the path as sent; known when the reply is whole."""

    status: int = 0
    """The status of the reply; 0 until it starts."""

    problem: str | None = None
    """The code of the problem, where the reply is one."""

    key: str | None = None
    """The name of the key that the request showed, never the key."""

    origin: str | None = None
    """The origin that the request named, where it is refused for that and fit for a log."""

    more_headers: list[tuple[bytes, bytes]] = field(default_factory=list)
    """Header fields that every reply to this request carries, that of the last resort too."""

    refused_items: list[str] = field(default_factory=list)
    """The codes of the problems inside an answered batch."""

    findings: list[tuple[str, str]] = field(default_factory=list)
    """Code and severity of each finding of the answer, or of all answers of a batch."""

    work: dict[str, int] = field(default_factory=dict)
    """Work that was charged, by study."""

    faults: list[list[dict[str, Any]]] = field(default_factory=list)
    """The traceback of each error that nobody foresaw and that did not end the request as a whole."""

    disconnected: bool = False
    """Whether the client went away before its request was whole."""

    cut_off: CutOff | None = None
    """What the server answered by itself, if it lost patience with the client."""

    span: Any = None
    """What tracing keeps until the reply is whole."""

    trace_id: str | None = None
    """The trace that it belongs to: the caller's, or one of its own where traces are sent."""

    span_id: str | None = None
    """Its own part of that trace, where traces are sent."""

    def outcome(self) -> tuple[int, str | None]:
        """Return the status that the client got, and the code of the problem if it got one."""
        if self.cut_off is not None:
            return self.cut_off
        return (CLIENT_LEFT, None) if self.disconnected else (self.status, self.problem)

    def names(self) -> dict[str, str]:
        """Return what ties a log line to this request: its id, and its place in a trace."""
        names = {"request_id": self.request_id}
        if self.trace_id is not None:
            names["trace_id"] = self.trace_id
        if self.trace is not None:
            names["parent_span_id"] = self.trace.parent_span_id
        if self.span_id is not None:
            names["span_id"] = self.span_id
        return names


CURRENT: Final[ContextVar[Exchange | None]] = ContextVar("exchange", default=None)
"""The exchange that the running task or thread works for."""


def exchange_from(headers: Iterable[tuple[bytes, bytes]], method: str) -> Exchange:
    """Open the exchange of a request, from header fields as ASGI hands them over."""
    trace = trace_context_from(headers)
    return Exchange(request_id_from(headers), method, trace, trace_id=trace.trace_id if trace else None)


def exchange_of(scope: Any) -> Exchange:  # noqa: ANN401  # each framework has a scope type of its own
    """Return the exchange that the envelope opened for this request.

    Parameters
    ----------
    scope : mapping
        The ASGI scope.

    Returns
    -------
    exchange : Exchange
        To be filled in by whoever learns something.
    """
    exchange: Exchange = scope["state"][STATE_KEY]
    return exchange


def trace_context_from(headers: Iterable[tuple[bytes, bytes]]) -> TraceContext | None:
    """Take the caller's trace context.

    Parameters
    ----------
    headers : iterable of (bytes, bytes)
        Header fields as ASGI hands them over, names in lower case.

    Returns
    -------
    context : TraceContext or None
        None without the field, with two of them, or where it is malformed: the receiver then goes on as if
        nothing had been sent. ``tracestate`` is not looked at.
    """
    sent = [value for name, value in headers if name == _HEADER]
    return _parsed(sent[0]) if len(sent) == 1 else None


def _parsed(value: bytes) -> TraceContext | None:
    form = _FORM.fullmatch(value.strip(b" \t"))
    if form is None:
        return None
    version, trace_id, parent_id, flags, later = form.groups()
    if version == _FORBIDDEN_VERSION or (version == _FIRST_VERSION and later is not None):
        return None
    # Identifiers of nothing but zeros are not valid (sections 3.2.2.3 and 3.2.2.4).
    if not trace_id.strip(b"0") or not parent_id.strip(b"0"):
        return None
    return TraceContext(trace_id.decode(), parent_id.decode(), bool(int(flags, 16) & _SAMPLED))
