"""The calculations of the document, real requests to each, and what holds for any reply whatever."""

import json
from functools import cache
from typing import Any, Final, NamedTuple

import httpx
import jsonschema_rs

from service.app import app
from service.document import document_bytes
from tests.client import Client
from tests.document.reading import examples, operations

JSON: Final = {"content-type": "application/json"}
CLIENT: Final = Client(app)
BATCH: Final = "/v1/batch"


class Calculation(NamedTuple):
    """One operation that takes a body."""

    path: str
    requests: tuple[Any, ...]
    """Those that the document shows."""


@cache
def document() -> Any:
    return json.loads(document_bytes(app))


@cache
def calculations() -> tuple[Calculation, ...]:
    """Every calculation that the document lists, in its order."""
    shown = list(examples(document()))
    return tuple(
        Calculation(
            found.path,
            tuple(each.value for each in shown if each.label == found.label and each.status is None),
        )
        for found in operations(document())
        if found.method == "post"
    )


def post(path: str, body: bytes) -> httpx.Response:
    return CLIENT.post(path, content=body, headers=JSON)


def assert_sound(path: str, reply: httpx.Response) -> None:
    """A reply is an answer as described or a refusal as described, and never a failure."""
    assert reply.status_code < 500, reply.text
    described = document()["paths"][path]["post"]["responses"]
    assert str(reply.status_code) in described, reply.text
    expected = "application/json" if reply.status_code == 200 else "application/problem+json"
    assert reply.headers["content-type"] == expected
    assert reply.headers["x-request-id"]
    content = described[str(reply.status_code)]["content"][expected]
    assert list(_validator(json.dumps(content["schema"])).iter_errors(reply.json())) == []


@cache
def _validator(schema: str) -> jsonschema_rs.Draft202012Validator:
    described = {**json.loads(schema), "components": document()["components"]}
    return jsonschema_rs.Draft202012Validator(described, validate_formats=True)
