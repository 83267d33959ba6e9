"""Observers of each request: the log, always; metrics and traces, where an operator asked for them."""

from time import perf_counter
from typing import Protocol

import structlog

from service.observability.exchange import Exchange

FAILED = 500
WELL = 200

PROBES = frozenset({"/health/live", "/health/ready"})
"""The routes by which other programs ask again and again whether this one is well."""


class Observer(Protocol):
    """An observer that sees a request begin, and its reply when that is whole."""

    def began(self, exchange: Exchange) -> None:
        """Take note of a request whose route is not known yet."""

    def ended(self, exchange: Exchange, seconds: float) -> None:
        """Take note of what became of it, and how long it took. [s]"""


class Exporter(Observer, Protocol):
    """One that holds back some of what it was told, and passes that on before it is closed."""

    def close(self) -> None:
        """Pass on what is held back."""


class Watch:
    """Tells the log and every observer.

    Attributes
    ----------
    observers : list of Observer
        To be added to before the first request.
    """

    def __init__(self) -> None:
        self.observers: list[Observer] = []
        self._log = structlog.get_logger().bind()

    def began(self, exchange: Exchange) -> None:
        """Say that a request has begun."""
        for observer in self.observers:
            observer.began(exchange)

    def ended(self, exchange: Exchange) -> None:
        """Say what became of a request."""
        seconds = perf_counter() - exchange.started
        for fault in exchange.faults:
            self._log.error("unhandled", **exchange.names(), exception=fault)
        self._write_line(exchange, seconds)
        for observer in self.observers:
            observer.ended(exchange, seconds)

    def failed(self, exchange: Exchange) -> None:
        """Log the error being handled, which nobody foresaw."""
        self._log.exception("unhandled", **exchange.names())

    def _write_line(self, exchange: Exchange, seconds: float) -> None:
        status, problem = exchange.outcome()
        line = {
            "method": exchange.method,
            "route": exchange.route,
            "status": status,
            "duration_ms": round(seconds * 1000, 3),
            **exchange.names(),
        }
        if problem:
            line["problem"] = problem
        if exchange.key:
            line["key"] = exchange.key
        if exchange.origin:
            line["origin"] = exchange.origin
        # Not ready (503) is an ordinary answer; only a failure of ours should wake somebody. Probes that find
        # all well come every few seconds from several programs, and would be most of what there is to read.
        is_silent = status == WELL and exchange.route in PROBES
        write = self._log.error if status == FAILED else self._log.debug if is_silent else self._log.info
        write("request", **line)
