"""A bill in the business terms of EN 16931, for who takes it over into an invoice or a ledger.

Numbers and names of terms as Peppol BIS Billing 3.0 publishes them with its syntax (seen); the standard
itself was not bought.
"""

from __future__ import annotations

from typing import Final, NamedTuple

ALLOWANCE, CHARGE = "allowance", "charge"


class Term(NamedTuple):
    """A business term, and the member of a bill that is it; of adjustments those of one `kind`."""

    term: str
    name: str
    member: str
    kind: str = ""
    summed: bool = False


TERMS: Final = (
    Term("BT-126", "Invoice line identifier", "lines[].line"),
    Term("BT-129", "Invoiced quantity", "lines[].quantity"),
    Term("BT-130", "Invoiced quantity unit of measure code", "lines[].unit_code"),
    Term("BT-131", "Invoice line net amount", "lines[].net"),
    Term("BT-136", "Invoice line allowance amount", "lines[].adjustments[].amount", ALLOWANCE),
    Term("BT-137", "Invoice line allowance base amount", "lines[].adjustments[].base", ALLOWANCE),
    Term("BT-138", "Invoice line allowance percentage", "lines[].adjustments[].percent", ALLOWANCE),
    Term("BT-139", "Invoice line allowance reason", "lines[].adjustments[].name", ALLOWANCE),
    Term("BT-141", "Invoice line charge amount", "lines[].adjustments[].amount", CHARGE),
    Term("BT-142", "Invoice line charge base amount", "lines[].adjustments[].base", CHARGE),
    Term("BT-143", "Invoice line charge percentage", "lines[].adjustments[].percent", CHARGE),
    Term("BT-144", "Invoice line charge reason", "lines[].adjustments[].name", CHARGE),
    Term("BT-146", "Item net price", "lines[].unit_price"),
    Term("BT-149", "Item price base quantity", "lines[].base_quantity"),
    Term("BT-150", "Item price base quantity unit of measure code", "lines[].unit_code"),
    Term("BT-151", "Invoiced item VAT category code", "lines[].tax"),
    Term("BT-153", "Item name", "lines[].name"),
    Term("BT-155", "Item Seller's identifier", "lines[].item"),
    Term("BT-157", "Item standard identifier, scheme 0160", "lines[].gtin"),
    Term("BT-92", "Document level allowance amount", "adjustments[].amount", ALLOWANCE),
    Term("BT-93", "Document level allowance base amount", "adjustments[].base", ALLOWANCE),
    Term("BT-94", "Document level allowance percentage", "adjustments[].percent", ALLOWANCE),
    Term("BT-95", "Document level allowance VAT category code", "adjustments[].tax", ALLOWANCE),
    Term("BT-97", "Document level allowance reason", "adjustments[].name", ALLOWANCE),
    Term("BT-99", "Document level charge amount", "adjustments[].amount", CHARGE),
    Term("BT-100", "Document level charge base amount", "adjustments[].base", CHARGE),
    Term("BT-101", "Document level charge percentage", "adjustments[].percent", CHARGE),
    Term("BT-102", "Document level charge VAT category code", "adjustments[].tax", CHARGE),
    Term("BT-104", "Document level charge reason", "adjustments[].name", CHARGE),
    Term("BT-106", "Sum of Invoice line net amount", "line_total"),
    Term("BT-107", "Sum of allowances on document level", "adjustments[].amount", ALLOWANCE, summed=True),
    Term("BT-108", "Sum of charges on document level", "adjustments[].amount", CHARGE, summed=True),
    Term("BT-109", "Invoice total amount without VAT", "net"),
    Term("BT-110", "Invoice total VAT amount", "tax"),
    Term("BT-112", "Invoice total amount with VAT", "total"),
    Term("BT-113", "Paid amount", "prepaid"),
    Term("BT-115", "Amount due for payment", "payable"),
    Term("BT-116", "VAT category taxable amount", "taxes[].taxable"),
    Term("BT-117", "VAT category tax amount", "taxes[].tax"),
    Term("BT-118", "VAT category code", "taxes[].code"),
    Term("BT-119", "VAT category rate", "taxes[].percent"),
)


def terms_table() -> str:
    """The terms as a table in Markdown, with what none of its rows says."""
    rows = "\n".join(f"| {each.term} | {each.name} | {_member(each)} |" for each in TERMS)
    return f"{ABOVE}\n\n| Term | Name | Member of a bill |\n| --- | --- | --- |\n{rows}\n\n{BELOW}"


ABOVE: Final = "A bill in the business terms of EN 16931, as Peppol BIS Billing 3.0 publishes them:"

BELOW: Final = (
    "The rate of a line, an allowance or a charge (BT-152, BT-96, BT-103) is the `percent` that `taxes` has"
    " for its code; `currency` of the reply is BT-5. Codes of taxes are the caller's own: to be taken over"
    " they have to be those of UNCL5305. `payable` is absent where nothing is prepaid, and is `total` then."
    " No total is rounded again, so there is no BT-114."
)


def _member(term: Term) -> str:
    of = f" of {'an' if term.kind == ALLOWANCE else 'a'} {term.kind}" if term.kind else ""
    if term.summed:
        return f"all `{term.member}`{of}, added up"
    return f"`{term.member}`{of}"
