"""Bodies made from the types of the messages, sound and not: each is answered or refused as described.

`python -m tests.fuzz --bodies 100000` sends more of them; here a fixed few of the same.
"""

import json
from collections import Counter
from functools import cache
from typing import Final

from tests.contract.matrix.grammar import all_said
from tests.contract.matrix.studies import operation_of, posted_paths
from tests.fuzz.bodies import body
from tests.fuzz.running import Figures, run

BODIES: Final = 3_000
SEED: Final = 20


@cache
def figures() -> Figures:
    return run(SEED, range(BODIES))


def test_every_reply_to_a_generated_body_is_as_described() -> None:
    faults = figures().faults
    assert not faults, [(fault.number, fault.what) for fault in faults[:5]]


def test_every_study_is_asked_often_and_answers_often() -> None:
    asked, answers = Counter[str](), Counter[str]()
    for (study, status, _), count in figures().statuses.items():
        asked[study] += count
        answers[study] += count if status == 200 else 0
    assert asked.keys() == {f"post {path}" for path in (*posted_paths(), "/v1/batch")} | {
        "get /v1/drop-chart"
    }
    assert min(asked.values()) >= 50
    # Zones name types as often as wirings do, and one that there is not refuses all of them.
    assert min(answers[study] / count for study, count in asked.items()) >= 0.2


def test_every_kind_of_refusal_that_a_body_can_earn_is_met() -> None:
    assert {code for _, status, code in figures().statuses if status != 200} >= {
        "malformed-json",
        "not-utf-8",
        "nesting-too-deep",
        "duplicate-member",
        "number-out-of-range",
        "request-invalid",
        "not-acceptable",
        "wiring-invalid",
        "readings-invalid",
    }


def test_body_of_a_number_is_always_the_same() -> None:
    assert [body(3, number) for number in range(50)] == [body(3, number) for number in range(50)]
    assert body(3, 7) != body(4, 7)


def test_bodies_use_every_member_of_every_request() -> None:
    sent = [body(SEED, number) for number in range(BODIES)]
    for path in posted_paths():
        text = b"".join(one.content for one in sent if one.path == path)
        members = {
            said.partition(".")[2].partition("=")[0] for said in all_said(operation_of(path).request)
        } - {""}
        assert {member for member in members if json.dumps(member).encode() not in text} == set()
