import pytest

from service import __version__
from service.app import app
from service.circuit import self_check
from service.circuit.job import SOLVER_FORM
from service.extras import LAYOUT_BOUND
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
    expected = {"status": "ready", "version": __version__, "solver": SOLVER_FORM, "layout": LAYOUT_BOUND}
    assert client.get("/health/ready").json() == expected


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


def test_a_slash_at_the_end_is_passed_over(client: Client) -> None:
    assert client.get("/health/live/").status_code == 200


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
