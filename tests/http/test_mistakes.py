"""What is wrong with a wiring is told as other mistakes are: the first hundred, and that there are more."""

from tests import jobs
from tests.client import Client
from tests.jobs import Json


def _lost(fixtures: int) -> Json:
    """A graph of two points whose fixtures all stand at others."""
    return {
        "supply": jobs.transformer(),
        "wiring": {
            "form": "spans",
            "spans": [{"from": "supply", "to": "fern gate", "length": jobs.metres(5), "cable": jobs.awg(12)}],
            "fixtures": [{"point": "Fern-gatte", "load": jobs.watts(1)} for _ in range(fixtures)],
        },
    }


def _refused(client: Client, fixtures: int) -> Json:
    reply = client.post("/v1/voltage-drop", json=_lost(fixtures))
    assert reply.status_code == 422
    problem: Json = reply.json()
    return problem


def test_an_unknown_point_is_told_with_the_one_that_was_meant(client: Client) -> None:
    problem = _refused(client, 1)
    (error,) = problem["errors"]
    assert problem["detail"] == "One place of the wiring cannot be as described; `errors` lists each."
    assert error["pointer"] == "/wiring/fixtures/0/point"
    assert 'Did you mean "fern gate"?' in error["detail"]
    assert error["allowed"] == ["fern gate", "supply"]


def test_a_hundred_mistakes_are_all_listed(client: Client) -> None:
    problem = _refused(client, 100)
    assert len(problem["errors"]) == 100
    assert problem["detail"].startswith("100 places of the wiring cannot")


def test_of_more_mistakes_the_first_hundred_are_listed_and_that_there_are_more(client: Client) -> None:
    problem = _refused(client, 101)
    assert [error["code"] for error in problem["errors"]] == ["unknown-point"] * 100 + ["more-errors"]
    assert problem["detail"] == (
        "More than 100 places of the wiring cannot be as described; `errors` lists the first."
    )
