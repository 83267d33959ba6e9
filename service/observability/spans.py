"""One span for each request, sent by OpenTelemetry. The only file that imports it; loaded when asked for."""

from threading import Thread
from typing import Final

from opentelemetry.context import Context
from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter
from opentelemetry.sdk.resources import OTELResourceDetector, Resource
from opentelemetry.sdk.trace import SpanProcessor, TracerProvider
from opentelemetry.sdk.trace.export import BatchSpanProcessor
from opentelemetry.trace import (
    NonRecordingSpan,
    Span,
    SpanContext,
    SpanKind,
    Status,
    StatusCode,
    TraceFlags,
    format_span_id,
    format_trace_id,
    set_span_in_context,
)

from service import __version__
from service.observability.exchange import Exchange, TraceContext
from service.observability.metrics import METHODS

LAST_SPANS_SECONDS: Final = 2.0
"""How long a stop waits for the last spans to be taken; a collector that is gone must not hold it up."""


_FAILURES: Final = 500


class Spans:
    """Records a server span for each request, with the names of the HTTP semantic conventions.

    ``url.path`` is left out on purpose: a path that is not a route of ours may be a person's name.

    Parameters
    ----------
    processor : SpanProcessor
        Where spans go.
    """

    def __init__(self, processor: SpanProcessor) -> None:
        self._provider = TracerProvider(resource=_resource(), shutdown_on_exit=False)
        self._provider.add_span_processor(processor)
        self._tracer = self._provider.get_tracer("service", __version__)

    def began(self, exchange: Exchange) -> None:
        """Open a span, below the caller's where it sent one."""
        known = exchange.method in METHODS
        span = self._tracer.start_span(
            exchange.method if known else "HTTP",
            _parent(exchange.trace),
            SpanKind.SERVER,
            {"http.request.method": exchange.method if known else "_OTHER"},
        )
        exchange.span = span
        context = span.get_span_context()
        exchange.span_id = format_span_id(context.span_id)
        exchange.trace_id = format_trace_id(context.trace_id)

    def ended(self, exchange: Exchange, seconds: float) -> None:
        """Close the span with what became of the request."""
        del seconds  # a span has a clock of its own
        span: Span = exchange.span
        status, problem = exchange.outcome()
        if exchange.route.startswith("/"):
            span.set_attribute("http.route", exchange.route)
            span.update_name(f"{exchange.method} {exchange.route}")
        span.set_attribute("http.response.status_code", status)
        span.set_attribute("lastlamp.request_id", exchange.request_id)
        if problem is not None:
            span.set_attribute("lastlamp.problem", problem)
        if status >= _FAILURES:
            span.set_attribute("error.type", str(status))
            span.set_status(Status(StatusCode.ERROR))
        span.end()

    def close(self) -> None:
        """Send what is left, or give up on it."""
        last = Thread(target=self._provider.shutdown, daemon=True)
        last.start()
        last.join(LAST_SPANS_SECONDS)


def exported() -> Spans:
    """Send spans in batches over OTLP/HTTP, to where the environment says."""
    return Spans(BatchSpanProcessor(OTLPSpanExporter()))


def _resource() -> Resource:
    """Name the service, unless the environment names it otherwise."""
    ours = Resource.create({"service.name": "lastlamp", "service.version": __version__})
    return ours.merge(OTELResourceDetector().detect())


def _parent(trace: TraceContext | None) -> Context:
    if trace is None:
        return Context()
    flags = TraceFlags(TraceFlags.SAMPLED if trace.sampled else TraceFlags.DEFAULT)
    trace_id, span_id = int(trace.trace_id, 16), int(trace.parent_span_id, 16)
    sent = SpanContext(trace_id, span_id, is_remote=True, trace_flags=flags)
    return set_span_in_context(NonRecordingSpan(sent), Context())
