"""The sheet that goes into the garden: what it prints is what the JSON expects, with room to write in."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from tests import jobs
from tests.client import Client
from tests.sheets.reading import page_of, pdf_text
from tests.sheets.studies import STUDIES

PATH = "/v1/commissioning-sheet"
REQUEST = next(each for each in STUDIES if each.path == PATH).request()
BLANK = "\N{NO-BREAK SPACE}"


def reply_to(client: Client, request: Any) -> Any:
    return client.post(PATH, json=request).json()


def cell(expected: Any, digits: int = 2) -> str:
    value, tolerance = expected["value"]["value"], expected["tolerance"]["value"]
    return f"{value:.{digits}f} ±{BLANK}{tolerance:.{digits}f}"


def heading(stage: Any) -> str:
    return f"Stage {stage['number']}: {stage['name']}"


def test_every_place_has_its_values_in_its_row_and_an_empty_cell(client: Client) -> None:
    reply, page = reply_to(client, REQUEST), page_of(client, PATH, REQUEST)
    for stage in reply["stages"]:
        mains, *rows = page.table(heading(stage))
        assert mains["Where"] == "Mains, as you begin"
        for row, point in zip(rows, stage["test_points"], strict=True):
            assert row["No."] == str(point["number"])
            assert row["Where"].startswith(point["name"])
            assert row["Read"].strip(BLANK) == ""
            assert len(row["Read"]) > 10
            for column, expected in zip(reply["mains"], point["expected"], strict=True):
                assert row[column["name"]] == cell(expected)


def test_each_stage_stands_under_its_instruction_and_cautions_come_before_all(client: Client) -> None:
    reply, text = reply_to(client, REQUEST), page_of(client, PATH, REQUEST).text
    positions = [text.index(stage["instruction"]) for stage in reply["stages"]]
    assert positions == sorted(positions)
    assert text.index(reply["cautions"][0]["message"]) < positions[0]


def test_the_pdf_has_every_value(client: Client) -> None:
    reply = reply_to(client, REQUEST)
    shown = "".join(pdf_text(client, PATH, REQUEST).split())
    for stage in reply["stages"]:
        for point in stage["test_points"]:
            for expected in point["expected"]:
                assert "".join(cell(expected).replace(BLANK, "").split()) in shown


def test_a_fixture_that_sound_wiring_leaves_outside_its_window_has_a_star(client: Client) -> None:
    request = copy.deepcopy(REQUEST)
    request["wiring"]["runs"][1]["fixtures"][0]["load"]["power"]["value"] = 22
    page = page_of(client, PATH, request)
    reply = reply_to(client, request)
    rows = page.table(heading(reply["stages"][-1]))[1:]
    marks = {"inside": "", "low": "*", "below": "**"}
    for row, point in zip(rows, reply["stages"][-1]["test_points"], strict=True):
        for column, expected in zip(reply["mains"], point["expected"], strict=True):
            assert row[column["name"]] == cell(expected) + marks[expected.get("verdict", "inside")]
    assert "**" in page.text


def test_a_finer_meter_gets_finer_figures(client: Client) -> None:
    fine = {
        **REQUEST,
        "instrument": {
            "accuracy_percent": 0.01,
            "counts": 1,
            "voltage_resolution": {"value": 1, "unit": "mV"},
        },
        "priors": {"mains_percent": 0.01, "winding_percent": 0},
    }
    reply, page = reply_to(client, fine), page_of(client, PATH, fine)
    first = reply["stages"][0]
    assert page.table(heading(first))[1]["114 V mains"] == cell(first["test_points"][0]["expected"][0], 4)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_seven_columns_and_every_fixture_leave_names_whole(client: Client, paper: str) -> None:
    mains = [{"value": value, "unit": "V"} for value in (108, 111, 114, 117, 120, 123, 126)]
    request = {**REQUEST, "mains": mains, "points": "every", "sheet": {"paper": paper}}
    text = pdf_text(client, PATH, request)
    assert text.count("Terminals\n") + text.count("Terminals ") >= 4
    assert "bollard 5" in text


def test_a_voltage_drop_prints_the_stages_when_it_is_asked_to(client: Client) -> None:
    asked = {name: part for name, part in REQUEST.items() if name not in ("instrument", "mains")}
    plain = page_of(client, "/v1/voltage-drop", asked)
    more = page_of(client, "/v1/voltage-drop", {**asked, "sheet": {"commissioning": True}})
    assert "What a meter should show" not in plain.text
    # At the stated mains, 119 V, and with the meter that is usual.
    alone = reply_to(client, {**asked, "mains": [{"value": 119, "unit": "V"}]})
    for stage in alone["stages"]:
        rows = more.table(heading(stage))[1:]
        assert [row["119 V mains"] for row in rows] == [
            cell(point["expected"][0]) for point in stage["test_points"]
        ]
    unsaid = [each["message"] for each in alone["assumptions"] if each["code"] == "meter-usual"]
    assert unsaid[0] in more.text


def test_what_is_printed_changes_no_json(client: Client) -> None:
    asked = {name: part for name, part in REQUEST.items() if name not in ("instrument", "mains")}
    plain = client.post("/v1/voltage-drop", json=asked).json()
    more = client.post("/v1/voltage-drop", json={**asked, "sheet": {"commissioning": True}}).json()
    assert {**plain, "request_sha256": ""} == {**more, "request_sha256": ""}


def test_other_studies_do_not_take_the_member(client: Client) -> None:
    reply = client.post(PATH, json={**REQUEST, "sheet": {"commissioning": True}})
    assert reply.status_code == 400
    assert reply.json()["errors"][0]["pointer"] == "/sheet/commissioning"


def test_a_voltage_drop_that_cannot_be_carried_still_prints_the_stages_that_can(client: Client) -> None:
    asked = {name: part for name, part in REQUEST.items() if name not in ("instrument", "mains")}
    heavy = copy.deepcopy(asked)
    heavy["wiring"]["runs"][1]["fixtures"][0]["load"]["power"]["value"] = 90
    page = page_of(client, "/v1/voltage-drop", {**heavy, "sheet": {"commissioning": True}})
    assert "there is no operating point" in page.text
    assert page.table('Stage 2: "hedge" alone')[1]["119 V mains"] != "–"
    assert "Do not switch everything on" in page.text
    assert "Stage 4: Everything on" not in page.tables


def test_taps_are_read_in_the_order_in_which_they_stand_on_a_box(client: Client) -> None:
    taps = [jobs.volts(each) for each in (12, 13, 14)]
    runs = [
        jobs.run(jobs.lamp(9, jobs.watts(5)), cable=jobs.awg(12), tap=jobs.volts(each))
        for each in (14, 12, 13)
    ]
    supply = jobs.transformer(winding=jobs.winding(300, 4), taps=taps)
    reply = jobs.answer(client, jobs.job(*runs, supply=supply), "/v1/commissioning-sheet")
    first, *_, last = reply["stages"]
    read = [point["name"] for point in first["test_points"]]
    assert read == [f"Terminals, {each} V tap" for each in (12, 13, 14)]
    leaving = [point["name"] for point in last["test_points"] if "all on the" in point["name"]]
    assert leaving == [f"Terminals, all on the {each} V tap" for each in (12, 13, 14)]
