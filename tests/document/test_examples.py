"""Each example is checked against its schema by a validator that is not ours, and sent to the application."""

import asyncio
import json
from typing import Any

import jsonschema_rs
import pytest

from service.app import app
from service.document.examples import FOLDER, REQUEST_ID, executed, shortened
from service.document.operations import descriptions
from service.document.schemas import DocumentError
from service.studies.description import Example
from tests.client import Client
from tests.document.reading import Shown, examples, operations

SENT = {"X-Request-ID": REQUEST_ID, "Content-Type": "application/json"}
CUT = {"first-rows": 2}


def validator(document: Any, schema: Any) -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator({**schema, "components": document["components"]})


def test_every_example_fits_its_schema(document: Any) -> None:
    shown = list(examples(document))
    assert len(shown) > 20
    for example in shown:
        errors = list(validator(document, example.schema).iter_errors(example.value))
        assert errors == [], (example.label, example.name)


def test_every_200_reply_but_the_document_itself_has_an_example(document: Any) -> None:
    with_example = {example.label for example in examples(document) if example.status == 200}
    assert {found.label for found in operations(document)} - with_example == {"GET /openapi.json"}


def test_every_request_example_gets_exactly_the_reply_of_its_name(document: Any, client: Client) -> None:
    replies = {(shown.label, shown.name): shown.value for shown in examples(document) if shown.status == 200}
    requests = [shown for shown in examples(document) if shown.status is None]
    assert {"runs", "even", "spans", "no-operating-point"} <= {shown.name for shown in requests}
    for shown in requests:
        method, path = shown.label.split()
        [file] = _files(shown)
        sent = (FOLDER / file).read_bytes()
        assert json.loads(sent) == shown.value
        reply = client.request(method, path, content=sent, headers=SENT)
        assert reply.status_code == 200
        assert reply.json() == replies[shown.label, shown.name]


def test_a_reply_begins_with_its_status_and_its_summary(document: Any) -> None:
    judged = [each.value for each in examples(document) if each.status == 200 and "summary" in each.value]
    assert len(judged) >= 15
    for value in judged:
        first = [name for name in ("status", "summary") if name in value]
        assert list(value)[: len(first)] == first


def _example(operation: str, name: str) -> Example:
    [example] = [example for example in descriptions()[operation].examples if example.name == name]
    return example


def _files(shown: Shown) -> list[str]:
    return [
        example.file
        for operation in descriptions().values()
        for example in operation.examples
        if example.name == shown.name and example.file is not None
    ]


def test_every_get_gives_exactly_the_reply_that_is_shown(document: Any, client: Client) -> None:
    for shown in examples(document):
        method, path = shown.label.split()
        if method == "GET" and shown.status == 200:
            example = _example(document["paths"][path]["get"]["operationId"], shown.name)
            sent = f"{path}?{example.query}" if example.query else path
            answer = client.get(sent, headers=dict(example.headers))
            reply = answer.json() if "json" in answer.headers["content-type"] else answer.text
            if isinstance(reply, dict):
                reply |= example.shown
            rows = CUT.get(shown.name)
            assert shown.value == (reply if rows is None else shortened(reply, rows))


@pytest.mark.parametrize(
    ("file", "name", "status"),
    [
        ("voltage_drop_unfit.json", "unfit", 400),
        ("voltage_drop_too_large.json", "too-large", 422),
        ("voltage_drop_island.json", "island", 422),
    ],
)
def test_refused_example_gets_exactly_the_problem_that_is_shown(
    document: Any, client: Client, file: str, name: str, status: int
) -> None:
    reply = client.post("/v1/voltage-drop", content=(FOLDER / file).read_bytes(), headers=SENT)
    [problem] = [shown.value for shown in examples(document) if (shown.name, shown.status) == (name, status)]
    assert reply.status_code == status
    assert reply.json() == problem


def test_every_file_of_examples_is_used() -> None:
    used = {example.file for operation in descriptions().values() for example in operation.examples}
    # The garden has a test of its own, and so has its folder.
    assert {path.name for path in FOLDER.iterdir() if path.is_file()} == used - {None}


def test_the_unfit_example_is_refused_by_the_schema_too(document: Any) -> None:
    request = json.loads((FOLDER / "voltage_drop_unfit.json").read_bytes())
    schema = {"$ref": "#/components/schemas/VoltageDropRequest"}
    assert not validator(document, schema).is_valid(request)


async def _answered(example: Example) -> None:
    framework: Any = app.application
    await executed(framework, "POST", "/v1/voltage-drop", example)


@pytest.mark.parametrize(
    ("example", "words"),
    [
        (Example("wrong", "", 200, file="voltage_drop_unfit.json"), "is answered 400, not 200"),
        (Example("gone", "", 200, file="nowhere.json"), "nowhere.json cannot be read"),
    ],
)
def test_an_example_that_does_not_do_what_it_shows_keeps_the_document_from_being_written(
    example: Example, words: str
) -> None:

    with pytest.raises(DocumentError, match=words):
        asyncio.run(_answered(example))
