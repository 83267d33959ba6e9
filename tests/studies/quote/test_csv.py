"""Bills as comma-separated values say what the JSON says, and add up to it."""

import copy
import csv
import json
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest

from service.app import app
from service.studies.quote.csv import COLUMNS, SUMS
from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.quote.quotes import PATH, cable, good, money, part, quote, spools

CLIENT = Client(app)
EXAMPLE: Json = json.loads(Path("openapi/examples/quote.json").read_text(encoding="utf-8"))

Rows = list[dict[str, str]]


def rows_of(request: Json) -> Rows:
    reply = CLIENT.post(PATH, json=request, headers={"Accept": "text/csv"})
    assert reply.status_code == 200, reply.text
    assert reply.headers["content-disposition"] == 'attachment; filename="quote.csv"'
    assert reply.text.count("\r\n") == reply.text.count("\n") == len(reply.text.splitlines())
    return list(csv.DictReader(StringIO(reply.text, newline=""), strict=True))


def several() -> Json:
    """Two ways to cut one garden, with everything that a bill may have."""
    request = copy.deepcopy(EXAMPLE)
    joined = request["alternatives"][0]
    whole = {**joined, "id": "whole", "name": "In one piece", "cutting": {"joints": "nowhere"}}
    request["alternatives"] = [joined, whole]
    request["catalogue"]["fixtures"][0]["gtin"] = "7300010000001"
    request["money"] |= {
        "prepaid": "250",
        "adjustments": [
            {"kind": "allowance", "name": "Spring", "percent": 5, "tax": "goods"},
            {"kind": "charge", "name": "Delivery", "amount": "19.90", "tax": "work"},
            {"kind": "allowance", "name": "Volume", "amount": "5", "line": "L-8"},
        ],
    }
    return request


WITHOUT_PRICE = quote(part(), catalogue={"cables": [cable()], "fixtures": [good("F")], "supplies": []})
REQUESTS = {
    "example": EXAMPLE,
    "several": several(),
    "without a price": {**WITHOUT_PRICE, "money": money()},
    "in spools": quote(part(45), price=spools((50, "31.20"))),
}


def sums_of(bill: Json) -> dict[str, str]:
    return {name: bill[member] for name, member in SUMS.items() if member in bill}


@pytest.mark.parametrize("request_body", REQUESTS.values(), ids=REQUESTS.keys())
def test_every_line_tax_and_sum_is_that_of_the_json(request_body: Json) -> None:
    reply = jobs.answer(CLIENT, request_body, PATH)
    rows = rows_of(request_body)
    for bill in reply["bills"]:
        own = [row for row in rows if row["alternative"] == bill["alternative"]]
        assert {(row["status"], row["currency"]) for row in own} == {(bill["status"], reply["currency"])}
        lines = [row for row in own if row["row"] == "line"]
        for line, row in zip(bill["lines"], lines, strict=True):
            told = {
                "line": str(line["line"]),
                "kind": line["kind"],
                "item": line["item"],
                "gtin": line.get("gtin", ""),
                "name": line["name"],
                "quantity": line["quantity"],
                "unit_code": line["unit_code"],
                "unit_price": line.get("unit_price", ""),
                "base_quantity": line["base_quantity"],
                "tax_code": line["tax"],
                "amount": line.get("net", ""),
                "why": line.get("why", ""),
            }
            assert {name: row[name] for name in told} == told
            assert row["spool"] == str(line.get("spool", {}).get("value", ""))
        taxes = [
            (row["tax_code"], row["percent"], row["base"], row["amount"])
            for row in own
            if row["row"] == "tax"
        ]
        assert taxes == [
            tuple(tax[name] for name in ("code", "percent", "taxable", "tax")) for tax in bill["taxes"]
        ]
        assert {row["row"]: row["amount"] for row in own if row["row"] in SUMS} == sums_of(bill)


def test_allowances_and_charges_stand_under_what_they_change() -> None:
    rows = [row for row in rows_of(several()) if row["alternative"] == "path"]
    told = [(row["row"], row["line"], row["name"], row["percent"], row["amount"]) for row in rows]
    place = told.index(("line-allowance", "3", "Volume", "", "5.00"))
    assert (rows[place - 1]["row"], rows[place - 1]["line"]) == ("line", "3")
    (bill, _) = jobs.answer(CLIENT, several(), PATH)["bills"]
    spring = bill["adjustments"][0]
    assert ("allowance", "", "Spring", "5", spring["amount"]) in told
    assert ("charge", "", "Delivery", "", "19.90") in told


@pytest.mark.parametrize("alternative", ["path", "whole"])
def test_the_rows_of_a_bill_add_up(alternative: str) -> None:
    rows = [row for row in rows_of(several()) if row["alternative"] == alternative]

    def added(*kinds: str) -> Decimal:
        return sum((Decimal(row["amount"]) for row in rows if row["row"] in kinds), start=Decimal(0))

    assert added("line") == added("line-total") > 0
    assert added("line", "charge") - added("allowance") == added("net")
    assert added("tax") == added("tax-total")
    assert added("net", "tax") == added("total")
    assert added("total") - added("prepaid") == added("payable")


def test_bills_are_told_apart_in_the_order_of_the_request() -> None:
    named = [(row["alternative"], row["alternative_name"]) for row in rows_of(several())]
    assert list(dict.fromkeys(named)) == [("path", "Path lights"), ("whole", "In one piece")]
    assert named == sorted(named, key=lambda each: each[0] != "path")


def test_what_is_withheld_has_no_amount_and_no_row() -> None:
    rows = rows_of(WITHOUT_PRICE)
    assert {row["status"] for row in rows} == {"not-quotable"}
    assert [row["amount"] for row in rows if row["kind"] == "cable"] == [""]
    assert not [row for row in rows if row["row"] in SUMS]


def test_the_header_names_every_column_once() -> None:
    reply = CLIENT.post(PATH, json=EXAMPLE, headers={"Accept": "text/csv"})
    assert reply.text.partition("\r\n")[0] == ",".join(COLUMNS)
    assert len(set(COLUMNS)) == len(COLUMNS)


def test_no_name_is_taken_for_a_formula() -> None:
    request = several()
    formula = '=HYPERLINK("http://x")'
    request["alternatives"][0]["name"] = formula
    request["catalogue"]["fixtures"][0]["name"] = f"+{formula}"
    request["money"]["adjustments"][0]["name"] = "@sum"
    request["money"]["taxes"][0]["name"] = "-1"
    cells = [cell for row in rows_of(request) for cell in row.values()]
    guarded = {f"'{formula}", f"'+{formula}", "'@sum", "'-1"}
    assert guarded <= set(cells)
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@", "-"))]


def test_an_amount_below_zero_is_a_number() -> None:
    request = several()
    request["money"]["prepaid"] = "9999"
    (bill, _) = jobs.answer(CLIENT, request, PATH)["bills"]
    assert bill["payable"].startswith("-")
    [payable, _] = [row["amount"] for row in rows_of(request) if row["row"] == "payable"]
    assert payable == bill["payable"]


def test_no_cost_and_no_margin_stands_in_the_rows() -> None:
    request = several()
    cells = {cell for row in rows_of(request) for cell in row.values()}
    costs = {"145.00", "145", "89.50", "89.5", "2.40", "2.4", "60.00", "140.00", "260.00"}
    assert not costs & cells
    assert "30" not in cells
