"""Ohms of a loop: the supply off, the far conductors joined, the meter where the cable left the supply."""

from typing import Any

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.readings_check.jobs import PATH, check, fixture, ohms_at, volts_at

OHM_PER_M = 2 * 1.98 / 304.8
"""12 AWG, coated no, stranded, both conductors at 75 °C: NEC chapter 9 table 8, from memory."""

WARM = 1 + 0.00323 * (20 - 75)
"""NEC chapter 9 table 8, note 2: R2 = R1 [1 + 0.00323 (T2 - 75)]; predictions are for 20 °C."""

GOOD = {
    "resistance_accuracy_percent": 0.2,
    "resistance_counts": 1,
    "resistance_resolution": jobs.quantity(0.001, "ohm"),
    "lead_resistance": jobs.quantity(0.05, "ohm"),
}
OFF: Json = {"on": "disconnected"}


def garden(*loads: Json, **more: Any) -> Json:
    placed = loads or (jobs.watts(8, power_factor=1),) * 3
    lamps = [jobs.lamp(10.0 * place, load) for place, load in enumerate(placed, 1)]
    cable = {"kind": "listed", "conductor": "12 AWG"}
    return jobs.job(
        jobs.run(*lamps, cable=cable, name="Drive", **more),
        supply=jobs.transformer(12, winding=jobs.winding(150, 5)),
    )


def read(client: Client, described: Json, *readings: Json, **instrument: Any) -> Json:
    return check(client, {**described, "readings": list(readings), "instrument": {**GOOD, **instrument}})


def test_a_loop_has_the_ohms_of_both_conductors_to_where_they_are_joined(client: Client) -> None:
    ohm = 30 * OHM_PER_M * WARM + 0.05
    reply = read(
        client, garden(), ohms_at(fixture(2), ohm), ohms_at("/wiring/runs/0", 1000 * ohm, unit="mohm")
    )
    assert reply["verdict"] == "agrees"
    for row in reply["readings"]:
        assert row["predicted"] == {"value": pytest.approx(ohm, abs=2e-4), "unit": "ohm"}
    assert reply["readings"][0]["where"].startswith("Resistance at ")
    assert reply["readings"][0]["where"].endswith("supply off and disconnected")


def test_parallel_ways_of_a_loop_share_the_current(client: Client) -> None:
    # 30 m out and 30 m of return leg back: at 10 m, 10 m and 50 m in parallel.
    described = garden(return_leg={"length": jobs.metres(30)})
    ohm = 10 * 50 / 60 * OHM_PER_M * WARM + 0.05
    reply = read(client, described, ohms_at(fixture(0), ohm))
    assert reply["readings"][0]["predicted"]["value"] == pytest.approx(ohm, abs=2e-4)


def test_a_bad_joint_is_found_by_ohms_alone(client: Client) -> None:
    readings = [
        ohms_at(fixture(place), 10 * (place + 1) * OHM_PER_M * WARM + 0.05 + 0.4 * (place > 0))
        for place in range(3)
    ]
    reply = read(client, garden(), *readings)
    first = reply["explanations"][0]
    assert reply["verdict"] == "disagrees"
    assert first["code"] == "splice-resistance"
    assert first["located_at"]["pointer"] == fixture(1)
    assert first["size"]["value"] == pytest.approx(0.4, abs=0.02)


def test_ohms_tell_a_bad_joint_from_a_stronger_lamp(client: Client) -> None:
    # Both take the same volts off the far lamp; only the joint is there with nothing on.
    drop = [volts_at(None, 12.3), volts_at(fixture(2), 10.9)]
    with_volts = read(client, garden(), *drop)
    assert not with_volts["identifiability"]["separated"]
    ohms = [
        ohms_at(fixture(0), 10 * OHM_PER_M * WARM + 0.05),
        ohms_at(fixture(2), 30 * OHM_PER_M * WARM + 0.75),
    ]
    both = read(client, garden(), *drop, *ohms)
    assert {
        both["explanations"][index]["code"] for index in (0, *both["identifiability"]["alternatives"])
    } <= {
        "splice-resistance",
        "span-resistance",
    }


def test_a_hand_held_ohmmeter_is_trusted_no_more_than_its_last_digit(client: Client) -> None:
    described = {**garden(), "readings": [ohms_at(fixture(2), 0.7)]}
    reply = check(client, described)
    assert reply["verdict"] == "agrees"
    assert reply["readings"][0]["uncertainty"]["value"] > 0.3
    codes = {each["code"] for each in reply["assumptions"]}
    assert {"ohmmeter-usual", "leads-usual"} <= codes
    assert not {"meter-usual", "clamp-usual"} & codes


@pytest.mark.parametrize(
    "load",
    [
        jobs.resistor(20),
        {"kind": "filament", "power": jobs.quantity(20, "W"), "rated_voltage": jobs.volts(12)},
    ],
)
def test_lamps_that_conduct_must_be_out(client: Client, load: Json) -> None:
    described = garden(load, jobs.watts(8, power_factor=1))
    ohm = 20 * OHM_PER_M * WARM + 0.05
    left_in = read(client, described, ohms_at(fixture(1), ohm))
    assert left_in["verdict"] == "nothing-to-judge"
    assert [each["code"] for each in left_in["findings"]] == ["resistance-lamps-in"]
    out = read(client, described, ohms_at(fixture(1), ohm, {**OFF, "lamps_out": True}))
    assert out["verdict"] == "agrees"


@pytest.mark.parametrize(
    "reading",
    [
        ohms_at(fixture(1), 0.2, "all-on"),
        ohms_at(fixture(1), 0.2, "no-load"),
        volts_at(fixture(1), 0.0, OFF),
    ],
)
def test_ohms_under_power_and_volts_without_it_say_nothing(client: Client, reading: Json) -> None:
    reply = read(client, garden(), reading, volts_at(None, 12.6, "no-load"))
    assert [each["code"] for each in reply["findings"]] == ["reading-state-unfit"]
    assert reply["readings"][0]["verdict"] == "not-used"
    assert reply["verdict"] == "agrees"


def test_nobody_puts_an_ohmmeter_on_a_supply(client: Client) -> None:
    reply = client.post(PATH, json={**garden(), "readings": [ohms_at(None, 1.0)]})
    assert reply.status_code == 422
    [error] = reply.json()["errors"]
    assert (error["code"], error["pointer"]) == ("reading-ohms-of-supply", "/readings/0/subject")


def test_a_broken_cable_is_one_that_no_ohmmeter_gets_through(client: Client) -> None:
    readings = [ohms_at(fixture(0), 10 * OHM_PER_M * WARM + 0.05), ohms_at(fixture(2), 1000.0)]
    reply = read(client, garden(), *readings)
    assert reply["verdict"] in {"disagrees", "contradicts"}
    assert reply["explanations"] == [] or reply["explanations"][0]["code"] in {
        "splice-resistance",
        "open-circuit",
    }


def test_a_joint_that_lets_next_to_nothing_through_has_a_least_size(client: Client) -> None:
    readings = [volts_at(None, 12.6), volts_at(fixture(0), 12.55), volts_at(fixture(1), 0.0)]
    reply = read(client, garden(jobs.resistor(20), jobs.resistor(20)), *readings)
    joint = next(each for each in reply["explanations"] if each["code"] == "splice-resistance")
    assert "size" not in joint
    assert joint["at_least"]["unit"] == "ohm"
    assert joint["at_least"]["value"] > 1000.0
    assert joint["message"].partition(" extra")[0].endswith(" ohm or more")
