import asyncio
import json
from typing import Any

import pytest
from litestar import Litestar, get

from service.app import app
from service.document import Document, document_bytes
from service.document.schemas import DocumentError
from service.problems import CATALOGUE
from tests.client import Client
from tests.document.reading import operations


def test_every_route_is_described_and_nothing_else_is(document: Any) -> None:
    framework: Any = app.application
    routed = {
        (route.path, method.lower())
        for route in framework.routes
        for method in route.methods
        # The framework adds OPTIONS to every path; a page is no part of the contract.
        if method != "OPTIONS"
        and route.path != "/"
        and not route.path.startswith(("/docs", "/embed", "/llms.txt", "/schemas"))
    }
    assert {(found.path, found.method) for found in operations(document)} == routed


@get("/undescribed", sync_to_thread=False)
def undescribed() -> None:
    """Do nothing."""


def test_a_route_without_a_description_keeps_the_document_from_being_written() -> None:

    with pytest.raises(DocumentError, match="GET /undescribed is not described"):
        asyncio.run(Document(Litestar([undescribed], openapi_config=None)).text())


def test_the_served_document_is_the_printed_one(document_text: bytes, client: Client) -> None:
    reply = client.get("/openapi.json")
    assert reply.headers["content-type"] == "application/json"
    assert reply.content == document_text == client.get("/openapi.json").content


def test_writing_the_document_twice_gives_the_same_bytes(document_text: bytes) -> None:
    assert document_bytes(app) == document_text


def test_writing_the_document_writes_no_log_line(capfd: pytest.CaptureFixture[str]) -> None:
    # The document is printed to the stream to which log lines go.
    document_bytes(app)
    assert capfd.readouterr().out == ""


def test_every_operation_says_what_it_is_for(document: Any) -> None:
    tags = {tag["name"] for tag in document["tags"]}
    for found in operations(document):
        assert found.operation["summary"]
        assert len(found.operation["description"]) > len(found.operation["summary"])
        assert set(found.operation["tags"]) <= tags
        assert {"$ref": "#/components/parameters/X-Request-ID"} in found.operation["parameters"]


def test_every_reply_has_a_request_id(document: Any) -> None:
    for found in operations(document):
        for response in found.operation["responses"].values():
            assert "X-Request-ID" in response["headers"]


def test_every_refused_method_is_told_which_are_taken(document: Any) -> None:
    for found in operations(document):
        assert "Allow" in found.operation["responses"]["405"]["headers"], found.label


def test_what_is_left_of_a_quota_is_said_of_calculations_by_post_and_of_nothing_that_may_be_kept(
    document: Any,
) -> None:
    said = {"RateLimit", "RateLimit-Policy"}
    for found in operations(document):
        responses = found.operation["responses"]
        counted = {status for status, each in responses.items() if said <= each.get("headers", {}).keys()}
        some = {status for status, each in responses.items() if said & each.get("headers", {}).keys()}
        assert counted == some
        is_calculation = found.method == "post"
        assert counted == (responses.keys() - {"401", "403", "405", "421"} if is_calculation else set())
        words = responses.get("429", {}).get("description", "")
        is_worked_out = is_calculation or found.path == "/v1/drop-chart"
        assert ("`quota-spent`" in words, "`heavy-in-progress`" in words) == (is_worked_out, is_worked_out)


def test_every_calculation_may_refuse_a_body_in_every_way_a_body_can_be_wrong(document: Any) -> None:
    for found in operations(document):
        if "requestBody" in found.operation:
            # A batch tells of what cannot be wired in the place of the item, not of the whole.
            wired = set() if found.path == "/v1/batch" else {"422"}
            assert found.operation["responses"].keys() >= {"200", "400", "406", "413", "415", "500"} | wired


def test_every_kind_of_problem_is_documented_somewhere(document: Any) -> None:
    words = json.dumps([found.operation["responses"] for found in operations(document)])
    # No operation can answer that its own address is unknown, and what never reaches an operation, because it
    # is not whole or because the proxy answers for it, is none of its answers.
    unsaid = {
        "not-found",
        "malformed-http",
        "request-timeout",
        "head-too-large",
        "expectation-failed",
        "coding-not-supported",
        "version-not-supported",
        "no-instance",
        "no-answer-in-time",
    }
    assert {code for code in CATALOGUE if f"`{code}`" not in words} == unsaid


def test_cautions_stand_in_the_description(document: Any) -> None:
    words = document["info"]["description"]
    for caution in ("isolate it before cutting", "burn", "licensed electrician", "meter"):
        assert caution in words


def test_a_client_that_has_the_document_is_only_told_so(document: Any, client: Client) -> None:
    tag = client.get("/openapi.json").headers["etag"]
    again = client.get("/openapi.json", headers={"If-None-Match": tag})
    assert (again.status_code, again.content) == (304, b"")
    [found] = [each for each in operations(document) if each.path == "/openapi.json"]
    assert set(found.operation["responses"]["304"]["headers"]) <= {
        "Cache-Control",
        "ETag",
        "X-Request-ID",
    }
