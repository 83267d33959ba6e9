"""What the server itself makes of requests that follow each other on one connection (RFC 9110, RFC 9112)."""

import json
import re
import signal
from collections.abc import Iterator

import pytest

from tests.bench.largest import chart
from tests.load.asking import TWENTY_LAMPS, post
from tests.test_commands import Service

LIVE = b"GET /health/live HTTP/1.1\r\nHost: a\r\n"
LAST = LIVE + b"Connection: close\r\n\r\n"
LONG = post(json.dumps(chart(5)).encode(), "/v1/drop-chart", "Accept: application/pdf")
"""It is drawn for longer than a request may take to arrive."""


@pytest.fixture(scope="module")
def service() -> Iterator[Service]:
    running = Service(LASTLAMP_REQUEST_SECONDS="0.2")
    running.wait_until_ready()
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
