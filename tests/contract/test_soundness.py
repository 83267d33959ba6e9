"""The check of all replies lets sound ones pass and sees each thing that it looks for."""

import json
from typing import Any, Final

import httpx
import pytest

from tests.contract.matrix.parts import SCALES, SUPPLIES, wiring_of
from tests.contract.matrix.soundness import BATCH, JSON, PROBLEM, assert_sound
from tests.contract.matrix.studies import CHART, CLIENT, Asked

PATH: Final = "/v1/voltage-drop"
SUPPLY: Final = SUPPLIES["battery"]
JOB: Final = {"supply": SUPPLY, "wiring": wiring_of("even", "constant-power", SCALES["usual"], SUPPLY)}


def reply(status: int, media_type: str, content: Any) -> httpx.Response:
    body = content if isinstance(content, bytes) else json.dumps(content).encode()
    return httpx.Response(status, content=body, headers={"content-type": media_type, "x-request-id": "a"})


def answer() -> Any:
    return Asked("post", PATH, JSON, JOB).send().json()


def problem() -> Any:
    return CLIENT.post(PATH, content=b"{", headers={"content-type": JSON}).json()


def test_answers_and_problems_of_the_service_pass() -> None:
    assert_sound(PATH, "post", reply(200, JSON, answer()))
    assert_sound(PATH, "post", reply(400, PROBLEM, problem()))


@pytest.mark.parametrize("member", ["status", "fixtures", "request_sha256"])
def test_missing_member_is_seen(member: str) -> None:
    spoilt = {name: part for name, part in answer().items() if name != member}
    with pytest.raises(AssertionError):
        assert_sound(PATH, "post", reply(200, JSON, spoilt))


@pytest.mark.parametrize("value", ["null", "NaN", "Infinity", '"12"'])
def test_number_that_is_none_is_seen(value: str) -> None:
    spoilt = answer()
    spoilt["totals"]["cable_loss"]["value"] = "the place"
    body = json.dumps(spoilt).replace('"the place"', value).encode()
    with pytest.raises(AssertionError):
        assert_sound(PATH, "post", reply(200, JSON, body))


@pytest.mark.parametrize("status", [201, 204, 302, 404, 500, 502])
def test_status_that_is_not_described_is_seen(status: int) -> None:
    with pytest.raises(AssertionError):
        assert_sound(PATH, "post", reply(status, PROBLEM, problem() | {"status": status}))


def test_problem_of_another_status_or_media_type_is_seen() -> None:
    for status, media_type in ((422, PROBLEM), (400, JSON)):
        with pytest.raises(AssertionError):
            assert_sound(PATH, "post", reply(status, media_type, problem()))


@pytest.mark.parametrize("text", ["nan V", "<td>inf</td>", "-Infinity", "12,NaN", "x=-inf;"])
def test_number_that_is_none_is_seen_in_a_text(text: str) -> None:
    for media_type in ("text/csv", "text/html", "image/svg+xml"):
        with pytest.raises(AssertionError):
            assert_sound(CHART, "post", reply(200, media_type, text.encode()))


def test_words_that_hold_such_letters_pass() -> None:
    for text in ("finance", "infinite", "information", "banana", "info", "nan-o", "tyrannous"):
        assert_sound(CHART, "post", reply(200, "text/csv", text.encode()))


def test_pdf_that_is_none_is_seen() -> None:
    with pytest.raises(AssertionError):
        assert_sound(PATH, "post", reply(200, "application/pdf", b"<html>"))


def test_fault_inside_a_batch_is_seen() -> None:
    failed = problem() | {"status": 500, "code": "internal-error"}
    item = {"outcome": "refused", "study": "voltage-drop", "problem": failed}
    with pytest.raises(AssertionError):
        assert_sound(BATCH, "post", reply(200, JSON, {"items": [item]}))
    unfit = {"outcome": "answered", "study": "voltage-drop", "answer": {"status": "solved"}}
    with pytest.raises(AssertionError):
        assert_sound(BATCH, "post", reply(200, JSON, {"items": [unfit]}))
