"""A key per request: RFC 6750 (Bearer), RFC 9110 section 11 (authentication) and 15.5.2 (401)."""

import re
from typing import Any, Final

import pytest

from service.app import app
from tests.access.gates import BROWSER_KEY, JOB, JSON, KEY, SHOP, bearing, hashed
from tests.client import Client

# RFC 6750, section 3: the scheme, then parameters; a b64token stands nowhere in a challenge.
CHALLENGE: Final = re.compile(r'Bearer realm="[a-z]+"(, error="(invalid_token|insufficient_scope)")?')

_FRAMEWORK: Final[Any] = app.application
KEYED: Final = sorted(
    (method, route.path)
    for route in _FRAMEWORK.routes
    for method in route.methods
    if route.path.startswith("/v1/")
)
FREE: Final = ["/health/live", "/health/ready", "/openapi.json", "/docs", "/docs/page.css"]


@pytest.mark.parametrize(("method", "path"), KEYED)
def test_every_method_of_every_address_wants_a_key(keyed: Client, method: str, path: str) -> None:
    reply = keyed.request(method, path, content=JOB, headers=JSON)
    assert (reply.status_code, reply.json()["code"]) == (401, "key-missing")
    assert CHALLENGE.fullmatch(reply.headers["www-authenticate"])


@pytest.mark.parametrize(("method", "path"), KEYED)
def test_every_method_of_every_address_answers_who_shows_a_key(keyed: Client, method: str, path: str) -> None:
    assert keyed.request(method, path, headers=bearing(KEY)).status_code not in (401, 403)


@pytest.mark.parametrize("path", FREE)
def test_the_contract_its_page_and_health_want_none(keyed: Client, path: str) -> None:
    assert keyed.get(path).status_code == 200
    assert keyed.request("HEAD", path).status_code == 200


@pytest.mark.parametrize("path", ["/v1/nothing", "/v1", "/v2/reach", "/nothing", "/metrics", "/.env"])
def test_not_even_a_404_tells_what_there_is(keyed: Client, path: str) -> None:
    assert keyed.get(path).status_code == 401
    assert keyed.get(path, headers=bearing(KEY)).status_code == 404


@pytest.mark.parametrize("method", ["HEAD", "OPTIONS", "DELETE", "TRACE", "CONNECT", "get"])
def test_no_method_goes_round_the_gate(keyed: Client, method: str) -> None:
    assert keyed.request(method, "/v1/conductors").status_code == 401


def test_a_refusal_carries_what_every_reply_carries(keyed: Client) -> None:
    reply = keyed.get("/v1/units", headers={"X-Request-ID": "quote-12"})
    assert reply.headers["content-type"] == "application/problem+json"
    assert reply.headers["x-request-id"] == reply.json()["request_id"] == "quote-12"
    assert reply.headers["x-content-type-options"] == "nosniff"
    assert reply.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "value",
    [
        "",
        "Basic cXVvdGluZzprZXk=",
        KEY,
        f"Bearer{KEY}",
        f"Token {KEY}",
        f"bearerx {KEY}",
    ],
)
def test_what_is_no_bearer_key_is_a_missing_one(keyed: Client, value: str) -> None:
    # RFC 6750, section 3.1: without authentication information the challenge has no error code.
    reply = keyed.get("/v1/units", headers={"Authorization": value})
    assert (reply.status_code, reply.json()["code"]) == (401, "key-missing")
    assert "error" not in reply.headers["www-authenticate"]


@pytest.mark.parametrize(
    "value",
    [
        "Bearer",
        "Bearer ",
        "Bearer guess",
        f"Bearer {KEY} {KEY}",
        f"Bearer {KEY},Bearer {KEY}",
        f"Bearer {KEY[:-1]}",
        f"Bearer {KEY}x",
        f"Bearer {KEY.upper()}",
        f'Bearer "{KEY}"',
        f"Bearer {KEY}=",
        "Bearer \u00e9",
        "Bearer " + "a" * 10_000,
        f"Bearer\t{KEY}",
    ],
)
def test_a_key_that_is_not_good_is_refused_as_that(keyed: Client, value: str) -> None:
    reply = keyed.get("/v1/units", headers={"Authorization": value.encode("latin-1")})
    assert (reply.status_code, reply.json()["code"]) == (401, "key-unknown")
    assert 'error="invalid_token"' in reply.headers["www-authenticate"]


@pytest.mark.parametrize("scheme", ["Bearer", "bearer", "BEARER", "Bearer  "])
def test_the_scheme_stands_in_any_case(keyed: Client, scheme: str) -> None:
    # RFC 9110, section 11.1: the scheme is compared without regard to case; section 11.4: 1*SP after it.
    assert keyed.get("/v1/units", headers={"Authorization": f"{scheme} {KEY}"}).status_code == 200


def test_two_headers_are_refused_even_if_one_is_good(keyed: Client) -> None:
    # RFC 6750, section 3.1: more than one method for including a token; which would count is anybody's guess.
    headers: Any = [("Authorization", f"Bearer {KEY}"), ("Authorization", "Bearer guess")]
    assert keyed.get("/v1/units", headers=headers).status_code == 401
    assert keyed.get("/v1/units", headers=headers[::-1]).status_code == 401


def test_a_key_in_the_address_is_not_looked_at(keyed: Client) -> None:
    # RFC 6750, section 2.3: tokens in addresses end up in logs, so they are not read there.
    assert keyed.get(f"/v1/units?access_token={KEY}").status_code == 401


def test_the_hash_of_a_key_is_no_key(keyed: Client) -> None:
    assert keyed.get("/v1/units", headers=bearing(hashed(KEY))).status_code == 401


def test_an_answer_behind_a_key_is_not_for_caches_that_others_share(keyed: Client) -> None:
    # RFC 9111, section 3.5: `public` would let a shared cache answer those without a key.
    for path in ("/v1/units", "/v1/drop-chart?conductor=14%20AWG&watts=60&volts=12&feet=75"):
        reply = keyed.get(path, headers=bearing(KEY))
        assert reply.headers["cache-control"] == "private, max-age=300"
    assert "public" in keyed.get("/openapi.json").headers["cache-control"]


PATHS: Final = [
    "//v1/units", "/v1//units", "/v1/units/", "//v1//units//", "/%76%31/units", "/v1/%75nits", "/v1%2funits",
    "/docs/../v1/units", "/docs/%2e%2e/v1/units", "/health/../v1/units", "/./v1/units", "/v1/units;a=1",
    "/embed/../v1/units", "/embed//../../v1/units", "/docs//v1/units", "/V1/units", "/v1/units%00",
    "/docs%2f..%2fv1/units", "/openapi.json/../v1/units", "/v1\\units", "/v1/units?/docs", "/v1/units%3f/x",
]  # fmt: skip


@pytest.mark.parametrize("path", PATHS)
def test_no_spelling_of_a_path_goes_round_the_gate(keyed: Client, path: str) -> None:
    assert keyed.get(path).status_code in (401, 404)
    as_page = bearing(BROWSER_KEY, Origin=SHOP)
    assert keyed.post(path.replace("units", "batch"), content=b"{}", headers=as_page | JSON).status_code in (
        401,
        403,
        404,
        405,
    )


def test_an_open_service_does_not_look_at_keys(client: Client) -> None:
    assert client.get("/v1/units", headers=bearing("whatever")).status_code == 200
