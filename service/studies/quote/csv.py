"""Bills as comma-separated values (RFC 4180): a row for each line, allowance, charge, tax and sum."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from io import StringIO
from typing import Final

from msgspec import UnsetType

from service.studies.quote.reply import BillAdjustment, BillLine, BillTax, QuoteBill, QuoteReply
from service.translate.csv_cells import Cell, as_text
from service.wire.optional import given

COLUMNS: Final = (
    "alternative",
    "alternative_name",
    "status",
    "row",
    "line",
    "kind",
    "item",
    "gtin",
    "name",
    "quantity",
    "unit_code",
    "unit_price",
    "base_quantity",
    "tax_code",
    "percent",
    "base",
    "amount",
    "currency",
    "spool",
    "spool_unit",
    "ground",
    "why",
)

SUMS: Final = {
    "line-total": "line_total",
    "net": "net",
    "tax-total": "tax",
    "total": "total",
    "prepaid": "prepaid",
    "payable": "payable",
}
"""Rows of sums, each with the member of a bill that it is."""


def quote_csv(reply: QuoteReply) -> str:
    """A header and rows for each bill, in the order of the reply; amounts as JSON has them.

    What is withheld has no amount, and a sum that is withheld no row. Texts that a spreadsheet would compute
    get an apostrophe in front.
    """
    text = StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for bill in reply.bills:
        own = {
            "alternative": as_text(bill.alternative),
            "alternative_name": _text(bill.name),
            "status": bill.status,
            "currency": reply.currency,
        }
        writer.writerows([own.get(name, row.get(name)) for name in COLUMNS] for row in _rows(bill))
    return text.getvalue()


def _rows(bill: QuoteBill) -> Iterator[Mapping[str, Cell]]:
    for line in bill.lines:
        yield _line(line)
        for each in given(line.adjustments) or ():
            yield {**_adjustment(each), "row": f"line-{each.kind}", "line": str(line.line)}
    for each in bill.adjustments:
        yield {**_adjustment(each), "row": each.kind}
    for tax in bill.taxes:
        yield _tax(tax)
    for row, member in SUMS.items():
        amount = getattr(bill, member)
        if not isinstance(amount, UnsetType):
            yield {"row": row, "amount": amount}


def _line(line: BillLine) -> Mapping[str, Cell]:
    spool = given(line.spool)
    return {
        "row": "line",
        "line": str(line.line),
        "kind": line.kind,
        "item": as_text(line.item),
        "gtin": given(line.gtin),
        "name": as_text(line.name),
        "quantity": line.quantity,
        "unit_code": line.unit_code,
        "unit_price": given(line.unit_price),
        "base_quantity": line.base_quantity,
        "tax_code": as_text(line.tax),
        "amount": given(line.net),
        "spool": None if spool is None else spool.value,
        "spool_unit": None if spool is None else spool.unit,
        "ground": _text(line.ground),
        "why": _text(line.why),
    }


def _adjustment(each: BillAdjustment) -> Mapping[str, Cell]:
    return {
        "name": _text(each.name),
        "tax_code": _text(each.tax),
        "percent": given(each.percent),
        "base": given(each.base),
        "amount": given(each.amount),
    }


def _tax(tax: BillTax) -> Mapping[str, Cell]:
    return {
        "row": "tax",
        "name": _text(tax.name),
        "tax_code": as_text(tax.code),
        "percent": tax.percent,
        "base": tax.taxable,
        "amount": tax.tax,
    }


def _text(text: str | UnsetType) -> str | None:
    return None if isinstance(text, UnsetType) else as_text(text)
