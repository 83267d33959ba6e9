"""The examples for HAProxy and Caddy, run for real before real instances where the programs are installed."""

import json
import os
import re
import shutil
import subprocess
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any

import httpx
import pytest

from service.problems import CATALOGUE
from tests.load.proxy import wait_for
from tests.load.replica import ROOT, Replica, free_port

FOLDER = ROOT / "deploy" / "proxy"
PATH = f"{os.environ.get('PATH', '')}:/usr/sbin"
COMMANDS = {
    "haproxy": ["haproxy", "-db", "-f", str(FOLDER / "haproxy.cfg")],
    "caddy": ["caddy", "run", "--adapter", "caddyfile", "--config", str(FOLDER / "Caddyfile")],
}
JOB = (ROOT / "openapi" / "examples" / "voltage_drop.json").read_bytes()
JSON = {"Content-Type": "application/json"}


class Running:
    """One of the two proxies before two instances."""

    def __init__(self, name: str, folder: Path, first: int, second: int) -> None:
        program = shutil.which(name, path=PATH)
        if program is None:
            pytest.skip(f"{name} is not installed; its example cannot be run.")
        self.port = free_port()
        self.log = folder / f"{name}.log"
        variables = {
            "PROXY_ADDRESS": "127.0.0.1",
            "PROXY_PORT": str(self.port),
            "PROXY_FIRST": f"127.0.0.1:{first}",
            "PROXY_SECOND": f"127.0.0.1:{second}",
            "PROXY_SITE": f"http://127.0.0.1:{self.port}",
            "PROXY_INSTANCES": f"127.0.0.1:{first} 127.0.0.1:{second}",
            "HOME": str(folder),
        }
        with self.log.open("wb") as log:
            self._process = subprocess.Popen(  # noqa: S603  # found on the path, our own configuration
                [program, *COMMANDS[name][1:]], env={**os.environ, **variables}, stdout=log, stderr=log
            )
        wait_for(self._process, self.port, self.log)

    def ask(self, method: str, path: str, body: bytes | None = None, /, **more: str) -> httpx.Response:
        fields: Mapping[str, str] = {name.replace("_", "-"): value for name, value in more.items()}
        address = f"http://127.0.0.1:{self.port}{path}"
        return httpx.request(
            method,
            address,
            content=body,
            headers={**(JSON if body is not None else {}), **fields},
            trust_env=False,
            timeout=20,
        )

    def end(self) -> None:
        self._process.terminate()
        self._process.wait(timeout=20)


@pytest.fixture(scope="module")
def replica() -> Iterator[Replica]:
    running = Replica()
    yield running
    running.end()


@pytest.fixture(scope="module", params=COMMANDS)
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def proxy(name: str, replica: Replica, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """Before one instance that is there and one that is gone."""
    running = Running(name, tmp_path_factory.mktemp(name), replica.port, free_port())
    yield running
    running.end()


def assert_problem(reply: httpx.Response, status: int, code: str) -> None:
    problem = reply.json()
    assert (reply.status_code, problem["status"], problem["code"]) == (status, status, code)
    assert reply.headers["content-type"] == "application/problem+json"
    kind = CATALOGUE[code]
    assert (problem["type"], problem["title"], kind.status) == (kind.type, kind.title, status)
    assert (problem["errors"], bool(problem["request_id"])) == ([], True)


def test_every_calculation_is_answered_while_one_of_two_instances_is_gone(
    proxy: Running, replica: Replica
) -> None:
    direct = httpx.post(
        f"http://127.0.0.1:{replica.port}/v1/voltage-drop", content=JOB, headers=JSON, trust_env=False
    )
    replies = [proxy.ask("POST", "/v1/voltage-drop", JOB) for _ in range(12)]
    assert {(reply.status_code, reply.content) for reply in replies} == {(200, direct.content)}


def test_a_refusal_of_the_service_comes_through_as_it_is(proxy: Running) -> None:
    reply = proxy.ask("POST", "/v1/reach", b"{}", X_Request_ID="quote-4711")
    assert (reply.status_code, reply.headers["x-request-id"]) == (400, "quote-4711")
    assert (reply.json()["request_id"], reply.json()["code"]) == ("quote-4711", "request-invalid")


def test_an_answer_is_compressed_where_asked_for_and_kept_by_its_tag(proxy: Running) -> None:
    packed = proxy.ask("GET", "/openapi.json", Accept_Encoding="gzip")
    plain = proxy.ask("GET", "/openapi.json", Accept_Encoding="identity")
    assert (packed.headers["content-encoding"], packed.content) == ("gzip", plain.content)
    assert "content-encoding" not in plain.headers
    again = proxy.ask("GET", "/openapi.json", Accept_Encoding="identity", If_None_Match=plain.headers["etag"])
    assert again.status_code == 304


def test_metrics_are_not_for_the_world(proxy: Running) -> None:
    assert_problem(proxy.ask("GET", "/metrics"), 404, "not-found")


def test_a_body_over_four_mebibytes_is_a_problem(proxy: Running) -> None:
    address = f"http://127.0.0.1:{proxy.port}/v1/reach"
    asked = httpx.stream("POST", address, content=b" " * 4_194_305, headers=JSON, trust_env=False, timeout=20)
    with asked as reply:
        assert reply.status_code == 413
        # Caddy closes the connection of a body that is too large, now and then before its own words are out.
        with suppress(httpx.RemoteProtocolError, httpx.ReadError):
            reply.read()
            assert_problem(reply, 413, "body-too-large")


def test_no_line_of_the_log_holds_a_query_a_key_or_a_body(proxy: Running) -> None:
    proxy.ask("GET", "/v1/drop-chart?watts=secret-query", Authorization="Bearer secret-key")
    proxy.ask("POST", "/v1/reach", b'{"secret-body": 1}')
    time.sleep(0.2)
    give_up_at = time.monotonic() + 5
    log = ""
    while "/v1/reach" not in log:
        assert time.monotonic() < give_up_at, "the log does not name the request"
        # One of them writes a slash as JSON allows it too.
        log = proxy.log.read_text(encoding="utf-8").replace("\\/", "/")
    assert "/v1/drop-chart" in log
    assert "secret" not in log


class _Echo(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        content = json.dumps({key.lower(): value for key, value in self.headers.items()}).encode()
        self.send_response(200)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, *_: object) -> None:
        """Keep quiet."""


def test_an_instance_sees_the_clients_address_and_a_fit_id_and_no_field_that_a_client_made_up(
    name: str, tmp_path: Path
) -> None:
    with ThreadingHTTPServer(("127.0.0.1", 0), _Echo) as echo:
        Thread(target=echo.serve_forever, daemon=True).start()
        running = Running(name, tmp_path, echo.server_port, echo.server_port)
        try:
            forged = {"X_Forwarded_For": "1.2.3.4", "Forwarded": "for=1.2.3.4", "X_Real_IP": "1.2.3.4"}
            seen: Any = running.ask("GET", "/v1/units", X_Request_ID='un"fit', **forged).json()
        finally:
            running.end()
            echo.shutdown()
    assert seen["x-forwarded-for"] == "127.0.0.1"
    assert {"forwarded", "x-real-ip"} & seen.keys() == set()
    assert re.fullmatch("[A-Za-z0-9._-]{1,64}", seen["x-request-id"])


def test_without_an_instance_the_answer_is_a_problem_that_says_when_to_come_again(
    name: str, tmp_path: Path
) -> None:
    running = Running(name, tmp_path, free_port(), free_port())
    try:
        reply = running.ask("POST", "/v1/voltage-drop", JOB)
    finally:
        running.end()
    code = {"haproxy": "busy", "caddy": "no-instance"}[name]
    assert_problem(reply, CATALOGUE[code].status, code)
    assert reply.headers["retry-after"] == "1"


@pytest.mark.parametrize("file", ["haproxy.cfg", "Caddyfile"])
def test_every_problem_that_an_example_writes_is_that_of_the_catalogue(file: str) -> None:
    text = (FOLDER / file).read_text(encoding="utf-8")
    written = re.findall(
        r'"type":"([^"]+)","title":"([^"]+)","status":(\d+),"detail":"[^"]+","code":"([^"]+)"', text
    )
    assert len(written) >= 4
    for kind, title, status, code in written:
        found = CATALOGUE[code]
        assert (found.type, found.title, str(found.status)) == (kind, title, status)
