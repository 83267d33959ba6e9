"""Quotes over HTTP: what is bought, cut, joined, solved and refused."""

import json
import random
from decimal import Decimal
from typing import Any

import pytest

from service.app import app
from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.quote.findings import ASSUMED
from tests.studies.quote.quotes import (
    PART,
    PATH,
    accepting,
    by_metre,
    cable,
    good,
    lamp,
    money,
    part,
    quote,
    spools,
    wired,
)

CLIENT = Client(app)


def quoted(request: Json) -> Json:
    return jobs.answer(CLIENT, request, PATH)


def bill_of(request: Json) -> Json:
    (bill,) = quoted(request)["bills"]
    found: Json = bill
    return found


def refused(request: Json) -> list[tuple[str, str]]:
    """Code and pointer of every mistake."""
    reply = CLIENT.post(PATH, json=request)
    assert reply.status_code == 422, reply.text
    problem = reply.json()
    assert problem["code"] == "quote-invalid"
    return [(error["code"], error["pointer"]) for error in problem["errors"]]


def of_kind(bill: Json, kind: str) -> list[Json]:
    return [line for line in bill["lines"] if line["kind"] == kind]


@pytest.mark.parametrize(("code", "request_body"), ASSUMED, ids=[code for code, _ in ASSUMED])
def test_what_is_left_open_is_said(code: str, request_body: Json) -> None:
    assert code in jobs.assumed(quoted(request_body))


def test_the_wiring_that_a_choice_of_cables_answers_is_posted_unchanged() -> None:
    stock = [
        cable(by_metre("0.80"), size=14),
        cable(by_metre("1.20"), size=12),
        cable(by_metre("2"), size=10),
    ]
    asked = wired(
        jobs.run(lamp(20, 20), name="near", cable=jobs.awg(18)),
        jobs.run(lamp(40, 30), name="far", cable=jobs.awg(18)),
    )
    plain = [{name: row[name] for name in ("id", "conductor", "price")} for row in stock]
    chosen = jobs.answer(CLIENT, {**asked, "stock": plain, "scope": "per-run"}, "/v1/gauge-recommendation")
    assert chosen["status"] == "recommended"
    solved = {**asked, "wiring": chosen["wiring"], "conditions": chosen["judged_conditions"]}
    # Two rows of each conductor: the one that was chosen is the one that is named.
    doubled = [*stock, *({**row, "id": f"other {row['id']}"} for row in stock)]
    bill = bill_of(quote(solved, catalogue={"cables": doubled}))
    assert bill["status"] == "quoted"
    bought = {line["item"]: Decimal(line["quantity"]) for line in of_kind(bill, "cable")}
    assert bought == {row["stock_id"]: Decimal(str(row["quantity"]["value"])) for row in chosen["purchase"]}
    assert bill["line_total"] == chosen["total"]


def test_a_division_into_runs_is_posted_unchanged_too() -> None:
    zone = {
        "name": "bed",
        "distance": jobs.metres(5),
        "fixtures": [lamp(1, 5, count=4, spacing=jobs.metres(2))],
    }
    asked = {"supply": wired()["supply"], "zones": [zone], "runs_at_most": 2, "hubs": False}
    plain = [{"id": "C-12", "conductor": "12 AWG", "price": by_metre("1")}]
    divided = jobs.answer(CLIENT, {**asked, "stock": plain}, "/v1/run-division")
    bill = bill_of(quote({"supply": asked["supply"], "wiring": divided["wiring"]}))
    assert (bill["status"], bill["line_total"]) == ("quoted", divided["total"])


def test_a_fixture_s_own_item_beats_that_of_its_type() -> None:
    typed = {"id": "T", "load": jobs.watts(4), "item": "typed", "lamp": "capsule"}
    lines: list[Json] = [
        {"at": jobs.metres(5), "type": "T"},
        {"at": jobs.metres(9), "type": "T", "item": "own", "count": 2, "spacing": jobs.metres(1)},
    ]
    asked = wired(jobs.run(*lines, cable=jobs.awg(12)))
    asked["wiring"]["fixture_types"] = [typed]
    goods = {"fixtures": [good("typed"), good("own")], "lamps": [good("capsule")]}
    bill = bill_of(quote(asked, catalogue=goods))
    assert {line["item"]: line["quantity"] for line in bill["lines"] if line["kind"] != "cable"} == {
        "typed": "1",
        "own": "2",
        "capsule": "3",
    }


def test_supplies_labour_and_joints_are_pooled_over_the_parts() -> None:
    hours = [
        {"id": per, "hours": "0.5", "per": per, "rate": "60", "tax": "work"}
        for per in ("job", "supply", "run", "fixture", "fixture-joint")
    ]
    two = [{**part(), "supply": {**part()["supply"], "item": "box"}} for _ in range(2)]
    goods = {"supplies": [good("box", "100")], "joints": [accepting("J", {"12 AWG": 1, "18 AWG": 1})]}
    bill = bill_of(quote(*two, catalogue=goods, labour=hours))
    assert {line["item"]: line["quantity"] for line in bill["lines"]} == {
        "box": "2", "C-12": "40", "J": "4",
        "job": "0.5", "supply": "1", "run": "1", "fixture": "1", "fixture-joint": "1",
    }  # fmt: skip
    assert of_kind(bill, "joint")[0]["pointers"] == [
        f"/alternatives/0/parts/{place}/wiring/runs/0/fixtures/0" for place in range(2)
    ]


def test_places_and_crossings_count_once_where_they_point_and_nowhere_else() -> None:
    sleeve = good("sleeve", "4", quantity="1", per="crossing")
    hours = {"hours": "1", "base": jobs.metres(10), "rate": "50", "tax": "work"}
    request = quote(part(), part())
    request["alternatives"].append({"id": "b", "parts": [part()]})
    request["catalogue"]["sundries"] = [sleeve]
    at = f"{PART}/wiring/runs/0"
    bills = quoted(
        {
            **request,
            "ground": [{"id": "bed", "labour": hours}, {"id": "drive", "labour": {**hours, "hours": "4"}}],
            "places": [{"pointer": at, "from": jobs.metres(5), "to": jobs.metres(8), "ground": "drive"}],
            "crossings": [{"pointer": at, "at": jobs.metres(5), "length": jobs.metres(3)}],
        }
    )["bills"]
    counted = [{line["item"]: line["quantity"] for line in bill["lines"]} for bill in bills]
    assert counted == [
        {"C-12": "40", "sleeve": "1", "bed": "3.7", "drive": "1.2"},
        {"C-12": "20", "bed": "2"},
    ]


def test_what_is_allowed_is_laid_bought_and_solved() -> None:
    request = quote(
        wired(jobs.run(lamp(10, 20), lamp(20, 20), cable=jobs.awg(16))),
        catalogue={"cables": [cable(by_metre("1"), size=16)]},
    )
    takes = {"slack_percent": 10, "at_fixture": jobs.metres(1), "at_supply": jobs.metres(2)}
    bill = bill_of({**request, "allowances": takes})
    assert of_kind(bill, "cable")[0]["quantity"] == "27"
    longer = wired(jobs.run(lamp(14, 20), lamp(27, 20), cable=jobs.awg(16)))
    assert bill["electrical"][0]["weakest"]["voltage"] == _weakest(longer)


def _weakest(request: Json) -> Json:
    reply = jobs.answer(CLIENT, request)
    found: Json = min((row["voltage"] for row in reply["fixtures"]), key=lambda each: each["value"])
    return found


@pytest.mark.parametrize("poles", [1, 2])
def test_joints_within_a_run_are_paid_and_solved_with_their_resistance(poles: int) -> None:
    split = accepting("J", {"12 AWG": 2}, poles=poles, resistance=jobs.quantity(20, "mohm"))
    request = quote(
        wired(jobs.run(lamp(50, 40), cable=jobs.awg(12))),
        price=spools((30, "20")),
        catalogue={"cables": [cable(spools((30, "20")))], "joints": [split]},
        cutting={"joints": "anywhere"},
        labour=[{"id": "join", "hours": "0.25", "per": "run-joint", "rate": "40", "tax": "work"}],
    )
    reply = quoted(request)
    (bill,) = reply["bills"]
    (each,) = bill["electrical"]
    assert {line["item"]: line["quantity"] for line in bill["lines"]} == {
        "C-12": "2",
        "J": str(3 - poles),
        "join": "0.25",
    }
    # 20 mohm for each connector: two with one pole.
    ohms = 0.020 * (3 - poles)
    spliced = wired(jobs.run(lamp(50, 40, splice_resistance=jobs.quantity(ohms, "ohm")), cable=jobs.awg(12)))
    assert each["weakest_with_joints"] == _weakest(spliced)
    assert each["weakest_without_joints"] == _weakest(request["alternatives"][0]["parts"][0])
    (told,) = jobs.findings(reply, "joint-in-run")
    assert f"{each['weakest_with_joints']['value']:.3f} V" in told["message"]


def test_a_joint_in_one_of_two_cables_side_by_side_is_solved_in_that_one() -> None:
    # One of the two is whole; the other is joined from the rest of its spool and a short one, 4 m longer.
    request = quote(
        wired(jobs.run(lamp(50, 40, lead=None), cable=jobs.awg(16, cables_in_parallel=2))),
        catalogue={"cables": [cable(spools((75, "20"), (30, "9")), size=16)]},
        cutting={"joints": "anywhere"},
        allowances={"at_joint": jobs.metres(2)},
    )
    (bill,) = quoted(request)["bills"]
    assert bill["cut_list"][0]["joints"] == 1
    spans = [
        {"from": "supply", "to": "end", "length": jobs.metres(length_m), "cable": jobs.awg(16)}
        for length_m in (50, 54)
    ]
    fixtures = [{"point": "end", "load": jobs.watts(40)}]
    mesh = wired(jobs.run(lamp(50), cable=jobs.awg(16)))
    mesh["wiring"] = {"form": "spans", "spans": spans, "fixtures": fixtures}
    assert bill["electrical"][0]["weakest_with_joints"] == _weakest(mesh)
    assert bill["electrical"][0]["weakest_without_joints"] != _weakest(mesh)


def test_a_joint_within_a_lead_is_told_not_to_be_solved() -> None:
    lead = {"length": jobs.metres(40), "cable": jobs.awg(12), "item": "C-12"}
    request = quote(
        wired(jobs.run(lamp(20, lead=None) | {"lead": lead}, cable=jobs.awg(12))),
        price=spools((30, "20")),
        catalogue={
            "cables": [cable(spools((30, "20")))],
            "joints": [accepting("J", {"12 AWG": 2}, resistance=jobs.quantity(20, "mohm"))],
        },
        cutting={"joints": "anywhere"},
    )
    (told,) = jobs.findings(quoted(request), "joint-in-run")
    assert "The resistance of joints within a lead is not in this answer" in told["message"]


def test_whole_spools_are_taken_where_joints_would_cost_more() -> None:
    offers = spools((30, "20"), (60, "45"))
    dear = accepting("J", {"12 AWG": 2}, price={"amount": "3"})
    cheap = accepting("J", {"12 AWG": 2}, price={"amount": "2"})
    bought = {}
    for name, connector in (("dear", dear), ("cheap", cheap)):
        goods = {"cables": [cable(offers)], "joints": [connector]}
        bill = bill_of(quote(part(50), catalogue=goods, cutting={"joints": "anywhere"}))
        bought[name] = [(line["spool"]["value"], line["quantity"]) for line in of_kind(bill, "cable")]
    assert bought == {"dear": [(60.0, "1")], "cheap": [(30.0, "2")]}


def test_off_cuts_on_hand_are_used_first_and_cost_nothing() -> None:
    hand = [{"length": jobs.metres(21), "count": 1}]
    for price in (spools((100, "50")), by_metre("1")):
        goods = {"cables": [cable(price, on_hand=hand)]}
        two = wired(*(jobs.run(lamp(20), cable=jobs.awg(12)) for _ in range(2)))
        bill = bill_of(quote(two, catalogue=goods))
        (cuts,) = bill["cut_list"]
        first = cuts["spools"][0]
        assert (first["on_hand"], first["length"]["value"]) == (True, 21)
        assert of_kind(bill, "cable")[0]["quantity"] in {"1", "20"}


def test_every_mistake_is_told_at_once_where_it_stands() -> None:
    request = quote(part(item="no such"), jobs.totals(jobs.watts(20), 10), part())
    request["alternatives"].append({**request["alternatives"][0], "parts": [part()]})
    del request["alternatives"][0]["parts"][2]["wiring"]["runs"][0]["cable"]
    request["catalogue"] |= {
        "fixtures": [
            good("C-12", gtin="7300010000002"),
            good("L", price={"amount": "1", "base_quantity": "0"}),
        ],
        "sundries": [good("S", quantity="1", per="length"), good("T", quantity="1", per="job", tax="vat")],
    }
    at = "/alternatives/1/parts/0/wiring/runs/0"
    request |= {
        "money": money(
            "net",
            currency="XAU",
            uplift=[{"class": "cables", "kind": "margin", "percent": 100}],
            adjustments=[
                {"kind": "charge"},
                {"kind": "charge", "percent": 1, "line": "nowhere"},
                {"kind": "charge", "amount": "1", "line": "L", "tax": "goods"},
            ],
        ),
        "ground": [{"id": "bed"}],
        "places": [
            {"pointer": at, "from": jobs.metres(5), "to": jobs.metres(21), "ground": "bed"},
            {"pointer": at, "from": jobs.metres(1), "to": jobs.metres(6), "ground": "lawn"},
            {"pointer": f"{at}/fixtures/0", "from": jobs.metres(1), "to": jobs.metres(2), "ground": "bed"},
        ],
        "crossings": [{"pointer": at, "at": jobs.metres(19), "length": jobs.metres(2), "item": "T"}],
        "terms": {"issued_on": "2026-02-30"},
    }
    assert set(refused(request)) == {
        ("unknown-item", f"{PART}/wiring/runs/0/fixtures/0/item"),
        ("totals-not-quoted", "/alternatives/0/parts/1/wiring/form"),
        ("cable-missing", "/alternatives/0/parts/2/wiring/runs/0"),
        ("duplicate-alternative", "/alternatives/1/id"),
        ("duplicate-row", "/catalogue/fixtures/0/id"),
        ("wrong-check-digit", "/catalogue/fixtures/0/gtin"),
        ("base-quantity-zero", "/catalogue/fixtures/1/price/base_quantity"),
        ("base-missing", "/catalogue/sundries/0/base"),
        ("unknown-tax", "/catalogue/sundries/1/tax"),
        ("unknown-currency", "/money/currency"),
        ("uplift-without-cost", "/money/uplift"),
        ("margin-too-large", "/money/uplift/0/percent"),
        ("adjustment-unclear", "/money/adjustments/0"),
        ("adjustment-tax", "/money/adjustments/0"),
        ("unknown-line", "/money/adjustments/1/line"),
        ("adjustment-tax", "/money/adjustments/2/tax"),
        ("outside-route", "/places/0"),
        ("unknown-ground", "/places/1/ground"),
        ("ground-twice", "/places/1"),
        ("unknown-place", "/places/2/pointer"),
        ("outside-route", "/crossings/0"),
        ("not-per-crossing", "/crossings/0/item"),
        ("not-a-date", "/terms/issued_on"),
    }


def test_a_percentage_with_more_than_six_decimals_is_not_printed() -> None:
    taxes = [
        {"code": "goods", "percent": 1e-300},
        {"code": "work", "percent": 8.250000000000001},
        {"code": "fine", "percent": 8.999999},
    ]
    adjustments = [{"kind": "charge", "percent": percent, "tax": "fine"} for percent in (1e-6, 1.1e-6)]
    assert refused(quote(money=money(taxes=taxes, adjustments=adjustments))) == [
        ("percent-too-fine", "/money/taxes/0/percent"),
        ("percent-too-fine", "/money/taxes/1/percent"),
        ("percent-too-fine", "/money/adjustments/1/percent"),
    ]


def test_what_is_put_on_costs_may_have_any_decimals() -> None:
    # A price of 14 at a cost of 10, as a program works it out: 28.57142857142857 % of the price.
    uplift = {"class": "fixtures", "kind": "margin", "percent": 100 * (1 - 10 / 14)}
    request = quote(part(item="L"), catalogue={"fixtures": [good("L")]}, money=money("cost", uplift=[uplift]))
    (bill,) = quoted(request)["bills"]
    assert [line["unit_price"] for line in of_kind(bill, "fixture")] == ["14.00"]


def test_a_wrong_item_of_all_stands_where_it_is_said_once() -> None:
    asked = part()
    del asked["wiring"]["runs"][0]["cable"]
    asked["wiring"]["cable"] = jobs.awg(12, item="nowhere")
    typed = {"id": "T", "load": jobs.watts(4), "item": "nowhere"}
    asked["wiring"]["fixture_types"] = [typed]
    asked["wiring"]["runs"][0]["fixtures"] = [{"at": jobs.metres(at), "type": "T"} for at in (5, 9)]
    assert refused(quote(asked, catalogue={"fixtures": [good("L")]})) == [
        ("unknown-item", f"{PART}/wiring/cable/item"),
        ("unknown-item", f"{PART}/wiring/fixture_types/0/item"),
    ]


def test_four_hundred_lengths_of_a_cable_are_cut_and_one_more_is_refused() -> None:
    def lengths(count: int) -> Json:
        parts = [
            wired(
                *(
                    jobs.run(lamp(1 + 0.1 * (start + place), 0.01), cable=jobs.awg(12))
                    for place in range(each)
                )
            )
            for start, each in ((0, 200), (200, count - 200))
        ]
        return quote(*parts)

    assert len(bill_of(lengths(400))["cut_list"][0]["lengths"]) == 400
    parts = lengths(399)["alternatives"][0]["parts"]
    further = wired(*(jobs.run(lamp(60 + place, 0.01), cable=jobs.awg(12)) for place in range(2)))
    assert refused(quote(*parts, further)) == [("too-many-lengths", "/alternatives/0")]


def test_places_of_all_parts_together_are_bounded() -> None:
    line = lamp(1, 0.01, count=400, spacing=jobs.metres(0.1))
    reply = CLIENT.post(PATH, json=quote(*[wired(jobs.run(line, cable=jobs.awg(12)))] * 10))
    assert (reply.status_code, reply.json()["code"]) == (422, "job-too-large")
    assert reply.json()["errors"][0]["pointer"] == "/alternatives"


def test_a_bill_with_a_fault_is_listed_without_a_total() -> None:
    reply = quoted(quote(part(60), price=spools((30, "20"))))
    (bill,) = reply["bills"]
    assert (reply["status"], bill["status"]) == ("not-quotable", "not-quotable")
    assert "total" not in bill
    assert jobs.codes(reply)[0] == "piece-longer-than-any-spool"
    assert bill["lines"] == []


def test_a_wiring_that_is_not_carried_is_not_quotable() -> None:
    reply = quoted(quote(part(2_000, watts=100)))
    (each,) = reply["bills"][0]["electrical"]
    assert (each["carried"], each["verdict"]) == (False, "fails")
    assert reply["status"] == "not-quotable"
    assert "weakest" not in reply["comparison"][0]


def test_alternatives_stand_side_by_side() -> None:
    request = quote(part(20))
    request["alternatives"].append({"id": "b", "name": "better", "parts": [part(30)]})
    reply = quoted(request)
    assert [row["beside_cheapest"] for row in reply["comparison"]] == ["0.00", "12.00"]
    assert reply["summary"]["text"].startswith("a: 24.00 EUR; better: 36.00 EUR.")
    for row, bill in zip(reply["comparison"], reply["bills"], strict=True):
        (each,) = bill["electrical"]
        assert (row["weakest"], row["spare"]) == (each["weakest"]["voltage"], each["spare"])
        lost = each["cable_loss"]["value"] + each["winding_loss"]["value"]
        assert row["lost"]["value"] == pytest.approx(lost, abs=2e-3)


def test_a_quote_in_a_batch_is_answered_as_alone() -> None:
    items: list[Json] = [{"study": "quote", "request": quote(part(at_m))} for at_m in (10, 20, 30)]
    outcomes = CLIENT.post("/v1/batch", json={"items": items}).json()["items"]
    for item, outcome in zip(items, outcomes, strict=True):
        alone = quoted(item["request"])
        assert outcome["answer"] | {"request_sha256": ""} == alone | {"request_sha256": ""}


def test_a_warning_of_the_bill_is_accepted_by_its_code() -> None:
    request = quote(part(lead=None), catalogue={"joints": []})
    assert quoted(request)["summary"]["verdict"] == "passes-with-warnings"
    reply = quoted({**request, "accept": ["lead-not-stated"]})
    assert reply["summary"]["verdict"] == reply["bills"][0]["verdict"] == "passes"
    assert [told["code"] for told in jobs.findings(reply, "lead-not-stated")] == ["lead-not-stated"]


def test_a_form_without_leads_is_not_told_to_give_one() -> None:
    even = jobs.even(3, jobs.watts(4), 20, cable=jobs.awg(12))
    (told,) = jobs.findings(quoted(quote(even, catalogue={"joints": []})), "lead-not-stated")
    assert told["message"].endswith("Give it a `lead`, which `runs` and `spans` take.")


def test_what_joints_within_a_piece_take_is_laid_too() -> None:
    request = quote(
        part(45),
        price=spools((30, "30")),
        cutting={"joints": "anywhere"},
        allowances={"at_joint": jobs.metres(0.5)},
    )
    bill = bill_of(request)
    (cuts,) = bill["cut_list"]
    assert sum(piece["length"]["value"] for row in cuts["spools"] for piece in row["cuts"]) == 46
    assert (cuts["joints"], cuts["laid"]["value"], cuts["route"]["value"]) == (1, 46, 45)
    (line,) = of_kind(bill, "cable")
    assert line["why"] == "spool of 30 m; 46 m laid in 1 piece in all"


def test_a_joint_within_a_piece_lies_where_both_ends_are_as_long_as_is_allowed() -> None:
    request = quote(
        part(70),
        price=spools((30, "30")),
        cutting={"joints": "anywhere"},
        allowances={"at_joint": jobs.metres(0.5)},
    )
    bill = bill_of(request)
    (cuts,) = bill["cut_list"]
    laid = [piece for row in cuts["spools"] for piece in row["cuts"]]
    lengths = {(piece["start"], piece["end"]): piece["length"]["value"] for piece in laid}
    assert lengths == {
        ("supply", "run 1 at 29.5 m"): 30,
        ("run 1 at 29.5 m", "run 1 at 58.5 m"): 30,
        ("run 1 at 58.5 m", "run 1 at 70 m"): 12,
    }
    (joints,) = [group for group in bill["joints"] if group["kind"] == "run-joint"]
    assert joints["places"] == ["run 1 at 29.5 m", "run 1 at 58.5 m"]


def test_what_lies_outside_a_route_is_told_in_the_unit_of_the_request() -> None:
    def told(unit: str) -> str:
        place = {"pointer": f"{PART}/wiring/runs/0", "ground": "lawn"}
        ends = {"from": jobs.feet(12.5), "to": {"value": 66, "unit": "ft"}}
        request = quote(ground=[{"id": "lawn"}], places=[place | ends], units=unit)
        (error,) = CLIENT.post(PATH, json=request).json()["errors"]
        detail: str = error["detail"]
        return detail

    assert told("us") == "It is from 12.5 ft to 66 ft, and the route goes from 0 to 65.6168 ft."
    assert told("metric") == "It is from 3.81 m to 20.1168 m, and the route goes from 0 to 20 m."


def test_a_sundry_of_ground_alone_is_told_without_what_is_none() -> None:
    sand = good("sand", "2", quantity="0", per="job")
    used = {"item": "sand", "quantity": "1", "base": jobs.metres(10)}
    request = quote(catalogue={"sundries": [sand]}, ground=[{"id": "lawn", "sundries": [used]}])
    (line,) = of_kind(bill_of(request), "sundry")
    assert (line["quantity"], line["why"]) == ("2", "1 for each 10 m, 20 m of route")


@pytest.mark.parametrize("seed", range(12))
def test_what_is_bought_laid_cut_and_billed_agrees(seed: int) -> None:
    request = _garden(random.Random(seed))
    bill = bill_of(request)
    lines = [Decimal(line["net"]) for line in bill["lines"]]
    assert sum(lines) == Decimal(bill["net"])
    assert Decimal(bill["net"]) + Decimal(bill["tax"]) == Decimal(bill["total"])
    assert sum(Decimal(tax["tax"]) for tax in bill["taxes"]) == Decimal(bill["tax"])
    for cuts in bill["cut_list"]:
        cut = sum(piece["length"]["value"] * row["count"] for row in cuts["spools"] for piece in row["cuts"])
        left = sum(row["off_cut"]["value"] * row["count"] for row in cuts["spools"])
        whole = sum(row["length"]["value"] * row["count"] for row in cuts["spools"])
        assert cut + left == pytest.approx(whole, abs=1e-2)
        assert cut == pytest.approx(cuts["laid"]["value"], abs=1e-2)
        bought = sum(row["count"] for row in cuts["spools"] if not row["on_hand"])
        of_row = [line for line in of_kind(bill, "cable") if line["item"] == cuts["item"]]
        assert bought == sum(int(line["quantity"]) for line in of_row)
    per_joint = sum(group["connectors"] for group in bill["joints"] if "item" in group)
    assert per_joint == sum(int(line["quantity"]) for line in of_kind(bill, "joint"))


@pytest.mark.parametrize("seed", range(4))
def test_the_order_of_runs_and_of_fixtures_is_immaterial(seed: int) -> None:
    draw = random.Random(seed)
    request = _garden(draw)
    before = bill_of(request)
    (only,) = request["alternatives"][0]["parts"]
    draw.shuffle(only["wiring"]["runs"])
    for each in only["wiring"]["runs"]:
        draw.shuffle(each["fixtures"])
    after = bill_of(request)
    assert (after["total"], after["net"]) == (before["total"], before["net"])
    assert [(line["item"], line["quantity"]) for line in after["lines"]] == [
        (line["item"], line["quantity"]) for line in before["lines"]
    ]


def _garden(draw: random.Random) -> Json:
    """Some runs with branches, sold in spools, joined where the seed says."""

    def lines(most_m: int) -> list[Any]:
        return [lamp(draw.randint(1, most_m), 1, item="L", count=draw.choice((1, 1, 3))) for _ in range(3)]

    runs = [
        jobs.run(
            *lines(40),
            cable=jobs.awg(12),
            branches=[jobs.branch(draw.randint(1, 9), *lines(9), cable=jobs.awg(10))],
            tail=jobs.metres(draw.choice((0, 2))),
        )
        for _ in range(4)
    ]
    offers = spools((50, "31.37"), (75, "44.90"), (120, "69.99"))
    combinations = [{"12 AWG": ends, "18 AWG": leads} for ends in (1, 2) for leads in (1, 2, 3)]
    return quote(
        wired(*runs),
        catalogue={
            "cables": [cable(offers), cable(offers, size=10)],
            "fixtures": [good("L", "89.50")],
            "joints": [
                accepting("J", *combinations, {"12 AWG": 2}, {"10 AWG": 2}),
                accepting("K", {"~12 AWG": 1, "18 AWG": 1}),
            ],
        },
        cutting={"joints": draw.choice(("nowhere", "at-fixtures", "anywhere"))},
        allowances={"slack_percent": 3, "at_fixture": jobs.quantity(30, "cm")},
        labour=[{"id": "join", "hours": "0.25", "per": "run-joint", "rate": "40", "tax": "work"}],
        money=money("cost", 8.25, uplift=[{"class": "cables", "kind": "margin", "percent": 30}]),
    )


def test_names_that_are_alike_are_two_rows_where_their_ids_differ() -> None:
    rows = [good("L1", "1", name="bollard"), good("L2", "2", name="bollard")]
    asked = wired(jobs.run(lamp(5, item="L1"), lamp(9, item="L2"), cable=jobs.awg(12)))
    fixtures = of_kind(bill_of(quote(asked, catalogue={"fixtures": rows})), "fixture")
    assert [(line["item"], line["name"]) for line in fixtures] == [("L1", "bollard"), ("L2", "bollard")]


@pytest.mark.parametrize("amount", ["0.000001", "1000000000000", "9999999999999.999999"])
def test_prices_from_a_millionth_to_thirteen_digits_are_billed(amount: str) -> None:
    bill = bill_of(quote(part(item="L"), catalogue={"fixtures": [good("L", amount)]}))
    (line,) = of_kind(bill, "fixture")
    assert Decimal(line["unit_price"]) == Decimal(amount)
    assert Decimal(line["net"]) == Decimal(amount).quantize(Decimal("0.01"), "ROUND_HALF_UP")


def test_nothing_below_zero_is_written_with_a_sign_before_nothing() -> None:
    adjustment = {"kind": "allowance", "amount": "0.00", "tax": "goods"}
    reply = quoted(quote(part(), money=money(adjustments=[adjustment], prepaid="24")))
    assert reply["bills"][0]["payable"] == "0.00"
    assert "-0" not in json.dumps(reply["bills"])


def test_a_finding_of_several_parts_is_said_once_with_how_many_there_are() -> None:
    bare = wired(jobs.run(lamp(5, lead=None), lamp(9, lead=None), cable=jobs.awg(12)))
    reply = quoted(quote(bare, bare))
    (group,) = [each for each in reply["summary"]["findings"] if each["code"] == "lead-not-stated"]
    assert group["count"] == len(jobs.findings(reply, "lead-not-stated")) == len(group["pointers"]) == 4
    assert group["message"].endswith("(1 more like this.) (2 more elsewhere.)")


def test_a_row_without_a_price_is_told_once_whatever_alternatives_need_it() -> None:
    request = quote(part(item="L"), catalogue={"fixtures": [good("L", None)]})
    request["alternatives"].append({"id": "b", "parts": [part(item="L")]})
    reply = quoted(request)
    assert jobs.codes(reply).count("price-missing") == 1
    assert reply["summary"]["findings"][0]["count"] == 1
    assert [bill["status"] for bill in reply["bills"]] == ["not-quotable"] * 2
    assert [line["net"] for bill in reply["bills"] for line in of_kind(bill, "cable")] == ["20.00"] * 2


@pytest.mark.parametrize("code", ["total", "payable"])
def test_a_tax_that_is_called_like_a_sum_is_not_taken_for_it(code: str) -> None:
    row = good("S", "5", quantity="1", per="job", tax=code)
    taxes = [*money()["taxes"], {"code": code, "percent": 0}]
    request = quote(catalogue={"sundries": [row]}, money=money(prepaid="1000", taxes=taxes))
    (told,) = jobs.findings(quoted(request), "amount-below-zero")
    assert told["message"].startswith("Below zero: what is left to pay (-971.00).")


def test_what_is_not_prepaid_is_not_told_to_be_left_to_pay() -> None:
    adjustment = {"kind": "allowance", "amount": "50", "tax": "work"}
    (told,) = jobs.findings(quoted(quote(money=money(adjustments=[adjustment]))), "amount-below-zero")
    below = 'what is taxable under "work" (-50.00), the total (-26.00)'
    assert told["message"].startswith(f"Below zero: {below}.")


def test_totals_of_thirty_digits_are_compared_to_the_cent() -> None:
    # 9999999999999.999999 at a margin of 99.99999999999999 %, which is 10^16 times as much.
    goods = {"fixtures": [good("L", "9999999999999.999999")], "cables": [cable(by_metre("1"))]}
    dear = {"class": "fixtures", "kind": "margin", "percent": 99.99999999999999}
    request = quote(part(item="L"), catalogue=goods, money=money("cost", uplift=[dear]))
    totals_only = wired(jobs.run(cable=jobs.awg(12), tail=jobs.metres(20)))
    request["alternatives"].append({"id": "b", "parts": [totals_only]})
    dear_row, plain = quoted(request)["comparison"]
    assert plain["beside_cheapest"] == "0.00"
    assert len(dear_row["total"]) > 30
    cents = [int(text.replace(".", "")) for text in (dear_row["total"], plain["total"])]
    assert dear_row["beside_cheapest"] == f"{(cents[0] - cents[1]) // 100}.{(cents[0] - cents[1]) % 100:02}"
