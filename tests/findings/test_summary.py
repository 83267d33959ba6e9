"""The first member of a reply: verdict, findings said once a kind, the weakest lamp, what is spare."""

import json
from pathlib import Path

import pytest

from service.studies import STUDIES
from tests import jobs
from tests.client import Client
from tests.jobs import Json, answer, awg, feet, job, lamp, run, solved, transformer, watts, window

EXAMPLES = Path(__file__).parents[2] / "openapi" / "examples"
FAILING = {"no-operating-point", "none-passes", "none-found", "out-of-reach", "disagrees", "contradicts"}
GRAVE = {"fault": 0, "warning": 1, "note": 2}


def summarised(client: Client) -> list[tuple[str, Json]]:
    """The replies with a summary to all examples of every study, by the name of the example."""
    found = []
    for study in STUDIES.values():
        for path in sorted(EXAMPLES.glob(f"{study.operation}*.json")):
            asked = json.loads(path.read_bytes())
            # A shorter reply has not all of its findings.
            asked.pop("detail", None)
            response = client.post(f"/v1/{study.name}", json=asked)
            if response.status_code == 200 and "summary" in response.json():
                found.append((path.stem, response.json()))
    return found


def test_every_answer_begins_with_a_summary_that_says_what_its_rows_say(client: Client) -> None:
    replies = summarised(client)
    assert len(replies) >= 12
    for name, reply in replies:
        summary, findings = reply["summary"], reply["findings"] if "findings" in reply else reply["binding"]
        assert next(iter(reply)) in {"status", "summary"}, name
        assert sum(group["count"] for group in summary["findings"]) == len(findings), name
        assert [GRAVE[each["severity"]] for each in findings] == sorted(
            GRAVE[each["severity"]] for each in findings
        ), name
        state = reply.get("status", reply.get("verdict"))
        faults = any(each["severity"] == "fault" for each in findings)
        if state in FAILING or faults:
            assert summary["verdict"] == "fails", name
        elif state != "nothing-to-judge":
            warned = any(each["severity"] == "warning" for each in findings)
            assert summary["verdict"] == ("passes-with-warnings" if warned else "passes"), name
        assert summary["text"].endswith((".", ")")), name
        assert not any(mark in summary["text"] for mark in ("/wiring", "{", "  ")), name


def too_far(*, several: bool = False) -> Json:
    """Lamps of which the farther ones get too little."""
    lines = [lamp(6 * place, jobs.amperes(2), window=window(10.5, 13)) for place in range(1, 12)]
    runs = [run(*lines, name="terrace")]
    if several:
        runs.append(run(lamp(2, watts(3)), name="pond"))
    return job(*runs)


def test_lamps_that_are_too_low_are_said_once_with_the_lowest(client: Client) -> None:
    reply = solved(client, too_far(several=True))
    low = [each for each in reply["findings"] if each["code"] == "fixture-below-window"]
    (group,) = [each for each in reply["summary"]["findings"] if each["code"] == "fixture-below-window"]
    lowest = min(low, key=lambda each: each["measured"]["value"])
    assert len(low) > 5
    assert group["count"] == len(low)
    assert group["pointers"][0] == lowest["subject"]["pointer"]
    assert group["worst"] == lowest["measured"]
    start = (
        f"{len(low)} lamps on terrace get less than 10.5 V; the lowest is fixture at 66 m of terrace with "
    )
    assert group["message"].startswith(start)
    assert reply["summary"]["text"].startswith(f"Does not pass. {start}")


def test_a_run_is_only_named_where_there_are_several(client: Client) -> None:
    (group, *_) = solved(client, too_far())["summary"]["findings"]
    assert " lamps get less than 10.5 V" in group["message"]


def test_lamps_of_unlike_windows_get_less_than_they_need(client: Client) -> None:
    lines = [lamp(40, jobs.amperes(4), window=window(low_v, 14)) for low_v in (10, 11)]
    (group, *_) = solved(client, job(run(*lines, cable=awg(14))))["summary"]["findings"]
    assert group["message"].startswith("2 lamps get less than they need; the worst is fixture at 40 m ")


def test_the_weakest_and_the_highest_lamp_are_those_of_the_rows(client: Client) -> None:
    reply = solved(client, job(*(run(lamp(place * 7, watts(6)), name=f"r{place}") for place in (1, 5, 3))))
    by_volts = sorted(reply["fixtures"], key=lambda row: row["voltage"]["value"])
    summary = reply["summary"]
    for told, row in ((summary["weakest"], by_volts[0]), (summary["highest"], by_volts[-1])):
        assert (told["pointer"], told["name"], told["voltage"]) == (
            row["pointer"],
            row["name"],
            row["voltage"],
        )
    assert "corner" not in summary["weakest"]


def test_over_a_range_the_weakest_lamp_names_its_corner(client: Client) -> None:
    ranges = {"mains": {"kind": "named", "range": "outlet"}}
    reply = solved(client, job(run(lamp(20, watts(20)))) | {"conditions": ranges})
    (row,) = reply["envelope"]["fixtures"]
    assert reply["summary"]["weakest"]["voltage"] == row["lowest"]["voltage"]
    assert reply["summary"]["weakest"]["corner"] == row["lowest"]["corner"]
    assert reply["summary"]["highest"]["voltage"] == row["highest"]["voltage"]


USUAL = {"range": "usual"}


@pytest.mark.parametrize(
    ("supply", "conditions", "low"),
    [
        (jobs.dc_supply(24), USUAL, "hot cable"),
        (jobs.dc_supply(24), {**USUAL, "mains": {"kind": "named", "range": "outlet"}}, "hot cable"),
        (jobs.battery(11, 12.6, 14.4), USUAL, "battery at its lowest, hot cable"),
        (transformer(), USUAL, "lowest mains, hot cable"),
        (
            transformer(),
            {
                "conductor_temperature_range": {
                    "lowest": jobs.quantity(-10, "degC"),
                    "highest": jobs.quantity(40, "degC"),
                }
            },
            "hot cable",
        ),
    ],
)
def test_a_corner_names_what_moves_and_nothing_that_stands_as_stated(
    client: Client, supply: Json, conditions: Json, low: str
) -> None:
    lamps = [lamp(place, watts(2), window=window(5, 30)) for place in (5, 30)]
    reply = answer(client, job(run(*lamps), supply=supply, conditions=conditions))
    assert f"(fixture at 30 m, {low})" in reply["summary"]["text"]
    page = client.post(
        "/v1/voltage-drop",
        json=job(run(*lamps), supply=supply, conditions=conditions),
        headers={"accept": "text/html"},
    ).text
    assert "mains as stated" not in page


def test_what_is_spare_is_that_of_the_supply_and_of_the_fullest_circuit(client: Client) -> None:
    circuits = [{"name": name, "limit": jobs.quantity(limit, "A")} for name, limit in (("a", 25), ("b", 10))]
    supply = transformer(winding=jobs.winding(150, 0), circuits=circuits)
    runs = [run(lamp(0, watts(60)), circuit="a"), run(lamp(0, watts(60)), circuit="b")]
    summary = solved(client, job(*runs, supply=supply))["summary"]
    assert summary["supply"] == {"loading_ratio": 0.8, "spare": {"value": 30.0, "unit": "VA"}}
    assert summary["circuit"]["name"] == "b"
    assert summary["circuit"]["current"] == {"value": 5.0, "unit": "A"}
    assert summary["circuit"]["spare"] == {"value": 3.0, "unit": "A"}


def test_a_warning_that_is_accepted_does_not_count(client: Client) -> None:
    supply = transformer(minimum_load=jobs.quantity(20, "W"))
    request = job(run(lamp(3, watts(6))), supply=supply) | {"conditions": {"range": "as-stated"}}
    warned = answer(client, request, "/v1/transformer-loading")["summary"]
    accepted = answer(client, request | {"accept": ["below-minimum-load"]}, "/v1/transformer-loading")[
        "summary"
    ]
    assert (warned["verdict"], accepted["verdict"]) == ("passes-with-warnings", "passes")
    assert warned["text"].startswith("Passes with warnings. ")


def test_where_nothing_passes_the_summary_says_what_stands_in_the_way_and_what_helps(client: Client) -> None:
    line: Json = {**lamp(1, watts(7)), "at": feet(150), "count": 10, "spacing": feet(10)}
    request = job(run(line), supply=transformer(winding=jobs.winding(300, 4)))
    stock = [{"id": name, "conductor": name} for name in ("14 AWG", "12 AWG")]
    reply = answer(client, request | {"stock": stock}, "/v1/gauge-recommendation")
    assert reply["status"] == "none-passes"
    text = reply["summary"]["text"]
    assert text.startswith("No choice of these cables passes. With ")
    helping = next(each["message"] for each in reply["remedies"] if each["outcome"]["passes"])
    assert f"What would help: {helping}" in text


def test_what_a_warning_alone_rules_out_is_told_with_that_warning(client: Client) -> None:
    supply = transformer(winding=jobs.winding(150, 4), minimum_load=jobs.quantity(60, "W"))
    request = {"question": jobs.most_fixtures(watts(0.01), 0.1), "supply": supply, "cable": awg(12)}
    reply = answer(client, request | {"limits": {"window": window(5, 20)}}, "/v1/reach")
    assert reply["status"] == "out-of-reach"
    assert {each["severity"] for each in reply["binding"]} == {"warning"}
    assert reply["summary"]["verdict"] == "fails"
    said = reply["summary"]["text"]
    assert said.startswith("Does not pass. No number of fixtures from 1 to 500 keeps every limit. With 500")
    assert "The wiring draws " in said


@pytest.mark.parametrize("reach", [jobs.longest_run(watts(40)), jobs.most_fixtures(watts(4), 2.0)])
def test_reach_says_how_far_and_what_ends_it(client: Client, reach: Json) -> None:
    request = {"question": reach, "supply": transformer(winding=jobs.winding(150, 4)), "cable": awg(12)}
    reply = answer(client, request, "/v1/reach")
    point = reply["answer"]
    value = f"{point['count']} fixtures" if "count" in point else f"{point['length']['value']:g} ft"
    assert reply["summary"]["text"].startswith(f"Up to {value}. Beyond that: ")


def test_a_branch_is_named_by_its_run_and_a_place_of_a_graph_by_its_point(client: Client) -> None:
    arm = {"at": feet(5), "cable": awg(12), "fixtures": [lamp(40, watts(4))]}
    terrace = run(lamp(2, watts(4)), name="terrace", branches=[arm])
    weakest = answer(client, job(terrace, run(lamp(1, watts(4)), name="pond")))["summary"]["weakest"]
    assert weakest["name"].endswith(" of terrace branch 1")
    spans = [{"from": "supply", "to": "shed", "length": feet(60), "cable": awg(12)}]
    fixtures = [{"point": "shed", "load": watts(4)}]
    graph = {"form": "spans", "spans": spans, "fixtures": fixtures}
    reply = answer(client, {"supply": transformer(), "wiring": graph})
    assert reply["summary"]["weakest"]["name"] == "fixture at shed"
