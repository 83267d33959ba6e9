"""Requests to every study, written as short as an installer would say them, and what is read off the answers.

Used as `from tests import jobs`. An answer is that of `POST /v1/voltage-drop` unless a path is said.
"""

from typing import Any

from service.studies.record import AnyStudy, digest
from tests.client import Client

Json = dict[str, Any]


def reply_to(study: AnyStudy, body: bytes) -> Any:
    """Decode, compute, reply, without HTTP."""
    message = study.read(body, study.request)
    return study.answer(message, study.prepare(message), digest(body))


def quantity(value: float, unit: str) -> Json:
    return {"value": value, "unit": unit}


def volts(value: float) -> Json:
    return quantity(value, "V")


def feet(value: float) -> Json:
    return quantity(value, "ft")


def metres(value: float) -> Json:
    return quantity(value, "m")


def watts(value: float, **more: Any) -> Json:
    return {"kind": "constant-power", "power": quantity(value, "W"), **more}


def volt_amperes(real_w: float, apparent_va: float) -> Json:
    return watts(real_w, apparent_power=quantity(apparent_va, "VA"))


def amperes(value: float, **more: Any) -> Json:
    return {"kind": "constant-current", "current": quantity(value, "A"), **more}


def resistor(value_w: float, rated_v: float = 12.0) -> Json:
    return {
        "kind": "constant-resistance",
        "power": quantity(value_w, "W"),
        "rated_voltage": volts(rated_v),
    }


def halogen(value_w: float, rated_v: float = 12.0) -> Json:
    return {"kind": "filament", "power": quantity(value_w, "W"), "rated_voltage": volts(rated_v)}


def awg(size: int, **more: Any) -> Json:
    return {"kind": "listed", "conductor": f"{size} AWG", **more}


def ohms_per_km(value: float, **more: Any) -> Json:
    """A pair of which ONE conductor was measured at 20 °C."""
    return {
        "kind": "measured",
        "resistance": quantity(value, "ohm/km"),
        "at_temperature": quantity(20, "degC"),
        **more,
    }


def window(minimum_v: float, maximum_v: float) -> Json:
    return {"minimum": volts(minimum_v), "maximum": volts(maximum_v)}


def lamp(at_m: float, load: Json, **more: Any) -> Json:
    return {"at": metres(at_m), "load": load, **more}


def run(*fixtures: Json, cable: Json | None = None, **more: Any) -> Json:
    return {"cable": cable or ohms_per_km(5.0), "fixtures": list(fixtures), **more}


def branch(at_m: float, *fixtures: Json, cable: Json | None = None, **more: Any) -> Json:
    return {"at": metres(at_m), **run(*fixtures, cable=cable, **more)}


def transformer(secondary_v: float = 12.0, **more: Any) -> Json:
    return {"kind": "transformer", "secondary": volts(secondary_v), **more}


def winding(rating_va: float, regulation_percent: float) -> Json:
    return {"rating": quantity(rating_va, "VA"), "regulation_percent": regulation_percent}


def dc_supply(output_v: float = 12.0, **more: Any) -> Json:
    return {"kind": "dc-supply", "output": volts(output_v), **more}


def battery(lowest_v: float, nominal_v: float, highest_v: float, **more: Any) -> Json:
    levels = {"lowest": volts(lowest_v), "nominal": volts(nominal_v), "highest": volts(highest_v)}
    return {"kind": "battery", **levels, **more}


def job(*runs: Json, supply: Json | None = None, nominal_v: float | None = None, **more: Any) -> Json:
    wiring: Json = {"form": "runs", "runs": list(runs)}
    if nominal_v is not None:
        wiring["nominal_voltage"] = volts(nominal_v)
    return {"supply": supply or transformer(), "wiring": wiring, **more}


def even(count: int, load: Json, length_m: float, cable: Json | None = None, **more: Any) -> Json:
    """The short form on a 12 V transformer."""
    return {
        "supply": transformer(),
        "wiring": {
            "form": "even",
            "count": count,
            "load": load,
            "cable": cable or ohms_per_km(5.0),
            "length": metres(length_m),
            **more,
        },
    }


def answer(client: Client, request: Json, path: str = "/v1/voltage-drop") -> Json:
    """The answer to a request that must be answered."""
    reply = client.post(path, json=request)
    assert reply.status_code == 200, reply.text
    read: Json = reply.json()
    return read


def solved(client: Client, request: Json) -> Json:
    """The answer to a request that must have an operating point."""
    reply = answer(client, request)
    assert reply["status"] == "solved", reply["findings"]
    return reply


def voltages(reply: Json) -> list[float]:
    return [row["voltage"]["value"] for row in reply["fixtures"]]


def findings(reply: Json, code: str) -> list[Json]:
    return [found for found in reply["findings"] if found["code"] == code]


def codes(reply: Json) -> list[str]:
    return [found["code"] for found in reply["findings"]]


def assumed(reply: Json) -> list[str]:
    return [row["code"] for row in reply["assumptions"]]


def parameters(finding: Json) -> dict[str, str]:
    return {part["name"]: part["value"] for part in finding["parameters"]}


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
    """The answer of `POST /v1/reach` to a question that must be answered."""
    return answer(client, request, "/v1/reach")


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
