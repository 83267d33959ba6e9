"""Serves the application until a signal stops it."""

import gc
import socket
from dataclasses import replace

import structlog
import uvicorn

from service.observability.envelope import Envelope
from service.observability.metrics import count_shed
from service.server.bounds import bounded_protocol
from service.server.descriptors import connections_with_room
from service.server.drain import DrainingServer
from service.server.shedding import SPARE_CONNECTIONS, Queue, Turnstile, shedding
from service.server.watching import watched
from service.settings import Settings


def serve(
    app: Envelope, settings: Settings, listener: socket.socket, metrics_listener: socket.socket | None = None
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
        log.info("listening", address=str(settings.bind))
        DrainingServer(config, app.lifecycle, settings.drain_seconds).run(sockets=[listener])
    log.info("stopped")
