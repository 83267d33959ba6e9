"""A layout goes into a quote as it is, and the money of both agrees where their prices do."""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.least_cost_layout.requests import fed_by, garden
from tests.studies.quote import quotes

EXAMPLE = Path(__file__).parents[3] / "openapi" / "examples" / "least_cost_layout.json"
PATH = "/v1/least-cost-layout"
LEAD = {"length": jobs.feet(3), "cable": jobs.awg(18)}


def named(request: Json) -> Json:
    """The request with what each fixture is bought as, and a lead that a joint can be made to."""
    fixtures = [
        {**each, "item": f"head-{number % 3}", "lead": LEAD}
        for number, each in enumerate(request["fixtures"])
    ]
    return {**request, "fixtures": fixtures}


def catalogue_of(request: Json) -> Json:
    """The caller's goods at the prices of the request, a connector for whatever meets in one size."""
    joints = request["joints"]
    fixture, tee = (Decimal(joints[name]) for name in ("fixture", "tee"))
    connectors = [
        quotes.accepting(
            f"J-{size.replace(' ', '')}-{ends}-{leads}",
            {size: ends} | ({"18 AWG": leads} if leads else {}),
            poles=2,
            amount=str(leads * fixture + max(0, ends - 2) * tee),
        )
        for size in (each["conductor"] for each in request["stock"])
        for ends in (1, 2, 3, 4)
        for leads in (0, 1)
        if ends + leads > 1
    ]
    return {
        "cables": [{**each, "tax": "goods"} for each in request["stock"]],
        "supplies": [quotes.good(each["id"], each["price"]) for each in request["transformers"]],
        "fixtures": [quotes.good(f"head-{number}", "40") for number in range(3)],
        "joints": connectors,
        "sundries": [quotes.good("end", joints["cable_end"], quantity="1", per="run")],
    }


def quoted(client: Client, request: Json, layout: Json) -> Json:
    asked = {
        "alternatives": [layout["quote_alternative"]],
        "catalogue": catalogue_of(request),
        "money": quotes.money(),
        "accept": request.get("accept", []),
    }
    reply = jobs.answer(client, asked, "/v1/quote")
    assert reply["status"] == "quoted", reply["summary"]["text"]
    bills: list[Json] = reply["bills"]
    return bills[0]


def net(bill: Json, *kinds: str) -> Decimal:
    return sum((Decimal(line["net"]) for line in bill["lines"] if line["kind"] in kinds), start=Decimal(0))


@pytest.mark.parametrize(("seed", "cutting"), [(1, "nowhere"), (2, "anywhere"), (3, None)])
def test_a_layout_is_quoted_as_it_is_at_the_same_money(
    client: Client, seed: int, cutting: str | None
) -> None:
    boxes = [fed_by(75, "92.00"), fed_by(150, "149.00")]
    request = named(garden(5, seed, gauges="per-run", transformers=boxes, effort=3_000, id=f"lot-{seed}"))
    if cutting is not None:
        request["cutting"] = {"joints": cutting}
    layout = jobs.answer(client, request, PATH)
    assert layout["quote_lacks"] == []
    assert layout["quote_alternative"]["id"] == f"lot-{seed}"
    parts = layout["quote_alternative"]["parts"]
    assert parts == [each["request"] for each in layout["layout"]["supplies"]]
    bill, costs = quoted(client, request, layout), layout["costs"]
    assert net(bill, "supply") == Decimal(costs["transformers"])
    assert net(bill, "joint", "sundry") == Decimal(costs["joints"])
    # A quote prints lengths to the thousandth and rounds half up, a layout rounds up: a cent a cable.
    assert abs(net(bill, "cable") - Decimal(costs["cable"])) <= Decimal("0.01") * len(layout["purchase"])


def test_whole_spools_cost_the_same_in_a_layout_and_in_a_quote(client: Client) -> None:
    spools = {
        "kind": "per-spool",
        "spools": [{"length": jobs.feet(100), "amount": "61"}, {"length": jobs.feet(250), "amount": "140"}],
    }
    stock = [{"id": "c12", "conductor": "12 AWG", "price": spools}]
    request = named(garden(4, 3, stock=stock, effort=2_000))
    layout = jobs.answer(client, request, PATH)
    assert net(quoted(client, request, layout), "cable") == Decimal(layout["costs"]["cable"])


def test_fixtures_without_an_item_are_told_and_quoted_where_fixtures_are_left_out(client: Client) -> None:
    request = named(garden(4, 1, effort=2_000))
    del request["fixtures"][1]["item"]
    request["fixture_types"] = [{"id": "spot", "load": jobs.watts(5), "item": "head-1"}]
    request["fixtures"][2] = {"place": request["fixtures"][2]["place"], "type": "spot", "lead": LEAD}
    layout = jobs.answer(client, request, PATH)
    assert layout["quote_lacks"] == ["/fixtures/1"]
    asked: Json = {
        "alternatives": [layout["quote_alternative"]],
        "catalogue": catalogue_of(request),
        "money": quotes.money(),
    }
    reply = jobs.answer(client, asked, "/v1/quote")
    assert reply["status"] == "not-quotable"
    assert [group["code"] for group in reply["summary"]["findings"] if group["severity"] == "fault"] == [
        "item-not-named"
    ]
    del asked["catalogue"]["fixtures"]
    assert jobs.answer(client, asked, "/v1/quote")["status"] == "quoted"


def test_the_example_goes_into_a_quote(client: Client) -> None:
    request = json.loads(EXAMPLE.read_bytes())
    layout = jobs.answer(client, request, PATH)
    assert layout["quote_lacks"] == []
    asked = {
        "alternatives": [layout["quote_alternative"]],
        "catalogue": {
            "cables": [{**each, "tax": "goods"} for each in request["stock"]],
            "supplies": [quotes.good(each["id"], each["price"]) for each in request["transformers"]],
            "fixtures": [quotes.good(each["item"], "40") for each in request["fixture_types"]],
        },
        "money": quotes.money(),
    }
    reply = jobs.answer(client, asked, "/v1/quote")
    assert reply["status"] == "quoted", reply["summary"]["text"]
    assert net(reply["bills"][0], "supply") == Decimal(layout["costs"]["transformers"])
    assert net(reply["bills"][0], "fixture") == 40 * len(request["fixtures"])


def test_two_layouts_stand_beside_each_other_in_one_quote(client: Client) -> None:
    request = named(garden(4, 1, effort=2_000))
    layouts = [jobs.answer(client, {**request, "id": own}, PATH) for own in ("tee", "as-chain")]
    asked = {
        "alternatives": [each["quote_alternative"] for each in layouts],
        "catalogue": catalogue_of(request),
        "money": quotes.money(),
    }
    assert len(jobs.answer(client, asked, "/v1/quote")["bills"]) == 2
