"""Quotas of work over HTTP: whose they are, what they cost, what is said of them, and that none is lost.

The fields are those of draft-ietf-httpapi-ratelimit-headers-11; `item_of` reads the part of RFC 9651
(structured fields, sections 3.1 and 4.2) that they use, and nothing beside it.
"""

import re
from pathlib import Path
from typing import Any, Final

import httpx
import pytest

from service.access.price import WORK_OF_A_REQUEST, work_of_refusing, work_of_writing
from service.app import build
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.settings import KEYS, Settings
from service.studies import STUDIES
from tests.access.gates import (
    BROWSER_KEY,
    JOB,
    JSON,
    KEY,
    OTHER_BROWSER_KEY,
    OTHER_SHOP,
    RING,
    SHOP,
    Clock,
    bearing,
    entry,
)
from tests.client import Client

SECOND: Final = 1_000_000_000
PER_MINUTE: Final = 2 * MAXIMUM_REQUEST_WORK
DROP: Final = "/v1/voltage-drop"
CHART: Final = "/v1/drop-chart?conductor=14%20AWG&watts=60&volts=12&feet=75"
PROXY: Final = "10.0.0.1"
ISLAND: Final = (Path(__file__).parents[2] / "openapi/examples/voltage_drop_island.json").read_bytes()

_STRING: Final = r'"(?:[ !#-\[\]-~]|\\["\\])*"'
_KEY: Final = r"[a-z*][a-z0-9_.*-]*"
_ITEM: Final = re.compile(rf"({_STRING})((?:; *{_KEY}=-?[0-9]{{1,15}})*)")


@pytest.fixture
def clock() -> Clock:
    return Clock(5 * SECOND)


def metered(clock: Clock, **settings: Any) -> Any:
    return build(Settings(**({"work_per_minute": PER_MINUTE} | settings)), clock)


def drop(client: Client, **headers: str) -> httpx.Response:
    return client.post(DROP, content=JOB, headers=JSON | {k.replace("_", "-"): v for k, v in headers.items()})


def item_of(field: str) -> tuple[str, dict[str, int]]:
    """The one item of a list of a string with integer parameters."""
    match = _ITEM.fullmatch(field)
    assert match is not None, field
    pairs = [pair.strip().split("=") for pair in match[2].split(";")[1:]]
    return match[1][1:-1], {name: int(value) for name, value in pairs}


def left(reply: httpx.Response) -> int:
    name, parameters = item_of(reply.headers["ratelimit"])
    assert name == "work"
    return parameters["r"]


def spend_all(client: Client, **headers: str) -> httpx.Response:
    """Spend a quota, nearly all of it on what is no JSON; return the refusal of what comes then."""
    headers = {name.replace("_", "-"): value for name, value in headers.items()} | JSON
    for _ in range(20):
        reply = client.post(DROP, content=JOB, headers=headers)
        if reply.status_code == 429:
            return reply
        assert reply.status_code == 200
        size = min(1_048_576, (left(reply) - WORK_OF_A_REQUEST) * 50)
        client.post(DROP, content=b"[" + b" " * (size - 1), headers=headers)
    pytest.fail("nobody counted")


def test_on_loopback_nothing_is_counted_unless_the_operator_says_so() -> None:
    reply = drop(Client(build(Settings())))
    assert reply.status_code == 200
    assert not {"ratelimit", "ratelimit-policy"} & set(reply.headers)


def test_a_reply_says_what_is_left_and_of_what(clock: Clock) -> None:
    reply = drop(Client(metered(clock)))
    assert item_of(reply.headers["ratelimit-policy"]) == ("work", {"q": PER_MINUTE, "w": 60})
    name, said = item_of(reply.headers["ratelimit"])
    assert name == "work"
    assert 0 < said["r"] < PER_MINUTE - WORK_OF_A_REQUEST
    # The rest flows in at an even rate.
    assert said["t"] == -(-(PER_MINUTE - said["r"]) * 60 // PER_MINUTE)


def test_what_is_charged_is_what_was_spent_and_not_what_was_held(clock: Clock) -> None:
    client = Client(metered(clock))
    charges = {PER_MINUTE - left(drop(client)), left(drop(client)) - left(drop(client))}
    assert len(charges) == 1
    assert WORK_OF_A_REQUEST < charges.pop() < 1_000


def test_a_quota_fills_again_and_no_further(clock: Clock) -> None:
    client = Client(metered(clock))
    first = left(drop(client))
    clock.now += round((3_600) * SECOND)
    assert left(drop(client)) == first


def test_retry_after_is_true(clock: Clock) -> None:
    client = Client(metered(clock))
    refusal = spend_all(client)
    assert refusal.headers["content-type"] == "application/problem+json"
    assert refusal.json()["code"] == "quota-spent"
    wait = int(refusal.headers["retry-after"])
    assert 1 <= wait <= 60
    assert f"{wait} s" in refusal.json()["detail"]
    # It names no earlier moment than the end of the effective window (section 6 of the draft).
    assert item_of(refusal.headers["ratelimit"])[1]["t"] <= wait
    clock.now += round((wait) * SECOND)
    assert drop(client).status_code == 200


def test_who_does_not_wait_is_refused_again_but_not_shut_out(clock: Clock) -> None:
    client = Client(metered(clock))
    spend_all(client)
    for _ in range(50):
        again = drop(client)
        assert again.status_code == 429
    wait = int(again.headers["retry-after"])
    clock.now += round((wait) * SECOND)
    assert drop(client).status_code == 200


def test_callers_behind_a_trusted_proxy_have_a_quota_each(clock: Clock) -> None:
    client = Client(metered(clock, trusted_proxies=("10.0.0.0/8",)), PROXY)
    spend_all(client, X_Forwarded_For="198.51.100.7")
    assert drop(client, X_Forwarded_For="198.51.100.8").status_code == 200
    assert drop(client, X_Forwarded_For="198.51.100.7").status_code == 429
    assert drop(client, X_Forwarded_For="203.0.113.1, 198.51.100.7").status_code == 429


def test_a_forged_field_of_an_untrusted_peer_changes_nothing(clock: Clock) -> None:
    app = metered(clock, trusted_proxies=("10.0.0.0/8",))
    client = Client(app, "198.51.100.7")
    spend_all(client, X_Forwarded_For="192.0.2.1")
    assert drop(client, X_Forwarded_For="192.0.2.2").status_code == 429
    # Nor does it spend what the one has whose address was claimed.
    assert left(drop(Client(app, PROXY), X_Forwarded_For="192.0.2.1")) > PER_MINUTE - 1_000


def test_addresses_of_one_subscriber_share(clock: Clock) -> None:
    app = metered(clock)
    spend_all(Client(app, "2001:db8:0:1::1"))
    assert drop(Client(app, "2001:db8:0:1::2")).status_code == 429
    assert drop(Client(app, "2001:db8:0:2::1")).status_code == 200


def test_a_key_of_a_program_is_one_caller_wherever_it_asks_from(clock: Clock) -> None:
    app = metered(clock, access=KEYS, keys=RING + entry("night-shift", KEY + "2"))
    spend_all(Client(app, "198.51.100.7"), **bearing(KEY))
    assert drop(Client(app, "198.51.100.8"), **bearing(KEY)).status_code == 429
    assert drop(Client(app, "198.51.100.7"), **bearing(KEY + "2")).status_code == 200


def test_a_key_of_a_page_is_another_caller_at_each_address(clock: Clock) -> None:
    app = metered(clock, access=KEYS, keys=RING)
    page = bearing(BROWSER_KEY, Origin=SHOP)
    spend_all(Client(app, "198.51.100.7"), **page)
    assert drop(Client(app, "198.51.100.8"), **page).status_code == 200
    other = Client(app, "198.51.100.7").post(
        "/v1/reach", content=b"{}", headers=JSON | bearing(OTHER_BROWSER_KEY, Origin=OTHER_SHOP)
    )
    assert other.status_code == 400


def test_quotas_outlive_a_reading_of_the_keys(clock: Clock, tmp_path: Any, monkeypatch: Any) -> None:
    monkeypatch.setattr("service.access.keys.SECONDS_BETWEEN_LOOKS", 0.0)
    file = tmp_path / "keys.toml"
    file.write_text(RING, encoding="utf-8")
    client = Client(metered(clock, access=KEYS, keys_file=str(file)))
    spend_all(client, **bearing(KEY))
    file.write_text(entry("quoting-desk", KEY + "-new"), encoding="utf-8")
    assert drop(client, **bearing(KEY)).status_code == 401
    assert drop(client, **bearing(KEY + "-new")).status_code == 429


def test_who_shows_no_good_key_is_told_nothing_and_charged_nothing(clock: Clock) -> None:
    app = metered(clock, access=KEYS, keys=RING)
    client = Client(app, "198.51.100.7")
    spend_all(client, **bearing(BROWSER_KEY, Origin=SHOP))
    for refused in (drop(client), drop(client, **bearing("wrong")), drop(client, **bearing(BROWSER_KEY))):
        assert refused.status_code in (401, 403)
        assert not {"ratelimit", "ratelimit-policy", "retry-after"} & set(refused.headers)


@pytest.mark.parametrize(
    "path", ["/v1/units", "/v1/limits", "/health/live", "/openapi.json", "/docs", "/v1/none"]
)
def test_what_is_not_worked_out_is_free(clock: Clock, path: str) -> None:
    client = Client(metered(clock))
    spend_all(client)
    reply = client.get(path)
    assert reply.status_code in (200, 404)
    assert not {"ratelimit", "ratelimit-policy"} & set(reply.headers)


def test_a_chart_by_get_is_charged_but_says_nothing_that_a_cache_would_repeat(clock: Clock) -> None:
    client = Client(metered(clock))
    before = left(drop(client))
    reply = client.get(CHART)
    assert reply.status_code == 200
    assert "max-age" in reply.headers["cache-control"]
    assert not {"ratelimit", "ratelimit-policy"} & set(reply.headers)
    once = before - left(drop(client))
    # It is worked out before it is known that the copy is still good.
    assert client.get(CHART, headers={"If-None-Match": reply.headers["etag"]}).status_code == 304
    before = left(drop(client))
    client.request("HEAD", CHART)
    assert before - left(drop(client)) == once
    assert once > 2 * WORK_OF_A_REQUEST
    spend_all(client)
    refused = client.get(CHART)
    assert (refused.status_code, refused.headers["cache-control"]) == (429, "no-store")
    assert int(refused.headers["retry-after"]) >= 1
    assert not {"ratelimit", "ratelimit-policy"} & set(refused.headers)


def test_a_batch_is_charged_once_for_all_of_it(clock: Clock) -> None:
    client = Client(metered(clock))
    alone = PER_MINUTE - left(drop(client))
    item = b'{"study": "voltage-drop", "request": ' + JOB + b"}"
    before = left(drop(client))
    reply = client.post("/v1/batch", content=b'{"items": [' + b",".join([item] * 10) + b"]}", headers=JSON)
    assert reply.status_code == 200
    work = alone - WORK_OF_A_REQUEST
    assert 9 * work <= before - left(reply) - WORK_OF_A_REQUEST <= 11 * work


@pytest.mark.parametrize(
    ("body", "headers", "status"),
    [
        (b"", JSON, 400),
        (b"{", JSON, 400),
        (b"{}", JSON, 400),
        (JOB, {"Content-Type": "text/plain"}, 415),
        (JOB, JSON | {"Accept": "text/css"}, 406),
        (ISLAND, JSON, 422),
    ],
)
def test_a_refusal_is_not_free(clock: Clock, body: bytes, headers: dict[str, str], status: int) -> None:
    client = Client(metered(clock))
    reply = client.post(DROP, content=body, headers=headers)
    assert reply.status_code == status
    assert left(reply) <= PER_MINUTE - WORK_OF_A_REQUEST


def test_what_cannot_be_read_costs_by_its_bytes(clock: Clock) -> None:
    client = Client(metered(clock, work_per_minute=20 * MAXIMUM_REQUEST_WORK))
    before = left(drop(client))
    hostile = b'{"wiring":{"form":"spans","spans":[],"fixtures":[' + b",".join([b"{}"] * 100_000) + b"]}}"
    reply = client.post(DROP, content=hostile, headers=JSON)
    assert reply.status_code == 400
    assert before - left(reply) >= work_of_refusing(len(hostile))


def test_pages_may_read_the_fields(clock: Clock) -> None:
    client = Client(metered(clock, allowed_origins=(SHOP,)))
    for reply in (drop(client, Origin=SHOP), spend_all(client, Origin=SHOP)):
        assert reply.headers["access-control-allow-origin"] == SHOP
        exposed = reply.headers["access-control-expose-headers"].split(", ")
        assert {"RateLimit", "RateLimit-Policy", "Retry-After"} <= set(exposed)


def test_an_answer_that_fails_is_charged_and_releases_what_it_held(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = Client(metered(clock))

    def fail(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr("service.studies.voltage_drop.reply_of", fail)
    replies = [drop(client) for _ in range(5)]
    assert [reply.status_code for reply in replies] == [500] * 5
    assert PER_MINUTE - 5_000 < left(replies[-1]) < left(replies[0])


@pytest.mark.parametrize("name", sorted(STUDIES))
def test_every_form_of_every_study_has_a_price(name: str) -> None:
    prices = [work_of_writing(media_type, 20_000) for media_type in STUDIES[name].offered]
    assert prices[0] == min(prices)
    assert max(prices) == work_of_writing("application/pdf", 20_000)


def test_a_document_costs_more_than_its_page_and_that_more_than_its_json(clock: Clock) -> None:
    client = Client(metered(clock))
    replies = [drop(client, Accept=form) for form in ("application/json", "text/html", "application/pdf")]
    spent = [PER_MINUTE - left(reply) for reply in replies]
    assert spent[0] < spent[1] - spent[0] < spent[2] - spent[1]
    assert spent[2] - spent[1] > 2_500


def test_an_item_of_a_batch_that_cannot_be_read_costs_by_its_bytes(clock: Clock) -> None:
    client = Client(metered(clock))
    hostile = b'{"x":[' + b",".join([b"1"] * 20_000) + b"]}"
    item = b'{"study": "reach", "request": ' + hostile + b"}"
    reply = client.post("/v1/batch", content=b'{"items": [' + item + b"]}", headers=JSON)
    assert reply.status_code == 200
    assert PER_MINUTE - left(reply) >= work_of_refusing(len(hostile))
