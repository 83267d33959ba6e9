"""`POST /v1/batch`: each item is answered as if it had been asked alone, and no item touches another."""

import hashlib
import json
from typing import Any, Final

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.circuit import reading
from service.circuit.job import MAXIMUM_POINTS, Job
from service.circuit.state import Connected, connect_job
from service.document.examples import FOLDER
from tests import jobs
from tests.client import Client
from tests.document.reading import followed
from tests.fuzz.asking import BATCH, CLIENT, JSON, calculations, post
from tests.fuzz.mutations import changed_requests
from tests.jobs import Json

STUDIES: Final = {one.path.removeprefix("/v1/"): one.requests for one in calculations() if one.path != BATCH}
ONE_JOB: Final = jobs.even(4, jobs.watts(5), 24)
ONE: Final = json.dumps(ONE_JOB).encode()
TOO_MANY: Final = (FOLDER / "voltage_drop_too_large.json").read_bytes()

tried = settings(max_examples=60, suppress_health_check=list(HealthCheck))


def item(body: bytes, study: str = "voltage-drop", item_id: str | None = None) -> bytes:
    named = b"" if item_id is None else b', "id": %s' % json.dumps(item_id).encode()
    return b'{"study": "%s", "request": %s%s}' % (study.encode(), body, named)


def asked(*items: bytes) -> list[Json]:
    reply = post(BATCH, b'{"items": [%s]}' % b", ".join(items))
    assert reply.status_code == 200, reply.text
    outcomes: list[Json] = reply.json()["items"]
    return outcomes


def refusal(outcome: Json) -> tuple[str, list[tuple[str, str]]]:
    assert outcome["outcome"] == "refused"
    problem = outcome["problem"]
    return problem["code"], [(error["code"], error["pointer"]) for error in problem["errors"]]


def alone(study: str, body: bytes) -> Json:
    """The outcome that an item must have, from the reply of its study to the same bytes."""
    reply = post(f"/v1/{study}", body)
    said = reply.json()
    said.pop("request_id", None)
    outcome = "answered" if reply.status_code == 200 else "refused"
    return {"outcome": outcome, "study": study, "answer" if outcome == "answered" else "problem": said}


def without_request_id(outcome: Json) -> Json:
    if "problem" in outcome:
        outcome["problem"].pop("request_id")
    return outcome


def is_json(body: bytes) -> bool:
    """Whether a body may stand inside another: NaN and cut texts break the whole batch."""

    def refuse(constant: str) -> Any:
        raise ValueError(constant)

    try:
        json.loads(body, parse_constant=refuse)
    except ValueError:
        return False
    return True


def test_every_calculation_can_be_asked_in_a_batch(client: Client) -> None:
    document = client.get("/openapi.json").json()
    study = document["components"]["schemas"]["BatchItem"]["properties"]["study"]
    assert set(followed(document, study)["enum"]) == STUDIES.keys()


# As alone.


@pytest.mark.parametrize("file", sorted(path.name for path in FOLDER.glob("voltage_drop*")))
def test_every_file_of_examples_is_answered_or_refused_as_alone(file: str) -> None:
    # Inside a batch no white space belongs to an item, and the answer names its bytes.
    body = (FOLDER / file).read_bytes().strip()
    assert [without_request_id(one) for one in asked(item(body))] == [alone("voltage-drop", body)]


@st.composite
def questions(draw: st.DrawFn) -> tuple[str, bytes]:
    """A study and an example of it, as shown or with something changed."""
    study = draw(st.sampled_from(sorted(STUDIES)))
    shown = st.sampled_from(STUDIES[study]).map(lambda request: json.dumps(request).encode())
    return study, draw(shown | changed_requests(STUDIES[study]).filter(is_json))


@tried
@given(asked_for=st.lists(questions(), min_size=1, max_size=5), start=st.integers(0, 9))
def test_batch_is_the_single_calls_in_their_order(asked_for: list[tuple[str, bytes]], start: int) -> None:
    items = [item(body, study, f"no {start + number}") for number, (study, body) in enumerate(asked_for)]
    for number, (outcome, (study, body)) in enumerate(zip(asked(*items), asked_for, strict=True)):
        assert outcome.pop("id") == f"no {start + number}"
        assert is_batch_spent(outcome) or without_request_id(outcome) == alone(study, body)


def is_batch_spent(outcome: Json) -> bool:
    """Whether the items before this one took the work that it would have needed."""
    return "those before this one left" in outcome.get("problem", {}).get("detail", "")


def test_an_item_for_which_others_left_too_little_work_is_refused_and_never_answered_differently() -> None:
    # Dividing searches for as long as it has work: with less of it another division came out.
    body = (FOLDER / "run_division.json").read_bytes().strip()
    by_itself = alone("run-division", body)
    outcomes = asked(*[item(body, "run-division")] * 6)
    spent = [is_batch_spent(outcome) for outcome in outcomes]
    assert spent == sorted(spent)
    assert 2 <= spent.count(False) <= 5
    assert all(without_request_id(each) == by_itself for each in outcomes[: spent.count(False)])
    assert {each["problem"]["code"] for each in outcomes[spent.count(False) :]} == {"work-over-limit"}


def test_answer_names_the_very_bytes_of_its_item() -> None:
    body = json.dumps(ONE_JOB, indent=3).encode()
    [outcome] = asked(item(body))
    assert outcome["answer"]["request_sha256"] == hashlib.sha256(body).hexdigest()


def test_problem_of_an_item_quotes_the_request_id_of_the_batch(client: Client) -> None:
    body = b'{"items": [%s]}' % item(b"{}")
    reply = client.post(BATCH, content=body, headers={**JSON, "x-request-id": "quote-4711"})
    assert reply.json()["items"][0]["problem"]["request_id"] == "quote-4711"


# One bad item spoils no other.

BAD: Final = [
    ("nothing asked", b"{}", "request-invalid"),
    ("a list", b"[]", "request-invalid"),
    ("null", b"null", "request-invalid"),
    ("a text", b'"12 V"', "request-invalid"),
    ("a colon written as an escape", ONE.replace(b'"even"', b'"even\\u003a"'), "request-invalid"),
    ("65 lists", b"[" * 65 + b"]" * 65, "nesting-too-deep"),
    ("bytes that are not UTF-8", ONE.replace(b'"even"', b'"\xff"'), "not-utf-8"),
    ("too many points", TOO_MANY, "job-too-large"),
]


@pytest.mark.parametrize(("body", "code"), [case[1:] for case in BAD], ids=[case[0] for case in BAD])
def test_bad_item_is_refused_and_the_others_answered(body: bytes, code: str) -> None:
    first, bad, last = asked(item(ONE), item(body), item(ONE))
    assert first == last == alone("voltage-drop", ONE)
    assert refusal(bad)[0] == code


ENVELOPE: Final = [
    ("study twice", item(ONE).replace(b'"study"', b'"study": "reach", "study"'), "/items/1/study"),
    ("request twice", item(ONE).replace(b'"request"', b'"request": {}, "request"'), "/items/1/request"),
    ("id twice", item(ONE, item_id="a").replace(b'"id"', b'"id": "b", "id"'), "/items/1/id"),
    ("id twice, escaped", item(ONE, item_id="a").replace(b'"id"', b'"\\u0069d": "b", "id"'), "/items/1/id"),
    (
        "id twice, with escaped colons to make up for it",
        item(ONE, item_id="a").replace(b'"a"', b'"a\\u003a", "id": "a\\u003a"'),
        "/items/1/id",
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("bad", "pointer"), [case[1:] for case in ENVELOPE], ids=[case[0] for case in ENVELOPE]
)
def test_member_twice_beside_a_request_is_refused_with_the_batch(bad: bytes, pointer: str) -> None:
    # What the batch itself says would be in doubt.
    reply = post(BATCH, b'{"items": [%s, %s]}' % (item(ONE), bad))
    assert reply.status_code == 400
    assert reply.json()["code"] == "duplicate-member"
    assert [error["pointer"] for error in reply.json()["errors"]] == [pointer]


def test_texts_with_escapes_are_no_repeats() -> None:
    named = b'{"id": "\\u0061\\u003a", ' + ONE[1:]
    first, second = asked(item(named), item(ONE, item_id="b"))
    assert first["answer"]["id"] == "a:"
    assert (second["outcome"], second["id"]) == ("answered", "b")


# The batch itself.


def test_ids_are_echoed_where_they_were_sent() -> None:
    outcomes = asked(item(ONE, item_id="first: 1"), item(b"{}"), item(b"{}", item_id="third"))
    assert [outcome.get("id") for outcome in outcomes] == ["first: 1", None, "third"]


def test_study_that_there_is_not_is_refused_with_the_batch() -> None:
    reply = post(BATCH, b'{"items": [%s, %s]}' % (item(ONE), item(ONE, "batch")))
    assert reply.status_code == 400
    assert [(error["code"], error["pointer"]) for error in reply.json()["errors"]] == [
        ("unknown-name", "/items/1/study")
    ]


@pytest.mark.parametrize(("items", "code"), [(0, "too-few"), (201, "too-many")])
def test_number_of_items_is_bounded(items: int, code: str) -> None:
    most = CLIENT.get("/v1/limits").json()["maximum_batch_items"]
    assert most == 200
    reply = post(BATCH, b'{"items": [%s]}' % b", ".join([item(ONE)] * items))
    assert reply.status_code == 400
    assert [(error["code"], error["pointer"]) for error in reply.json()["errors"]] == [(code, "/items")]


def test_as_many_items_as_are_published_are_answered() -> None:
    assert [outcome["outcome"] for outcome in asked(*[item(ONE)] * 200)] == ["answered"] * 200


def test_batch_over_the_limit_of_bytes_is_refused_as_a_whole() -> None:
    most = CLIENT.get("/v1/limits").json()["maximum_body_bytes"]
    body = b'{"items": [%s]}' % item(ONE)
    assert post(BATCH, body.ljust(most)).status_code == 200
    reply = post(BATCH, body.ljust(most + 1))
    assert (reply.status_code, reply.json()["code"]) == (413, "body-too-large")


def test_items_for_which_nothing_is_left_are_refused_before_they_are_laid_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # 200 of the largest jobs are 60 kB: laying each out to find that nothing is left took ten seconds.
    laid: list[object] = []

    def connect(job: Job) -> Connected:
        laid.append(job)
        return connect_job(job)

    monkeypatch.setattr(reading, "connect_job", connect)
    body = json.dumps(jobs.even(MAXIMUM_POINTS - 2, jobs.watts(0.002), 200, cable=jobs.awg(4))).encode()
    outcomes = asked(*[item(body)] * 200)
    answered = sum(outcome["outcome"] == "answered" for outcome in outcomes)
    assert 1 <= answered < 200
    assert all(is_batch_spent(outcome) for outcome in outcomes[answered:])
    assert len(laid) <= answered + 3


def test_a_small_item_is_answered_however_many_large_ones_found_too_little_before_it() -> None:
    large = json.dumps(jobs.even(MAXIMUM_POINTS - 2, jobs.watts(0.002), 200, cable=jobs.awg(4))).encode()
    *before, last = asked(*[item(large)] * 30, item(ONE))
    assert sum(map(is_batch_spent, before)) > 5
    assert last == alone("voltage-drop", ONE)
