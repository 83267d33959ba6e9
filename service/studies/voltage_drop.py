"""The main job: what does each lamp get?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.physics.certificate import can_be_carried, certified_margin, worst_open_circuit_drop
from service.physics.solve import NoOperatingPointError
from service.studies.assumptions import assumptions_of, sources_of
from service.studies.bracket import bracketed
from service.studies.collapse import collapsed
from service.studies.connected import connect_job
from service.studies.envelope import envelope_of
from service.studies.estimates import refuse_over_limit, voltage_drop_work
from service.studies.findings.corner import with_corners
from service.studies.findings.judge import solved_findings, unsolved_findings
from service.studies.findings.voltage import near_collapse_finding
from service.studies.margin import paid, searched_margin
from service.studies.outcome import Answer, Margin, Proof
from service.studies.solving import network_of, solve_connected
from service.studies.state import SolvedState, run_states
from service.studies.strip import with_strips_joined
from service.studies.work import TOLD, charge, count, work_of_telling

if TYPE_CHECKING:
    from service.studies.finding import Finding
    from service.studies.job import Job

GROWTH_WATCHED = 1.25
"""A network that cannot carry this many times its load is said to be near collapse. [-]"""


def voltage_drop(job: Job) -> Answer:
    """Solve one state of a job.

    Returns
    -------
    answer : Answer
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
    refuse_over_limit(voltage_drop_work(job))
    answer = _solve(job)
    return bracketed(job, answer, _solve) if job.layout_unknown else answer


def _solve(job: Job) -> Answer:
    connected = connect_job(job)
    network = network_of(connected)
    try:
        state = solve_connected(connected, network)
    except NoOperatingPointError:
        return collapsed(connected, network)
    return _read_off(state)


def _read_off(state: SolvedState) -> Answer:
    """Everything that one solved state says."""
    charge(work_of_telling(state.network.points))
    count(TOLD * state.network.points)
    voltage_v = state.voltages()
    fixtures, spans = state.fixtures(voltage_v), state.spans(voltage_v)
    taken = state.feeder_currents()
    fixture_w = sum(row.real_w * row.placed.pieces for row in fixtures)
    cable_loss_w = sum(span.loss_w for span in spans)
    supply = state.supply(taken, delivered_w=fixture_w + cable_loss_w)
    findings = [*solved_findings(state, supply, fixtures, spans), *unsolved_findings(state)]
    envelope = None if state.job.corners is None else envelope_of(state.job, state.job.corners)
    if envelope is not None:
        findings = with_corners(findings, envelope)
    # Last of all, with the work that is left: a margin that cannot be afforded is left out, not the answer.
    margin, near = _margin(state)
    findings += near
    return Answer(
        layout=state.layout,
        proof=Proof(state.point.iterations, state.point.residual_a, state.point.method),
        supply=supply,
        fixtures=fixtures,
        spans=with_strips_joined(spans, fixtures),
        runs=run_states(state, voltage_v, fixtures, spans, taken),
        fixture_w=fixture_w,
        cable_loss_w=cable_loss_w,
        winding_loss_w=state.winding_loss_w(),
        margin=margin,
        findings=findings,
        assumptions=assumptions_of(state),
        sources=sources_of(state, findings),
        envelope=envelope,
    )


def _margin(state: SolvedState) -> tuple[Margin, list[Finding]]:
    """How much more load the wiring carries: certain from the certificate, exact where it was asked for."""
    at_least = max(1.0, certified_margin(worst_open_circuit_drop(state.network)))
    near = at_least < GROWTH_WATCHED and not paid(can_be_carried)(state.network.scaled(GROWTH_WATCHED))
    found = [near_collapse_finding(state, growth=GROWTH_WATCHED)] if near else []
    margin = searched_margin(state, certain=at_least) if state.job.margin else Margin(at_least=at_least)
    return margin, found
