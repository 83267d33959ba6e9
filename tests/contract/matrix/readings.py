"""Readings for any job: as the service itself expects them, and spoiled in one way or another."""

import json
from collections.abc import Callable
from itertools import islice
from typing import Any, Final

from tests.client import Client
from tests.contract.matrix.parts import of

_MOST: Final = 12
_TERMINAL: Final = {"kind": "terminal"}
Readings = list[dict[str, Any]]


def readings_of(job: Any, how: str, client: Client) -> Readings:
    """Readings of a job, made in one way."""
    return SOUNDS[how]([] if how in ASK_NOTHING else _expected(job, client), job)


def _expected(job: Any, client: Client) -> Readings:
    """What a faultless meter shows, or some volts at the terminals where no sheet can be had."""
    body = json.dumps(job | {"points": "every", "mains": [of(120, "V")]}).encode()
    reply = client.post("/v1/commissioning-sheet", content=body, headers={"content-type": "application/json"})
    stages = reply.json()["stages"] if reply.status_code == 200 else []
    found = [
        {
            "subject": {**point["subject"]},
            "quantity": {"kind": point["quantity"], "value": point["expected"][0]["value"]},
            "state": _state(stage["state"]),
        }
        for stage in reversed(stages)
        for point in stage["test_points"]
        if point["expected"]
    ]
    return list(islice(found, _MOST)) or [_volts(12, {"on": "all-on"})]


def _state(state: Any) -> Any:
    if "lit" in state:
        parts = [
            {name: part[name] for name in ("pointer", "number") if name in part} for part in state["lit"]
        ]
        return {"on": state["on"], "lit": parts}
    return {"on": state["on"]}


def _volts(value: float, state: Any, subject: Any = _TERMINAL) -> dict[str, Any]:
    return {"subject": subject, "quantity": {"kind": "voltage", "value": of(value, "V")}, "state": state}


def _scaled(reading: dict[str, Any], factor: float) -> dict[str, Any]:
    value = reading["quantity"]["value"]
    quantity = {**reading["quantity"], "value": of(round(factor * value["value"], 2), value["unit"])}
    return {**reading, "quantity": quantity}


def _as_expected(readings: Readings, _job: Any) -> Readings:
    return [{**reading, "id": f"r{place}"} for place, reading in enumerate(readings)]


def _last_low(readings: Readings, _job: Any) -> Readings:
    return [*readings[1:], _scaled(readings[0], 0.9)]


def _far_ends_low(readings: Readings, _job: Any) -> Readings:
    return [_scaled(reading, 0.93 if reading["subject"]["kind"] == "wired" else 1.0) for reading in readings]


def _at_odds(readings: Readings, _job: Any) -> Readings:
    return [_scaled(reading, (0.5, 1.4, 0.8)[place % 3]) for place, reading in enumerate(readings)]


def _without_states(readings: Readings, _job: Any) -> Readings:
    return [{name: part for name, part in each.items() if name != "state"} for each in readings[:3]]


def _noughts(readings: Readings, _job: Any) -> Readings:
    return [_scaled(reading, 0.0) for reading in readings]


def _other_mains(readings: Readings, _job: Any) -> Readings:
    return [{**each, "state": {**each["state"], "mains": of(110, "V")}} for each in readings[:6]]


def _nothing_lit(_readings: Readings, _job: Any) -> Readings:
    amperes = {"kind": "current", "value": of(300, "mA")}
    return [
        _volts(12.6, {"on": "no-load"}),
        _volts(12_600, {"on": "listed", "lit": []}) | {"quantity": amperes},
    ]


def _whole_wiring_lit(_readings: Readings, _job: Any) -> Readings:
    """As somebody may say that all is lit."""
    return [_volts(12, {"on": "listed", "lit": [{"pointer": "/wiring"}]})]


def _at_a_tap(_readings: Readings, job: Any) -> Readings:
    taps, circuits = job["supply"].get("taps", [of(12, "V")]), job["supply"].get("circuits", [])
    wired = {"tap": taps[-1]} | ({"circuit": circuits[-1]["name"]} if circuits else {})
    amperes = {"kind": "current", "value": of(1.5, "A")}
    return [
        _volts(12, {"on": "all-on"}, {**_TERMINAL, "tap": taps[-1]}),
        {"subject": {**_TERMINAL, **wired}, "quantity": amperes, "state": {"on": "all-on"}},
    ]


def _ohms(_readings: Readings, job: Any) -> Readings:
    """Loops joined at the far end of a run, with and without lamps; in other forms at the first fixture."""
    wiring = job["wiring"]
    pointer = {"runs": "/wiring/runs/0", "spans": "/wiring/fixtures/0"}.get(wiring.get("form"), "/wiring")
    wired = {"kind": "wired", "pointer": pointer}
    return [
        {
            "subject": wired,
            "quantity": {"kind": "resistance", "value": of(value, unit)},
            "state": {"on": "disconnected", **state},
        }
        for value, unit, state in ((0.9, "ohm", {"lamps_out": False}), (450, "mohm", {"lamps_out": True}))
    ]


def _nowhere(readings: Readings, _job: Any) -> Readings:
    return [*readings[:1], _volts(12, {"on": "all-on"}, {"kind": "wired", "pointer": "/wiring/nowhere/9"})]


SOUNDS: Final[dict[str, Callable[[Readings, Any], Readings]]] = {
    "as expected": _as_expected,
    "one low": _last_low,
    "all on the wiring low": _far_ends_low,
    "at odds": _at_odds,
    "without states": _without_states,
    "noughts": _noughts,
    "other mains": _other_mains,
    "nothing lit": _nothing_lit,
    "the whole wiring lit": _whole_wiring_lit,
    "at a tap": _at_a_tap,
    "ohms": _ohms,
    "nowhere": _nowhere,
}
ASK_NOTHING: Final = ("nothing lit", "the whole wiring lit", "at a tap", "ohms")
"""Those that are made without asking the service what it expects."""
