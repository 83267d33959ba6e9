"""The cheapest cables, and the lowest taps, that keep every limit; or what each breaks and what helps.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from decimal import Decimal
from math import inf
from typing import NamedTuple

from service.circuit.estimate import (
    Estimate,
    corner_work,
    drop_work,
    estimate_of,
    refuse_over_limit,
    size_of,
)
from service.circuit.job import Job
from service.circuit.layout import LaidSpan
from service.circuit.work import (
    MAXIMUM_WORK,
    Budget,
    WorkOverLimitError,
    work_of,
    work_of_judging,
)
from service.findings.finding import FindingFacts
from service.findings.violation import as_violations
from service.studies.gauge_recommendation.assessment import Assessment, Assessor, Choice, Slot, slots_of
from service.studies.gauge_recommendation.buying import Buyer, Purchase, TooLong, first_cut_work
from service.studies.gauge_recommendation.candidates import Candidate
from service.studies.gauge_recommendation.remedies import Remedies, Remedy
from service.studies.gauge_recommendation.search import Found, Pricing, cheapest


def gauge_recommendation_work(question: GaugeJob) -> Estimate:
    """Of a choice: one choice in every state, then the job with it; the search may stop anywhere.

    Where the range is not the caller's own the stated state alone may be searched as well.
    """
    job = question.job
    size = size_of(job)
    one = corner_work(job, size) + work_of(size.effort) + work_of_judging(size.points)
    first = one + drop_work(job, size) + first_cut_work(job, question.candidates, size.points)
    searches = 2 if job.usual_range else 1
    most = searches * MAXIMUM_WORK * size.effort // size.points
    return estimate_of(first, most, turned=size.turned)


KEPT_FOR_REMEDIES = 4_000
"""Work that the search leaves over, so that something can be tried where no choice passes.

Where one does, the cut list of what is bought may take it.
"""


KEPT_FOR_TAPS = 4_000
"""Work that a search leaves over where the taps are open, so that those of what it found can be lowered."""


class GaugeJob(NamedTuple):
    """Which cables are open, what may fill them, how far each is chosen for itself, which taps are open.

    `joints`: whether a piece of cable may be joined from several spools. `accepted` are codes of warnings
    with which a choice passes all the same.
    """

    job: Job
    open_cables: frozenset[str] | None
    candidates: tuple[Candidate, ...]
    scope: str
    offered_taps_v: tuple[float, ...]
    joints: bool = False
    accepted: frozenset[str] = frozenset()


class Compared(NamedTuple):
    """One candidate in every open place; no price where none is known. [currency]

    `too_long` is a piece that its spools cannot hold, which stands among the breaches as well. There is no
    assessment where the work that one request may ask for ended before it.
    """

    candidate: Candidate
    assessment: Assessment | None
    price: Decimal | None
    too_long: TooLong | None = None


class Recommendation(NamedTuple):
    """The answer; `found` is None where no choice passes, and then the remedies say what would help.

    `taps_moved`: some feeder was given another tap than it has in the request. `beyond_choice` rules every
    choice out.
    """

    found: Found | None
    slots: tuple[Slot, ...]
    spans: list[LaidSpan]
    compared: list[Compared]
    purchase: list[Purchase]
    objective: str
    remedies: list[Remedy]
    open_cables: frozenset[str]
    taps_moved: bool = False
    beyond_choice: tuple[FindingFacts, ...] = ()


Judge = Callable[[Recommendation, Found], list[FindingFacts]]
"""What a voltage drop shows of a choice that is found, and what of that rules it out."""


def gauge_recommendation(question: GaugeJob, judge: Judge | None = None) -> Recommendation:
    """Recommend cables.

    Parameters
    ----------
    question : GaugeJob
    judge : callable, optional
        The last word on what is to be recommended; where it says no the search goes on.

    Raises
    ------
    JobTooLargeError, WiringContradictoryError
        The job cannot be laid.
    WorkOverLimitError
        Not even one choice could be found within the work that one request may ask for.
    """
    refuse_over_limit(gauge_recommendation_work(question))
    kept = KEPT_FOR_TAPS if question.offered_taps_v else 0
    budget = Budget(MAXIMUM_WORK - KEPT_FOR_REMEDIES - kept)
    assessor = Assessor(question.job, question.candidates, budget, question.offered_taps_v, question.accepted)
    spans = assessor.layout_spans
    laid_at = frozenset(span.cable_at for span in spans if span.cable_at)
    open_cables = laid_at if question.open_cables is None else question.open_cables & laid_at
    assessor.slots = slots_of(spans, open_cables, question.scope)
    priced = all(candidate.priced for candidate in question.candidates)
    buyer = Buyer(assessor, joints=question.joints)
    pricing = _by_price(assessor, buyer) if priced else _by_metal(assessor, buyer)
    answer = Recommendation(
        found=None,
        slots=assessor.slots,
        spans=spans,
        compared=[Compared(candidate, None, None) for candidate in question.candidates],
        purchase=[],
        objective="least-price" if priced else "least-metal",
        remedies=[],
        open_cables=open_cables,
        beyond_choice=tuple(assessor.beyond_choice()),
    )
    found = None if answer.beyond_choice else _judged_cheapest(question, assessor, pricing, answer, judge)
    answer = answer._replace(compared=_compare(assessor, buyer, priced=priced))
    if found is None:
        return answer._replace(remedies=_remedies(question, open_cables, assessor, buyer))
    cutting = first_cut_work(question.job, question.candidates, size_of(question.job).points)
    purchase = buyer.settled(found.choice, Budget(assessor.budget.left + KEPT_FOR_REMEDIES + cutting))
    return answer._replace(found=found, purchase=purchase, taps_moved=_taps_moved(question.job, found))


def _judged_cheapest(
    question: GaugeJob, assessor: Assessor, pricing: Pricing, answer: Recommendation, judge: Judge | None
) -> Found | None:
    """The cheapest choice with which the voltage drop of the filled wiring is content as well."""
    while (found := cheapest(assessor, pricing)) is not None:
        if question.offered_taps_v:
            assessor.budget = Budget(assessor.budget.left + KEPT_FOR_TAPS)
        found = _on_lowest_taps(assessor, found)
        moved = answer._replace(found=found, taps_moved=_taps_moved(question.job, found))
        ruled_out = [] if judge is None else judge(moved, found)
        if not ruled_out:
            break
        assessor.rule_out(found.choice, tuple(as_violations(ruled_out)))
    return found


def _taps_moved(job: Job, found: Found) -> bool:
    rated_v = job.supply.rated_v
    had_v = tuple(rated_v if feeder.tap_v is None else feeder.tap_v for feeder in job.feeders())
    return found.assessment.taps_v not in {(), had_v}


def _on_lowest_taps(assessor: Assessor, found: Found) -> Found:
    """The same choice on taps of which none can be lowered, as far as there is work left to find them."""
    with suppress(WorkOverLimitError):
        return found._replace(assessment=assessor.settled(found.choice))
    return found


def _remedies(
    question: GaugeJob, open_cables: frozenset[str], assessor: Assessor, buyer: Buyer
) -> list[Remedy]:
    """What would help, tried with the cable of the stock that has the least resistance and may be chosen.

    Where that cable keeps every other limit and its spools are too short for it, only that is to be helped.
    """
    resistances = [assessor.resistances_of(index) for index in range(len(assessor.candidates))]
    ruled_out = [bool(candidate.ruled_out()) for candidate in assessor.candidates]
    thickest = min(range(len(resistances)), key=lambda index: (ruled_out[index], resistances[index]))
    budget = Budget(assessor.budget.left + KEPT_FOR_REMEDIES)
    candidate = assessor.candidates[thickest]
    remedies = Remedies(
        question.job, open_cables, candidate, question.offered_taps_v, budget, accepted=question.accepted
    )
    too_long = buyer.too_long((thickest,) * len(assessor.slots))
    helped = [] if too_long is None else remedies.for_spools(too_long.piece.subject)
    return helped if any(remedy.assessment.passes for remedy in helped) else [*helped, *remedies.solved()]


def _by_price(assessor: Assessor, buyer: Buyer) -> Pricing:
    """Price of whole choices, spools included, and the least that one candidate can add. [currency]"""
    rates = [float(candidate.least_price_per_m()) for candidate in assessor.candidates]

    def exact(choice: Choice) -> float:
        price = buyer.price(choice)
        return inf if price is None else float(price)

    def least(slot: int, index: int) -> float:
        if assessor.is_too_thin(slot, index) or not buyer.can_hold(slot, index):
            return inf
        return rates[index] * assessor.slots[slot].length_m

    return Pricing(exact, least, buyer.can_begin, lambda: buyer.proven)


def _by_metal(assessor: Assessor, buyer: Buyer) -> Pricing:
    """Volume of metal, where not every candidate has a price. [mm² m]"""
    sections = [candidate.metal_mm2() for candidate in assessor.candidates]

    def metal(slot: int, index: int) -> float:
        return sections[index] * assessor.slots[slot].length_m

    def least(slot: int, index: int) -> float:
        if assessor.is_too_thin(slot, index) or not buyer.can_hold(slot, index):
            return inf
        return metal(slot, index)

    def exact(choice: Choice) -> float:
        if buyer.too_long(choice) is not None:
            return inf
        return sum(metal(slot, index) for slot, index in enumerate(choice))

    return Pricing(exact, least, buyer.can_begin, lambda: True)


def _compare(assessor: Assessor, buyer: Buyer, *, priced: bool) -> list[Compared]:
    """Each candidate in every open place at once; a piece that its spools cannot hold is one more breach."""
    rows = []
    for index, candidate in enumerate(assessor.candidates):
        choice = (index,) * len(assessor.slots)
        price = assessment = None
        too_long = buyer.too_long(choice)
        with suppress(WorkOverLimitError):
            assessment = assessor.compared(choice)
        if assessment is not None and too_long is not None:
            assessment = assessment._replace(breaches=(*assessment.breaches, too_long.violation()))
        if priced:
            with suppress(WorkOverLimitError):
                price = buyer.price(choice)
        rows.append(Compared(candidate, assessment, price, too_long))
    return rows
