"""The proxy of deploy/proxy does what it says, with a real nginx before a real instance or an echo."""

import asyncio
import contextlib
import json
import re
import socket
import ssl
import subprocess
import time
from collections.abc import Awaitable, Callable, Iterator
from pathlib import Path
from shutil import which
from typing import Any

import httpx
import pytest

from service.problems import CATALOGUE
from tests.bench.largest import chart
from tests.load.asking import TWENTY_LAMPS, ask, post
from tests.load.proxy import TEMPLATES, Proxy, defaults, needs_nginx
from tests.load.replica import Replica, free_port

pytestmark = needs_nginx

Reply = tuple[int, dict[str, str], bytes]


@pytest.fixture(scope="module")
def replica() -> Iterator[Replica]:
    running = Replica()
    yield running
    running.end()


@pytest.fixture(scope="module")
def proxy(replica: Replica, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Proxy]:
    running = Proxy(tmp_path_factory.mktemp("proxy"), replica.port)
    yield running
    running.end()


def get(proxy: Proxy, path: str, *fields: str) -> Reply:
    lines = [f"GET {path} HTTP/1.1", "Host: garden.example", *fields, "", ""]
    return asyncio.run(ask(proxy.port, "\r\n".join(lines).encode()))


def got(proxy: Proxy, path: str, headers: dict[str, str]) -> httpx.Response:
    """A reply as a client sees it that undoes compression."""
    return httpx.get(f"http://127.0.0.1:{proxy.port}{path}", headers=headers, trust_env=False)


def assert_problem(reply: Reply, status: int, code: str) -> None:
    """Its words are those of the catalogue, and its id is the one in the header."""
    found, fields, body = reply
    problem = json.loads(body)
    assert (found, problem["status"], problem["code"]) == (status, status, code)
    assert fields["content-type"] == "application/problem+json"
    assert fields["x-request-id"] == problem["request_id"]
    assert fields["cache-control"] == "no-store"
    assert fields["access-control-allow-origin"] == "*"
    kind = CATALOGUE[code]
    assert (problem["type"], problem["title"], kind.status) == (kind.type, kind.title, status)
    assert problem["errors"] == []


def assert_logged(proxy: Proxy, request_id: str) -> None:
    """The line is written after the reply."""
    give_up_at = time.monotonic() + 5
    while f'"request_id":"{request_id}"' not in proxy.log.read_text(encoding="utf-8"):
        assert time.monotonic() < give_up_at, "the log does not name the request"
        time.sleep(0.02)


def seen_by_an_instance(folder: Path, request: bytes, **variables: str) -> str:
    """The head that reaches an instance when a client sends a request to the proxy."""
    port = free_port()
    heads: list[str] = []

    async def echo(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        heads.append((await reader.readuntil(b"\r\n\r\n")).decode("latin-1"))
        writer.write(b"HTTP/1.1 204 No Content\r\n\r\n")
        writer.close()

    async def go(proxy: Proxy) -> None:
        async with await asyncio.start_server(echo, "127.0.0.1", port):
            await ask(proxy.port, request)

    proxy = Proxy(folder, port, **variables)
    try:
        asyncio.run(go(proxy))
    finally:
        proxy.end()
    return heads[0].lower()


def test_a_calculation_is_passed_on_and_its_answer_back(proxy: Proxy) -> None:
    status, _, body = asyncio.run(ask(proxy.port, TWENTY_LAMPS))
    assert status == 200
    assert json.loads(body)["status"] == "solved"


def test_a_refusal_of_the_service_comes_through_as_it_is(proxy: Proxy) -> None:
    status, fields, body = asyncio.run(ask(proxy.port, post(b"{}")))
    assert (status, fields["content-type"]) == (400, "application/problem+json")
    assert json.loads(body)["errors"]


def test_a_request_id_is_passed_through_and_logged(proxy: Proxy) -> None:
    _, fields, _ = get(proxy, "/health/live", "X-Request-ID: quote-4711")
    assert fields["x-request-id"] == "quote-4711"
    assert_logged(proxy, "quote-4711")


@pytest.mark.parametrize("unfit", ["", "a b", "x" * 65, '"'])
def test_an_unfit_request_id_is_replaced_by_one_that_both_logs_show(proxy: Proxy, unfit: str) -> None:
    _, fields, _ = get(proxy, "/health/live", f"X-Request-ID: {unfit}")
    assert re.fullmatch("[0-9a-f]{32}", fields["x-request-id"])
    assert_logged(proxy, fields["x-request-id"])


def test_no_line_of_the_log_holds_a_query_a_key_or_a_body(proxy: Proxy) -> None:
    get(proxy, "/v1/drop-chart?watts=secret-query", "Authorization: Bearer secret-key")
    _, fields, _ = asyncio.run(ask(proxy.port, post(b'{"secret-body": 1}')))
    assert_logged(proxy, fields["x-request-id"])
    log = proxy.log.read_text(encoding="utf-8")
    assert "/v1/drop-chart" in log
    assert "secret" not in log


def test_every_line_of_the_log_is_json(proxy: Proxy) -> None:
    _, fields, _ = get(proxy, '/"%0a%ff')
    assert_logged(proxy, fields["x-request-id"])
    for line in proxy.log.read_text(encoding="utf-8").splitlines():
        assert json.loads(line)["event"] == "proxied"


def test_metrics_are_not_for_the_world(proxy: Proxy) -> None:
    for path in ("/metrics", "/metrics/", "//metrics", "/%6detrics"):
        assert_problem(get(proxy, path), 404, "not-found")


def test_a_body_over_four_mebibytes_is_a_problem(proxy: Proxy) -> None:
    large = b"POST /v1/reach HTTP/1.1\r\nHost: a\r\nContent-Length: 4194305\r\n\r\n"
    assert_problem(asyncio.run(ask(proxy.port, large)), 413, "body-too-large")


def test_a_body_of_one_mebibyte_reaches_the_service(proxy: Proxy) -> None:
    status, _, body = asyncio.run(ask(proxy.port, post(b"[" + b" " * 1_048_575)))
    assert status == 400
    assert json.loads(body)["code"] == "malformed-json"


@pytest.mark.parametrize(
    "head",
    [
        b"GET / HTTP/1.1\r\nHost: a\r\nX: " + b"a" * 20_000 + b"\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\n"
        + b"".join(b"X%d: %s\r\n" % (n, b"a" * 4000) for n in range(16))
        + b"\r\n",
        b"GET /" + b"a" * 20_000 + b" HTTP/1.1\r\nHost: a\r\n\r\n",
    ],
    ids=["one field", "many fields", "request line"],
)
def test_a_head_over_its_bound_is_a_problem(proxy: Proxy, head: bytes) -> None:
    assert_problem(asyncio.run(ask(proxy.port, head)), 431, "head-too-large")


LINE = b"GET /health/live HTTP/1.1\r\nHost: a\r\n"
CHUNKS = b"Content-Type: application/json\r\n\r\n2\r\n{}\r\n0\r\n\r\n"
POSTED = b"POST /v1/reach HTTP/1.1\r\nHost: a\r\n"

NO_HTTP = {
    "no HTTP": b"hello\r\n\r\n",
    "no Host": b"GET / HTTP/1.1\r\n\r\n",
    "no version": b"GET / HTTP/1\r\nHost: a\r\n\r\n",
    "another protocol": b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
    "length and chunks": POSTED + b"Content-Length: 2\r\nTransfer-Encoding: chunked\r\n" + CHUNKS,
    "chunks twice": POSTED + 2 * b"Transfer-Encoding: chunked\r\n" + CHUNKS,
    "chunks in 1.0": b"POST /v1/reach HTTP/1.0\r\nTransfer-Encoding: chunked\r\n" + CHUNKS,
}
REFUSED = {
    **{name: (400, "malformed-http", head) for name, head in NO_HTTP.items()},
    **{
        f"HTTP/{version}": (505, "version-not-supported", f"GET / HTTP/{version}\r\nHost: a\r\n\r\n".encode())
        for version in ("2.0", "3.0", "9.9")
    },
    **{
        coding: (501, "coding-not-supported", POSTED + f"Transfer-Encoding: {coding}\r\n".encode() + CHUNKS)
        for coding in ("gzip, chunked", "gzip", "identity")
    },
    **{
        expected: (417, "expectation-failed", LINE + f"Expect: {expected}\r\n\r\n".encode())
        for expected in ("200-ok", "100-continue, more")
    },
}
"""Edges of HTTP at which the proxy answers in place of an instance."""


@pytest.mark.parametrize("edge", REFUSED)
def test_what_is_not_passed_on_is_refused_as_an_instance_refuses_it(
    proxy: Proxy, replica: Replica, edge: str
) -> None:
    status, code, head = REFUSED[edge]
    for port in (proxy.port, replica.port):
        assert_problem(asyncio.run(ask(port, head)), status, code)


def everything(port: int, *parts: bytes, half_close: bool = False) -> bytes:
    """All that comes back to what is said on one connection."""
    with socket.create_connection(("127.0.0.1", port), timeout=30) as connection:
        for part in parts:
            connection.sendall(part)
            time.sleep(0.05)
        if half_close:
            connection.shutdown(socket.SHUT_WR)
        return b"".join(iter(lambda: connection.recv(65_536), b""))


@pytest.mark.parametrize("edge", sorted({*REFUSED} - {"200-ok", "100-continue, more"}))
def test_nothing_is_read_after_what_cannot_be_read(proxy: Proxy, edge: str) -> None:
    said = everything(proxy.port, REFUSED[edge][2] + LINE + b"\r\n")
    assert said.count(b"HTTP/1.1 ") == 1


def test_later_minor_versions_and_any_spelling_of_chunked_are_passed_on(proxy: Proxy) -> None:
    assert asyncio.run(ask(proxy.port, b"GET /health/live HTTP/1.2\r\nHost: a\r\n\r\n"))[0] == 200
    status, _, body = asyncio.run(ask(proxy.port, POSTED + b"Transfer-Encoding: Chunked\r\n" + CHUNKS))
    assert (status, json.loads(body)["code"]) == (400, "request-invalid")


def test_who_waits_to_be_told_to_go_on_is_told(proxy: Proxy) -> None:
    head, _, body = TWENTY_LAMPS.partition(b"\r\n\r\n")
    with socket.create_connection(("127.0.0.1", proxy.port), timeout=30) as connection:
        connection.sendall(head + b"\r\nExpect: 100-Continue\r\nConnection: close\r\n\r\n")
        assert connection.recv(25) == b"HTTP/1.1 100 Continue\r\n\r\n"
        connection.sendall(body)
        assert b"".join(iter(lambda: connection.recv(65_536), b"")).startswith(b"HTTP/1.1 200 ")


@pytest.mark.parametrize(
    "request_",
    [TWENTY_LAMPS, post(json.dumps(chart(5)).encode(), "/v1/drop-chart", "Accept: application/pdf")],
    ids=["quick", "long"],
)
def test_a_client_that_closes_its_side_once_it_has_asked_gets_its_answer(
    proxy: Proxy, request_: bytes
) -> None:
    # RFC 9112, section 9.6: either side may close its half and still receive.
    assert everything(proxy.port, request_, half_close=True).startswith(b"HTTP/1.1 200 ")


def test_a_method_that_the_proxy_keeps_to_itself_is_a_problem(proxy: Proxy) -> None:
    # TRACE would show fields that scripts must not see; RFC 9110, section 15.5.6: 405 comes with Allow.
    reply = asyncio.run(ask(proxy.port, b"TRACE / HTTP/1.1\r\nHost: a\r\n\r\n"))
    assert_problem(reply, 405, "method-not-allowed")
    assert reply[1]["allow"] == "GET, HEAD, OPTIONS, POST"


def test_the_line_of_a_refusal_names_what_was_asked_for(proxy: Proxy) -> None:
    _, fields, _ = get(proxy, "/metrics/%22?secret-query", "X-Request-ID: asked-for")
    assert_logged(proxy, fields["x-request-id"])
    lines = map(json.loads, proxy.log.read_text(encoding="utf-8").splitlines())
    assert [line["path"] for line in lines if line["request_id"] == "asked-for"] == ["/metrics/%22"]


def logged(proxy: Proxy, request_id: str) -> Any:
    assert_logged(proxy, request_id)
    lines = map(json.loads, proxy.log.read_text(encoding="utf-8").splitlines())
    return next(line for line in lines if line["request_id"] == request_id)


@pytest.mark.parametrize(
    ("status", "method", "head"),
    [
        (400, "PATCH", b"PATCH / HTTP/1.1\r\n\r\n"),
        (400, "other", b"hello\r\n\r\n"),
        (404, "POST", b"POST /metrics HTTP/1.1\r\nHost: a\r\nContent-Length: 0\r\n\r\n"),
        (405, "TRACE", b"TRACE / HTTP/1.1\r\nHost: a\r\n\r\n"),
        (413, "POST", POSTED + b"Content-Length: 4194305\r\n\r\n"),
        (417, "DELETE", b"DELETE / HTTP/1.1\r\nHost: a\r\nExpect: more\r\n\r\n"),
        (431, "POST", POSTED + b"X: " + b"a" * 20_000 + b"\r\n\r\n"),
        (501, "POST", POSTED + b"Transfer-Encoding: gzip\r\n\r\n"),
        (505, "PUT", b"PUT / HTTP/2.0\r\nHost: a\r\n\r\n"),
    ],
)
def test_the_line_of_a_refusal_names_the_method_that_was_sent(
    proxy: Proxy, status: int, method: str, head: bytes
) -> None:
    found, fields, _ = asyncio.run(ask(proxy.port, head))
    line = logged(proxy, fields["x-request-id"])
    assert (found, line["status"], line["method"]) == (status, status, method)


def test_an_address_that_asks_too_often_is_told_when_to_come_again(replica: Replica, tmp_path: Path) -> None:
    proxy = Proxy(tmp_path, replica.port, PROXY_RATE="1", PROXY_BURST="1")
    try:
        replies = [asyncio.run(ask(proxy.port, TWENTY_LAMPS)) for _ in range(6)]
        healthy = {get(proxy, "/health/live")[0] for _ in range(6)}
    finally:
        proxy.end()
    refused = [reply for reply in replies if reply[0] != 200]
    assert refused
    for reply in refused:
        assert_problem(reply, 429, "too-many-requests")
        assert reply[1]["retry-after"] == "1"
        assert logged(proxy, reply[1]["x-request-id"])["method"] == "POST"
    assert healthy == {200}


def test_without_an_instance_the_answer_is_a_problem(tmp_path: Path) -> None:
    proxy = Proxy(tmp_path, free_port(), free_port())
    try:
        for _ in range(3):
            reply = asyncio.run(ask(proxy.port, TWENTY_LAMPS))
            assert_problem(reply, 502, "no-instance")
            assert reply[1]["retry-after"] == "1"
            assert logged(proxy, reply[1]["x-request-id"])["method"] == "POST"
    finally:
        proxy.end()


Behave = Callable[[asyncio.StreamReader, asyncio.StreamWriter], Awaitable[None]]


async def be_silent(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    await reader.read()
    writer.close()


async def break_off(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    await reader.readuntil(b"\r\n\r\n")
    writer.transport.abort()


async def answer(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    await reader.readuntil(b"\r\n\r\n")
    writer.write(b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\nConnection: close\r\n\r\n{}")
    await writer.drain()
    writer.close()


class Behind:
    """A proxy before stand-ins for instances, each of which behaves in its own way."""

    def __init__(self, folder: Path, **variables: str) -> None:
        self._folder = folder
        self._variables = variables
        self.lines: list[Any] = []

    def replies(self, count: int, behaviours: dict[int, Behave], *ports: int) -> list[Reply]:
        """Ask so often, one after the other; the lines of the log are kept."""

        async def go(proxy: Proxy) -> list[Reply]:
            async with contextlib.AsyncExitStack() as open_:
                for port, behave in behaviours.items():
                    await open_.enter_async_context(await asyncio.start_server(behave, "127.0.0.1", port))
                return [await ask(proxy.port, TWENTY_LAMPS) for _ in range(count)]

        proxy = Proxy(self._folder, *behaviours, *ports, **self._variables)
        try:
            found = asyncio.run(go(proxy))
        finally:
            proxy.end()
        self.lines = [json.loads(line) for line in proxy.log.read_text(encoding="utf-8").splitlines()]
        return found

    def tries(self) -> list[int]:
        """How many instances each request was sent to."""
        return [len(line["instances"].split(",")) for line in self.lines]


def test_a_request_that_hung_is_answered_in_time_and_not_sent_to_another_instance(tmp_path: Path) -> None:
    behind = Behind(tmp_path, PROXY_ANSWER_SECONDS="1")
    [reply] = behind.replies(1, {free_port(): be_silent, free_port(): be_silent})
    assert_problem(reply, 504, "no-answer-in-time")
    assert [(line["method"], line["status"]) for line in behind.lines] == [("POST", 504)]
    assert behind.tries() == [1]


def test_instances_that_are_slow_again_and_again_are_not_struck_off(tmp_path: Path) -> None:
    behind = Behind(tmp_path, PROXY_ANSWER_SECONDS="1")
    replies = behind.replies(5, {free_port(): be_silent})
    assert [status for status, _, _ in replies] == [504] * 5
    assert behind.tries() == [1] * 5
    assert {line["instance_statuses"] for line in behind.lines} == {"504"}


@contextlib.contextmanager
def unreachable() -> Iterator[int]:
    """A port at which no connection comes about: its queue is full, and the kernel drops who knocks."""
    with socket.socket() as deaf, socket.socket() as first, socket.socket() as second:
        deaf.bind(("127.0.0.1", 0))
        deaf.listen(0)
        for knocking in (first, second):
            knocking.settimeout(0)
            knocking.connect_ex(deaf.getsockname())
        yield deaf.getsockname()[1]


def test_an_instance_that_breaks_off_is_passed_over(tmp_path: Path) -> None:
    behind = Behind(tmp_path)
    replies = behind.replies(6, {free_port(): break_off, free_port(): answer})
    assert [status for status, _, _ in replies] == [200] * 6
    assert set(behind.tries()) == {1, 2}


def test_an_instance_that_takes_no_connection_is_passed_over(tmp_path: Path) -> None:
    behind = Behind(tmp_path)
    replies = behind.replies(6, {free_port(): answer}, free_port())
    assert [status for status, _, _ in replies] == [200] * 6
    assert set(behind.tries()) == {1, 2}


def test_several_instances_that_still_start_are_passed_over(tmp_path: Path) -> None:
    behind = Behind(tmp_path)
    replies = behind.replies(8, {free_port(): answer}, free_port(), free_port(), free_port())
    assert [status for status, _, _ in replies] == [200] * 8
    assert 4 in behind.tries()


def test_an_instance_whose_machine_is_silent_is_passed_over(tmp_path: Path) -> None:
    with unreachable() as port:
        behind = Behind(tmp_path)
        replies = behind.replies(4, {free_port(): answer}, port)
    assert [status for status, _, _ in replies] == [200] * 4
    assert 2 in behind.tries()


def test_a_request_that_reached_nobody_begins_once_more(tmp_path: Path) -> None:
    # Who is there may have changed while it waited, and then nginx asks none of the others by itself.
    with unreachable() as port:
        behind = Behind(tmp_path)
        [reply] = behind.replies(1, {}, port)
    assert_problem(reply, 504, "no-answer-in-time")
    assert [line["instance_statuses"] for line in behind.lines] == ["504 : 504"]


CLAIMS = (
    b"GET / HTTP/1.1\r\nHost: a\r\nX-Forwarded-For: 192.0.2.1\r\nForwarded: for=192.0.2.1\r\n"
    b"X-Forwarded-Proto: https\r\nX-Forwarded-Host: evil.example\r\nX-Real-IP: 192.0.2.1\r\n"
    b"Connection: close\r\n\r\n"
)


def test_what_a_client_claims_about_itself_does_not_reach_an_instance(tmp_path: Path) -> None:
    head = seen_by_an_instance(tmp_path, CLAIMS)
    assert "x-forwarded-for: 127.0.0.1\r\n" in head
    assert "x-forwarded-proto: http\r\n" in head
    assert "192.0.2.1" not in head
    assert "evil" not in head


def test_a_trusted_balancer_names_the_client(tmp_path: Path) -> None:
    head = seen_by_an_instance(tmp_path, CLAIMS, PROXY_TRUSTED="127.0.0.1")
    assert "x-forwarded-for: 192.0.2.1\r\n" in head


@pytest.mark.parametrize("path", ["/openapi.json", "/v1/conductors"])
def test_large_replies_are_compressed_and_caches_are_told(proxy: Proxy, path: str) -> None:
    compressed, whole = (got(proxy, path, {"Accept-Encoding": coding}) for coding in ("gzip", "identity"))
    assert compressed.headers["content-encoding"] == "gzip"
    assert "content-encoding" not in whole.headers
    for each in (compressed, whole):
        assert each.status_code == 200
        assert "accept-encoding" in each.headers["vary"].lower()
    assert compressed.content == whole.content


def test_what_the_service_says_of_its_forms_still_stands_beside_the_coding(proxy: Proxy) -> None:
    path = "/v1/drop-chart?conductor=14%20AWG&watts=60&volts=12&feet=25,50,75"
    reply = got(proxy, path, {"Accept": "image/svg+xml", "Accept-Encoding": "gzip"})
    assert reply.headers["content-encoding"] == "gzip"
    assert {"accept", "accept-encoding"} <= set(reply.headers["vary"].lower().split(", "))


def test_a_copy_kept_compressed_is_still_good(proxy: Proxy) -> None:
    etag = got(proxy, "/v1/conductors", {"Accept-Encoding": "gzip"}).headers["etag"]
    again = got(proxy, "/v1/conductors", {"Accept-Encoding": "gzip", "If-None-Match": etag})
    assert (again.status_code, again.content) == (304, b"")


def test_no_reply_names_the_version_of_the_proxy(proxy: Proxy) -> None:
    assert get(proxy, "/v1/units")[1]["server"] == "nginx"
    assert get(proxy, "/metrics")[1]["server"] == "nginx"


def test_nothing_is_promised_about_tls_without_tls(proxy: Proxy) -> None:
    assert "strict-transport-security" not in get(proxy, "/v1/units")[1]
    assert "strict-transport-security" not in get(proxy, "/metrics")[1]


REQUEST = (
    "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 1"
    " -subj /CN=localhost -addext subjectAltName=IP:127.0.0.1"
)


@pytest.fixture(scope="module")
def tls(replica: Replica, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Proxy]:
    if (openssl := which("openssl")) is None:
        pytest.skip("openssl is not installed; no certificate can be made")
    folder = tmp_path_factory.mktemp("tls")
    certificate, key = folder / "certificate.pem", folder / "key.pem"
    subprocess.run(  # noqa: S603  # found on the path
        [openssl, *REQUEST.split(), "-keyout", key, "-out", certificate],
        check=True,
        capture_output=True,
    )
    running = Proxy(
        folder,
        replica.port,
        PROXY_FRONT="tls",
        PROXY_CERTIFICATE=str(certificate),
        PROXY_CERTIFICATE_KEY=str(key),
    )
    yield running
    running.end()


def trusting(proxy: Proxy) -> ssl.SSLContext:
    return ssl.create_default_context(cafile=str(proxy.folder / "certificate.pem"))


def test_over_tls_the_service_answers_and_asks_for_tls_from_now_on(tls: Proxy) -> None:
    for path, expected in (("/v1/units", 200), ("/metrics", 404)):
        request = f"GET {path} HTTP/1.1\r\nHost: a\r\n\r\n".encode()
        status, fields, _ = asyncio.run(ask(tls.tls_port, request, trusting(tls)))
        assert status == expected
        assert fields["strict-transport-security"] == "max-age=31536000"


@pytest.mark.filterwarnings("ignore:ssl.TLSVersion.TLSv1_1 is deprecated:DeprecationWarning")
def test_tls_before_1_2_is_refused(tls: Proxy) -> None:
    context = trusting(tls)
    context.set_ciphers("ALL:@SECLEVEL=0")
    context.minimum_version = ssl.TLSVersion.TLSv1_1
    context.maximum_version = ssl.TLSVersion.TLSv1_1
    with pytest.raises((ssl.SSLError, ConnectionError)):
        asyncio.run(ask(tls.tls_port, b"GET / HTTP/1.1\r\nHost: a\r\n\r\n", context))


def test_plain_http_on_the_port_of_tls_is_a_problem(tls: Proxy) -> None:
    reply = asyncio.run(ask(tls.tls_port, b"GET / HTTP/1.1\r\nHost: a\r\n\r\n"))
    assert_problem(reply, 400, "malformed-http")


def test_plain_http_is_sent_to_tls_with_its_method(tls: Proxy) -> None:
    status, fields, _ = get(tls, "/v1/units?a=b")
    assert (status, fields["location"]) == (308, "https://garden.example/v1/units?a=b")


def test_every_variable_of_the_templates_has_a_value_and_every_value_a_use() -> None:
    used: set[Any] = set()
    for template in TEMPLATES.glob("*.template"):
        used |= set(re.findall(r"\$\{(PROXY_[A-Z_]+)\}", template.read_text(encoding="utf-8")))
    assert used == set(defaults())
