"""What is recommended passes as voltage-drop judges it; where none does the nearest says what it leaves."""

import json
import random
from collections import Counter

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.transformer_loading.transformers import PATH, as_stated, reasons, unit

HALOGENS = jobs.run(
    jobs.lamp(12, jobs.halogen(20)), jobs.lamp(14, jobs.halogen(20)), cable=jobs.awg(12), name="pond"
)
NEAR_RATED: Json = {"mains": {"kind": "measured", "lowest": jobs.volts(119), "highest": jobs.volts(121)}}


def supply_of(item: Json, request: Json) -> Json:
    """A transformer of the stock as the supply of another request; the mains stay those of the job."""
    winding = jobs.winding(item["rating"]["value"], item["regulation_percent"])
    kept: Json = {name: item[name] for name in ("taps", "circuits", "minimum_load") if name in item}
    stated: Json = {name: request["supply"][name] for name in ("primary",) if name in request["supply"]}
    return {"kind": "transformer", "secondary": jobs.volts(12), "winding": winding, **stated, **kept}


def broken_behind(client: Client, item: Json, request: Json, reply: Json) -> list[Json]:
    """Faults and unaccepted warnings of voltage-drop; of the one on offer on the circuits of the reply."""
    wiring = json.loads(json.dumps(request["wiring"]))
    if offered(reply)["id"] == item["id"] and "circuits" in item:
        for circuit in reply["division"]["circuits"]:
            for each in circuit["runs"]:
                wiring["runs"][int(each["pointer"].rpartition("/")[2])]["circuit"] = circuit["name"]
    body = {
        "supply": supply_of(item, request), "wiring": wiring, "conditions": reply["judged_conditions"],
        **{name: request[name] for name in ("limits",) if name in request},
    }  # fmt: skip
    accepted = request.get("accept", [])
    return [
        each for each in jobs.answer(client, body)["findings"]
        if each["severity"] == "fault" or (each["severity"] == "warning" and each["code"] not in accepted)
    ]  # fmt: skip


def offered(reply: Json) -> Json:
    """The recommended transformer, else the nearest; empty where there is neither."""
    found: Json = reply["recommended"] if "recommended" in reply else reply.get("nearest", {})
    return found


def chosen_item(request: Json, reply: Json) -> Json:
    found: Json = next(each for each in request["stock"] if each["id"] == offered(reply)["id"])
    return found


def test_a_box_that_burns_its_lamps_stands_behind_a_larger_one_that_does_not(client: Client) -> None:
    stock = [unit("A", 150, regulation_percent=12), unit("B", 200, regulation_percent=2)]
    request = jobs.job(HALOGENS, supply=jobs.transformer(winding=jobs.winding(300, 1)), stock=stock)
    reply = jobs.answer(client, {**request, "conditions": NEAR_RATED}, PATH)
    assert reply["recommended"]["id"] == "B"
    assert reply["summary"]["verdict"] == "passes"
    assert reasons(reply) == {"A": ["fixture-above-window"]}
    (reason,) = reply["rejected"][0]["reasons"]
    # 12 % of 150 VA, hardly loaded, at 121 of 120 V: 13.55 V without load.
    assert reason["message"].startswith("Behind it: Fixture at 12 m gets 12.7")
    assert reason["limit"] == jobs.volts(12.5)
    assert reason["subject"] == {"pointer": "/wiring/runs/0/fixtures/0"}
    (worst, none) = (broken_behind(client, each, request, reply) for each in stock)
    assert "fixture-above-window" in {each["code"] for each in worst}
    assert none == []


def test_where_no_box_of_the_stock_passes_none_is_recommended_and_the_smallest_is_nearest(
    client: Client,
) -> None:
    stock = [unit("A", 150, regulation_percent=12), unit("B", 200, regulation_percent=12)]
    request = jobs.job(HALOGENS, supply=jobs.transformer(winding=jobs.winding(300, 1)), stock=stock)
    reply = jobs.answer(client, {**request, "conditions": NEAR_RATED}, PATH)
    assert "recommended" not in reply
    assert (reply["nearest"]["id"], reply["nearest"]["verdict"]) == ("A", "fails")
    assert reply["nearest"]["broken"] == ["fixture-above-window"]
    assert reply["summary"]["verdict"] == "fails"
    assert reasons(reply) == {"A": ["fixture-above-window"], "B": ["fixture-above-window"]}
    (none,) = jobs.findings(reply, "no-transformer-passes")
    assert (none["severity"], none["subject"]) == ("fault", {"pointer": "/stock"})
    assert none["message"] == 'No transformer on offer passes with this job. 150 VA ("A") comes nearest.'
    found = jobs.findings(reply, "fixture-above-window")
    assert [each["subject"]["pointer"] for each in found] == [
        "/wiring/runs/0/fixtures/0", "/wiring/runs/0/fixtures/1",
    ]  # fmt: skip
    assert found[0]["message"].startswith("Fixture at 12 m, behind the best on offer, gets 12.7")
    # What it leaves is told once, before it.
    assert reply["summary"]["text"].endswith(
        'None on offer passes. Nearest: 150 VA ("A"). It leaves one fault: the voltage at the lamp is above'
        " its voltage range."
    )
    assert reply["summary"]["text"].count("2 lamps ") == 1


def test_what_the_stated_supply_shows_as_well_is_told_once(client: Client) -> None:
    stock = [unit("A", 150, regulation_percent=12)]
    supply = jobs.transformer(winding=jobs.winding(150, 12))
    reply = jobs.answer(client, jobs.job(HALOGENS, supply=supply, stock=stock, conditions=NEAR_RATED), PATH)
    assert len(jobs.findings(reply, "fixture-above-window")) == 2


def test_a_warning_of_lamps_that_is_accepted_keeps_no_box_from_being_recommended(client: Client) -> None:
    # 40 W behind 52 m of 12 AWG: 9.71 V of 12 V, and 10.42 V of the 13.44 V of a winding of 12 %.
    stock = [unit("soft", 60, regulation_percent=0), unit("high", 75, regulation_percent=12)]
    run = jobs.run(jobs.lamp(52, jobs.volt_amperes(40, 40)), cable=jobs.awg(12))
    request = as_stated(jobs.job(run, stock=stock))
    reply = jobs.answer(client, request, PATH)
    assert reply["recommended"]["id"] == "high"
    assert reasons(reply) == {"soft": ["fixture-below-window"]}
    accepting = {**request, "accept": ["fixture-below-window"]}
    assert jobs.answer(client, accepting, PATH)["recommended"]["id"] == "soft"


@pytest.mark.parametrize("switching", ["by-run", "individually"])
def test_a_lamp_that_only_alone_is_above_its_window_counts_too(client: Client, switching: str) -> None:
    # 13.44 V behind 0.288 ohm: 12.2 V with both lamps of 25 W, 12.8 V with one.
    stock = [unit("soft", 60, regulation_percent=12), unit("stiff", 75, regulation_percent=1)]
    runs = [jobs.run(jobs.lamp(0.1, jobs.halogen(25)), cable=jobs.awg(10)) for _ in range(2)]
    together = as_stated(jobs.job(*runs, stock=stock))
    assert jobs.answer(client, together, PATH)["recommended"]["id"] == "soft"
    reply = jobs.answer(client, as_stated({**together, "conditions": {"switching": switching}}), PATH)
    assert reply["recommended"]["id"] == "stiff"
    assert reasons(reply) == {"soft": ["fixture-above-window"]}


def test_lamps_that_nobody_stated_choose_no_box(client: Client) -> None:
    stock = [unit("A", 60, regulation_percent=12), unit("B", 75, regulation_percent=2)]
    request = jobs.totals(jobs.halogen(20), 1) | {"stock": stock, "conditions": NEAR_RATED}
    reply = jobs.answer(client, request, PATH)
    assert reply["recommended"]["id"] == "A"
    assert "fixture-above-window" not in jobs.codes(reply)


def test_a_fault_of_the_job_itself_leaves_no_box_to_recommend(client: Client) -> None:
    """No transformer mends a lamp whose lowest voltage is above its highest."""
    stock = [unit("A", 60, regulation_percent=2), unit("B", 75, regulation_percent=2)]
    lamp = jobs.lamp(2, jobs.volt_amperes(5, 5), window=jobs.window(14, 10))
    reply = jobs.answer(client, as_stated(jobs.job(jobs.run(lamp), stock=stock)), PATH)
    assert "window-empty" in jobs.codes(reply)
    assert "recommended" not in reply
    assert reply["nearest"]["id"] == "A"
    assert "window-empty" in reply["nearest"]["broken"]
    assert all("window-empty" in codes for codes in reasons(reply).values())
    assert len(reasons(reply)) == 2


def test_what_is_found_whatever_feeds_the_job_is_no_matter_of_a_box(client: Client) -> None:
    stock = [unit("A", 60, regulation_percent=2), unit("B", 75, regulation_percent=2)]
    runs = [jobs.run(jobs.lamp(2, jobs.volt_amperes(5, 5)), name="same") for _ in range(2)]
    reply = jobs.answer(client, as_stated(jobs.job(*runs, stock=stock)), PATH)
    assert len(jobs.findings(reply, "duplicate-name")) == 1
    assert reasons(reply) == {"B": ["larger-than-needed"]}


LOADS = (jobs.watts, lambda watts: jobs.volt_amperes(watts, 1.5 * watts), jobs.resistor, jobs.halogen)
ACCEPTABLE = (
    "fixture-below-window", "near-collapse", "short-circuit-below-trip", "rating-at-usual-power-factor",
    "conductor-below-device",
)  # fmt: skip
CONDITIONS: tuple[Json, ...] = (
    {}, {"range": "as-stated"}, NEAR_RATED, {"switching": "by-run"}, {"switching": "individually"},
    {"wet_contact": True},
)  # fmt: skip


def garden(seed: int) -> Json:
    """One to three runs of lamps behind boxes of 60 to 600 VA of unlike regulation."""
    pick = random.Random(seed)
    runs = []
    for place in range(pick.randint(1, 3)):
        load = pick.choice(LOADS)(pick.choice((5, 10, 20)))
        lamps = jobs.lamp(
            round(pick.uniform(1, 20), 1), load, count=pick.randint(1, 5), spacing=jobs.metres(2)
        )
        runs.append(jobs.run(lamps, cable=jobs.awg(pick.choice((10, 12, 14))), name=f"bed {place}"))
    ratings = sorted(pick.sample((60, 75, 100, 150, 200, 300, 600), 4))
    device = {"limit": jobs.quantity(pick.choice((10, 20, 25)), "A")}
    plates: list[Json] = [
        {},
        {"circuits": [{"name": "a", **device}]},
        {"minimum_load": jobs.quantity(30, "W")},
    ]
    stock = [
        unit(f"T{rating}", rating, regulation_percent=pick.choice((1, 3, 5, 8, 12)), **pick.choice(plates))
        for rating in ratings
    ]
    if pick.random() < 0.3:
        stock[0]["circuits"] = [{"name": "a", **device}, {"name": "b", **device}]
    limits: Json = {"limits": {"maximum_drop_percent": 5}} if pick.random() < 0.2 else {}
    return limits | jobs.job(
        *runs, supply=jobs.transformer(winding=jobs.winding(pick.choice((100, 300, 600)), 3)), stock=stock,
        conditions=pick.choice(CONDITIONS), accept=pick.sample(ACCEPTABLE, pick.choice((0, 0, 2))),
    )  # fmt: skip


SAID_AS: Json = {"circuit-near-limit": "division-near-limit"}
"""What a loading says of the circuits of the recommended one in words of its own."""


def test_all_that_voltage_drop_finds_behind_the_recommended_one_is_said(client: Client) -> None:
    met: Counter[str] = Counter()
    for seed in range(300):
        request = garden(seed)
        reply = jobs.answer(client, request, PATH)
        if not offered(reply):
            continue
        item = chosen_item(request, reply)
        broken = broken_behind(client, item, request, reply)
        shown = {each["code"] for each in broken}
        said = set(jobs.codes(reply))
        assert not {code for code in shown if code not in said and SAID_AS.get(code) not in said}, seed
        verdict = reply["summary"]["verdict"]
        assert verdict == "fails" or "fault" not in {each["severity"] for each in broken}, seed
        assert verdict != "passes" or not broken, seed
        assert ("recommended" in reply) is not bool(broken), seed
        passed_over = {each["id"]: each for each in request["stock"] if each is not item}
        for row in reply["rejected"]:
            told = [reason["code"] for reason in row["reasons"]]
            if row["id"] == item["id"]:
                assert {*told} == {SAID_AS.get(code, code) for code in shown}, seed
                continue
            other = passed_over[row["id"]]
            if other["rating"]["value"] < reply["connected"]["least_rating"]["value"]:
                assert "rating-below-connected" in told
                continue
            if len(other.get("circuits", [])) > 1:
                continue
            found = {each["code"] for each in broken_behind(client, other, request, reply)}
            # One that passes is passed over for a smaller one that passes, and for no other.
            assert found or not shown, (seed, row["id"])
            if other["rating"]["value"] < item["rating"]["value"]:
                assert found, (seed, row["id"])
                met["a smaller one passed over"] += "rating-below-connected" not in told
        met["passes" if not shown else "breaks"] += 1
    assert met["passes"] > 40
    assert met["breaks"] > 15
    assert met["a smaller one passed over"] > 10


@pytest.mark.parametrize("stock", [{}, {"stock": [unit("box", 60, regulation_percent=0)]}])
def test_a_load_that_is_near_what_the_cable_carries_is_warned_of_here_too(
    client: Client, stock: Json
) -> None:
    # 0.25 ohm carry 144 W from 12 V (E²/4R); 1.25 times 120 W are more.
    request = as_stated(jobs.job(jobs.run(jobs.lamp(25, jobs.volt_amperes(120, 120)))))
    assert "near-collapse" in jobs.codes(jobs.answer(client, request))
    assert "near-collapse" in jobs.codes(jobs.answer(client, {**request, **stock}, PATH))


def feeding(count: int, circuit: Json) -> Json:
    """Six runs of 12 AWG on too small a box, and a stock whose larger boxes have circuits of one kind."""
    row = {"at": jobs.feet(15), "load": jobs.volt_amperes(5, 7), "count": count, "spacing": jobs.feet(6)}
    runs = [jobs.run(row, cable=jobs.awg(12), name=f"run {each}") for each in range(1, 7)]
    circuits = [{"name": name, "limit": jobs.quantity(25, "A"), **circuit} for name in "AB"]
    stock = [unit("T600", 600, circuits=circuits)]
    return jobs.job(*runs, supply=jobs.transformer(winding=jobs.winding(300, 4)), stock=stock)


def test_a_device_of_the_recommended_box_is_told_as_that_of_this_box(client: Client) -> None:
    reply = jobs.answer(client, feeding(8, {}), PATH)
    thin = jobs.findings(reply, "conductor-below-device")
    assert thin[0]["message"].startswith(
        'run 1 behind the best on offer ("T600"): 12 AWG needs a device of 20 A or less; circuit "A" has 25'
    )
    assert reply["summary"]["text"].endswith(
        'None on offer passes. Nearest: 600 VA ("T600"). It leaves one warning: the smallest conductor of a'
        " circuit is thinner than its overcurrent device asks for."
    )


def test_a_full_circuit_of_the_recommended_box_is_told_as_that_of_this_box(client: Client) -> None:
    reply = jobs.answer(client, feeding(11, {"listed_system": True}), PATH)
    (near,) = jobs.findings(reply, "division-near-limit")
    assert near["message"].startswith('Circuit "A" of the best on offer ("T600") would carry 2')
    accepting = feeding(11, {"listed_system": True}) | {"accept": ["division-near-limit"]}
    (near,) = jobs.findings(jobs.answer(client, accepting, PATH), "division-near-limit")
    assert near["message"].startswith('Circuit "A" of the recommended "T600" would carry 2')


def test_a_usual_rating_whose_circuits_have_room_is_taken_before_a_smaller_one(client: Client) -> None:
    usual = {name: value for name, value in feeding(11, {}).items() if name != "stock"}
    # 44.7 A on two circuits of 25 A are 22.3 A each, over four fifths; three have room.
    reply = jobs.answer(client, usual, PATH)
    assert reply["recommended"]["rating"] == jobs.quantity(900.0, "VA")
    assert reply["summary"]["text"].endswith(
        "600 VA: A circuit would carry 22.34 A, over 20 A, 80 % of its limit."
    )
    smaller = jobs.answer(client, usual | {"accept": ["division-near-limit"]}, PATH)
    assert smaller["recommended"]["rating"] == jobs.quantity(600.0, "VA")
    (near,) = jobs.findings(smaller, "division-near-limit")
    assert near["message"].startswith('Circuit "1" of the recommended 600 VA transformer would carry 2')
