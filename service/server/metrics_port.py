"""The exposition of the metrics, on a port of its own for the network inside.

It is served from threads, so that a scrape is answered while the event loop computes.
"""

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from http import HTTPStatus
from http.server import ThreadingHTTPServer
from threading import Thread
from typing import Any, Final

import structlog
from prometheus_client.exposition import MetricsHandler

from service.observability.metrics import REGISTRY

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

    def handle_error(self, request: Any, client_address: Any) -> None:  # noqa: ANN401  # as the library has it
        """Log what the library would print; a client that went away is nobody's fault."""
        del request, client_address
        structlog.get_logger().info("scrape failed", exc_info=True)


@contextmanager
def metrics_served(listener: socket.socket) -> Iterator[None]:
    """Answer scrapes while the block runs.

    Parameters
    ----------
    listener : socket.socket
        Bound already; closed at the end.
    """
    server = _Server(listener)
    thread = Thread(target=server.serve_forever, name="metrics", daemon=True)
    thread.start()
    try:
        yield
    finally:
        server.shutdown()
        server.server_close()
