"""The record of a quote: every bill and how it comes about, how cable is cut and joined, findings."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final

from msgspec import UnsetType

from service.sheets.figures import (
    NOTHING,
    as_stated,
    either,
    figure,
    given,
    optional,
    percent,
)
from service.sheets.sections import (
    closing_sections,
    findings_section,
    head,
    job_section,
    summary_section,
)
from service.sheets.sheet import (
    Column,
    Facts,
    Section,
    Sheet,
    Table,
    filled,
    numbers,
    texts,
)
from service.studies.quote.reply import (
    BillAdjustment,
    BillLine,
    BillTax,
    CableCutList,
    ComparedAlternative,
    MetConductor,
    QuoteBill,
    QuotedCut,
    QuotedJoint,
    QuotedPart,
    QuotedSpool,
    QuoteReply,
)
from service.studies.quote.request import QuoteRequest
from service.translate.job import length_unit, unit_of_lengths
from service.translate.naming import place_words
from service.translate.shared import with_shared
from service.wire.quantities import ShownApparentPower, ShownLength

STUDY: Final = "Quote"

MOST_PLACES: Final = 8
"""Places that one row tells; a row is never split over two pages."""

Told = Callable[[ShownLength], str]
"""A length as a paper prints it."""


def quote_sheet(request: QuoteRequest, reply: QuoteReply) -> Sheet:
    """All that the reply says, and what was asked of each supply; what goods cost stands nowhere."""
    sections = [
        summary_section(reply.summary),
        Section("Alternatives side by side", [_compared(reply)]),
        *(section for bill in reply.bills for section in _bill_sections(request, bill, reply)),
        findings_section(reply.findings),
        *_asked(request),
        *closing_sections(reply),
    ]
    return head(request, STUDY, unit_of(request), filled(sections))


def unit_of(request: QuoteRequest) -> str:
    """The unit of the lengths in the reply."""
    first = request.alternatives[0].parts[0]
    return (
        length_unit(first) if isinstance(request.units, UnsetType) else unit_of_lengths(request.units, None)
    )


def called(bill: QuoteBill | ComparedAlternative) -> str:
    """What an alternative is called: by its name, or by its id."""
    return given(bill.name) or bill.alternative


def valid(reply: QuoteReply) -> list[tuple[str, str]]:
    """Until when a quote stands; where it is not said when it is issued, for how many days from then on."""
    until, days = given(reply.valid_until), given(reply.valid_days)
    if until is not None:
        return [("Valid until", until)]
    if days is None:
        return []
    how_long = f"for {days} day{'s' * (days != 1)} from the day of issue" if days else "on the day of issue"
    return [("Valid", how_long)]


def _compared(reply: QuoteReply) -> Table:
    """The alternatives side by side."""
    rows = [
        [
            called(row),
            row.status,
            either(row.total),
            either(row.beside_cheapest),
            optional(row.weakest),
            _spare(row.spare),
            optional(row.lost),
        ]
        for row in reply.comparison
    ]
    columns = [
        *texts("Alternative", "Status"),
        *numbers(
            f"Total [{reply.currency}]",
            f"Above the cheapest [{reply.currency}]",
            "Weakest lamp [V]",
            "Spare [VA]",
            "Lost [W]",
        ),
    ]
    return Table(columns, rows)


def _spare(spare: ShownApparentPower | UnsetType) -> str:
    """What is left of a rating, or by how much it is passed."""
    if isinstance(spare, UnsetType):
        return NOTHING
    return f"{figure(spare).removeprefix('-')} too much" if spare.value < 0.0 else figure(spare)


def _bill_sections(request: QuoteRequest, bill: QuoteBill, reply: QuoteReply) -> Iterator[Section]:
    keeps = keeps_off_cuts(request, bill)

    def named(what: str) -> str:
        return f"{what}: {called(bill)}" if len(reply.bills) > 1 else what

    currency = reply.currency
    facts = [("Alternative", called(bill)), ("Id", bill.alternative)]
    facts += [("Status", bill.status), ("Verdict", bill.verdict)]
    facts += valid(reply)
    yield Section(named("Bill"), [Facts(facts), _lines(bill.lines, currency), sums(bill, currency)])
    yield Section(
        named("Allowances and charges"),
        [_adjustments(bill, currency)],
    )
    yield Section(named("Taxes"), [_taxes(bill.taxes, currency)])
    yield Section(named("How the quantities come about"), [_reasons(bill.lines)])
    for cable in bill.cut_list:
        facts = [*cable_facts(cable, as_stated), *_cut_facts(cable, currency)]
        yield Section(
            named(f"Cut list of {cable.name}"), [Facts(facts), cut_table(cable, as_stated, keeps=keeps)]
        )
    yield Section(named("Joints"), [_joints(bill.joints)])
    yield Section(named("Volts and load"), [_parts(bill.electrical)])


def _lines(lines: Sequence[BillLine], currency: str) -> Table:
    rows = [
        [
            str(line.line),
            line.kind,
            line.item,
            line.name,
            line.quantity,
            line.unit_code,
            either(line.unit_price),
            line.base_quantity,
            line.tax,
            either(line.net),
        ]
        for line in lines
    ]
    columns = [
        Column("Line", numbers=True),
        *texts("Kind", "Item", "Name"),
        Column("Quantity", numbers=True),
        Column("Unit", short=True),
        *numbers(f"Unit price [{currency}]", "For"),
        Column("Tax"),
        Column(f"Net [{currency}]", numbers=True),
    ]
    return Table(columns, rows)


def sums(bill: QuoteBill, currency: str) -> Table:
    """What a bill comes to; what is withheld is not there."""
    named = [
        ("Sum of the lines", bill.line_total),
        ("Net", bill.net),
        ("Tax", bill.tax),
        ("Total", bill.total),
        ("Already paid", bill.prepaid),
        ("To pay", bill.payable),
    ]
    rows = [[name, amount] for name, amount in named if not isinstance(amount, UnsetType)]
    strong = frozenset(place for place, (name, _) in enumerate(rows) if name in {"Total", "To pay"})
    return Table([Column("Sum"), Column(f"Amount [{currency}]", numbers=True)], rows, strong)


def _adjustments(bill: QuoteBill, currency: str) -> Table:
    """Those of lines, then those of the bill."""
    rows = [
        _adjustment(f"line {line.line}", line.tax, each)
        for line in bill.lines
        for each in given(line.adjustments) or ()
    ]
    rows += [_adjustment("the bill", either(each.tax), each) for each in bill.adjustments]
    columns = [
        *texts("Of", "Kind", "Why", "Tax"),
        *numbers("Per cent", f"Of [{currency}]", f"Amount [{currency}]"),
    ]
    return Table(columns, rows)


def _adjustment(of: str, tax: str, each: BillAdjustment) -> list[str]:
    return [
        of,
        each.kind,
        either(each.name),
        tax,
        either(each.percent),
        either(each.base),
        either(each.amount),
    ]


def _taxes(taxes: Sequence[BillTax], currency: str) -> Table:
    rows = [[each.code, either(each.name), each.percent, each.taxable, each.tax] for each in taxes]
    columns = [*texts("Code", "Name"), *numbers("Per cent", f"Taxable [{currency}]", f"Tax [{currency}]")]
    return Table(columns, rows)


def _reasons(lines: Sequence[BillLine]) -> Table:
    rows = []
    for line in lines:
        spool = given(line.spool)
        rows.append(
            [
                str(line.line),
                line.name,
                either(line.why),
                NOTHING if spool is None else as_stated(spool),
                either(line.ground),
                either(line.gtin),
                _places(line.pointers),
            ]
        )
    columns = [Column("Line", numbers=True), *texts("Name", "How", "Spool", "Ground", "GTIN", "Where")]
    return Table(columns, rows)


_PART = re.compile(r"^/alternatives/\d+(?:/parts/(\d+))?")


def _places(pointers: Sequence[str]) -> str:
    """Places in the request in words, without those of which there are too many."""
    told = list(dict.fromkeys(map(_place, pointers)))
    more = [f"{len(told) - MOST_PLACES} more"] if len(told) > MOST_PLACES else []
    return "; ".join([*told[:MOST_PLACES], *more]) or NOTHING


def _place(pointer: str) -> str:
    found = _PART.match(pointer)
    within = pointer[found.end() :] if found else pointer
    part = found[1] if found else None
    if part is None:
        return "the whole job" if not within else place_words(within)
    return f"part {int(part) + 1}, {place_words(within)}" if within else f"part {int(part) + 1}"


def cable_facts(cable: CableCutList, told: Told) -> list[tuple[str, str]]:
    """What is laid of one cable."""
    pieces = f"{cable.pieces} piece{'s' * (cable.pieces != 1)}"
    route = "" if cable.route == cable.laid else f", for {told(cable.route)} of route"
    return [("Conductors", cable.conductor), ("Laid", f"{told(cable.laid)} in {pieces}{route}")]


def _cut_facts(cable: CableCutList, currency: str) -> Iterator[tuple[str, str]]:
    yield "Row of the catalogue", cable.item
    yield "Joints within pieces", str(cable.joints)
    if not isinstance(cable.proven, UnsetType):
        yield "Proven cheapest", "yes" if cable.proven else "no"
    if (net := given(cable.net)) is not None:
        yield f"Spools and joints in them [{currency}]", net
    if (least := given(cable.at_least)) is not None:
        yield f"No cut list costs less than [{currency}]", least


ON_HAND: Final = "on hand"

LEFT_OVER: Final = "left over"


def keeps_off_cuts(request: QuoteRequest, bill: QuoteBill) -> bool:
    """Whether it is stated from which length on an off-cut is worth keeping."""
    own = next(each.cutting for each in request.alternatives if each.id == bill.alternative)
    cutting = given(own) or given(request.cutting)
    return cutting is not None and given(cutting.keep_from) is not None


def cut_table(cable: CableCutList, told: Told, *more: Column, keeps: bool) -> Table:
    """Spool by spool the lengths in their order, and what is left; what is sold by length behind them.

    Parameters
    ----------
    cable : CableCutList
    told : callable
        A length as the paper prints it.
    more : Column
        Columns to write in.
    keeps : bool
        Whether off-cuts are told apart by what they are worth.
    """
    rows: list[list[str]] = []
    groups: dict[int, str] = {}
    number = 0
    for spool in cable.spools:
        groups[len(rows)] = _spool_words(spool, number, told)
        number += spool.count
        rows += [_cut(cut, told) for cut in spool.cuts]
        if spool.off_cut.value > 0.0:
            rows.append([told(spool.off_cut), LEFT_OVER, _left(spool) if keeps else NOTHING, NOTHING])
    if cable.lengths:
        groups[len(rows)] = "Cut to length where it is bought" if not cable.spools else "Cut to length"
        rows += [_cut(cut, told) for cut in cable.lengths]
    columns = [Column("Cut", short=True), *texts("From", "To"), Column("Piece", short=True), *more]
    return Table(columns, [[*row, *("" for _ in more)] for row in rows], roomy=bool(more), groups=groups)


def _left(spool: QuotedSpool) -> str:
    return "keep it" if spool.kept else "too short to keep"


def _spool_words(spool: QuotedSpool, before: int, told: Told) -> str:
    """Which spools are cut alike."""
    first, last = before + 1, before + spool.count
    which = f"Spool {first}" if first == last else f"Spools {first} to {last}, each"
    here = f", {ON_HAND}" if spool.on_hand else ""
    return f"{which}: {told(spool.length)}{here}"


def _cut(cut: QuotedCut, told: Told) -> list[str]:
    return [told(cut.length), cut.start, cut.end, f"{cut.mark}, a part" if cut.joined else cut.mark]


def conductor_words(conductors: Iterable[MetConductor]) -> str:
    """What meets at one pole."""
    return " + ".join(
        f"{each.count} × {each.conductor}{' passing uncut' if each.uncut else ''}" for each in conductors
    )


def poles_words(joint: QuotedJoint) -> str:
    """At which poles the same conductors meet."""
    return "one pole" if joint.poles == 1 else "each pole"


def _joints(joints: Sequence[QuotedJoint]) -> Table:
    rows = []
    for joint in joints:
        connectors = given(joint.connectors)
        told = joint.places[:MOST_PLACES]
        more = joint.count - len(told)
        rows.append(
            [
                joint.kind,
                f"{conductor_words(joint.conductors)}, {poles_words(joint)}",
                str(joint.count),
                either(joint.item),
                NOTHING if connectors is None else str(connectors),
                "; ".join([*told, *([f"{more} more"] if more else [])]),
            ]
        )
    columns = [
        *texts("Kind", "Conductors"),
        Column("Joints", numbers=True),
        Column("Connector"),
        Column("Connectors", numbers=True),
        Column("Where"),
    ]
    return Table(columns, rows)


def _parts(parts: Sequence[QuotedPart]) -> Table:
    rows = []
    for number, part in enumerate(parts, start=1):
        weakest, ratio = given(part.weakest), given(part.loading_ratio)
        rows.append(
            [
                f"{number}{'' if isinstance(part.id, UnsetType) else f' ({part.id})'}",
                part.verdict if part.carried else f"{part.verdict}: nothing is carried",
                NOTHING if weakest is None else weakest.name,
                NOTHING if weakest is None else figure(weakest.voltage),
                optional(part.weakest_with_joints),
                optional(part.weakest_without_joints),
                NOTHING if ratio is None else percent(ratio),
                _spare(part.spare),
                optional(part.cable_loss),
                optional(part.winding_loss),
            ]
        )
    columns = [
        *texts("Part", "Verdict", "Weakest lamp"),
        *numbers(
            "Lowest [V]",
            "With joints in runs [V]",
            "Without [V]",
            "Load",
            "Spare [VA]",
            "Lost in cable [W]",
            "In the winding [W]",
        ),
    ]
    return Table(columns, rows)


def _asked(request: QuoteRequest) -> Iterator[Section]:
    """The supply and the wiring of each part."""
    several = len(request.alternatives) > 1 or len(request.alternatives[0].parts) > 1
    for alternative in request.alternatives:
        name = given(alternative.name) or alternative.id
        for number, part in enumerate(alternative.parts, start=1):
            section = job_section(with_shared(part))
            what = f"{section.title}: {name}, part {number}" if several else section.title
            yield section._replace(title=what)
