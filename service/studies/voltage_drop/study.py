"""What each lamp gets: one state solved and judged, its corners, its margin, its collapse."""

from __future__ import annotations

from collections.abc import Callable, Collection
from contextlib import suppress
from operator import itemgetter
from typing import NamedTuple

from service.circuit.envelope import EnvelopeResult, envelope_of
from service.circuit.estimate import (
    Estimate,
    Size,
    collapse_work,
    drop_work,
    estimate_of,
    findings_work,
    refuse_over_limit,
    size_of,
)
from service.circuit.growth import certain_growth, paid
from service.circuit.job import Graph, Job, JobPart
from service.circuit.layout import LaidSpan, Layout, PlacedFixture
from service.circuit.reading import BuiltState, EndResult, Margin, StateReading, built, built_on, run_states
from service.circuit.runs import LUMPS, evenly_spread, lines_at
from service.circuit.state import Connected, SolvedState, connect_job, solved_state
from service.circuit.windows import farthest_below
from service.circuit.work import (
    TOLD,
    WorkOverLimitError,
    charge,
    count,
    work_of,
    work_of_telling,
)
from service.findings.assumptions import AssumptionKind, assumptions_of, sources_of
from service.findings.finding import FAULT, FindingFacts
from service.findings.judge import judged, unsolved_findings, with_corners
from service.findings.limits import unaccepted
from service.findings.loading import least_current_findings
from service.findings.protection import device_findings
from service.findings.voltage import (
    FIXTURE_ABOVE_WINDOW,
    SPREAD_LAMP,
    collapse_finding,
    growth_findings,
)
from service.physics.certificate import (
    can_be_carried,
    certified_margin,
    largest_factor,
    open_circuit_drops,
    worst_open_circuit_drop,
)
from service.physics.network import TERMINAL, Network
from service.physics.solve import operating_point


class BracketResult(NamedTuple):
    """The end of a run whose layout is unknown, in its two bounds; None where one cannot be carried."""

    lumped: EndResult | None
    evenly_spread: EndResult | None


class DropAnswer(NamedTuple):
    """A solved state as it was read off; `reading` is None where there is no operating point."""

    layout: Layout
    reading: StateReading | None
    margin: Margin
    findings: list[FindingFacts]
    assumptions: list[AssumptionKind]
    sources: list[str]
    envelope: EnvelopeResult | None = None
    bracket: BracketResult | None = None
    rest: RestResult | None = None
    room: Room | None = None


class Room(NamedTuple):
    """The largest share of all loads, in whole per cent, that breaks no limit; and what a per cent more does.

    `binding` is None where the most that was tried breaks nothing.
    """

    percent: int
    binding: FindingFacts | None


class RestResult(NamedTuple):
    """A job without the runs that it cannot carry: those, and what the others get."""

    off: tuple[JobPart, ...]
    answer: DropAnswer


MOST_RUNS_OFF = 20
"""Runs that are switched off one after another because the supply cannot carry all of them together."""


STATES_OF_A_MARGIN = 30
"""States that the search for a largest load, and that for the first fixture to leave its window, solve."""


def voltage_drop_work(job: Job) -> Estimate:
    """Of a voltage drop: the stated state, its corners; why it cannot be carried, where that may be.

    A margin may stop anywhere.
    """
    size = size_of(job)
    room = STATES_OF_ROOM * drop_work(job, size)
    margin = STATES_OF_A_MARGIN * work_of(size.effort) + room if job.margin else 0
    optional = margin + collapse_work(job, size, MOST_RUNS_OFF) + findings_work(job, size)
    return estimate_of(_first_work(job, size), optional, turned=size.turned)


def _first_work(job: Job, size: Size) -> int:
    """Work of the stated state and its corners.

    A state with a little more load is solved where the certificate alone does not show room for it.
    """
    return drop_work(job, size) + work_of(size.effort)


def voltage_drop(job: Job) -> DropAnswer:
    """Solve one state of a job.

    Returns
    -------
    answer : DropAnswer
        Solved, or with no proof and no rows where the wiring cannot carry the load.

    Raises
    ------
    JobTooLargeError
        More points or loops than one request may ask for.
    WiringContradictoryError
        A graph that cannot be wired as it is described.
    WorkOverLimitError
        It would take more work than one request may ask for.
    """
    first = _first_work(job, size_of(job))
    refuse_over_limit(Estimate(first, first))
    answer = _solve(job)
    if job.margin:
        with suppress(WorkOverLimitError):
            answer = answer._replace(room=room_of(job))
    return bracketed(job, answer, _solve) if job.layout_unknown else answer


LEAST_PERCENT, AS_IT_IS_PERCENT, MOST_PERCENT = 5, 100, 300
"""Shares of all loads between which room is sought, and the load as the request has it."""


STATES_OF_ROOM = 11
"""Voltage drops that a search for room solves: both ends, the load as it is, and eight by halving."""


def room_of(job: Job) -> Room | None:
    """How much the loads may be, all by the same share; None where less load alone mends nothing.

    A limit that is broken with next to no load as well (a box that asks for more) is no matter of room.
    """
    plain = job._replace(margin=False)
    least, as_it_is = _broken(plain, LEAST_PERCENT), _broken(plain, AS_IT_IS_PERCENT)
    if any(key in least and found.severity == FAULT for key, found in as_it_is.items()):
        return None
    if as_it_is.keys() <= least.keys():
        low, within, high = AS_IT_IS_PERCENT, as_it_is, MOST_PERCENT
        beyond = _broken(plain, high)
    else:
        low, within, high, beyond = LEAST_PERCENT, least, AS_IT_IS_PERCENT, as_it_is
    if beyond.keys() <= least.keys():
        return Room(high, None)
    while high - low > 1:
        middle = (low + high) // 2
        found = _broken(plain, middle)
        if found.keys() <= least.keys():
            low, within = middle, found
        else:
            high, beyond = middle, found
    if low < AS_IT_IS_PERCENT and any(found.severity == FAULT for found in within.values()):
        return None
    return Room(low, next(found for key, found in beyond.items() if key not in least))


def _broken(job: Job, percent: int) -> dict[tuple[str, JobPart], FindingFacts]:
    """Every fault and warning of a job with a share of its loads, by what and where."""
    shared = built(job.with_share_of_load(percent / 100.0))
    reading = shared.read()
    answer = collapsed(shared) if reading is None else _answer_of(shared, reading)
    return {(each.code, each.subject): each for each in unaccepted(answer.findings, frozenset())}


def _solve(job: Job) -> DropAnswer:
    stated = built(job)
    reading = stated.read()
    if reading is not None:
        return _answer_of(stated, reading)
    alone = collapsed_alone(job)
    answer = collapsed(stated, alone)
    with suppress(WorkOverLimitError):
        return answer._replace(rest=_rest_of(stated, alone))
    return answer


def collapsed_alone(job: Job) -> list[JobPart]:
    """The runs that the supply cannot carry even one by one, as far as there is work to try them.

    Of a graph none is looked at.
    """
    if isinstance(job.wiring, Graph):
        return []
    if len(job.wiring) == 1:
        return [job.wiring[0].subject]
    found = list[JobPart]()
    with suppress(WorkOverLimitError):
        for run in job.wiring:
            if built(job._replace(wiring=(run,))).solved() is None:
                found.append(run.subject)
    return found


def _rest_of(stated: BuiltState, alone: list[JobPart]) -> RestResult | None:
    """What the others get with the runs off that give way; None where none is left.

    Off are the runs that cannot be carried even `alone`; where the supply cannot carry the others
    together, the weakest of them as well, one after another.

    Raises
    ------
    WorkOverLimitError
        The request has spent the work that it may ask for.
    """
    off = list(alone)
    for _ in range(MOST_RUNS_OFF):
        if not off:
            off.append(_weakest_run(stated))
        job = stated.connected.job
        for run in off:
            job = _without_run(job, stated.connected, run)
        rest = connect_job(job._replace(margin=False))
        if not rest.layout.fixtures:
            return None
        built_rest = built_on(rest)
        reading = built_rest.read()
        if reading is not None:
            return RestResult(tuple(off), _answer_of(built_rest, reading))
        off.append(_weakest_run(built_rest))
    return None


def _without_run(job: Job, connected: Connected, run: JobPart) -> Job:
    """A job without a run; of a graph without the fixtures of all that meets behind the supply there."""
    layout = connected.layout
    if not isinstance(job.wiring, Graph):
        return job._replace(wiring=tuple(each for each in job.wiring if each.subject != run))
    feeders = {end.feeder for end in layout.run_ends() if end.subject == run}
    lines = {placed.line.subject for placed in layout.fixtures if layout.leaders[placed.feeder] in feeders}
    kept = tuple(each for each in job.wiring.fixtures if each.line.subject not in lines)
    return job._replace(wiring=job.wiring._replace(fixtures=kept))


def _answer_of(stated: BuiltState, reading: StateReading) -> DropAnswer:
    """What the stated state says, read off, how it is judged, and how much more it would carry."""
    state = reading.state
    charge(work_of_telling(state.network.points))
    count(TOLD * state.network.points)
    findings = judged(reading)
    envelope = None if state.job.corners is None else envelope_of(stated, state.job.corners)
    if envelope is not None:
        findings = with_corners(findings, envelope)
    # Last of all, with the work that is left: a margin that cannot be afforded is left out, not the answer.
    margin, near = _margin(state)
    findings += near
    return DropAnswer(
        layout=state.layout,
        reading=reading,
        margin=margin,
        findings=findings,
        assumptions=assumptions_of(state),
        sources=sources_of(state, findings),
        envelope=envelope,
    )


def _margin(state: SolvedState) -> tuple[Margin, list[FindingFacts]]:
    """How much more load the wiring carries: certain from the certificate, exact where it was asked for."""
    at_least = certain_growth(state.network)
    found = growth_findings(state, certain=at_least)
    margin = searched_margin(state, certain=at_least) if state.job.margin else Margin(at_least=at_least)
    return margin, found


def collapsed(stated: BuiltState, alone: Collection[JobPart] = ()) -> DropAnswer:
    """Answer without an operating point: no rows, what gives way, the share that could be carried.

    What needs no operating point is found all the same. `alone`: the runs that cannot be carried one by one.
    """
    connected, network = stated.connected, stated.network
    certain = min(1.0, certified_margin(worst_open_circuit_drop(network)))
    share = largest_factor(network, paid(can_be_carried), certain=certain)
    findings = [
        collapse_finding(connected, _giving_way(stated, alone), share=share),
        *least_current_findings(connected),
        *device_findings(connected),
        *unsolved_findings(connected),
    ]
    return DropAnswer(
        layout=connected.layout,
        reading=None,
        margin=Margin(exact=share),
        findings=findings,
        assumptions=assumptions_of(connected),
        sources=sources_of(connected, findings),
    )


def _weakest_lamp(stated: BuiltState, drop: list[float], alone: Collection[JobPart] = ()) -> PlacedFixture:
    """The lamp that would lose most, if every load kept drawing its open-circuit current; on some runs."""
    layout = stated.connected.layout
    leaders = {end.feeder for end in layout.run_ends() if not alone or end.subject in alone}
    lamps = [placed for placed in layout.fixtures if layout.leaders[placed.feeder] in leaders]
    return max(lamps or layout.fixtures, key=lambda placed: drop[placed.lamp_point])


def _weakest_run(stated: BuiltState) -> JobPart:
    """The run, or the part of a graph, with the lamp that would lose most."""
    layout = stated.connected.layout
    lamp = _weakest_lamp(stated, open_circuit_drops(stated.network))
    return next(end.subject for end in layout.run_ends() if end.feeder == layout.leaders[lamp.feeder])


OF_THE_SUPPLY = 0.5
"""Share of the loss up to the weakest lamp from which on the supply itself is what gives way. [-]"""


def _giving_way(stated: BuiltState, alone: Collection[JobPart]) -> JobPart:
    """Where most is lost on the way to the weakest lamp: a run, branch or stretch, or the supply itself.

    In a loop the way is that of the most current. Loss is that with open-circuit currents.
    """
    layout, drop = stated.connected.layout, open_circuit_drops(stated.network)
    lamp = _weakest_lamp(stated, drop, alone)
    if drop[TERMINAL] > OF_THE_SUPPLY * drop[lamp.lamp_point]:
        return stated.connected.job.supply.subject
    beside: dict[int, list[tuple[int, LaidSpan]]] = {}
    for span in layout.spans:
        beside.setdefault(span.start, []).append((span.end, span))
        beside.setdefault(span.end, []).append((span.start, span))
    lost, point = dict[JobPart, float](), lamp.lamp_point
    while point != TERMINAL:
        fed_by = [
            ((drop[point] - drop[other]) / span.resistance_ohm, other, span.subject)
            for other, span in beside.pop(point)
            if other in beside
        ]
        if not fed_by:  # A loss too small for its last digit led astray.
            break
        _, nearer, subject = max(fed_by, key=itemgetter(0))
        lost[subject] = lost.get(subject, 0.0) + drop[point] - drop[nearer]
        point = nearer
    return max(lost, key=lost.__getitem__)


def searched_margin(state: SolvedState, *, certain: float) -> Margin:
    """The largest factor that can be carried, and the one at which the first fixture leaves its window.

    Parameters
    ----------
    state : SolvedState
        Solved at factor 1.
    certain : float
        A factor that is known to be carried. [-]
    """
    if not any(placed.line.load.has_a_nose for placed in state.layout.fixtures):
        return Margin(at_least=certain, absent_because="no-load-that-can-collapse")
    try:
        exact = largest_factor(state.network, paid(can_be_carried), certain=certain)
        return Margin(exact=exact, first_out=first_out_of_window(state))
    except WorkOverLimitError:
        return Margin(at_least=certain, absent_because="work-over-limit")


def first_out_of_window(state: SolvedState) -> tuple[float, JobPart] | None:
    """The factor from which on some fixture is below its window, and that fixture; None where none ever is.

    More load never raises a voltage, so the search by halving is sound.
    """
    factor = largest_factor(
        state.network, paid(lambda network: lowest_outside(state, network) is None), certain=0.0
    )
    just_above = factor * (1.0 + 1.5e-2)
    outside = lowest_outside(state, state.network.scaled(just_above)) if factor > 0.0 else None
    return (factor, outside) if outside is not None else None


def lowest_outside(state: SolvedState, network: Network) -> JobPart | None:
    """The fixture farthest below its window in another state of the network, if any is."""
    point = operating_point(network)
    if point is None:
        judged_v = state.fixture_voltages(state.voltages()).judged_v
        return state.layout.fixtures[judged_v.index(min(judged_v))].subject
    other = solved_state(state, network, point)
    judged_v = other.fixture_voltages(other.voltages()).judged_v
    below = farthest_below(state.windows, judged_v, dim=True)
    return None if below is None else state.layout.fixtures[below].subject


Solver = Callable[[Job], DropAnswer]


def bracketed(job: Job, answer: DropAnswer, solve: Solver) -> DropAnswer:
    """The answer to a job of unknown layout, lumped at the end, beside what an even spread gives.

    Of the spread only the lamp next to the supply may show what the lumped state hides: too high a voltage.
    """
    spread = solve(spread_job(job, LUMPS))
    coarse = solve(spread_job(job, LUMPS // 2))
    bracket = BracketResult(end_of(job, answer), closer(end_of(job, spread), end_of(job, coarse)))
    above = [
        found._replace(parameters=(("where", SPREAD_LAMP), *found.parameters))
        for found in spread.findings
        if found.kind is FIXTURE_ABOVE_WINDOW
    ][:1]
    if any(found.kind is FIXTURE_ABOVE_WINDOW for found in answer.findings):
        above = []
    return answer._replace(bracket=bracket, findings=[*answer.findings, *above])


def spread_job(job: Job, lumps: int) -> Job:
    """A job of one run with its load spread evenly along it, in the stated state."""
    assert not isinstance(job.wiring, Graph)  # noqa: S101  # a job of unknown layout is one run
    (run,) = job.wiring
    (line,) = run.fixtures
    spread = run._replace(fixtures=lines_at(line, evenly_spread(line.at_m, lumps)))
    return job._replace(wiring=(spread,), layout_unknown=False, margin=False, corners=None)


def end_of(job: Job, answer: DropAnswer) -> EndResult | None:
    """The far end of the one run of an answer; None where it cannot carry its load."""
    reading = answer.reading
    if reading is None:
        return None
    (run,) = run_states(reading)
    terminal_v = reading.supply.terminal_v
    return EndResult(
        end_v=run.end_v,
        verdict=reading.volts.verdict[-1],
        terminal_v=terminal_v,
        drop_ratio=(terminal_v - run.end_v) / job.supply.rated_v,
        current_a=run.current_a,
        cable_loss_w=reading.cable_loss_w,
    )


def closer(fine: EndResult | None, coarse: EndResult | None) -> EndResult | None:
    """A state of many lumps with the error that it may have, from one of half as many.

    The error falls with the square of the number, so the fine state is off by a third of the difference; the
    whole of it is stated.
    """
    if fine is None or coarse is None:
        return fine
    return fine._replace(error_v=abs(fine.end_v - coarse.end_v))
