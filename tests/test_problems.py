import re
from pathlib import Path

import pytest
from msgspec import json

from service.http.refusal_of import refusal_of
from service.problems import (
    CATALOGUE,
    ERROR_KINDS,
    PROBLEM_MEDIA_TYPE,
    ErrorItem,
    ErrorKind,
    Problem,
    ProblemKind,
    Refused,
    UnansweredError,
    problem_bytes,
)

CODE = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")

# RFC 9110, sections 15.5 and 15.6; 422 is section 15.5.21. 429 and 431 are RFC 6585, sections 4 and 5.
OF_CLIENTS = {400, 401, 403, 404, 405, 406, 408, 413, 415, 417, 421, 422, 429, 431}
STATUSES = OF_CLIENTS | {500, 501, 502, 503, 504, 505}


@pytest.mark.parametrize("kind", CATALOGUE.values(), ids=CATALOGUE)
def test_each_kind_says_what_it_means_and_what_to_do(kind: ProblemKind) -> None:
    assert CODE.fullmatch(kind.code)
    assert kind.status in STATUSES
    assert kind.meaning.endswith(".")
    assert kind.remedy.endswith(".")
    assert not kind.title.endswith(".")


def test_titles_tell_the_kinds_apart() -> None:
    assert len({kind.title for kind in CATALOGUE.values()}) == len(CATALOGUE)


def test_type_is_a_path_that_ends_in_the_code() -> None:
    assert CATALOGUE["not-found"].type == "/problems/not-found"


@pytest.mark.parametrize("kind", ERROR_KINDS.values(), ids=ERROR_KINDS)
def test_each_kind_of_error_has_a_meaning(kind: ErrorKind) -> None:
    assert CODE.fullmatch(kind.code)
    assert kind.meaning.endswith(".")


def test_problem_carries_the_members_of_rfc_9457() -> None:
    status, body = problem_bytes("not-found", "There is nothing at /v2.", "request-1")
    assert status == 404
    assert json.decode(body) == {
        "type": "/problems/not-found",
        "title": "There is nothing at this address",
        "status": 404,
        "detail": "There is nothing at /v2.",
        "code": "not-found",
        "request_id": "request-1",
        "errors": [],
    }


def test_problem_media_type_is_that_of_rfc_9457() -> None:
    assert PROBLEM_MEDIA_TYPE == "application/problem+json"


def test_allowed_is_absent_where_nothing_can_be_listed() -> None:
    errors = [ErrorItem("missing-member", "/supply", "Send it."), ErrorItem("wrong-unit", "/u", "No.", ["m"])]
    _, body = problem_bytes("request-invalid", "Two places.", "request-1", errors)
    assert [sorted(error) for error in json.decode(body)["errors"]] == [
        ["code", "detail", "pointer"],
        ["allowed", "code", "detail", "pointer"],
    ]
    assert json.decode(body, type=Problem).errors == errors


def test_refusal_takes_its_status_from_the_catalogue() -> None:
    refused = Refused("taps-joined", "Two taps meet.", headers={"Allow": "POST"})
    assert (refused.status, refused.code, refused.detail, refused.errors) == (
        422,
        "taps-joined",
        "Two taps meet.",
        (),
    )
    assert refused.headers == {"Allow": "POST"}
    assert str(refused) == "Two taps meet."


def test_refusal_with_a_code_outside_the_catalogue_cannot_be_made() -> None:
    with pytest.raises(KeyError):
        Refused("never-heard-of", "No.")


MADE = re.compile(r"(?:Mistake|_refuse(?:_terminal)?)\(\s*\"([a-z-]+)\"")


def test_every_mistake_that_a_calculation_finds_is_of_a_kind_with_words() -> None:
    sources = (Path(__file__).parents[1] / "service").rglob("*.py")
    found = {code for path in sources for code in MADE.findall(path.read_text(encoding="utf-8"))}
    assert {"island", "csv-value", "reading-ohms-of-supply", "reading-number-missing"} <= found
    assert {code for code in found if not ERROR_KINDS[code].words} == {"too-many"}


def test_every_kind_of_mistake_with_words_is_found_by_something() -> None:
    text = "".join(path.read_text("utf-8") for path in (Path(__file__).parents[1] / "service").rglob("*.py"))
    assert [code for code, kind in ERROR_KINDS.items() if kind.words and text.count(f'"{code}"') < 2] == []


def test_a_study_may_refuse_with_a_kind_of_its_own() -> None:
    kind = ProblemKind("no-dog", 422, "No dog", "The garden has none.", "Get one.", "{error.count} cats.")
    error = UnansweredError(kind, "no dog")
    vars(error)["count"] = 3
    refused = refusal_of(error)
    assert (refused.code, refused.status, refused.detail) == ("no-dog", 422, "3 cats.")
    assert (
        json.decode(problem_bytes(refused.kind, refused.detail, "request-1")[1])["type"] == "/problems/no-dog"
    )
