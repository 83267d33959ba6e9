"""The cheapest layout found that passes, solved exactly, and what none can cost less than.

A search knows voltages to a hundredth of a volt. What it finds is solved in every state that is judged and
held against the one set of limits; where something is broken the search must keep a little more, until
nothing is. No layout is answered that was not solved so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from decimal import Decimal
from typing import Final, NamedTuple

from service.circuit.estimate import Estimate, estimate_of
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.work import OPERATIONS_OF_WORK, WorkOverLimitError, left
from service.findings.connection import SUPPLY_ABOVE_LOW_VOLTAGE, WET_CONTACT_VOLTAGE
from service.findings.finding import (
    CIRCUIT_CURRENT,
    DEVICE_OF_CONDUCTOR,
    DEVICE_OF_SHORT,
    GROWTH_LEFT,
    HIGH_VOLTAGE,
    LOW_VOLTAGE,
    VOLT_AMPERES,
    FindingFacts,
)
from service.findings.limits import unaccepted
from service.studies.least_cost_layout.bound import (
    Bounding,
    BoundTerms,
    Impossible,
    bound_work,
    impossible,
)
from service.studies.least_cost_layout.certifying import (
    CaseProof,
    Certified,
    Most,
    ProvenAgain,
    certified,
    give,
    proof_of_case,
    proven_again,
)
from service.studies.least_cost_layout.drafts import Draft, PlacedBox, SiteDesign, Strictness
from service.studies.least_cost_layout.engine import available
from service.studies.least_cost_layout.helping import helping
from service.studies.least_cost_layout.refining import Refined, refined
from service.studies.least_cost_layout.relaxing import NOTHING_PASSES
from service.studies.least_cost_layout.search import LayoutSearch
from service.studies.least_cost_layout.site import CHAIN, EQUAL_HUB, HUB, PER_RUN, TEE, Site
from service.studies.voltage_drop.study import DropAnswer


class Previous(NamedTuple):
    """An earlier answer: its layout, if it has one, the same as a draft, and what proved its bound."""

    design: SiteDesign | None
    draft: Draft | None
    proofs: tuple[CaseProof, ...]


class LayoutJob(NamedTuple):
    """What a layout is sought from; `judging` is the work of judging one, `accepted` codes of warnings.

    `certify`: the proofs of the bound are wanted, and how large they may be. `trial`: the site in which
    changes are tried that may help, if that is another.
    """

    site: Site
    effort: int
    judging: int
    accepted: frozenset[str]
    previous: Previous | None = None
    certify: Most | None = None
    trial: Site | None = None


class JudgedLayout(NamedTuple):
    """A design as it was solved, box by box, what it breaks, and what it costs to the cent. [currency]"""

    design: SiteDesign
    answers: tuple[DropAnswer, ...]
    broken: tuple[FindingFacts, ...]
    cost: Decimal


class ComparedWay(NamedTuple):
    """A usual way to lay the same lamps, and the cheapest of it that passes."""

    way: str
    layout: JudgedLayout | None


class ProvenPrevious(NamedTuple):
    """What is found of an earlier answer: its layout as it was judged here, and the bound of its proofs."""

    layout: JudgedLayout | None
    bound: Decimal


class LayoutResult(NamedTuple):
    """The layout that is answered, if one passes; else the nearest that was tried.

    `proof` says why none can pass, where that is certain. `relaxed`: the bound was made better by a
    relaxation. `spent` is the work of the search and of that, `certified` what proves the bound again.
    `refuted`: what bounds every layout proves that there is none that passes. `helps` are changes, by their
    codes, with which one is found.
    """

    proof: Impossible
    bound: BoundTerms
    relaxed: bool
    layout: JudgedLayout | None
    nearest: JudgedLayout | None
    compared: tuple[ComparedWay, ...]
    spent: int
    previous: ProvenPrevious | None = None
    certified: Certified | None = None
    refuted: bool = False
    helps: tuple[str, ...] = ()


class Judging(NamedTuple):
    """What tells of a design all that is told: `solve` box by box, `price` to the cent. [currency]"""

    solve: Callable[[SiteDesign], Sequence[DropAnswer]]
    price: Callable[[SiteDesign], Decimal]


MOST_REPAIRS: Final = 8
"""Times that a design is made to keep more because it broke a limit."""


MOST_DRAFTS: Final = 4
"""Mixes of boxes whose design is solved."""


WORK_OF_THE_REST: Final = 4_000
"""That is kept for telling what was found."""


BOUND_OVER_SEARCH, MOST_FOR_A_BOUND = 1.5, 30_000
"""What a bound may take, of what the search for a layout may [-], and no more; no search takes any of it."""


WORK_OF_PROOFS: Final = 45_000
"""That earlier proofs may take to be proven again, before the search: more than as many as there may be."""


ABOVE_ALL: Final = Decimal(10**12)
"""More than any layout costs. [currency]"""


SHARE_OF_A_WAY, SHARE_OF_A_TRY = 0.1, 0.05
"""Of the effort: what a usual way may take, and what the first layout of it in one size of cable may. [-]"""


TRIES_OF_A_WAY: Final = 4
"""Sizes of cable that are tried as a rule, at most."""


WAYS: Final = (("daisy-chain", CHAIN), ("hub", EQUAL_HUB))
"""Usual ways that a layout is compared with."""


WAY_OF: Final = {CHAIN: "daisy-chain", HUB: "hub"}
"""Which of them is laid as runs may part."""


def least_cost_layout_work(job: LayoutJob) -> Estimate:
    """Of a layout: its bound and one design solved; the search and all that follows may stop anywhere."""
    site = job.site
    bound = bound_work(len(site.lamps), len(site.routes), len(site.mounts))
    return estimate_of(bound + job.judging, MAXIMUM_REQUEST_WORK)


def least_cost_layout(job: LayoutJob, judging: Judging) -> LayoutResult:
    """Seek the cheapest layout that passes.

    Raises
    ------
    WorkOverLimitError
        The work of one request ended before any design was solved.
    """
    site = job.site
    proof = impossible(site)
    if proof.proven:
        return LayoutResult(
            proof,
            BoundTerms(*[Decimal(0)] * 4),
            relaxed=False,
            layout=None,
            nearest=None,
            compared=(),
            spent=0,
            helps=_helping(job, AGAINST_LOAD if proof.most_va is not None else AGAINST_DROP),
        )
    bounding = Bounding(site)
    closed = dict(zip(bounding.parts, bounding.terms, strict=True))
    unspent, before = left(), None
    again = _again(job, bounding)
    job = job._replace(effort=min(job.effort, _affordable(site, unspent - left())))
    if job.previous is not None:
        drawn = job.previous.design
        before = ProvenPrevious(
            None if drawn is None else _judged(job, drawn, judging), bounding.least.amount
        )
    sought = _sought(job, judging)
    layout, nearest = sought.layout, sought.nearest
    if before is not None and before.layout is not None and not before.layout.broken:
        layout = min((each for each in (before.layout, layout) if each), key=lambda each: each.cost)
    boxes = () if layout is None else layout.design.boxes
    compared = tuple(_compared(job, judging, *way, boxes) for way in WAYS)
    for way in compared:
        # A usual way that is cheaper than what was found is what is answered, where runs may part so.
        allowed = site.rules.branching == TEE or way.way == WAY_OF[site.rules.branching]
        if way.layout is not None and allowed and (layout is None or way.layout.cost < layout.cost):
            layout = way.layout
    bound, spent_on_bound = _refined(job, bounding, layout)
    spent = sought.spent + spent_on_bound
    relaxed = bound.relaxed != {} or any(each.value for each in again)
    earlier, certificate = tuple(again), None
    if job.certify is not None:
        again += [ProvenAgain(proof_of_case(*each), each[1].value) for each in bound.relaxed.items()]
        cost = ABOVE_ALL if layout is None else layout.cost
        certificate = certified(bounding, closed, again, cost, job.certify)
    none_passes = layout is None and refuted(bounding, bound, earlier)
    helps: tuple[str, ...] = ()
    if layout is None:
        codes = against(() if nearest is None else nearest.broken)
        if none_passes:
            codes = tuple(dict.fromkeys((*codes, *AGAINST_LOAD, *AGAINST_DROP)))
        helps = _helping(job, codes)
        helps += () if sought.complete or none_passes else (MORE_EFFORT,)
    return LayoutResult(
        proof,
        bound.terms,
        relaxed,
        layout,
        nearest,
        compared,
        spent,
        before,
        certificate,
        none_passes,
        helps,
    )


def refuted(bounding: Bounding, bound: Refined, earlier: Sequence[ProvenAgain] = ()) -> bool:
    """Whether nothing is left in any part: by the closed form, or by multipliers that prove it empty."""
    empty = [case for case, relaxed in bound.relaxed.items() if not relaxed.leaves]
    empty += [each.proof.case for each in earlier if each.value == NOTHING_PASSES]
    return all(any(case.has(part) for case in empty) for part in bounding.parts)


MORE_EFFORT: Final = "more-effort"
"""What may help a search that did not come to its end."""


AGAINST_DROP: Final = ("nearer-mounting-point", "thicker-cable", "higher-tap", "24-volt-fixtures")
"""What may help where lamps get too little."""


AGAINST_LOAD: Final = ("more-volt-amperes",)
"""What may help where boxes carry too much."""


AGAINST: Final = (
    (LOW_VOLTAGE, AGAINST_DROP),
    (GROWTH_LEFT, AGAINST_DROP),
    (HIGH_VOLTAGE, ("lower-tap",)),
    (VOLT_AMPERES, AGAINST_LOAD),
    (CIRCUIT_CURRENT, ("more-circuits",)),
    (DEVICE_OF_CONDUCTOR, ("smaller-device",)),
    (DEVICE_OF_SHORT, ("smaller-device",)),
)
"""What may help where a limit is broken."""


WORK_OF_A_TRY: Final = 2_500
"""That the search for a layout may take, with one change of the site."""


def against(broken: Sequence[FindingFacts]) -> tuple[str, ...]:
    """What may help against what is broken."""
    limited = {found.kind.limited for found in broken}
    return tuple(dict.fromkeys(code for what, codes in AGAINST if what in limited for code in codes))


def _helping(job: LayoutJob, codes: Sequence[str]) -> tuple[str, ...]:
    """Those that help, of such as the work that is left lets be tried."""
    found = list[str]()
    with suppress(WorkOverLimitError):
        for code in codes:
            found += helping(job.trial or job.site, [code], WORK_OF_A_TRY)
    return tuple(found)


class _Sought(NamedTuple):
    """What a search ended with: a layout that passes, or the nearest; whether it came to its end; work."""

    layout: JudgedLayout | None
    nearest: JudgedLayout | None
    complete: bool
    spent: int


def _sought(job: LayoutJob, judging: Judging) -> _Sought:
    """Search; and where nothing passes once more, for what keeps that too which a search does not know of."""
    search = LayoutSearch(job.site, job.effort, start=None if job.previous is None else job.previous.draft)
    search.run()
    layout, nearest = _taken(job, search, judging)
    if nearest is None and (drawn := search.nearest()) is not None:
        nearest = _judged(job, drawn, judging)
        layout = None if nearest.broken else nearest
    spent = search.spent // OPERATIONS_OF_WORK
    if layout is None and job.trial is not None and spent < job.effort:
        careful = LayoutSearch(job.trial, job.effort - spent)
        with suppress(WorkOverLimitError):
            careful.run()
            layout, _ = _taken(job, careful, judging)
        spent += careful.spent // OPERATIONS_OF_WORK
    return _Sought(layout, nearest, search.complete, spent)


def _again(job: LayoutJob, bounding: Bounding) -> list[ProvenAgain]:
    """What the proofs of an earlier answer prove here; the bound has it."""
    if job.previous is None:
        return []
    work = min(WORK_OF_PROOFS, left() - job.judging - WORK_OF_THE_REST)
    found = proven_again(job.site, job.previous.proofs, max(work, 0))
    give(bounding, found)
    return found


def _affordable(site: Site, proven: int) -> int:
    """The most that a search may take, with the usual ways beside it, so that a bound can have its part.

    It has had so much of that where an earlier one was `proven` again.
    """
    searches = 1.0 + len(WAYS) * (SHARE_OF_A_WAY + SHARE_OF_A_TRY * min(TRIES_OF_A_WAY, len(site.cables)))
    return max(0, int((left() - WORK_OF_THE_REST - max(0, MOST_FOR_A_BOUND - proven)) / searches))


def _refined(job: LayoutJob, bounding: Bounding, layout: JudgedLayout | None) -> tuple[Refined, int]:
    """The bound, as good as the rest of the work and the engine make it; and what that took."""
    work = min(int(BOUND_OVER_SEARCH * job.effort), MOST_FOR_A_BOUND, left() - WORK_OF_THE_REST)
    if work <= 0 or not available():
        return Refined(bounding.least, {}), 0
    before = left()
    found = refined(bounding, work, ABOVE_ALL if layout is None else layout.cost)
    return found, before - left()


def _taken(
    job: LayoutJob, search: LayoutSearch, judging: Judging
) -> tuple[JudgedLayout | None, JudgedLayout | None]:
    """The cheapest draft that passes, repaired where it must be; and the nearest, where none does."""
    best: JudgedLayout | None = None
    nearest: JudgedLayout | None = None
    for draft in list(search.drafts[:MOST_DRAFTS]):
        if best is not None and draft.design.cost >= float(best.cost):
            break
        try:
            found, tried = _repaired(job, search, draft, judging)
        except WorkOverLimitError:
            if best is None and nearest is None:
                raise
            break
        nearest = nearest or tried
        if found is not None and (best is None or found.cost < best.cost):
            best = found
    return best, nearest


def _repaired(
    job: LayoutJob, search: LayoutSearch, draft: Draft, judging: Judging
) -> tuple[JudgedLayout | None, JudgedLayout]:
    """A draft made to keep more until it passes, if it comes to that; and the last that was solved."""
    strict = draft.strict
    while True:
        judged = _judged(job, draft.design, judging)
        if not judged.broken:
            return judged, judged
        harder = stricter(job.site, draft.design, strict, judged.broken)
        if harder is None or harder.repairs > MOST_REPAIRS:
            return None, judged
        strict = harder
        hardened = search.hardened(draft, strict)
        if hardened is None:
            return None, judged
        draft = hardened


def _judged(job: LayoutJob, design: SiteDesign, judging: Judging) -> JudgedLayout:
    answers = tuple(judging.solve(design))
    broken = [
        found._replace(parameters=(("box", str(box)), *found.parameters))
        for box, answer in enumerate(answers)
        for found in unaccepted(answer.findings, job.accepted)
    ]
    return JudgedLayout(design, answers, tuple(broken), judging.price(design))


TAPS_TOO_HIGH: Final = (WET_CONTACT_VOLTAGE, SUPPLY_ABOVE_LOW_VOLTAGE)
"""What is found of a tap by itself, whatever it feeds."""


SPARE_V: Final = 5e-3
"""What lamps are given beyond what they lacked. [V]"""


SPARE_OF_A_SHARE_V: Final = 0.05
"""What lamps are given where something else than their voltage is told. [V]"""


MOST_TOP_V: Final = 0.1
"""By so much a lamp may be too high and still be looked after by itself, beside lower taps for all. [V]"""


SPARE_RATIO: Final = 0.99
"""Of what a limit allows, where it was broken. [-]"""


def stricter(
    site: Site, design: SiteDesign, strict: Strictness, broken: Sequence[FindingFacts]
) -> Strictness | None:
    """What a search must keep beyond so that nothing of this is broken; None where nothing of it helps."""
    lacking_v = 0.0
    harder = strict
    for found in broken:
        limited, over = found.kind.limited, _over(found)
        over_v = _over_v(found)
        if limited == HIGH_VOLTAGE and over_v is not None and over_v < MOST_TOP_V:
            harder = harder._replace(top_v=max(harder.top_v, 2.0 * strict.top_v + over_v + SPARE_V))
        elif found.kind in TAPS_TOO_HIGH or limited == HIGH_VOLTAGE:
            lower = [tap for box in site.boxes for tap in box.taps_v if tap < _highest_tap_v(design)]
            if not lower:
                return None
            harder = harder._replace(most_tap_v=min(harder.most_tap_v, max(lower)))
        elif limited in {LOW_VOLTAGE, GROWTH_LEFT}:
            measured, limit = found.measured, found.limit
            volts = measured is not None and limit is not None and limit.unit == "V"
            short_v = limit.value - measured.value + SPARE_V if volts and limit and measured else 0.0
            lacking_v = max(lacking_v, short_v if short_v > 0.0 else SPARE_OF_A_SHARE_V)
        elif limited == CIRCUIT_CURRENT:
            harder = harder._replace(circuit_ratio=strict.circuit_ratio * SPARE_RATIO / over)
        elif limited == VOLT_AMPERES:
            harder = harder._replace(rating_ratio=strict.rating_ratio * SPARE_RATIO / over)
        elif limited == DEVICE_OF_SHORT:
            harder = harder._replace(trip_ratio=strict.trip_ratio * SPARE_RATIO / over)
        else:
            return None
    # Twice what was kept so far, where that was not enough to change anything.
    harder = harder._replace(spare_v=2.0 * strict.spare_v + lacking_v if lacking_v else strict.spare_v)
    return None if harder == strict else harder._replace(repairs=strict.repairs + 1)


def _over_v(found: FindingFacts) -> float | None:
    """By how many volts a voltage is above its limit; None where it is something else. [V]"""
    measured, limit = found.measured, found.limit
    if found.kind in TAPS_TOO_HIGH or measured is None or limit is None or limit.unit != "V":
        return None
    return max(0.0, measured.value - limit.value)


def _over(found: FindingFacts) -> float:
    """By what factor a limit is broken, at least one. [-]"""
    if found.measured is None or found.limit is None or not found.limit.value or not found.measured.value:
        return 1.0
    ratio = found.measured.value / found.limit.value
    return max(ratio, 1.0 / ratio)


def _highest_tap_v(design: SiteDesign) -> float:
    return max(run.fit.tap_v for run in design.runs)


def _compared(
    job: LayoutJob, judging: Judging, way: str, branching: str, boxes: Sequence[PlacedBox]
) -> ComparedWay:
    """The cheapest layout of a usual way in one size of cable that was found, solved as all are.

    It is looked for with some boxes first.
    """
    rules = job.site.rules._replace(branching=branching, gauges=PER_RUN)
    job = job._replace(site=job.site._replace(rules=rules))
    best: JudgedLayout | None = None
    with suppress(WorkOverLimitError):
        first = _in_one_cable(job, boxes)
        if first is not None:
            cable, draft = first
            search = LayoutSearch(job.site, int(SHARE_OF_A_WAY * job.effort), cable, start=draft)
            search.run()
            best, _ = _taken(job, search, judging)
    return ComparedWay(way, best)


def _in_one_cable(job: LayoutJob, boxes: Sequence[PlacedBox]) -> tuple[int, Draft] | None:
    """The first layout found in that size of cable in which it costs least, and that size.

    From the middle of the stock to thinner ones as long as it gets cheaper, then to thicker ones.
    """
    site, best = job.site, None
    work = int(SHARE_OF_A_TRY * job.effort)
    order = sorted(range(len(site.cables)), key=lambda each: (-site.cables[each].hot_ohm_per_m, each))
    middle = len(order) // 2
    thinner, thicker = order[middle::-1], order[middle + 1 :]
    for onward in (thinner, thicker):
        for cable in onward if best is None or best[0] == order[middle] else ():
            search = LayoutSearch(site, work, cable, brief=True, boxes=boxes)
            search.run()
            found = search.drafts[0] if search.drafts else None
            if found is not None and (best is None or found.design.cost < best[1].design.cost):
                best = cable, found
            elif found is not None or onward is thinner:
                # Dearer than the one before; or too thin, and so are those that are thinner.
                break
    return best
