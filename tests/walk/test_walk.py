"""The garden in openapi/examples is walked through, and what is written there is what comes of it."""

import json
from typing import Any, Final

import jsonschema_rs
import pytest

from tests.client import Client
from tests.clients.http_file import requests_of
from tests.jobs import Json
from tests.walk.document import COLLECTION, files
from tests.walk.walking import DRIVEWAY, FOLDER, SKETCH, Step, asking, walk
from tests.walk.written_out import members, written_out, written_out_in_rows

FIXTURES: Final = 34
FIRST_RELEASE: Final = FOLDER.parents[1] / "released" / "0.1.0.json"


@pytest.fixture(scope="module")
def steps() -> list[Step]:
    """The whole walk, asked once."""
    from service.app import app  # noqa: PLC0415  # tests of the lower rooms must not load the framework

    return list(walk(asking(Client(app))))


def test_the_folder_holds_what_a_walk_through_the_garden_gives(steps: list[Step]) -> None:
    # `python -m tests.walk` writes it anew.
    by_hand = {"sketch.json", "stock.json", "prices.json"}
    told = files(steps)
    assert {path.name for path in FOLDER.iterdir()} == by_hand | told.keys()
    for name, text in told.items():
        assert (FOLDER / name).read_text(encoding="utf-8") == text, name


def test_the_collection_sends_the_walk_in_its_order_and_is_answered_alike(
    client: Client, steps: list[Step]
) -> None:
    sent = requests_of((FOLDER / COLLECTION).read_text(encoding="utf-8"), FOLDER)
    assert [(each.method, each.path) for each in sent] == [("POST", f"/v1/{step.study}") for step in steps]
    for each, step in zip(sent, steps, strict=True):
        reply = client.request(each.method, each.path, content=each.body.read_bytes(), headers=each.fields)
        assert (reply.status_code, reply.json()["summary"]) == (200, step.reply["summary"])


def test_every_study_of_the_walk_passes_until_the_meter_disagrees(steps: list[Step]) -> None:
    assert [(step.study, step.reply["summary"].get("verdict")) for step in steps] == [
        ("gauge-recommendation", "passes"),
        ("voltage-drop", "passes"),
        ("transformer-loading", "passes"),
        ("voltage-drop", "passes"),
        ("quote", "passes"),
        ("commissioning-sheet", "passes"),
        ("readings-check", "fails"),
        ("readings-check", "passes"),
    ]


def test_every_lamp_of_the_sketch_has_a_row(steps: list[Step]) -> None:
    assert len(steps[1].reply["lamps"]) == len(steps[3].reply["lamps"]) == FIXTURES


def test_the_fault_is_found_where_it_was_built_in(steps: list[Step]) -> None:
    found = steps[6].reply["explanations"][0]
    assert found["code"] == "splice-resistance"
    # At 70 ft of the driveway: before the fifth path light, and behind the fourth.
    assert found["located_at"] == {"pointer": f"/wiring/runs/{DRIVEWAY}/fixtures/0", "number": 5}
    # A foot of 200 ohm/kft in place of good cable, out and back.
    built_in = 2 * 200 / 1000
    assert abs(found["size"]["value"] - built_in) <= found["uncertainty"]["value"]


def test_what_was_chosen_is_what_is_bought_and_read(steps: list[Step]) -> None:
    cable, drop, loading, bought, quote, sheet, check, _ = (step.request for step in steps)
    assert drop["wiring"] == steps[0].reply["wiring"]
    assert loading["wiring"] == drop["wiring"]
    assert cable["supply"] == loading["supply"]
    assert bought["supply"]["winding"]["rating"] == steps[2].reply["recommended"]["rating"]
    assert {run["circuit"] for run in bought["wiring"]["runs"]} <= {
        each["name"] for each in bought["supply"]["circuits"]
    }
    assert sheet["wiring"] == check["wiring"] == bought["wiring"]
    assert quote["alternatives"][0]["parts"][0]["wiring"] == bought["wiring"]


def drop_of(client: Client, wiring: Json) -> Any:
    reply = client.post("/v1/voltage-drop", json={**SKETCH, "wiring": wiring})
    assert reply.status_code == 200, reply.text
    return reply.json() | {"request_sha256": ""}


def test_the_sketch_has_at_most_half_the_members_that_the_first_release_needs() -> None:
    long = {**SKETCH, "wiring": written_out_in_rows(SKETCH["wiring"])}
    document = json.loads(FIRST_RELEASE.read_bytes())
    schema = {"$ref": "#/components/schemas/VoltageDropRequest", "components": document["components"]}
    first_release = jsonschema_rs.Draft202012Validator(schema)
    assert first_release.is_valid(long)
    # It knew no types and no cable for all.
    assert not first_release.is_valid(SKETCH)
    assert members(SKETCH) <= members(long) / 2


WORDS: Final = {"name", "text", "message", "parameters", "from", "to"}


def without_words(value: Any) -> Any:
    """Every number, verdict, code and pointer: a fixture is called by its type and place, or by its name."""
    if isinstance(value, dict):
        return {name: without_words(each) for name, each in value.items() if name not in WORDS}
    if isinstance(value, list):
        rows = [row for row in value if not (isinstance(row, dict) and row.get("code") == "duplicate-name")]
        return [without_words(row) for row in rows]
    return value


def test_the_sketch_written_out_has_the_same_answer_to_the_last_digit(client: Client) -> None:
    short, long = drop_of(client, SKETCH["wiring"]), drop_of(client, written_out(SKETCH["wiring"]))
    assert len(short["fixtures"]) == FIXTURES
    assert without_words(short) == without_words(long)


def test_the_sketch_with_a_row_for_each_fixture_has_the_same_volts_to_the_last_digit(client: Client) -> None:
    short, long = drop_of(client, SKETCH["wiring"]), drop_of(client, written_out_in_rows(SKETCH["wiring"]))
    said = ("at", "voltage", "verdict", "cable_drop", "total_drop", "drop_percent", "current", "real_power")
    assert [[row[name] for name in said] for row in long["fixtures"]] == [
        [row[name] for name in said] for row in short["fixtures"]
    ]
    for name in ("supply", "totals", "solution", "load_margin", "envelope"):
        assert long.get(name) == short.get(name)
