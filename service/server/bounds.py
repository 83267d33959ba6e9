"""How large and how slow one HTTP request may be, and how slowly its reply may be read."""

import asyncio
import re
import struct
from contextlib import suppress
from fcntl import ioctl
from http import HTTPStatus
from socket import SO_LINGER, SOL_SOCKET
from termios import TIOCOUTQ
from time import perf_counter
from typing import Any, Final

import httptools
from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from service.observability.exchange import STATE_KEY, UNREAD, CutOff, Exchange, exchange_from
from service.observability.fields import Fields
from service.observability.metrics import OTHER
from service.observability.middleware import OwnFields, dressed
from service.observability.watch import Watch
from service.problems import PROBLEM_MEDIA_TYPE, problem_bytes
from service.settings import Settings

_OLD: Final = "1.0"


_NUMBER: Final = struct.Struct("i")


AT_ONCE: Final = struct.pack("ii", 1, 0)
"""How a connection lingers that is closed without a last word."""


SLOWEST_READING_BYTES: Final = 65_536
"""As much of a large reply a client reads at least in the time that it may take to send a request."""


# A name, perhaps empty, or an address in brackets, and perhaps a port (RFC 3986, sections 3.2.2 and 3.2.3).
_HOST: Final = re.compile(rb"(\[[\w.~%!$&'()*+,;=:-]+\]|[\w.~%!$&'()*+,;=-]*)(:\d*)?")


class HeadWithBody:
    """A way to a client on which the head of a reply leaves with the first of its body, in one write.

    The server library writes them one after the other. A process that is killed in between leaves half a
    reply, which a proxy has begun to pass on and so cannot ask another instance for.

    Parameters
    ----------
    cycle : uvicorn.protocols.http.httptools_impl.RequestResponseCycle
        Of the reply, which says whether it has begun.
    """

    def __init__(self, cycle: Any) -> None:  # noqa: ANN401  # the library's classes are untyped here
        self._transport = cycle.transport
        self._cycle = cycle
        self._head = b""
        # To HEAD no body follows, and what comes before a reply is not its head.
        self._is_head_next = cycle.scope["method"] != "HEAD"
        self.is_closing = self._transport.is_closing
        self.close = self._transport.close

    def write(self, data: bytes) -> None:
        """Hold a head until what follows it; pass on all else."""
        if self._is_head_next and self._cycle.response_started:
            self._is_head_next, self._head = False, data
        elif self._head:
            self._head, head = b"", self._head
            self._transport.write(head + data)
        else:
            self._transport.write(data)


class _HeadError(Exception):
    """Ends the parsing of a head that is refused."""


class BoundedProtocol(HttpToolsProtocol):
    """One connection that refuses a head too large (431), a request too slow (408), a reader too slow.

    The server library has neither bound: it collects header fields for as long as they come. What is parsed
    is counted exactly, field by field; what the parser still holds back, by the bytes received. A refusal
    waits until every request before it on the connection is answered (RFC 9112, section 9.3.2).
    """

    maximum_header_bytes: int
    request_seconds: float
    watch: Watch

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # it serves TCP alone
        """Start the clock, since a client may connect and say nothing."""
        super().connection_made(transport)
        self._clock: asyncio.TimerHandle | None = None
        self._reading_clock: asyncio.TimerHandle | None = None
        self._began_at = perf_counter()
        self._refused_next: str | None = None
        self._is_half_closed = False
        self.parser = parser_for(self)
        self._expect_head()
        self._start_clock()

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop the clock of a request that nobody sends any more."""
        self._stop_clock()
        self._stop_reading_clock()
        super().connection_lost(exc)

    def pause_writing(self) -> None:
        """Start a clock, since a client may ask for much, read nothing, and have its reply held for ever."""
        super().pause_writing()
        self._watch_reading()

    def resume_writing(self) -> None:
        """Stop the clock, now that the client has read nearly all."""
        self._stop_reading_clock()
        super().resume_writing()

    def data_received(self, data: bytes) -> None:
        """Feed the parser, then look at how much of an unfinished head it has swallowed."""
        if self._refused_next is not None:
            return
        if self._in_head:
            if not self._received_bytes:
                self._began_at = perf_counter()
            self._received_bytes += len(data)
        self._unset_keepalive_if_required()
        try:
            self._feed(data)
        except httptools.HttpParserError:
            self._refuse(self._unfit)
        if self._in_head and self._received_bytes > self.maximum_header_bytes:
            self._refuse(HEAD_TOO_LARGE)

    def eof_received(self) -> bool:  # type: ignore[override]  # the library never keeps what is half-closed
        """Answer what came whole to a client that sends no more: half-closed, it may still read.

        It cannot be told from one that is gone until something is sent to it. What it was to be asked in full
        and never will be, is let go.

        Returns
        -------
        kept : bool
            Whether the connection stays open for writing.
        """
        if self.cycle is None or self.cycle.response_complete:
            return False
        if self.cycle.more_body and self._refused_next is None:
            if not self._is_queued():
                return False
            self.pipeline.popleft()
        self._stop_clock()
        self._is_half_closed = True
        return True

    def on_message_begin(self) -> None:
        """Give each request its own time."""
        super().on_message_begin()
        self._start_clock()

    def on_url(self, url: bytes) -> None:
        """Count the request line."""
        self._count(len(url))
        super().on_url(url)

    def on_header(self, name: bytes, value: bytes) -> None:
        """Count a field, with its colon, space and line end.

        The parser leaves the blanks after a value, which are no part of it (RFC 9112, section 5.1).
        """
        self._count(len(name) + len(value) + 4)
        super().on_header(name, value.rstrip(b" \t"))

    def on_headers_complete(self) -> None:
        """Go over to the body, which the application bounds in size."""
        version = self.parser.get_http_version()
        unfit = _unfit(version, self.headers)
        if unfit is not None:
            self._end_head(unfit)
        # Who speaks HTTP/1.0 does not know of it (RFC 9110, section 10.1.1).
        self.expect_100_continue = version != _OLD and any(_members(self.headers, b"expect"))
        super().on_headers_complete()
        cycle: Any = self.cycle
        cycle.transport = HeadWithBody(cycle)
        self._in_head = False

    def on_message_complete(self) -> None:
        """Stop the clock and expect the next head."""
        self._stop_clock()
        self._expect_head()
        super().on_message_complete()

    def on_response_complete(self) -> None:
        """After the last answer refuse what was to be refused next, or close where nothing can come."""
        is_last = not self.pipeline
        super().on_response_complete()
        if is_last and not self.transport.is_closing():
            if self._refused_next is not None:
                self._turn_away(self._refused_next)
            elif self._is_half_closed:
                self.transport.close()

    def _feed(self, data: bytes) -> None:
        """Let the parser read, anew from the head on where another protocol was offered."""
        rest = memoryview(data)
        while rest:
            try:
                self.parser.feed_data(rest)
                break
            except httptools.HttpParserUpgrade as offer:
                rest = rest[offer.args[0] :]
                head = head_without_offer(self.parser, self.url, self.headers)
                self._expect_head()
                self.parser = parser_for(self)
                self.parser.feed_data(head)

    def _expect_head(self) -> None:
        self._in_head = True
        # Those of the last request must not be taken for those of a next one that never came so far.
        self.headers = []
        self._received_bytes = self._parsed_bytes = 0
        self._unfit = MALFORMED_HTTP

    def _count(self, size: int) -> None:
        self._parsed_bytes += size
        if self._parsed_bytes > self.maximum_header_bytes:
            self._end_head(HEAD_TOO_LARGE)

    def _end_head(self, code: str) -> None:
        """Stop the parser, which tells nobody why it was stopped."""
        self._unfit = code
        raise _HeadError

    def _start_clock(self) -> None:
        self._stop_clock()
        self._clock = self.loop.call_later(self.request_seconds, self._refuse, REQUEST_TIMEOUT)

    def _stop_clock(self) -> None:
        if self._clock is not None:
            self._clock.cancel()
            self._clock = None

    def _watch_reading(self) -> None:
        """Look again later whether the client has read enough of what is held for it."""
        self._stop_reading_clock()
        self._reading_clock = self.loop.call_later(self.request_seconds, self._let_go, self._unread_bytes())

    def _let_go(self, unread_before: int) -> None:
        """End a connection whose client reads its reply too slowly; there is no way left to tell it."""
        if unread_before - self._unread_bytes() < SLOWEST_READING_BYTES:
            # Reset, or the system would still hold what it took over.
            self.transport.get_extra_info("socket").setsockopt(SOL_SOCKET, SO_LINGER, AT_ONCE)
            self.transport.abort()
        else:
            self._watch_reading()

    def _unread_bytes(self) -> int:
        """What is held for a client here, and by the system, which asks for more only when much was read."""
        unread: int = self.transport.get_write_buffer_size()
        with suppress(OSError):  # the connection is gone
            held = ioctl(self.transport.get_extra_info("socket").fileno(), TIOCOUTQ, bytes(_NUMBER.size))
            unread += _NUMBER.unpack(held)[0]
        return unread

    def _stop_reading_clock(self) -> None:
        if self._reading_clock is not None:
            self._reading_clock.cancel()
            self._reading_clock = None

    def _refuse(self, code: str) -> None:
        """Answer in place of the application and close, unless its own answer has begun."""
        self._stop_clock()
        if self.transport.is_closing():
            return
        if self._in_head:
            if self.cycle is None or self.cycle.response_complete:
                self._turn_away(code)
            else:
                self._refused_next = code
        elif self._is_queued():
            # It is the newest of those that wait for their turn, and will not get one.
            self.pipeline.popleft()
            self._refused_next = code
        else:
            if not self.cycle.response_started:
                self.transport.write(self._cut_off(code))
            self.transport.close()

    def _is_queued(self) -> bool:
        """Whether the newest request waits for those before it to be answered."""
        return any(waiting is self.cycle for waiting, _ in self.pipeline)

    def _turn_away(self, code: str) -> None:
        """Refuse a request that the application has not seen."""
        self.transport.write(note_unread(self.watch, self.headers, code, self._began_at))
        self.transport.close()

    def _cut_off(self, code: str) -> bytes:
        """Answer a request whose body does not arrive; the application may have begun to wait for it."""
        exchange: Exchange | None = self.cycle.scope.get("state", {}).get(STATE_KEY)
        if exchange is None:
            return note_unread(self.watch, self.headers, code, self._began_at)
        return note_cut_off(exchange, code)


def bounded_protocol(settings: Settings, watch: Watch) -> type[Any]:
    """Return the connection class with an operator's bounds, as the server library wants it."""
    bounds = {
        "watch": watch,
        "maximum_header_bytes": settings.maximum_header_bytes,
        "request_seconds": settings.request_seconds,
    }
    return type("BoundedProtocol", (BoundedProtocol,), bounds)


class TunnelError(Exception):
    """Ends the parsing of a head that asks for a tunnel."""


class _Listener:
    """Passes on what the parser finds, but for a request that is to be read anew."""

    def __init__(self, protocol: Any) -> None:  # noqa: ANN401  # as the library has it
        self._protocol = protocol
        self.on_message_begin = protocol.on_message_begin
        self.on_url = protocol.on_url
        self.on_header = protocol.on_header
        self.on_body = protocol.on_body

    def on_headers_complete(self) -> None:
        """Refuse a tunnel, of which there is none to offer."""
        parser = self._protocol.parser
        if parser.get_method() == b"CONNECT":
            raise TunnelError
        if not parser.should_upgrade():
            self._protocol.on_headers_complete()

    def on_message_complete(self) -> None:
        """Take a request as whole when it was read to its end."""
        if not self._protocol.parser.should_upgrade():
            self._protocol.on_message_complete()


def parser_for(protocol: Any) -> Any:  # noqa: ANN401  # as the library has it
    """Make a parser that tells a connection what it finds."""
    parser = httptools.HttpRequestParser(_Listener(protocol))
    # As the server library does: who calls a request the last may have sent more, and still is answered.
    # Versions that are not known are refused by name, where the parser would call them no HTTP.
    parser.set_dangerous_leniencies(lenient_data_after_close=True, lenient_version=True)
    return parser


def head_without_offer(parser: Any, url: bytes, fields: OwnFields) -> bytes:  # noqa: ANN401  # as the library has it
    """Write a head again as it was read, but for the protocol that it offers."""
    line = b"%b %b HTTP/%b" % (parser.get_method(), url, parser.get_http_version().encode("ascii"))
    kept = [b"%b: %b" % field for field in fields if field[0] != b"upgrade"]
    return b"\r\n".join([line, *kept, b"", b""])


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


def _unfit(version: str, fields: Fields) -> str | None:
    """Return why a head is not for this service, though the parser can read it; None if it is.

    Exactly one Host, a good one (RFC 9112, section 3.2), none in HTTP/1.0 at least: of two, a proxy and this
    service might believe different ones. No body coded otherwise than in chunks (section 6.1), and that only
    since HTTP/1.1. A minor version that is not known is read as 1.1 (RFC 9110, section 2.5).
    """
    if not version.startswith("1."):
        return VERSION_NOT_SUPPORTED
    hosts = [value for name, value in fields if name == b"host"]
    is_missing = not hosts and version != _OLD
    if is_missing or len(hosts) > 1 or not all(map(_HOST.fullmatch, hosts)):
        return MALFORMED_HTTP
    codings = _members(fields, b"transfer-encoding")
    if codings and version == _OLD:
        return MALFORMED_HTTP
    if any(coding != b"chunked" for coding in codings):
        return CODING_NOT_SUPPORTED
    if any(expected != b"100-continue" for expected in _members(fields, b"expect")):
        return EXPECTATION_FAILED
    return None


def _members(fields: Fields, sought: bytes) -> list[bytes]:
    """Return the members of a list in all fields of one name, in lower case (RFC 9110, section 5.6.1)."""
    values = [value for name, value in fields if name == sought]
    members = [member.strip(b" \t").lower() for value in values for member in value.split(b",")]
    return [member for member in members if member]


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
