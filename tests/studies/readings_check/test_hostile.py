"""Readings that are wrong, absurd or out of place: a clear problem or a plain answer, never a failure."""

import json
from typing import Any

import pytest

from tests import jobs
from tests.client import Client
from tests.fuzz.asking import assert_sound
from tests.jobs import (
    Json,
    volts,
)
from tests.studies.readings_check.jobs import PATH
from tests.studies.readings_check.readings import (
    BOX,
    GARDEN,
    LAMP,
    LINE,
    NO_LOAD,
    SOUND,
    TERMINAL,
    ask,
    codes,
    read_amperes,
    read_volts,
    verdicts,
    wired,
)

NOWHERE = [
    "",
    "/",
    "/wiring",
    "/wiring/runs",
    "/wiring/runs/9",
    "/wiring/runs/0/fixtures/9",
    "/wiring/runs/0/fixtures/00",
    "/wiring/runs/0/fixtures/-1",
    "/wiring/runs/0/fixtures/٣",
    "/wiring/runs/0/branches/0/spurs/0",
    "/wiring/runs/0/fixtures/0/load",
    "/wiring/runs/0/cable",
    "/wiring/spans/0",
    "/supply",
    "/readings/0",
    "wiring/runs/0",
    "/WIRING/runs/0",
    "/wiring/runs/0/",
    "/wiring/~2",
]


@pytest.mark.parametrize("pointer", NOWHERE)
def test_a_pointer_to_nothing_is_refused_at_its_place(client: Client, pointer: str) -> None:
    reply = client.post(PATH, json={**GARDEN, "readings": [SOUND[0], read_volts(wired(pointer), 12.0)]})
    assert_sound(PATH, reply)
    assert reply.status_code in (400, 422), reply.text
    assert [error["pointer"] for error in reply.json()["errors"]] == ["/readings/1/subject/pointer"]


@pytest.mark.parametrize(
    "subject",
    [
        wired(LINE),
        wired(LINE, number=4),
        wired(LAMP, number=2),
        wired("/wiring/runs/0", number=1),
        {"kind": "terminal", "tap": volts(14)},
        {"kind": "terminal", "circuit": "no such"},
    ],
    ids=json.dumps,
)
def test_a_subject_that_is_not_one_thing_is_refused(client: Client, subject: Json) -> None:
    problem = ask(client, GARDEN, read_volts(subject, 12.0), status=422)
    assert [error["pointer"].startswith("/readings/0/subject") for error in problem["errors"]] == [True]


@pytest.mark.parametrize("number", [0, -1, 1.5, "1", 2_000_001, None])
def test_a_number_that_counts_nothing_is_refused(client: Client, number: Any) -> None:
    problem = ask(client, GARDEN, read_volts(wired(LINE, number=number), 12.0), status=400)
    assert [error["pointer"] for error in problem["errors"]] == ["/readings/0/subject/number"]


@pytest.mark.parametrize("count", [0, 201])
def test_readings_out_of_number_are_refused(client: Client, count: int) -> None:
    problem = ask(client, GARDEN, *[SOUND[1]] * count, status=400)
    assert [error["pointer"] for error in problem["errors"]] == ["/readings"]


def test_two_hundred_readings_are_judged(client: Client) -> None:
    reply = ask(client, GARDEN, *SOUND * 40)
    assert len(reply["readings"]) == 200


def test_two_hundred_readings_that_disagree_are_judged(client: Client) -> None:
    far = [read_volts(wired(LAMP), 11.4 + 0.001 * (index % 20)) for index in range(199)]
    reply = ask(client, GARDEN, SOUND[0], *far)
    assert len(reply["readings"]) == 200
    assert reply["verdict"] != "agrees"


@pytest.mark.parametrize("value", [-1e-9, -12.0, 1e300])
def test_a_value_that_no_meter_shows_is_refused(client: Client, value: float) -> None:
    problem = ask(client, GARDEN, read_volts(TERMINAL, value), status=400)
    assert [error["pointer"] for error in problem["errors"]] == ["/readings/0/quantity/value/value"]


@pytest.mark.parametrize("value", [0.0, 5e-324, 1e-9, 0.004, 1.0, 29.0, 59.0])
@pytest.mark.parametrize("index", range(len(SOUND)))
def test_an_absurd_voltage_never_agrees(client: Client, index: int, value: float) -> None:
    readings = [*SOUND]
    readings[index] = read_volts(SOUND[index]["subject"], value, SOUND[index]["state"])
    reply = ask(client, GARDEN, *readings)
    assert reply["verdict"] != "agrees"
    assert verdicts(reply)[index] != "agrees"


@pytest.mark.parametrize("value", [0.0, 1e-9, 5.0, 500.0])
def test_amperes_of_a_garden_that_is_off_are_answered(client: Client, value: float) -> None:
    reply = ask(client, GARDEN, *SOUND, read_amperes(wired("/wiring/runs/0"), value, NO_LOAD))
    assert (verdicts(reply)[-1] == "agrees") == (value < 1.0)


def test_sound_readings_agree(client: Client) -> None:
    reply = ask(client, GARDEN, *SOUND)
    assert reply["verdict"] == "agrees"
    assert set(verdicts(reply)) == {"agrees"}
    assert reply["explanations"] == []


def test_readings_that_deny_one_another_do_not_agree(client: Client) -> None:
    reply = ask(client, GARDEN, *SOUND, read_volts(wired(LAMP), 11.0), read_volts(wired(LAMP), 12.2))
    assert reply["verdict"] != "agrees"


def test_readings_without_a_state_leave_nothing_to_judge(client: Client) -> None:
    reply = ask(client, GARDEN, *_stateless())
    assert reply["verdict"] == "nothing-to-judge"
    assert "reading-without-state" in codes(reply)
    assert {(row["verdict"], row["reason"]) for row in reply["readings"]} == {
        ("not-used", "reading-without-state")
    }
    assert reply["explanations"] == []
    (group,) = reply["summary"]["findings"]
    assert group["message"].startswith("Reading 1 does not say what was on")


def _stateless() -> list[Json]:
    return [{key: part for key, part in reading.items() if key != "state"} for reading in SOUND]


def test_a_reading_without_a_state_changes_no_other(client: Client) -> None:
    [stateless, *_] = _stateless()
    alone, beside = ask(client, GARDEN, *SOUND), ask(client, GARDEN, *SOUND, {**stateless})
    assert beside["chi_square"] == alone["chi_square"]
    assert [row["predicted"] for row in beside["readings"][:-1]] == [
        row["predicted"] for row in alone["readings"]
    ]


@pytest.mark.parametrize(
    "state",
    [
        {"on": "listed", "lit": [{"pointer": LAMP}]},
        {"on": "listed", "lit": [{"pointer": LINE, "number": 2}]},
        {"on": "listed", "lit": [{"pointer": LAMP}, {"pointer": LAMP}, {"pointer": "/wiring/runs/0"}]},
        {"on": "listed", "lit": [{"pointer": "/wiring/runs/0/branches/0"}]},
        {"on": "all-on", "mains": volts(120)},
        {"on": "no-load", "mains": volts(90)},
    ],
    ids=json.dumps,
)
def test_every_state_is_judged(client: Client, state: Json) -> None:
    mains: Json = {"rated": volts(120), "actual": volts(120)}
    garden = {**GARDEN, "supply": {**BOX, "primary": mains}}
    readings = [read_volts(each["subject"], 12.0, state) for each in SOUND]
    reply = ask(client, garden, *readings)
    assert len(reply["readings"]) == len(readings)


@pytest.mark.parametrize(
    "state",
    [
        {"on": "listed", "lit": []},
        {"on": "listed"},
        {"on": "dimmed"},
        {"on": "all-on", "mains": volts(0)},
        {"on": "all-on", "mains": volts(-120)},
        {"on": "all-on", "lit": [{"pointer": LAMP}]},
        {},
        None,
    ],
    ids=json.dumps,
)
def test_a_state_that_says_nothing_is_refused_or_answered(client: Client, state: Any) -> None:
    reply = client.post(PATH, json={**GARDEN, "readings": [read_volts(TERMINAL, 12.0) | {"state": state}]})
    assert_sound(PATH, reply)
    if reply.status_code == 400:
        assert all(error["pointer"].startswith("/readings/0/state") for error in reply.json()["errors"])


@pytest.mark.parametrize("watts", [5e-324, 1e-300, 1e-9])
def test_a_load_that_is_nearly_all_lag_is_answered(client: Client, watts: float) -> None:
    wiring = jobs.even(6, jobs.volt_amperes(watts, 5.2), 128, cable=jobs.awg(12))["wiring"]
    readings = [read_volts(TERMINAL, 12.0), read_amperes(TERMINAL, 1.5)]
    reply = client.post(PATH, json={"supply": BOX, "wiring": wiring, "readings": readings})
    assert_sound(PATH, reply)
    assert reply.status_code == 200, reply.text
