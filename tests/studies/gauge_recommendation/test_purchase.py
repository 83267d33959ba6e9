"""What to buy: whole spools, against trying every number of each; and sums that add up."""

import json
import random
import time
from decimal import Decimal
from itertools import product

import msgspec
import pytest

from service.studies.gauge_recommendation import GAUGE_RECOMMENDATION
from service.studies.gauge_recommendation.candidates import Spool, cheapest_spools
from tests import jobs
from tests.jobs import Json


def spools(*offers: tuple[float, str]) -> tuple[Spool, ...]:
    return tuple(Spool(length_m, Decimal(price)) for length_m, price in offers)


def answer(*runs: Json, stock: list[Json], **more: object) -> Json:
    request = {**jobs.job(*runs, supply=jobs.transformer()), "stock": stock, **more}
    reply: Json = json.loads(msgspec.json.encode(GAUGE_RECOMMENDATION.reply_to(json.dumps(request).encode())))
    return reply


def per_metre(amount: str) -> Json:
    return {"kind": "per-length", "amount": amount, "per": "m"}


def test_the_order_is_the_cheapest_of_all_orders_and_of_equals_the_fewest_spools() -> None:
    pick = random.Random(11)  # noqa: S311  repeatable, not secret
    lengths_m = (15.0, 30.0, 30.48, 50.0, 75.0, 76.2, 100.0, 152.4)
    for _ in range(300):
        offers = tuple(
            Spool(pick.choice(lengths_m), Decimal(pick.randint(100, 20_000)) / pick.choice((1, 10, 100)))
            for _ in range(pick.randint(1, 4))
        )
        needed_m = pick.choice((0.0, 30.48 * pick.randint(1, 9), pick.uniform(1, 350)))
        found = cheapest_spools(offers, needed_m)
        counts = product(*(range(int(needed_m // spool.length_m) + 2) for spool in offers))
        enough = [
            (sum(n * spool.price for n, spool in zip(each, offers, strict=True)), sum(each))
            for each in counts
            if sum(n * spool.length_m for n, spool in zip(each, offers, strict=True)) >= needed_m - 1e-6
        ]
        assert found.proven
        assert (found.price, sum(found.counts)) == min(enough)


def test_the_counts_stand_in_the_order_of_the_offers_and_cost_what_is_said() -> None:
    offers = spools((30.48, "45"), (76.2, "100"), (152.4, "180"), (304.8, "333"))
    found = cheapest_spools(offers, 1234.5)
    assert found.counts == (1, 0, 0, 4)
    assert found.price == 45 + 4 * 333


def test_a_spool_exactly_as_long_as_the_run_is_enough() -> None:
    thirds = 30.48 / 3
    assert cheapest_spools(spools((30.48, "10")), thirds + thirds + thirds).counts == (1,)


def test_spools_as_dear_per_metre_as_each_other_do_not_keep_it_from_ending() -> None:
    began = time.monotonic()
    alike = spools((1.1, "1.1"), (1.3, "1.3"), (1.7, "1.7"), (1.9, "1.9001"))
    found = cheapest_spools(alike, 1e6)
    assert time.monotonic() - began < 1.0
    assert not found.proven
    bought_m = sum(count * spool.length_m for count, spool in zip(found.counts, alike, strict=True))
    assert bought_m >= 1e6 - 1e-6
    assert found.price <= Decimal(1_000_002)


def test_the_lines_are_in_whole_cents_and_add_up_to_the_total() -> None:
    # Two lines of 0.125 each: rounded one by one they are 0.12, not half of 0.25.
    stock = [
        {"id": "a", "conductor": "12 AWG", "price": per_metre("0.0125")},
        {"id": "b", "conductor": "10 AWG", "price": per_metre("0.0130")},
    ]
    near = jobs.run(jobs.lamp(10, jobs.watts(5)), cable=jobs.awg(12))
    far = jobs.run(jobs.lamp(10.01, jobs.watts(100)), cable=jobs.awg(12))
    reply = answer(
        near, far, stock=stock, scope="per-run", limits={"maximum_drop_percent": 6}, currency="EUR"
    )
    lines = [Decimal(line["line_total"]) for line in reply["purchase"]]
    assert len(lines) == 2
    assert sum(lines) == Decimal(reply["total"])
    assert all(line.as_tuple().exponent == -2 for line in lines)
    assert reply["currency"] == "EUR"


def test_what_is_bought_is_what_is_laid_every_parallel_cable_counted() -> None:
    cable = {**jobs.awg(12), "cables_in_parallel": 2}
    stock = [{"id": "a", "conductor": "12 AWG", "price": per_metre("1")}]
    looped = jobs.run(
        jobs.lamp(10, jobs.watts(5)), cable=cable, tail=jobs.metres(3), return_leg={"length": jobs.metres(6)}
    )
    reply = answer(looped, stock=stock)
    (line,) = reply["purchase"]
    assert line["quantity"] == jobs.quantity(2 * (10 + 3 + 6), "m")
    assert line["line_total"] == "38.00"


def test_a_stock_that_is_priced_in_part_has_no_total() -> None:
    priced: Json = {"id": "a", "conductor": "12 AWG", "price": per_metre("1")}
    stock = [priced, {"id": "b", "conductor": "10 AWG"}]
    near, far = (
        jobs.run(jobs.lamp(2, jobs.watts(5)), cable=jobs.awg(12)),
        jobs.run(jobs.lamp(10, jobs.watts(100)), cable=jobs.awg(12)),
    )
    reply = answer(near, far, stock=stock, scope="per-run", limits={"maximum_drop_percent": 6})
    assert [line.get("line_total") for line in reply["purchase"]] == ["2.00", None]
    assert "total" not in reply
    assert reply["objective"] == "least-metal"


def test_spools_are_listed_as_they_are_sold() -> None:
    offers = [
        {"length": jobs.quantity(feet, "ft"), "amount": amount} for feet, amount in ((100, "45"), (250, "95"))
    ]
    stock = [{"id": "a", "conductor": "12 AWG", "price": {"kind": "per-spool", "spools": offers}}]
    lights = {"at": jobs.quantity(310, "ft"), "load": jobs.watts(2)}
    reply = answer(jobs.run(lights, cable=jobs.awg(12)), stock=stock)
    (line,) = reply["purchase"]
    assert line["spools"] == [
        {"length": jobs.quantity(100, "ft"), "count": 1},
        {"length": jobs.quantity(250, "ft"), "count": 1},
    ]
    assert line["line_total"] == reply["total"] == "140.00"


@pytest.mark.parametrize("feet", [100, 300, 1000])
def test_feet_are_not_lost_in_metres(feet: int) -> None:
    offers = [{"length": jobs.quantity(100, "ft"), "amount": "10"}]
    stock = [{"id": "a", "conductor": "10 AWG", "price": {"kind": "per-spool", "spools": offers}}]
    lights = {
        "at": jobs.quantity(feet / 10, "ft"),
        "spacing": jobs.quantity(feet / 10, "ft"),
        "count": 10,
        "load": jobs.watts(0.01),
    }
    reply = answer(jobs.run(lights, cable=jobs.awg(12)), stock=stock)
    assert reply["purchase"][0]["spools"] == [{"length": jobs.quantity(100, "ft"), "count": feet // 100}]
