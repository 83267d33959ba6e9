"""What the supply carries in its worst state, and the smallest transformer with which the job passes.

Each estimate follows the charges of its study, with as many points as the wiring may need at most. What a
state takes beyond the usual because it is near its limit is not foreseen.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from math import ceil
from typing import Final, NamedTuple

from service import tables
from service.circuit.corners import AS_STATED, corners_of
from service.circuit.envelope import EnvelopeResult, envelope_of
from service.circuit.estimate import (
    Estimate,
    corner_count,
    corner_work,
    drop_work,
    estimate_of,
    findings_work,
    refuse_over_limit,
    size_of,
)
from service.circuit.growth import paid
from service.circuit.job import Feeder, Job, JobPart
from service.circuit.layout import Layout
from service.circuit.limits import over_share, rated_too_low
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.reading import BuiltState, CircuitResult, Margin, built_on
from service.circuit.state import Connected, connect_job
from service.circuit.work import MAXIMUM_WORK, Budget, WorkOverLimitError, held_back, work_of, work_of_judging
from service.findings.assumptions import STATED_STATE_ONLY, AssumptionKind, assumptions_of, sources_of
from service.findings.finding import (
    FAULT,
    GRAVEST_FIRST,
    NOTE,
    WARNING,
    Amount,
    FindingFacts,
    FindingKind,
    corner_text,
)
from service.findings.judge import unsolved_findings
from service.findings.limits import RANGE_NOT_HELD, range_finding, unaccepted
from service.findings.loading import (
    BELOW_MINIMUM_LOAD,
    DC_SUPPLY_OVER_RATING,
    TRANSFORMER_OVER_RATING,
    WINDING_OVER_CURRENT,
)
from service.findings.protection import (
    CONDUCTOR_BELOW_DEVICE,
    SHORT_CIRCUIT_BELOW_TRIP,
    circuits_named,
    device_not_stated,
)
from service.findings.voltage import NO_OPERATING_POINT, collapse_finding
from service.physics.certificate import can_be_carried, largest_factor, worst_open_circuit_drop
from service.studies.transformer_loading.division import QUICK_STEPS, divide_where_known
from service.studies.transformer_loading.loading import (
    PLATE_DECIMALS,
    LoadSum,
    StateLoading,
    connected_load,
    found_in,
    highest_circuits,
    worst_of,
)
from service.studies.transformer_loading.reasons import CIRCUIT_REASONS, RATED_TOO_LOW, TAP_MISSING
from service.studies.transformer_loading.selection import (
    DIVISION_NEAR_LIMIT,
    OF_A_PLATE,
    Demand,
    LoadingJob,
    Reason,
    Rejected,
    Selection,
    TransformerUnit,
    circuit_of,
    division_near_limit,
    run_currents,
    select,
    used_taps,
    usual_units,
)
from service.studies.voltage_drop.study import collapsed, collapsed_alone

EASILY_DIVIDED = 10
"""Runs whose division over circuits is no work to speak of."""


UNITS_SOLVED = 8
"""Transformers of a stock that are solved, of those that sag unlike."""


STATES_OF_A_SHARE = 10
"""States that the search for the share of a load solves that can be carried."""


def transformer_loading_work(loading_job: LoadingJob) -> Estimate:
    """Of a loading: a voltage drop, and each transformer that is solved and judged in every state."""
    job = loading_job.job
    size = size_of(job)
    # A state with a little more load is solved where the certificate alone does not show room for it.
    first = drop_work(job, size) + work_of(size.effort)
    if _to_be_placed(job):
        first += work_of(size.effort)
    # What collapses as stated is looked at in every corner.
    corners = corner_count(job) * STATES_OF_A_SHARE * work_of(size.effort)
    if job.supply.direct_current:
        return estimate_of(first, corners + findings_work(job, size))
    each = (1 + corner_count(job)) * work_of(size.effort)
    # Judged it is with what is left, the growth of its load and what may be on alone included.
    judging = each + work_of(size.effort) + work_of_judging(size.points) + corner_work(job, size)
    sags = min(len({unit.sag for unit in loading_job.stock}) or 1, UNITS_SOLVED)
    more = corners + min((sags - 1) * each + sags * judging, 2 * MAXIMUM_WORK)
    more += 2 * findings_work(job, size)
    if job.usual_range:
        # What no transformer holds over the range is asked again as stated.
        more += first + each + more
    if loading_job.spare_ratio is None:
        # What none passes with is asked again without the spare that nobody asked for.
        more += first + each + corners + sags * judging + 2 * findings_work(job, size)
    if size.feeders > EASILY_DIVIDED:
        more += MAXIMUM_REQUEST_WORK // 2
    return estimate_of(first + each, more, turned=size.turned)


class PrimaryResult(NamedTuple):
    """The mains side of an ideal core. [V], [A], [VA]"""

    voltage_v: float
    current_a: float
    apparent_va: float


class StatedLoading(NamedTuple):
    """The stated supply: its worst state, each circuit at its highest current, the mains side if known."""

    worst: StateLoading
    circuits: tuple[CircuitResult, ...]
    primary: PrimaryResult | None


class CircuitAssignment(NamedTuple):
    """A run, or all feeders that meet behind it, and the circuit of the stated supply on which it is put."""

    run: JobPart
    circuit: str


class LoadingAnswer(NamedTuple):
    """The answer; where the stated supply has no operating point, `loaded` is the share that it could carry.

    `selection` is None on direct current, for which there is no transformer to choose. `behind_offered`:
    what the one that is recommended, or else the nearest, breaks that the stated supply does not. `stated`
    and `offered` are all that is found with each, and `shortage` is what the stated one lacks of the
    connected load and the spare. `as_stated`: all is judged in the stated state, because no transformer holds
    the usual range; `stated_holds_range` says whether the stated one does.
    """

    layout: Layout
    connected: LoadSum
    loaded: StatedLoading | Margin
    selection: Selection | None
    findings: list[FindingFacts]
    assumptions: list[AssumptionKind]
    sources: list[str]
    least_rating_va: float
    stated: tuple[FindingFacts, ...]
    offered: tuple[FindingFacts, ...] = ()
    shortage: Reason | None = None
    behind_offered: tuple[FindingFacts, ...] = ()
    placements: tuple[CircuitAssignment, ...] = ()
    as_stated: bool = False
    stated_holds_range: bool = False
    usual_spare: bool = True


def transformer_loading(loading_job: LoadingJob) -> LoadingAnswer:
    """Load the stated supply in the stated state and in every corner, and choose a transformer.

    Raises
    ------
    JobTooLargeError
        More points or loops than one request may ask for.
    WiringContradictoryError
        A graph that cannot be wired as it is described.
    WorkOverLimitError
        More states had to be solved than one request may ask for.
    """
    refuse_over_limit(transformer_loading_work(loading_job))
    answer = _with_spare(loading_job)
    selection = answer.selection
    if selection is None or selection.recommended is not None or loading_job.spare_ratio is not None:
        return answer
    # Without the work for a second answer the first one stands.
    with held_back(WORK_OF_THE_REST), suppress(WorkOverLimitError):
        return _without_usual_spare(loading_job, answer)
    return answer


def _with_spare(loading_job: LoadingJob) -> LoadingAnswer:
    """The choice over the range, or as stated where only so a transformer passes."""
    answer = _answered(loading_job)
    selection = answer.selection
    if selection is None or selection.recommended is not None or not loading_job.job.usual_range:
        return answer
    with held_back(WORK_OF_THE_REST), suppress(WorkOverLimitError):
        return _as_stated(loading_job, answer, selection)
    return answer


USUAL_SPARE_NOT_MET: Final = FindingKind(
    "usual-spare-not-met",
    (NOTE,),
    "No transformer on offer passes with the usual spare: the fixtures, spare included, need {measured}."
    " Without it {box} passes.",
    "The recommended transformer carries the job, without the spare that is common practice and that the"
    " request does not ask for.",
)


def _without_usual_spare(loading_job: LoadingJob, spared: LoadingAnswer) -> LoadingAnswer:
    """What passes without the spare that nobody asked for, where nothing does with it; else as it was.

    The range is not given up as well: one that passes has room at the lowest mains.
    """
    answer = _answered(loading_job._replace(spare_ratio=0.0))
    taken = None if answer.selection is None else answer.selection.recommended
    if taken is None or not rated_too_low(taken.unit.rating_va, spared.least_rating_va):
        return spared
    source = tables.constant("spare_capacity_ratio").source
    found = USUAL_SPARE_NOT_MET.found(
        _place(taken.unit),
        source,
        measured=Amount(spared.least_rating_va, "VA", 1),
        limit=Amount(taken.unit.rating_va, "VA"),
        parameters=(("box", _named(taken.unit)),),
    )
    return answer._replace(
        findings=[*answer.findings, found],
        sources=list(dict.fromkeys([*answer.sources, source])),
        least_rating_va=spared.least_rating_va,
        shortage=spared.shortage,
        usual_spare=False,
    )


WORK_OF_THE_REST: Final = 500
"""Work of what follows the choice, beside solving."""


def _answered(loading_job: LoadingJob) -> LoadingAnswer:
    """The stated supply and the choice of a transformer, both in the same states."""
    connected = connect_job(loading_job.job)
    placements: tuple[CircuitAssignment, ...] = ()
    if _to_be_placed(loading_job.job):
        connected, placements = _on_circuits(connected)
    loaded, findings = _load(connected, loading_job.maximum_ratio)
    demand = _demand(loading_job, connected)
    found = [*findings, *_connected_over(loading_job, connected, loaded)]
    spare = _without_spare(loading_job, connected, demand, found)
    stated = [*found, *spare]
    choice = _choose(loading_job, connected, demand)
    selection = choice.selection
    findings = [*stated, *_not_found(choice.findings, stated)]
    behind = _not_as_grave(choice.behind, findings)
    primary_shown = isinstance(loaded, StatedLoading) and loaded.primary is not None
    own = choice_assumptions(
        loading_job, selection, primary_shown=primary_shown, circuits=_circuits(connected)
    )
    sources = [*sources_of(connected, [*findings, *behind]), *choice_sources(loading_job, selection)]
    return LoadingAnswer(
        layout=connected.layout,
        connected=demand.connected,
        loaded=loaded,
        selection=selection,
        findings=findings,
        assumptions=[*assumptions_of(connected), *own, *([RUNS_PLACED] if placements else [])],
        sources=list(dict.fromkeys(sources)),
        least_rating_va=demand.least_va,
        stated=tuple(stated),
        offered=choice.offered,
        shortage=None if spare else _shortage(connected, demand),
        behind_offered=behind,
        placements=placements,
    )


def _as_stated(loading_job: LoadingJob, over_range: LoadingAnswer, selection: Selection) -> LoadingAnswer:
    """All of it as stated, where a transformer passes so and none holds the range; else as it was.

    One that carries the job as stated alone is better than none.
    """
    answer = _answered(loading_job._replace(job=loading_job.job.as_stated()))
    if answer.selection is None or (selection.nearest is not None and answer.selection.recommended is None):
        return over_range
    chosen = answer.selection.offered
    if chosen is None:
        return over_range
    not_held = _range_not_held(chosen.unit, selection, loading_job.accepted)
    if not_held is None:
        return over_range
    return answer._replace(
        findings=[*answer.findings, not_held],
        sources=list(dict.fromkeys([*answer.sources, not_held.source])),
        as_stated=True,
        stated_holds_range=over_range.shortage is None
        and not unaccepted(over_range.stated, loading_job.accepted),
    )


def _shortage(connected: Connected, demand: Demand) -> Reason | None:
    """What the rating of the stated supply lacks of the connected load and the spare."""
    supply = connected.job.supply
    rating, unit = (supply.rating_w, "W") if supply.winding is None else (supply.winding.rating_va, "VA")
    if rating is None or not rated_too_low(rating, demand.spared_va):
        return None
    return Reason(demand.too_low, Amount(demand.spared_va, unit, 1), Amount(rating, unit))


def _circuits(connected: Connected) -> int:
    """Circuits of the stated supply, and those that the wiring names beside them."""
    return len(connected.feed.circuits)


def _to_be_placed(job: Job) -> bool:
    """Whether the stated supply has several circuits and a run does not say on which of them it is."""
    return len(job.supply.circuits) > 1 and any(feeder.circuit is None for feeder in job.feeders())


def _on_circuits(connected: Connected) -> tuple[Connected, tuple[CircuitAssignment, ...]]:
    """The runs that name no circuit put beside the others, so that the fullest is as empty as can be.

    Runs are divided by their current in the stated state. Where the wiring cannot carry its load the runs
    stay where they are.
    """
    job, feeders = connected.job, connected.job.feeders()
    reading = built_on(connected).read()
    if reading is None:
        return connected, ()
    runs, declared = runs_of(connected), job.supply.circuits
    named = [_stated_circuit(feeders, own) for _, own in runs]
    held = [0.0] * len(connected.feed.circuits)
    for feeder, amps in enumerate(reading.feeder_a):
        if feeders[feeder].circuit is not None:
            held[connected.feed.circuit_of[feeder]] += abs(amps)
    left = tuple(run for run, circuit in zip(runs, named, strict=True) if circuit is None)
    currents = run_currents(left, [StateLoading(AS_STATED, reading)])
    division = divide_where_known(
        [run.current_a for run in currents],
        [circuit.limit_a for circuit in declared],
        held=held[: len(declared)],
        steps=QUICK_STEPS,
    )
    placed = iter(division.circuit_of)
    moved, assigned = list(feeders), list[CircuitAssignment]()
    for (subject, own), circuit in zip(runs, named, strict=True):
        name = declared[next(placed)].name if circuit is None else circuit
        left_open = [feeder for feeder in own if feeders[feeder].circuit is None]
        for feeder in left_open:
            moved[feeder] = moved[feeder]._replace(circuit=name)
        if left_open:
            assigned.append(CircuitAssignment(subject, name))
    return connect_job(job.with_feeders(moved)), tuple(assigned)


def _stated_circuit(feeders: tuple[Feeder, ...], own: tuple[int, ...]) -> str | None:
    """The circuit that one of the feeders that meet behind the supply names; None where none does."""
    return next((name for feeder in own if (name := feeders[feeder].circuit) is not None), None)


LOADING_OVER_SHARE: Final = FindingKind(
    "loading-over-share",
    (FAULT,),
    "The supply is loaded to {measured} of its rating; the request allows {limit}.",
    "The stated supply carries more of its rating than the request allows.",
)


def _over_share(most: StateLoading, maximum_ratio: float | None) -> list[FindingFacts]:
    """The stated supply, by volt-amperes or current, against the share of its rating that is allowed."""
    ratio, rating_va = most.supply.used_ratio, most.supply.rating_va
    if maximum_ratio is None or ratio is None or rating_va is None:
        return []
    if not over_share(most.supply.used_va, rating_va, maximum_ratio):
        return []
    return [
        LOADING_OVER_SHARE.found(
            most.state.job.supply.subject,
            "caller",
            measured=Amount(100.0 * ratio, "%", 1),
            limit=Amount(100.0 * maximum_ratio, "%"),
            parameters=(("measured", f"{ceil(100.0 * ratio)} %"),),
            corner=None if most.corner == AS_STATED else most.corner,
        )
    ]


CONNECTED_OVER_RATING: Final = FindingKind(
    "connected-over-rating",
    (FAULT,),
    "Whatever the cable, the fixtures are made to draw {measured}, and the supply may be loaded to {limit}."
    " Take a larger one or split the load.",
    "Of wiring that cannot carry its load: the fixtures by their plates ask for more than the supply gives.",
)


def _connected_over(
    loading_job: LoadingJob, connected: Connected, loaded: StatedLoading | Margin
) -> list[FindingFacts]:
    """The plates of the fixtures against the supply, where no state is solved that shows what is drawn."""
    supply, load = connected.job.supply, connected_load(connected)
    rating = supply.rating_w if supply.winding is None else supply.winding.rating_va
    if isinstance(loaded, StatedLoading) or rating is None:
        return []
    asked, unit = (load.real_w, "W") if supply.direct_current else (load.apparent_va, "VA")
    allowed = 1.0 if loading_job.maximum_ratio is None else loading_job.maximum_ratio
    limit = round(allowed * rating, PLATE_DECIMALS)
    if not over_share(asked, rating, allowed):
        return []
    over = CONNECTED_OVER_RATING.found(
        supply.subject, "caller", measured=Amount(asked, unit, 1), limit=Amount(limit, unit)
    )
    return [over]


RATING_BELOW_CONNECTED: Final = FindingKind(
    RATED_TOO_LOW.code,
    (FAULT,),
    "The fixtures, with the spare that was requested, need {measured}; the supply is rated {limit}.",
    "The stated supply does not have the spare that the request asks for.",
)


TOO_SMALL: Final = frozenset(
    {
        CONNECTED_OVER_RATING,
        DC_SUPPLY_OVER_RATING,
        LOADING_OVER_SHARE,
        TRANSFORMER_OVER_RATING,
        WINDING_OVER_CURRENT,
    }
)
"""What says that a supply is too small even without a spare."""


def _without_spare(
    loading_job: LoadingJob, connected: Connected, demand: Demand, found: list[FindingFacts]
) -> list[FindingFacts]:
    """The stated supply against the spare that the request asks for; the usual one is no more than advice.

    `found`: what is found of it otherwise; one that is too small without a spare is told so once.
    """
    shortage = _shortage(connected, demand)
    if loading_job.spare_ratio is None or shortage is None or any(each.kind in TOO_SMALL for each in found):
        return []
    subject = connected.job.supply.subject
    return [RATING_BELOW_CONNECTED.found(subject, "caller", shortage.measured, shortage.limit)]


def _load(
    connected: Connected, maximum_ratio: float | None
) -> tuple[StatedLoading | Margin, list[FindingFacts]]:
    """The stated supply in its worst state and what all states show; or the share that it could carry."""
    job, built = connected.job, built_on(connected)
    stated = built.read()
    if stated is None:
        return _collapsed(built)
    envelope = EnvelopeResult() if job.corners is None else envelope_of(built, job.corners)
    states = [StateLoading(*each) for each in [(AS_STATED, stated), *envelope.states]]
    worst = worst_of(states)
    loading = StatedLoading(worst, highest_circuits(states), _primary(job, worst))
    return loading, [*found_in(stated, envelope), *_over_share(worst, maximum_ratio)]


def _collapsed(stated: BuiltState) -> tuple[Margin, list[FindingFacts]]:
    """The share of the load that every state that is judged carries, and what gives way as stated."""
    job = stated.connected.job
    answer = collapsed(stated, collapsed_alone(job))
    share, worst = answer.margin.exact or 0.0, AS_STATED
    states = list(map(stated.at, corners_of(job.corners)))
    # What is likely to be the worst first, so that one search is enough.
    for state in sorted(states, key=lambda each: -worst_open_circuit_drop(each.network)):
        if not paid(can_be_carried)(state.network.scaled(share)):
            share = largest_factor(state.network, paid(can_be_carried), certain=0.0)
            worst = state.corner
    if worst == AS_STATED:
        return answer.margin, answer.findings
    found = [
        collapse_finding(stated.connected, each.subject, share=share, state=corner_text(worst))
        if each.kind is NO_OPERATING_POINT
        else each
        for each in answer.findings
    ]
    return Margin(exact=share), found


def _primary(job: Job, worst: StateLoading) -> PrimaryResult | None:
    """The mains side, where the request says what the mains are."""
    mains = worst.state.job.supply.mains
    if job.supply.mains is None or mains is None:
        return None
    return PrimaryResult(mains.actual_v, worst.primary_va / mains.actual_v, worst.primary_va)


class _Choice(NamedTuple):
    """What was chosen, what is to be said of it, and all that is found with the one that is offered."""

    selection: Selection | None
    findings: list[FindingFacts]
    behind: list[FindingFacts]
    offered: tuple[FindingFacts, ...] = ()


def _demand(loading_job: LoadingJob, connected: Connected) -> Demand:
    """What a transformer must carry."""
    return Demand(
        job=loading_job.job,
        connected=connected_load(connected),
        spare_ratio=loading_job.spare,
        maximum_ratio=1.0 if loading_job.maximum_ratio is None else loading_job.maximum_ratio,
        runs=runs_of(connected),
        of_any=frozenset((each.code, each.subject) for each in unsolved_findings(connected)),
        accepted=loading_job.accepted,
    )


def _choose(loading_job: LoadingJob, connected: Connected, demand: Demand) -> _Choice:
    """Choose a transformer; on direct current there is none to choose."""
    job = loading_job.job
    if job.supply.direct_current:
        return _Choice(None, [direct_current_finding(job.supply.subject)], [])
    units = loading_job.stock or usual_units(used_taps(job), _circuits(connected))
    selection = select(units, demand, Budget())
    findings = selection_findings(selection, units, wanted_va=demand.least_va)
    own, behind = _warned(selection)
    findings += [*own, *_without_device(selection, demand, connected)]
    everywhere = () if selection.offered is None else selection.offered.everywhere
    return _Choice(selection, findings, behind, (*own, *behind, *everywhere))


def _without_device(selection: Selection, demand: Demand, connected: Connected) -> list[FindingFacts]:
    """That circuits of the unit on offer have no stated device, and the largest their cable allows."""
    chosen = selection.offered
    if chosen is None or not chosen.unstated:
        return []
    unit = chosen.unit
    feed = connected.feed._replace(circuit_of=circuit_of(demand, chosen))
    names = [unit.circuit_names()[circuit] for circuit in chosen.unstated]
    usual = "the recommended one" if selection.recommended else f"the {unit.called}"
    name = f'transformer "{unit.subject.id}"' if unit.of_stock else f"{usual} of the usual ratings"
    if unit.circuits and unit.of_stock:
        name = f"{circuits_named(names)} of {name}"
    return [device_not_stated(replace(connected, feed=feed), chosen.unstated, _place(unit), name)]


def _place(unit: TransformerUnit) -> JobPart:
    """Where a unit stands in the request; the usual ratings do not, and then it is about the supply."""
    return JobPart(unit.subject.pointer or "/supply", unit.subject.id)


def _not_found(found: list[FindingFacts], before: list[FindingFacts]) -> list[FindingFacts]:
    """Findings that are not among those of the stated supply, which may be like the recommended."""
    before_too = {(each.kind, each.subject, each.limit) for each in before}
    return [each for each in found if (each.kind, each.subject, each.limit) not in before_too]


def _not_as_grave(found: list[FindingFacts], before: list[FindingFacts]) -> tuple[FindingFacts, ...]:
    """Findings behind the transformer on offer that the stated supply does not show, or less gravely."""
    known: dict[tuple[str, JobPart], int] = {}
    for each in before:
        key, grave = (each.code, each.subject), GRAVEST_FIRST[each.severity]
        known[key] = min(grave, known.get(key, grave))
    return tuple(
        each for each in found if GRAVEST_FIRST[each.severity] < known.get((each.code, each.subject), NEVER)
    )


NEVER: Final = len(GRAVEST_FIRST)
"""The gravity of what is not found."""


def _range_not_held(
    unit: TransformerUnit, over_range: Selection, accepted: frozenset[str]
) -> FindingFacts | None:
    """What keeps a unit from the whole range, a lamp first; None where the work ended before it was tried."""
    chosen = over_range.nearest
    if chosen is not None and chosen.unit == unit:
        return _range_of(unit, unaccepted(chosen.warnings, accepted))
    (rejected,) = [each for each in over_range.rejected if each.unit == unit]
    if broken := [each.finding for each in rejected.reasons if each.finding is not None]:
        return _range_of(unit, broken)
    reason = rejected.reasons[0]
    if not reason.kind.in_the_range:
        return None
    words = reason.kind.in_the_range.format(measured=_text(reason.measured), limit=_text(reason.limit))
    return RANGE_NOT_HELD.found(
        _place(unit),
        "own-calculation",
        reason.measured,
        reason.limit,
        (("where", _sized(unit)), ("shown", words), ("beyond", ""), ("broken", reason.kind.code)),
    )


def _range_of(unit: TransformerUnit, broken: list[FindingFacts]) -> FindingFacts:
    """What a unit breaks over the range, as every choice says it; of the unit itself by its rating."""
    found = range_finding(broken)
    if found.subject != unit.subject:
        return found
    return found._replace(subject=_place(unit), parameters=(("where", _sized(unit)), *found.parameters))


def _sized(unit: TransformerUnit) -> str:
    return f"A transformer of {unit.rating_va:g} VA"


def _text(amount: Amount | None) -> str:
    """A quantity inside a sentence, to a tenth."""
    return "" if amount is None else f"{amount.value:.1f} {amount.unit}"


def _warned(selection: Selection) -> tuple[list[FindingFacts], list[FindingFacts]]:
    """What is to be said of the unit that is recommended, or else nearest, and of the job behind it."""
    chosen = selection.offered
    if chosen is None:
        return [], []
    place = _place(chosen.unit)
    found = [
        each._replace(subject=place) if each.subject == chosen.unit.subject else each
        for each in chosen.warnings
        if each.kind is not DIVISION_NEAR_LIMIT
    ]
    own = [_of_its_circuits(each, selection.box) for each in found if each.kind in OF_A_PLATE]
    behind = [each for each in found if each.kind not in OF_A_PLATE]
    return [*own, *division_near_limit(chosen, selection.box)], behind


OF_ITS_DEVICES: Final = (CONDUCTOR_BELOW_DEVICE, SHORT_CIRCUIT_BELOW_TRIP)
"""What is found of the wiring because of the devices of a box."""


def _of_its_circuits(found: FindingFacts, box: str) -> FindingFacts:
    """A finding of the unit on offer that names a circuit or the supply, which is not the stated one."""
    if found.kind in OF_ITS_DEVICES:
        return found._replace(parameters=(*found.parameters, ("box", box)))
    if found.kind is BELOW_MINIMUM_LOAD:
        return found._replace(parameters=(("box", box),))
    carries = dict(found.parameters).get("carries")
    if carries is None:
        return found
    return found._replace(
        parameters=(
            ("carries", f"of {box} {carries}"),
            *(part for part in found.parameters if part[0] != "carries"),
        )
    )


def runs_of(connected: Connected) -> tuple[tuple[JobPart, tuple[int, ...]], ...]:
    """What can be put on a circuit by itself: each run, or all feeders that a graph joins."""
    leaders = connected.layout.leaders
    return tuple(
        (end.subject, tuple(feeder for feeder, leader in enumerate(leaders) if leader == end.feeder))
        for end in connected.layout.run_ends()
    )


NO_TRANSFORMER_FITS: Final = FindingKind(
    "no-transformer-fits",
    (FAULT,),
    "No transformer on offer carries this job{reason}.",
    "Every transformer of the stock, or of the usual ratings, lacks something.",
)


NO_TRANSFORMER_PASSES: Final = FindingKind(
    "no-transformer-passes",
    (FAULT, WARNING),
    "No transformer on offer passes with this job. {box} comes nearest.",
    "Some of the stock, or of the usual ratings, carry the job, and each leaves a fault, or a warning that is"
    " not accepted. Where the nearest leaves only warnings, so is this.",
)


def selection_findings(
    selection: Selection, units: tuple[TransformerUnit, ...], *, wanted_va: float
) -> list[FindingFacts]:
    """What stands in the way where no unit is recommended. [VA]"""
    if selection.recommended is not None:
        return []
    largest_va = max(unit.rating_va for unit in units)
    # Stock has a place in the request; the usual ratings do not, and then it is about the supply.
    subject = JobPart("/stock" if units[0].of_stock else "/supply")
    if (nearest := selection.nearest) is not None:
        broken = {each.severity for each in (*nearest.warnings, *nearest.everywhere)}
        return [
            NO_TRANSFORMER_PASSES.found(
                subject,
                "own-calculation",
                parameters=(("box", _named(nearest.unit)),),
                severity=FAULT if FAULT in broken else WARNING,
            )
        ]
    source = "caller" if units[0].of_stock else tables.usual_ratings()[-1].source
    large_enough = [each for each in selection.rejected if not rated_too_low(each.unit.rating_va, wanted_va)]
    if large_enough:
        lacking = (("reason", _lacking(large_enough, selection.rejected)),)
        none_fits = NO_TRANSFORMER_FITS.found(subject, source, parameters=lacking)
    else:
        wanted, largest = Amount(wanted_va, "VA", 1), Amount(largest_va, "VA")
        size = f"it asks for {_rounded_up(wanted_va)} VA, spare included, and the largest is rated"
        small = (("reason", f": {size} {largest_va:.12g} VA"),)
        none_fits = NO_TRANSFORMER_FITS.found(subject, source, wanted, largest, small)
    return [none_fits, *_division_findings(selection.rejected)]


def _named(unit: TransformerUnit) -> str:
    """A unit by its rating and, where it has one, its name."""
    return f"{unit.rating_va:g} VA" + (f" ({unit.called})" if unit.of_stock else "")


def _rounded_up(value: float) -> str:
    """A quantity inside a sentence, never less than it is, to two decimals."""
    return f"{ceil(round(100.0 * value, PLATE_DECIMALS)) / 100.0:.12g}"


def _lacking(large_enough: list[Rejected], rejected: tuple[Rejected, ...]) -> str:
    """What those that are large enough lack: a tap that none of them has, else what the nearest lacks."""
    nearest = min(large_enough, key=lambda each: (len(each.reasons), each.unit.rating_va))
    missing = set.intersection(*(_missing_taps(each) for each in large_enough))
    if not missing:
        return f". {nearest.reasons[0].kind.lacks}"
    taps = " or ".join(f"a {tap_v:g} V tap" for tap_v in sorted(missing))
    nobody = all(missing <= _missing_taps(each) for each in rejected)
    return f": none has {taps}" if nobody else f": none that is large enough has {taps}"


def _missing_taps(rejected: Rejected) -> set[float]:
    """Taps in use that a unit does not offer. [V]"""
    return {each.measured.value for each in rejected.reasons if each.kind is TAP_MISSING and each.measured}


DIVISION_IMPOSSIBLE: Final = FindingKind(
    "division-impossible",
    (FAULT,),
    "{where} does not fit on the circuits of the largest transformer that would carry the load: {measured}"
    " against {limit}. Split the run, or take one with more circuits.",
    "No division of the runs was found that keeps every circuit within its limit.",
)


def _division_findings(rejected: tuple[Rejected, ...]) -> list[FindingFacts]:
    """The run that does not fit on the circuits of the largest unit that lacks nothing but circuits."""
    short = [each for each in rejected if {reason.kind for reason in each.reasons} <= CIRCUIT_REASONS]
    if not short:
        return []
    nearest = max(short, key=lambda each: each.unit.rating_va)
    reason = nearest.reasons[0]
    return [
        DIVISION_IMPOSSIBLE.found(
            reason.subject or nearest.unit.subject,
            "caller" if nearest.unit.of_stock else tables.constant("secondary_circuit_limit").source,
            measured=reason.measured,
            limit=reason.limit,
        )
    ]


NO_TRANSFORMER_ON_DIRECT_CURRENT: Final = FindingKind(
    "no-transformer-on-direct-current",
    (NOTE,),
    "The wiring is fed with direct current, which no transformer gives, so none is recommended.",
    "A transformer was to be chosen for a DC supply or a battery.",
)


def direct_current_finding(subject: JobPart) -> FindingFacts:
    """A job on direct current, for which no transformer can be recommended."""
    return NO_TRANSFORMER_ON_DIRECT_CURRENT.found(subject, "own-calculation")


CONNECTED_ADDED_UP: Final = AssumptionKind(
    "connected-added-up",
    "The connected volt-amperes are the fixtures' own, added up as plain numbers; where power factors"
    " differ the true sum is smaller.",
)

CORE_IDEAL: Final = AssumptionKind(
    "core-ideal",
    "The primary current leaves out what magnetises the core, some per cent of the rated current.",
)

SPARE_10_PERCENT: Final = AssumptionKind(
    "spare-10-percent",
    f"The transformer is to have {100.0 * tables.constant('spare_capacity_ratio').value:g} % to spare above"
    " the connected volt-amperes: common practice, no published source.",
)

USUAL_RATINGS: Final = AssumptionKind(
    "usual-ratings",
    "No stock was sent, so transformers of the usual ratings were tried, each with every tap in use, a"
    " voltage that does not sag, and as many circuits as it fills at the lowest tap with"
    f" {tables.constant('secondary_circuit_limit').value:g} A each, the most that a circuit of low-voltage"
    " lighting may have. The device of each is not known.",
)

USUAL_CIRCUITS: Final = AssumptionKind(
    "usual-circuits",
    "A transformer of the usual ratings is taken to have no fewer circuits than the stated supply has, those"
    " included that the wiring names.",
)

RUNS_PLACED: Final = AssumptionKind(
    "runs-placed",
    "A run that names no circuit is put on one of the stated supply, beside those that name theirs, so that"
    " the fullest is as empty as can be; `placement` says which goes where.",
)

RECOMMENDED_PARTLY_JUDGED: Final = AssumptionKind(
    "recommended-partly-judged",
    "The work ended before everything that may be on alone was looked at behind the transformer that is"
    " recommended, or else nearest: send it to voltage-drop as well.",
)

STOCK_WITHOUT_REGULATION: Final = AssumptionKind(
    "stock-without-regulation",
    "A transformer of the stock without a regulation holds its rated voltage at any load.",
)

STOCK_WITHOUT_CIRCUITS: Final = AssumptionKind(
    "stock-without-circuits",
    "A transformer of the stock without circuits has one, whose device is not known.",
)

PRICES_WITHOUT_CURRENCY: Final = AssumptionKind(
    "prices-without-currency",
    "The prices of the stock are all in one currency, which is not stated.",
)

RUNS_ADDED_UP: Final = AssumptionKind(
    "runs-added-up",
    "Runs are divided by the highest current of each in any state, added up as plain numbers; a clamp"
    " round a whole circuit may read less.",
)


def choice_assumptions(
    loading_job: LoadingJob, selection: Selection | None, *, primary_shown: bool, circuits: int
) -> list[AssumptionKind]:
    """The assumptions, in a fixed order."""
    stock = () if selection is None else loading_job.stock
    held = {
        CONNECTED_ADDED_UP: True,
        STATED_STATE_ONLY: loading_job.job.corners is None,
        CORE_IDEAL: primary_shown,
        SPARE_10_PERCENT: selection is not None and loading_job.spare_ratio is None,
        USUAL_RATINGS: selection is not None and not stock,
        USUAL_CIRCUITS: selection is not None and not stock and circuits > 1,
        RECOMMENDED_PARTLY_JUDGED: selection is not None
        and selection.offered is not None
        and not selection.offered.judged,
        STOCK_WITHOUT_REGULATION: any(unit.regulation_ratio is None for unit in stock),
        STOCK_WITHOUT_CIRCUITS: any(not unit.circuits for unit in stock),
        PRICES_WITHOUT_CURRENCY: loading_job.currency is None
        and any(unit.price is not None for unit in stock),
        RUNS_ADDED_UP: selection is not None and selection.offered is not None,
    }
    return [kind for kind, holds in held.items() if holds]


def choice_sources(loading_job: LoadingJob, selection: Selection | None) -> list[str]:
    """Ids of the sources, in the order of use; none where nothing was chosen."""
    if selection is None:
        return []
    held = {
        tables.constant("spare_capacity_ratio").source: loading_job.spare_ratio is None,
        tables.usual_ratings()[0].source: not loading_job.stock,
        tables.constant("secondary_circuit_limit").source: not loading_job.stock,
        tables.constant("continuous_load_ratio").source: selection.offered is not None
        and selection.offered.fullest is not None,
    }
    return [source for source, holds in held.items() if holds]
