"""Serves the application until a signal stops it."""

import gc
import os
import resource
import signal
import socket
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from http import HTTPStatus
from http.server import ThreadingHTTPServer
from threading import Thread
from time import monotonic
from types import FrameType
from typing import Any, Final

import structlog
import uvicorn
from prometheus_client.exposition import MetricsHandler

from service.circuit.job import SOLVER_FORM
from service.extras import LAYOUT_BOUND
from service.observability.metrics import REGISTRY, RequestMetrics, count_shed
from service.observability.middleware import Lifecycle, Middleware
from service.observability.tracing import tracing
from service.observability.watch import Watch
from service.server.bounds import bounded_protocol
from service.server.listening import cannot_listen
from service.server.shedding import SPARE_CONNECTIONS, Queue, Turnstile, shedding
from service.settings import Address, Settings
from service.studies.catalogue import problem_kinds

PATH: Final = "/metrics"


class _Handler(MetricsHandler):
    """Answers a scrape and nothing else."""

    registry = REGISTRY
    timeout = 5.0  # a client that says nothing would keep its thread for good
    server_version = "lastlamp"
    sys_version = ""

    def do_GET(self) -> None:  # noqa: N802  # the library calls it by this name
        """Answer with the exposition."""
        if self.path.partition("?")[0] == PATH:
            super().do_GET()
        else:
            self.send_error(HTTPStatus.NOT_FOUND, f"The metrics are at {PATH}.")


class _Server(ThreadingHTTPServer):
    """A server on a socket that is bound already."""

    def __init__(self, listener: socket.socket) -> None:
        super().__init__(listener.getsockname()[:2], _Handler, bind_and_activate=False)
        self.socket.close()
        self.socket = listener
        try:
            self.server_activate()
        except OSError as error:
            raise cannot_listen(error, address_of(listener), "LASTLAMP_METRICS_BIND") from error

    def handle_error(self, request: Any, client_address: Any) -> None:  # noqa: ANN401  # as the library has it
        """Log what the library would print; a client that went away is nobody's fault."""
        del request, client_address
        structlog.get_logger().info("scrape failed", exc_info=True)


def address_of(listener: socket.socket) -> Address:
    """Where a socket is bound."""
    host, port = listener.getsockname()[:2]
    return Address(host, port)


@contextmanager
def metrics_served(listener: socket.socket) -> Iterator[None]:
    """Answer scrapes while the block runs.

    Parameters
    ----------
    listener : socket.socket
        Bound already; closed at the end.

    Raises
    ------
    ListenError
        Another program listens there by now.
    """
    server = _Server(listener)
    thread = Thread(target=server.serve_forever, name="metrics", daemon=True)
    thread.start()
    try:
        yield
    finally:
        server.shutdown()
        server.server_close()


def serve(
    app: Middleware,
    settings: Settings,
    listener: socket.socket,
    metrics_listener: socket.socket | None = None,
) -> None:
    """Serve the application from a socket until SIGINT or SIGTERM.

    Parameters
    ----------
    app : Envelope
        The application.
    settings : Settings
        Bounds and times.
    listener : socket.socket
        Bound already; closed on return.
    metrics_listener : socket.socket, optional
        The same, for the metrics.

    Raises
    ------
    ListenError
        Another program listens there by now.
    """
    connections = connections_with_room(settings.maximum_connections + SPARE_CONNECTIONS) - SPARE_CONNECTIONS
    queue = Queue(replace(settings, maximum_connections=max(1, connections)), count_shed)
    config = uvicorn.Config(
        Turnstile(app, queue),
        http=shedding(bounded_protocol(settings, app.watch), queue),
        # Left to choose, the library takes uvloop where there is one, which accepts one connection a turn:
        # under load it let thousands wait outside, where nobody can refuse them.
        loop="asyncio",
        ws="none",
        lifespan="on",
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=max(1, round(settings.finish_seconds)),
    )
    # What is loaded by now stays. A full collection that walks it held up one request for 70 ms.
    gc.collect()
    gc.freeze()
    log = structlog.get_logger()
    with watched(app.watch, metrics_listener):
        DrainingServer(config, app.lifecycle, settings.drain_seconds).run(sockets=[listener])
    log.info("stopped")


@contextmanager
def watched(watch: Watch, metrics_listener: socket.socket | None) -> Iterator[None]:
    """Count requests and send traces while the block runs.

    Parameters
    ----------
    watch : Watch
        The application's.
    metrics_listener : socket.socket or None
        Where scrapes arrive; None where nobody asked for metrics, and then no request is counted.
    """
    with ExitStack() as closing:
        if metrics_listener is not None:
            watch.observers.append(RequestMetrics(problem_kinds()))
            closing.enter_context(metrics_served(metrics_listener))
        spans = tracing(os.environ)
        if spans is not None:
            watch.observers.append(spans)
            closing.callback(spans.close)
        yield


class DrainingServer(uvicorn.Server):
    """A server that goes on answering for a while after SIGTERM.

    A proxy learns from readiness that the instance is leaving; until then it sends requests, and a closed
    port would fail them. SIGINT, which a person sends, stops at once; a second one also leaves behind the
    requests in flight.

    Parameters
    ----------
    config : uvicorn.Config
        How to serve.
    lifecycle : Lifecycle
        Flipped to draining by either signal.
    drain_seconds : float
        How long to go on answering. [s]
    """

    def __init__(self, config: uvicorn.Config, lifecycle: Lifecycle, drain_seconds: float) -> None:
        super().__init__(config)
        self._lifecycle = lifecycle
        self._drain_seconds = drain_seconds
        self._deaf_at: float | None = None

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Listen, now that all is loaded and the worker is there."""
        bound = sockets or []
        try:
            await super().startup(sockets)
        except OSError as error:
            await self.lifespan.shutdown()
            raise cannot_listen(error, address_of(bound[0])) from error
        for listener in bound:
            address = str(address_of(listener))
            log = structlog.get_logger()
            log.info("listening", address=address, solver=SOLVER_FORM, layout=LAYOUT_BOUND)

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Take a signal. The library's own record is left empty, so that a clean stop exits with 0."""
        del frame
        self._lifecycle.draining = True
        if sig == signal.SIGINT:
            self.force_exit = self.should_exit
            self.should_exit = True
        elif self._deaf_at is None:
            self._deaf_at = monotonic() + self._drain_seconds

    async def on_tick(self, counter: int) -> bool:
        """Stop listening once the time to drain is over; the library asks ten times a second."""
        if self._deaf_at is not None and monotonic() >= self._deaf_at:
            self.should_exit = True
        return await super().on_tick(counter)


OTHERS: Final = 64
"""Descriptors for all else: the log, the listener, the loop, modules that load late."""


def connections_with_room(wanted: int) -> int:
    """Make room for connections, as far as the machine allows.

    Parameters
    ----------
    wanted : int
        How many connections are to be open at once.

    Returns
    -------
    connections : int
        `wanted`, or as many as fit; the log then says so. Without descriptors the server could accept nobody,
        not even to refuse.
    """
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    needed = wanted + OTHERS
    if soft == resource.RLIM_INFINITY or soft >= needed:
        return wanted
    allowed = needed if hard == resource.RLIM_INFINITY else min(needed, hard)
    resource.setrlimit(resource.RLIMIT_NOFILE, (allowed, hard))
    if allowed < needed:
        fit = max(1, allowed - OTHERS)
        structlog.get_logger().warning("few-descriptors", limit=hard, connections=fit)
        return fit
    return wanted
