"""How large and how slow one HTTP request may be."""

import asyncio
from time import perf_counter
from typing import Any

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from service.observability.exchange import STATE_KEY, Exchange
from service.observability.watch import Watch
from service.server.unread import HEAD_TOO_LARGE, MALFORMED_HTTP, REQUEST_TIMEOUT, note_cut_off, note_unread
from service.settings import Settings


class _HeadTooLargeError(Exception):
    """Ends the parsing of a head that is over its bound."""


class _HostError(Exception):
    """Ends the parsing of a head that names no host, or more than one."""


class BoundedProtocol(HttpToolsProtocol):
    """One connection that refuses a head too large (431) and a request too slow (408).

    The server library has neither bound: it collects header fields for as long as they come. What is parsed
    is counted exactly, field by field; what the parser still holds back, by the bytes received.
    """

    maximum_header_bytes: int
    request_seconds: float
    watch: Watch

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Start the clock, since a client may connect and say nothing."""
        super().connection_made(transport)
        self._clock: asyncio.TimerHandle | None = None
        self._began_at = perf_counter()
        self._expect_head()
        self._start_clock()

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop the clock of a request that nobody sends any more."""
        self._stop_clock()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Feed the parser, then look at how much of an unfinished head it has swallowed."""
        if self._in_head:
            if not self._received_bytes:
                self._began_at = perf_counter()
            self._received_bytes += len(data)
        super().data_received(data)
        if self._in_head and self._received_bytes > self.maximum_header_bytes:
            self._refuse(HEAD_TOO_LARGE)

    def on_message_begin(self) -> None:
        """Give each request its own time."""
        super().on_message_begin()
        self._start_clock()

    def on_url(self, url: bytes) -> None:
        """Count the request line."""
        self._count(len(url))
        super().on_url(url)

    def on_header(self, name: bytes, value: bytes) -> None:
        """Count a field, with its colon, space and line end."""
        self._count(len(name) + len(value) + 4)
        super().on_header(name, value)

    def on_headers_complete(self) -> None:
        """Go over to the body, which the application bounds in size.

        Without exactly one Host field HTTP/1.1 is refused (RFC 9112, 3.2): of two, a proxy and this service
        might believe different ones.
        """
        hosts = sum(name == b"host" for name, _ in self.headers)
        if self.parser.get_http_version() == "1.1" and hosts != 1:
            raise _HostError
        super().on_headers_complete()
        self._in_head = False

    def on_message_complete(self) -> None:
        """Stop the clock and expect the next head."""
        self._stop_clock()
        self._expect_head()
        super().on_message_complete()

    def send_400_response(self, msg: str) -> None:
        """Answer what the parser refused, as a problem; the library would write plain text."""
        del msg
        self._refuse(HEAD_TOO_LARGE if self._over_bound else MALFORMED_HTTP)

    def _expect_head(self) -> None:
        self._in_head = True
        # Those of the last request must not be taken for those of a next one that never came so far.
        self.headers = []
        self._received_bytes = self._parsed_bytes = 0
        self._over_bound = False

    def _count(self, size: int) -> None:
        self._parsed_bytes += size
        if self._parsed_bytes > self.maximum_header_bytes:
            self._over_bound = True
            raise _HeadTooLargeError

    def _start_clock(self) -> None:
        self._stop_clock()
        self._clock = self.loop.call_later(self.request_seconds, self._refuse, REQUEST_TIMEOUT)

    def _stop_clock(self) -> None:
        if self._clock is not None:
            self._clock.cancel()
            self._clock = None

    def _refuse(self, code: str) -> None:
        """Answer in place of the application and close, unless its own answer has begun."""
        self._stop_clock()
        if self.transport.is_closing():
            return
        if self.cycle is None or self._in_head:
            self.transport.write(note_unread(self.watch, self.headers, code, self._began_at))
        elif not self.cycle.response_started:
            self.transport.write(self._cut_off(code))
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
