"""Readings in every form of garden, at the ends of what is allowed, and laws that hold in all of them."""

import json

import pytest

from tests import jobs
from tests.client import Client
from tests.fuzz.asking import assert_sound
from tests.jobs import Json
from tests.studies.readings_check.jobs import PATH
from tests.studies.readings_check.readings import (
    ALL_ON,
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

SUPPLIES: dict[str, Json] = {
    "ideal": jobs.transformer(),
    "dc": jobs.dc_supply(),
    "dc with resistance": jobs.dc_supply(internal_resistance=jobs.quantity(40, "mohm")),
    "battery": jobs.battery(11, 12.4, 14, internal_resistance=jobs.quantity(30, "mohm")),
    "nearly no winding": jobs.transformer(winding=jobs.winding(100_000, 0.01)),
    "measured": jobs.transformer(winding=jobs.winding(150, 4), open_circuit={"voltage": jobs.volts(13)}),
}


@pytest.mark.parametrize("supply", SUPPLIES.values(), ids=SUPPLIES)
@pytest.mark.parametrize("value", [0.0, 9.0, 12.0, 20.0])
def test_every_supply_is_judged(client: Client, supply: Json, value: float) -> None:
    garden = {**GARDEN, "supply": supply}
    readings = [read_volts(each["subject"], value, each["state"]) for each in SOUND]
    ask(client, garden, *readings, read_amperes(TERMINAL, 3.0))


LOADS: dict[str, Json] = {
    "resistor": jobs.resistor(20),
    "filament": jobs.halogen(20),
    "current": jobs.amperes(1.5, power_factor=0.6),
    "apparent": jobs.volt_amperes(10, 30),
    "nothing": jobs.watts(0),
    "too much": jobs.watts(5_000),
}


@pytest.mark.parametrize("load", LOADS.values(), ids=LOADS)
@pytest.mark.parametrize("value", [0.0, 6.0, 11.5])
def test_every_load_is_judged(client: Client, load: Json, value: float) -> None:
    garden = jobs.job(jobs.run(jobs.lamp(10, load), jobs.lamp(25, load), cable=jobs.awg(14)), supply=BOX)
    far = read_volts(wired("/wiring/runs/0/fixtures/1"), value)
    ask(client, garden, SOUND[0], far, read_amperes(wired(LAMP), 1.0))


@pytest.mark.parametrize("state", [ALL_ON, NO_LOAD, None], ids=json.dumps)
@pytest.mark.parametrize("count", [1, 3])
def test_a_fixture_may_be_numbered_that_has_no_row_of_its_own(
    client: Client, count: int, state: Json | None
) -> None:
    garden = jobs.job(jobs.run(jobs.lamp(5, jobs.watts(4), count=count), cable=jobs.awg(12)), supply=BOX)
    reply = ask(client, garden, read_volts(wired(LAMP, number=count), 12.2, state))
    assert len(reply["readings"]) == 1


@pytest.mark.parametrize("power_w", [0.0, 5e-324, 1e-300, 1e-9])
@pytest.mark.parametrize("subject", [TERMINAL, wired("/wiring/runs/0"), wired(LAMP)], ids=json.dumps)
def test_a_load_of_next_to_nothing_is_answered(client: Client, power_w: float, subject: Json) -> None:
    garden = jobs.job(
        jobs.run(jobs.lamp(10, jobs.watts(power_w)), cable=jobs.awg(12)), jobs.run(cable=jobs.awg(14))
    )
    reply = ask(client, garden, read_amperes(subject, 3.0), read_volts(TERMINAL, 12.0))
    assert verdicts(reply)[0] != "agrees"


def test_a_garden_of_no_fixtures_is_judged(client: Client) -> None:
    garden = jobs.job(jobs.run(tail=jobs.metres(10)), supply=BOX)
    ask(client, garden, read_volts(TERMINAL, 12.4), read_volts(wired("/wiring/runs/0"), 3.0))


def test_the_short_form_is_judged(client: Client) -> None:
    garden = jobs.even(6, jobs.watts(5), 30, cable=jobs.awg(14))
    reply = client.post(PATH, json={**garden, "readings": [SOUND[0], read_volts(wired("/wiring"), 11.0)]})
    assert_sound(PATH, reply)
    assert reply.status_code in (200, 422)


def test_totals_are_answered_or_refused_in_words(client: Client) -> None:
    wiring = {"form": "totals", "load": jobs.watts(60), "cable": jobs.awg(12), "length": jobs.metres(30)}
    reply = client.post(PATH, json={"supply": BOX, "wiring": wiring, "readings": SOUND[:2]})
    assert_sound(PATH, reply)


MESH: Json = {
    "supply": BOX,
    "wiring": {
        "form": "spans",
        "spans": [
            {"from": "supply", "to": "a", "length": jobs.metres(10), "cable": jobs.awg(12)},
            {"from": "a", "to": "b", "length": jobs.metres(10), "cable": jobs.awg(12)},
            {"from": "b", "to": "c", "length": jobs.metres(10), "cable": jobs.awg(12)},
            {"from": "c", "to": "a", "length": jobs.metres(10), "cable": jobs.awg(12)},
            {"from": "a", "to": "b", "length": jobs.metres(12), "cable": jobs.awg(14)},
        ],
        "fixtures": [
            {"point": "a", "load": jobs.watts(10)},
            {"point": "b", "load": jobs.watts(20), "count": 2},
            {"point": "c", "load": jobs.watts(20)},
        ],
    },
}


@pytest.mark.parametrize("value", [0.0, 10.0, 12.0])
def test_a_mesh_is_judged(client: Client, value: float) -> None:
    readings = [
        SOUND[0],
        read_volts(wired("/wiring/fixtures/2"), value),
        read_volts(wired("/wiring/fixtures/0"), 12.0),
        read_amperes(wired("/wiring/spans/1"), 1.0),
        read_amperes(wired("/wiring/spans/3"), 0.0),
    ]
    reply = ask(client, MESH, *readings)
    assert (reply["verdict"] == "agrees") <= (value > 1.0)


NOTHING_VARIES: Json = {
    "length_percent": 0,
    "power_percent": 0,
    "winding_percent": 0,
    "mains_percent": 0,
    "resistance_percent": 0,
    "temperature_span": {"lowest": jobs.quantity(20, "degC"), "highest": jobs.quantity(20, "degC")},
}
PERFECT: Json = {
    "accuracy_percent": 0,
    "counts": 0,
    "voltage_resolution": jobs.quantity(0.0001, "V"),
    "current_accuracy_percent": 0,
    "current_counts": 0,
}


def test_a_perfect_meter_in_a_garden_in_which_nothing_varies_is_answered(client: Client) -> None:
    reply = ask(client, GARDEN, *SOUND * 3, instrument=PERFECT, priors=NOTHING_VARIES)
    assert len(reply["readings"]) == 15


@pytest.mark.parametrize(("lowest", "highest"), [(35, 5), (-40, -40), (90, 90)])
def test_a_span_of_temperatures_is_taken_or_refused(client: Client, lowest: float, highest: float) -> None:
    priors = {
        "temperature_span": {
            "lowest": jobs.quantity(lowest, "degC"),
            "highest": jobs.quantity(highest, "degC"),
        }
    }
    reply = client.post(PATH, json={**GARDEN, "readings": SOUND, "priors": priors})
    assert_sound(PATH, reply)


def test_an_averaging_meter_is_not_believed_where_current_is_not_all_active(client: Client) -> None:
    reply = ask(client, GARDEN, *SOUND, instrument={"kind": "averaging"})
    assert set(verdicts(reply)[1:]) == {"not-used"}


FAULTY = [
    *SOUND[:2],
    *(read_volts(each["subject"], each["quantity"]["value"]["value"] - 0.8) for each in SOUND[2:]),
]


def test_millivolts_are_volts(client: Client) -> None:
    milli = [
        read_volts(each["subject"], each["quantity"]["value"]["value"] * 1000.0, each["state"], "mV")
        for each in FAULTY
    ]
    one, other = ask(client, GARDEN, *FAULTY), ask(client, GARDEN, *milli)
    assert one["chi_square"]["statistic"] == pytest.approx(other["chi_square"]["statistic"], rel=1e-9)
    assert [each["code"] for each in one["explanations"]] == [each["code"] for each in other["explanations"]]


def test_a_missing_thing_common_to_all_volts_is_the_supply(client: Client) -> None:
    low = [
        read_volts(each["subject"], each["quantity"]["value"]["value"] * 0.85, each["state"])
        for each in SOUND
    ]
    reply = ask(client, GARDEN, *low)
    assert reply["explanations"][0]["code"] == "supply-voltage"


def test_a_reading_higher_downstream_than_upstream_is_named(client: Client) -> None:
    reply = ask(
        client, GARDEN, *SOUND[:2], read_volts(wired(LAMP), 11.0), read_volts(wired(LINE, number=3), 11.9)
    )
    assert reply["verdict"] != "agrees"
    assert codes(reply)


def test_volts_that_no_cable_explains_are_named(client: Client) -> None:
    reply = ask(client, GARDEN, *SOUND[:2], read_volts(wired(LAMP), 6.0))
    assert reply["verdict"] != "agrees"
    assert codes(reply)


def largest(fixtures: int, readings: int, value: float) -> Json:
    """A long line read at many of its fixtures, in as many states as there are readings."""
    garden = jobs.job(
        jobs.run(
            jobs.lamp(1, jobs.watts(0.1), count=fixtures, spacing=jobs.metres(0.5)),
            cable=jobs.ohms_per_km(1.0),
        ),
        supply=BOX,
    )
    step = max(1, fixtures // readings)
    told = [
        read_volts(
            wired(LAMP, number=1 + step * index % fixtures),
            value,
            {"on": "listed", "lit": [{"pointer": LAMP, "number": 1 + index % fixtures}]},
        )
        for index in range(readings)
    ]
    return {**garden, "readings": told}


@pytest.mark.parametrize("value", [12.4, 9.0])
def test_the_largest_request_is_answered_or_refused_for_its_work(client: Client, value: float) -> None:
    reply = client.post(PATH, json=largest(2_000, 200, value))
    assert_sound(PATH, reply)
    assert reply.status_code in (200, 422)
