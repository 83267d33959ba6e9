"""What keeps every limit is a range: small values may fail as well, and what is answered passes when posted.

A run is judged by `POST /v1/voltage-drop` alone: no fault there and no warning that was not accepted.
"""

from __future__ import annotations

import random

import pytest

from tests.client import Client
from tests.jobs import (
    AS_STATED,
    EVENLY_SPREAD,
    LUMPED,
    Json,
    amperes,
    answer,
    asked,
    awg,
    battery,
    binding,
    codes,
    dc_supply,
    feet,
    halogen,
    largest_load,
    longest_run,
    metres,
    most_fixtures,
    quantity,
    question,
    reached,
    resistor,
    spacing,
    transformer,
    watts,
    winding,
    window,
    within,
)

NARROW = {"window": window(10.5, 12.5)}
USUAL: Json = {}


def ruled_out(client: Client, supply: Json, wiring: Json, conditions: Json, accept: list[str]) -> set[str]:
    """The codes with which a voltage drop rules a wiring out."""
    posted = {"supply": supply, "wiring": wiring, "conditions": conditions}
    return {
        found["code"]
        for found in answer(client, posted)["findings"]
        if found["severity"] == "fault" or (found["severity"] == "warning" and found["code"] not in accept)
    }


def ruled_out_as_answered(client: Client, request: Json, reply: Json) -> set[str]:
    return ruled_out(
        client, request["supply"], reply["wiring"], reply["judged_conditions"], request.get("accept", [])
    )


# Three answers that were wrong.


def test_fixtures_overfed_beside_the_box_are_no_run_that_keeps_every_limit(client: Client) -> None:
    # 14 V at the box and windows up to 12.5 V: the first lamp stands above its window however many follow.
    asks = question(
        most_fixtures(watts(3), 2), supply=transformer(14.0), cable=awg(12), limits=NARROW, accept=[]
    )
    reply = asked(client, asks)
    assert reply["status"] == "out-of-reach"
    assert "fixture-above-window" in binding(reply)


def test_a_run_with_overfed_lamps_near_the_box_is_not_answered(client: Client) -> None:
    layout = spacing(3, first_at=feet(10))
    asks = question(
        longest_run(watts(60), layout), supply=transformer(14.0), cable=awg(12), limits=NARROW, units="us"
    )
    reply = asked(client, asks)
    assert reply["status"] == "out-of-reach"
    assert "fixture-above-window" in binding(reply)


def test_a_filament_that_draws_too_much_close_to_the_box_passes_farther_out(client: Client) -> None:
    # 150 W of filament behind a 150 VA box at 125 of 120 V: too much at the box, and less at lower voltage.
    primary = {"rated": quantity(120, "V"), "actual": quantity(125, "V")}
    supply = transformer(winding=winding(150, 3), primary=primary)
    asks = question(longest_run(halogen(150)), supply=supply, cable=awg(12), limits=within(9.5), units="us")
    reply = reached(client, asks)
    low, high = reply["from"]["length"]["value"], reply["answer"]["length"]["value"]
    assert 0.1 < low <= 43 <= high
    assert [found["code"] for found in reply["binding_below"]] == ["transformer-over-rating"]
    assert binding(reply) == ["fixture-below-window"]
    assert ruled_out_as_answered(client, asks, reply) == set()


# Closed forms: one load of constant current I at the end of R ohm a metre gets E - R I l.


def test_both_ends_of_a_window_bound_a_lamp_of_constant_current(client: Client) -> None:
    reply = reached(client, question(longest_run(amperes(2)), supply=dc_supply(14.0), limits=NARROW))
    nearest_m, farthest_m = 1.5 / 2 / 0.01, 3.5 / 2 / 0.01
    assert reply["from"]["length"]["value"] == pytest.approx(nearest_m, rel=1e-3)
    assert reply["below"]["length"]["value"] < nearest_m <= reply["from"]["length"]["value"]
    assert reply["answer"]["length"]["value"] <= farthest_m < reply["beyond"]["length"]["value"]


def test_a_band_between_two_limits_is_found_however_narrow(client: Client) -> None:
    # From 12.40 to 12.45 V at 2 A: 77.5 to 80 m, between the lengths that are tried first.
    limits = {"window": window(12.40, 12.45)}
    reply = reached(client, question(longest_run(amperes(2)), supply=dc_supply(14.0), limits=limits))
    assert reply["from"]["length"]["value"] == pytest.approx(77.5, rel=1e-3)
    assert reply["answer"]["length"]["value"] == pytest.approx(80.0, rel=1e-3)


def test_the_least_load_of_a_supply_is_the_smallest_that_is_answered(client: Client) -> None:
    supply = transformer(minimum_load=quantity(20, "W"))
    asks = question(largest_load(metres(5), power_factor=1), supply=supply, limits=within(10))
    reply = reached(client, asks)
    assert [found["code"] for found in reply["binding_below"]] == ["below-minimum-load"]
    assert reply["below"]["power"]["value"] < 20 <= reply["from"]["power"]["value"] + 0.5
    accepted = reached(client, asks | {"accept": ["below-minimum-load"]})
    assert "from" not in accepted
    assert accepted["answer"] == reply["answer"]


def test_a_warning_that_is_accepted_does_not_bind(client: Client) -> None:
    supply = dc_supply(12.0, circuits=[{"name": "a", "limit": quantity(5, "A")}])
    asks = question(largest_load(metres(1)), supply=supply, limits=within(6))
    near = reached(client, asks | {"accept": ["conductor-below-device"]})
    over = reached(client, asks | {"accept": ["circuit-near-limit"]})
    assert binding(near) == ["circuit-near-limit"]
    assert binding(over) == ["circuit-over-current"]
    assert over["answer"]["power"]["value"] > near["answer"]["power"]["value"]


def test_both_edges_of_a_range_along_499_fixtures_are_found_within_the_work_of_one_request(
    client: Client,
) -> None:
    box = transformer(winding=winding(2000, 4), minimum_load=quantity(20, "W"))
    asks = largest_load(metres(100), spacing(100 / 499), power_factor=0.5)
    reply = reached(client, question(asks, supply=box, cable=awg(8), conditions=USUAL))
    assert [found["code"] for found in reply["binding_below"]] == ["below-minimum-load"]
    assert binding(reply) == ["fixture-below-window"]


def test_a_lamp_alone_that_gets_too_much_rules_a_run_out(client: Client) -> None:
    # All on, the winding holds the lamps down; alone the nearest stands near 12 × 1.1 = 13.2 V.
    box = transformer(winding=winding(100, 10))
    asks = question(
        most_fixtures(watts(4, power_factor=1), 1), supply=box, limits={"window": window(8, 12.9)}
    )
    assert reached(client, asks)["from"]["count"] > 1
    alone = asked(client, asks | {"conditions": AS_STATED | {"switching": "individually"}})
    assert alone["status"] == "out-of-reach"
    assert binding(alone) == ["fixture-above-window"]


# The usual range.


def test_without_a_stated_range_the_usual_one_is_held(client: Client) -> None:
    asks = question(
        longest_run(watts(40, power_factor=1)), supply=transformer(), limits=within(9), conditions=USUAL
    )
    usual, stated = reached(client, asks), reached(client, asks | {"conditions": AS_STATED})
    assert usual["answer"]["length"]["value"] < stated["answer"]["length"]["value"]
    assert usual["judged_conditions"] == {
        "mains": {"kind": "named", "range": "outlet"},
        "conductor_temperature_range": {"lowest": quantity(-10, "degC"), "highest": quantity(40, "degC")},
    }
    assert "usual-range" in [row["code"] for row in usual["assumptions"]]
    assert "usual-range" not in [row["code"] for row in stated["assumptions"]]
    assert ruled_out_as_answered(client, asks, usual) == set()


def test_where_no_run_holds_the_usual_range_the_stated_state_is_answered_with_a_warning(
    client: Client,
) -> None:
    # 14 V follows the mains from 12.83 to 14.7 V: no length suits a window of 12.4 to 12.5 V at both.
    limits = {"window": window(12.4, 12.5)}
    asks = question(longest_run(amperes(2)), supply=transformer(14.0), limits=limits, conditions=USUAL)
    reply = reached(client, asks)
    (warned,) = [found for found in reply["findings"] if found["code"] == "range-not-held"]
    assert warned["severity"] == "warning"
    assert "mains" in warned["message"]
    assert " V" in warned["message"]
    assert reply["judged_conditions"] == {"range": "as-stated"}
    stated = reached(client, asks | {"conditions": AS_STATED})
    assert (reply["from"], reply["answer"]) == (stated["from"], stated["answer"])
    assert "range-not-held" not in codes(stated)


def test_a_range_of_the_callers_own_that_no_run_holds_is_out_of_reach(client: Client) -> None:
    limits = {"window": window(12.4, 12.5)}
    conditions = {"mains": {"kind": "named", "range": "outlet"}}
    asks = question(longest_run(amperes(2)), supply=transformer(14.0), limits=limits)
    own = asks | {"conditions": conditions | AS_STATED}
    assert asked(client, own)["status"] == "out-of-reach"


# What is answered passes, and what lies next to it does not: seeded questions, the same on every run.


def drawn(draw: random.Random) -> Json:
    """A question as somebody might ask it, some of them odd."""
    power_w = round(draw.uniform(2, 120), 1)
    load = draw.choice(
        [watts(power_w, power_factor=0.9), amperes(power_w / 12), resistor(power_w), halogen(power_w)]
    )
    layout = draw.choice([LUMPED, LUMPED, EVENLY_SPREAD, spacing(round(draw.uniform(1, 6), 1))])
    asks = draw.choice(
        [
            longest_run(load, layout),
            largest_load(metres(round(draw.uniform(2, 60), 1)), layout, power_factor=0.9),
            most_fixtures(draw.choice([watts(4, power_factor=0.9), halogen(10), amperes(0.4)]), 2.5),
        ]
    )
    tap_v = draw.choice([12.0, 12.0, 13.0, 14.0])
    supply = draw.choice(
        [
            dc_supply(tap_v),
            transformer(tap_v),
            transformer(tap_v, winding=winding(draw.choice([60, 150, 300]), draw.choice([3, 5]))),
            transformer(tap_v, minimum_load=quantity(20, "W")),
            battery(11.5, 12.5, 14.0),
        ]
    )
    more: Json = {"conditions": draw.choice([USUAL, USUAL, AS_STATED])}
    if draw.random() < 0.6:
        more["limits"] = {
            "window": draw.choice([window(9, 15), window(10.5, 12.5), window(10, 13.5), window(11, 12.4)])
        }
    if draw.random() < 0.3:
        more["accept"] = draw.choice([["below-minimum-load"], ["near-collapse", "fixture-below-window"]])
    return question(asks, supply=supply, cable=awg(draw.choice([8, 10, 12, 14])), **more)


def sized(request: Json, reply: Json, ratio: float, more: int) -> Json:
    """The wiring of an answer with its one length or load so many times larger, or by a fixture more."""
    wiring: Json = reply["wiring"]
    (run,) = wiring["runs"]
    kind, layout = request["question"]["kind"], request["question"].get("layout", {})
    if kind == "largest-load":
        lines = [line | {"load": scaled(line["load"], ratio)} for line in run["fixtures"]]
    elif kind == "most-fixtures" or layout["kind"] == "spacing":
        (line,) = run["fixtures"]
        count = line.get("count", 1)
        share = 1.0 if kind == "most-fixtures" else count / (count + more)
        pitch = request["question"].get("spacing") or layout["spacing"]
        changed = line | {"count": count + more, "spacing": pitch, "load": scaled(line["load"], share)}
        if count + more == 1:
            del changed["count"], changed["spacing"]
        lines = [changed]
    else:
        lines = [stretched(line, ratio) for line in run["fixtures"]]
    return wiring | {"runs": [run | {"fixtures": lines}]}


def scaled(load: Json, ratio: float) -> Json:
    return load | {
        part: load[part] | {"value": load[part]["value"] * ratio}
        for part in ("power", "current", "apparent_power")
        if part in load
    }


def stretched(line: Json, ratio: float) -> Json:
    lengths = {part: line[part] for part in ("at", "spacing") if part in line}
    return line | {part: own | {"value": own["value"] * ratio} for part, own in lengths.items()}


def test_what_is_answered_passes_when_posted_and_what_lies_next_to_it_does_not(client: Client) -> None:
    draw = random.Random(1305)
    statuses: dict[str, int] = {}
    ranges = 0
    for _ in range(QUESTIONS):
        request = drawn(draw)
        reply = asked(client, request)
        statuses[reply["status"]] = statuses.get(reply["status"], 0) + 1
        if reply["status"] == "out-of-reach":
            assert reply["binding"], request
            continue
        supply, accept, judged = request["supply"], request.get("accept", []), reply["judged_conditions"]
        assert ruled_out_as_answered(client, request, reply) == set(), request
        if reply["status"] == "reached":
            beyond = sized(request, reply, 1.01, 1)
            assert ruled_out(client, supply, beyond, judged, accept), request
            assert reply["binding"], request
        if "from" in reply:
            ranges += 1
            first = {"wiring": smallest(request, reply)}
            assert ruled_out(client, supply, first["wiring"], judged, accept) == set(), request
            assert ruled_out(client, supply, sized(request, first, 0.99, -1), judged, accept), request
            assert reply["binding_below"], request
    assert statuses["reached"] >= QUESTIONS // 2, statuses
    assert ranges >= QUESTIONS // 20, ranges


def smallest(request: Json, reply: Json) -> Json:
    """The wiring of the small end of the range."""
    first, last = reply["from"], reply["answer"]
    if request["question"]["kind"] == "largest-load":
        return sized(request, reply, first["power"]["value"] / last["power"]["value"], 0)
    return sized(
        request,
        reply,
        first["length"]["value"] / last["length"]["value"],
        first.get("count", 1) - last.get("count", 1),
    )


QUESTIONS = 120
