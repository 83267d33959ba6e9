"""`detail` shortens the JSON of a judging study, and nothing else."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import msgspec
import pytest
from msgspec import Struct

from service.document.schemas import unions
from service.studies import STUDIES
from service.studies.record import CSV, HTML, JSON, SVG, AnyStudy
from service.studies.shortening import FIXTURES, FULL, SUMMARY
from service.wire.job import Detail
from tests.client import Client
from tests.jobs import Json, awg, job, lamp, run, transformer, watts, winding, window

FOLDER: Final = Path(__file__).parents[2] / "openapi" / "examples"
JUDGING: Final = [study for study in STUDIES.values() if study.name != "drop-chart"]
SHORTER: Final[tuple[Detail, ...]] = (SUMMARY, FIXTURES)
IN_PART: Final = {"findings", "rest", "stages", "remedies"}
"""Lists and objects that a shorter reply has a part of."""

A_PART_IS_LEFT: Final = job(
    run(lamp(40, watts(20), count=2, window=window(10.8, 15)), cable=awg(14), name="near bed"),
    run(lamp(400, watts(60)), cable=awg(18), name="far bed"),
    supply=transformer(winding=winding(600, 3)),
)
"""The near bed is carried once the far one is off, with too few volts."""


def questions() -> Iterator[Any]:
    """Each example of each judging study that is answered."""
    for study in JUDGING:
        files = {each.file for each in study.description.examples if each.file and each.status == 200}
        for file in sorted(files):
            body = json.loads((FOLDER / file).read_bytes())
            body.pop("detail", None)
            yield pytest.param(study, body, id=file)
    yield pytest.param(STUDIES["voltage-drop"], A_PART_IS_LEFT, id="a part is left")


EACH = pytest.mark.parametrize(("study", "body"), list(questions()))


def answered(client: Client, study: AnyStudy, body: Json, accept: str = JSON) -> Any:
    reply = client.post(f"/v1/{study.name}", json=body, headers={"Accept": accept})
    assert reply.status_code == 200, reply.text
    # The request has other bytes where it says how much is wanted.
    return reply.json() | {"request_sha256": ""} if accept == JSON else reply.text


def replies(study: AnyStudy) -> tuple[type[Struct], ...]:
    kind = study.description.reply
    return tuple(kind.__args__) if kind in unions().values() else (kind,)


def faults_of(reply: Json) -> list[Json]:
    return [found for found in reply.get("findings", ()) if found["severity"] == "fault"]


def test_every_study_that_judges_can_be_asked_for_less_and_no_other() -> None:
    can = {name for name, study in STUDIES.items() if "detail" in study.request.__struct_fields__}
    assert can == {study.name for study in JUDGING}
    for study in JUDGING:
        assert all("detail" in kind.__struct_fields__ for kind in replies(study)), study.name


@EACH
def test_full_is_what_is_answered_where_nothing_is_said(client: Client, study: AnyStudy, body: Json) -> None:
    whole = answered(client, study, body)
    assert answered(client, study, {**body, "detail": FULL}) == whole
    assert "detail" not in whole


@EACH
@pytest.mark.parametrize("detail", SHORTER)
def test_a_shorter_reply_is_the_whole_one_with_members_left_out(
    client: Client, study: AnyStudy, body: Json, detail: Detail
) -> None:
    whole, shorter = answered(client, study, body), answered(client, study, {**body, "detail": detail})
    assert shorter.pop("detail") == detail
    assert shorter["summary"] == whole["summary"]
    assert shorter["cautions"] == whole["cautions"]
    assert faults_of(shorter) == faults_of(whole) == shorter.get("findings", [])
    for name in shorter.keys() - IN_PART - {"lamps"}:
        assert shorter[name] in ([], whole[name]), name
    assert all(isinstance(whole[name], list | dict) for name in whole.keys() - shorter.keys())
    assert len(json.dumps(shorter)) < len(json.dumps(whole))


@EACH
@pytest.mark.parametrize("detail", SHORTER)
def test_a_shorter_reply_is_of_the_type_of_the_whole_one(
    client: Client, study: AnyStudy, body: Json, detail: Detail
) -> None:
    shorter = answered(client, study, {**body, "detail": detail})
    # Strict about types and about members that must be there.
    msgspec.json.decode(json.dumps(shorter), type=study.description.reply)


@EACH
def test_what_fixtures_has_begins_with_what_summary_has(client: Client, study: AnyStudy, body: Json) -> None:
    short, longer = (answered(client, study, {**body, "detail": each}) for each in SHORTER)
    for name in short.keys() - {"detail", "rest", "remedies"}:
        assert short[name] in ([], longer[name]), name


@EACH
@pytest.mark.parametrize("detail", SHORTER)
def test_what_is_printed_and_drawn_is_the_same_at_every_detail(
    client: Client, study: AnyStudy, body: Json, detail: Detail
) -> None:
    for form in study.forms.keys() & {HTML, SVG, CSV}:
        marks = [client.post(f"/v1/{study.name}", json=asked).json()["request_sha256"]
                 for asked in (body, {**body, "detail": detail})]  # fmt: skip
        one, other = (answered(client, study, asked, form) for asked in (body, {**body, "detail": detail}))
        assert other.replace(marks[1], marks[0]) == one


def test_a_voltage_drop_asked_for_fixtures_has_volts_and_verdict_of_each(client: Client) -> None:
    study, body = STUDIES["voltage-drop"], json.loads((FOLDER / "voltage_drop.json").read_bytes())
    whole, shorter = answered(client, study, body), answered(client, study, {**body, "detail": FIXTURES})
    names = ("pointer", "name", "voltage", "verdict", "id", "number", "count")
    assert len(shorter["lamps"]) == 7
    assert shorter["lamps"] == [
        {name: row[name] for name in names if name in row} for row in whole["fixtures"]
    ]


def test_of_a_job_that_cannot_be_carried_the_part_that_can_keeps_its_faults(client: Client) -> None:
    study, body = STUDIES["voltage-drop"], A_PART_IS_LEFT
    whole = answered(client, study, body)
    assert whole["status"] == "no-operating-point"
    assert faults_of(whole["rest"])
    for detail in SHORTER:
        rest = answered(client, study, {**body, "detail": detail})["rest"]
        assert rest["findings"] == faults_of(whole["rest"])
        assert rest["off"] == whole["rest"]["off"]
        assert rest["fixtures"] == rest["spans"] == rest["runs"] == []
        shown = [row["voltage"] for row in rest.get("lamps", ())]
        assert shown == ([row["voltage"] for row in whole["rest"]["fixtures"]] if detail == FIXTURES else [])


def test_each_item_of_a_batch_has_its_own_detail(client: Client) -> None:
    body = json.loads((FOLDER / "voltage_drop.json").read_bytes())
    levels: list[Json] = [{"detail": SUMMARY}, {}, {"detail": FIXTURES}]
    items = [{"study": "voltage-drop", "request": {**body, **level}} for level in levels]
    outcomes = client.post("/v1/batch", json={"items": items}).json()["items"]
    for item, outcome in zip(items, outcomes, strict=True):
        alone = client.post("/v1/voltage-drop", json=item["request"]).json()
        assert outcome["answer"] | {"request_sha256": ""} == alone | {"request_sha256": ""}


def test_another_word_than_the_three_is_refused_by_its_place(client: Client) -> None:
    body = json.loads((FOLDER / "voltage_drop.json").read_bytes())
    reply = client.post("/v1/voltage-drop", json={**body, "detail": "short"})
    assert reply.status_code == 400
    [error] = reply.json()["errors"]
    assert error["pointer"] == "/detail"
    assert set(error["allowed"]) == {SUMMARY, FIXTURES, FULL}


def test_the_shortest_reply_has_of_a_remedy_what_it_is_and_what_it_costs(client: Client) -> None:
    body = json.loads((FOLDER / "gauge_recommendation_none_passes.json").read_bytes())
    study = STUDIES["gauge-recommendation"]
    whole, shorter = answered(client, study, body), answered(client, study, {**body, "detail": SUMMARY})
    left_out = {"wiring", "supply", "purchase"}
    assert shorter["remedies"] == [
        {name: value for name, value in row.items() if name not in left_out} | {"purchase": []}
        for row in whole["remedies"]
    ]
    assert {"code", "message", "outcome", "changes", "more_cable"} <= shorter["remedies"][0].keys()
    assert 2 * len(json.dumps(shorter)) < len(json.dumps(whole))


def test_a_remedy_of_a_shorter_reply_can_be_posted(client: Client) -> None:
    body = json.loads((FOLDER / "gauge_recommendation_none_passes.json").read_bytes())
    study = STUDIES["gauge-recommendation"]
    whole, shorter = answered(client, study, body), answered(client, study, {**body, "detail": FIXTURES})
    assert shorter["remedies"] == whole["remedies"] != []
    wiring = shorter["remedies"][0]["wiring"]
    supply = shorter["remedies"][0].get("supply", body["supply"])
    posted = {"supply": supply, "wiring": wiring, "conditions": shorter["judged_conditions"]}
    judged = answered(client, STUDIES["voltage-drop"], {**posted, "detail": SUMMARY})
    assert judged["summary"]["verdict"] != "fails"


def test_names_that_a_study_keeps_are_members_of_its_replies() -> None:
    for study in JUDGING:
        said = study.description.more.rpartition("Where `detail`")[2]
        words = {word.strip("`") for word in said.replace(",", " ").replace(".", " ").split() if "`" in word}
        members = {field.encode_name for kind in replies(study) for field in msgspec.structs.fields(kind)} | {
            SUMMARY,
            FIXTURES,
            "detail",
        }
        assert words <= members, (study.name, words - members)
        assert {"findings", "cautions"} <= words
