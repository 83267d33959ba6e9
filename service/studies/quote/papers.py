"""The papers of a quote beside its record: a bill for the customer, a list to pick by for the installer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Final

from msgspec import UnsetType

from service.findings.finding import FAULT, WARNING
from service.findings.summary import WITH_WARNINGS
from service.sheets.figures import NOTHING, figure, given, laid, quantity
from service.sheets.papers import CUSTOMER, INSTALLER, RECORD, asked_papers, in_order
from service.sheets.sections import MARKS, VERDICTS, caution_facts, head, without_members
from service.sheets.sheet import (
    Block,
    Column,
    Facts,
    Headline,
    Paragraph,
    Section,
    Sheet,
    Table,
    filled,
    numbers,
)
from service.studies.quote.reply import (
    BillAdjustment,
    BillLine,
    QuoteBill,
    QuotedFixture,
    QuotedJoint,
    QuoteReply,
)
from service.studies.quote.request import QuoteRequest
from service.studies.quote.sheet import (
    STUDY,
    cable_facts,
    called,
    conductor_words,
    cut_table,
    keeps_off_cuts,
    poles_words,
    quote_sheet,
    unit_of,
    valid,
)
from service.studies.quote.translate import (
    CABLES_NOT_QUOTED,
    FIXTURES_NOT_QUOTED,
    JOINTS_NOT_QUOTED,
    QUOTED,
    SUPPLIES_NOT_QUOTED,
)
from service.studies.quote.translate import NO_SLACK as WITHOUT_SLACK
from service.studies.voltage_drop.papers import BEFORE_SIGNING, JOINTS, NO_SLACK
from service.wire.job import PaperFor
from service.wire.reply import Finding

PAPERS: Final[Mapping[PaperFor, str]] = {
    CUSTOMER: "what it comes to and whether it works in a sentence each, the bill and its terms, and the"
    " paper where none is named; `sheet.show` says whether every line has its price, and what goods cost the"
    " caller stands nowhere",
    INSTALLER: "what to take along, which lengths to cut from which spool, and every joint; no prices",
    RECORD: "everything that the reply says",
}
"""What may be asked for as `for` of the sheet of a quote, and what each is."""

PICK_LIST: Final = "Pick list"

NOT_QUOTED: Final = "This job cannot be quoted as it stands."

NOT_TO_BUILD: Final = "Not ready to build."

NO_OFFER: Final = "Nothing here is an offer. Ask whoever planned this to put it right."

UNIT_WORDS: Final = {"C62": "", "HUR": "h", "XRL": "spool", "MTR": "m", "FOT": "ft"}
"""Units of a bill in words, by their codes; a piece needs none."""

TAKEN_ALONG: Final = {
    "supply": "Supplies",
    "cable": "Cable",
    "fixture": "Fixtures",
    "lamp": "Lamps",
    "joint": "Connectors",
    "sundry": "Sundries",
}
"""Kinds of lines that are goods, as a list of them is headed."""

LINE_COLUMNS: Final = [
    Column("Line", numbers=True),
    Column("What"),
    Column("Quantity", numbers=True),
    Column("Unit", short=True),
]
"""What a line of a bill says before any price."""

LABOUR: Final = "labour"

LEFT_OUT: Final = {
    SUPPLIES_NOT_QUOTED.code: "supplies",
    CABLES_NOT_QUOTED.code: "cable",
    FIXTURES_NOT_QUOTED.code: "fixtures",
    JOINTS_NOT_QUOTED.code: "connectors",
}
"""What is not on a list where the catalogue has none of it."""

JOINTS_OF: Final = {"fixture-joint": "At fixtures", "run-joint": "In runs, at branches and changes of cable"}
"""Kinds of joints, as a list of them is headed."""

NO_CONNECTOR: Final = (
    "Where no connector stands, none of the catalogue is listed for exactly these conductors. Take one whose"
    " maker lists them."
)


def printed(request: QuoteRequest, reply: QuoteReply) -> Sheet:
    """The papers that the request asks for: the customer's where it names none."""
    return in_order(
        asked_papers(request.sheet, CUSTOMER),
        {
            CUSTOMER: lambda: customer_sheet(request, reply),
            INSTALLER: lambda: installer_sheet(request, reply),
            RECORD: lambda: quote_sheet(request, reply),
        },
    )


def customer_sheet(request: QuoteRequest, reply: QuoteReply) -> Sheet:
    """The bills as they are sold; of one that is not quotable only that, and why."""
    terms = given(request.terms)
    said = [] if terms is None else given(terms.lines) or []
    sections = [
        *(_one_bill(request, reply, *reply.bills) if len(reply.bills) == 1 else _several(request, reply)),
        Section("Terms", [Paragraph(line) for line in said if line.strip()]),
        Section("Cautions", [caution_facts(reply.cautions)]),
    ]
    return head(request, STUDY, unit_of(request), filled(sections))


def _one_bill(request: QuoteRequest, reply: QuoteReply, bill: QuoteBill) -> Iterator[Section]:
    if bill.status != QUOTED:
        yield Section("", _why_not(bill, reply, NOT_QUOTED))
        return
    told = [Headline(_comes_to(bill, reply.currency)), *_works(request, reply, bill)]
    yield Section("", [*told, Facts(list(_dates(request, reply)))])
    yield Section("The bill", _bill(request, bill, reply.currency))


def _several(request: QuoteRequest, reply: QuoteReply) -> Iterator[Section]:
    quoted = [bill for bill in reply.bills if bill.status == QUOTED]
    if quoted:
        yield Section("", [Headline(_range(reply)), Facts(list(_dates(request, reply)))])
        yield Section("Side by side", [_compared(reply)])
    else:
        yield Section("", [Headline(NOT_QUOTED, grave=True)])
    for bill in reply.bills:
        if bill.status == QUOTED:
            blocks = [*_works(request, reply, bill), *_bill(request, bill, reply.currency)]
            yield Section(called(bill), blocks)
        else:
            yield Section("", _why_not(bill, reply, f"{called(bill)} cannot be quoted as it stands."))


def _why_not(bill: QuoteBill, reply: QuoteReply, said: str) -> list[Block]:
    """That a bill is no offer, in the largest letters, and its faults."""
    return [
        Headline(said, grave=True),
        Facts(list(_told(reply, bill, FAULT))),
        Paragraph(NO_OFFER),
    ]


def _comes_to(bill: QuoteBill, currency: str) -> str:
    taxed = given(bill.tax)
    with_tax = ", tax included" if taxed is not None and Decimal(taxed) else ""
    to_pay = given(bill.payable)
    left = ""
    if to_pay is not None and Decimal(to_pay) < 0:
        left = f"; {to_pay.removeprefix('-')} {currency} more is paid already"
    elif to_pay is not None:
        left = f"; {to_pay} {currency} of it is still to pay"
    return f"This job comes to {given(bill.total)} {currency}{with_tax}{left}."


def _range(reply: QuoteReply) -> str:
    """How many alternatives can be had, and from what to what they cost."""
    totals = sorted((each.total for each in reply.comparison if isinstance(each.total, str)), key=Decimal)
    low, high, every = totals[0], totals[-1], len(reply.comparison)
    which = (
        f"{every} alternatives"
        if len(totals) == every
        else f"{len(totals)} of {every} alternatives can be quoted"
    )
    return (
        f"{which}: {low} {reply.currency}." if low == high else f"{which}: {low} to {high} {reply.currency}."
    )


def _dates(request: QuoteRequest, reply: QuoteReply) -> Iterator[tuple[str, str]]:
    terms = given(request.terms)
    if terms is not None and (issued := given(terms.issued_on)) is not None:
        yield "Issued on", issued
    yield from valid(reply)


def _works(request: QuoteRequest, reply: QuoteReply, bill: QuoteBill) -> Iterator[Block]:
    """Whether the wiring passes, the lamp that gets least, and what is warned of."""
    lamp = _weakest(bill)
    least = "" if lamp is None else f" The weakest lamp, {lamp.name}, gets {quantity(lamp.voltage)}."
    yield Paragraph(f"{VERDICTS[bill.verdict][0]}{least}")
    yield Facts(list(_told(reply, bill, WARNING, frozenset(given(request.accept) or ()))))
    if bill.verdict == WITH_WARNINGS:
        yield Paragraph(BEFORE_SIGNING)


def _weakest(bill: QuoteBill) -> QuotedFixture | None:
    """The lamp of lowest voltage of all parts."""
    lamps = [each.weakest for each in bill.electrical if not isinstance(each.weakest, UnsetType)]
    return min(lamps, key=lambda lamp: lamp.voltage.value, default=None)


def _told(
    reply: QuoteReply, bill: QuoteBill, severity: str, accepted: frozenset[str] = frozenset()
) -> Iterator[tuple[str, str]]:
    """The findings of one bill in words; of those alike the first, and how many more there are."""
    unpriced = {line.item for line in bill.lines if isinstance(line.net, UnsetType)}
    alike: dict[str, list[str]] = {}
    for found in reply.findings:
        if found.severity == severity and found.code not in accepted and _is_of(found, bill, unpriced):
            alike.setdefault(found.code, []).append(without_members(found.message))
    for first, *others in alike.values():
        more = f" ({len(others)} more like this.)" if others else ""
        yield MARKS[severity], f"{first}{more}"


def _is_of(found: Finding, bill: QuoteBill, unpriced: set[str]) -> bool:
    """Whether a finding is about a bill: about a place in it, or about a row whose price it lacks."""
    pointer = found.subject.pointer
    if pointer.startswith("/catalogue"):
        return given(found.subject.id) in unpriced
    return not pointer.startswith("/alternatives") or f"{pointer}/".startswith(f"{bill.pointer}/")


def _compared(reply: QuoteReply) -> Table:
    rows = []
    for row, bill in zip(reply.comparison, reply.bills, strict=True):
        lamp = _weakest(bill) if bill.status == QUOTED else None
        rows.append(
            [
                called(bill),
                bill.verdict.replace("-", " ") if bill.status == QUOTED else "cannot be quoted",
                given(row.total) or NOTHING,
                given(row.beside_cheapest) or NOTHING,
                NOTHING if lamp is None else lamp.name,
                NOTHING if lamp is None else figure(lamp.voltage),
            ]
        )
    columns = [
        Column("Alternative"),
        Column("The plan"),
        *numbers(f"Total [{reply.currency}]", f"Above the cheapest [{reply.currency}]"),
        Column("Weakest lamp"),
        Column("It gets [V]", numbers=True),
    ]
    return Table(columns, rows)


def _bill(request: QuoteRequest, bill: QuoteBill, currency: str) -> list[Block]:
    """Its lines and sums, with what each comes to or with the total alone."""
    words = given(request.sheet)
    if words is not None and given(words.show) == "total":
        return [_named_lines(bill), _total(bill, currency)]
    return [_priced_lines(bill, currency), _sums(bill, currency)]


def _priced_lines(bill: QuoteBill, currency: str) -> Table:
    percents = {tax.code: tax.percent for tax in bill.taxes}
    rows = [
        [
            str(line.line),
            "; ".join([_what(line), *(_adjusted(each, currency) for each in given(line.adjustments) or ())]),
            line.quantity,
            _unit(line),
            _unit_price(line),
            f"{percents[line.tax]} %" if line.tax in percents else NOTHING,
            given(line.net) or NOTHING,
        ]
        for line in bill.lines
    ]
    return Table([*LINE_COLUMNS, *numbers(f"Price [{currency}]", "Tax", f"Amount [{currency}]")], rows)


def _named_lines(bill: QuoteBill) -> Table:
    """What one gets for the total: goods with their number, work by its name."""
    rows = [
        [
            str(line.line),
            _what(line),
            *((NOTHING, "") if line.kind == LABOUR else (line.quantity, _unit(line))),
        ]
        for line in bill.lines
    ]
    return Table(LINE_COLUMNS, rows)


def _what(line: BillLine) -> str:
    """A line in words."""
    spool, ground = given(line.spool), given(line.ground)
    of = "" if spool is None else f", spool of {laid(spool)}"
    return f"{line.name}{of}" if ground is None else f"{line.name}{of} ({ground})"


def _unit(line: BillLine) -> str:
    word = UNIT_WORDS.get(line.unit_code, line.unit_code)
    return f"{word}s" if word == "spool" and line.quantity != "1" else word


def _unit_price(line: BillLine) -> str:
    price = given(line.unit_price) or NOTHING
    return price if line.base_quantity == "1" else f"{price} for {line.base_quantity}"


def _adjusted(each: BillAdjustment, currency: str) -> str:
    """What an allowance or a charge changes, in words."""
    sign = "less" if each.kind == "allowance" else "plus"
    name = given(each.name)
    return f"{sign} {given(each.amount)} {currency}{'' if name is None else f', {name}'}{_share(each)}"


def _share(each: BillAdjustment) -> str:
    """Of what it is how many per cent."""
    share, base = given(each.percent), given(each.base)
    return "" if share is None or base is None else f", {share} % of {base}"


def _sums(bill: QuoteBill, currency: str) -> Table:
    rows: list[tuple[str, str]] = []
    if bill.adjustments:
        rows.append(("Sum of the lines", given(bill.line_total) or NOTHING))
    for each in bill.adjustments:
        less = each.kind == "allowance"
        name = given(each.name) or ("allowance" if less else "charge")
        amount = given(each.amount) or NOTHING
        rows.append((f"{'Less' if less else 'Plus'} {name}{_share(each)}", f"-{amount}" if less else amount))
    rows.append(("Without tax", given(bill.net) or NOTHING))
    rows += [(f"{given(tax.name) or 'Tax'}, {tax.percent} % of {tax.taxable}", tax.tax) for tax in bill.taxes]
    return _closed(rows, bill, currency)


def _total(bill: QuoteBill, currency: str) -> Table:
    """The total, and the tax in it."""
    tax = given(bill.tax)
    return _closed([], bill, currency, [] if tax is None else [("Tax in it", tax)])


def _closed(
    rows: Sequence[tuple[str, str]],
    bill: QuoteBill,
    currency: str,
    below: Sequence[tuple[str, str]] = (),
) -> Table:
    """Sums with the total, and with what is paid and to pay."""
    told = [*rows, (TOTAL, given(bill.total) or NOTHING), *below]
    paid, to_pay = given(bill.prepaid), given(bill.payable)
    if paid is not None and to_pay is not None:
        told += [("Already paid", f"-{paid}"), (TO_PAY, to_pay)]
    strong = frozenset(place for place, (name, _) in enumerate(told) if name in {TOTAL, TO_PAY})
    return Table([Column("Sum"), Column(f"Amount [{currency}]", numbers=True)], told, strong)


TOTAL, TO_PAY = "Total", "To pay"


def installer_sheet(request: QuoteRequest, reply: QuoteReply) -> Sheet:
    """What to take along, what to cut and what to join; of each alternative on pages of its own."""
    first, *others = [_pick_list(request, reply, bill) for bill in reply.bills]
    return first._replace(further=others)


def _pick_list(request: QuoteRequest, reply: QuoteReply, bill: QuoteBill) -> Sheet:
    keeps = keeps_off_cuts(request, bill)
    unslacked = any(each.code == WITHOUT_SLACK.code for each in reply.assumptions)
    cautions = [
        *(each.message for each in reply.cautions),
        *JOINTS,
        *([NO_SLACK] if unslacked else []),
    ]
    sections = [
        Section("", list(_to_build(request, reply, bill))),
        Section("Before you begin", [caution_facts(cautions)]),
        Section("Take along", list(_take_along(reply, bill))),
        *(
            Section(
                f"Cut list: {cable.name}",
                [Facts(cable_facts(cable, laid)), cut_table(cable, laid, Column("Done"), keeps=keeps)],
            )
            for cable in bill.cut_list
        ),
        Section("Joints", list(_joints(bill))),
    ]
    sheet = head(request, PICK_LIST, unit_of(request), filled(sections))
    of_several = [called(bill)] if len(reply.bills) > 1 else []
    return sheet._replace(study=" \N{MIDDLE DOT} ".join(filter(None, [sheet.study, *of_several])))


def _to_build(request: QuoteRequest, reply: QuoteReply, bill: QuoteBill) -> Iterator[Block]:
    """Whether to build it."""
    accepted = frozenset(given(request.accept) or ())
    if bill.status == QUOTED:
        yield Headline(VERDICTS[bill.verdict][0])
    else:
        yield Headline(NOT_TO_BUILD, grave=True)
    lamp = _weakest(bill)
    if lamp is not None and bill.status == QUOTED:
        yield Paragraph(f"By calculation the weakest lamp is {lamp.name} with {quantity(lamp.voltage)}.")
    yield Facts([*_told(reply, bill, FAULT), *_told(reply, bill, WARNING, accepted)])


def _take_along(reply: QuoteReply, bill: QuoteBill) -> Iterator[Block]:
    rows: list[list[str]] = []
    groups: dict[int, str] = {}
    for kind, heading in TAKEN_ALONG.items():
        own = [
            [_what(line), line.item, line.quantity, _unit(line) or NOTHING, ""]
            for line in bill.lines
            if line.kind == kind
        ]
        if kind == "cable":
            own += _on_hand(bill)
        if own:
            groups[len(rows)] = heading
        rows += own
    columns = [
        Column("What"),
        Column("Stock number"),
        Column("Quantity", numbers=True),
        Column("Unit", short=True),
        Column("Taken", short=True),
    ]
    yield Table(columns, rows, roomy=True, groups=groups)
    missing = [LEFT_OUT[each.code] for each in reply.assumptions if each.code in LEFT_OUT]
    if missing:
        yield Paragraph(f"Not on this list, because the catalogue has none: {', '.join(missing)}.")


def _on_hand(bill: QuoteBill) -> list[list[str]]:
    """Off-cuts that are there already, those alike together."""
    counts: Counter[tuple[str, str]] = Counter()
    for cable in bill.cut_list:
        for spool in cable.spools:
            if spool.on_hand:
                counts[f"{cable.name}, off-cut of {laid(spool.length)}", cable.item] += spool.count
    return [[what, item, str(count), "on hand", ""] for (what, item), count in counts.items()]


def _joints(bill: QuoteBill) -> Iterator[Block]:
    """Every joint with what meets there and what is put on it, to tick off."""
    names = {line.item: line.name for line in bill.lines}
    rows: list[list[str]] = []
    groups: dict[int, str] = {}
    for kind, heading in JOINTS_OF.items():
        own = [row for joint in bill.joints if joint.kind == kind for row in _joint_rows(joint, names)]
        if own:
            groups[len(rows)] = heading
        rows += own
    columns = [
        Column("Where"),
        Column("Conductors of one pole"),
        Column("Connector"),
        Column("How many", numbers=True),
        Column("Done", short=True),
    ]
    yield Table(columns, rows, roomy=True, groups=groups)
    if any(isinstance(joint.item, UnsetType) for joint in bill.joints):
        yield Paragraph(NO_CONNECTOR)


def _joint_rows(joint: QuotedJoint, names: Mapping[str, str]) -> Iterator[list[str]]:
    item, connectors = given(joint.item), given(joint.connectors)
    name = NOTHING if item is None else names.get(item, item)
    connector = name if item is None or name == item else f"{name}, {item}"
    each = NOTHING if connectors is None else str(connectors // joint.count)
    met = f"{conductor_words(joint.conductors)}, {poles_words(joint)}"
    for place in joint.places:
        yield [place, met, connector, each, ""]
    if (more := joint.count - len(joint.places)) > 0:
        yield [f"{more} more like these", met, connector, each, ""]
