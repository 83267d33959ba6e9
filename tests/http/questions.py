"""Questions to `POST /v1/reach`, strips, and wiring of which only the totals are known, shortly said."""

from typing import Any

from tests.client import Client
from tests.http.jobs import Json, dc_supply, metres, ohms_per_km, transformer, window

LUMPED: Json = {"kind": "lumped"}
EVENLY_SPREAD: Json = {"kind": "evenly-spread"}

ANY_DEVICE: list[Json] = [{"name": "a", "limit": {"value": 10_000, "unit": "A"}}]
"""Of a supply whose device is never the limit."""

DC_12_V = dc_supply(12.0)

AS_STATED: Json = {"range": "as-stated"}
"""Conditions under which the stated state alone is judged."""

ANY_WINDOW = window(0.001, 100)


def spacing(spacing_m: float, **more: Any) -> Json:
    return {"kind": "spacing", "spacing": metres(spacing_m), **more}


def longest_run(load: Json, layout: Json = LUMPED) -> Json:
    return {"kind": "longest-run", "load": load, "layout": layout}


def largest_load(length: Json, layout: Json = LUMPED, **more: Any) -> Json:
    return {"kind": "largest-load", "length": length, "layout": layout, **more}


def most_fixtures(load: Json, spacing_m: float, **more: Any) -> Json:
    return {"kind": "most-fixtures", "load": load, "spacing": metres(spacing_m), **more}


def question(asked: Json, *, supply: Json | None = None, cable: Json | None = None, **more: Any) -> Json:
    """Asks about a pair of 5 ohm/km a conductor behind an ideal 12 V, as stated, unless it says more."""
    return {
        "supply": supply or DC_12_V,
        "cable": cable or ohms_per_km(5.0),
        "question": asked,
        "conditions": AS_STATED,
        **more,
    }


def within(minimum_v: float, **more: Any) -> Json:
    return {"window": window(minimum_v, 100), **more}


def asked(client: Client, request: Json) -> Json:
    """The answer to a question that must be answered."""
    reply = client.post("/v1/reach", json=request)
    assert reply.status_code == 200, reply.text
    read: Json = reply.json()
    return read


def reached(client: Client, request: Json) -> Json:
    """The answer to a question that has one."""
    reply = asked(client, request)
    assert reply["status"] == "reached", reply
    return reply


def binding(reply: Json) -> list[str]:
    return [finding["code"] for finding in reply["binding"]]


def end_v(point: Json) -> float:
    found: float = point["end"]["end_voltage"]["value"]
    return found


def totals(load: Json, length_m: float, *, supply: Json | None = None, cable: Json | None = None) -> Json:
    """Total load and length, and no more."""
    wiring = {
        "form": "totals", "load": load, "cable": cable or ohms_per_km(5.0), "length": metres(length_m),
    }  # fmt: skip
    return {"supply": supply or transformer(), "wiring": wiring}


def strip(length_m: float, w_per_m: float, ohm_per_m: float | None = None) -> Json:
    own = {} if ohm_per_m is None else {"resistance_per_length": {"value": ohm_per_m, "unit": "ohm/m"}}
    return {
        "kind": "strip",
        "length": metres(length_m),
        "power_per_length": {"value": w_per_m, "unit": "W/m"},
        **own,
    }
