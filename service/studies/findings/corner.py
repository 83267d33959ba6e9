"""What the corners show that the stated state does not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.studies.finding import FAULT, NOTE, WARNING, Finding
from service.studies.findings.judge import solved_findings, unsolved_findings
from service.studies.findings.voltage import outside_finding

if TYPE_CHECKING:
    from service.studies.envelope import Envelope
    from service.studies.job import Subject
    from service.studies.state import SolvedState

RANK = {FAULT: 0, WARNING: 1, NOTE: 2}


def with_corners(findings: list[Finding], envelope: Envelope) -> list[Finding]:
    """The findings of the stated state and of every corner: of each the gravest, at its worst value.

    A finding that the stated state shows keeps its place; one that only a corner shows follows, and names it.
    """
    worst: dict[tuple[str, Subject, str], Finding] = {_key(finding): finding for finding in findings}
    for finding in _corner_findings(envelope):
        known = worst.get(_key(finding))
        if known is None or _graver(finding, known):
            worst[_key(finding)] = finding
    return list(worst.values())


def _corner_findings(envelope: Envelope) -> list[Finding]:
    """Everything that the solved corners show, those without an operating point and those with little on."""
    found = [
        finding._replace(corner=corner) for corner, state in envelope.states for finding in _judged(state)
    ]
    found += _light_load_findings(envelope)
    collapsed = [
        Finding("no-operating-point", FAULT, connected.job.supply.subject, "own-calculation", corner=corner)
        for corner, connected in envelope.collapsed
    ]
    return found + collapsed


def _judged(state: SolvedState) -> list[Finding]:
    """What one solved corner shows with all on."""
    voltage_v = state.voltages()
    fixtures, spans = state.fixtures(voltage_v), state.spans(voltage_v)
    fixture_w = sum(row.real_w * row.placed.pieces for row in fixtures)
    delivered_w = fixture_w + sum(span.loss_w for span in spans)
    supply = state.supply(state.feeder_currents(), delivered_w=delivered_w)
    return [*solved_findings(state, supply, fixtures, spans), *unsolved_findings(state)]


def _light_load_findings(envelope: Envelope) -> list[Finding]:
    """Fixtures whose highest voltage comes with little else on."""
    found = []
    for connected, line, subject, highest in envelope.light_loads():
        finding = outside_finding(connected, subject, line, highest.value)
        if finding is not None:
            found.append(finding._replace(corner=highest.corner))
    return found


def _key(finding: Finding) -> tuple[str, Subject, str]:
    """What makes two findings the same: code, subject, and the tap or circuit that they name."""
    named = [str(value) for name, value in finding.parameters if name in {"tap", "name", "conductor"}]
    return finding.code, finding.subject, " ".join(named)


def _graver(finding: Finding, known: Finding) -> bool:
    """Whether a finding says more: graver, or as grave and farther beyond its limit."""
    if RANK[finding.severity] != RANK[known.severity]:
        return RANK[finding.severity] < RANK[known.severity]
    if finding.measured is None or known.measured is None:
        return False
    towards = finding.measured.towards or 1
    return (finding.measured.value - known.measured.value) * towards > 0.0
