"""What a client need not notice: each of these is added on purpose, and must not be told."""

from typing import Any

import pytest

from tests.gate.example import ABSENT, DOCUMENT, OPERATION, REPLY, REQUEST, changed
from tests.gate.operations import breaks

OPEN_TEXT = {"type": "string", "minLength": 1, "maxLength": 64, "pattern": "^[a-z]+$"}


def test_the_same_document_breaks_nothing() -> None:
    assert breaks(DOCUMENT, changed()) == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("paths /reach", {"post": {"operationId": "reach", "responses": {}}}),
        ("paths /drop head", {"operationId": "peek", "responses": {}}),
        (f"{OPERATION} responses 503", {"description": "Later."}),
        (f"{OPERATION} responses 200 content text/csv", {"schema": {"type": "string"}}),
        (f"{OPERATION} responses 200 headers Age", {"schema": {"type": "integer"}}),
        (f"{OPERATION} summary", "In other words"),
        (f"{OPERATION} requestBody required", False),
        (f"{OPERATION} parameters 0 description", "In other words"),
    ],
)
def test_an_operation_may_gain(path: str, value: Any) -> None:
    assert breaks(DOCUMENT, changed((path, value))) == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("properties tail", {"$ref": "#/components/schemas/Length"}),
        ("properties metal enum", ["copper", "aluminium", "silver"]),
        ("properties metal", OPEN_TEXT),
        ("properties count minimum", 0),
        ("properties count maximum", 5000),
        ("properties count type", "number"),
        ("properties name pattern", ABSENT),
        ("properties lamps maxItems", 20),
        ("properties name description", "In other words"),
        ("required", []),
        ("additionalProperties", ABSENT),
    ],
)
def test_a_request_may_be_asked_less_of(path: str, value: Any) -> None:
    assert breaks(DOCUMENT, changed((f"{REQUEST} {path}", value))) == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("properties lead", {"type": "number"}),
        ("required", ["status", "drop", "verdict", "steps", "note"]),
        ("properties steps maximum", 64),
        ("properties drop type", "integer"),
        ("properties note pattern", "^[a-z]+$"),
        ("properties verdict examples", ["above-window", "a-finding-of-next-year"]),
    ],
)
def test_a_reply_may_promise_more(path: str, value: Any) -> None:
    assert breaks(DOCUMENT, changed((f"{REPLY} {path}", value))) == []


def test_a_request_may_be_of_a_new_kind() -> None:
    new = changed(
        ("components schemas Strip", {"type": "object"}),
        ("components schemas Lamp discriminator mapping strip", "#/components/schemas/Strip"),
    )
    new["components"]["schemas"]["Lamp"]["oneOf"].append({"$ref": "#/components/schemas/Strip"})
    assert breaks(DOCUMENT, new) == []


def test_a_component_may_be_renamed_where_its_shape_stays() -> None:
    new = changed((f"{REQUEST} properties length", {"$ref": "#/components/schemas/OneWay"}))
    new["components"]["schemas"]["OneWay"] = new["components"]["schemas"].pop("Length")
    assert breaks(DOCUMENT, new) == []


def test_a_single_kind_may_become_one_of_several_in_a_request() -> None:
    old = changed((f"{REQUEST} properties lamps items", {"$ref": "#/components/schemas/Bulb"}))
    assert breaks(old, DOCUMENT) == []


def test_a_schema_that_holds_itself_is_compared_once() -> None:
    again = changed((f"{REQUEST} properties spur", {"$ref": "#/components/schemas/Wire"}))
    assert breaks(again, again) == []
