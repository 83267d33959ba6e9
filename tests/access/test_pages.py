"""Pages: keys for browsers, and the CORS protocol of the Fetch standard."""

from typing import Any, Final

import pytest

from service.observability.logs import configure
from tests.access.gates import (
    BROWSER_KEY,
    JOB,
    JSON,
    KEY,
    OTHER_BROWSER_KEY,
    OTHER_SHOP,
    SHOP,
    bearing,
    gated,
    opened,
)
from tests.client import Client

ALLOW: Final = "access-control-allow-origin"
CATALOGUES: Final = ("conductors", "units", "findings", "assumptions", "sources", "problems", "limits")


def preflight(client: Client, path: str, origin: str, **more: str) -> Any:
    """What a browser sends before a POST of JSON (Fetch standard, section "CORS-preflight fetch")."""
    headers = {
        "Origin": origin,
        "Access-Control-Request-Method": "POST",
        "Access-Control-Request-Headers": "authorization,content-type",
    }
    headers |= {name.replace("_", "-"): value for name, value in more.items()}
    return client.request("OPTIONS", path, headers=headers)


def varied(reply: Any) -> set[str]:
    return set(reply.headers.get("vary", "").split(", ")) - {""}


def test_a_page_asks_the_study_that_its_key_lists(keyed: Client) -> None:
    reply = keyed.post("/v1/voltage-drop", content=JOB, headers=bearing(BROWSER_KEY, Origin=SHOP) | JSON)
    assert reply.status_code == 200
    assert reply.headers[ALLOW] == SHOP


@pytest.mark.parametrize("name", CATALOGUES)
def test_a_page_reads_every_catalogue(keyed: Client, name: str) -> None:
    assert keyed.get(f"/v1/{name}", headers=bearing(BROWSER_KEY, Origin=SHOP)).status_code == 200


@pytest.mark.parametrize("path", ["/v1/batch", "/v1/reach", "/v1/drop-chart", "/v1/no", "/v1", "/metrics"])
def test_a_page_asks_nothing_else(keyed: Client, path: str) -> None:
    reply = keyed.post(path, content=b"{}", headers=bearing(BROWSER_KEY, Origin=SHOP) | JSON)
    assert (reply.status_code, reply.json()["code"]) == (403, "study-not-allowed")
    assert 'error="insufficient_scope"' in reply.headers["www-authenticate"]  # RFC 6750, section 3.1
    assert reply.headers[ALLOW] == SHOP


@pytest.mark.parametrize(
    "origin",
    [
        OTHER_SHOP,
        "null",
        "",
        "https://fernhill.example.evil.example",
        "http://fernhill.example",
        "https://fernhill.example:8443",
        "https://FERNHILL.example",
        "https://fernhill.example/",
        "https://www.fernhill.example",
        "https://fernhill.example, https://evil.example",
        "*",
    ],
)
def test_a_key_for_pages_works_from_no_other_origin(keyed: Client, origin: str) -> None:
    reply = keyed.get("/v1/units", headers=bearing(BROWSER_KEY, Origin=origin))
    assert (reply.status_code, reply.json()["code"]) == (403, "origin-not-allowed")


@pytest.mark.parametrize("origin", [OTHER_SHOP, "null", "http://localhost:8000", "http://[::1]:8000"])
def test_the_origin_that_is_refused_is_told_as_it_was_sent(keyed: Client, origin: str) -> None:
    read = keyed.get("/v1/units", headers=bearing(BROWSER_KEY, Origin=origin)).json()["detail"]
    assert f"comes from {origin}, which is none of theirs." in read
    unlisted = "http://localhost:8001" if origin == OTHER_SHOP else origin
    asked_before = preflight(keyed, "/v1/voltage-drop", unlisted).json()["detail"]
    assert asked_before == f"Pages of {unlisted} may not read what is answered here."


@pytest.mark.parametrize(
    "origin",
    ["https://<b>.example", "https://a.example b", "https://" + "a" * 260, "fern:8000", KEY, "<script>"],
)
def test_an_origin_that_no_browser_writes_is_not_repeated(keyed: Client, origin: str) -> None:
    refused = keyed.get("/v1/units", headers=bearing(BROWSER_KEY, Origin=origin))
    asked_before = preflight(keyed, "/v1/voltage-drop", origin)
    assert (refused.status_code, asked_before.status_code) == (403, 403)
    assert origin not in refused.text + asked_before.text
    assert "Pages of this origin may not" in asked_before.text


def test_the_log_line_names_the_origin_that_is_refused_and_no_other(keyed: Client, lines: Any) -> None:
    configure("info")
    keyed.get("/v1/units", headers=bearing(BROWSER_KEY, Origin=SHOP))
    keyed.get("/v1/units", headers=bearing(BROWSER_KEY, Origin=OTHER_SHOP))
    preflight(keyed, "/v1/units", "http://localhost:8000")
    keyed.get("/v1/units", headers=bearing(BROWSER_KEY, Origin="<script>"))
    assert [line.get("origin") for line in lines()] == [None, OTHER_SHOP, "http://localhost:8000", None]


def test_a_key_for_pages_works_for_no_program_that_names_no_origin(keyed: Client) -> None:
    assert keyed.get("/v1/units", headers=bearing(BROWSER_KEY)).status_code == 403


def test_a_key_for_pages_does_not_work_with_two_origins(keyed: Client) -> None:
    headers: Any = [("Authorization", f"Bearer {BROWSER_KEY}"), ("Origin", SHOP), ("Origin", OTHER_SHOP)]
    assert keyed.get("/v1/units", headers=headers).status_code == 403


def test_the_page_of_one_shop_cannot_use_the_key_of_another(keyed: Client) -> None:
    assert keyed.get("/v1/units", headers=bearing(OTHER_BROWSER_KEY, Origin=SHOP)).status_code == 403


def test_a_preflight_is_answered_without_a_key(keyed: Client) -> None:
    # Fetch standard, "CORS-preflight fetch": the request has no credentials; any ok status will do.
    reply = preflight(keyed, "/v1/voltage-drop", SHOP)
    assert (reply.status_code, reply.content) == (204, b"")
    assert reply.headers[ALLOW] == SHOP
    allowed = reply.headers["access-control-allow-headers"].lower().split(", ")
    assert {"authorization", "content-type", "if-none-match", "x-request-id"} <= set(allowed)
    assert "POST" in reply.headers["access-control-allow-methods"].split(", ")
    assert int(reply.headers["access-control-max-age"]) == 7200
    assert "Origin" in varied(reply)


def test_credentials_of_the_browser_are_never_asked_for(keyed: Client) -> None:
    # A key travels in a header that the page sets; cookies of the browser are nobody's business here.
    assert "access-control-allow-credentials" not in preflight(keyed, "/v1/voltage-drop", SHOP).headers


def test_access_to_a_private_network_is_never_granted(keyed: Client) -> None:
    # Draft "Private Network Access" of the WICG: without the reply header the browser does not go on.
    reply = preflight(keyed, "/v1/voltage-drop", SHOP, Access_Control_Request_Private_Network="true")
    assert "access-control-allow-private-network" not in reply.headers


@pytest.mark.parametrize("origin", ["null", "https://evil.example", "*"])
def test_a_preflight_from_an_unlisted_origin_is_refused(keyed: Client, client: Client, origin: str) -> None:
    for service in (keyed, client, opened(allowed_origins=(SHOP,))):
        reply = preflight(service, "/v1/voltage-drop", origin)
        assert (reply.status_code, reply.json()["code"]) == (403, "origin-not-allowed")
        assert ALLOW not in reply.headers


def test_options_that_is_no_preflight_wants_a_key(keyed: Client) -> None:
    assert keyed.request("OPTIONS", "/v1/drop-chart").status_code == 401
    assert keyed.request("OPTIONS", "/v1/drop-chart", headers={"Origin": SHOP}).status_code == 401
    reply = keyed.request("OPTIONS", "/v1/drop-chart", headers=bearing(KEY))
    assert (reply.status_code, reply.headers["allow"]) == (204, "GET, HEAD, OPTIONS, POST")


def test_a_listed_page_can_read_every_refusal(keyed: Client) -> None:
    asked = [
        (401, {"Origin": SHOP}),
        (401, bearing("guess", Origin=SHOP)),
        (415, bearing(KEY, Origin=SHOP)),
        (400, bearing(KEY, Origin=SHOP) | JSON),
    ]
    for status, headers in asked:
        reply = keyed.post("/v1/voltage-drop", content=b"{", headers=headers)
        assert (reply.status_code, reply.headers[ALLOW]) == (status, SHOP)
    assert keyed.get("/v1/nothing", headers=bearing(KEY, Origin=SHOP)).headers[ALLOW] == SHOP


def test_a_page_reads_the_id_the_tag_and_how_long_to_wait(keyed: Client) -> None:
    # Fetch standard: of the others only the CORS-safelisted response-header names are shown to pages.
    reply = keyed.get("/v1/units", headers=bearing(BROWSER_KEY, Origin=SHOP))
    assert reply.headers["access-control-expose-headers"] == (
        "Deprecation, ETag, Link, RateLimit, RateLimit-Policy, Retry-After, Sunset, X-Request-ID"
    )


@pytest.mark.parametrize("origin", [None, SHOP, "https://evil.example"])
def test_caches_are_told_that_replies_differ_by_origin(keyed: Client, origin: str | None) -> None:
    # Fetch standard, "CORS protocol and HTTP caches": Vary stands there even when no origin was sent.
    headers = bearing(KEY) | ({"Origin": origin} if origin else {})
    assert varied(keyed.get("/v1/units", headers=headers)) == {"Origin"}
    chart = keyed.get("/v1/drop-chart?conductor=14%20AWG&watts=60&volts=12&feet=75", headers=headers)
    assert chart.headers.get_list("vary") == ["Accept, Origin"]


def test_a_reply_to_an_unlisted_page_is_kept_from_it(keyed: Client) -> None:
    reply = keyed.get("/v1/units", headers=bearing(KEY, Origin="https://evil.example"))
    assert reply.status_code == 200
    assert ALLOW not in reply.headers


def test_an_open_service_lets_listed_pages_read() -> None:
    service = opened(allowed_origins=(SHOP,))
    reply = service.post("/v1/voltage-drop", content=JOB, headers={"Origin": SHOP} | JSON)
    assert (reply.status_code, reply.headers[ALLOW]) == (200, SHOP)
    assert varied(service.get("/v1/units")) == {"Origin"}
    assert ALLOW not in service.get("/v1/units", headers={"Origin": OTHER_SHOP}).headers


def test_a_service_that_lists_no_origin_varies_by_none(client: Client) -> None:
    reply = client.get("/v1/units", headers={"Origin": SHOP})
    assert ALLOW not in reply.headers
    assert varied(reply) == set()


def test_embedded_files_are_for_every_page(keyed: Client) -> None:
    reply = keyed.get("/embed/nothing-of-this-name.js", headers={"Origin": "https://anybody.example"})
    assert (reply.status_code, reply.headers[ALLOW]) == (404, "*")
    assert preflight(keyed, "/embed/nothing.js", "null").status_code == 204


def test_an_unforeseen_error_can_be_read_by_the_page_as_well(monkeypatch: pytest.MonkeyPatch) -> None:
    service = gated()
    # No request makes the application fail, so it is replaced where the gate hands over to it.
    envelope: Any = service._transport.app  # noqa: SLF001  # nothing public leads from a client to its gate

    async def failing(*_: Any) -> None:
        raise RuntimeError

    monkeypatch.setattr(envelope._entrance, "_application", failing)  # noqa: SLF001  # nothing else puts a failing application there
    reply = service.get("/v1/units", headers=bearing(BROWSER_KEY, Origin=SHOP))
    assert (reply.status_code, reply.headers[ALLOW]) == (500, SHOP)
    assert varied(reply) == {"Origin"}
