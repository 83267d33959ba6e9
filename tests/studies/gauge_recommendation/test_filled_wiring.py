"""The wiring that is handed back: posted again, it gives what the recommendation showed."""

import json
import random
from typing import Any

import msgspec
import pytest

from service.circuit.job import JobTooLargeError
from service.studies.gauge_recommendation import GAUGE_RECOMMENDATION
from service.studies.voltage_drop import VOLTAGE_DROP
from tests import jobs
from tests.jobs import Json
from tests.studies.gauge_recommendation.choosing import Planter, as_stated

STOCK = [
    {
        "id": f"awg-{size}",
        "conductor": f"{size} AWG",
        "price": {"kind": "per-length", "amount": amount, "per": "m"},
    }
    for size, amount in ((16, "0.50"), (14, "0.80"), (12, "1.20"), (10, "2.00"), (8, "3.00"))
]
BOX = jobs.transformer(winding=jobs.winding(600, 4), taps=[jobs.volts(12), jobs.volts(13), jobs.volts(14)])
SHARED = ("supply", "limits", "conditions", "units")


def ask(request: Json) -> Json:
    reply: Json = json.loads(
        msgspec.json.encode(jobs.reply_to(GAUGE_RECOMMENDATION, json.dumps(as_stated(request)).encode()))
    )
    return reply


def posted(request: Json, wiring: Json) -> Json:
    """The filled wiring under the same supply and conditions."""
    request = as_stated(request)
    again = {name: request[name] for name in SHARED if name in request} | {"wiring": wiring}
    reply: Json = json.loads(msgspec.json.encode(jobs.reply_to(VOLTAGE_DROP, json.dumps(again).encode())))
    return reply


def checked(request: Json) -> Json:
    """Ask, post what comes back, and hold it against what was shown; answers the recommendation."""
    reply = ask(request)
    assert reply["status"] == "recommended", reply["compared"]
    solved = posted(request, reply["wiring"])
    outcome, rows = reply["outcome"], solved["fixtures"]
    assert solved["status"] == "solved"
    assert min(row["voltage"]["value"] for row in rows) == outcome["lowest_voltage"]["value"]
    assert max(row["voltage"]["value"] for row in rows) == outcome["highest_voltage"]["value"]
    assert max(row["drop_percent"] for row in rows) == pytest.approx(outcome["drop_percent"], abs=1e-3)
    assert solved["totals"]["cable_loss"] == outcome["cable_loss"]
    # Joints are of what is bought, which a voltage drop does not know.
    assert solved["findings"] == [row for row in reply["findings"] if row["code"] != "joint-in-run"]
    return reply


def conductors(reply: Json) -> set[str]:
    return {row["conductor"] for row in reply["chosen"]}


def test_one_conductor_for_all_goes_into_every_open_cable() -> None:
    twig = jobs.branch(
        8,
        jobs.lamp(6, jobs.watts(10)),
        cable=jobs.awg(16),
        spurs=[jobs.branch(3, jobs.lamp(4, jobs.watts(5)), cable=jobs.awg(16))],
    )
    request = jobs.job(
        jobs.run(jobs.lamp(20, jobs.watts(30)), cable=jobs.awg(16), branches=[twig]),
        jobs.run(jobs.lamp(9, jobs.watts(5))),
        supply=BOX,
    )
    reply = checked({**request, "stock": STOCK, "limits": {"maximum_drop_percent": 5}})
    first, second = reply["wiring"]["runs"]
    cables = [
        first["cable"],
        first["branches"][0]["cable"],
        first["branches"][0]["spurs"][0]["cable"],
        second["cable"],
    ]
    assert len({json.dumps(cable) for cable in cables}) == 1


def test_each_run_gets_its_own() -> None:
    request = jobs.job(
        jobs.run(jobs.lamp(25, jobs.watts(40))), jobs.run(jobs.lamp(5, jobs.watts(5))), supply=BOX
    )
    reply = checked({**request, "stock": STOCK, "scope": "per-run", "limits": {"maximum_drop_percent": 5}})
    assert len(conductors(reply)) == 2


def test_spans_of_one_run_become_cable_changes() -> None:
    lamps = [jobs.lamp(at_m, jobs.watts(20)) for at_m in (6.1234567, 14.2, 30)]
    request = jobs.job(jobs.run(*lamps, cable=jobs.awg(12), tail=jobs.metres(3)), supply=BOX)
    reply = checked({**request, "stock": STOCK, "scope": "per-span", "limits": {"maximum_drop_percent": 6}})
    assert len(conductors(reply)) > 1
    assert reply["wiring"]["runs"][0]["cable_changes"]


def test_a_return_leg_chosen_otherwise_gets_a_cable_of_its_own() -> None:
    lamps = (jobs.lamp(10, jobs.watts(40)), jobs.lamp(20, jobs.watts(60)), jobs.lamp(40, jobs.watts(10)))
    looped = jobs.run(*lamps, cable=jobs.awg(12), return_leg={"length": jobs.metres(15)})
    request = {**jobs.job(looped, supply=BOX), "stock": STOCK, "scope": "per-span"}
    reply = checked({**request, "limits": {"maximum_drop_percent": 9}})
    leg = reply["wiring"]["runs"][0]["return_leg"]["cable"]
    assert leg["conductor"] != reply["wiring"]["runs"][0]["cable"]["conductor"]
    assert not any(
        change["at"]["value"] == 0 for change in reply["wiring"]["runs"][0].get("cable_changes", [])
    )


def test_a_return_leg_of_the_runs_own_cable_stays_one_where_it_is_chosen_alike() -> None:
    looped = jobs.run(
        jobs.lamp(20, jobs.watts(30)), cable=jobs.awg(12), return_leg={"length": jobs.metres(20)}
    )
    reply = checked({**jobs.job(looped, supply=BOX), "stock": STOCK[2:3], "scope": "per-span"})
    assert "cable" not in reply["wiring"]["runs"][0]["return_leg"]


def test_changes_that_are_not_open_stay_and_new_ones_stand_beside_them() -> None:
    lamps = [jobs.lamp(at_m, jobs.watts(20)) for at_m in (5, 12, 20, 30)]
    changing = jobs.run(
        *lamps, cable=jobs.awg(12), cable_changes=[{"at": jobs.metres(20), "cable": jobs.ohms_per_km(9)}]
    )
    request = {**jobs.job(changing, supply=BOX), "stock": STOCK, "scope": "per-span"}
    reply = checked({**request, "open": ["/wiring/runs/0/cable"], "limits": {"maximum_drop_percent": 9}})
    kept, *added = reply["wiring"]["runs"][0]["cable_changes"]
    assert kept == {"at": jobs.metres(20), "cable": jobs.ohms_per_km(9)}
    assert all(change["at"]["value"] < 20 for change in added)


def test_a_change_that_is_open_is_filled_where_it_stands() -> None:
    lamps = [jobs.lamp(at_m, jobs.watts(20)) for at_m in (5, 12, 20, 30)]
    changing = jobs.run(
        *lamps, cable=jobs.awg(12), cable_changes=[{"at": jobs.metres(12), "cable": jobs.awg(18)}]
    )
    request = {**jobs.job(changing, supply=BOX), "stock": STOCK, "scope": "per-span"}
    asked = {
        **request,
        "open": ["/wiring/runs/0/cable_changes/0/cable"],
        "limits": {"maximum_drop_percent": 9},
    }
    reply = checked(asked)
    assert reply["wiring"]["runs"][0]["cable"] == jobs.awg(12)
    assert reply["wiring"]["runs"][0]["cable_changes"][0]["at"] == jobs.metres(12)


def test_parallel_cables_stay_parallel() -> None:
    doubled = {**jobs.awg(16), "cables_in_parallel": 3}
    lamps = [jobs.lamp(at_m, jobs.watts(40)) for at_m in (10, 25)]
    request = {**jobs.job(jobs.run(*lamps, cable=doubled), supply=BOX), "stock": STOCK, "scope": "per-span"}
    reply = checked({**request, "limits": {"maximum_drop_percent": 4}})
    laid = reply["wiring"]["runs"][0]
    cables = [laid["cable"], *(change["cable"] for change in laid.get("cable_changes", []))]
    assert all(cable["cables_in_parallel"] == 3 for cable in cables)


def test_an_unequal_pair_becomes_a_pair_of_the_chosen_conductor() -> None:
    unequal = {**jobs.awg(16), "other_conductor": {"kind": "listed", "conductor": "10 AWG"}}
    reply = checked(
        {**jobs.job(jobs.run(jobs.lamp(10, jobs.watts(10)), cable=unequal), supply=BOX), "stock": STOCK[2:3]}
    )
    assert reply["wiring"]["runs"][0]["cable"] == {**jobs.awg(12), "item": "awg-12"}


def test_material_and_stranding_go_with_the_conductor() -> None:
    stock = [{"id": "a", "conductor": "10 AWG", "material": "aluminium", "stranding": "solid"}]
    reply = checked({**jobs.job(jobs.run(jobs.lamp(10, jobs.watts(10))), supply=BOX), "stock": stock})
    assert reply["wiring"]["runs"][0]["cable"] == {
        "kind": "listed",
        "conductor": "10 AWG",
        "material": "aluminium",
        "stranding": "solid",
        "item": "a",
    }
    assert conductors(reply) == {"10 AWG aluminium"} == {row["conductor"] for row in reply["compared"]}


def test_each_cable_names_the_row_of_the_stock_that_was_chosen_for_it() -> None:
    lamps = [jobs.lamp(at_m, jobs.watts(20), item="path-20") for at_m in (10, 25)]
    own = {**jobs.awg(18), "item": "of an older quote"}
    lamps[0]["lead"] = {"length": jobs.metres(1), "cable": jobs.awg(18), "item": "lead-18"}
    request = {**jobs.job(jobs.run(*lamps, cable=own), supply=BOX), "stock": STOCK, "scope": "per-span"}
    reply = checked({**request, "limits": {"maximum_drop_percent": 4}})
    laid = reply["wiring"]["runs"][0]
    cables = [laid["cable"], *(change["cable"] for change in laid.get("cable_changes", []))]
    assert len(cables) > 1
    assert [cable["item"] for cable in cables] == [row["stock_id"] for row in reply["chosen"]]
    assert all(cable["item"] == f"awg-{cable['conductor'].split()[0]}" for cable in cables)
    assert [line["item"] for line in laid["fixtures"]] == ["path-20", "path-20"]
    assert laid["fixtures"][0]["lead"] == lamps[0]["lead"]


def test_rows_of_one_conductor_are_told_apart_by_what_they_cost() -> None:
    price = {"kind": "per-length", "amount": "1.30", "per": "m"}
    stock = [{**STOCK[2], "id": "dear", "price": price}, STOCK[2]]
    reply = checked({**jobs.job(jobs.run(jobs.lamp(10, jobs.watts(10))), supply=BOX), "stock": stock})
    assert reply["wiring"]["runs"][0]["cable"]["item"] == "awg-12"


def test_the_short_form_stays_short_with_one_conductor() -> None:
    reply = checked({**jobs.even(5, jobs.watts(6), 40), "supply": BOX, "stock": STOCK})
    assert reply["wiring"]["form"] == "even"


def test_the_short_form_is_written_out_where_its_spans_differ() -> None:
    request = {**jobs.even(6, jobs.watts(12), 45), "supply": BOX, "stock": STOCK, "scope": "per-span"}
    reply = checked({**request, "limits": {"maximum_drop_percent": 7}})
    assert reply["wiring"]["form"] == "runs"
    assert len(conductors(reply)) > 1


@pytest.mark.parametrize("form", ["even", "even, one lamp", "totals"])
def test_a_short_form_that_needs_a_higher_tap_is_written_out_with_it(form: str) -> None:
    several = form == "even"
    request = jobs.even(4 if several else 1, jobs.halogen(40 if several else 100), 30, jobs.awg(12))
    if form == "totals":
        wiring = {name: request["wiring"][name] for name in ("load", "cable", "length")}
        request["wiring"] = {"form": "totals", **wiring}
    request = {**request, "supply": BOX, "stock": STOCK[2:3], "taps": "choose"}
    request["wiring"]["nominal_voltage"] = jobs.volts(12)
    reply = checked(request)
    assert reply["taps"][0]["tap"]["value"] > 12
    assert reply["wiring"]["form"] == "runs"
    assert reply["wiring"]["runs"][0]["tap"] == reply["taps"][0]["tap"]


def test_chosen_taps_stand_on_runs_and_on_spans_that_leave_the_supply() -> None:
    far, near = (
        jobs.run(jobs.lamp(40, jobs.halogen(100)), cable=jobs.awg(10)),
        jobs.run(jobs.lamp(3, jobs.halogen(5)), cable=jobs.awg(10)),
    )
    reply = checked({**jobs.job(far, near, supply=BOX), "stock": STOCK[3:4], "taps": "choose"})
    assert [laid["tap"]["value"] for laid in reply["wiring"]["runs"]] == [13, 12]
    spans = [
        {"from": "supply", "to": "a", "length": jobs.metres(40), "cable": jobs.awg(10)},
        {"from": "a", "to": "b", "length": jobs.metres(1), "cable": jobs.awg(10)},
        {"from": "c", "to": "supply", "length": jobs.metres(3), "cable": jobs.awg(10)},
    ]
    lamps = [{"point": "b", "load": jobs.halogen(100)}, {"point": "c", "load": jobs.halogen(5)}]
    graph = {"supply": BOX, "wiring": {"form": "spans", "spans": spans, "fixtures": lamps}}
    reply = checked({**graph, "stock": STOCK[3:4], "taps": "choose"})
    assert [span.get("tap", {}).get("value") for span in reply["wiring"]["spans"]] == [13, None, 12]


def test_spans_of_a_graph_are_filled_one_by_one() -> None:
    spans = [
        {"from": a, "to": b, "length": jobs.metres(length), "cable": jobs.awg(16)}
        for a, b, length in (("supply", "a", 12), ("a", "b", 9), ("b", "supply", 20), ("a", "c", 15))
    ]
    lamps = [{"point": name, "load": jobs.watts(35)} for name in "abc"]
    graph = {"supply": BOX, "wiring": {"form": "spans", "spans": spans, "fixtures": lamps}}
    reply = checked({**graph, "stock": STOCK, "scope": "per-span", "limits": {"maximum_drop_percent": 5}})
    assert len({span["cable"]["conductor"] for span in reply["wiring"]["spans"]}) > 1


def test_what_was_closed_is_handed_back_untouched() -> None:
    kept = jobs.run(
        jobs.lamp(5, jobs.watts(5), window=jobs.window(9, 15)), cable=jobs.ohms_per_km(7), id="kept"
    )
    request = jobs.job(jobs.run(jobs.lamp(25, jobs.watts(40))), kept, supply=BOX)
    reply = checked({**request, "stock": STOCK, "open": ["/wiring/runs/0/cable"]})
    assert reply["wiring"]["runs"][1] == json.loads(json.dumps(kept))


def test_more_changes_than_a_run_may_have_are_refused_and_not_a_fault_of_the_service() -> None:
    lamps = [jobs.lamp(at_m, jobs.watts(20)) for at_m in (6, 14, 30)]
    many = [{"at": jobs.metres(60 + 0.5 * index), "cable": jobs.awg(10)} for index in range(100)]
    changing = jobs.run(*lamps, jobs.lamp(150, jobs.watts(0.01)), cable=jobs.awg(12), cable_changes=many)
    request = {**jobs.job(changing, supply=BOX), "stock": STOCK, "scope": "per-span"}
    limits = {"maximum_drop_percent": 6}
    with pytest.raises(JobTooLargeError):
        ask({**request, "open": ["/wiring/runs/0/cable"], "limits": limits})


@pytest.mark.parametrize("scope", ["one", "per-run", "per-span"])
def test_random_gardens_give_what_was_shown(scope: str) -> None:
    """With leads, branches, loops, filaments and limits, as `tests/studies/choosing.py` plants them."""
    posted_again = 0
    for seed in range(400, 440):
        garden = Planter(seed, steady=False, scope=scope, loops=True).garden()
        if not garden.few_choices(scope) or ask(garden.request)["status"] != "recommended":
            continue
        checked(garden.request)
        posted_again += 1
    assert posted_again >= 10


def test_corners_hold_for_the_posted_wiring_too() -> None:
    pick = random.Random(3)
    conditions: dict[str, Any] = {
        "mains": {"kind": "named", "range": "outlet"},
        "conductor_temperature_range": {
            "lowest": jobs.quantity(-10, "degC"),
            "highest": jobs.quantity(60, "degC"),
        },
        "switching": "individually",
    }
    for _ in range(8):
        runs = [
            jobs.run(
                jobs.lamp(
                    pick.uniform(5, 25), jobs.halogen(pick.uniform(5, 20)), window=jobs.window(9.3, 13.9)
                )
            )
            for _ in "abc"
        ]
        request = {
            **jobs.job(*runs, supply=BOX),
            "stock": STOCK,
            "scope": "per-run",
            "conditions": conditions,
        }
        reply = ask(request)
        assert reply["status"] == "recommended"
        solved = posted(request, reply["wiring"])
        envelope = solved["envelope"]["fixtures"]
        lowest = min(row["lowest"]["voltage"]["value"] for row in envelope)
        highest = max(row["highest"]["voltage"]["value"] for row in envelope)
        assert lowest == reply["outcome"]["lowest_voltage"]["value"]
        assert highest == reply["outcome"]["highest_voltage"]["value"]
        assert not [each for each in solved["findings"] if each["code"].startswith("fixture-")]
