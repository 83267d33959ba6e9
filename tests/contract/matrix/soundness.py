"""What holds for any reply whatever: documented, finite, as its schema says, and never a failure."""

import json
import re
from functools import cache
from typing import Any, Final

import httpx
import jsonschema_rs

from service.app import app
from tests.client import Client
from tests.document.reading import operations
from tests.sheets.reading import pdf_pages

JSON: Final = "application/json"
PROBLEM: Final = "application/problem+json"
PDF: Final = "application/pdf"
BATCH: Final = "/v1/batch"

NOT_FINITE: Final = re.compile(r"(?<![\w-])[-+]?(?:nan|inf|infinity)(?![\w-])", re.IGNORECASE)
"""As a number that is none is printed; requests name nothing so."""


@cache
def document() -> Any:
    return Client(app).get("/openapi.json").json()


def offered(path: str, method: str = "post") -> list[str]:
    """The media types in which an operation answers."""
    return list(responses(path, method)["200"]["content"])


@cache
def responses(path: str, method: str = "post") -> dict[str, Any]:
    """The replies of an operation, by status."""
    [found] = [each for each in operations(document()) if (each.path, each.method) == (path, method)]
    described: dict[str, Any] = found.operation["responses"]
    return described


def assert_sound(path: str, method: str, reply: httpx.Response, *, reading: bool = True) -> None:
    """Hold a reply to its description.

    Parameters
    ----------
    path : str
        Of the operation.
    method : str
        Of the request, in lower case.
    reply : httpx.Response
        What came back.
    reading : bool
        Whether a PDF is read back, which takes longer than to write it.
    """
    assert reply.status_code < 500, reply.text
    described = responses(path, method)
    assert str(reply.status_code) in described, reply.text
    assert reply.headers["x-request-id"]
    media_type = reply.headers["content-type"].partition(";")[0]
    assert (media_type == PROBLEM) == (reply.status_code != 200), media_type
    schema = described[str(reply.status_code)]["content"][media_type]["schema"]
    if media_type in (JSON, PROBLEM):
        value = json.loads(reply.content, parse_constant=_refuse)
        assert_fits(schema, value)
        if media_type == PROBLEM:
            assert value["status"] == reply.status_code
        if path == BATCH and reply.status_code == 200:
            _assert_items_sound(value)
        return
    if media_type != PDF:
        assert not NOT_FINITE.search(reply.content.decode()), NOT_FINITE.search(reply.text)
    else:
        assert reply.content.startswith(b"%PDF-")
        assert not reading or not NOT_FINITE.search("\n".join(pdf_pages(reply.content)))


def _refuse(constant: str) -> None:
    message = f"{constant} in a reply"
    raise AssertionError(message)


def assert_fits(schema: Any, value: Any) -> None:
    """A value fits its schema: null is no number, and so infinity is none either."""
    mistakes = [
        (error.instance_path, error.message[:200])
        for error in _validator(json.dumps(schema)).iter_errors(value)
    ]
    assert not mistakes


def _assert_items_sound(reply: Any) -> None:
    for item in reply["items"]:
        described = responses(f"/v1/{item['study']}")
        if item["outcome"] == "answered":
            assert_fits(described["200"]["content"][JSON]["schema"], item["answer"])
        else:
            assert_fits(described["400"]["content"][PROBLEM]["schema"], item["problem"])
            assert item["problem"]["status"] < 500, item


@cache
def _validator(schema: str) -> jsonschema_rs.Draft202012Validator:
    described = {**json.loads(schema), "components": document()["components"]}
    return jsonschema_rs.Draft202012Validator(described, validate_formats=True)
