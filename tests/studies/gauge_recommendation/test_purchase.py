"""What to buy: spools, what is cut from each, joints; and sums that add up."""

import json
import random
from decimal import Decimal
from typing import Any

import msgspec
import pytest

from service.studies.gauge_recommendation import GAUGE_RECOMMENDATION
from tests.jobs import Json, awg, branch, job, lamp, metres, quantity, reply_to, run, transformer, watts


def answer(*runs: Json, stock: list[Json], **more: object) -> Json:
    request = {**job(*runs, supply=transformer()), "stock": stock, **more}
    reply: Json = json.loads(
        msgspec.json.encode(reply_to(GAUGE_RECOMMENDATION, json.dumps(request).encode()))
    )
    return reply


def per_metre(amount: str) -> Json:
    return {"kind": "per-length", "amount": amount, "per": "m"}


def test_the_lines_are_in_whole_cents_and_add_up_to_the_total() -> None:
    # Two lines of 0.125 each: rounded one by one they are 0.12, not half of 0.25.
    stock = [
        {"id": "a", "conductor": "12 AWG", "price": per_metre("0.0125")},
        {"id": "b", "conductor": "10 AWG", "price": per_metre("0.0130")},
    ]
    near = run(lamp(10, watts(5)), cable=awg(12))
    far = run(lamp(10.01, watts(100)), cable=awg(12))
    reply = answer(
        near, far, stock=stock, scope="per-run", limits={"maximum_drop_percent": 6}, currency="EUR"
    )
    lines = [Decimal(line["line_total"]) for line in reply["purchase"]]
    assert len(lines) == 2
    assert sum(lines) == Decimal(reply["total"])
    assert all(line.as_tuple().exponent == -2 for line in lines)
    assert reply["currency"] == "EUR"


def test_what_is_bought_is_what_is_laid_every_parallel_cable_counted() -> None:
    cable = {**awg(12), "cables_in_parallel": 2}
    stock = [{"id": "a", "conductor": "12 AWG", "price": per_metre("1")}]
    looped = run(lamp(10, watts(5)), cable=cable, tail=metres(3), return_leg={"length": metres(6)})
    reply = answer(looped, stock=stock)
    (line,) = reply["purchase"]
    assert line["quantity"] == quantity(2 * (10 + 3 + 6), "m")
    assert line["line_total"] == "38.00"


def test_a_stock_that_is_priced_in_part_has_no_total() -> None:
    priced: Json = {"id": "a", "conductor": "12 AWG", "price": per_metre("1")}
    stock = [priced, {"id": "b", "conductor": "10 AWG"}]
    near, far = run(lamp(2, watts(5)), cable=awg(12)), run(lamp(10, watts(100)), cable=awg(12))
    reply = answer(near, far, stock=stock, scope="per-run", limits={"maximum_drop_percent": 6})
    assert [line.get("line_total") for line in reply["purchase"]] == ["2.00", None]
    assert "total" not in reply
    assert reply["objective"] == "least-metal"


def in_spools(*offers: tuple[float, str]) -> list[Json]:
    """One cable, 12 AWG, in spools of so many feet at these prices."""
    spools = [{"length": quantity(feet, "ft"), "amount": amount} for feet, amount in offers]
    return [{"id": "a", "conductor": "12 AWG", "price": {"kind": "per-spool", "spools": spools}}]


def feet_run(feet: float, **more: Any) -> Json:
    return run({"at": quantity(feet, "ft"), "load": watts(2)}, cable=awg(12), **more)


ANYWHERE = {"joints": "anywhere"}

TWO_LONG_RUNS = (feet_run(150), feet_run(150))


def cuts(line: Json) -> list[list[float]]:
    """For each spool its length, the lengths cut from it, and what is left; as often as it is bought. [ft]"""
    return [
        [
            row["length"]["value"],
            *(piece["length"]["value"] for piece in row["pieces"]),
            row["off_cut"]["value"],
        ]
        for row in line["cut_list"]
        for _ in range(row["count"])
    ]


def test_each_run_is_cut_from_one_spool_and_the_cut_list_says_which() -> None:
    # Both runs from one spool of 500 ft for 260; two of 250 ft would be 280, three of 100 ft hold neither.
    reply = answer(*TWO_LONG_RUNS, stock=in_spools((100, "60"), (250, "140"), (500, "260")))
    (line,) = reply["purchase"]
    assert line["spools"] == [{"length": quantity(500, "ft"), "count": 1}]
    assert (line["line_total"], line["proven"], line["joints"]) == ("260.00", True, 0)
    (row,) = line["cut_list"]
    assert [piece["pointer"] for piece in row["pieces"]] == ["/wiring/runs/0/cable", "/wiring/runs/1/cable"]
    assert [(piece["start"], piece["end"]) for piece in row["pieces"]] == [
        ("supply", "run 1 at 150 ft"), ("supply", "run 2 at 150 ft"),
    ]  # fmt: skip
    assert cuts(line) == [[500, 150, 150, 200]]
    assert not [found for found in reply["findings"] if found["code"] == "joint-in-run"]


def test_a_run_longer_than_every_spool_is_refused_with_what_to_do() -> None:
    reply = answer(*TWO_LONG_RUNS, stock=in_spools((100, "60")))
    assert reply["status"] == "none-passes"
    (row,) = reply["compared"]
    (broken,) = row["outcome"]["breaks"]
    assert broken["code"] == "piece-longer-than-any-spool"
    assert (broken["measured"], broken["limit"]) == (quantity(150, "ft"), quantity(100, "ft"))
    assert "price" not in row
    (found,) = reply["findings"]
    assert found["message"].startswith(
        "The cable from supply to run 1 at 150 ft is 150 ft in one piece,"
        ' and the longest spool of "a" is 100 ft. Allow joints'
    )
    remedies = {remedy["code"]: remedy["outcome"]["passes"] for remedy in reply["remedies"]}
    assert remedies == {"allow-joints": True, "longer-spool": True}


def test_where_joints_are_allowed_they_are_counted_and_said() -> None:
    # 300 ft from three spools of 100 ft: each run is a whole spool and half of another, one joint each.
    reply = answer(*TWO_LONG_RUNS, stock=in_spools((100, "60")), cutting=ANYWHERE)
    (line,) = reply["purchase"]
    assert line["spools"] == [{"length": quantity(100, "ft"), "count": 3}]
    assert (line["line_total"], line["joints"], line["proven"]) == ("180.00", 2, True)
    assert all(piece["joined"] for row in line["cut_list"] for piece in row["pieces"])
    said = [found for found in reply["findings"] if found["code"] == "joint-in-run"]
    assert [found["subject"]["pointer"] for found in said] == ["/wiring/runs/0/cable", "/wiring/runs/1/cable"]
    assert {found["severity"] for found in said} == {"note"}
    assert "joints in it: 1." in said[0]["message"]


def test_a_cable_sold_by_length_or_on_longer_spools_is_taken_where_short_spools_are_cheaper() -> None:
    stock = [
        *in_spools((100, "1")),
        {"id": "b", "conductor": "10 AWG", "price": per_metre("9")},
    ]
    reply = answer(*TWO_LONG_RUNS, stock=stock)
    assert [row["stock_id"] for row in reply["purchase"]] == ["b"]
    assert [row["outcome"]["passes"] for row in reply["compared"]] == [False, True]


def test_without_every_price_a_cable_whose_spools_are_too_short_is_left_out_too() -> None:
    stock = [*in_spools((100, "1")), {"id": "b", "conductor": "10 AWG"}]
    reply = answer(*TWO_LONG_RUNS, stock=stock)
    assert (reply["objective"], reply["purchase"][0]["stock_id"]) == ("least-metal", "b")


def test_a_cable_change_ends_a_piece_and_the_same_cable_on_both_sides_does_not() -> None:
    change = {"at": quantity(80, "ft"), "cable": awg(10)}
    long_run = feet_run(150, cable_changes=[change])
    whole = answer(long_run, stock=in_spools((160, "50"), (80, "20")))
    assert cuts(whole["purchase"][0]) == [[160, 150, 10]]
    part = answer(long_run, stock=in_spools((160, "50"), (80, "20")), open=["/wiring/runs/0/cable"])
    assert cuts(part["purchase"][0]) == [[80, 80, 0]]


def test_a_branch_a_return_leg_and_each_parallel_cable_are_pieces_of_their_own() -> None:
    twig = branch(10, lamp(5, watts(2)), cable=awg(12))
    ring = run(
        lamp(20, watts(2)),
        cable={**awg(12), "cables_in_parallel": 2},
        branches=[twig],
        return_leg={"length": metres(7)},
    )
    stock = [{**in_spools((1, "1"))[0]}]
    stock[0]["price"]["spools"] = [{"length": metres(20), "amount": "10"}]
    (line,) = answer(ring, stock=stock)["purchase"]
    assert line["quantity"] == quantity(2 * 20 + 5 + 2 * 7, "m")
    lengths = sorted(
        piece["length"]["value"]
        for row in line["cut_list"]
        for piece in row["pieces"]
        for _ in range(row["count"])
    )
    assert lengths == [5, 7, 7, 20, 20]
    assert line["spools"] == [{"length": metres(20), "count": 3}]


def test_each_span_of_a_graph_is_a_piece() -> None:
    spans = [
        {"id": "a", "from": "supply", "to": "p", "length": metres(30), "cable": awg(12)},
        {"id": "b", "from": "p", "to": "q", "length": metres(25), "cable": awg(12)},
    ]
    wiring = {"form": "spans", "spans": spans, "fixtures": [{"point": "q", "load": watts(2)}]}
    stock = in_spools((1, "1"))
    stock[0]["price"]["spools"] = [{"length": metres(30), "amount": "10"}]
    (line,) = answer(stock=stock, wiring=wiring, units="metric")["purchase"]
    assert cuts(line) == [[30, 30, 0], [30, 25, 5]]


def test_what_cannot_be_proven_in_the_work_there_is_says_what_nothing_costs_less_than() -> None:
    pick = random.Random(4)
    runs = [feet_run(pick.randint(30, 480)) for _ in range(90)]
    stock = in_spools((500, "290"), (250, "152"), (1000, "571.13"), (150, "99.99"))
    reply = answer(*runs, stock=stock, limits={"maximum_drop_percent": 90})
    (line,) = reply["purchase"]
    assert reply["method"] == "best-found"
    assert line["proven"] is False
    assert Decimal(reply["least_possible_total"]) <= Decimal(line["at_least"]) < Decimal(line["line_total"])


def test_spools_are_listed_as_they_are_sold() -> None:
    stock = in_spools((100, "45"), (250, "95"))
    reply = answer(feet_run(310), stock=stock, cutting=ANYWHERE)
    (line,) = reply["purchase"]
    assert line["spools"] == [
        {"length": quantity(100, "ft"), "count": 1},
        {"length": quantity(250, "ft"), "count": 1},
    ]
    assert line["line_total"] == reply["total"] == "140.00"


@pytest.mark.parametrize("joints", ["nowhere", "anywhere"])
@pytest.mark.parametrize("feet", [100, 300, 1000])
def test_feet_are_not_lost_in_metres(feet: int, joints: str) -> None:
    # Ten lamps a tenth of the way from each other: the sum of ten stretches is the spool, to the last digit.
    spool = feet if joints == "nowhere" else 100
    offers = [{"length": quantity(spool, "ft"), "amount": "10"}]
    stock = [{"id": "a", "conductor": "10 AWG", "price": {"kind": "per-spool", "spools": offers}}]
    lights = {
        "at": quantity(feet / 10, "ft"),
        "spacing": quantity(feet / 10, "ft"),
        "count": 10,
        "load": watts(0.01),
    }
    reply = answer(run(lights, cable=awg(12)), stock=stock, cutting={"joints": joints})
    assert reply["purchase"][0]["spools"] == [{"length": quantity(spool, "ft"), "count": feet // spool}]


def test_amounts_may_have_thirteen_digits_and_six_decimals() -> None:
    by_spool = answer(feet_run(50), feet_run(60), stock=in_spools((100, "4999999999999.123456")))
    assert by_spool["total"] == "9999999999998.25"
    by_length = [{"id": "a", "conductor": "12 AWG", "price": per_metre("0.000125")}]
    assert answer(run(lamp(40, watts(2)), cable=awg(12)), stock=by_length)["total"] == "0.00"
    dearest = [{"id": "a", "conductor": "12 AWG", "price": per_metre("9999999999999.999999")}]
    assert answer(run(lamp(4, watts(2)), cable=awg(12)), stock=dearest)["total"] == "40000000000000.00"
