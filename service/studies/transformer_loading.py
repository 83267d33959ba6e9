"""What a job asks of its transformer, which one would carry it, and how its runs go on the circuits."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.physics.solve import NoOperatingPointError
from service.studies.assumptions import assumptions_of, sources_of
from service.studies.choice_notes import choice_assumptions, choice_sources
from service.studies.collapse import collapsed
from service.studies.connected import connect_job
from service.studies.envelope import envelope_of
from service.studies.estimates import refuse_over_limit, transformer_loading_work
from service.studies.findings.corner import with_corners
from service.studies.findings.judge import solved_findings, unsolved_findings
from service.studies.findings.transformer import direct_current_finding, selection_findings
from service.studies.loading import connected_load, highest_circuits, read_off, worst_of
from service.studies.selection import Demand, select
from service.studies.solving import network_of, solve_connected
from service.studies.stock import used_taps, usual_units
from service.studies.work import Budget

if TYPE_CHECKING:
    from service.studies.connected import Connected
    from service.studies.finding import Finding
    from service.studies.job import Job, Subject
    from service.studies.layout import Layout
    from service.studies.loading import ConnectedLoad, Loaded
    from service.studies.outcome import CircuitState, Margin
    from service.studies.selection import Selection
    from service.studies.state import SolvedState
    from service.studies.stock import Question


class PrimaryState(NamedTuple):
    """The mains side of an ideal core. [V], [A], [VA]"""

    voltage_v: float
    current_a: float
    apparent_va: float


class StatedLoading(NamedTuple):
    """The stated supply: its worst state, each circuit at its highest current, the mains side if known."""

    worst: Loaded
    circuits: tuple[CircuitState, ...]
    primary: PrimaryState | None


class LoadingAnswer(NamedTuple):
    """The answer; where the stated supply has no operating point, `loaded` is the share that it could carry.

    `selection` is None on direct current, for which there is no transformer to choose.
    """

    layout: Layout
    connected: ConnectedLoad
    loaded: StatedLoading | Margin
    selection: Selection | None
    findings: list[Finding]
    assumptions: list[str]
    sources: list[str]


def transformer_loading(question: Question) -> LoadingAnswer:
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
    refuse_over_limit(transformer_loading_work(question))
    connected = connect_job(question.job)
    loaded, findings = _load(connected)
    selection, chosen_findings = _choose(question, connected)
    findings = [*findings, *chosen_findings]
    primary_shown = isinstance(loaded, StatedLoading) and loaded.primary is not None
    own = choice_assumptions(question, selection, primary_shown=primary_shown)
    sources = [*sources_of(connected, findings), *choice_sources(question, selection)]
    return LoadingAnswer(
        layout=connected.layout,
        connected=connected_load(connected),
        loaded=loaded,
        selection=selection,
        findings=findings,
        assumptions=[*assumptions_of(connected), *own],
        sources=list(dict.fromkeys(sources)),
    )


def _load(connected: Connected) -> tuple[StatedLoading | Margin, list[Finding]]:
    """The stated supply in its worst state and what all states show; or the share that it could carry."""
    job, network = connected.job, network_of(connected)
    try:
        state = solve_connected(connected, network)
    except NoOperatingPointError:
        answer = collapsed(connected, network)
        return answer.margin, answer.findings
    states, findings = [read_off(state)], _stated_findings(state)
    if job.corners is not None:
        envelope = envelope_of(job, job.corners)
        states += [read_off(solved, corner) for corner, solved in envelope.states]
        findings = with_corners(findings, envelope)
    worst = worst_of(states)
    return StatedLoading(worst, highest_circuits(states), _primary(job, worst)), findings


def _stated_findings(state: SolvedState) -> list[Finding]:
    voltage_v = state.voltages()
    fixtures, spans = state.fixtures(voltage_v), state.spans(voltage_v)
    return [*solved_findings(state, read_off(state).supply, fixtures, spans), *unsolved_findings(state)]


def _primary(job: Job, worst: Loaded) -> PrimaryState | None:
    """The mains side, where the request says what the mains are."""
    mains = worst.state.job.supply.mains
    if job.supply.mains is None or mains is None:
        return None
    return PrimaryState(mains.actual_v, worst.primary_va / mains.actual_v, worst.primary_va)


def _choose(question: Question, connected: Connected) -> tuple[Selection | None, list[Finding]]:
    """Choose a transformer; on direct current there is none to choose."""
    job = question.job
    if job.supply.direct_current:
        return None, [direct_current_finding(job.supply.subject)]
    units = question.stock or usual_units(used_taps(job))
    demand = Demand(
        job=job,
        connected=connected_load(connected),
        spare_ratio=question.spare,
        maximum_ratio=1.0 if question.maximum_ratio is None else question.maximum_ratio,
        runs=runs_of(connected),
    )
    selection = select(units, demand, Budget())
    return selection, selection_findings(selection, units, wanted_va=demand.wanted_va)


def runs_of(connected: Connected) -> tuple[tuple[Subject, tuple[int, ...]], ...]:
    """What can be put on a circuit by itself: each run, or all feeders that a graph joins."""
    leaders = connected.layout.leaders
    return tuple(
        (end.subject, tuple(feeder for feeder, leader in enumerate(leaders) if leader == end.feeder))
        for end in connected.layout.run_ends()
    )
