"""The contract says of keys what the gate does."""

from typing import Any, Final

import pytest

from service.document.responses import SCHEMES, SECURITY
from tests.access.gates import BROWSER_KEY, bearing, gated, opened
from tests.client import Client
from tests.document.reading import operations

ELSEWHERE: Final = {"Host": "elsewhere.example"}


@pytest.fixture(scope="module")
def document() -> Any:
    return opened().get("/openapi.json").json()


def test_a_key_is_shown_as_bearer_and_optional(document: Any) -> None:
    # OpenAPI 3.1.1, "Security Requirement Object": an empty one makes the others optional.
    assert document["components"]["securitySchemes"] == SCHEMES
    assert (SCHEMES["key"]["type"], SCHEMES["key"]["scheme"]) == ("http", "bearer")
    assert document["security"] == SECURITY == [{}, {"key": []}]


@pytest.mark.parametrize(
    ("status", "headers"), [(401, {}), (403, bearing(BROWSER_KEY)), (421, ELSEWHERE)], ids=str
)
def test_every_operation_names_the_refusals_of_the_gate_that_it_can_meet(
    document: Any, keyed: Client, status: int, headers: dict[str, str]
) -> None:
    service = opened(allowed_hosts=("lamp.example",)) if status == 421 else keyed
    for found in operations(document):
        refused = service.request(found.method.upper(), found.path, headers=headers).status_code == status
        assert refused == (str(status) in found.operation["responses"]), found.label


def test_a_refusal_for_want_of_a_key_names_its_challenge(document: Any) -> None:
    for found in operations(document):
        if "401" in found.operation["responses"]:
            assert "WWW-Authenticate" in found.operation["responses"]["401"]["headers"]


def test_the_contract_is_the_same_with_keys_and_without(client: Client) -> None:
    assert gated().get("/openapi.json").content == client.get("/openapi.json").content
