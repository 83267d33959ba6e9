"""The sheet of a choice of cables."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import UnsetType
from msgspec.structs import replace

from service.sheets.figures import (
    NOTHING,
    as_stated,
    beside,
    either,
    given,
    optional,
    per_cent,
    percent,
    plain,
    quantity,
)
from service.sheets.sections import (
    closing_sections,
    findings_section,
    head,
    job_section,
    summary_section,
    wiring_blocks,
)
from service.sheets.sheet import Column, Facts, Paragraph, Section, Sheet, Table, filled, numbers, texts
from service.studies.gauge_recommendation.reply import (
    ChosenCable,
    ComparedCable,
    GaugeRecommendationReply,
    NoneFound,
    NonePasses,
    Outcome,
    PurchaseLine,
    Recommended,
    RemedyRow,
)
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.translate.job import length_unit
from service.translate.naming import place_words, run_name
from service.wire.reply import Subject
from service.wire.stock import Price, PricePerLength, StockCable
from service.wire.wiring import RunsWiring

STUDY = "Cable recommendation"


NONE_PASSES = "No choice keeps every limit. See below what each breaks{helps}."

NONE_FOUND = (
    "No choice was found that keeps every limit, and there may be one: the search reached its limit of work."
    " See below what each breaks{helps}."
)

HELPS = ", and what would help"

NEAREST = "; nothing that was tried is enough by itself, and the nearest is shown"

NOTHING_HELPS = "; nothing that would help was found"

HELP_ROOM = 110.0
"""What a sentence of a remedy has of the line. [pt]"""

UNTRIED = "The work of one request ended before all was tried; more may help: {kinds}."


def gauge_recommendation_sheet(request: GaugeRecommendationRequest, reply: GaugeRecommendationReply) -> Sheet:
    """Which cable, what it costs, and why not another."""
    currency = given(reply.currency)
    answer = (
        _recommended(reply, currency) if isinstance(reply, Recommended) else _none_passes(reply, currency)
    )
    sections = [
        summary_section(reply.summary),
        *answer,
        job_section(replace(request, conditions=reply.judged_conditions), *_facts_of_job(request)),
        Section("Stock to choose from", [stock_table(given(request.stock) or [], currency)]),
        *closing_sections(reply),
    ]
    return head(request, STUDY, length_unit(request), filled(sections))


def _connected_name(reply: Recommended, pointer: str) -> str:
    """What leaves the supply there: a run by its name, of a graph a span by its place."""
    runs = isinstance(reply.wiring, RunsWiring) and pointer.startswith("/wiring/runs/")
    return run_name(reply.wiring, pointer) if runs else place_words(pointer)


def _recommended(reply: Recommended, currency: str | None) -> list[Section]:
    taps = [
        [_connected_name(reply, choice.pointer), plain(choice.tap.value)]
        for choice in given(reply.taps) or ()
    ]
    return [
        Section("Result", [Facts(list(_summary(reply, currency)))]),
        findings_section(reply.findings),
        Section(
            "Cable by cable",
            [chosen_table(reply.chosen), Table([Column("Connected at"), *numbers("Tap [V]")], taps)],
        ),
        Section("To buy", [purchase_table(reply.purchase, given(reply.total), currency)]),
        *cut_sections(reply),
        Section("One size everywhere, compared", [_compared(reply.compared, currency)]),
        Section("The wiring with its cables", wiring_blocks(reply.wiring)),
    ]


def _summary(reply: Recommended, currency: str | None) -> Iterator[tuple[str, str]]:
    yield "Chosen for", reply.objective
    yield "Method", reply.method
    total, bound = given(reply.total), given(reply.least_possible_total)
    if total is not None:
        yield "Total", f"{total} {currency or ''}".rstrip()
    if bound is not None:
        yield "No choice costs less than", f"{bound} {currency or ''}".rstrip()
    metal = given(reply.least_possible_metal)
    if metal is not None:
        yield "No choice takes less metal than", f"{plain(metal.value)} {metal.unit}"
    if lines := [line for line in reply.purchase if not isinstance(line.proven, UnsetType)]:
        yield "Spools proven cheapest", "yes" if all(line.proven for line in lines) else "no"
        yield "Joints in cable", str(sum(given(line.joints) or 0 for line in lines))
    yield from outcome_facts(reply.outcome)


def outcome_facts(outcome: Outcome) -> Iterator[tuple[str, str]]:
    """What a choice does, each cell with its name."""
    names = [
        "Passes",
        "Lowest voltage [V]",
        "Highest voltage [V]",
        "Largest drop [%]",
        "Lost in cable [W]",
        "Taps [V]",
        "Share of the rating",
        "Breaks",
    ]
    yield from zip(names, outcome_cells(outcome), strict=True)


def outcome_cells(outcome: Outcome) -> list[str]:
    """What a choice does."""
    drop, loading = given(outcome.drop_percent), given(outcome.loading_ratio)
    return [
        "yes" if outcome.passes else "no",
        optional(outcome.lowest_voltage),
        optional(outcome.highest_voltage),
        NOTHING if drop is None else per_cent(drop),
        optional(outcome.cable_loss),
        ", ".join(plain(tap.value) for tap in given(outcome.taps) or ()) or NOTHING,
        NOTHING if loading is None else percent(loading),
        "; ".join(_broken(outcome)) or NOTHING,
    ]


def _broken(outcome: Outcome) -> Iterator[str]:
    for broken in outcome.breaks:
        measured, limit = given(broken.measured), given(broken.limit)
        values = "" if measured is None else f" {beside(measured, broken.limit)}"
        values += "" if limit is None else f", limit {quantity(limit)}"
        yield f"{broken.code} at {subject_words(broken.subject)}:{values}" if values else broken.code


def subject_words(subject: Subject) -> str:
    """What is meant, by its place in the request."""
    own_id, number = given(subject.id), given(subject.number)
    place = place_words(subject.pointer, number)
    return place if own_id is None else f"{own_id} ({place})"


def chosen_table(chosen: list[ChosenCable]) -> Table:
    """What was chosen, cable by cable."""
    unit = chosen[0].length.unit if chosen else "m"
    rows = [
        [
            row.start,
            row.end,
            plain(row.length.value),
            row.conductor,
            either(given(row.stock_id)),
            place_words(row.pointer),
        ]
        for row in chosen
    ]
    columns = [
        *texts("From", "To"),
        *numbers(f"Length [{unit}]"),
        *texts("Cable", "Stock", "Part of the wiring"),
    ]
    return Table(columns, rows)


def purchase_table(purchase: list[PurchaseLine], total: str | None, currency: str | None) -> Table:
    """What to buy, and what it costs in all."""
    unit = purchase[0].quantity.unit if purchase else "m"
    rows = []
    for line in purchase:
        spools = ", ".join(f"{each.count} x {as_stated(each.length)}" for each in given(line.spools) or ())
        stock, amount = either(given(line.stock_id)), either(given(line.line_total))
        rows.append([line.conductor, stock, plain(line.quantity.value), spools or NOTHING, amount])
    if total is not None:
        rows.append(["Total", NOTHING, NOTHING, NOTHING, total])
    columns = [
        *texts("Cable", "Stock"),
        *numbers(f"Length [{unit}]"),
        Column("Spools"),
        *numbers(priced("Amount", currency)),
    ]
    return Table(columns, rows, frozenset() if total is None else frozenset([len(rows) - 1]))


def cut_sections(reply: GaugeRecommendationReply) -> list[Section]:
    """Which piece is cut from which spool; no money."""
    return cut_list_sections(reply.purchase) if isinstance(reply, Recommended) else []


def cut_list_sections(purchase: list[PurchaseLine]) -> list[Section]:
    """Which piece is cut from which spool, where something is."""
    return filled([Section("Cut list", [_cut_list(purchase)])])


def _cut_list(purchase: list[PurchaseLine]) -> Table:
    """Spool by spool, a row for each cut; what is left of it stands beside the last."""
    unit = purchase[0].quantity.unit if purchase else "m"
    rows = []
    for line in purchase:
        for spool in given(line.cut_list) or ():
            named = [f"{line.conductor} {given(line.stock_id) or ''}".rstrip()]
            named.append(f"{spool.count} x {as_stated(spool.length)}")
            for place, piece in enumerate(spool.pieces, start=1):
                left = plain(spool.off_cut.value) if place == len(spool.pieces) else NOTHING
                part = "a part, joined" if piece.joined else "whole"
                rows.append([*named, plain(piece.length.value), piece.start, piece.end, part, left])
                named = [NOTHING, NOTHING]
    columns = [*texts("Cable", "Spools"), *numbers(f"Cut [{unit}]"), *texts("From", "To", "Piece")]
    return Table([*columns, *numbers(f"Left over [{unit}]")], rows)


def priced(heading: str, currency: str | None) -> str:
    """A heading with the currency, where there is one."""
    return f"{heading} [{currency}]" if currency else heading


def _compared(rows: list[ComparedCable], currency: str | None) -> Table:
    columns = [
        *texts("Cable", "Stock", "Passes"),
        *numbers(
            "Lowest [V]",
            "Highest [V]",
            "Drop [%]",
            "Lost [W]",
            "Taps [V]",
            "Share of the rating",
            priced("Price", currency),
        ),
        Column("Breaks"),
    ]
    table = []
    for row in rows:
        *cells, broken = outcome_cells(row.outcome)
        table.append([row.conductor, either(given(row.stock_id)), *cells, either(given(row.price)), broken])
    return Table(columns, table)


def _none_passes(reply: NonePasses | NoneFound, currency: str | None) -> list[Section]:
    words = NONE_FOUND if isinstance(reply, NoneFound) else NONE_PASSES
    helped = any(row.outcome.passes for row in reply.remedies)
    helping = HELPS if helped else NEAREST if reply.remedies else NOTHING_HELPS
    untried = [Paragraph(UNTRIED.format(kinds=", ".join(reply.remedies_untried)))]
    return [
        Section(
            "Result",
            [Paragraph(words.format(helps=helping)), *(untried if reply.remedies_untried else [])],
        ),
        *([findings_section(reply.findings)] if reply.findings else []),
        Section("One size everywhere, compared", [_compared(reply.compared, currency)]),
        *remedy_sections(reply.remedies, currency),
    ]


def remedy_sections(remedies: list[RemedyRow], currency: str | None) -> list[Section]:
    """What would help, or what was tried in vain; none where there is neither."""
    if not remedies:
        return []
    rows = [
        [
            row.message,
            subject_words(row.subject),
            _bought(row),
            plain(row.more_cable.value),
            either(given(row.total)),
            *outcome_cells(row.outcome),
        ]
        for row in remedies
    ]
    columns = [
        Column("What might help", least=HELP_ROOM),
        *texts("Where", "Cable to buy"),
        *numbers(f"More cable [{remedies[0].more_cable.unit}]", priced("Cable in all", currency)),
        Column("Passes"),
        *numbers("Lowest [V]", "Highest [V]", "Drop [%]", "Lost [W]", "Taps [V]", "Share of the rating"),
        Column("Still breaks"),
    ]
    helps = frozenset(place for place, row in enumerate(remedies) if row.outcome.passes)
    return [Section("What would help" if helps else "What was tried", [Table(columns, rows, helps)])]


def _bought(row: RemedyRow) -> str:
    """All open cable of a remedy."""
    return "; ".join(f"{as_stated(line.quantity)} {line.conductor}" for line in row.purchase) or NOTHING


def _facts_of_job(request: GaugeRecommendationRequest) -> Iterator[tuple[str, str]]:
    for name, member in (("Scope", request.scope), ("Taps", request.taps), ("Sizes", request.family)):
        if (value := given(member)) is not None:
            yield name, value
    if (cutting := given(request.cutting)) is not None:
        yield "Joints in cable", cutting.joints
    if (places := given(request.open)) is not None:
        yield "Cables to choose", ", ".join(places) or NOTHING


def stock_table(stock: list[StockCable], currency: str | None) -> Table:
    """The cables to choose from."""
    rows = [
        [
            row.id,
            either(row.name),
            ", ".join(part for part in (row.conductor, given(row.material), given(row.stranding)) if part),
            _price(row.price),
        ]
        for row in stock
    ]
    return Table(texts("Id", "Name", "Conductor", priced("Price", currency)), rows)


def _price(price: Price | UnsetType) -> str:
    if isinstance(price, UnsetType):
        return NOTHING
    if isinstance(price, PricePerLength):
        return f"{price.amount} per {price.per}"
    return ", ".join(f"{spool.amount} for {as_stated(spool.length)}" for spool in price.spools)
