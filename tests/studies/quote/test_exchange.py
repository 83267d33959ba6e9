"""The published examples of Peppol BIS Billing 3.0 as whole requests, read back by the table of terms."""

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest

from service.app import app
from service.studies.quote.exchange import TERMS, Term, terms_table
from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.quote.quotes import PATH, part

CLIENT = Client(app)


def row(own: str, quantity: str, amount: str, tax: str, base: str = "1", **more: Any) -> Json:
    """A line of goods, as what a job takes of a sundry."""
    price = {"amount": amount, "base_quantity": base}
    return {"id": own, "quantity": quantity, "per": "job", "price": price, "tax": tax, **more}


def billed(*rows: Json, taxes: dict[str, float], currency: str = "EUR", **money: Any) -> Json:
    """A reply whose one bill has these lines and nothing of the wiring."""
    codes = [{"code": code, "percent": percent} for code, percent in taxes.items()]
    request = {
        "alternatives": [{"id": "a", "parts": [part()]}],
        "catalogue": {"sundries": list(rows)},
        "money": {"currency": currency, "prices_are": "net", "taxes": codes, **money},
    }
    return jobs.answer(CLIENT, request, PATH)


def of_line(line: str, *, reason: str) -> list[Json]:
    return [
        {"kind": "charge", "name": reason, "amount": "1", "line": line},
        {"kind": "allowance", "name": "Discount", "amount": "101", "line": line},
    ]


# `rules/examples/Allowance-example.xml` and `rules/snippets/Calc.xml` (seen). Its lines all have the seller's
# identifier 97iugug876, which is of one row here. Its charges of 20 % of 1000 and of 1 % of 100 are not of
# what is billed, so they stand as amounts here and as shares in the next bill.
WHOLE = billed(
    row("97iugug876", "10", "410", "S", name="item name", gtin="7300010000001"),
    row("second", "10", "200", "E", "2", name="item name"),
    row("third", "10", "100", "S", name="item name"),
    taxes={"S": 25, "E": 0},
    adjustments=[
        *of_line("97iugug876", reason="Cleaning"),
        *of_line("third", reason="Charge"),
        {"kind": "charge", "name": "Cleaning", "amount": "200", "tax": "S"},
        {"kind": "allowance", "name": "Discount", "amount": "200", "tax": "S"},
    ],
    prepaid="1000",
)

PUBLISHED: dict[str, list[str]] = {
    "BT-126": ["1", "2", "3"],
    "BT-129": ["10", "10", "10"],
    "BT-130": ["C62", "C62", "C62"],
    "BT-131": ["4000.00", "1000.00", "900.00"],
    "BT-136": ["101", "101"],
    "BT-139": ["Discount", "Discount"],
    "BT-141": ["1", "1"],
    "BT-144": ["Cleaning", "Charge"],
    "BT-146": ["410", "200", "100"],
    "BT-149": ["1", "2", "1"],
    "BT-150": ["C62", "C62", "C62"],
    "BT-151": ["S", "E", "S"],
    "BT-153": ["item name", "item name", "item name"],
    "BT-155": ["97iugug876", "second", "third"],
    "BT-157": ["7300010000001"],
    "BT-92": ["200"],
    "BT-95": ["S"],
    "BT-97": ["Discount"],
    "BT-99": ["200"],
    "BT-102": ["S"],
    "BT-104": ["Cleaning"],
    "BT-106": ["5900"],
    "BT-107": ["200"],
    "BT-108": ["200"],
    "BT-109": ["5900"],
    "BT-110": ["1225.00"],
    "BT-112": ["7125"],
    "BT-113": ["1000"],
    "BT-115": ["6125.00"],
    "BT-116": ["4900.0", "1000.0"],
    "BT-117": ["1225", "0"],
    "BT-118": ["S", "E"],
    "BT-119": ["25", "0"],
}

# The shares of the same file: 20 % of 1000 are 200, 1 % of 100 is 1. The rule PEPPOL-EN16931-R040, an amount
# is the percentage of its base, holds for allowances as for charges, so both are asked.
SHARES = billed(
    row("bill", "5", "200", "S"),
    row("line", "1", "100", "E"),
    taxes={"S": 25, "E": 0},
    adjustments=[
        {"kind": "charge", "percent": 20, "tax": "S"},
        {"kind": "allowance", "percent": 20, "tax": "S"},
        {"kind": "charge", "percent": 1, "line": "line"},
        {"kind": "allowance", "percent": 1, "line": "line"},
    ],
)

PUBLISHED_SHARES: dict[str, list[str]] = {
    "BT-93": ["1000"],
    "BT-94": ["20"],
    "BT-100": ["1000"],
    "BT-101": ["20"],
    "BT-137": ["100"],
    "BT-138": ["1"],
    "BT-142": ["100"],
    "BT-143": ["1"],
}


def read(node: Any, path: list[str], kind: str) -> Iterator[str]:
    """Every value at a path of members; of adjustments those of one kind."""
    if not path:
        yield str(node)
        return
    name, *rest = path
    found = node.get(name.removesuffix("[]"))
    if found is None:
        return
    for each in found if name.endswith("[]") else [found]:
        if name != "adjustments[]" or each["kind"] == kind:
            yield from read(each, rest, kind)


def values(reply: Json, term: Term) -> list[str]:
    (bill,) = reply["bills"]
    found = list(read(bill, term.member.split("."), term.kind))
    return [str(sum(map(Decimal, found)))] if term.summed else found


def alike(one: str, other: str) -> bool:
    """Whether two texts are the same, or the same number."""
    number = re.compile(r"-?\d+(\.\d+)?")
    if number.fullmatch(one) and number.fullmatch(other):
        return Decimal(one) == Decimal(other)
    return one == other


@pytest.mark.parametrize("term", TERMS, ids=lambda each: each.term)
def test_a_member_is_the_term_that_the_table_says(term: Term) -> None:
    reply, published = (WHOLE, PUBLISHED) if term.term in PUBLISHED else (SHARES, PUBLISHED_SHARES)
    found, expected = values(reply, term), published[term.term]
    assert len(found) == len(expected)
    assert all(map(alike, found, expected)), (found, expected)


def test_every_published_term_has_one_row() -> None:
    assert [term.term for term in TERMS if term.term not in {**PUBLISHED, **PUBLISHED_SHARES}] == []
    assert len({term.term for term in TERMS}) == len(TERMS) == len(PUBLISHED) + len(PUBLISHED_SHARES)


def test_a_share_comes_to_the_amount_that_is_published() -> None:
    (bill,) = SHARES["bills"]
    assert [each["amount"] for each in bill["adjustments"]] == ["200.00", "200.00"]
    [line] = [each for each in bill["lines"] if each["item"] == "line"]
    assert [each["amount"] for each in line["adjustments"]] == ["1.00", "1.00"]


def test_the_rate_of_a_line_is_that_of_its_code() -> None:
    # BT-152 of the three lines: 25.0, 0.0 and 25.0.
    (bill,) = WHOLE["bills"]
    rates = {tax["code"]: tax["percent"] for tax in bill["taxes"]}
    assert [Decimal(rates[line["tax"]]) for line in bill["lines"]] == [25, 0, 25]
    assert WHOLE["currency"] == "EUR"


def test_goods_of_rate_zero_are_billed_as_they_are_published() -> None:
    # `rules/examples/vat-category-Z.xml` (seen): 10 at 120.00 pounds are 1200.00 to pay, none of it tax;
    # nothing is prepaid, and the amount due is the total.
    reply = billed(row("z", "10", "120.00", "Z"), taxes={"Z": 0}, currency="GBP")
    (bill,) = reply["bills"]
    assert bill["taxes"] == [{"code": "Z", "percent": "0", "taxable": "1200.00", "tax": "0.00"}]
    sums = [bill[name] for name in ("line_total", "net", "tax", "total")]
    assert sums == ["1200.00", "1200.00", "0.00", "1200.00"]
    assert "payable" not in bill


def test_a_charge_on_the_bill_is_taxed_as_it_is_published() -> None:
    # `rules/examples/base-example.xml` (seen): lines of 2800 and -1500, an insurance of 25, 25 % tax. A quote
    # has no line below zero: what is taken back is an allowance here, which leaves every sum from the net on
    # as it is published.
    reply = billed(
        row("days", "7", "400", "S"),
        taxes={"S": 25},
        adjustments=[
            {"kind": "charge", "name": "Insurance", "amount": "25", "tax": "S"},
            {"kind": "allowance", "amount": "1500", "tax": "S"},
        ],
    )
    (bill,) = reply["bills"]
    assert (bill["net"], bill["tax"], bill["total"]) == ("1325.00", "331.25", "1656.25")


def test_the_table_stands_in_the_contract_and_on_the_page_of_the_study() -> None:
    operation = CLIENT.get("/openapi.json").json()["paths"][PATH]["post"]
    assert terms_table() in operation["description"]
    page = CLIENT.get("/docs/quote").text
    assert all(f"<td>{term.term}</td>" in page for term in TERMS)


def test_every_member_of_the_table_is_one_of_the_contract() -> None:
    schemas = CLIENT.get("/openapi.json").json()["components"]["schemas"]
    kinds = {"lines[]": "BillLine", "adjustments[]": "BillAdjustment", "taxes[]": "BillTax"}
    for term in TERMS:
        *owners, member = term.member.split(".")
        owner = kinds[owners[-1]] if owners else "QuoteBill"
        assert member in schemas[owner]["properties"], term
