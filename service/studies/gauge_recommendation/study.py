"""The cheapest cables, and the lowest taps, that keep every limit; or what each breaks and what helps.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from decimal import Decimal
from math import inf
from typing import NamedTuple

from service.circuit.cables import resolve_cable
from service.circuit.estimate import (
    Estimate,
    corner_work,
    drop_work,
    estimate_of,
    refuse_over_limit,
    size_of,
)
from service.circuit.job import CableSpec, Job
from service.circuit.layout import LaidSpan
from service.circuit.work import (
    Budget,
    WorkOverLimitError,
    held_back,
    work_of,
    work_of_judging,
)
from service.findings.finding import HIGH_VOLTAGE, LOW_VOLTAGE, FindingFacts
from service.findings.violation import Violation, as_violations
from service.studies.gauge_recommendation.assessment import Assessment, Assessor, Choice, Slot, Taps, slots_of
from service.studies.gauge_recommendation.buying import Buyer, Purchase, TooLong, first_cut_work
from service.studies.gauge_recommendation.candidates import Candidate
from service.studies.gauge_recommendation.search import ChoiceSearch, Found, Pricing


def gauge_recommendation_work(gauge_job: GaugeJob) -> Estimate:
    """Of a choice: one choice in every state, then the job with it; the search may stop anywhere.

    A search that found something may go on as long again; else the stated state alone may be searched.
    """
    job = gauge_job.job
    size = size_of(job)
    one = corner_work(job, size) + work_of(size.effort) + work_of_judging(size.points)
    first = one + drop_work(job, size) + first_cut_work(job, gauge_job.candidates, size.points)
    taps = KEPT_FOR_TAPS if gauge_job.offered_taps_v else 0
    most = 2 * (WORK_OF_A_SEARCH + taps) + KEPT_FOR_COMPARING + KEPT_FOR_REMEDIES
    most = most * size.effort // size.points
    return estimate_of(first, most, turned=size.turned)


WORK_OF_A_SEARCH = 30_000
"""Work of one search for the cheapest choice; where a range is not held there are two."""


WORK_OF_A_LAST_WORD = 200
"""Work of filling the wiring in for the last word on a choice, beside solving it."""


KEPT_FOR_REMEDIES = 20_000
"""Work to try what would help where no choice passes."""


KEPT_FOR_CUTTING = 4_000
"""Work for the cut list of what is bought, where one passes."""


KEPT_FOR_TAPS = 8_000
"""Work to lower the taps of what is found, where they are open."""


MOST_CHEAPER_TRIED = 4
"""So many cheaper cables are tried at most for the one that fails."""


KEPT_FOR_COMPARING = 8_000
"""Work for what each candidate does in every open place, beside what the search left."""


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

    `too_long` is a piece that its spools cannot hold, which stands among the violations as well. There is no
    assessment where the work that one request may ask for ended before it.
    """

    candidate: Candidate
    assessment: Assessment | None
    price: Decimal | None
    too_long: TooLong | None = None


class NextCheaper(NamedTuple):
    """What the next cheaper cable breaks, in the place where it would save most.

    Parameters
    ----------
    candidate, instead_of : Candidate
    violations : tuple of Violation
        What is broken with it there and all else as recommended; a piece too long for its spools as well.
    taps_v : frozenset of float
        On which taps it would break least, where they are open. [V]
    cable_at : str or None
        Where it would lie; None: in every open place.
    part : bool
        Whether the same run has other cable as well.
    spans : frozenset of int
        What would be laid with it.
    """

    candidate: Candidate
    instead_of: Candidate
    violations: tuple[Violation, ...]
    taps_v: frozenset[float]
    cable_at: str | None
    part: bool
    spans: frozenset[int]


class Recommendation(NamedTuple):
    """The answer; `found` is None where no choice passes.

    `taps_moved`: some feeder was given another tap than it has in the request. `beyond_choice` rules every
    choice out. `proven` is false where nothing was found before the work ended.
    """

    found: Found | None
    slots: tuple[Slot, ...]
    spans: list[LaidSpan]
    compared: list[Compared]
    purchase: list[Purchase]
    objective: str
    open_cables: frozenset[str]
    taps_moved: bool = False
    beyond_choice: tuple[FindingFacts, ...] = ()
    proven: bool = True
    next_cheaper: NextCheaper | None = None


class LastWord(NamedTuple):
    """What of a voltage drop rules a choice out, and its highest voltage of a lamp in any state. [V]"""

    ruled_out: list[FindingFacts]
    highest_v: float | None


Judge = Callable[[Recommendation, Found], LastWord]
"""What a voltage drop shows of a choice that is found."""


def gauge_recommendation(gauge_job: GaugeJob, judge: Judge | None = None) -> Recommendation:
    """Recommend cables.

    Parameters
    ----------
    gauge_job : GaugeJob
    judge : callable, optional
        The last word on what is to be recommended; where it says no the search goes on.

    Raises
    ------
    JobTooLargeError, WiringContradictoryError
        The job cannot be laid.
    WorkOverLimitError
        One request may not ask for so much.
    """
    search = CableSearch(gauge_job, judge)
    search.run()
    return search.recommendation()


class CableSearch:
    """The search for one answer: what is found, and then the rows of the reply.

    Parameters
    ----------
    gauge_job : GaugeJob
    judge : callable, optional
        The last word on what is to be recommended; where it says no the search goes on.
    work : int
        That the search may spend.
    """

    def __init__(self, gauge_job: GaugeJob, judge: Judge | None = None, work: int = WORK_OF_A_SEARCH) -> None:
        refuse_over_limit(gauge_recommendation_work(gauge_job))
        self._gauge_job, self._judge, self._work = gauge_job, judge, work
        self._judging = (
            0 if judge is None else WORK_OF_A_LAST_WORD + gauge_recommendation_work(gauge_job).first
        )
        budget = Budget(work)
        assessor = self._assessor = Assessor(
            gauge_job.job, gauge_job.candidates, budget, gauge_job.offered_taps_v, gauge_job.accepted
        )
        spans = assessor.layout_spans
        laid_at = frozenset(span.cable_at for span in spans if span.cable_at)
        open_cables = laid_at if gauge_job.open_cables is None else gauge_job.open_cables & laid_at
        assessor.slots = slots_of(spans, open_cables, gauge_job.scope)
        self._search: ChoiceSearch | None = None
        self._kept_for_taps = KEPT_FOR_TAPS if gauge_job.offered_taps_v else 0
        self._priced = all(candidate.priced for candidate in gauge_job.candidates)
        self._buyer = Buyer(assessor, joints=gauge_job.joints)
        self._pricing = (_by_price if self._priced else _by_metal)(assessor, self._buyer)
        self._answer = Recommendation(
            found=None,
            slots=assessor.slots,
            spans=spans,
            compared=[Compared(candidate, None, None) for candidate in gauge_job.candidates],
            purchase=[],
            objective="least-price" if self._priced else "least-metal",
            open_cables=open_cables,
            beyond_choice=tuple(assessor.beyond_choice()),
        )

    def run(self) -> Recommendation:
        """Search, and say what is found; nothing is told beside it so far.

        Where the work ends before anything is found it is not proven that nothing passes.
        """
        if not self._answer.beyond_choice:
            try:
                self._find()
            except WorkOverLimitError:
                self._answer = self._answer._replace(proven=False)
        return self._answer

    def go_on(self) -> None:
        """Look for something cheaper than what was found, with as much work again; nothing is lost by it."""
        if self._answer.found is None or self._answer.found.exact or self._search is None:
            return
        self._assessor.budget = Budget(self._work)
        with suppress(WorkOverLimitError):
            with held_back(self._judging):
                found = self._search.cheaper(self._kept_for_taps)
            if found is not None:
                self._take_if_judged(found)

    def _find(self) -> None:
        """The cheapest choice with which the voltage drop of the filled wiring is content as well."""
        found: Found | None = None
        while found is None or not self._take_if_judged(found):
            self._search = ChoiceSearch(self._assessor, self._pricing)
            with held_back(self._judging):
                found = self._search.cheapest(self._kept_for_taps)
            if found is None:
                break

    def _take_if_judged(self, found: Found) -> bool:
        """Whether the voltage drop of the filled wiring is content with a choice; then that is the answer."""
        answer = self._answer._replace(found=found, taps_moved=_taps_moved(self._gauge_job.job, found))
        if self._judge is not None:
            word = self._judge(answer, found)
            if word.ruled_out:
                self._assessor.rule_out(found.choice, tuple(as_violations(word.ruled_out)))
                return False
            both_v = [each for each in (found.assessment.highest_v, word.highest_v) if each is not None]
            assessment = found.assessment._replace(highest_v=max(both_v, default=None))
            answer = answer._replace(found=found._replace(assessment=assessment))
        self._answer = answer
        return True

    def recommendation(self) -> Recommendation:
        """What was found, with what each candidate does alone and what to buy."""
        assessor, found = self._assessor, self._answer.found
        assessor.budget = Budget(assessor.budget.left + KEPT_FOR_COMPARING)
        compared = _compare(assessor, self._buyer, priced=self._priced)
        self._answer = self._answer._replace(compared=compared)
        if found is None:
            return self._answer
        purchase = self.bought(KEPT_FOR_CUTTING)
        return self._answer._replace(purchase=purchase, next_cheaper=self._next_cheaper(found))

    def _next_cheaper(self, found: Found) -> NextCheaper | None:
        """The next cheaper cable that fails where it would save most, as far as there is work left for it."""
        choice = found.choice
        with suppress(WorkOverLimitError):
            for group, index in self._cheaper_steps(choice)[:MOST_CHEAPER_TRIED]:
                other = tuple(index if slot in group else each for slot, each in enumerate(choice))
                nearest = self._nearest_on_taps(other, group, found.assessment.taps_v)
                if nearest.violations:
                    return self._in_place(choice, group, index, nearest)
        return None

    def _cheaper_steps(self, choice: Choice) -> list[tuple[frozenset[int], int]]:
        """For each cable that was chosen for the next cheaper one, the largest saving first."""
        slots, candidates = self._assessor.slots, self._gauge_job.candidates
        rates = [float(each.least_price_per_m()) if self._priced else each.metal_mm2() for each in candidates]
        groups: dict[tuple[str, int], list[int]] = {}
        for slot, index in enumerate(choice):
            groups.setdefault((self._cable_at(slot), index), []).append(slot)
        steps = []
        for (_, own), group in groups.items():
            cheaper = [
                index
                for index, each in enumerate(candidates)
                if rates[index] < rates[own] and each.conductor != candidates[own].conductor
            ]
            if cheaper:
                index = max(cheaper, key=rates.__getitem__)
                saving = (rates[own] - rates[index]) * sum(slots[slot].length_m for slot in group)
                steps.append((saving, frozenset(group), index))
        steps.sort(key=lambda step: -step[0])
        return [(group, index) for _, group, index in steps]

    def _cable_at(self, slot: int) -> str:
        """Where the first cable of a slot stands in the request."""
        return self._answer.spans[self._assessor.slots[slot].spans[0]].cable_at

    def _nearest_on_taps(self, choice: Choice, group: Iterable[int], taps_v: Taps) -> Assessment:
        """All that a choice breaks; where taps are open on those of the group with which it breaks least."""
        row = self._answer.compared[choice[0]] if len(set(choice)) == 1 else None
        known = None if row is None else row.assessment
        nearest = self._assessor.compared(choice) if known is None else known
        if nearest.violations and taps_v:
            tried = [nearest, *self._assessor.on_each_tap(choice, group, taps_v)]
            nearest = min(tried, key=_shortfall)
        too_long = self._buyer.too_long(choice)
        if too_long is None or too_long.violation() in nearest.violations:
            return nearest
        return nearest._replace(violations=(*nearest.violations, too_long.violation()))

    def _in_place(
        self, choice: Choice, group: frozenset[int], index: int, nearest: Assessment
    ) -> NextCheaper:
        """What is broken, and whether it is so everywhere, for one cable of the request or for part of it."""
        first = min(group)
        alike = {slot for slot in range(len(choice)) if self._cable_at(slot) == self._cable_at(first)}
        candidates, taps_v = self._gauge_job.candidates, nearest.taps_v
        feeders = {feeder for slot in group for feeder in self._assessor.feeders_of(slot)}
        return NextCheaper(
            candidate=candidates[index],
            instead_of=candidates[choice[first]],
            violations=nearest.violations,
            taps_v=frozenset(taps_v[feeder] for feeder in feeders) if taps_v else frozenset(),
            cable_at=None if len(group) == len(choice) else self._cable_at(first),
            part=alike != group,
            spans=frozenset(span for slot in group for span in self._assessor.slots[slot].spans),
        )

    @property
    def recommended(self) -> Recommendation:
        """What is known so far."""
        return self._answer

    @property
    def cost(self) -> float:
        """Of what was found, infinite where nothing was. [currency], or [mm² m] where not all has a price"""
        found = self._answer.found
        return inf if found is None else self._pricing.exact(found.choice)

    @property
    def spent(self) -> int:
        """Work that the search took of its own."""
        return max(self._work - self._assessor.budget.left, 0)

    def bought(self, work: int) -> list[Purchase]:
        """What to buy for what was found; so much more work may go into the cut lists."""
        assert self._answer.found is not None  # noqa: S101  # asked only once something was found
        size = size_of(self._gauge_job.job)
        cutting = first_cut_work(self._gauge_job.job, self._gauge_job.candidates, size.points)
        left = Budget(self._assessor.budget.left + work + cutting)
        return self._buyer.settled(self._answer.found.choice, left)

    def too_long(self) -> TooLong | None:
        """The piece that the spools of the thickest cable cannot hold, if it is that one everywhere."""
        thickest = thickest_of(self._gauge_job)
        return self._buyer.too_long((thickest,) * len(self._assessor.slots))


def _shortfall(found: Assessment) -> tuple[int, bool]:
    """How many limits are broken, and whether the lamps are among what is."""
    limited = {violation.kind.limited for violation in found.violations}
    return len(found.violations), bool(limited & {LOW_VOLTAGE, HIGH_VOLTAGE})


def thickest_of(gauge_job: GaugeJob) -> int:
    """Which cable of the stock has the least resistance, one that may be chosen before all others."""
    ranks = [
        (bool(each.ruled_out()), resolve_cable(CableSpec(each.conductor, None, 1), REFERENCE_C).ohm_per_m)
        for each in gauge_job.candidates
    ]
    return ranks.index(min(ranks))


REFERENCE_C = 20.0
"""At which cables are told apart by their resistance. [°C]"""


def _taps_moved(job: Job, found: Found) -> bool:
    rated_v = job.supply.rated_v
    had_v = tuple(rated_v if feeder.tap_v is None else feeder.tap_v for feeder in job.feeders())
    return found.assessment.taps_v not in {(), had_v}


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

    return Pricing(exact, least, buyer.can_begin, lambda: buyer.proven, separable=not buyer.in_spools)


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

    return Pricing(exact, least, buyer.can_begin, lambda: True, separable=True)


def _compare(assessor: Assessor, buyer: Buyer, *, priced: bool) -> list[Compared]:
    """Each candidate in every open place at once; a piece too long for its spools is one more violation."""
    rows = []
    for index, candidate in enumerate(assessor.candidates):
        choice = (index,) * len(assessor.slots)
        price = assessment = None
        too_long = buyer.too_long(choice)
        with suppress(WorkOverLimitError):
            assessment = assessor.compared(choice)
        if assessment is not None and too_long is not None:
            assessment = assessment._replace(violations=(*assessment.violations, too_long.violation()))
        if priced:
            with suppress(WorkOverLimitError):
                price = buyer.price(choice)
        rows.append(Compared(candidate, assessment, price, too_long))
    return rows
