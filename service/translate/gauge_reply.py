"""Gauge recommendation: the answer into a reply."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service import tables
from service.messages import gauge_recommendation as wire
from service.messages.shown import ShownLength
from service.studies.version import CALCULATION_VERSION
from service.translate.catalogue import REMEDIES
from service.translate.choices import chosen_rows, chosen_taps, outcome_row
from service.translate.finding import (
    CAUTION_ROWS,
    assumption_rows,
    finding_row,
    source_rows,
    subject_row,
)
from service.translate.job import length_unit
from service.translate.naming import Naming

if TYPE_CHECKING:
    from service.messages.wiring import Wiring
    from service.studies.candidates import Candidate
    from service.studies.gauge_recommendation import Compared, PurchaseLine, Question, Recommendation
    from service.studies.outcome import Answer
    from service.studies.remedies import Remedy
    from service.studies.search import Found

Asked = wire.GaugeRecommendationRequest

CENT = Decimal("0.01")

METHODS = {True: "exact", False: "best-found"}


def recommended_reply(  # noqa: PLR0913  everything that is known, one caller
    request: Asked,
    question: Question,
    recommendation: Recommendation,
    found: Found,
    *,
    wiring: Wiring,
    solved: Answer,
    sha256: str,
) -> wire.Recommended:
    """The reply where a choice passes; `solved` is the job with the chosen wiring."""
    naming = Naming(solved.layout, length_unit(request))
    prices = [line.price for line in recommendation.purchase if line.price is not None]
    return wire.Recommended(
        objective=recommendation.objective,
        method=METHODS[found.exact],
        outcome=outcome_row(found.assessment, naming),
        chosen=chosen_rows(recommendation, found, naming),
        wiring=wiring,
        compared=[_compared(row, naming) for row in recommendation.compared],
        purchase=[_purchase(line, naming) for line in recommendation.purchase],
        findings=[finding_row(finding, naming) for finding in solved.findings],
        assumptions=assumption_rows([*solved.assumptions, *_own_assumptions(question, recommendation)]),
        sources=source_rows(solved.sources),
        cautions=CAUTION_ROWS,
        calculation_version=CALCULATION_VERSION,
        tables_version=tables.TABLES_VERSION,
        request_sha256=sha256,
        id=request.id,
        taps=chosen_taps(question.job.feeders(), found),
        total=money(sum(prices, start=Decimal(0))) if prices else UNSET,
        bound=UNSET if found.exact else float(f"{found.bound:.6g}"),
        currency=request.currency,
    )


def none_passes_reply(
    request: Asked, question: Question, recommendation: Recommendation, solved: Answer, sha256: str
) -> wire.NonePasses:
    """The reply where none does; `solved` is the job as it stood in the request."""
    naming = Naming(solved.layout, length_unit(request))
    return wire.NonePasses(
        objective=recommendation.objective,
        compared=[_compared(row, naming) for row in recommendation.compared],
        remedies=[_remedy(remedy, naming) for remedy in recommendation.remedies],
        assumptions=assumption_rows([*solved.assumptions, *_own_assumptions(question, recommendation)]),
        sources=source_rows(solved.sources),
        cautions=CAUTION_ROWS,
        calculation_version=CALCULATION_VERSION,
        tables_version=tables.TABLES_VERSION,
        request_sha256=sha256,
        id=request.id,
        currency=request.currency,
    )


def money(amount: Decimal) -> str:
    """An amount in cents, as decimal text."""
    return str(amount.quantize(CENT, ROUND_HALF_EVEN))


def _own_assumptions(question: Question, recommendation: Recommendation) -> list[str]:
    held = {
        "stated-state-only": question.job.corners is None,
        "cable-price-missing": recommendation.objective == "least-metal"
        and any(candidate.priced for candidate in question.candidates),
    }
    return [code for code, holds in held.items() if holds]


def _compared(row: Compared, naming: Naming) -> wire.ComparedCable:
    candidate = row.candidate
    return wire.ComparedCable(
        conductor=_name(candidate),
        outcome=outcome_row(row.assessment, naming),
        stock_id=_stock_id(candidate),
        price=UNSET if row.price is None else money(row.price),
    )


def _purchase(line: PurchaseLine, naming: Naming) -> wire.PurchaseLine:
    spools = [
        wire.SpoolCount(_length(spool.length_m, naming), count)
        for spool, count in zip(line.candidate.spools, line.spool_counts, strict=False)
        if count
    ]
    return wire.PurchaseLine(
        conductor=_name(line.candidate),
        quantity=_length(line.length_m, naming),
        stock_id=_stock_id(line.candidate),
        spools=spools if line.spool_counts else UNSET,
        line_total=UNSET if line.price is None else money(line.price),
    )


def _remedy(remedy: Remedy, naming: Naming) -> wire.RemedyRow:
    where = naming.subject(remedy.subject)
    return wire.RemedyRow(
        code=remedy.code,
        message=REMEDIES[remedy.code].format(where=where, parameter=remedy.parameter),
        outcome=outcome_row(remedy.assessment, naming),
        subject=subject_row(remedy.subject),
        parameter=remedy.parameter or UNSET,
    )


def _name(candidate: Candidate) -> str:
    material = candidate.conductor.material or "copper"
    return candidate.conductor.name if material == "copper" else f"{candidate.conductor.name} {material}"


def _stock_id(candidate: Candidate) -> str | UnsetType:
    return UNSET if candidate.subject.id is None else candidate.subject.id


def _length(length_m: float, naming: Naming) -> ShownLength:
    return ShownLength(naming.length(length_m), naming.length_unit)  # type: ignore[arg-type]
