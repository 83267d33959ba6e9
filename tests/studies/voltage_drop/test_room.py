"""Room for more load: what is said is asked again with every load so much larger."""

import random
from typing import Any

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json, answer, awg, feet, job, run, transformer, volts, watts, winding, window

POWERS = {"power", "apparent_power", "current"}


def with_share(body: Any, ratio: float) -> Any:
    """A wiring with every load at a share of what it is."""
    if isinstance(body, list):
        return [with_share(each, ratio) for each in body]
    if not isinstance(body, dict):
        return body
    return {
        name: {**each, "value": each["value"] * ratio} if name in POWERS else with_share(each, ratio)
        for name, each in body.items()
    }


def broken(client: Client, request: Json, percent: int) -> set[tuple[str, str, int | None]]:
    """Every fault and warning with a share of the load."""
    body = {**request, "wiring": with_share(request["wiring"], percent / 100), "margin": False}
    return {
        (found["code"], found["subject"]["pointer"], found["subject"].get("number"))
        for found in answer(client, body)["findings"]
        if found["severity"] != "note"
    }


def drawn(seed: int) -> Json:
    """One to three runs of LED lamps on a box, as stated or over the mains range."""
    pick = random.Random(seed)
    runs = []
    for _ in range(pick.randint(1, 3)):
        each_w = round(pick.uniform(2, 9), 1)
        load = pick.choice([watts(each_w), jobs.volt_amperes(each_w, round(1.3 * each_w, 1))])
        line = {
            "at": feet(pick.randint(5, 80)),
            "load": load,
            "count": pick.randint(2, 12),
            "spacing": feet(pick.randint(2, 12)),
        }
        runs.append(run(line, cable=awg(pick.choice([16, 14, 12, 10]))))
    more: Json = {}
    if pick.random() < 0.4:
        more["minimum_load"] = jobs.quantity(30, "W")
    request = job(*runs, supply=transformer(winding=winding(pick.choice([60, 150, 300]), 4), **more))
    if pick.random() < 0.5:
        request["conditions"] = {"mains": {"kind": "named", "range": "outlet"}}
    return {**request, "margin": True}


@pytest.mark.parametrize("seed", range(40))
def test_so_much_breaks_nothing_more_and_a_per_cent_more_does(client: Client, seed: int) -> None:
    request = drawn(seed)
    reply = answer(client, request)
    room = reply["summary"].get("room")
    least, as_it_is = broken(client, request, 5), broken(client, request, 100)
    if room is None:
        # Less load does not mend it: one fault is there with next to none as well.
        faults = {found["code"] for found in reply["findings"] if found["severity"] == "fault"}
        assert {code for code, *_ in as_it_is & least} & faults
        return
    percent = room["load_percent"]
    assert (percent >= 100) is (as_it_is <= least)
    assert broken(client, request, percent) <= least
    if "binding" in room:
        beyond = broken(client, request, percent + 1) - least
        assert room["binding"] in {code for code, *_ in beyond}
    else:
        assert percent == room["searched_to_percent"] == 300
    words = "It would pass with " if percent < 100 else "No room for " if percent == 100 else "Room for "
    assert words in reply["summary"]["text"]


def test_room_by_hand(client: Client) -> None:
    # NEC chapter 9 table 8, stranded copper at 75 degC: 12 AWG has 1.98 ohm/kft, a loop of 100 ft 0.396 ohm.
    # A lamp that keeps its current leaves 11 of 12 V with 1 V / 0.396 ohm = 2.525 A.
    lamp = {"at": feet(100), "load": jobs.amperes(1), "window": window(11, 13)}
    hot = {"conductor_temperature": jobs.quantity(75, "degC")}
    request = {**job(run(lamp, cable=awg(12)), supply=jobs.dc_supply(12)), "conditions": hot, "margin": True}
    summary = answer(client, request)["summary"]
    assert summary["room"]["load_percent"] == 252
    assert summary["room"]["binding"] == "fixture-below-window"
    assert summary["text"].endswith("Room for 152 % more load at every lamp.")


def test_a_fault_that_less_load_does_not_mend_leaves_no_room(client: Client) -> None:
    taps = [volts(tap_v) for tap_v in (12, 15)]
    lamp = {"at": feet(10), "load": watts(4), "window": window(9, 12.5)}
    request = job(run(lamp, tap=volts(15)), supply=transformer(12, taps=taps, winding=winding(300, 4)))
    summary = answer(client, {**request, "margin": True})["summary"]
    assert summary["verdict"] == "fails"
    assert "room" not in summary
    assert "Room" not in summary["text"]


def test_room_is_sought_only_where_it_is_asked_for(client: Client) -> None:
    request = job(run({"at": feet(10), "load": watts(4)}))
    assert "room" not in answer(client, request)["summary"]
    assert "room" in answer(client, {**request, "margin": True})["summary"]
