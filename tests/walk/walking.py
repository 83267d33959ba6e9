"""A garden from the first sketch to the fault that is found: each request is made from the reply before it.

What a person brings is the sketch, the stock on the shelf, prices of the rest, and the mains that the meter
showed on the day. All the rest of each request is taken from replies, as a program of a shop would.
"""

import json
from collections.abc import Callable, Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any, Final, NamedTuple

from tests.client import Client
from tests.jobs import Json, feet, quantity, volts

FOLDER: Final = Path(__file__).parents[2] / "openapi" / "examples" / "garden"
SKETCH: Final[Json] = json.loads((FOLDER / "sketch.json").read_bytes())
STOCK: Final[Json] = json.loads((FOLDER / "stock.json").read_bytes())
PRICES: Final[Json] = json.loads((FOLDER / "prices.json").read_bytes())

MAINS_OF_THE_DAY: Final = volts(119)
METER_DECIMALS: Final = 2

Ask = Callable[[str, Json], Json]
"""Posts a request to a study and gives the reply."""


def asking(client: Client) -> Ask:
    """Ask the application behind a client."""

    def ask(study: str, request: Json) -> Json:
        reply = client.post(f"/v1/{study}", json=request)
        assert reply.status_code == 200, reply.text
        answer: Json = reply.json()
        return answer

    return ask


class Step(NamedTuple):
    """One question of the walk and what came of it."""

    study: str
    request: Json
    reply: Json
    name: str
    """Of the file in which the request is kept."""


def walk(ask: Ask) -> Iterator[Step]:
    """Ask each question in turn."""

    def step(study: str, request: Json, name: str) -> Step:
        return Step(study, request, ask(study, request), name)

    cable = step("gauge-recommendation", sketched(), "1-cable.json")
    yield cable
    drop = step("voltage-drop", with_cable(cable), "2-voltage-drop.json")
    yield drop
    loading = step("transformer-loading", with_stock(drop), "3-transformer.json")
    yield loading
    bought = step("voltage-drop", as_bought(loading), "4-as-bought.json")
    yield bought
    yield step("quote", priced(bought, loading), "5-quote.json")
    sheet = step("commissioning-sheet", to_read(bought), "6-commissioning.json")
    yield sheet
    spoiled = ask(sheet.study, {**sheet.request, "wiring": with_bad_joint(sheet.request["wiring"])})
    check = step("readings-check", with_readings(sheet, spoiled), "7-readings.json")
    yield check
    yield step("readings-check", repaired(check, sheet), "8-after-the-repair.json")


def job_of(request: Json) -> Json:
    """What every study is asked with."""
    return {name: request[name] for name in ("id", "supply", "wiring", "conditions") if name in request}


def sketched() -> Json:
    """The sketch, with the cables on the shelf."""
    return {
        **SKETCH,
        "stock": STOCK["cables"],
        "currency": STOCK["currency"],
        "scope": "per-run",
        "taps": "choose",
    }


def with_cable(cable: Step) -> Json:
    """The sketch with what was chosen, under what it was judged by."""
    return {
        **job_of(cable.request),
        "wiring": cable.reply["wiring"],
        "conditions": cable.reply["judged_conditions"],
        "margin": True,
        "detail": "fixtures",
    }


def with_stock(drop: Step) -> Json:
    """The same job, with the transformers on the shelf."""
    return {**job_of(drop.request), "stock": STOCK["transformers"], "currency": STOCK["currency"]}


def as_bought(loading: Step) -> Json:
    """The same wiring behind the recommended transformer, each run on the circuit that it was given."""
    request = deepcopy(loading.request)
    recommended = at(request, loading.reply["recommended"]["pointer"])
    supply = {name: recommended[name] for name in ("taps", "circuits")}
    winding = {name: recommended[name] for name in ("rating", "regulation_percent")}
    for circuit in loading.reply["division"]["circuits"]:
        for run in circuit["runs"]:
            at(request, run["pointer"])["circuit"] = circuit["name"]
    return {
        **job_of(request),
        "supply": {**request["supply"], **supply, "winding": winding},
        "detail": "fixtures",
    }


def priced(bought: Step, loading: Step) -> Json:
    """What was bought, with the prices of the stock and of all that is not on its shelves."""
    supply = {**bought.request["supply"], "item": loading.reply["recommended"]["id"]}
    cables = [{**row, "tax": "goods"} for row in STOCK["cables"]]
    boxes = [
        {"id": row["id"], "name": f"Transformer {row['rating']['value']} VA", "tax": "goods"}
        | {"price": {"amount": row["price"]}}
        for row in STOCK["transformers"]
    ]
    return {
        "id": bought.request["id"],
        "alternatives": [{"id": "as sketched", "parts": [{**job_of(bought.request), "supply": supply}]}],
        **PRICES,
        "catalogue": {"cables": cables, "supplies": boxes, **PRICES["catalogue"]},
    }


def to_read(bought: Step) -> Json:
    """What the meter should show at every lamp, at the mains of the day."""
    return {**job_of(bought.request), "mains": [MAINS_OF_THE_DAY], "points": "every"}


DRIVEWAY: Final = 1
"""Which run has the bad joint."""

JOINT: Final = feet(70)
"""Where it is: between the fourth path light at 66 ft and the fifth at 78 ft."""

BEHIND_IT: Final = feet(71)

CORRODED: Final = {
    "kind": "measured",
    "resistance": quantity(200, "ohm/kft"),
    "at_temperature": quantity(20, "degC"),
}
"""A foot of it has 0.4 ohm, out and back."""


def with_bad_joint(wiring: Json) -> Json:
    """The same wiring with a corroded joint in the driveway, as a foot of very poor cable."""
    spoiled = deepcopy(wiring)
    run = spoiled["runs"][DRIVEWAY]
    run["cable_changes"] = [{"at": JOINT, "cable": CORRODED}, {"at": BEHIND_IT, "cable": run["cable"]}]
    return spoiled


def with_readings(sheet: Step, shown: Json) -> Json:
    """The job with what a meter shows in the garden with everything on, place by place of the sheet."""
    [stage] = [each for each in shown["stages"] if each["code"] == "all-on"]
    readings = [
        {
            "subject": point["subject"],
            "state": {**stage["state"], "mains": MAINS_OF_THE_DAY},
            "quantity": {"kind": "voltage", "value": volts(_read(point))},
        }
        for point in stage["test_points"]
        if point["quantity"] == "voltage"
    ]
    return {**job_of(sheet.request), "readings": readings}


def _read(point: Json) -> float:
    """The digits that the meter shows."""
    shown: float = point["expected"][0]["value"]["value"]
    return round(shown, METER_DECIMALS)


def repaired(check: Step, sheet: Step) -> Json:
    """The same places read again once the joint has been remade."""
    return {**check.request, "readings": with_readings(sheet, sheet.reply)["readings"]}


def at(request: Json, pointer: str) -> Any:
    """What stands at a JSON Pointer (RFC 6901)."""
    found: Any = request
    for token in pointer.split("/")[1:]:
        name = token.replace("~1", "/").replace("~0", "~")
        found = found[int(name)] if isinstance(found, list) else found[name]
    return found
