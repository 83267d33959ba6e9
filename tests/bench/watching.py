"""What it costs to watch a request: python -m tests.bench.watching.

An application that does nothing stands inside the envelope. All arms take turns within one run, log lines
going nowhere, and the median of many turns is printed; a figure means something beside the first row only.
"""

import asyncio
import os
from collections.abc import Callable
from statistics import median
from time import perf_counter
from typing import Any

from opentelemetry.sdk.trace.export import BatchSpanProcessor, SpanExporter, SpanExportResult

from service.observability.exchange import note_answer
from service.observability.logs import configure
from service.observability.metrics import RequestMetrics
from service.observability.middleware import Lifecycle, Message, Middleware, Receive, Scope, Send
from service.observability.spans import Spans
from service.observability.watch import Observer

TURNS = 60
REQUESTS = 500
TRACED = [(b"traceparent", b"00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01")]


class Found:
    """A finding as far as metrics look at it."""

    code = "span-over-ampacity"
    severity = "fault"


class Answer:
    """An answer with a usual number of findings."""

    findings = (Found, Found, Found)


class Nowhere(SpanExporter):
    """Takes spans and sends none, so that the price of recording stands alone."""

    def export(self, spans: Any) -> SpanExportResult:
        del spans
        return SpanExportResult.SUCCESS


async def application(scope: Scope, receive: Receive, send: Send) -> None:
    """Answer at once, with findings."""
    scope["path_template"] = "/v1/voltage-drop"
    await receive()
    note_answer(Answer)
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"{}"})


async def receive() -> Message:
    return {"type": "http.request", "body": b"", "more_body": False}


async def send(message: Message) -> None:
    del message


def turn(headers: list[tuple[bytes, bytes]], *observers: Observer) -> Callable[[], float]:
    """Return a turn of one arm; it gives the time of one request. [µs]"""
    envelope = Middleware(application, (), Lifecycle(), lambda _: (500, b""))
    envelope.watch.observers.extend(observers)

    async def requests() -> None:
        for _ in range(REQUESTS):
            scope: Scope = {"type": "http", "method": "POST", "path": "/v1/voltage-drop", "headers": headers}
            await envelope(scope, receive, send)

    def run() -> float:
        started = perf_counter()
        asyncio.run(requests())
        return (perf_counter() - started) / REQUESTS * 1e6

    return run


def main() -> None:
    """Measure and print."""
    table = os.fdopen(os.dup(1), "w")
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    configure("info")
    metrics, spans = RequestMetrics(()), Spans(BatchSpanProcessor(Nowhere()))
    arms = {
        "log line only": turn([]),
        "and a traceparent": turn(TRACED),
        "and metrics": turn([], metrics),
        "and spans": turn([], spans),
        "all of it": turn(TRACED, metrics, spans),
    }
    times: dict[str, list[float]] = {name: [] for name in arms}
    for _ in range(TURNS):
        for name, run in arms.items():
            times[name].append(run())
    none = median(times["log line only"])
    print("| watched by | a request, µs | more than none, µs |\n|:---|---:|---:|", file=table)
    for name, measured in times.items():
        print(f"| {name} | {median(measured):.1f} | {median(measured) - none:+.1f} |", file=table)


if __name__ == "__main__":
    main()
