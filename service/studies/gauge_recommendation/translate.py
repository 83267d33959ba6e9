"""Gauge recommendation: the request into a job, the choice into a wiring and a reply."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from itertools import pairwise
from typing import Any, Final

from msgspec import UNSET, UnsetType, to_builtins
from msgspec.structs import replace

from service import tables
from service.circuit.job import (
    Feeder,
    JobPart,
    Listed,
    WiringContradictoryError,
)
from service.circuit.layout import LaidSpan
from service.circuit.limits import near_circuit_limit, over_rating
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.reading import CircuitResult
from service.findings.assumptions import STATED_STATE_ONLY, AssumptionKind
from service.findings.finding import (
    CABLE_CURRENT,
    CIRCUIT_CURRENT,
    DEVICE_OF_CONDUCTOR,
    DEVICE_OF_SHORT,
    HIGH_VOLTAGE,
    LEAST_LOAD,
    LOW_VOLTAGE,
    VOLT_AMPERES,
    WATTS,
    Amount,
    FindingFacts,
    corner_text,
)
from service.findings.limits import range_finding, unaccepted
from service.findings.protection import (
    CONDUCTOR_BELOW_DEVICE,
    SHORT_CIRCUIT_BELOW_TRIP,
    SPAN_OVER_AMPACITY,
)
from service.findings.rows import closing, compared_texts, shown_amount
from service.findings.summary import FAILS, finding_rows, grouped, shown_of, summary_row, verdict_of
from service.findings.violation import NOT_MEASURED, Violation
from service.findings.voltage import (
    DROP_OVER_LIMIT,
    FIXTURE_ABOVE_WINDOW,
    FIXTURE_BELOW_WINDOW,
    NO_OPERATING_POINT,
)
from service.intake import words
from service.problems.unanswered import Mistake
from service.purchase.cutting import CutPlan
from service.studies.gauge_recommendation.assessment import Assessment
from service.studies.gauge_recommendation.buying import (
    MICROMETRES,
    PIECE_LONGER_THAN_ANY_SPOOL,
    LaidPiece,
    Purchase,
    joint_findings,
)
from service.studies.gauge_recommendation.candidates import Candidate, Spool
from service.studies.gauge_recommendation.reply import (
    BrokenLimit,
    ChosenCable,
    ChosenTap,
    ComparedCable,
    CutPiece,
    NoneFound,
    NonePasses,
    Outcome,
    PurchaseLine,
    Recommended,
    RemedyRow,
    ShownMetal,
    SpoolCount,
    SpoolCuts,
)
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.search import Found
from service.studies.gauge_recommendation.study import (
    Compared,
    GaugeJob,
    Recommendation,
    gauge_recommendation_work,
)
from service.studies.voltage_drop.study import DropAnswer
from service.translate.job import described_job, judged_conditions, length_unit
from service.translate.naming import PlaceNames
from service.translate.rounding import DECIMALS, rounded
from service.translate.rows import METHODS, subject_row, volts, watts
from service.translate.wiring import amount
from service.units import inside
from service.wire.conditions import Conditions
from service.wire.optional import given
from service.wire.quantities import ShownLength, ShownVoltage
from service.wire.stock import PricePerLength, StockCable
from service.wire.summary import LoadSummary
from service.wire.wiring import Wiring


def job_of(request: GaugeRecommendationRequest) -> GaugeJob:
    """What a request asks to be recommended."""
    _refuse_unknown_cables(request)
    gauge_job = gauge_job_of(request)
    if gauge_job.job.usual_range and gauge_recommendation_work(gauge_job).first > MOST_OVER_RANGE:
        return gauge_job_of(as_stated(request))
    return gauge_job


MOST_OVER_RANGE = MAXIMUM_REQUEST_WORK // 4
"""Work of a first answer up to which a range is judged that the caller did not ask for."""


def gauge_job_of(request: GaugeRecommendationRequest) -> GaugeJob:
    """What a request asks, of its job in the states that are judged."""
    job = described_job(request, usual=True)
    supply = job.supply
    # A box that says no taps offers none to choose from: the runs keep theirs.
    chooses = request.taps == "choose" and bool(supply.taps_v)
    offered_v = sorted({supply.rated_v, *supply.taps_v}) if chooses else []
    return GaugeJob(
        job=job,
        open_cables=None if isinstance(request.open, UnsetType) else frozenset(request.open),
        candidates=_candidates(request),
        scope="one" if request.scope is UNSET else request.scope,
        offered_taps_v=() if supply.direct_current else tuple(offered_v),
        joints=not isinstance(request.cutting, UnsetType) and request.cutting.joints == "anywhere",
        accepted=frozenset() if isinstance(request.accept, UnsetType) else frozenset(request.accept),
    )


def as_stated(request: GaugeRecommendationRequest) -> GaugeRecommendationRequest:
    """The same request, judged in the state that it describes and no range of ours."""
    conditions = Conditions() if isinstance(request.conditions, UnsetType) else request.conditions
    return replace(request, conditions=replace(conditions, range="as-stated"))


def complete_conditions(request: GaugeRecommendationRequest) -> Conditions:
    """What a request is judged under."""
    judged = judged_conditions(request.conditions, request.supply, usual=True)
    return Conditions() if isinstance(judged, UnsetType) else judged


def _refuse_unknown_cables(request: GaugeRecommendationRequest) -> None:
    """Refuse pointers that name no cable of the wiring; the lead of a fixture stays as it is."""
    if isinstance(request.open, UnsetType):
        return
    tree = {"wiring": to_builtins(request.wiring)}
    mistakes = [
        Mistake("unknown-cable", f"/open/{index}", (pointer,))
        for index, pointer in enumerate(request.open)
        if pointer.endswith("/lead/cable") or not _is_cable(tree, pointer)
    ]
    if mistakes:
        raise WiringContradictoryError(mistakes)


def _is_cable(tree: Any, pointer: str) -> bool:  # noqa: ANN401  # a tree of JSON
    """Whether a JSON Pointer names a `cable` member that is there."""
    for part in pointer.split("/")[1:]:
        if isinstance(tree, list) and part.isdecimal() and int(part) < len(tree):
            tree = tree[int(part)]
        elif isinstance(tree, dict) and part in tree:
            tree = tree[part]
        else:
            return False
    return pointer.endswith("/cable")


def _candidates(request: GaugeRecommendationRequest) -> tuple[Candidate, ...]:
    """The stock, or every size of the family in which cable is laid, in stranded copper."""
    if not isinstance(request.stock, UnsetType):
        return tuple(candidate_of(cable, f"/stock/{index}") for index, cable in enumerate(request.stock))
    metric = length_unit(request) == "m" if request.family is UNSET else request.family == "metric"
    names = [name for name in tables.CABLE_SIZES if name.endswith("mm2") == metric]
    return tuple(Candidate(JobPart(""), Listed(name, "copper", "stranded")) for name in names)


def candidate_of(cable: StockCable, pointer: str) -> Candidate:
    """A cable of the stock that stands at a pointer."""
    conductor = Listed(cable.conductor, given(cable.material), given(cable.stranding))
    subject, price = JobPart(pointer, cable.id), cable.price
    if isinstance(price, UnsetType):
        return Candidate(subject, conductor)
    if isinstance(price, PricePerLength):
        per_m = Decimal(price.amount) / Decimal(repr(inside(1.0, price.per)))
        return Candidate(subject, conductor, price_per_m=per_m)
    spools = tuple(Spool(amount(spool.length), Decimal(spool.amount)) for spool in price.spools)
    return Candidate(subject, conductor, spools=spools)


CENT = Decimal("0.01")


def recommended_reply(  # noqa: PLR0913  # everything that is known, one caller
    request: GaugeRecommendationRequest,
    gauge_job: GaugeJob,
    recommendation: Recommendation,
    found: Found,
    *,
    wiring: Wiring,
    solved: DropAnswer,
    over_range: list[FindingFacts],
    sha256: str,
) -> Recommended:
    """The reply where a choice passes; `solved` is the job with the chosen wiring.

    `over_range` is what it breaks over a usual range that no choice holds.
    """
    naming = PlaceNames(solved.layout, length_unit(request))
    assumptions = [*solved.assumptions, *_own_assumptions(request, gauge_job, recommendation)]
    unproven, priced = not found.exact, recommendation.objective == "least-price"
    prices = [line.price for line in recommendation.purchase if line.price is not None]
    not_held = [range_finding(over_range)] if over_range else []
    complete = bool(prices) and len(prices) == len(recommendation.purchase)
    total = str(sum(map(in_cents, prices), start=Decimal(0))) if complete else UNSET
    findings = [*not_held, *solved.findings, *_joints(recommendation.purchase, naming)]
    return Recommended(
        summary=_short(request, gauge_job, recommendation, found, findings, solved, total),
        objective=recommendation.objective,
        method=METHODS[found.exact],
        outcome=outcome_row(found.assessment, naming),
        chosen=chosen_rows(recommendation, found, naming),
        wiring=wiring,
        compared=_compared_rows(recommendation, naming),
        purchase=[purchase_row(line, naming) for line in recommendation.purchase],
        findings=finding_rows(findings, naming),
        judged_conditions=complete_conditions(request),
        taps=chosen_taps(gauge_job.job.feeders(), found),
        # Of the rounded lines, so that whoever adds them up finds the same; a part of the lines is no total.
        total=total,
        least_possible_total=money(Decimal(repr(found.bound)), ROUND_FLOOR) if unproven and priced else UNSET,
        least_possible_metal=UNSET
        if priced or not unproven
        else ShownMetal(float(f"{found.bound:.6g}"), "mm2.m"),
        currency=request.currency,
        **closing(
            assumptions,
            _sources(solved, not_held),
            sha256=sha256,
            caller_id=request.id,
        ),
    )


def _short(  # noqa: PLR0913, PLR0917  # everything that is known, one caller
    request: GaugeRecommendationRequest,
    gauge_job: GaugeJob,
    recommendation: Recommendation,
    found: Found,
    findings: list[FindingFacts],
    solved: DropAnswer,
    total: str | UnsetType,
) -> LoadSummary:
    """What is recommended, and what it does."""
    naming, accepted = PlaceNames(solved.layout, length_unit(request)), request.accept
    verdict = verdict_of(findings, frozenset(() if isinstance(accepted, UnsetType) else accepted))
    shown = shown_of(solved.reading, solved.envelope)
    summary = summary_row(verdict, findings, naming, shown)
    cables = _cables(recommendation, found, naming)
    named = words.listed(cables, "and") if cables else ""
    money_words = (
        "" if isinstance(total, UnsetType) else f", {total} {given(request.currency) or ''}".rstrip()
    )
    cable = f" Cable: {named}{money_words}." if named else ""
    text = [
        summary.text + cable,
        *_taps(gauge_job, found, naming),
        *_why_not_cheaper(recommendation, shown.circuits, naming),
    ]
    return replace(summary, text=" ".join(text))


MOST_CABLES = 4
"""Places that are told with their cable; of more the sizes alone are told."""


def _cables(recommendation: Recommendation, found: Found, naming: PlaceNames) -> list[str]:
    """The sizes to buy, with their spools; where there are several, each with the run that it is for."""
    spools: dict[str, str] = {}
    for line in recommendation.purchase:
        name = cable_name(line.candidate)
        spools[name] = spools.get(name, "") + _spools(line, naming)
    sizes = [f"{name}{bought}" for name, bought in spools.items()]
    feeders: dict[str, dict[str, None]] = {}
    for slot, choice in zip(recommendation.slots, found.choice, strict=True):
        name = cable_name(recommendation.compared[choice].candidate)
        for index in slot.spans:
            run = RUN_OF.match(recommendation.spans[index].cable_at)
            if run is None:
                return sizes
            feeders.setdefault(run[0], {})[name] = None
    if not 1 < len(sizes) <= len(feeders) <= MOST_CABLES or any(len(each) > 1 for each in feeders.values()):
        return sizes
    runs: dict[str, list[str]] = {}
    for pointer, names in feeders.items():
        runs.setdefault(next(iter(names)), []).append(naming.within(JobPart(pointer)))
    return [f"{size}{spools[size]} for {words.listed(on, 'and')}" for size, on in runs.items()]


MOST_SPOOLS = 3
"""Lengths of spools of one cable that are told; of more the purchase alone tells."""


def _spools(line: Purchase, naming: PlaceNames) -> str:
    """The spools to buy of one cable, in a few words."""
    counts: dict[float, int] = {}
    for row in () if line.plan is None else line.plan.spools:
        length_m = line.candidate.spools[row.spool].length_m
        counts[length_m] = counts.get(length_m, 0) + row.number
    if not 0 < len(counts) <= MOST_SPOOLS:
        return ""
    lengths = [
        f"{f'{count} x ' if count > 1 else ''}{naming.length(length_m):g} {naming.length_unit}"
        for length_m, count in sorted(counts.items())
    ]
    return f" ({words.listed(lengths, 'and')} spool{'s' if sum(counts.values()) > 1 else ''})"


RUN_OF = re.compile(r"/wiring/runs/[0-9]+")


def _taps(gauge_job: GaugeJob, found: Found, naming: PlaceNames) -> Iterator[str]:
    """Where taps were to be chosen: the runs that change theirs, then the others, by their tap."""
    rated_v, moved, kept = gauge_job.job.supply.rated_v, dict[float, list[str]](), dict[float, list[str]]()
    for feeder, tap_v in zip(gauge_job.job.feeders(), found.assessment.taps_v, strict=False):
        stays = tap_v == (rated_v if feeder.tap_v is None else feeder.tap_v)
        (kept if stays else moved).setdefault(tap_v, []).append(naming.within(feeder.subject))
    for tap_v, names in sorted(moved.items()):
        yield f"Put {words.listed(names, 'and')} on the {tap_v:g} V tap."
    for tap_v, names in sorted(kept.items()):
        several = "The other runs" if moved or len(kept) > 1 else "All runs"
        who = words.listed(names, "and") if len(names) <= MOST_CABLES else several
        yield f"{naming.capital(who)} stay{'s' if len(names) == 1 else ''} on the {tap_v:g} V tap."


DECIDES: Final = (LOW_VOLTAGE, HIGH_VOLTAGE, CABLE_CURRENT, DEVICE_OF_SHORT)
"""What is told first of several reasons against a cable; the device of its conductor, which may be exchanged,
comes last.
"""


def _reason_rank(violation: Violation) -> int:
    limited = violation.kind.limited
    if violation.kind is NO_OPERATING_POINT:
        return -1
    if limited == DEVICE_OF_CONDUCTOR:
        return len(DECIDES) + 1
    return DECIDES.index(limited) if limited in DECIDES else len(DECIDES)


def _why_not_cheaper(
    recommendation: Recommendation, circuits: Sequence[CircuitResult], naming: PlaceNames
) -> Iterator[str]:
    """What the next cheaper cable breaks; where several runs have cable of several sizes, for one of them."""
    cheaper = recommendation.next_cheaper
    if cheaper is None:
        return
    name, where = cable_name(cheaper.candidate), ""
    if cheaper.part:
        where = f" in place of {cable_name(cheaper.instead_of)}"
    if cheaper.cable_at is not None:
        where = f"{where} for {_laid_with(cheaper.cable_at, cheaper.spans, recommendation.spans, naming)}"
    worst = min(cheaper.violations, key=_reason_rank)
    if worst.kind is CONDUCTOR_BELOW_DEVICE:
        value, limit = _amounts(worst, naming)
        alone = all(each.kind is CONDUCTOR_BELOW_DEVICE for each in cheaper.violations)
        if alone and not _is_needed(circuits, worst):
            yield f"{name}{where} would do with a device of {limit} or less; the circuit has {value}."
        else:
            yield f"Not {name}{where}: it needs a device of {limit} or less; the circuit has {value}."
        return
    even = ""
    if cheaper.taps_v and worst.kind is not PIECE_LONGER_THAN_ANY_SPOOL:
        on_one = len(cheaper.taps_v) == 1
        even = f", even on the {min(cheaper.taps_v):g} V tap" if on_one else ", on whatever taps"
    yield f"Not {name}{where}{even}: {_reason(worst, naming)}"


RETURNING: Final = "/return_leg/"

CABLE_OF: Final = re.compile(r"(.*?)(?:/cable_changes/[0-9]+|/return_leg)?/cable")
"""Where a cable stands, and the run, branch or spur of which it is, or the stretch of a graph."""


def _laid_with(cable_at: str, own: frozenset[int], spans: list[LaidSpan], naming: PlaceNames) -> str:
    """What is laid with a cable: a run, a run without its branches, or from where to where along it."""
    owner = _owner(cable_at)
    name = naming.within(JobPart(owner))
    others = {index: _owner(span.cable_at) for index, span in enumerate(spans) if index not in own}
    if not any(f"{each}/".startswith(f"{owner}/") for each in others.values()):
        return name
    if owner not in others.values():
        return f"{name} without its branches"
    chain = [spans[index] for index in sorted(own)]
    if any(last.end != following.start for last, following in pairwise(chain)):
        return f"parts of {name}"
    if RETURNING in cable_at:
        return f"the return leg of {name}"
    start, end = naming.length(chain[0].from_m), naming.length(chain[-1].from_m + chain[-1].length_m)
    unit = naming.length_unit
    return f"{name} from {start:g} to {end:g} {unit}" if start else f"the first {end:g} {unit} of {name}"


def _owner(cable_at: str) -> str:
    """The run, branch or spur whose cable stands somewhere; empty of leads and splices."""
    found = CABLE_OF.fullmatch(cable_at)
    return "" if found is None else found[1]


def _is_needed(circuits: Sequence[CircuitResult], violation: Violation) -> bool:
    """Whether some circuit carries more than the smaller device that a cable asks for may."""
    return any(
        near_circuit_limit(each.current_a, violation.limit)
        for each in circuits
        if each.limit_a is not None and each.limit_a > violation.limit
    )


def _amounts(violation: Violation, naming: PlaceNames) -> tuple[str, str]:
    """Value and limit in words."""
    measured, limit = Amount(violation.measured, violation.unit), Amount(violation.limit, violation.unit)
    beside = compared_texts(measured, limit, naming)
    return beside["measured"], beside["limit"]


def _reason(violation: Violation, naming: PlaceNames) -> str:
    """What a cable would break, as the end of a sentence."""
    if violation.kind is NO_OPERATING_POINT or violation.unit == NOT_MEASURED:
        return _small(_in_short(violation, naming))
    (value, limit), where = _amounts(violation, naming), naming.within(violation.subject)
    template = REASONS.get(violation.kind)
    if template is None:
        return _small(_in_short(violation, naming))
    corner = "" if violation.corner is None else f" ({corner_text(violation.corner)})"
    return template.format(where=where, value=value, limit=limit, corner=corner)


REASONS: Final = {
    FIXTURE_BELOW_WINDOW: "{where} would get {value}{corner}, below {limit}.",
    FIXTURE_ABOVE_WINDOW: "{where} would get {value}{corner}, above {limit}.",
    DROP_OVER_LIMIT: "{where} would lose {value}{corner}; the limit is {limit}.",
    SHORT_CIRCUIT_BELOW_TRIP: "a dead short at the far end of {where} would draw only {value}, so the {limit}"
    " device may not trip.",
    SPAN_OVER_AMPACITY: "on {where} it would carry {value}, over its ampacity, {limit}.",
    PIECE_LONGER_THAN_ANY_SPOOL: "{value} is one piece, and its longest spool is {limit}.",
}
"""What a cable would break, by what is limited; of other limits their meaning is told."""


SIDES: Final = {FIXTURE_BELOW_WINDOW: "below", FIXTURE_ABOVE_WINDOW: "above"}
"""On which side of its limit the voltage of a lamp is then."""


def _small(text: str) -> str:
    """A sentence after a colon."""
    return text if text[:2].isupper() else text[:1].lower() + text[1:]


def _why_none(
    gauge_job: GaugeJob,
    recommendation: Recommendation,
    findings: list[FindingFacts],
    remedies: list[RemedyRow],
    naming: PlaceNames,
) -> str:
    """What rules every choice out, or what the best of one cable everywhere breaks; and what would help."""
    text = "No choice of these cables passes." if recommendation.proven else "Nothing that passes was found."
    tried = [row for row in recommendation.compared if row.assessment is not None]
    known = {found.code for found in findings}
    if findings:
        text = f"{text} {grouped(findings, naming)[0].message}"
        if tried and all(_collapses(row.assessment) for row in tried if row.assessment is not None):
            text = f"{text} {NO_OPERATING_POINT.meaning}" if NO_OPERATING_POINT.code not in known else text
    else:
        places = "everywhere" if gauge_job.open_cables is None else "in every open place"
        if tried:
            best = min(tried, key=_far_from_passing)
            text = f"{text} {_of_one_cable(best, naming, places)}"
    return " ".join([text, *_what_helps(remedies)])


HOLDS_AS_STATED: Final = "This passes as stated, but not over the usual range."
"""What is said of a remedy that holds no range."""


def _what_helps(remedies: list[RemedyRow]) -> Iterator[str]:
    """The first remedies of unlike kinds: those that hold what was judged, then those that pass as stated."""
    helping = dict[str, RemedyRow]()
    for remedy in remedies:
        if remedy.outcome.passes:
            helping.setdefault(remedy.code, remedy)
    told = [*helping.values()][:TOLD_REMEDIES]
    wholly = [each.message for each in told if each.judged_conditions is UNSET]
    as_it_is = [
        each.message.removesuffix(f" {HOLDS_AS_STATED}")
        for each in told
        if each.judged_conditions is not UNSET
    ]
    if wholly:
        yield f"What would help: {' Or: '.join(wholly)}"
    if as_it_is:
        yield f"What would help as stated, but not over the usual range: {' Or: '.join(as_it_is)}"


TOLD_REMEDIES: Final = 2
"""Kinds of remedies that a summary tells."""


def _far_from_passing(row: Compared) -> tuple[bool, int, float, float]:
    """Whether nothing can be carried, how many limits are broken, and the farthest beyond its limit.

    Of equals the thickest is the nearest: where it is not enough no other is.
    """
    violations = () if row.assessment is None else row.assessment.violations
    collapsed = any(violation.kind is NO_OPERATING_POINT for violation in violations)
    farthest = max((violation.excess for violation in violations), default=0.0)
    return collapsed, len(violations), farthest, -row.candidate.metal_mm2()


TOLD_BREACHES: Final = 2
"""Limits that one cable breaks which a summary tells."""


def _of_one_cable(row: Compared, naming: PlaceNames, places: str) -> str:
    """What one cable breaks first; `places` says where it lies."""
    assert row.assessment is not None  # noqa: S101  # asked only of those that were assessed
    texts = [_in_short(each, naming) for each in row.assessment.violations[:TOLD_BREACHES]]
    return f"With {cable_name(row.candidate)} {places}: {' '.join(texts)}"


def _in_short(violation: Violation, naming: PlaceNames) -> str:
    """What is broken, by how much and in which corner; of a lamp, which."""
    meaning = violation.kind.meaning.rstrip(".")
    if violation.kind is NO_OPERATING_POINT or violation.unit == NOT_MEASURED:
        return f"{meaning}."
    value, limit = _amounts(violation, naming)
    corner = "" if violation.corner is None else corner_text(violation.corner)
    at_worst = f" at worst ({corner})" if corner else ""
    if violation.kind is DROP_OVER_LIMIT:
        return f"{naming.subject(violation.subject)} loses {value}{at_worst}; the limit is {limit}."
    if violation.kind in SIDES:
        return f"{naming.subject(violation.subject)} gets {value}{at_worst}, {SIDES[violation.kind]} {limit}."
    # A device and the cable behind it are the same in every state.
    told = "" if not corner or violation.kind is CONDUCTOR_BELOW_DEVICE else f", {corner}"
    return f"{meaning} ({value}{told}; the limit is {limit})."


def _sources(solved: DropAnswer, findings: Iterable[FindingFacts]) -> list[str]:
    """Ids of the sources of an answer and of findings beside it."""
    used = [*solved.sources, *(finding.source for finding in findings)]
    return [source for source in dict.fromkeys(used) if source not in {"caller", "own-calculation"}]


def none_passes_reply(  # noqa: PLR0913  # everything that is known, one caller
    request: GaugeRecommendationRequest,
    gauge_job: GaugeJob,
    recommendation: Recommendation,
    solved: DropAnswer,
    *,
    remedies: list[RemedyRow],
    untried: list[str],
    sha256: str,
) -> NonePasses | NoneFound:
    """The reply where none does; `solved` is the job as it stood in the request."""
    naming = PlaceNames(solved.layout, length_unit(request))
    assumptions = [*solved.assumptions, *_own_assumptions(request, gauge_job, recommendation)]
    findings = [
        *recommendation.beyond_choice,
        *_of_supply(gauge_job, recommendation, solved),
        *_too_long(recommendation, naming),
        *(found for each in gauge_job.candidates for found in each.ruled_out()),
    ]
    text = _why_none(gauge_job, recommendation, findings, remedies, naming)
    return (NonePasses if recommendation.proven else NoneFound)(
        summary=summary_row(FAILS, findings, naming, text=text),
        objective=recommendation.objective,
        compared=_compared_rows(recommendation, naming),
        remedies=remedies,
        remedies_untried=untried,
        findings=finding_rows(findings, naming),
        judged_conditions=complete_conditions(request),
        currency=request.currency,
        **closing(assumptions, _sources(solved, findings), sha256=sha256, caller_id=request.id),
    )


def _of_supply(
    gauge_job: GaugeJob, recommendation: Recommendation, solved: DropAnswer
) -> Iterator[FindingFacts]:
    """What too much or too little load breaks in the job, and with every candidate as well."""
    broken = [
        {violation.code for violation in row.assessment.violations}
        for row in recommendation.compared
        if row.assessment is not None and not _collapses(row.assessment)
    ]
    by_all = set[str]().union(*broken).intersection(*broken)
    known = {(finding.code, finding.subject) for finding in recommendation.beyond_choice}
    for finding in unaccepted(solved.findings, gauge_job.accepted):
        of_load = finding.kind.limited in {VOLT_AMPERES, WATTS, CIRCUIT_CURRENT, LEAST_LOAD}
        if of_load and finding.code in by_all and (finding.code, finding.subject) not in known:
            yield finding


def _collapses(assessment: Assessment) -> bool:
    """Whether the load cannot be carried at all: then what else is broken is not known."""
    return any(violation.kind is NO_OPERATING_POINT for violation in assessment.violations)


def money(amount: Decimal, rounding: str = ROUND_HALF_EVEN) -> str:
    """An amount in cents, as decimal text."""
    return str(in_cents(amount, rounding))


def in_cents(amount: Decimal, rounding: str = ROUND_HALF_EVEN) -> Decimal:
    """An amount rounded to cents."""
    return amount.quantize(CENT, rounding)


CABLE_PRICE_MISSING: Final = AssumptionKind(
    "cable-price-missing",
    "Not every cable has a price, so the least metal was sought.",
)


CUT_IN_ONE_PIECE: Final = AssumptionKind(
    "cut-in-one-piece",
    "Whether cable may be joined is not stated: each piece is cut from one spool.",
)


def _own_assumptions(
    request: GaugeRecommendationRequest, gauge_job: GaugeJob, recommendation: Recommendation
) -> list[AssumptionKind]:
    held = {
        STATED_STATE_ONLY: gauge_job.job.corners is None,
        CABLE_PRICE_MISSING: recommendation.objective == "least-metal"
        and any(candidate.priced for candidate in gauge_job.candidates),
        CUT_IN_ONE_PIECE: request.cutting is UNSET
        and any(candidate.spools for candidate in gauge_job.candidates),
    }
    return [kind for kind, holds in held.items() if holds]


def _compared_rows(recommendation: Recommendation, naming: PlaceNames) -> list[ComparedCable]:
    """The candidates that there was work left to assess."""
    return [
        _compared(row, row.assessment, naming)
        for row in recommendation.compared
        if row.assessment is not None
    ]


def _compared(row: Compared, assessment: Assessment, naming: PlaceNames) -> ComparedCable:
    candidate = row.candidate
    return ComparedCable(
        conductor=cable_name(candidate),
        outcome=outcome_row(assessment, naming),
        stock_id=_stock_id(candidate),
        price=UNSET if row.price is None else money(row.price),
    )


def purchase_row(line: Purchase, naming: PlaceNames) -> PurchaseLine:
    """What to buy of one cable."""
    plan, offers = line.plan, line.candidate.spools
    bought = PurchaseLine(
        conductor=cable_name(line.candidate),
        quantity=length_row(line.length_m, naming),
        stock_id=_stock_id(line.candidate),
        line_total=UNSET if line.price is None else money(line.price),
    )
    if plan is None:
        return bought
    counts = [sum(row.number for row in plan.spools if row.spool == place) for place in range(len(offers))]
    return replace(
        bought,
        spools=[
            SpoolCount(length_row(offer.length_m, naming), count)
            for offer, count in zip(offers, counts, strict=True)
            if count
        ],
        cut_list=_cut_list(line, plan, naming),
        joints=plan.joints,
        proven=plan.proven,
        at_least=UNSET if plan.proven or line.at_least is None else money(line.at_least, ROUND_FLOOR),
    )


def _cut_list(line: Purchase, plan: CutPlan, naming: PlaceNames) -> list[SpoolCuts]:
    """Which piece from which spool."""
    return [
        SpoolCuts(
            length=length_row(line.candidate.spools[row.spool].length_m, naming),
            count=row.number,
            pieces=[_cut_piece(line.pieces[cut.piece], cut.length / MICROMETRES, naming) for cut in row.cuts],
            off_cut=length_row(row.off_cut / MICROMETRES, naming),
        )
        for row in plan.spools
    ]


def _cut_piece(piece: LaidPiece, length_m: float, naming: PlaceNames) -> CutPiece:
    return CutPiece(
        pointer=piece.cable_at,
        start=naming.points[piece.start],
        end=naming.points[piece.end],
        length=length_row(length_m, naming),
        joined=piece.length_m - length_m > 1.0 / MICROMETRES,
    )


def _piece_words(piece: LaidPiece, naming: PlaceNames) -> str:
    return f"The cable from {naming.points[piece.start]} to {naming.points[piece.end]}"


def _joints(purchase: list[Purchase], naming: PlaceNames) -> list[FindingFacts]:
    """What is said of joints."""
    return [
        finding
        for line in purchase
        for finding in joint_findings(line, [_piece_words(piece, naming) for piece in line.pieces])
    ]


def _too_long(recommendation: Recommendation, naming: PlaceNames) -> list[FindingFacts]:
    """The longest piece that each cable of the stock cannot give."""
    found = [(row.too_long, row.candidate) for row in recommendation.compared if row.too_long is not None]
    return [
        too_long.finding(_piece_words(too_long.piece, naming), candidate.subject.id or cable_name(candidate))
        for too_long, candidate in found
    ]


def _stock_id(candidate: Candidate) -> str | UnsetType:
    return UNSET if candidate.subject.id is None else candidate.subject.id


def length_row(length_m: float, naming: PlaceNames) -> ShownLength:
    """A length in the unit of the reply. [m]"""
    return ShownLength(naming.length(length_m), naming.length_unit)  # type: ignore[arg-type]  # lengths of a job are in m or ft


def outcome_row(assessment: Assessment, naming: PlaceNames) -> Outcome:
    """What a choice does; nothing is shown of one that cannot carry its load."""
    taps = [volts(tap_v) for tap_v in assessment.taps_v] or UNSET
    if any(violation.kind is NO_OPERATING_POINT for violation in assessment.violations):
        broken = [_broken(violation, naming) for violation in assessment.violations]
        return Outcome(passes=False, breaks=broken, taps=taps)
    kinds = {violation.kind for violation in assessment.violations}
    return Outcome(
        passes=assessment.passes,
        breaks=[_broken(violation, naming) for violation in assessment.violations],
        lowest_voltage=_volts(assessment.lowest_v, -1 if FIXTURE_BELOW_WINDOW in kinds else 0),
        highest_voltage=_volts(assessment.highest_v, 1 if FIXTURE_ABOVE_WINDOW in kinds else 0),
        drop_percent=UNSET
        if assessment.drop_ratio is None
        else rounded(100.0 * assessment.drop_ratio, DECIMALS["%"], 1 if DROP_OVER_LIMIT in kinds else 0),
        cable_loss=UNSET if assessment.cable_loss_w is None else watts(assessment.cable_loss_w),
        taps=taps,
        loading_ratio=UNSET
        if assessment.loading_ratio is None
        else rounded(assessment.loading_ratio, DECIMALS["1"], int(over_rating(assessment.loading_ratio))),
    )


def chosen_rows(recommendation: Recommendation, found: Found, naming: PlaceNames) -> list[ChosenCable]:
    """What was chosen for each cable of the request; spans in a row with the same choice are told as one."""
    rows: list[ChosenCable] = []
    chosen = {
        index: recommendation.compared[choice].candidate
        for slot, choice in zip(recommendation.slots, found.choice, strict=True)
        for index in slot.spans
    }
    length_m = 0.0
    for index, candidate in sorted(chosen.items()):
        span = recommendation.spans[index]
        start, end = naming.points[span.start], naming.points[span.end]
        last = rows[-1] if rows else None
        stock_id = UNSET if candidate.subject.id is None else candidate.subject.id
        name = cable_name(candidate)
        joins = last is not None and (last.pointer, last.conductor, last.stock_id, last.end) == (
            span.cable_at,
            name,
            stock_id,
            start,
        )
        if joins and last is not None:
            start = last.start
            rows.pop()
        length_m = length_m + span.length_m if joins else span.length_m
        shown = ShownLength(naming.length(length_m), naming.length_unit)  # type: ignore[arg-type]  # lengths of a job are in m or ft
        rows.append(ChosenCable(span.cable_at, start, end, shown, name, stock_id))
    return rows


def cable_name(candidate: Candidate) -> str:
    """Size of a candidate, and its material where that is not copper."""
    material = candidate.conductor.material or "copper"
    return candidate.conductor.name if material == "copper" else f"{candidate.conductor.name} {material}"


def chosen_taps(feeders: tuple[Feeder, ...], found: Found) -> list[ChosenTap] | UnsetType:
    """The tap of each feeder, where the taps were open."""
    if not found.assessment.taps_v:
        return UNSET
    return [
        ChosenTap(feeder.subject.pointer, volts(tap_v))
        for feeder, tap_v in zip(feeders, found.assessment.taps_v, strict=True)
    ]


def _broken(violation: Violation, naming: PlaceNames) -> BrokenLimit:
    if violation.kind is NO_OPERATING_POINT or violation.unit == NOT_MEASURED:
        return BrokenLimit(violation.code, subject_row(violation.subject))
    towards = -1 if violation.kind is FIXTURE_BELOW_WINDOW else 1
    return BrokenLimit(
        violation.code,
        subject_row(violation.subject),
        shown_amount(Amount(violation.measured, violation.unit, towards), naming),
        shown_amount(Amount(violation.limit, violation.unit), naming),
    )


def _volts(value: float | None, towards: int) -> ShownVoltage | UnsetType:
    return UNSET if value is None else volts(value, towards)


"""By the pointer to a cable: where each stretch begins [m], whether it is a return leg, its conductor."""
