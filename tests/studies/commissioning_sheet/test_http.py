"""`POST /v1/commissioning-sheet` as a client sees it, beside `/v1/readings-check`, which judges alike."""

from __future__ import annotations

import copy
import csv
import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from tests.client import Client
from tests.jobs import (
    Json,
    amperes,
    answer,
    assumed,
    awg,
    branch,
    codes,
    dc_supply,
    even,
    feet,
    halogen,
    job,
    lamp,
    metres,
    ohms_per_km,
    quantity,
    run,
    transformer,
    volt_amperes,
    volts,
    watts,
    winding,
)

PATH = "/v1/commissioning-sheet"
CHECK = "/v1/readings-check"
EXAMPLES = Path(__file__).parents[3] / "openapi" / "examples"
EXAMPLE = json.loads((EXAMPLES / "commissioning_sheet.json").read_text(encoding="utf-8"))

ROUNDED = {"V": 1e-4, "A": 1e-5}
"""The last figure of a reply."""

BATTERY: Json = {
    "kind": "battery",
    "lowest": volts(11.5),
    "nominal": volts(12.6),
    "highest": volts(14.2),
    "internal_resistance": quantity(20, "mohm"),
}
LEAD = {"length": feet(3), "cable": awg(18)}
TWO_RUNS = job(
    run(lamp(10, watts(5), name="gate"), lamp(20, watts(5), lead=LEAD, name="yew"), cable=awg(12)),
    run(lamp(8, amperes(0.4), name="step", count=3, spacing=metres(4)), cable=awg(14), tail=metres(2)),
    supply=transformer(winding=winding(150, 5)),
)
TAPS = job(
    run(lamp(10, watts(20)), cable=awg(12), circuit="A"),
    run(lamp(40, watts(30)), cable=awg(12), tap=volts(14), circuit="B"),
    supply=transformer(taps=[volts(12), volts(14)], winding=winding(300, 4)),
)
LOOP = job(
    run(lamp(10, halogen(20)), lamp(25, halogen(20)), return_leg={"length": metres(12)}, cable=awg(12)),
    run(lamp(5, volt_amperes(6, 9), count=4), branches=[branch(5, lamp(6, watts(4)), cable=awg(14))]),
    supply=transformer(primary={"rated": volts(230), "actual": volts(234)}),
)
GRAPH: Json = {
    "supply": transformer(winding=winding(150, 4)),
    "wiring": {
        "form": "spans",
        "spans": [
            {"from": "supply", "to": "gate", "length": metres(10), "cable": awg(12)},
            {"from": "gate", "to": "shed", "length": metres(10), "cable": awg(12)},
            {"from": "shed", "to": "supply", "length": metres(14), "cable": awg(12)},
            {"from": "supply", "to": "pond", "length": metres(9), "cable": awg(14), "id": "p"},
        ],
        "fixtures": [
            {"point": "gate", "load": watts(15), "count": 2, "name": "lantern"},
            {"point": "shed", "load": watts(9), "id": "s1"},
            {"point": "pond", "load": watts(12)},
        ],
    },
}
JOBS: dict[str, Json] = {
    "example": EXAMPLE,
    "two runs and a lead": TWO_RUNS,
    "two taps": TAPS,
    "loop, branch and volt-amperes": LOOP,
    "graph": GRAPH,
    "even": {**even(6, watts(5), 30), "supply": transformer(winding=winding(60, 6))},
    "dc supply": {**TWO_RUNS, "supply": dc_supply(12)},
    "measured without its mains": {**TWO_RUNS, "supply": transformer(open_circuit={"voltage": volts(12.4)})},
    "measured with its mains": {
        **TWO_RUNS,
        "supply": transformer(open_circuit={"voltage": volts(12.4), "at_primary": volts(118)}),
    },
    "totals": {
        "supply": transformer(),
        "wiring": {"form": "totals", "load": watts(60), "cable": awg(12), "length": metres(20)},
    },
    "own meter and priors": {
        **TWO_RUNS,
        "instrument": {"accuracy_percent": 0.5, "counts": 2, "voltage_resolution": quantity(1, "mV")},
        "priors": {"length_percent": 5, "power_percent": 8, "mains_percent": 2},
        "conditions": {"conductor_temperature": quantity(30, "degC"), "non_active_current": "in-phase"},
    },
}
ASSUMED: list[tuple[str, Json]] = [
    ("mains-outlet-steps", TWO_RUNS),
    ("mains-not-scalable", JOBS["measured without its mains"]),
]


def sheet(client: Client, request: Json, **more: Any) -> Json:
    return answer(client, {**request, **more}, PATH)


def places(reply: Json) -> list[tuple[Json, Json]]:
    return [(stage, point) for stage in reply["stages"] for point in stage["test_points"]]


def readings(reply: Json, column: Json, away: float = 0.0) -> list[Json]:
    """What the sheet expects at some mains, off by so many tolerances, as readings of a check."""
    found = []
    for stage, point in places(reply):
        state = {**stage["state"], **({"mains": column["mains"]} if "mains" in column else {})}
        for expected in point["expected"]:
            if expected["mains_number"] == column["number"]:
                shown = expected["value"]["value"] + away * expected["tolerance"]["value"]
                quantity_read = {
                    "kind": point["quantity"],
                    "value": quantity(shown, expected["value"]["unit"]),
                }
                found.append({"subject": point["subject"], "quantity": quantity_read, "state": state})
    return found


def checkable(request: Json) -> Json:
    return {name: part for name, part in request.items() if name not in ("mains", "points", "sheet")}


@pytest.mark.parametrize("away", [-1.5, 1.5])
@pytest.mark.parametrize("request_body", JOBS.values(), ids=JOBS)
def test_readings_one_and_a_half_tolerances_away_do_not_agree(
    client: Client, request_body: Json, away: float
) -> None:
    reply = sheet(client, request_body)
    for reading in readings(reply, reply["mains"][-1], away):
        checked = answer(client, {**checkable(request_body), "readings": [reading]}, CHECK)
        assert checked["readings"][0]["verdict"] == ("high" if away > 0 else "low")


def test_a_battery_has_three_columns_each_as_if_it_were_the_nominal_voltage(client: Client) -> None:
    request = {**TWO_RUNS, "supply": BATTERY}
    reply = sheet(client, request)
    assert [column["name"] for column in reply["mains"]] == [
        "battery lowest",
        "battery nominal",
        "battery highest",
    ]
    assert [column["open_circuit"]["value"] for column in reply["mains"]] == [11.5, 12.6, 14.2]
    for column in reply["mains"]:
        standing = {**request, "supply": {**BATTERY, "nominal": column["open_circuit"]}}
        checked = answer(client, {**standing, "readings": readings(reply, column)}, CHECK)
        assert {row["verdict"] for row in checked["readings"]} == {"agrees"}
        last = [ROUNDED[row["reading"]["unit"]] for row in checked["readings"]]
        off = [abs(row["discrepancy"]["value"]) for row in checked["readings"]]
        assert all(far <= near for far, near in zip(off, last, strict=True))


def test_a_dc_supply_does_not_follow_the_mains_and_has_one_column(client: Client) -> None:
    reply = sheet(client, JOBS["dc supply"])
    assert [column["name"] for column in reply["mains"]] == ["as described"]
    assert "mains" not in reply["mains"][0]
    assert "mains-set-aside" in assumed(sheet(client, JOBS["dc supply"], mains=[volts(110), volts(120)]))


def test_mains_that_nobody_names_are_steps_through_what_is_usual_at_an_outlet(client: Client) -> None:
    # ANSI C84.1 range A, utilisation: 110 to 126 of 120 V.
    reply = sheet(client, TWO_RUNS)
    assert [column["mains"]["value"] for column in reply["mains"]] == [110.0, 114.0, 118.0, 122.0, 126.0]
    assert "mains-outlet-steps" in assumed(reply)


def test_named_mains_of_the_conditions_are_stepped_through(client: Client) -> None:
    # EN 50160: 230 V within 10 %.
    conditions = {"mains": {"kind": "named", "range": "en-50160"}}
    reply = sheet(client, LOOP, conditions=conditions)
    assert [column["mains"]["value"] for column in reply["mains"]] == [207.0, 218.5, 230.0, 241.5, 253.0]
    assert "mains-outlet-steps" not in assumed(reply)


def test_mains_that_are_asked_for_have_a_column_each_in_their_order(client: Client) -> None:
    reply = sheet(client, TWO_RUNS, mains=[volts(121), volts(112), volts(121)])
    assert [column["name"] for column in reply["mains"]] == ["121 V mains", "112 V mains"]
    # No-load volts: rated x (1 + regulation) x mains over the rated 120 V.
    assert [column["open_circuit"]["value"] for column in reply["mains"]] == [
        round(12.0 * 1.05 * mains / 120.0, 4) for mains in (121, 112)
    ]


def test_stages_go_from_bare_terminals_over_each_run_to_everything(client: Client) -> None:
    reply = sheet(client, EXAMPLE)
    assert [(stage["number"], stage["code"]) for stage in reply["stages"]] == [
        (1, "no-load"),
        (2, "run-alone"),
        (3, "run-alone"),
        (4, "all-on"),
    ]
    assert [stage.get("subject") for stage in reply["stages"]] == [
        None,
        {"pointer": "/wiring/runs/0"},
        {"pointer": "/wiring/runs/1"},
        None,
    ]
    assert all("isolate" in stage["instruction"] for stage in reply["stages"])
    assert [point["number"] for _, point in places(reply)] == list(range(1, len(places(reply)) + 1))


def test_one_run_is_not_asked_for_alone_and_then_again(client: Client) -> None:
    reply = sheet(client, job(run(lamp(10, watts(5)))))
    assert [stage["code"] for stage in reply["stages"]] == ["no-load", "all-on"]


def test_a_garden_is_walked_along_each_run_and_its_branches_where_they_leave(client: Client) -> None:
    reply = sheet(client, EXAMPLE, points="every")
    assert [point["name"] for point in reply["stages"][-1]["test_points"]] == [
        "Terminals",
        "Terminals, all that leaves",
        'Start of "hedge"',
        "hedge light 1",
        "hedge light 2",
        "hedge light 3",
        "arbour spot",
        "hedge light 4",
        "hedge light 5",
        "hedge light 6",
        'Far end of "hedge"',
        'Start of "front path"',
        *(f"bollard {number}" for number in range(1, 6)),
    ]


def test_key_places_are_the_terminals_and_the_first_the_lowest_and_the_farthest_of_a_run(
    client: Client,
) -> None:
    # The near lamp at the end of the thin branch stands lower than the far one on the thick cable.
    thin = branch(10, lamp(15, watts(12), name="thin"), cable=awg(18))
    garden = job(
        run(
            *(lamp(at, watts(2), name=f"lamp {at}") for at in (5, 10, 20, 40)), branches=[thin], cable=awg(10)
        )
    )
    reply = sheet(client, garden)
    read = [point["name"] for point in reply["stages"][-1]["test_points"]]
    assert read == ["Terminals", "Terminals, all that leaves", "Start of run 1", "lamp 5", "thin", "lamp 40"]


def test_terminals_are_read_by_tap_and_by_circuit_where_there_are_several(client: Client) -> None:
    reply = sheet(client, TAPS)
    assert [point["name"] for point in reply["stages"][0]["test_points"]] == [
        "Terminals, 12 V tap",
        "Terminals, 14 V tap",
    ]
    everything = [point["name"] for point in reply["stages"][-1]["test_points"]]
    assert everything[2:7] == [
        "Terminals, all that leaves",
        "Terminals, all on the 12 V tap",
        "Terminals, all on the 14 V tap",
        'Terminals, circuit "A"',
        'Terminals, circuit "B"',
    ]
    alone = [stage["test_points"][0]["name"] for stage in reply["stages"] if stage["code"] == "run-alone"]
    assert alone == ["Terminals, 12 V tap", "Terminals, 14 V tap"]


def test_a_part_of_a_graph_is_connected_by_every_cable_that_leads_to_it(client: Client) -> None:
    stages = sheet(client, GRAPH)["stages"]
    names = [stage["name"] for stage in stages if stage["code"] == "run-alone"]
    assert names == ["The cables to gate and shed alone", "The cable to pond alone"]
    assert "Connect the cables to gate and shed alone" in stages[1]["instruction"]
    assert stages[1]["state"]["lit"] == [{"pointer": "/wiring/fixtures/0"}, {"pointer": "/wiring/fixtures/1"}]


def test_a_run_alone_is_what_a_voltage_drop_of_that_run_says(client: Client) -> None:
    warm = {"conductor_temperature": quantity(30, "degC")}
    mains = {"rated": volts(120), "actual": volts(114)}
    garden = {**TWO_RUNS, "supply": {**TWO_RUNS["supply"], "primary": mains}, "conditions": warm}
    reply = sheet(client, garden, mains=[volts(114)], points="every")
    for index, stage in enumerate(reply["stages"][1:3]):
        alone = copy.deepcopy(garden)
        alone["wiring"]["runs"] = [garden["wiring"]["runs"][index]]
        solved = answer(client, alone)
        terminal, start, *along = (point["expected"][0]["value"]["value"] for point in stage["test_points"])
        assert abs(terminal - solved["supply"]["terminal"]["value"]) <= ROUNDED["V"]
        assert abs(start - solved["runs"][0]["current"]["value"]) <= ROUNDED["A"]
        for value, row in zip(along, solved["fixtures"], strict=False):
            splice = row.get("splice_voltage", row["voltage"])
            assert abs(value - splice["value"]) <= ROUNDED["V"]


def test_a_window_is_judged_at_the_lamp_and_not_where_the_probe_is(client: Client) -> None:
    thin = {"length": metres(15), "cable": awg(18)}
    tight = {"minimum": volts(11.0), "maximum": volts(13.0)}
    garden = job(run(lamp(5, watts(20), lead=thin, window=tight), cable=awg(10)))
    reply = sheet(client, garden, mains=[volts(120)])
    (lamp_point,) = [point for _, point in places(reply) if "window" in point]
    solved = answer(client, garden)["fixtures"][0]
    assert lamp_point["window"] == tight
    assert lamp_point["expected"][0]["value"]["value"] > 11.0 > solved["voltage"]["value"]
    assert lamp_point["expected"][0]["verdict"] == solved["verdict"] == "below"


def test_a_stage_without_an_operating_point_is_named_and_has_no_numbers(client: Client) -> None:
    # 500 W at the end of 40 m of 12 AWG: 0.42 ohm carries 12² / (4 x 0.42), less than 90 W.
    garden = job(run(lamp(5, watts(5), name="near")), run(lamp(40, watts(500), name="far"), cable=awg(12)))
    reply = sheet(client, garden)
    assert [(row["code"], row["severity"], row["subject"]["pointer"]) for row in reply["findings"]] == [
        ("stage-cannot-be-carried", "fault", "/wiring/runs/1"),
        ("stage-cannot-be-carried", "fault", "/wiring"),
    ]
    empty = [all(not point["expected"] for point in stage["test_points"]) for stage in reply["stages"]]
    assert empty == [False, False, True, True]
    assert reply["findings"][0]["message"].startswith(
        "Run 2 alone: too much load for the wiring as described, so"
    )
    told = [stage["instruction"] for stage in reply["stages"]]
    assert ["Do not switch" in each for each in told] == empty
    assert ["Switch on" in each for each in told] == [not each for each in empty]


def test_a_stage_that_only_low_mains_cannot_carry_has_numbers_at_the_others(client: Client) -> None:
    # 0.10 ohm out and back per 10 m: E²/4R is 84 W at 110 V mains and 110 W at 126 V.
    garden = job(run(lamp(36, watts(98)), cable=ohms_per_km(5.0)))
    reply = sheet(client, garden)
    everything_on = reply["stages"][-1]["test_points"]
    carried = [{each["mains_number"] for each in point["expected"]} for point in everything_on]
    assert carried == [carried[0]] * len(carried)
    assert 5 in carried[0]
    assert 1 not in carried[0]
    assert codes(reply) == ["stage-cannot-be-carried"]
    assert "110 V mains" in reply["findings"][0]["message"]


def test_an_averaging_meter_is_told_nothing_of_lamps_that_are_no_sine(client: Client) -> None:
    garden = job(run(lamp(5, volt_amperes(6, 9))), run(lamp(5, watts(6))))
    reply = sheet(client, garden, instrument={"kind": "averaging"})
    assert [(row["code"], row["subject"]["pointer"]) for row in reply["findings"]] == [
        ("stage-needs-true-rms", "/wiring/runs/0"),
        ("stage-needs-true-rms", "/wiring"),
    ]
    empty = [all(not point["expected"] for point in stage["test_points"]) for stage in reply["stages"]]
    assert empty == [False, True, False, True]


@pytest.mark.parametrize(("code", "request_body"), ASSUMED, ids=[code for code, _ in ASSUMED])
def test_what_a_sheet_takes_for_granted_is_said(client: Client, code: str, request_body: Json) -> None:
    assert code in assumed(sheet(client, request_body))


def test_cautions_name_isolation_the_meter_and_loose_terminals(client: Client) -> None:
    told = {row["code"] for row in sheet(client, TWO_RUNS)["cautions"]}
    assert told >= {"isolate-first", "tight-joints", "local-code", "meter-under-load", "meter-category"}


def test_an_id_comes_back_on_the_reply_and_on_its_places(client: Client) -> None:
    reply = sheet(client, EXAMPLE)
    assert reply["id"] == "alder-lane-4"
    assert {point.get("id") for _, point in places(reply) if point["name"].startswith("hedge")} == {"HL"}


def test_a_number_of_a_line_of_one_fixture_is_that_fixture(client: Client) -> None:
    place = {"kind": "wired", "pointer": "/wiring/runs/0/fixtures/0", "number": 1}
    read = {"kind": "voltage", "value": volts(12)}
    reading = {"subject": place, "quantity": read, "state": {"on": "no-load"}}
    checked = answer(client, {**checkable(TWO_RUNS), "readings": [reading]}, CHECK)
    assert checked["readings"][0]["where"].startswith("Voltage at gate")


def test_more_than_one_request_may_ask_for_is_refused(client: Client) -> None:
    many = [lamp(1, watts(0.01), count=1000, spacing=metres(0.05))]
    ring = run(*many, cable=awg(8), return_leg={"length": metres(60)})
    reply = client.post(PATH, json={**job(ring), "points": "every"})
    assert reply.status_code == 422
    assert reply.json()["code"] == "work-over-limit"
    assert "mains" in reply.json()["detail"]


def test_every_one_of_two_thousand_fixtures_on_one_cable_is_answered(client: Client) -> None:
    wiring = even(1_998, watts(0.02), 200, cable=awg(4))["wiring"] | {"nominal_voltage": volts(24)}
    request = {"supply": {"kind": "dc-supply", "output": volts(24)}, "wiring": wiring}
    reply = sheet(client, request, points="every")
    assert len(reply["stages"][-1]["test_points"]) == 1 + 1 + 1 + 1_998


def test_two_hundred_fixtures_on_ten_runs_are_answered_fixture_by_fixture(client: Client) -> None:
    one = run(lamp(1, watts(1), count=20, spacing=metres(0.5)), cable=awg(10))
    reply = sheet(client, job(*([one] * 10)), points="every")
    assert len(reply["stages"]) == 12
    assert len(reply["stages"][-1]["test_points"]) == 2 + 10 * 21


def as_csv(client: Client, request: Json) -> list[dict[str, str]]:
    reply = client.post(PATH, json=request, headers={"Accept": "text/csv"})
    assert reply.status_code == 200
    assert reply.headers["content-type"].startswith("text/csv")
    assert reply.headers["content-disposition"] == 'attachment; filename="commissioning-sheet.csv"'
    return list(csv.DictReader(StringIO(reply.text, newline="")))


def test_a_spreadsheet_has_a_row_for_each_place_and_a_cell_for_the_reading(client: Client) -> None:
    reply, rows = sheet(client, EXAMPLE), as_csv(client, EXAMPLE)
    assert [int(row["test_point"]) for row in rows] == [point["number"] for _, point in places(reply)]
    for row, (stage, point) in zip(rows, places(reply), strict=True):
        assert row["read"] == ""
        assert int(row["stage"]) == stage["number"]
        for expected, column in zip(point["expected"], reply["mains"], strict=True):
            name = column["name"].replace(" ", "_")
            assert float(row[f"expected {name}"]) == expected["value"]["value"]
            assert float(row[f"tolerance {name}"]) == expected["tolerance"]["value"]
            assert row["unit"] == expected["value"]["unit"]
