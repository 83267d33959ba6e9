"""Paths and methods: what is not there, what a path takes, HEAD, OPTIONS (RFC 9110, sections 9 and 15.5)."""

from typing import Final

import pytest

from tests.client import Client
from tests.contract.matrix.soundness import document
from tests.document.reading import operations
from tests.fuzz.asking import JSON

TAKEN: Final[dict[str, set[str]]] = {}
for _found in operations(document()):
    TAKEN.setdefault(_found.path, set()).add(_found.method.upper())

METHODS: Final = ("GET", "POST", "PUT", "PATCH", "DELETE", "TRACE")
REFUSED: Final = [(path, method) for path in TAKEN for method in METHODS if method not in TAKEN[path]]

each_path = pytest.mark.parametrize("path", TAKEN)


def allowed(path: str) -> set[str]:
    return TAKEN[path] | {"OPTIONS"} | ({"HEAD"} if "GET" in TAKEN[path] else set())


@pytest.mark.parametrize(("path", "method"), REFUSED)
def test_method_that_a_path_does_not_take_is_refused_with_those_it_takes(
    client: Client, path: str, method: str
) -> None:
    reply = client.request(method, path)
    assert (reply.status_code, reply.json()["code"]) == (405, "method-not-allowed")
    assert set(reply.headers["allow"].split(", ")) == allowed(path)
    assert reply.headers["content-type"] == "application/problem+json"


@each_path
def test_options_lists_the_methods_without_a_body(client: Client, path: str) -> None:
    reply = client.request("OPTIONS", path)
    assert (reply.status_code, reply.content) == (204, b"")
    assert "content-length" not in reply.headers
    assert set(reply.headers["allow"].split(", ")) == allowed(path)


@each_path
def test_head_says_what_get_would_without_the_body(client: Client, path: str) -> None:
    # Uncompressed, since the client shows what came compressed in its full length.
    fields = {"x-request-id": "a", "accept-encoding": "identity"}
    reply, got = (client.request(method, path, headers=fields) for method in ("HEAD", "GET"))
    assert (reply.status_code, reply.content) == (got.status_code, b"")
    assert reply.headers.multi_items() == got.headers.multi_items()
    assert reply.headers["content-length"] == str(len(got.content))


PATHS_THAT_ARE_NOT: Final = [
    "/v1", "/v1/", "/v2/voltage-drop", "/v1/voltage_drop", "/v1/voltage-drop/1", "/V1/voltage-drop",
    "/v1/voltage-drop%00", "/v1/%2e%2e/openapi.json", "/v1//voltage-drop/x", "/problems", "/openapi.yaml",
    "/v1/voltage-drop;a=1", "/docs/../openapi", "/favicon.ico", "/.env",
]  # fmt: skip


@pytest.mark.parametrize("path", PATHS_THAT_ARE_NOT)
@pytest.mark.parametrize("method", ["GET", "POST", "DELETE"])
def test_path_that_is_not_there_is_a_problem(client: Client, path: str, method: str) -> None:
    reply = client.request(method, path)
    assert (reply.status_code, reply.json()["code"]) == (404, "not-found")
    assert reply.headers["content-type"] == "application/problem+json"
    assert reply.json()["request_id"] == reply.headers["x-request-id"]


def test_path_that_is_not_there_is_not_repeated(client: Client) -> None:
    assert "swordfish" not in client.get("/v1/swordfish").text


def test_head_of_a_path_that_is_not_there_has_no_body(client: Client) -> None:
    reply = client.request("HEAD", "/v1/nothing")
    assert (reply.status_code, reply.content) == (404, b"")


def test_query_string_of_a_calculation_changes_nothing(client: Client) -> None:
    with_query = client.post("/v1/voltage-drop?verbose=1", content=b"{}", headers=JSON)
    without = client.post("/v1/voltage-drop", content=b"{}", headers=JSON)
    assert with_query.status_code == without.status_code == 400
    assert with_query.json()["errors"] == without.json()["errors"]


@each_path
def test_every_reply_has_an_id_and_cannot_be_sniffed_or_framed(client: Client, path: str) -> None:
    for method in ("GET", "POST", "HEAD", "OPTIONS", "DELETE"):
        headers = client.request(method, path, headers={"x-request-id": "quote-4711"}).headers
        assert headers["x-request-id"] == "quote-4711"
        assert headers["x-content-type-options"] == "nosniff"
        assert "frame-ancestors 'none'" in headers["content-security-policy"]
