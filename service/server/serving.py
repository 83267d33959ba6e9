"""Serves the application until a signal stops it."""

import socket

import structlog
import uvicorn

from service.observability.envelope import Envelope
from service.server.bounds import bounded_protocol
from service.server.drain import DrainingServer
from service.settings import Settings


def serve(app: Envelope, settings: Settings, listener: socket.socket) -> None:
    """Serve the application from a socket until SIGINT or SIGTERM.

    Parameters
    ----------
    app : Envelope
        The application.
    settings : Settings
        Bounds and times.
    listener : socket.socket
        Bound already; closed on return.
    """
    config = uvicorn.Config(
        app,
        http=bounded_protocol(settings),
        ws="none",
        lifespan="on",
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=max(1, round(settings.finish_seconds)),
    )
    log = structlog.get_logger()
    log.info("listening", address=str(settings.bind))
    DrainingServer(config, app.lifecycle, settings.drain_seconds).run(sockets=[listener])
    log.info("stopped")
