"""Which cable: the cheapest that keeps every limit, or why none does and what would."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from service.studies.assessment import Assessor, slots_of
from service.studies.remedies import Remedies
from service.studies.search import Pricing, cheapest
from service.studies.work import Budget, WorkOverLimitError

if TYPE_CHECKING:
    from service.studies.assessment import Assessment, Choice, Slot
    from service.studies.candidates import Candidate
    from service.studies.job import Job
    from service.studies.layout import LaidSpan
    from service.studies.remedies import Remedy
    from service.studies.search import Found

MOST_SLOTS = 100
"""More places to choose for one by one than this would never end within the budget."""


class Question(NamedTuple):
    """Which cables are open, what may fill them, how far each is chosen for itself, which taps are open."""

    job: Job
    open_cables: frozenset[str] | None
    candidates: tuple[Candidate, ...]
    scope: str
    offered_taps_v: tuple[float, ...]


class Compared(NamedTuple):
    """One candidate in every open place; no price where none is known. [currency]"""

    candidate: Candidate
    assessment: Assessment
    price: Decimal | None


class PurchaseLine(NamedTuple):
    """What to buy of one candidate: length [m], spools of each length offered, and price. [currency]"""

    candidate: Candidate
    length_m: float
    spool_counts: tuple[int, ...]
    price: Decimal | None


class Recommendation(NamedTuple):
    """The answer; `found` is None where no choice passes, and then the remedies say what would help."""

    found: Found | None
    slots: tuple[Slot, ...]
    spans: list[LaidSpan]
    compared: list[Compared]
    purchase: list[PurchaseLine]
    objective: str
    remedies: list[Remedy]
    open_cables: frozenset[str]


def gauge_recommendation(question: Question) -> Recommendation:
    """Recommend cables.

    Raises
    ------
    JobTooLargeError, WiringContradictoryError
        The job cannot be laid.
    WorkOverLimitError
        Not even one choice could be found within the work that one request may ask for.
    """
    budget = Budget()
    assessor = Assessor(question.job, question.candidates, budget, question.offered_taps_v)
    spans = assessor.layout_spans
    laid_at = frozenset(span.cable_at for span in spans if span.cable_at)
    open_cables = laid_at if question.open_cables is None else question.open_cables & laid_at
    assessor.slots = slots_of(spans, open_cables, question.scope)
    if len(assessor.slots) > MOST_SLOTS:
        raise WorkOverLimitError(len(assessor.slots) * len(question.candidates) * len(spans))
    priced = all(candidate.priced for candidate in question.candidates)
    pricing = _by_price(assessor) if priced else _by_metal(assessor)
    found = cheapest(assessor, pricing)
    compared = _compare(assessor, priced=priced)
    return Recommendation(
        found=found,
        slots=assessor.slots,
        spans=spans,
        compared=compared,
        purchase=[] if found is None else _purchase(assessor, found.choice),
        objective="least-price" if priced else "least-metal",
        remedies=[] if found is not None else _remedies(question.job, assessor),
        open_cables=open_cables,
    )


def _remedies(job: Job, assessor: Assessor) -> list[Remedy]:
    """What would help, tried with the cable of the stock that has the least resistance."""
    resistance = [assessor.resistance_of(index) for index in range(len(assessor.candidates))]
    thickest = assessor.candidates[resistance.index(min(resistance))]
    return Remedies(job, thickest, Budget()).solved()


def _lengths(assessor: Assessor, choice: Choice) -> dict[int, float]:
    """Length of each candidate that a choice needs. [m], by its index"""
    lengths: dict[int, float] = {}
    for slot, index in zip(assessor.slots, choice, strict=True):
        lengths[index] = lengths.get(index, 0.0) + slot.length_m
    return lengths


def _by_price(assessor: Assessor) -> Pricing:
    """Price of whole choices, spools included, and the least that one candidate can add. [currency]"""
    rates = [float(candidate.least_price_per_m()) for candidate in assessor.candidates]

    def exact(choice: Choice) -> float:
        lengths = _lengths(assessor, choice)
        return float(sum(assessor.candidates[index].price(length_m) for index, length_m in lengths.items()))

    return Pricing(exact, lambda slot, index: rates[index] * assessor.slots[slot].length_m)


def _by_metal(assessor: Assessor) -> Pricing:
    """Volume of metal, where not every candidate has a price. [mm² m]"""
    sections = [candidate.metal_mm2() for candidate in assessor.candidates]

    def least(slot: int, index: int) -> float:
        return sections[index] * assessor.slots[slot].length_m

    return Pricing(lambda choice: sum(least(slot, index) for slot, index in enumerate(choice)), least)


def _compare(assessor: Assessor, *, priced: bool) -> list[Compared]:
    """Each candidate in every open place at once."""
    rows = []
    for index, candidate in enumerate(assessor.candidates):
        choice = (index,) * len(assessor.slots)
        length_m = sum(slot.length_m for slot in assessor.slots)
        price = candidate.price(length_m) if priced else None
        rows.append(Compared(candidate, assessor.remembered(choice), price))
    return rows


def _purchase(assessor: Assessor, choice: Choice) -> list[PurchaseLine]:
    """What to buy for a choice, in the order of the stock."""
    lines = []
    for index, length_m in sorted(_lengths(assessor, choice).items()):
        candidate = assessor.candidates[index]
        order = candidate.order(length_m)
        counts = () if order is None else order.counts
        price = candidate.price(length_m) if candidate.priced else None
        lines.append(PurchaseLine(candidate, length_m, counts, price))
    return lines
