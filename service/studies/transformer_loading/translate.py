"""Transformer loading: the request into a job, the answer into a reply and its words."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from typing import Final, NamedTuple, TypeVar

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from service.circuit.job import JobPart
from service.circuit.limits import near_circuit_limit
from service.circuit.reading import Margin
from service.findings.finding import FindingFacts
from service.findings.limits import unaccepted
from service.findings.loading import CIRCUIT_NEAR_LIMIT, CIRCUIT_OVER_CURRENT
from service.findings.protection import circuits_named
from service.findings.rows import closing, compared_texts, message_of, shown_amount
from service.findings.summary import (
    FAILS,
    PASSES,
    WITH_WARNINGS,
    Shown,
    finding_rows,
    gravest_first,
    grouped,
    summary_row,
    verdict_of,
)
from service.intake.words import listed
from service.studies.transformer_loading.loading import LoadSum, StateLoading
from service.studies.transformer_loading.reasons import RUN_OVER_CIRCUIT
from service.studies.transformer_loading.reply import (
    CircuitDivision,
    ConnectedLoad,
    DividedCircuit,
    DividedRun,
    NearestTransformer,
    OfferedTransformer,
    PrimaryState,
    RecommendedTransformer,
    RejectedTransformer,
    RejectionReason,
    RunPlacement,
    StatedSupply,
    TerminalLoading,
    TransformerCollapsed,
    TransformerLoaded,
    TransformerLoadingReply,
)
from service.studies.transformer_loading.request import TransformerLoadingRequest
from service.studies.transformer_loading.selection import (
    DIVISION_NEAR_LIMIT,
    ChosenTransformer,
    LoadingJob,
    Reason,
    Rejected,
    RunCurrent,
    TransformerUnit,
    held_a,
)
from service.studies.transformer_loading.study import (
    DIVISION_IMPOSSIBLE,
    NO_TRANSFORMER_PASSES,
    OF_ITS_DEVICES,
    CircuitAssignment,
    LoadingAnswer,
    PrimaryResult,
)
from service.translate.job import described_job, judged_conditions, length_unit
from service.translate.naming import PlaceNames
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import (
    METHODS,
    amps,
    circuit_states,
    corner_row,
    load_margin,
    solution,
    subject_row,
    supply_state,
    volt_amperes,
    volts,
    watts,
)
from service.translate.supply import circuits_of
from service.translate.wiring import amount
from service.wire.conditions import Conditions
from service.wire.optional import given
from service.wire.stock import StockTransformer
from service.wire.summary import LoadSummary
from service.wire.supply import Transformer
from service.wire.wiring import TotalsWiring


def job_of(request: TransformerLoadingRequest) -> LoadingJob:
    """What a request asks."""
    stock = () if isinstance(request.stock, UnsetType) else tuple(request.stock)
    return LoadingJob(
        job=described_job(request, usual=True),
        spare_ratio=_ratio(request.spare_percent),
        maximum_ratio=_ratio(request.maximum_loading_percent),
        stock=tuple(_unit(item, f"/stock/{index}") for index, item in enumerate(stock)),
        currency=given(request.currency),
        accepted=frozenset(() if isinstance(request.accept, UnsetType) else request.accept),
    )


def _ratio(percent: float | UnsetType) -> float | None:
    return None if isinstance(percent, UnsetType) else percent / 100.0


def _unit(item: StockTransformer, pointer: str) -> TransformerUnit:
    return TransformerUnit(
        subject=JobPart(pointer, item.id),
        name=given(item.name),
        rating_va=amount(item.rating),
        taps_v=tuple(amount(tap) for tap in item.taps),
        regulation_ratio=_ratio(item.regulation_percent),
        circuits=circuits_of(item.circuits, pointer),
        minimum_load_w=None if item.minimum_load is UNSET else amount(item.minimum_load),
        price=None if item.price is UNSET else Decimal(item.price),
    )


def reply_of(
    request: TransformerLoadingRequest, answer: LoadingAnswer, sha256: str
) -> TransformerLoadingReply:
    """The reply to a request.

    Parameters
    ----------
    request : TransformerLoadingRequest
    answer : LoadingAnswer
        What the study found.
    sha256 : str
        Of the request as it came.
    """
    naming = PlaceNames(answer.layout, length_unit(request))
    is_recommended = answer.selection is not None and answer.selection.recommended is not None
    box = "the recommended transformer" if is_recommended else "the best on offer"
    found = [
        *(_with_place(each, naming) for each in answer.findings),
        *(_behind(each, naming, box) for each in answer.behind_offered),
    ]
    # Its own sentence says more.
    told = [each for each in found if each.kind is not NO_TRANSFORMER_PASSES]
    findings = finding_rows(found, naming)
    ending = closing(answer.assumptions, answer.sources, sha256=sha256, caller_id=request.id)
    judged = _judged(request, as_stated=answer.as_stated)
    connected = _connected(answer.connected, answer.least_rating_va)
    accepted = frozenset(() if isinstance(request.accept, UnsetType) else request.accept)
    asked = Asked(
        _stated_va(request),
        stock=not isinstance(request.stock, UnsetType),
        most_ratio=_ratio(request.maximum_loading_percent) or 1.0,
    )
    pair = JudgedPair(
        _judgement(answer.stated, accepted, answer.shortage), _judgement(answer.offered, accepted)
    )
    choice = choice_rows(answer, pair.offered, naming, request.currency)
    stated = UNSET if isinstance(request.wiring, TotalsWiring) else pair.stated
    if isinstance(answer.loaded, Margin):
        margin, collapsed = load_margin(answer.loaded), summary_row(FAILS, told, naming)
        collapsed = replace(collapsed, findings=grouped(found, naming))
        return TransformerCollapsed(
            _with_both(collapsed, answer, pair, choice, asked),
            connected,
            choice.rejected,
            findings,
            margin,
            stated=stated,
            recommended=choice.recommended,
            nearest=choice.nearest,
            division=choice.division,
            judged_conditions=judged,
            **ending,
        )
    worst = answer.loaded.worst
    shown = Shown(None, worst.supply, answer.loaded.circuits, most_ratio=asked.most_ratio)
    verdict = verdict_of(found, accepted)
    solved = replace(summary_row(verdict, told, naming, shown), findings=grouped(found, naming))
    return TransformerLoaded(
        _with_both(solved, answer, pair, choice, asked),
        connected,
        terminal_row(worst),
        circuit_states(answer.loaded.circuits),
        choice.rejected,
        findings,
        solution(worst.state.proof),
        stated=stated,
        primary=_primary(answer.loaded.primary),
        recommended=choice.recommended,
        nearest=choice.nearest,
        division=choice.division,
        placement=_placement(answer.placements, naming),
        judged_conditions=judged,
        **ending,
    )


class JudgedPair(NamedTuple):
    """The stated supply and the transformer that is recommended, or else nearest, judged alike."""

    stated: StatedSupply
    offered: StatedSupply


def _judgement(
    found: tuple[FindingFacts, ...], accepted: frozenset[str], shortage: Reason | None = None
) -> StatedSupply:
    """The verdict on all that is found with a supply, and the codes that speak against it."""
    broken = [each.code for each in gravest_first(unaccepted(found, accepted))]
    short = [] if shortage is None else [shortage.kind.code]
    return StatedSupply(verdict_of(found, accepted), list(dict.fromkeys([*broken, *short])))


def _behind(found: FindingFacts, naming: PlaceNames, box: str) -> FindingFacts:
    """A finding behind the transformer on offer, which says so: the stated supply does not show it."""
    where = f"{naming.subject(found.subject)}, behind {box},"
    return found._replace(parameters=(("where", where), *found.parameters))


def _with_place(found: FindingFacts, naming: PlaceNames) -> FindingFacts:
    """A finding with its place in words, where that is behind another box or all that a graph joins."""
    box, where = dict(found.parameters).get("box"), ""
    if found.kind in OF_ITS_DEVICES and box is not None:
        where = f"{naming.subject(found.subject)} behind {box}"
    if found.kind is DIVISION_IMPOSSIBLE:
        where = naming.capital(naming.part(found.subject))
    return found._replace(parameters=(("where", where), *found.parameters)) if where else found


class Asked(NamedTuple):
    """Rating of the stated transformer, where it has one [VA], whether the caller sent a stock, and the most.

    `most_ratio`: the share of its rating to which a supply may be loaded. [-]
    """

    stated_va: float | None
    stock: bool
    most_ratio: float


def _with_both(
    summary: LoadSummary, answer: LoadingAnswer, pair: JudgedPair, choice: ChoiceRows, asked: Asked
) -> LoadSummary:
    """The summary, and in a sentence each what is stated and what is recommended or nearest."""
    told, full = [], _full_circuits(answer, pair.stated)
    alone = " in the stated state alone" if answer.as_stated else ""
    if answer.selection is not None and asked.stated_va is not None:
        will_do = _will_do(answer) if not pair.stated.broken else ""
        told.append(
            f"The {asked.stated_va:g} VA that is stated is large enough{alone}; only {full} too full."
            if full
            else _stated_text(summary, pair.stated, asked.stated_va, will_do or choice.short)
        )
    if answer.selection is None and choice.short:
        told.append(f"With the spare it is too small: {choice.short[:1].lower()}{choice.short[1:]}")
    if not isinstance(choice.recommended, UnsetType):
        told += _recommended_text(choice.recommended, pair, choice, asked, alone)
    if not isinstance(choice.nearest, UnsetType):
        called = _called(choice.nearest)
        told += (
            [f"{called}, the best on offer, would leave a circuit too full as well."]
            if full and OF_CIRCUITS.issuperset(pair.offered.broken)
            else [f"None on offer passes{alone}. Nearest: {called}.", choice.telling(summary).leaves]
        )
    return replace(summary, text=" ".join(each for each in [summary.text, *told] if each))


OF_CIRCUITS: Final = frozenset({CIRCUIT_OVER_CURRENT.code, CIRCUIT_NEAR_LIMIT.code, DIVISION_NEAR_LIMIT.code})
"""What is found of full circuits, whatever the rating."""


def _full_circuits(answer: LoadingAnswer, stated: StatedSupply) -> str:
    """The circuits of the stated supply that are too full, where nothing else speaks against it."""
    if isinstance(answer.loaded, Margin) or not OF_CIRCUITS.issuperset(stated.broken):
        return ""
    names = dict.fromkeys(
        str(dict(each.parameters)["name"]) for each in answer.stated if each.code in stated.broken
    )
    if not names:
        return ""
    return f"{circuits_named(list(names))} {'is' if len(names) == 1 else 'are'}"


def _called(offered: OfferedTransformer) -> str:
    """A transformer by its rating and, where it has them, its name and price."""
    name, price = given(offered.name) or given(offered.id), given(offered.price)
    told = [] if name is None else [f'"{name}"']
    currency = given(offered.currency)
    told += [] if price is None else [f"price {price}" if currency is None else f"{price} {currency}"]
    return f"{offered.rating.value:g} VA" + (f" ({', '.join(told)})" if told else "")


VERBS: Final = {WITH_WARNINGS: "passes with warnings", FAILS: "does not pass"}


def _will_do(answer: LoadingAnswer) -> str:
    """That nothing speaks against the stated transformer, and over which range."""
    if not answer.as_stated:
        return "will do"
    over_range = "and over the usual range" if answer.stated_holds_range else "but not over the usual range"
    return f"will do in the stated state, {over_range}"


def _stated_text(summary: LoadSummary, judged: StatedSupply, rating_va: float, told: str) -> str:
    """What is to be said of the stated transformer; nothing where the summary says it.

    `told` is that it will do, or a sentence on what its rating lacks.
    """
    called = f"The {rating_va:g} VA that is stated"
    if not judged.broken:
        return f"{called} {told}."
    if told and judged.verdict == PASSES:
        return f"{called}: {told}"
    return "" if judged.verdict == summary.verdict else f"{called} {VERBS[judged.verdict]}."


def _recommended_text(
    taken: RecommendedTransformer, pair: JudgedPair, choice: ChoiceRows, asked: Asked, alone: str
) -> list[str]:
    """What is recommended; where the stated one will do nobody is told to exchange it."""
    rating_va, stated_va = taken.rating.value, asked.stated_va
    called = _called(taken)
    will_do = not pair.stated.broken
    if stated_va is not None and will_do:
        if rating_va > stated_va:
            return [f"Of those on offer: {called}{alone}."]
        return [] if rating_va == stated_va else [f"{rating_va:g} VA would be enough{alone}."]
    same = rating_va == stated_va and not will_do and not asked.stock
    left = [f"Its rating is enough{alone}: {called}." if same else f"Recommended{alone}: {called}."]
    between = [each for each in choice.rejected if (stated_va or 0.0) < each.rating.value < rating_va]
    if between:
        nearest = max(between, key=lambda each: each.rating.value)
        left.append(f"{nearest.rating.value:g} VA: {nearest.reasons[0].message}")
    return left


def _stated_va(request: TransformerLoadingRequest) -> float | None:
    """The rating of the stated supply, where it has one. [VA]"""
    supply = request.supply
    if not isinstance(supply, Transformer) or isinstance(supply.winding, UnsetType):
        return None
    return amount(supply.winding.rating)


def _judged(request: TransformerLoadingRequest, *, as_stated: bool) -> Conditions:
    """What was judged, complete; where nothing holds the usual range, what is recommended was as stated."""
    stated = Conditions() if isinstance(request.conditions, UnsetType) else request.conditions
    judged = replace(stated, range="as-stated") if as_stated else stated
    complete = judged_conditions(judged, request.supply, usual=True)
    return Conditions() if isinstance(complete, UnsetType) else complete


def _connected(load: LoadSum, least_rating_va: float) -> ConnectedLoad:
    return ConnectedLoad(watts(load.real_w), volt_amperes(load.apparent_va), volt_amperes(least_rating_va, 1))


def _placement(
    placements: tuple[CircuitAssignment, ...], naming: PlaceNames
) -> list[RunPlacement] | UnsetType:
    """Which run is on which circuit of the stated supply, where the request left that open."""
    rows = [
        RunPlacement(run.pointer, naming.run(run), circuit, UNSET if run.id is None else run.id)
        for run, circuit in placements
    ]
    return rows or UNSET


def _primary(primary: PrimaryResult | None) -> PrimaryState | UnsetType:
    if primary is None:
        return UNSET
    return PrimaryState(volts(primary.voltage_v), amps(primary.current_a), volt_amperes(primary.apparent_va))


class ChoiceRows(NamedTuple):
    """What is shown of a choice."""

    rejected: list[RejectedTransformer]
    recommended: RecommendedTransformer | UnsetType = UNSET
    nearest: NearestTransformer | UnsetType = UNSET
    division: CircuitDivision | UnsetType = UNSET
    leaves: str = ""
    """What the nearest one does not mend: how much, and the gravest in words."""
    short: str = ""
    """What the rating of the stated one lacks, in words."""
    gravest: tuple[str, str] = ("", "")
    """The code of the gravest that the nearest one does not mend, and what leaves it in few words."""

    def telling(self, summary: LoadSummary) -> ChoiceRows:
        """The same, in few words about what a summary tells already."""
        code, briefly = self.gravest
        told = any(group.code == code and group.message in summary.text for group in summary.findings)
        return self._replace(leaves=briefly) if told else self


def choice_rows(
    answer: LoadingAnswer, judgement: StatedSupply, naming: PlaceNames, currency: str | UnsetType
) -> ChoiceRows:
    """The recommended or nearest transformer, the runs over its circuits, and what each other one lacks."""
    short = "" if answer.shortage is None else _reason(answer.shortage, naming).message
    if answer.selection is None:
        return ChoiceRows([], short=short)
    rejected = [_rejected(each, naming) for each in answer.selection.rejected]
    chosen = answer.selection.offered
    if chosen is None:
        return ChoiceRows(rejected, short=short)
    division = _division(chosen, naming)
    if answer.selection.recommended is not None:
        taken = _offered(RecommendedTransformer, chosen, judgement, currency)
        return ChoiceRows(rejected, recommended=taken, division=division, short=short)
    nearest = _offered(NearestTransformer, chosen, judgement, currency)
    shown = ChoiceRows(rejected, nearest=nearest, division=division, short=short)
    return _with_leaves(shown, [each for each in answer.offered if each.code in judgement.broken], naming)


def _with_leaves(shown: ChoiceRows, against: list[FindingFacts], naming: PlaceNames) -> ChoiceRows:
    """A choice with what the nearest one does not mend, in words; `against` is not empty."""
    groups = grouped([_with_place(each, naming) for each in against], naming)
    gravest = groups[0]
    meaning = next(each.kind.meaning for each in against if each.code == gravest.code)
    numbers = Counter(group.severity for group in groups)
    counted = [_counted(number, severity) for severity, number in numbers.items()]
    count = f"It leaves {listed(counted, 'and')}{', first' if len(groups) > 1 else ''}"
    briefly = f"{count}: {meaning[:1].lower()}{meaning[1:]}"
    return shown._replace(leaves=f"{count}: {gravest.message}", gravest=(gravest.code, briefly))


def _counted(number: int, word: str) -> str:
    return f"one {word}" if number == 1 else f"{number} {word}s"


def terminal_row(loaded: StateLoading) -> TerminalLoading:
    """What one state asks of the supply; what is left of its rating is never shown as more than it is."""
    shown = supply_state(loaded.supply, loaded.usual_ratio)
    factor, rating_va = loaded.power_factor, loaded.rating_va
    spare_va = None if rating_va is None else rating_va - loaded.supply.used_va
    return TerminalLoading(
        corner_row(loaded.corner),
        shown.real_power,
        shown.apparent_power,
        watts(loaded.reading.cable_loss_w),
        watts(loaded.reading.winding_loss_w),
        shown.taps,
        UNSET if factor is None else round(factor, DECIMALS["1"]),
        UNSET if rating_va is None else volt_amperes(rating_va),
        shown.loading_ratio,
        shown.current_ratio,
        shown.loading_ratio_at_usual_power_factor,
        UNSET if spare_va is None else volt_amperes(spare_va, -1),
        UNSET if spare_va is None or not rating_va else rounded(spare_va / rating_va, 5, -1),
    )


Offered = TypeVar("Offered", RecommendedTransformer, NearestTransformer)


def _offered(
    row: type[Offered], chosen: ChosenTransformer, judgement: StatedSupply, currency: str | UnsetType
) -> Offered:
    """A transformer on offer; of lamps that nobody stated there is no verdict."""
    unit, unknown = chosen.unit, chosen.worst.state.job.layout_unknown
    return row(
        volt_amperes(unit.rating_va),
        terminal_row(chosen.worst),
        unit.subject.pointer or UNSET,
        unit.subject.id or UNSET,
        unit.name or UNSET,
        UNSET if unit.price is None else format(unit.price, "f"),
        UNSET if unit.price is None else currency,
        UNSET if unknown else judgement.verdict,
        UNSET if unknown else judgement.broken,
    )


def _rejected(rejected: Rejected, naming: PlaceNames) -> RejectedTransformer:
    unit = rejected.unit
    return RejectedTransformer(
        volt_amperes(unit.rating_va),
        [_reason(reason, naming) for reason in rejected.reasons],
        unit.subject.pointer or UNSET,
        unit.subject.id or UNSET,
        unit.name or UNSET,
    )


def _reason(reason: Reason, naming: PlaceNames) -> RejectionReason:
    measured, limit, subject = reason.measured, reason.limit, reason.subject
    words = compared_texts(measured, limit, naming)
    where = "" if subject is None else naming.subject(subject)
    if reason.kind is RUN_OVER_CIRCUIT and subject is not None:
        where = naming.capital(naming.part(subject))
    told = "" if reason.finding is None else message_of(reason.finding, naming)
    return RejectionReason(
        reason.kind.code,
        reason.kind.message.format(where=where, told=told, **words),
        UNSET if measured is None else shown_amount(measured, naming),
        UNSET if limit is None else shown_amount(limit, naming),
        UNSET if subject is None else subject_row(subject),
    )


def _division(chosen: ChosenTransformer, naming: PlaceNames) -> CircuitDivision:
    """Each circuit with its runs; the share of the fullest decides whether the 80 % are kept.

    Of a circuit whose device is not known neither can be told.
    """
    division, limits_a = chosen.division, chosen.unit.limits_a()
    held = held_a(chosen.runs, division, len(limits_a))
    rows = [
        DividedCircuit(
            name,
            amps(current_a),
            [
                _divided_run(run, naming)
                for run, where in zip(chosen.runs, division.circuit_of, strict=True)
                if where == circuit
            ],
            UNSET if limit_a is None else amps(limit_a),
            UNSET if limit_a is None else round(current_a / limit_a, 5),
        )
        for circuit, (name, limit_a, current_a) in enumerate(
            zip(chosen.unit.circuit_names(), limits_a, held, strict=True)
        )
    ]
    fullest = chosen.fullest
    over = fullest is not None and near_circuit_limit(fullest.current_a, fullest.limit_a)
    unknown = any(limits_a[circuit] is None for circuit in division.circuit_of)
    return CircuitDivision(
        rows,
        METHODS[division.exact],
        UNSET if fullest is None else rounded(fullest.ratio, 5, int(over)),
        UNSET if unknown and not over else not over,
    )


def _divided_run(run: RunCurrent, naming: PlaceNames) -> DividedRun:
    subject = run.subject
    return DividedRun(
        subject.pointer,
        naming.run(subject),
        amps(run.current_a),
        UNSET if subject.id is None else subject.id,
    )
