import pytest

from service import __version__
from service.app import app
from service.circuit import self_check
from service.observability.exchange import request_id_from
from tests.client import Client


@pytest.fixture
def self_check_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(self_check, "published_value_holds", lambda: False)


def test_live_answers_with_the_version(client: Client) -> None:
    reply = client.get("/health/live")
    assert reply.status_code == 200
    assert reply.json() == {"status": "live", "version": __version__}


def test_ready_answers_while_the_published_value_is_reproduced(client: Client) -> None:
    assert client.get("/health/ready").json()["status"] == "ready"


@pytest.mark.usefixtures("self_check_fails")
def test_a_service_that_miscalculates_is_not_ready(client: Client) -> None:
    reply = client.get("/health/ready")
    assert reply.status_code == 503
    assert reply.json()["code"] == "not-ready"


@pytest.mark.usefixtures("self_check_fails")
def test_a_service_that_miscalculates_is_still_live(client: Client) -> None:
    assert client.get("/health/live").status_code == 200


def test_a_stopping_service_is_not_ready_and_still_answers(client: Client) -> None:
    app.lifecycle.draining = True
    assert client.get("/health/ready").status_code == 503
    assert client.get("/health/live").status_code == 200


@pytest.mark.parametrize(
    ("method", "path", "status", "code"),
    [
        ("GET", "/nowhere", 404, "not-found"),
        ("POST", "/health/live", 405, "method-not-allowed"),
        ("GET", "/health/live/", 200, None),
    ],
)
def test_what_the_router_refuses_is_a_problem(
    client: Client, method: str, path: str, status: int, code: str | None
) -> None:
    reply = client.request(method, path)
    assert reply.status_code == status
    if code is not None:
        assert reply.headers["content-type"] == "application/problem+json"
        assert reply.json()["code"] == code
        assert reply.json()["request_id"] == reply.headers["x-request-id"]


def test_a_refused_method_is_told_which_are_taken(client: Client) -> None:
    assert client.post("/health/live").headers["allow"] == "GET, HEAD, OPTIONS"


def test_options_lists_the_methods_and_has_no_body(client: Client) -> None:
    reply = client.request("OPTIONS", "/health/live")
    assert reply.status_code == 204
    assert reply.headers["allow"] == "GET, HEAD, OPTIONS"
    assert "content-length" not in reply.headers
    assert reply.content == b""


def test_head_has_the_header_fields_of_get(client: Client) -> None:
    head, get = client.request("HEAD", "/health/live"), client.get("/health/live")
    assert head.content == b""
    assert {k: v for k, v in head.headers.items() if k != "x-request-id"} == {
        k: v for k, v in get.headers.items() if k != "x-request-id"
    }


def test_an_unforeseen_error_is_a_problem_without_a_word_about_the_inside(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken() -> bool:
        raise RuntimeError("secret")

    monkeypatch.setattr(self_check, "published_value_holds", broken)
    reply = client.get("/health/ready", headers={"X-Request-ID": "watched-1"})
    assert reply.status_code == 500
    assert reply.headers["content-type"] == "application/problem+json"
    assert reply.json()["request_id"] == "watched-1" == request_id_from([(b"x-request-id", b"watched-1")])
    assert "secret" not in reply.text
