"""The one sentence that an installer reads first: no more than the readings carry."""

from pathlib import Path
from typing import Any

import pytest

from tests.client import Client

ROOT = Path(__file__).parents[3]
CASES = ROOT / "tests" / "cases" / "readings_check"
EXAMPLE = ROOT / "openapi" / "examples" / "readings_check.json"
UNFIT = "The readings do not fit the wiring as described. "


def asked(client: Client, path: Path) -> Any:
    reply = client.post(
        "/v1/readings-check", content=path.read_bytes(), headers={"Content-Type": "application/json"}
    )
    assert reply.status_code == 200
    return reply.json()


@pytest.mark.parametrize(
    ("case", "verdict", "sentence"),
    [
        ("staged_first_lamp", "agrees", "The readings agree with the wiring as described"),
        ("staged_third_lamp", "contradicts", "No single cause explains these readings together"),
    ],
)
def test_the_staged_sequence_is_answered_in_one_sentence(
    client: Client, case: str, verdict: str, sentence: str
) -> None:
    # Common practice, no published source: the cases say where the readings come from.
    reply = asked(client, CASES / case / "request.json")
    assert reply["verdict"] == verdict
    assert reply["conclusion"].startswith(sentence)


def test_a_place_that_is_settled_is_not_told_as_a_cause_that_is(client: Client) -> None:
    # A bad joint and a thinner cable on one stretch have the same volts; only looking tells them apart.
    reply = asked(client, EXAMPLE)
    assert reply["identifiability"]["separated"]
    assert reply["identifiability"]["alternatives"] == [1]
    first = reply["explanations"][0]["message"]
    assert reply["conclusion"] == (
        f"{UNFIT}One place would explain them. The likeliest cause there, which these readings do not tell"
        f" from others, is: {first}"
    )


def test_a_cause_without_a_rival_would_explain_the_readings(client: Client) -> None:
    reply = asked(client, CASES / "staged_second_lamp" / "request.json")
    assert reply["identifiability"]["alternatives"] == []
    assert reply["conclusion"] == (
        f"{UNFIT}One thing would explain them: {reply['explanations'][0]['message']}"
    )
