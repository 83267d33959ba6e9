"""Gauge recommendation: the answer into a reply."""

from __future__ import annotations

from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service import tables
from service.messages import gauge_recommendation as wire
from service.messages.shown import ShownLength
from service.studies.version import CALCULATION_VERSION
from service.translate.catalogue import REMEDIES
from service.translate.choices import cable_name, chosen_rows, chosen_taps, outcome_row
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
    from service.studies.assessment import Assessment
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
    unproven, priced = not found.exact, recommendation.objective == "least-price"
    prices = [line.price for line in recommendation.purchase if line.price is not None]
    complete = bool(prices) and len(prices) == len(recommendation.purchase)
    return wire.Recommended(
        objective=recommendation.objective,
        method=METHODS[found.exact],
        outcome=outcome_row(found.assessment, naming),
        chosen=chosen_rows(recommendation, found, naming),
        wiring=wiring,
        compared=_compared_rows(recommendation, naming),
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
        # Of the rounded lines, so that whoever adds them up finds the same; a part of the lines is no total.
        total=str(sum(map(in_cents, prices), start=Decimal(0))) if complete else UNSET,
        least_possible_total=money(Decimal(repr(found.bound)), ROUND_FLOOR) if unproven and priced else UNSET,
        least_possible_metal=UNSET
        if priced or not unproven
        else wire.ShownMetal(float(f"{found.bound:.6g}"), "mm2.m"),
        currency=request.currency,
    )


def none_passes_reply(
    request: Asked, question: Question, recommendation: Recommendation, solved: Answer, sha256: str
) -> wire.NonePasses:
    """The reply where none does; `solved` is the job as it stood in the request."""
    naming = Naming(solved.layout, length_unit(request))
    return wire.NonePasses(
        objective=recommendation.objective,
        compared=_compared_rows(recommendation, naming),
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


def money(amount: Decimal, rounding: str = ROUND_HALF_EVEN) -> str:
    """An amount in cents, as decimal text."""
    return str(in_cents(amount, rounding))


def in_cents(amount: Decimal, rounding: str = ROUND_HALF_EVEN) -> Decimal:
    """An amount rounded to cents."""
    return amount.quantize(CENT, rounding)


def _own_assumptions(question: Question, recommendation: Recommendation) -> list[str]:
    held = {
        "stated-state-only": question.job.corners is None,
        "cable-price-missing": recommendation.objective == "least-metal"
        and any(candidate.priced for candidate in question.candidates),
    }
    return [code for code, holds in held.items() if holds]


def _compared_rows(recommendation: Recommendation, naming: Naming) -> list[wire.ComparedCable]:
    """The candidates that there was work left to assess."""
    return [
        _compared(row, row.assessment, naming)
        for row in recommendation.compared
        if row.assessment is not None
    ]


def _compared(row: Compared, assessment: Assessment, naming: Naming) -> wire.ComparedCable:
    candidate = row.candidate
    return wire.ComparedCable(
        conductor=cable_name(candidate),
        outcome=outcome_row(assessment, naming),
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
        conductor=cable_name(line.candidate),
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


def _stock_id(candidate: Candidate) -> str | UnsetType:
    return UNSET if candidate.subject.id is None else candidate.subject.id


def _length(length_m: float, naming: Naming) -> ShownLength:
    return ShownLength(naming.length(length_m), naming.length_unit)  # type: ignore[arg-type]
