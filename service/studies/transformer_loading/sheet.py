"""The sheet of a transformer's loading."""

from __future__ import annotations

from collections.abc import Iterator

from service.findings.loading import CONTINUOUS_SHARE
from service.sheets.figures import (
    NOTHING,
    ShownValue,
    as_stated,
    either,
    figure,
    figures,
    given,
    optional,
    percent,
    plain,
    quantity,
)
from service.sheets.sections import (
    USUAL_LOADING,
    WINDING_CURRENT,
    circuit_words,
    closing_sections,
    corner_words,
    findings_section,
    head,
    job_section,
    margin_facts,
    summary_section,
)
from service.sheets.sheet import (
    Block,
    Column,
    Facts,
    Paragraph,
    Section,
    Sheet,
    Table,
    filled,
    numbers,
    texts,
)
from service.studies.transformer_loading.reply import (
    CircuitDivision,
    NearestTransformer,
    RecommendedTransformer,
    RejectedTransformer,
    RejectionReason,
    TerminalLoading,
    TransformerLoaded,
    TransformerLoadingReply,
)
from service.studies.transformer_loading.request import TransformerLoadingRequest
from service.translate.job import length_unit
from service.wire.reply import TapState
from service.wire.stock import StockTransformer

STUDY = "Transformer loading"


COLLAPSED = "The stated supply cannot carry that load at any voltage; another transformer may."


NONE_FITS = "No transformer that could be chosen carries this job; see below why not."


NONE_PASSES = "No transformer that could be chosen passes with this job. This one comes nearest."


def transformer_loading_sheet(request: TransformerLoadingRequest, reply: TransformerLoadingReply) -> Sheet:
    """What the transformer carries, which to take, and which run on which circuit."""
    sections = [
        summary_section(reply.summary),
        Section("Result", _result(reply)),
        findings_section(reply.findings),
        _offered(reply),
        *_division(given(reply.division)),
        Section("Not recommended", [_rejected(reply.rejected)]),
        job_section(request, *_facts_of_job(request)),
        Section("Stock to choose from", [_stock(given(request.stock) or [], given(request.currency))]),
    ]
    return head(request, STUDY, length_unit(request), filled([*sections, *closing_sections(reply)]))


def _result(reply: TransformerLoadingReply) -> list[Block]:
    connected = reply.connected
    both = f"{quantity(connected.real_power)}, {quantity(connected.apparent_power)}"
    plates = [
        ("Fixtures, by their plates", both),
        ("Least rating, spare included", quantity(connected.least_rating)),
    ]
    stated = given(reply.stated)
    plates += [] if stated is None else list(_verdict("The stated supply", stated.verdict, stated.broken))
    if not isinstance(reply, TransformerLoaded):
        return [Paragraph(COLLAPSED), Facts([*plates, *margin_facts(reply.load_margin)])]
    facts = [*plates, *_loading(reply.loading)]
    if (primary := given(reply.primary)) is not None:
        mains = (
            f"{quantity(primary.voltage)}, {quantity(primary.current)}, {quantity(primary.apparent_power)}"
        )
        facts.append(("Taken from the mains", mains))
    circuits = [[each.name, figure(each.current), optional(each.limit)] for each in reply.circuits]
    table = Table([Column("Circuit"), *numbers("Highest current [A]", "Device [A]")], circuits)
    placed = [[each.name, each.circuit] for each in given(reply.placement) or []]
    runs = [Table(texts("Run", "put on circuit"), placed)] if placed else []
    return [Facts(facts), _taps(reply.loading.taps), table, *runs]


def _verdict(subject: str, verdict: str, broken: list[str]) -> Iterator[tuple[str, str]]:
    """A verdict, and the codes that speak against what is judged."""
    yield subject, f"{verdict}: {', '.join(broken)}" if broken else verdict


def _loading(loading: TerminalLoading) -> Iterator[tuple[str, str]]:
    yield "Worst case", corner_words(loading.corner)
    yield "At the terminals", f"{quantity(loading.real_power)}, {quantity(loading.apparent_power)}"
    if (factor := given(loading.power_factor)) is not None:
        yield "Power factor", plain(factor)
    yield "Lost in cable and winding", f"{quantity(loading.cable_loss)}, {quantity(loading.winding_loss)}"
    rating, ratio = given(loading.rating), given(loading.loading_ratio)
    if rating is not None and ratio is not None:
        yield "Rating and loading", f"{quantity(rating)}, {percent(ratio)}"
    if (winding := given(loading.current_ratio)) is not None:
        yield WINDING_CURRENT, percent(winding)
    if (usual := given(loading.loading_ratio_at_usual_power_factor)) is not None:
        yield USUAL_LOADING, percent(usual)
    spare, spare_ratio = given(loading.spare), given(loading.spare_ratio)
    if spare is not None and spare_ratio is not None:
        lacks = spare.value < 0.0
        told = f"{quantity(spare)}, {percent(spare_ratio)}".replace("-", "")
        yield ("Too much" if lacks else "To spare"), told


def _taps(taps: list[TapState]) -> Table:
    rows = [[plain(tap.rated.value), *figures(tap.open_circuit, tap.terminal, tap.current)] for tap in taps]
    return Table(numbers("Tap, rated [V]", "Open circuit [V]", "Terminal [V]", "Current [A]"), rows)


def _offered(reply: TransformerLoadingReply) -> Section:
    """The recommended transformer, else the nearest, else that there is none; nothing on direct current."""
    if (recommended := given(reply.recommended)) is not None:
        return Section("Recommended", _transformer(recommended))
    if (nearest := given(reply.nearest)) is not None:
        return Section("Nearest", [Paragraph(NONE_PASSES), *_transformer(nearest)])
    return Section("Recommended", [Paragraph(NONE_FITS)] if reply.rejected else [])


def _transformer(found: RecommendedTransformer | NearestTransformer) -> list[Block]:
    price, verdict = given(found.price), given(found.verdict)
    facts = [
        (
            "Transformer",
            " · ".join(part for part in (given(found.name), given(found.id)) if part) or "usual rating",
        ),
        ("Rating", quantity(found.rating)),
        *([] if price is None else [("Price", f"{price} {given(found.currency) or ''}".rstrip())]),
        *([] if verdict is None else _verdict("With it", verdict, given(found.broken) or [])),
        *_loading(found.loading),
    ]
    return [Facts(facts), _taps(found.loading.taps)]


def _division(division: CircuitDivision | None) -> list[Section]:
    if division is None:
        return []
    rows = [
        [
            circuit.name,
            run.name,
            figure(run.current),
            figure(circuit.current),
            optional(circuit.limit),
            NOTHING if (ratio := given(circuit.loading_ratio)) is None else percent(ratio),
        ]
        for circuit in division.circuits
        for run in circuit.runs
    ]
    columns = [*texts("Circuit", "Run"), *numbers("Run [A]", "Circuit [A]", "Limit [A]", "Loading")]
    words = f"{_fullest(division)} Method: {division.method}."
    return [Section("Which run on which circuit", [Table(columns, rows), Paragraph(words)])]


def _fullest(division: CircuitDivision) -> str:
    """How full the circuits are, as far as their devices are known."""
    if (ratio := given(division.largest_ratio)) is None:
        return "No device is stated, so nothing is judged by one."
    within = given(division.within_continuous_share)
    if within is None:
        return f"The fullest circuit of a known device is loaded to {percent(ratio)}."
    habit = "no circuit is" if within else "some circuit is"
    return (
        f"The fullest circuit is loaded to {percent(ratio)}; {habit} above {CONTINUOUS_SHARE} of its limit,"
        " the habit of the trade for long hours."
    )


def _reason(reason: RejectionReason) -> str:
    """The sentence, and behind it what it says with fewer digits than the answer."""
    amounts = [each for each in (given(reason.measured), given(reason.limit)) if each is not None]
    unsaid = [quantity(each) for each in amounts if not _is_said(each, reason.message)]
    return f"{reason.message} ({', '.join(unsaid)})" if unsaid else reason.message


def _is_said(amount: ShownValue, message: str) -> bool:
    """Whether a sentence has an amount, in the digits of messages or of tables."""
    digits = figure(amount), plain(amount.value), plain(round(amount.value, 2))
    return any(f"{each} {amount.unit}" in message for each in digits)


def _rejected(rows: list[RejectedTransformer]) -> Table:
    table = [
        [
            quantity(row.rating),
            either(given(row.name)),
            either(given(row.id)),
            " ".join(_reason(each) for each in row.reasons),
        ]
        for row in rows
    ]
    return Table([Column("Rating", numbers=True), *texts("Name", "Id", "Why not")], table)


def _facts_of_job(request: TransformerLoadingRequest) -> Iterator[tuple[str, str]]:
    if (spare := given(request.spare_percent)) is not None:
        yield "To spare above the connected volt-amperes", f"{plain(spare)} %"
    if (most := given(request.maximum_loading_percent)) is not None:
        yield "Largest share of its rating", f"{plain(most)} %"


def _stock(stock: list[StockTransformer], currency: str | None) -> Table:
    columns = [
        *texts("Id", "Name", "Rating", "Taps [V]", "Regulation", "Circuits", "Least load"),
        Column(f"Price [{currency}]" if currency else "Price", numbers=True),
    ]
    return Table(columns, [_unit(unit) for unit in stock])


def _unit(unit: StockTransformer) -> list[str]:
    regulation, circuits, least = (
        given(unit.regulation_percent),
        given(unit.circuits),
        given(unit.minimum_load),
    )
    return [
        unit.id,
        either(unit.name),
        as_stated(unit.rating),
        ", ".join(plain(tap.value) for tap in unit.taps),
        NOTHING if regulation is None else f"{plain(regulation)} %",
        NOTHING if circuits is None else circuit_words(circuits),
        NOTHING if least is None else as_stated(least),
        either(unit.price),
    ]
