"""The one sentence that an installer reads first: no more than the readings carry."""

from pathlib import Path
from typing import Any

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json, lamp, transformer, watts, winding
from tests.studies.readings_check.jobs import amps_at, check, fixture, read_off, volts_at

ROOT = Path(__file__).parents[3]
CASES = ROOT / "tests" / "cases" / "readings_check"
EXAMPLE = ROOT / "openapi" / "examples" / "readings_check.json"
UNFIT = "The readings do not fit the wiring as described. "


def job(load: float = 20.0) -> Json:
    """Two lamps on 30 m of 12 AWG behind a transformer of 150 VA."""
    run = {
        "cable": {"kind": "listed", "conductor": "12 AWG"},
        "fixtures": [lamp(15, watts(load, power_factor=1)), lamp(30, watts(load, power_factor=1))],
    }
    return {
        "supply": transformer(12, winding=winding(150, 5)),
        "wiring": {"form": "runs", "runs": [run]},
    }


def asked(client: Client, path: Path) -> Any:
    reply = client.post(
        "/v1/readings-check", content=path.read_bytes(), headers={"Content-Type": "application/json"}
    )
    assert reply.status_code == 200
    return reply.json()


@pytest.mark.parametrize(
    ("case", "verdict", "sentence"),
    [
        ("staged_first_lamp", "agrees", "The readings match the wiring as described"),
        ("staged_third_lamp", "contradicts", "No single cause explains these readings together"),
    ],
)
def test_the_staged_sequence_is_answered_in_one_sentence(
    client: Client, case: str, verdict: str, sentence: str
) -> None:
    # Common practice, no published source: the cases say where the readings come from.
    reply = asked(client, CASES / case / "request.json")
    assert reply["verdict"] == verdict
    assert reply["conclusion"].startswith(sentence)


def test_a_place_that_is_settled_names_every_fault_that_fits_there(client: Client) -> None:
    # A bad joint and a thinner cable on one stretch have the same volts; only looking tells them apart.
    reply = asked(client, EXAMPLE)
    assert reply["identifiability"]["separated"]
    assert reply["identifiability"]["alternatives"] == [1]
    first, second = (each["message"].rstrip(".") for each in reply["explanations"][:2])
    assert reply["conclusion"] == (
        f"{UNFIT}One place would explain them; the readings cannot tell which of these it is:"
        f" (1) {first}; (2) {second}. No reading that is easily taken tells them apart: look there."
    )
    assert "next_reading" not in reply


def test_of_faults_that_fit_alike_none_is_named_as_if_it_were_known(client: Client) -> None:
    # Two stretches of one cable, and one reading behind both: either of them may be bad.
    reply = check(
        client, {**job(), "readings": [volts_at(None, 12.6, "no-load"), volts_at(fixture(1), 10.4)]}
    )
    tied = reply["identifiability"]["alternatives"]
    assert tied
    assert not reply["identifiability"]["separated"]
    assert reply["conclusion"].startswith(
        f"{UNFIT}One of these would explain them; the readings cannot tell which:"
    )
    for index in (0, *tied[:4]):
        assert reply["explanations"][index]["message"].rstrip(".") in reply["conclusion"]
    assert reply["conclusion"].endswith(", next.")
    read_next = reply["next_reading"]["message"].partition(":")[0]
    assert f"{read_next}, next." in reply["conclusion"]


def test_a_lamp_is_never_said_to_draw_what_no_lamp_in_its_place_draws(client: Client) -> None:
    # 7 W of 12 V behind 30 m of 12 AWG: the volts want six times as much, which no lamp of that socket has.
    request = {**job(7.0), "priors": {"power_percent": 3}}
    reply = check(
        client,
        {
            **request,
            "readings": [
                volts_at(None, 12.6, "no-load"),
                volts_at(None, 12.6 - 0.048 * 51.0 / 12.0),
                volts_at(fixture(0), 12.6 - 0.048 * 51.0 / 12.0 - 0.39 * 51.0 / 12.0),
                amps_at(fixture(0), 44.0 / 11.0),
            ],
        },
    )
    sizes = [each["size"]["value"] for each in reply["explanations"] if each["code"] == "fixture-power"]
    assert all(size < 5.0 for size in sizes)
    assert "44 W" not in reply["conclusion"]


def test_a_fault_without_a_rival_would_explain_the_readings(client: Client) -> None:
    reply = asked(client, CASES / "staged_second_lamp" / "request.json")
    assert reply["identifiability"]["alternatives"] == []
    assert reply["conclusion"] == (
        f"{UNFIT}One thing would explain them: {reply['explanations'][0]['message']}"
    )


def test_readings_that_agree_do_not_speak_for_a_lamp_too_small_to_show(client: Client) -> None:
    # Of 0.5 % and 2 counts a meter shows 11.9 V to 0.08 V; the last lamp of 1 W moves it by less.
    lamps = [
        lamp(15, watts(40, power_factor=1), name="pond"),
        lamp(30, watts(1, power_factor=1), name="steps"),
    ]
    cable = {"kind": "listed", "conductor": "12 AWG"}
    described = jobs.job(jobs.run(*lamps, cable=cable), supply=transformer(12, winding=winding(150, 5)))
    readings = [volts_at(None), volts_at(fixture(0)), volts_at(fixture(1))]
    reply = check(client, read_off({**described, "readings": readings}, decimals=2))
    assert reply["verdict"] == "agrees"
    assert reply["conclusion"].endswith(" They cannot tell whether steps is lit: look at the lamps.")
    assert reply["summary"]["text"] == reply["conclusion"]


def test_readings_that_would_show_every_lamp_say_no_more_than_that_they_agree(client: Client) -> None:
    lamps = [lamp(15, watts(40, power_factor=1)), lamp(30, watts(40, power_factor=1))]
    cable = {"kind": "listed", "conductor": "12 AWG"}
    described = jobs.job(jobs.run(*lamps, cable=cable), supply=transformer(12, winding=winding(150, 5)))
    readings = [volts_at(None, state="no-load"), volts_at(None), volts_at(fixture(0)), volts_at(fixture(1))]
    reply = check(client, read_off({**described, "readings": readings}, decimals=2))
    assert reply["conclusion"].endswith("differences as small as these are normal.")
