"""The envelope around every request: its line in the log, its id, its last resort, its header fields."""

import json
import logging
from typing import Any

import pytest

from service.observability.exchange import request_id_from
from service.observability.middleware import Lifecycle, Receive, Scope, Send, dressed
from tests.observability.exchanging import JSON, answering, exchanged

PAGE = [(b"content-type", b"text/html; charset=utf-8")]


class Ending(Exception):  # noqa: N818  # it ends a request on purpose
    """Raised by an application under test."""


def test_a_request_leaves_one_line_with_template_status_and_time(lines: Any) -> None:
    exchanged(answering(template="/v1/things/{name:str}"), path="/v1/things/rose-garden")
    [line] = lines()
    assert (line["event"], line["method"], line["status"]) == ("request", "GET", 200)
    assert line["route"] == "/v1/things/{name:str}"
    assert line["duration_ms"] >= 0


def test_the_line_of_an_unknown_path_does_not_repeat_the_path(lines: Any) -> None:
    exchanged(answering(404, template=None), path="/customers/somebody")
    [line] = lines()
    assert line["route"] == "unmatched"
    assert "somebody" not in json.dumps(line)


def test_the_line_of_a_refused_method_names_its_route(lines: Any) -> None:
    exchanged(answering(405, template=None), method="DELETE")
    assert lines()[0]["route"] == "/v1/thing"


def test_the_line_says_nothing_of_the_body(lines: Any) -> None:
    exchanged(answering(), method="POST")
    assert "secret" not in json.dumps(lines())


def test_a_well_formed_request_id_is_returned_and_logged(lines: Any) -> None:
    start = exchanged(answering(), headers=[(b"x-request-id", b"Quote_7.b-1")])[0]
    assert (b"x-request-id", b"Quote_7.b-1") in start["headers"]
    assert lines()[0]["request_id"] == "Quote_7.b-1"


@pytest.mark.parametrize("value", [b"", b"a" * 65, b"a b", b"a\n", b'{"a":1}', b"\xff", "é".encode()])
def test_an_ill_formed_request_id_is_replaced(value: bytes) -> None:
    request_id = request_id_from([(b"x-request-id", value)])
    assert len(request_id) == 32
    assert request_id.isalnum()


def test_two_requests_without_an_id_get_two() -> None:
    assert request_id_from([]) != request_id_from([])


def test_head_is_answered_as_get_without_its_body() -> None:
    methods = []

    async def application(scope: Scope, receive: Receive, send: Send) -> None:
        methods.append(scope["method"])
        await answering(body=b"1234567")(scope, receive, send)

    start, body = exchanged(application, method="HEAD")
    assert methods == ["GET"]
    assert (b"content-length", b"7") in start["headers"]
    assert body["body"] == b""


def test_the_line_of_a_head_request_says_head(lines: Any) -> None:
    exchanged(answering(), method="HEAD")
    assert lines()[0]["method"] == "HEAD"


def test_an_error_that_the_application_lets_through_is_answered_500(lines: Any) -> None:
    async def application(scope: Scope, receive: Receive, send: Send) -> None:
        del scope, receive, send
        kept_out_of_the_log = "a local value"
        raise Ending(len(kept_out_of_the_log))

    start, body = exchanged(application)
    unhandled, request = lines()
    assert start["status"] == request["status"] == 500
    assert json.loads(body["body"])["request_id"] == request["request_id"] == unhandled["request_id"]
    assert request["problem"] == "internal-error"
    assert request["level"] == unhandled["level"] == "error"


def test_a_logged_traceback_names_the_place_and_no_local_value(lines: Any) -> None:
    async def application(scope: Scope, receive: Receive, send: Send) -> None:
        del scope, receive, send
        kept_out_of_the_log = "a local " + "value"
        raise Ending(len(kept_out_of_the_log))

    exchanged(application)
    text = json.dumps(lines()[0])
    assert "test_middleware.py" in text
    assert "a local value" not in text


def test_an_error_after_the_reply_began_adds_no_second_reply(lines: Any) -> None:
    async def application(scope: Scope, receive: Receive, send: Send) -> None:
        await answering()(scope, receive, send)
        raise Ending

    assert [message["type"] for message in exchanged(application)] == [
        "http.response.start",
        "http.response.body",
    ]
    assert [line["event"] for line in lines()] == ["unhandled", "request"]


def test_a_client_that_left_before_its_request_was_whole_is_no_failure(lines: Any) -> None:
    exchanged(answering(500), received={"type": "http.disconnect"})
    [line] = lines()
    assert line["status"] == 499
    assert "problem" not in line


def test_replies_while_draining_ask_the_client_to_reconnect() -> None:
    start = exchanged(answering(), lifecycle=Lifecycle(draining=True))[0]
    assert (b"connection", b"close") in start["headers"]


def test_every_reply_forbids_sniffing_and_referrers() -> None:
    for headers in (JSON, PAGE, []):
        reply = dict(dressed(headers, "an-id"))
        assert reply[b"x-content-type-options"] == b"nosniff"
        assert reply[b"referrer-policy"] == b"no-referrer"


def test_a_reply_that_is_no_page_may_load_nothing() -> None:
    assert dict(dressed(JSON, "an-id"))[b"content-security-policy"].startswith(b"default-src 'none'")


def test_a_page_keeps_the_policy_that_it_brings() -> None:
    policy = (b"Content-Security-Policy", b"default-src 'none'; script-src 'self'")
    reply = dressed([*PAGE, policy], "an-id")
    assert [value for name, value in reply if name == b"content-security-policy"] == [policy[1]]


def test_a_reply_is_not_kept_unless_it_says_for_how_long() -> None:
    assert dict(dressed(JSON, "an-id"))[b"cache-control"] == b"no-store"
    kept = dressed([*JSON, (b"cache-control", b"max-age=60")], "an-id")
    assert [value for name, value in kept if name == b"cache-control"] == [b"max-age=60"]


def test_everything_that_a_reply_varies_by_stands_in_one_field() -> None:
    # RFC 9110, section 5.3: a list may be one field; some caches read no second one.
    reply = dressed([(b"Vary", b"Accept"), *JSON, (b"vary", b"Origin")], "an-id")
    assert [value for name, value in reply if name == b"vary"] == [b"Accept, Origin"]
    assert b"vary" not in dict(dressed(JSON, "an-id"))


def test_allow_names_head_wherever_it_names_get() -> None:
    assert (b"allow", b"GET, HEAD, OPTIONS") in dressed([(b"allow", b"OPTIONS, GET")], "an-id")
    assert (b"allow", b"OPTIONS, POST") in dressed([(b"allow", b"POST, OPTIONS")], "an-id")


def test_a_library_logs_in_the_same_shape(lines: Any) -> None:
    logging.getLogger("some.library").warning("a %s", "warning")
    [line] = lines()
    assert (line["event"], line["level"]) == ("a warning", "warning")
