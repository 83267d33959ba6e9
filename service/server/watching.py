"""Who watches while the service runs, beside the log: what an operator asked for and nothing else."""

import os
import socket
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

from service.observability.metrics import RequestMetrics
from service.observability.tracing import tracing
from service.observability.watch import Watch
from service.problems import CATALOGUE
from service.server.metrics_port import metrics_served


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
            watch.observers.append(RequestMetrics(CATALOGUE))
            closing.enter_context(metrics_served(metrics_listener))
        spans = tracing(os.environ)
        if spans is not None:
            watch.observers.append(spans)
            closing.callback(spans.close)
        yield
