"""What is said of wiring that cannot carry its load: which run gives way, and what share it could carry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.physics.certificate import (
    can_be_carried,
    certified_margin,
    largest_factor,
    open_circuit_drops,
    worst_open_circuit_drop,
)
from service.studies.assumptions import assumptions_of, sources_of
from service.studies.finding import FAULT, Amount, Finding
from service.studies.findings.judge import unsolved_findings
from service.studies.margin import paid
from service.studies.outcome import Answer, Margin

if TYPE_CHECKING:
    from service.physics.network import Network
    from service.studies.connected import Connected
    from service.studies.job import Subject


def collapsed(connected: Connected, network: Network) -> Answer:
    """Answer without an operating point: no rows, the run that gives way, the share that could be carried."""
    certain = min(1.0, certified_margin(worst_open_circuit_drop(network)))
    share = largest_factor(network, paid(can_be_carried), certain=certain)
    collapse = Finding(
        "no-operating-point",
        FAULT,
        _weakest_run(connected, network),
        "own-calculation",
        limit=Amount(100.0 * share, "%", -1),
    )
    findings = [collapse, *unsolved_findings(connected)]
    return Answer(
        layout=connected.layout,
        proof=None,
        supply=None,
        fixtures=[],
        spans=[],
        runs=[],
        fixture_w=0.0,
        cable_loss_w=0.0,
        winding_loss_w=0.0,
        margin=Margin(exact=share),
        findings=findings,
        assumptions=assumptions_of(connected),
        sources=sources_of(connected, findings),
    )


def _weakest_run(connected: Connected, network: Network) -> Subject:
    """The run whose lamp would lose most, if every load kept drawing its open-circuit current."""
    drop = open_circuit_drops(network)
    lowest = max(connected.layout.fixtures, key=lambda placed: drop[placed.lamp_point])
    leader = connected.layout.leaders[lowest.feeder]
    return next(end.subject for end in connected.layout.run_ends() if end.feeder == leader)
