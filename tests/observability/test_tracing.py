"""Traces, taken from memory and over HTTP by a collector of our own."""

import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from threading import Thread
from typing import Any

import pytest
from opentelemetry.proto.collector.trace.v1.trace_service_pb2 import ExportTraceServiceRequest
from opentelemetry.sdk.trace import ReadableSpan
from opentelemetry.sdk.trace.export import SimpleSpanProcessor
from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter
from opentelemetry.trace import SpanKind, StatusCode
from structlog.testing import capture_logs

from service.observability.spans import Spans
from service.observability.tracing import tracing
from tests.load.replica import free_port
from tests.observability.exchanging import TEMPLATE, answering, exchanged
from tests.test_commands import Service

TRACE = "0af7651916cd43dd8448eb211c80319c"
SPAN = "b7ad6b7169203331"
ENDPOINT = "OTEL_EXPORTER_OTLP_ENDPOINT"
PROTOCOL = "OTEL_EXPORTER_OTLP_PROTOCOL"
UNITS = b"GET /v1/units HTTP/1.1\r\nHost: a\r\nConnection: close\r\n"


def recorded(application: Any, **scope: Any) -> ReadableSpan | None:
    """Send one request; return its span, if one was recorded."""
    memory = InMemorySpanExporter()
    spans = Spans(SimpleSpanProcessor(memory))
    exchanged(application, spans, **scope)
    spans.close()
    finished = memory.get_finished_spans()
    assert len(finished) <= 1
    return finished[0] if finished else None


def traced(flags: str = "01") -> list[tuple[bytes, bytes]]:
    return [(b"traceparent", f"00-{TRACE}-{SPAN}-{flags}".encode()), (b"x-request-id", b"mine")]


def test_a_request_leaves_one_server_span_with_the_conventional_names() -> None:
    # OpenTelemetry semantic conventions for HTTP, "HTTP server": name, kind, attributes.
    span = recorded(answering(201), method="POST", headers=traced())
    assert span is not None
    assert (span.name, span.kind) == (f"POST {TEMPLATE}", SpanKind.SERVER)
    assert dict(span.attributes or {}) == {
        "http.request.method": "POST",
        "http.route": TEMPLATE,
        "http.response.status_code": 201,
        "lastlamp.request_id": "mine",
    }
    assert span.status.status_code is StatusCode.UNSET


def test_the_span_hangs_below_the_caller_s() -> None:
    span = recorded(answering(), headers=traced())
    assert span is not None
    assert span.context is not None
    assert span.parent is not None
    assert (f"{span.context.trace_id:032x}", f"{span.parent.span_id:016x}") == (TRACE, SPAN)
    assert span.parent.is_remote


def test_a_caller_who_does_not_sample_is_followed() -> None:
    assert recorded(answering(), headers=traced("00")) is None


def test_without_a_caller_s_context_a_trace_begins_here() -> None:
    span = recorded(answering())
    assert span is not None
    assert span.parent is None


def test_a_failure_is_marked_and_a_refusal_is_not() -> None:
    failure, refusal = recorded(answering(500)), recorded(answering(422))
    assert failure is not None
    assert refusal is not None
    assert failure.status.status_code is StatusCode.ERROR
    assert (failure.attributes or {})["error.type"] == "500"
    assert refusal.status.status_code is StatusCode.UNSET


def test_a_path_that_is_not_served_is_not_told() -> None:
    span = recorded(answering(404, template=None), method="BREW", path="/customers/somebody")
    assert span is not None
    assert (span.name, (span.attributes or {})["http.request.method"]) == ("HTTP", "_OTHER")
    assert "somebody" not in span.to_json()


def test_the_service_names_itself_unless_the_environment_does(monkeypatch: pytest.MonkeyPatch) -> None:
    span = recorded(answering())
    assert span is not None
    assert span.resource.attributes["service.name"] == "lastlamp"
    monkeypatch.setenv("OTEL_SERVICE_NAME", "garden-quotes")
    renamed = recorded(answering())
    assert renamed is not None
    assert renamed.resource.attributes["service.name"] == "garden-quotes"


@pytest.mark.parametrize(
    "environment",
    [
        {},
        {ENDPOINT: ""},
        {ENDPOINT: "http://127.0.0.1:4318", "OTEL_SDK_DISABLED": "true"},
        {ENDPOINT: "http://127.0.0.1:4318", "OTEL_TRACES_EXPORTER": "none"},
        {"OTEL_SERVICE_NAME": "lastlamp"},
    ],
)
def test_no_trace_is_sent_or_warned_of_unless_asked_for(environment: dict[str, str]) -> None:
    with capture_logs() as lines:
        assert tracing(environment) is None
    assert lines == []


@pytest.mark.parametrize(
    ("environment", "named"),
    [
        ({"OTEL_TRACES_EXPORTER": "zipkin"}, "OTEL_TRACES_EXPORTER is 'zipkin'"),
        ({ENDPOINT: "http://a", PROTOCOL: "grpc"}, f"{PROTOCOL} is 'grpc'"),
    ],
)
def test_what_is_not_spoken_is_warned_of(environment: dict[str, str], named: str) -> None:
    with capture_logs() as lines:
        assert tracing(environment) is None
    [line] = lines
    assert line["log_level"] == "warning"
    assert named in line["reason"]


def test_absent_packages_are_warned_of_by_the_name_of_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "opentelemetry.context", None)
    monkeypatch.delitem(sys.modules, "service.observability.spans")
    with capture_logs() as lines:
        assert tracing({ENDPOINT: "http://127.0.0.1:4318"}) is None
    [line] = lines
    assert "lastlamp[otel]" in line["reason"]
    assert line["log_level"] == "warning"


@contextmanager
def collecting() -> Iterator[tuple[int, list[tuple[str, bytes]]]]:
    """Take exports over HTTP, as an OpenTelemetry collector does."""
    taken: list[tuple[str, bytes]] = []

    class Collector(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["content-length"]))
            taken.append((self.path, body))
            self.send_response(200)
            self.send_header("content-length", "0")
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Stay silent."""

    with HTTPServer(("127.0.0.1", 0), Collector) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield server.server_address[1], taken
        server.shutdown()


def test_a_running_service_sends_its_spans_to_the_collector_that_the_environment_names() -> None:
    with collecting() as (port, taken):
        service = Service(**{ENDPOINT: f"http://127.0.0.1:{port}", "OTEL_SDK_DISABLED": "false"})
        service.say(UNITS + f"traceparent: 00-{TRACE}-{SPAN}-01\r\n\r\n".encode())
        code, lines, err = service.stop(signal.SIGINT)
    assert (code, err, {path for path, _ in taken}) == (0, "", {"/v1/traces"})
    sent = [ExportTraceServiceRequest.FromString(body).resource_spans for _, body in taken]
    spans = [span for [resource] in sent for scope in resource.scope_spans for span in scope.spans]
    [span] = [one for one in spans if one.name == "GET /v1/units"]
    assert (span.trace_id.hex(), span.parent_span_id.hex()) == (TRACE, SPAN)
    [line] = [one for one in lines if one.get("route") == "/v1/units"]
    assert (line["trace_id"], line["span_id"]) == (TRACE, span.span_id.hex())


def test_a_collector_that_is_gone_holds_up_neither_answers_nor_the_stop() -> None:
    service = Service(**{ENDPOINT: f"http://127.0.0.1:{free_port()}", "OTEL_SDK_DISABLED": "false"})
    assert service.say(UNITS + b"\r\n").startswith(b"HTTP/1.1 200")
    code, _, err = service.stop(signal.SIGINT)  # which waits 15 seconds at most
    assert (code, err) == (0, "")


def test_nothing_that_sends_traces_is_loaded_unless_asked_for() -> None:
    # Where the packages are there, the framework by itself reads a few names out of opentelemetry.semconv.
    code = (
        "import sys; import service.app, service.server.serving;"
        "from service.observability.tracing import tracing; tracing({});"
        "print([name for name in sys.modules if name.startswith(('opentelemetry.sdk', 'opentelemetry.exp'))])"
    )
    ended = subprocess.run(  # noqa: S603  # our own code
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=30, check=True
    )
    assert ended.stdout == "[]\n"
