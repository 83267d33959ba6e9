"""What a recommendation says in words: what decided it, its taps and spools, and who must give."""

import re
from typing import Any

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json, answer, awg, feet, quantity, transformer, volts, winding, window

GAUGE = "/v1/gauge-recommendation"


def row(at_ft: float, load: Json, count: int, spacing_ft: float, **more: Any) -> Json:
    return {"at": feet(at_ft), "load": load, "count": count, "spacing": feet(spacing_ft), **more}


def run(name: str, size: int, *rows: Json, **more: Any) -> Json:
    return jobs.run(*rows, cable=awg(size), name=name, **more)


def box(rating_va: float, limit_a: float | None = None, **more: Any) -> Json:
    circuit = {"name": "1"} if limit_a is None else {"name": "1", "limit": quantity(limit_a, "A")}
    return transformer(winding=winding(rating_va, 4), circuits=[{**circuit, **more}])


def per_ft(size: int, amount: str) -> Json:
    return {
        "id": f"{size}",
        "conductor": f"{size} AWG",
        "price": {"kind": "per-length", "amount": amount, "per": "ft"},
    }


PRICED = [per_ft(14, "0.40"), per_ft(12, "0.65"), per_ft(10, "1.05")]
BEDS = run("beds", 12, row(30, jobs.volt_amperes(4, 5.6), 8, 12, name="bed"))


TAPS = {"taps": [volts(tap_v) for tap_v in (12, 13, 14, 15)]}
SERVICE = {"mains": {"kind": "named", "range": "service"}}


def text_of(client: Client, request: Json) -> str:
    text: str = answer(client, request, GAUGE)["summary"]["text"]
    return text


def two_runs(**more: Any) -> Json:
    """A near and a far run behind a device that a far short may not trip."""
    lamps = jobs.volt_amperes(5, 7)
    porch = run("porch", 12, row(10, lamps, 4, 8, name="porch lamp", window=window(10, 14.5)))
    pond = run("pond", 12, row(140, lamps, 6, 10, name="pond lamp", window=window(10, 14.5)))
    return jobs.job(porch, pond, scope="per-run", currency="USD", stock=PRICED, nominal_v=12, **more)


def test_a_drop_that_rules_the_next_cheaper_cable_out_is_told(client: Client) -> None:
    request = jobs.job(BEDS, supply=box(150, 15), limits={"maximum_drop_percent": 5}, nominal_v=12)
    reply = answer(client, request, GAUGE)
    (thinner,) = [each for each in reply["compared"] if each["conductor"] == "12 AWG"]
    loses = thinner["outcome"]["drop_percent"]
    assert reply["summary"]["text"].endswith(
        f"Cable: 10 AWG. Not 12 AWG: bed 8 would lose {loses:.2f} % (lowest mains, hot cable); the limit is"
        " 5 %."
    )


def test_a_voltage_that_rules_the_next_cheaper_cable_out_is_told(client: Client) -> None:
    line = row(30, jobs.volt_amperes(4, 5.6), 8, 12, name="bed", window=window(10.8, 15))
    request = jobs.job(run("beds", 12, line), supply=box(150, 15), nominal_v=12)
    reply = answer(client, request, GAUGE)
    (thinner,) = [each for each in reply["compared"] if each["conductor"] == "12 AWG"]
    volts_there = thinner["outcome"]["lowest_voltage"]["value"]
    assert reply["summary"]["text"].endswith(
        f"Cable: 10 AWG. Not 12 AWG: bed 8 would get {volts_there:.2f} V (lowest mains, hot cable), below"
        " 10.8 V."
    )


def far_short(limit_a: float) -> Json:
    """The two runs on a box with taps, behind a device of a listed system."""
    supply = {**box(300, limit_a, listed_system=True), **TAPS}
    return two_runs(supply=supply, conditions=SERVICE, taps="choose")


def test_of_several_runs_the_one_whose_cable_costs_most_more_says_why(client: Client) -> None:
    text = text_of(client, far_short(25))
    told = re.search(
        r" porch and pond stay on the 12 V tap\. Not 12 AWG for pond, even on the 13 V tap: a dead short"
        r" at the far end of pond would draw only ([\d.]+) A, so the 25 A device may not trip\.$",
        text,
    )
    assert told is not None, text
    # With a device that such a short does trip 14 AWG is taken.
    assert "Cable: 14 AWG, " in text_of(client, far_short(12))
    assert float(told[1]) > 12


def test_what_is_said_of_the_cheaper_cable_is_so_when_it_is_asked(client: Client) -> None:
    request = far_short(25)
    reply = answer(client, request, GAUGE)
    wiring = reply["wiring"]
    wiring["runs"][1] |= {"cable": awg(12), "tap": volts(13)}
    asked = {"supply": request["supply"], "wiring": wiring, "conditions": reply["judged_conditions"]}
    found = answer(client, asked)
    (short,) = jobs.findings(found, "short-circuit-below-trip")
    assert "fixture-below-window" not in jobs.codes(found)
    assert f" {short['measured']['value']:.2f} A," in reply["summary"]["text"]


def test_the_cheapest_cable_needs_no_reason(client: Client) -> None:
    request = jobs.job(BEDS, supply=box(150, 15), stock=[per_ft(10, "1.05")], nominal_v=12)
    assert "Not " not in text_of(client, request)


def test_a_cable_that_a_smaller_device_alone_does_not_save_is_not_said_to_do(client: Client) -> None:
    # 16 AWG needs a device of 10 A or less (and the run carries more than 80 % of that).
    line = row(3, jobs.watts(18), 6, 1, name="flood")
    request = jobs.job(
        run("wall", 12, line), supply=box(300, 25), stock=[per_ft(16, "0.30"), per_ft(10, "1")], nominal_v=12
    )
    text = text_of(client, request)
    assert "would do" not in text
    assert "Not 16 AWG: it needs a device of 10 A or less; the circuit has 25 A." in text


def test_a_piece_that_no_spool_holds_is_told(client: Client) -> None:
    spools = [{"length": feet(100), "amount": "28.00"}]
    stock = [
        {"id": "s", "conductor": "12 AWG", "price": {"kind": "per-spool", "spools": spools}},
        per_ft(10, "1.05"),
    ]
    request = jobs.job(BEDS, supply=box(150, 15), stock=stock, nominal_v=12)
    assert text_of(client, request).endswith(
        " Not 12 AWG: 114 ft is one piece, and its longest spool is 100 ft."
    )


def test_taps_that_were_to_be_chosen_are_told_even_if_they_stay(client: Client) -> None:
    supply = box(300, 25, listed_system=True)
    supply["taps"] = [volts(tap_v) for tap_v in (12, 13, 14)]
    reply = answer(client, two_runs(supply=supply, taps="choose", conditions=SERVICE), GAUGE)
    assert {each["tap"]["value"] for each in reply["taps"]} == {12}
    assert " porch and pond stay on the 12 V tap." in reply["summary"]["text"]
    assert "tap" not in text_of(client, two_runs(supply=supply, conditions=SERVICE))


def test_of_taps_some_of_which_move_each_is_told(client: Client) -> None:
    supply = {**box(300, 15), "taps": [volts(tap_v) for tap_v in (12, 13, 14)]}
    text = text_of(client, two_runs(supply=supply, taps="choose"))
    assert " Put pond on the 13 V tap. porch stays on the 12 V tap." in text


def test_the_spools_to_buy_are_named(client: Client) -> None:
    lamps = jobs.volt_amperes(3, 4)
    runs = [
        run(name, 14, row(at_ft, lamps, count, spacing, name=f"{name} lamp"))
        for name, at_ft, count, spacing in (("wall", 70, 4, 15), ("hedge", 80, 4, 15), ("bed", 20, 3, 10))
    ]
    spools = [{"length": feet(each), "amount": f"{each * 0.38:.2f}"} for each in (100, 250)]
    stock = [{"id": "s", "conductor": "14 AWG", "price": {"kind": "per-spool", "spools": spools}}]
    request = jobs.job(
        *runs, supply=box(100, 8), stock=stock, cutting={"joints": "nowhere"}, currency="USD", nominal_v=12
    )
    reply = answer(client, request, GAUGE)
    (line,) = reply["purchase"]
    assert [(each["length"]["value"], each["count"]) for each in line["spools"]] == [(100, 1), (250, 1)]
    assert "Cable: 14 AWG (100 ft and 250 ft spools), " in reply["summary"]["text"]


@pytest.mark.parametrize("limit_percent", [None, 1.0])
def test_what_a_choice_breaks_is_said_with_its_corner(client: Client, limit_percent: float | None) -> None:
    line = {**jobs.lamp(40, jobs.watts(8)), "count": 10, "spacing": jobs.metres(12), "name": "bollard"}
    request = jobs.job(
        jobs.run({**line, "window": window(21, 26)}, cable=awg(12), name="boundary"),
        supply=jobs.dc_supply(24, rating=quantity(150, "W")),
        stock=[{"id": "c", "conductor": "2.5 mm2"}],
        nominal_v=24,
    )
    if limit_percent is not None:
        request["limits"] = {"maximum_drop_percent": limit_percent}
    text = text_of(client, request)
    assert re.search(
        r"With 2\.5 mm2 everywhere: bollard 10 gets 17\.\d\d V at worst \(hot cable\), below 21 V\.", text
    )
    if limit_percent is not None:
        assert re.search(r"bollard 10 loses 2\d\.\d+ % at worst \(hot cable\); the limit is 1 %\.", text)
    assert " has 1" not in text


def test_fewer_watts_are_asked_of_those_that_must_give_alone(client: Client) -> None:
    """The lawn overloads its circuit and the box; the wall draws 1 A on another circuit."""
    circuits = [{"name": name, "limit": quantity(10, "A")} for name in ("left", "right")]
    supply = transformer(
        winding=winding(150, 4), circuits=circuits, primary={"rated": volts(120), "actual": volts(118)}
    )
    oak: Json = {"name": "oak", "at": feet(50), "cable": awg(12)}
    oak["fixtures"] = [{"at": feet(25), "load": jobs.halogen(50), "name": "oak spot"}]
    lawn = run("lawn", 10, row(30, jobs.halogen(35), 3, 10, name="spot"), branches=[oak], circuit="left")
    wall = run("wall", 12, row(15, jobs.volt_amperes(3, 4), 3, 8, name="sconce"), circuit="right")
    request = jobs.job(
        lawn, wall, supply=supply, scope="per-run", conditions={"range": "as-stated"}, nominal_v=12
    )
    reply = answer(client, request, GAUGE)
    (fewer,) = [each for each in reply["remedies"] if each["code"] == "fewer-watts"]
    assert [each["subject"]["pointer"] for each in fewer["changes"]] == ["/wiring/runs/0"]
    assert fewer["message"].startswith("Bring every load of lawn down to ")
    assert fewer["outcome"]["passes"]


def test_fewer_watts_are_asked_of_all_where_all_are_too_much(client: Client) -> None:
    runs = [run(name, 12, row(5, jobs.watts(20), 4, 3, name=f"{name} spot")) for name in ("east", "west")]
    request = jobs.job(*runs, supply=box(75), conditions={"range": "as-stated"}, nominal_v=12)
    reply = answer(client, request, GAUGE)
    (fewer,) = [each for each in reply["remedies"] if each["code"] == "fewer-watts"]
    assert "every load of east and west down" in fewer["message"]


def branched(at_branch_w: float) -> Json:
    """A long run with a short branch near its start, each of a cable of its own."""
    lamps = row(100, jobs.volt_amperes(4, 5.6), 6, 12, name="bed")
    short = {"name": "nook", "at": feet(10), "cable": awg(12), "fixtures": [
        row(5, jobs.volt_amperes(at_branch_w, at_branch_w), 2, 5, name="nook lamp")]}  # fmt: skip
    return run("walk", 12, lamps, branches=[short])


def test_of_a_branched_run_only_the_part_that_would_not_do_is_named(client: Client) -> None:
    more: Json = {"currency": "USD", "stock": PRICED, "supply": box(150)}
    reply = answer(client, jobs.job(branched(4), scope="per-run", nominal_v=12, **more), GAUGE)
    sizes = {each["pointer"]: each["conductor"] for each in reply["chosen"]}
    assert sizes == {"/wiring/runs/0/cable": "12 AWG", "/wiring/runs/0/branches/0/cable": "14 AWG"}
    assert " Not 14 AWG for walk without its branches: bed 6 would get " in reply["summary"]["text"]
    spans = answer(client, jobs.job(branched(4), scope="per-span", nominal_v=12, **more), GAUGE)
    told = re.search(
        r" Not 14 AWG in place of 12 AWG for the first (\d+) ft of walk: bed 6 would get ",
        spans["summary"]["text"],
    )
    assert told is not None, spans["summary"]["text"]
    laid = [each for each in spans["chosen"] if each["pointer"] == "/wiring/runs/0/cable"]
    assert laid[0]["conductor"] == "12 AWG"
    assert sum(each["length"]["value"] for each in laid if each["conductor"] == "12 AWG") == float(told[1])
