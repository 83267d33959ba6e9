"""The catalogues: short lists that a client keeps, with every code that a reply carries."""

import json
from collections.abc import Iterator
from typing import Any, Final

import pytest

from tests.cases.test_cases import FOLDERS
from tests.cases.test_cases import HERE as CASES
from tests.client import Client
from tests.contract.matrix.soundness import document
from tests.document.reading import examples, followed, operations
from tests.findings.finding_examples import EXAMPLES
from tests.fuzz.asking import CLIENT, JSON
from tests.jobs import Json

PATHS: Final = tuple(
    found.path
    for found in operations(document())
    if "304" in found.operation["responses"] and not found.operation.get("parameters", [{}])[0].get("in")
)
"""Every address whose reply may be kept and that takes no parameters of its own."""

NEVER: Final = '"00000000000000000000000000000000"'

each_path = pytest.mark.parametrize("path", PATHS)


def test_the_lists_are_all_there() -> None:
    names = {"conductors", "units", "limits", "sources", "problems", "findings", "assumptions"}
    assert {"/openapi.json", *(f"/v1/{name}" for name in names)} <= set(PATHS)


# Kept by clients (RFC 9110, sections 8.8.3, 13.1.2 and 15.4.5; RFC 9111).


@each_path
def test_reply_names_its_bytes_and_says_how_long_they_are_good(client: Client, path: str) -> None:
    first, again = client.get(path), client.get(path)
    assert first.status_code == 200
    assert first.content == again.content
    assert first.headers["etag"] == again.headers["etag"]
    assert first.headers["etag"].startswith('"')
    assert first.headers["cache-control"] == "public, max-age=300"
    assert first.headers["content-type"] == "application/json"


@each_path
@pytest.mark.parametrize(
    "asked",
    ["{etag}", "W/{etag}", f"{NEVER}, {{etag}}", f"W/{NEVER} ,\tW/{{etag}} , {NEVER}", "*", " * "],
)
def test_copy_that_is_still_good_is_not_sent_again(client: Client, path: str, asked: str) -> None:
    etag = client.get(path).headers["etag"]
    for method in ("GET", "HEAD"):
        reply = client.request(method, path, headers={"if-none-match": asked.format(etag=etag)})
        assert reply.status_code == 304
        assert reply.content == b""
        assert reply.headers["etag"] == etag
        assert reply.headers["cache-control"] == "public, max-age=300"
        assert "content-type" not in reply.headers
        assert reply.headers.get("content-length", "0") == "0"


@each_path
@pytest.mark.parametrize("asked", [NEVER, f"W/{NEVER}", "", "etag", '""'])
def test_copy_that_is_not_good_any_more_is_sent_anew(client: Client, path: str, asked: str) -> None:
    reply = client.get(path, headers={"if-none-match": asked})
    assert reply.status_code == 200
    assert reply.content == client.get(path).content


@each_path
def test_list_in_a_form_that_is_not_offered_is_refused(client: Client, path: str) -> None:
    reply = client.get(path, headers={"accept": "text/csv"})
    assert (reply.status_code, reply.json()["code"]) == (406, "not-acceptable")
    assert reply.headers["cache-control"] == "no-store"


@each_path
def test_no_two_lists_have_one_tag(client: Client, path: str) -> None:
    others = {client.get(other).headers["etag"] for other in PATHS if other != path}
    assert client.get(path).headers["etag"] not in others


# Complete.


def listed(path: str, part: str, key: str = "code") -> set[str]:
    rows = [row[key] for row in CLIENT.get(path).json()[part]]
    assert len(rows) == len(set(rows)), path
    return set(rows)


def answers() -> Iterator[Json]:
    """Replies to the examples of the document, the cases and the examples of the findings."""
    yield from (shown.value for shown in examples(document()) if shown.status == 200)
    for case in FOLDERS:
        study = case.partition("/")[0].replace("_", "-")
        yield replied(f"/v1/{study}", (CASES / case / "request.json").read_bytes())
    for example in EXAMPLES:
        yield replied(example.path, json.dumps(example.shows).encode())


def replied(path: str, body: bytes) -> Json:
    reply: Json = CLIENT.post(path, content=body, headers=JSON).json()
    return reply


def codes(value: Any, part: str) -> Iterator[str]:
    """Every code under members of one name, at any depth."""
    if isinstance(value, dict):
        for name, member in value.items():
            if name == part and isinstance(member, list):
                yield from (row["code"] for row in member if isinstance(row, dict) and "code" in row)
            yield from codes(member, part)
    elif isinstance(value, list):
        for member in value:
            yield from codes(member, part)


@pytest.fixture(scope="module")
def replies() -> list[Json]:
    found = list(answers())
    assert len(found) > 50
    return found


@pytest.mark.parametrize(
    ("part", "path", "least"),
    [
        ("findings", "/v1/findings", 15),
        ("assumptions", "/v1/assumptions", 10),
        ("cautions", "/v1/assumptions", 4),
    ],
)
def test_every_code_of_an_answer_is_listed(replies: list[Json], part: str, path: str, least: int) -> None:
    seen = {code for reply in replies for code in codes(reply, part)}
    assert len(seen) >= least
    assert seen <= listed(path, part)


def test_every_source_of_an_answer_is_listed(replies: list[Json]) -> None:
    seen = {code for reply in replies for code in codes(reply, "sources")}
    assert len(seen) >= 3
    assert seen <= listed("/v1/sources", "sources", "id")


def test_every_refusal_that_the_document_shows_is_listed() -> None:
    problems = [shown.value for shown in examples(document()) if (shown.status or 0) >= 400]
    assert {problem["code"] for problem in problems} <= listed("/v1/problems", "problems")
    assert set(codes(problems, "errors")) <= listed("/v1/problems", "errors")
    kinds = {row["code"]: row for row in CLIENT.get("/v1/problems").json()["problems"]}
    for problem in problems:
        kind = kinds[problem["code"]]
        assert (problem["type"], problem["title"], problem["status"]) == (
            kind["type"],
            kind["title"],
            kind["status"],
        )


def test_every_conductor_that_a_request_may_name_is_listed_with_a_source() -> None:
    rows = CLIENT.get("/v1/conductors").json()["conductors"]
    names = document()["components"]["schemas"]["ConductorName"]["enum"]
    assert {row["conductor"] for row in rows} == set(names)
    sources = listed("/v1/sources", "sources", "id")
    assert all(row["sources"] and set(row["sources"]) <= sources for row in rows)


def test_each_ampacity_stands_beside_how_the_cable_is_laid_for_it() -> None:
    rows = CLIENT.get("/v1/conductors").json()["conductors"]
    carried = [row["ampacity"] for row in rows if "ampacity" in row]
    assert len(carried) > 50
    assert all(row["installation_method"] for row in carried)
    (cord,) = [
        row
        for row in rows
        if (row["conductor"], row["stranding"]) == ("0.5 mm2", "flexible") and "ampacity" in row
    ]
    assert cord["ampacity"] == {
        "value": 3.0,
        "unit": "A",
        "installation_method": "flexible cord in air at 30 °C",
        "source": "bs-7671-4f3a",
    }


def test_every_unit_that_a_request_may_name_is_listed() -> None:
    known = listed("/v1/units", "units", "unit")
    schemas = document()["components"]["schemas"].values()
    members = [
        followed(document(), schema["properties"]["unit"])
        for schema in schemas
        if "unit" in schema.get("properties", {})
    ]
    closed = [member for member in members if "enum" in member or "const" in member]
    requested = {unit for member in closed for unit in member.get("enum", [member.get("const")])}
    assert {"m", "ft", "V", "degF", "ohm/kft"} <= requested
    assert {"m", "ft", "V", "A", "mA", "W", "VA", "ohm", "degC", "degF", "ohm/kft", "W/ft"} <= known


def test_limits_are_those_that_hold(client: Client) -> None:
    limits = client.get("/v1/limits").json()
    items = document()["components"]["schemas"]["BatchRequest"]["properties"]["items"]
    assert items["maxItems"] == limits["maximum_batch_items"]
    nested = b"[" * limits["maximum_nesting"] + b"]" * limits["maximum_nesting"]
    for body, code in ((nested, "request-invalid"), (b"[" + nested + b"]", "nesting-too-deep")):
        reply = client.post("/v1/voltage-drop", content=body, headers=JSON)
        assert reply.json()["code"] == code
