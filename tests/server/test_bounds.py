"""What the server itself makes of requests that follow each other on one connection (RFC 9110, RFC 9112)."""

import json
import re
import select
import signal
import socket
import time
from collections.abc import Iterator

import pytest

from tests import jobs
from tests.bench.largest import chart
from tests.load.asking import HOST, TWENTY_LAMPS, post
from tests.test_commands import Service

LIVE = b"GET /health/live HTTP/1.1\r\nHost: a\r\n"
LAST = LIVE + b"Connection: close\r\n\r\n"
LONG = post(json.dumps(chart(5)).encode(), "/v1/drop-chart", "Accept: application/pdf")
"""It is drawn for longer than a request may take to arrive."""


@pytest.fixture(scope="module")
def service() -> Iterator[Service]:
    running = Service(LASTLAMP_REQUEST_SECONDS="0.2")
    yield running
    running.stop(signal.SIGINT)


def statuses(said: bytes) -> list[int]:
    """Those of all replies in a row."""
    found = []
    while said:
        head, _, rest = said.partition(b"\r\n\r\n")
        first = re.match(rb"HTTP/1\.1 (\d{3}) ", head)
        length = re.search(rb"\r\ncontent-length: (\d+)", head)
        assert first, said[:200]
        assert length, head
        found.append(int(first[1]))
        said = rest[int(length[1]) :]
    return found


@pytest.mark.parametrize(
    ("second", "status"),
    [
        (b"GET / HTTP/1.1\r\nHost: a\r\nX: and no more", 408),
        (b"no http\r\n\r\n", 400),
        (b"GET / HTTP/1.1\r\nX: " + b"a" * 20_000, 431),
        (b"POST /v1/reach HTTP/1.1\r\nHost: a\r\nContent-Length: 9\r\n\r\n{", 408),
    ],
    ids=["slow head", "no HTTP", "large head", "slow body"],
)
def test_the_answer_to_one_request_comes_before_the_refusal_of_the_next(
    service: Service, second: bytes, status: int
) -> None:
    # RFC 9112, section 9.3.2: responses are sent in the order in which the requests were received.
    assert statuses(service.say(LONG, second, pause=0.05)) == [200, status]


def test_requests_between_the_two_are_answered_as_well(service: Service) -> None:
    said = service.say(LONG + 2 * (LIVE + b"\r\n") + b"no http\r\n\r\n")
    assert statuses(said) == [200, 200, 200, 400]


def test_what_comes_after_a_refused_request_is_not_read(service: Service) -> None:
    assert statuses(service.say(LONG, b"no http\r\n\r\n", LAST, pause=0.05)) == [200, 400]


OFFER = b"Connection: Upgrade, HTTP2-Settings\r\nUpgrade: h2c\r\nHTTP2-Settings: AAMAAABkAARAAAAAAAIAAAAA\r\n"


def offering(request: bytes) -> bytes:
    """The same request as some libraries send it by themselves, Java's among them."""
    return request.replace(b"\r\n", b"\r\n" + OFFER, 1)


def test_an_offer_of_another_protocol_is_passed_over(service: Service) -> None:
    # RFC 9110, section 7.8: a server may ignore it, and goes on in the protocol of the request.
    assert statuses(service.say(offering(TWENTY_LAMPS) + LAST)) == [200, 200]
    assert statuses(service.say(offering(LIVE + b"\r\n") + offering(LAST))) == [200, 200]


def test_the_body_after_an_offer_is_no_request_of_its_own(service: Service) -> None:
    inside = LIVE + b"\r\n"
    carrying = offering(post(inside, "/v1/reach"))
    for parts in ([carrying + LAST], [carrying[: -len(inside)], inside, LAST]):
        assert statuses(service.say(*parts, pause=0.05)) == [400, 200]


def test_no_tunnel_is_opened(service: Service) -> None:
    assert statuses(service.say(b"CONNECT a:80 HTTP/1.1\r\nHost: a:80\r\n\r\n")) == [400]


@pytest.mark.parametrize(
    "head",
    [b"HTTP/1.1\r\n", b"HTTP/1.1\r\nHost: a\r\nHost: a\r\n", b"HTTP/1.0\r\nHost: a\r\nHost: b\r\n"],
    ids=["none", "two", "two in 1.0"],
)
def test_a_request_names_one_host(service: Service, head: bytes) -> None:
    # RFC 9112, section 3.2.
    assert statuses(service.say(b"GET /health/live " + head + b"\r\n")) == [400]


@pytest.mark.parametrize("host", [b"a b", b"a@b", b"a/b", b"a?b", b"a#b", b"a:b", b"[::1", b"a, b", b"\xff"])
def test_a_host_that_cannot_be_one_is_refused(service: Service, host: bytes) -> None:
    # RFC 9112, section 3.2; the form is that of RFC 3986, sections 3.2.2 and 3.2.3.
    said = service.say(b"GET /health/live HTTP/1.1\r\nHost: " + host + b"\r\n\r\n")
    assert statuses(said) == [400]
    assert b'"malformed-http"' in said


@pytest.mark.parametrize(
    "host", [b"", b"a_b:8080", b"[::1]:8080", b"10.0.0.5:", b"xn--caf-dma.example", b"a \t"]
)
def test_any_other_host_is_answered(service: Service, host: bytes) -> None:
    # Blanks after a value are no part of it (RFC 9112, section 5.1).
    said = service.say(b"GET /health/live HTTP/1.1\r\nHost: " + host + b"\r\nConnection: close\r\n\r\n")
    assert statuses(said) == [200]


@pytest.mark.parametrize(
    "sent", [b"no http\r\n\r\n", b"GET / HTTP/1.1\r\nX: " + b"a" * 20_000, b"GET / HTTP"]
)
def test_any_page_may_read_why_its_request_was_not(service: Service, sent: bytes) -> None:
    # Fetch standard, "CORS protocol": without the field a page is told of a network error and nothing else.
    assert b"\r\naccess-control-allow-origin: *\r\n" in service.say(sent)


def test_http_1_0_may_name_none(service: Service) -> None:
    assert statuses(service.say(b"GET /health/live HTTP/1.0\r\n\r\n")) == [200]


def chunked(fields: bytes, version: bytes = b"1.1") -> bytes:
    """A request whose body comes in chunks, whatever its head says of it, and another after it."""
    line = b"POST /v1/reach HTTP/" + version + b"\r\nHost: a\r\nContent-Type: application/json\r\n"
    return line + fields + b"\r\n2\r\n{}\r\n0\r\n\r\n" + LAST


@pytest.mark.parametrize(
    "fields",
    [b"chunked", b"Chunked", b"CHUNKED", b" chunked  "],
    ids=["as written", "capital", "capitals", "blanks"],
)
def test_a_body_in_chunks_is_read_however_its_coding_is_spelt(service: Service, fields: bytes) -> None:
    # RFC 9112, section 7: names of transfer codings are case-insensitive. 400: there is nothing in the body.
    said = service.say(chunked(b"Transfer-Encoding: " + fields + b"\r\n"))
    assert statuses(said) == [400, 200]
    assert b'"request-invalid"' in said


@pytest.mark.parametrize(
    "coding", [b"gzip, chunked", b"gzip", b"identity", b"xchunked", b"chunked;q=1", b"deflate,gzip,chunked"]
)
def test_a_body_in_another_coding_is_refused_and_nothing_after_it_is_read(
    service: Service, coding: bytes
) -> None:
    # RFC 9112, section 6.1: a server that does not understand a transfer coding should answer 501.
    said = service.say(chunked(b"Transfer-Encoding: " + coding + b"\r\n"))
    assert statuses(said) == [501]
    assert b'"coding-not-supported"' in said


@pytest.mark.parametrize(
    "fields",
    [
        b"Transfer-Encoding: chunked, chunked\r\n",
        b"Transfer-Encoding: chunked, gzip\r\n",
        b"Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n",
        b"Transfer-Encoding: chunked\r\nTransfer-Encoding: identity\r\n",
        b"Transfer-Encoding:\r\n",
        b"Transfer-Encoding: \x0bchunked\r\n",
        b"Transfer-Encoding : chunked\r\n",
        b"Transfer-Encoding:\r\n chunked\r\n",
        b"Transfer-Encoding: chunked\r\nContent-Length: 2\r\n",
        b"Content-Length: 2\r\nTransfer-Encoding: chunked\r\n",
        b"Content-Length: 2\r\nTransfer-Encoding: gzip, chunked\r\n",
        b"Content-Length: 2\r\nContent-Length: 3\r\n",
        b"Content-Length: 2, 2\r\n",
        b"Content-Length: +2\r\n",
        b"Content-Length: 0x2\r\n",
        b"Content-Length: -2\r\n",
    ],
)
def test_a_body_whose_end_two_readers_might_see_differently_is_refused_with_all_after_it(
    service: Service, fields: bytes
) -> None:
    # RFC 9112, section 6.3, and section 11.2 on what comes of it otherwise.
    said = service.say(chunked(fields))
    assert statuses(said) == [400]
    assert b'"malformed-http"' in said


def test_http_1_0_knows_no_chunks(service: Service) -> None:
    # RFC 9112, section 6.1: the framing of such a message is faulty.
    assert statuses(service.say(chunked(b"Transfer-Encoding: chunked\r\n", b"1.0"))) == [400]


@pytest.mark.parametrize("version", [b"2.0", b"2.1", b"3.0", b"9.9", b"0.9"])
def test_another_version_of_http_is_refused(service: Service, version: bytes) -> None:
    # RFC 9110, section 15.6.6.
    said = service.say(b"GET /health/live HTTP/" + version + b"\r\nHost: a\r\n\r\n")
    assert statuses(said) == [505]
    assert b'"version-not-supported"' in said


@pytest.mark.parametrize("version", [b"1.2", b"1.9"])
def test_a_later_minor_version_is_read_as_1_1(service: Service, version: bytes) -> None:
    # RFC 9110, section 2.5: it can be processed by any implementation of the same major version.
    line = b"GET /health/live HTTP/" + version + b"\r\n"
    assert statuses(service.say(line + b"Host: a\r\n\r\n" + LAST)) == [200, 200]
    assert statuses(service.say(line + b"\r\n")) == [400]


@pytest.mark.parametrize("version", [b"1", b"11.1", b"1.11", b"1,1", b"x.1"])
def test_what_is_no_version_is_no_http(service: Service, version: bytes) -> None:
    # RFC 9112, section 2.3: one digit, a point and one digit.
    assert statuses(service.say(b"GET / HTTP/" + version + b"\r\nHost: a\r\n\r\n")) == [400]


@pytest.mark.parametrize("expected", [b"200-ok", b"100-continue, more", b"more\r\nExpect: 100-continue"])
def test_an_expectation_that_cannot_be_met_is_refused(service: Service, expected: bytes) -> None:
    # RFC 9110, section 10.1.1.
    said = service.say(LIVE + b"Expect: " + expected + b"\r\n\r\n")
    assert statuses(said) == [417]
    assert b'"expectation-failed"' in said


@pytest.mark.parametrize("expected", [b"100-continue", b"100-Continue", b"100-continue, 100-continue", b","])
def test_who_waits_to_be_told_to_go_on_is_told(service: Service, expected: bytes) -> None:
    line = b"POST /v1/reach HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\nConnection: close\r\n"
    head = line + b"Content-Length: 2\r\nExpect: " + expected + b"\r\n\r\n"
    with socket.create_connection((HOST, service.port), timeout=10) as connection:
        connection.sendall(head)
        if expected != b",":
            assert connection.recv(25) == b"HTTP/1.1 100 Continue\r\n\r\n"
        connection.sendall(b"{}")
        said = b"".join(iter(lambda: connection.recv(65_536), b""))
    assert statuses(said) == [400]
    assert b'"request-invalid"' in said


def test_http_1_0_is_never_told_to_go_on(service: Service) -> None:
    head = b"POST /v1/reach HTTP/1.0\r\nContent-Type: application/json\r\nContent-Length: 2\r\n"
    assert statuses(service.say(head + b"Expect: 100-continue\r\n\r\n", b"{}", pause=0.1)) == [400]


def half_closed(service: Service, *parts: bytes) -> bytes:
    """All that comes back to a client that says that it has sent everything."""
    with socket.create_connection((HOST, service.port), timeout=30) as connection:
        for part in parts:
            connection.sendall(part)
            time.sleep(0.05)
        connection.shutdown(socket.SHUT_WR)
        return b"".join(iter(lambda: connection.recv(65_536), b""))


@pytest.mark.parametrize("request_", [LIVE + b"\r\n", TWENTY_LAMPS, LONG], ids=["quick", "job", "long"])
def test_a_client_that_closes_its_side_once_it_has_asked_gets_its_answer(
    service: Service, request_: bytes
) -> None:
    # RFC 9112, section 9.6: either side may close its half and still receive.
    assert statuses(half_closed(service, request_)) == [200]


def test_a_client_that_closes_its_side_gets_every_answer_that_is_due(service: Service) -> None:
    assert statuses(half_closed(service, LONG + 3 * (LIVE + b"\r\n"))) == [200] * 4
    assert statuses(half_closed(service, LONG + LIVE + b"\r\n" + b"no http\r\n\r\n")) == [200, 200, 400]


@pytest.mark.parametrize("part", [b"GET /health/li", post(b"[" * 9)[:-1]], ids=["head", "body"])
def test_a_request_that_will_never_be_whole_is_let_go_after_the_answers_before_it(
    service: Service, part: bytes
) -> None:
    assert half_closed(service, part) == b""
    assert statuses(half_closed(service, LONG + part)) == [200]
    assert statuses(half_closed(service, LONG + LIVE + b"\r\n" + part)) == [200, 200]


LONG_RUN = {**jobs.even(1_900, jobs.watts(0.01), 200, cable=jobs.awg(4)), "supply": jobs.transformer()}
LARGE = post(
    json.dumps({"items": [{"study": "voltage-drop", "request": LONG_RUN}] * 6}).encode(), "/v1/batch"
)
"""Its reply is more than the system holds for a client that does not read."""


def _asking(service: Service) -> socket.socket:
    connection = socket.socket()
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 65_536)
    connection.settimeout(10)
    connection.connect(("127.0.0.1", service.port))
    connection.sendall(LARGE)
    return connection


def test_a_client_that_does_not_read_its_reply_is_let_go(service: Service) -> None:
    with _asking(service) as connection:
        ended = select.poll()
        ended.register(connection, select.POLLHUP)
        assert ended.poll(10_000)


def test_a_client_that_reads_its_reply_slowly_gets_all_of_it() -> None:
    patient = Service(LASTLAMP_REQUEST_SECONDS="1")
    with _asking(patient) as connection:
        said = connection.recv(65_536)
        length = re.search(rb"\r\ncontent-length: (\d+)", said)
        assert length
        owed = int(length[1]) + said.index(b"\r\n\r\n") + 4 - len(said)
        while owed:
            time.sleep(0.05)
            part = connection.recv(min(owed, 200_000), socket.MSG_WAITALL)
            assert part
            owed -= len(part)
    patient.stop(signal.SIGINT)
