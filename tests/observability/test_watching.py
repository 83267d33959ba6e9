"""The service as a process: its metrics on a port of their own, and what the server refuses by itself."""

import json
import shutil
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from prometheus_client.parser import text_string_to_metric_families

from service.server.listening import open_socket
from service.server.serving import metrics_served
from service.settings import Address, Settings, SettingsError, effective, read_settings
from tests.load.replica import free_port
from tests.test_commands import Service, run

SLOW_BODY = (
    b"POST /v1/reach HTTP/1.1\r\nHost: a\r\nX-Request-ID: slow-body\r\n"
    b"Content-Type: application/json\r\nContent-Length: 9\r\n\r\n{"
)
NO_TRACE = {"OTEL_SDK_DISABLED": "true"}


def scraped(port: int, path: str = "/metrics") -> str:
    with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=10) as reply:
        text: str = reply.read().decode()
    return text


def sample(text: str, name: str, **labels: str) -> float:
    found = [
        one.value
        for family in text_string_to_metric_families(text)
        for one in family.samples
        if one.name == name and labels.items() <= one.labels.items()
    ]
    assert found, (name, labels)
    return sum(found)


@pytest.fixture(scope="module")
def metrics_port() -> int:
    return free_port()


@pytest.fixture(scope="module")
def service(metrics_port: int) -> Iterator[Service]:
    running = Service(
        LASTLAMP_METRICS_BIND=f"127.0.0.1:{metrics_port}",
        LASTLAMP_REQUEST_SECONDS="0.5",
        LASTLAMP_MAXIMUM_HEADER_BYTES="4096",
        **NO_TRACE,
    )
    yield running
    if running.process.poll() is None:
        running.stop(signal.SIGINT)


def refused(service: Service, *parts: bytes) -> tuple[int, dict[str, str], Any]:
    """Send what the server refuses by itself; return status, header fields and problem."""
    head, _, body = service.say(*parts).partition(b"\r\n\r\n")
    first, *fields = head.decode().split("\r\n")
    headers = dict(field.split(": ", 1) for field in fields)
    return int(first.split()[1]), headers, json.loads(body)


UNREAD = {
    "malformed-http": (400, [b"GET / HTTP/1.1\r\nX-Request-ID: mine\r\nHost: a\r\n\x16\x03\x01\r\n\r\n"]),
    "head-too-large": (431, [b"GET / HTTP/1.1\r\nX-Request-ID: mine\r\nX: ", b"a" * 5000]),
    "expectation-failed": (417, [b"GET / HTTP/1.1\r\nX-Request-ID: mine\r\nHost: a\r\nExpect: more\r\n\r\n"]),
    "coding-not-supported": (
        501,
        [b"POST / HTTP/1.1\r\nX-Request-ID: mine\r\nHost: a\r\nTransfer-Encoding: gzip, chunked\r\n\r\n"],
    ),
    "version-not-supported": (505, [b"GET / HTTP/3.0\r\nX-Request-ID: mine\r\n\r\n"]),
    "request-timeout": (408, [b"GET / HTTP/1.1\r\nX-Request-ID: mine\r\nX: a"]),
}


@pytest.mark.parametrize("code", UNREAD)
def test_what_the_server_refuses_by_itself_is_a_problem_like_any_other(
    service: Service, metrics_port: int, code: str
) -> None:
    status, parts = UNREAD[code]
    found, headers, problem = refused(service, *parts)
    assert (found, problem["status"], problem["code"]) == (status, status, code)
    assert problem["type"] == f"/problems/{code}"
    assert problem["request_id"] == headers["x-request-id"] == "mine"
    assert headers["content-type"] == "application/problem+json"
    assert (headers["cache-control"], headers["x-content-type-options"]) == ("no-store", "nosniff")
    text = scraped(metrics_port)
    assert sample(text, "lastlamp_requests_total", route="unread", method="other", status=str(status)) == 1
    assert sample(text, "lastlamp_problems_total", code=code) == 1


def test_a_body_that_does_not_arrive_is_refused_once_under_its_route(
    service: Service, metrics_port: int
) -> None:
    found, headers, problem = refused(service, SLOW_BODY)
    assert (found, problem["code"]) == (408, "request-timeout")
    assert headers["x-request-id"] == "slow-body"
    time.sleep(0.1)
    text = scraped(metrics_port)
    assert sample(text, "lastlamp_requests_total", route="/v1/reach", status="408") == 1
    assert sample(text, "lastlamp_requests_in_progress") == 0


def test_a_refusal_does_not_take_the_id_of_the_request_before_it(service: Service) -> None:
    first = b"GET /health/live HTTP/1.1\r\nHost: a\r\nX-Request-ID: the-first\r\n\r\n"
    _, _, second = service.say(first, b"no http\r\n\r\n", pause=0.1).partition(b"HTTP/1.1 400 ")
    assert second
    assert b"the-first" not in second


def test_the_exposition_passes_the_linter_of_prometheus(service: Service, metrics_port: int) -> None:
    promtool = shutil.which("promtool")
    if promtool is None:
        pytest.skip("Needs promtool (Debian package prometheus), which this machine lacks.")
    service.say(b"GET /v1/units HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n")
    ended = subprocess.run(  # noqa: S603  # found on the PATH just now
        [promtool, "check", "metrics"],
        input=scraped(metrics_port),
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
    assert (ended.returncode, ended.stdout, ended.stderr) == (0, "", "")


def test_only_the_metrics_are_served_beside_the_service(service: Service, metrics_port: int) -> None:
    del service
    with pytest.raises(urllib.error.HTTPError) as refusal:
        scraped(metrics_port, "/health/live")
    assert refusal.value.code == 404
    refusal.value.close()


# The last of those that share a service, since it stops it.
def test_every_refusal_of_the_server_left_one_line_and_a_stop_closes_both_ports(
    service: Service, metrics_port: int
) -> None:
    for _, parts in UNREAD.values():
        refused(service, *parts)
    refused(service, SLOW_BODY)
    code, lines, err = service.stop()
    assert (code, err) == (0, "")
    mine = [line for line in lines if line.get("request_id") == "slow-body"]
    assert {(line["event"], line["route"], line["status"], line["problem"]) for line in mine} == {
        ("request", "/v1/reach", 408, "request-timeout")
    }
    unread = [line for line in lines if line.get("route") == "unread"]
    assert {line["status"] for line in unread} == {400, 408, 417, 431, 501, 505}
    assert all(float(str(line["duration_ms"])) >= 450 for line in unread if line["status"] == 408)
    assert "unhandled" not in {line["event"] for line in lines}
    with socket.socket() as probe:
        assert probe.connect_ex(("127.0.0.1", metrics_port)) != 0


def test_a_taken_metrics_port_refuses_the_start_with_a_sentence() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        ended = run(
            "serve",
            LASTLAMP_BIND=f"127.0.0.1:{free_port()}",
            LASTLAMP_METRICS_BIND=f"127.0.0.1:{taken.getsockname()[1]}",
        )
    assert ended.returncode == 1
    assert len(ended.stderr.splitlines()) == 1
    assert "set LASTLAMP_METRICS_BIND to a free port" in ended.stderr


def test_a_scrape_is_answered_while_the_program_computes() -> None:
    port = free_port()
    with (
        metrics_served(open_socket(Address("127.0.0.1", port))),
        ThreadPoolExecutor(1) as scraper,
    ):
        scrape = scraper.submit(scraped, port)
        computing_until = time.monotonic() + 5
        while not scrape.done() and time.monotonic() < computing_until:
            sum(range(10_000))
        assert scrape.done()
    assert "lastlamp_build_info" in scrape.result()


def test_metrics_are_off_unless_an_address_is_set() -> None:
    assert Settings().metrics_bind is None
    assert dict(effective(Settings()))["LASTLAMP_METRICS_BIND"] == "off"
    for text in ("off", ""):
        assert read_settings({"LASTLAMP_METRICS_BIND": text}).metrics_bind is None
    assert read_settings({"LASTLAMP_METRICS_BIND": "0.0.0.0:9464"}).metrics_bind == Address("0.0.0.0", 9464)  # noqa: S104  # for the network inside


def test_metrics_are_not_served_where_the_service_listens() -> None:
    with pytest.raises(SettingsError, match="where the service itself listens"):
        read_settings({"LASTLAMP_METRICS_BIND": "127.0.0.1:8080"})
