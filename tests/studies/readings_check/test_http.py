"""`POST /v1/readings-check` as a client sees it."""

from __future__ import annotations

import copy
import json
from pathlib import Path

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.readings_check.findings import MAINS, WALK, read, supply_of
from tests.studies.readings_check.jobs import PATH, amps_at, check, fixture, lit, ohms_at, volts_at

EXAMPLE = json.loads(
    (Path(__file__).parents[3] / "openapi" / "examples" / "readings_check.json").read_text(encoding="utf-8")
)
GRAPH: Json = {
    "supply": jobs.transformer(),
    "wiring": {
        "form": "spans",
        "spans": [
            {"from": "supply", "to": "gate", "length": jobs.metres(10), "cable": jobs.awg(12), "id": "a"},
            {"from": "gate", "to": "shed", "length": jobs.metres(10), "cable": jobs.awg(12)},
        ],
        "fixtures": [{"point": "gate", "load": jobs.watts(5)}, {"point": "shed", "load": jobs.watts(5)}],
    },
}


def refused(client: Client, request: Json) -> list[tuple[str, str]]:
    reply = client.post(PATH, json=request)
    assert reply.status_code == 422, reply.text
    assert reply.json()["code"] == "readings-invalid"
    assert all(each["detail"].endswith(".") for each in reply.json()["errors"])
    return [(each["code"], each["pointer"]) for each in reply.json()["errors"]]


def test_the_example_finds_the_bad_joint_between_the_second_and_the_third_step(client: Client) -> None:
    reply = check(client, EXAMPLE)
    assert reply["verdict"] == "disagrees"
    first = reply["explanations"][0]
    assert first["code"] == "splice-resistance"
    assert first["located_at"] == {"pointer": fixture(0), "number": 3}
    assert first["between"] == {"from": "steps at 60 ft", "to": "steps at 90 ft"}
    assert first["size"]["unit"] == "ohm"
    assert "between step 2 and step 3" in first["message"]
    assert reply["identifiability"]["separated"]
    assert reply["readings"][1]["id"] == "second step"


def test_a_row_says_what_was_read_predicted_and_how_far_off(client: Client) -> None:
    row = check(client, EXAMPLE)["readings"][3]
    off = row["reading"]["value"] - row["predicted"]["value"]
    assert row["discrepancy"]["value"] == pytest.approx(off, abs=1e-4)
    assert row["normalised_residual"] == pytest.approx(2.0 * off / row["uncertainty"]["value"], abs=2e-3)
    assert (row["verdict"], row["subject"]) == ("low", {"pointer": fixture(0), "number": 4})
    assert row["where"] == "Voltage at step 4, everything on"


def test_shares_of_the_explanations_never_exceed_the_whole(client: Client) -> None:
    shares = [each["likelihood_share"] for each in check(client, EXAMPLE)["explanations"]]
    assert shares == sorted(shares, reverse=True)
    assert 0.0 < sum(shares) <= 1.0 + 1e-6


def test_a_job_with_limits_and_corners_may_be_sent_as_it_is(client: Client) -> None:
    more = {"limits": {"maximum_drop_percent": 1}, "conditions": {"switching": "individually"}}
    assert check(client, {**EXAMPLE, **more})["verdict"] == "disagrees"


def test_every_place_that_is_not_there_is_listed_at_once(client: Client) -> None:
    steps = jobs.job(jobs.run(jobs.lamp(5, jobs.watts(3), count=3, spacing=jobs.metres(5)), name="steps"))
    found = refused(
        client,
        {
            **steps,
            "readings": [
                volts_at("/wiring/runs/1"),
                volts_at(fixture(0)),
                volts_at(fixture(0), number=4),
                volts_at(fixture(0), number=3, state=lit("/wiring/runs/0/fixtures/1")),
                volts_at("/supply"),
            ],
        },
    )
    assert found == [
        ("reading-unknown-place", "/readings/0/subject/pointer"),
        ("reading-number-missing", "/readings/1/subject/pointer"),
        ("reading-number-unknown", "/readings/2/subject/number"),
        ("reading-unknown-place", "/readings/3/state/lit/0/pointer"),
        ("reading-unknown-place", "/readings/4/subject/pointer"),
    ]


def test_taps_and_circuits_that_are_not_there_are_refused(client: Client) -> None:
    tap = volts_at(None)
    tap["subject"]["tap"] = jobs.volts(15)
    circuit = amps_at(None)
    circuit["subject"]["circuit"] = "pool"
    assert refused(client, read(tap, circuit)) == [
        ("reading-unknown-tap", "/readings/0/subject/tap"),
        ("reading-unknown-circuit", "/readings/1/subject/circuit"),
    ]


def test_a_span_of_a_graph_has_amperes_and_no_volts(client: Client) -> None:
    amps = check(client, {**GRAPH, "readings": [amps_at("/wiring/spans/1", 0.42)]})
    assert amps["verdict"] == "agrees"
    assert amps["readings"][0]["predicted"]["value"] == pytest.approx(5 / 11.9, abs=0.01)
    assert refused(client, {**GRAPH, "readings": [volts_at("/wiring/spans/1")]}) == [
        ("reading-volts-of-span", "/readings/0/subject/pointer")
    ]


def test_a_fixture_of_a_graph_is_read_at_its_point(client: Client) -> None:
    reply = check(client, {**GRAPH, "readings": [volts_at("/wiring/fixtures/1", 11.0)]})
    assert reply["verdict"] in {"agrees", "disagrees"}
    assert reply["readings"][0]["predicted"]["value"] == pytest.approx(11.84, abs=0.05)


def test_the_short_form_is_read_by_number_and_at_its_end(client: Client) -> None:
    readings = [volts_at("/wiring", 11), volts_at("/wiring", 11, number=4)]
    rows = check(client, {**jobs.even(4, jobs.watts(5), 40), "readings": readings})["readings"]
    assert rows[0]["predicted"] == rows[1]["predicted"]


def test_a_reading_behind_a_lead_is_taken_before_it(client: Client) -> None:
    bare = jobs.job(jobs.run(jobs.lamp(10, jobs.watts(20)), cable=jobs.awg(14)))
    led = copy.deepcopy(bare)
    led["wiring"]["runs"][0]["fixtures"][0]["lead"] = {"length": jobs.metres(5), "cable": jobs.awg(18)}
    request = {**led, "readings": [volts_at(fixture(0), 11.5)]}
    splice = client.post("/v1/voltage-drop", json=led).json()["fixtures"][0]["splice_voltage"]
    assert check(client, request)["readings"][0]["predicted"] == splice


def test_the_next_reading_points_where_a_reading_can_be_taken(client: Client) -> None:
    request = {**WALK, "readings": [volts_at(fixture(1), 10.2)]}
    following = check(client, request)["next_reading"]
    pointer, on = following["subject"]["pointer"], following["state"]
    where = {"kind": "terminal"} if pointer == "/supply" else {"kind": "wired", **following["subject"]}
    quantity = {"kind": following["quantity"], "value": following["expected"][0]["value"]}
    told = {"subject": where, "state": on, "quantity": quantity}
    reply = check(client, {**WALK, "readings": [*request["readings"], told]})
    assert reply["readings"][1]["verdict"] != "not-used"


def test_whoever_goes_out_with_a_meter_is_cautioned(client: Client) -> None:
    cautions = {row["code"] for row in check(client, EXAMPLE)["cautions"]}
    assert {"isolate-first", "tight-joints", "local-code", "meter-category", "hot-joints"} <= cautions


def test_a_state_that_cannot_be_carried_spoils_no_other(client: Client) -> None:
    far = jobs.job(jobs.run(jobs.lamp(120, jobs.watts(60)), cable=jobs.awg(12)))
    request = {**far, "readings": [volts_at(None, 12, "no-load"), volts_at(fixture(0), 7.0)]}
    reply = check(client, request)
    assert [row["verdict"] for row in reply["readings"]] == ["agrees", "not-used"]
    assert jobs.codes(reply) == ["state-cannot-be-carried"]


def test_of_three_readings_the_one_that_contradicts_both_others_is_left_out(client: Client) -> None:
    three = jobs.job(
        jobs.run(*(jobs.lamp(10.0 * (at + 1), jobs.watts(5)) for at in range(3)), cable=jobs.awg(12))
    )
    readings = [volts_at(fixture(at), value) for at, value in enumerate((10, 11.7, 11.6))]
    reply = check(client, {**three, "readings": readings})
    assert [row["verdict"] == "not-used" for row in reply["readings"]] == [True, False, False]
    assert len(jobs.codes(reply)) == 1


def test_in_a_loop_the_far_side_may_stand_higher(client: Client) -> None:
    ring = jobs.job(
        jobs.run(
            jobs.lamp(10, jobs.watts(60)),
            jobs.lamp(20, jobs.watts(5)),
            cable=jobs.awg(16),
            return_leg={"length": jobs.metres(5)},
        )
    )
    reply = check(client, {**ring, "readings": [volts_at(fixture(0), 11.2), volts_at(fixture(1), 11.6)]})
    assert jobs.codes(reply) == []


LONG = jobs.run(*(jobs.lamp(3.0 * (at + 1), jobs.watts(2 + at % 3)) for at in range(30)), cable=jobs.awg(12))
MANY: Json = {
    **jobs.job(*[LONG] * 10, supply=jobs.transformer(winding=jobs.winding(1000, 5))),
    "readings": [
        volts_at(fixture(29, number), 7.5 + 0.3 * number, lit(f"/wiring/runs/{number}"))
        for number in range(10)
    ],
}
PLAIN = read(volts_at(fixture(0), 11.9))
ASSUMED: list[tuple[str, Json]] = [
    ("meter-usual", PLAIN),
    ("clamp-usual", read(amps_at(None, 0.8))),
    ("ohmmeter-usual", read(ohms_at(fixture(0), 0.4))),
    ("leads-usual", read(ohms_at(fixture(0), 0.4))),
    ("meter-gain-common", PLAIN),
    ("temperature-usual", PLAIN),
    ("temperature-within-5", {**PLAIN, "conditions": {"conductor_temperature": jobs.quantity(20, "degC")}}),
    ("lengths-within-2", PLAIN),
    ("resistance-within-2", PLAIN),
    ("power-within-3", PLAIN),
    ("winding-within-10", supply_of(winding=jobs.winding(150, 5))),
    ("supply-within", PLAIN),
    (
        "taps-within-1",
        {**WALK, "supply": jobs.transformer(taps=[jobs.volts(14)]), "readings": [volts_at(None)]},
    ),
    ("supply-common", read(volts_at(None), volts_at(None, 12, "no-load"))),
    ("primary-usual", read(volts_at(None, 11.8, MAINS))),
    ("mains-set-aside", {**WALK, "supply": jobs.dc_supply(), "readings": [volts_at(None, 12, MAINS)]}),
    ("one-cause", PLAIN),
    ("causes-left-out", MANY),
]


@pytest.mark.parametrize(("code", "request_body"), ASSUMED, ids=[code for code, _ in ASSUMED])
def test_what_a_check_takes_for_granted_is_said(client: Client, code: str, request_body: Json) -> None:
    assert code in jobs.assumed(check(client, request_body))


def test_a_meter_and_a_wiring_that_are_stated_leave_little_to_assume(client: Client) -> None:
    said = {
        "instrument": {"accuracy_percent": 1, "counts": 2, "voltage_resolution": jobs.volts(0.01)},
        "priors": {
            "length_percent": 1,
            "power_percent": 1,
            "winding_percent": 1,
            "mains_percent": 1,
            "resistance_percent": 1,
            "temperature_span": {"lowest": jobs.quantity(10, "degC"), "highest": jobs.quantity(20, "degC")},
        },
    }
    kept = {code for code, _ in ASSUMED} & set(jobs.assumed(check(client, {**PLAIN, **said})))
    assert kept == {"meter-gain-common", "one-cause"}
