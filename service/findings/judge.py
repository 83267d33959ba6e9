"""All findings of a job, in the order in which an installer would want to read them, and over its corners."""

from __future__ import annotations

from service.circuit.envelope import EnvelopeResult
from service.circuit.job import JobPart
from service.circuit.reading import StateReading
from service.circuit.state import Connected
from service.circuit.work import FOUND, JUDGED, charge, count, work_of_judging
from service.findings.connection import (
    change_findings,
    length_findings,
    low_voltage_findings,
    range_findings,
    repeated_change_findings,
    tap_findings,
    wet_contact_findings,
)
from service.findings.finding import GRAVEST_FIRST, FindingFacts
from service.findings.loading import (
    circuit_findings,
    class_2_findings,
    loading_findings,
    power_factor_findings,
)
from service.findings.protection import (
    ampacity_findings,
    device_findings,
    short_circuit_findings,
    unstated_device_findings,
)
from service.findings.request import (
    duplicate_name_findings,
    empty_window_findings,
    equivalent_findings,
    lamp_kind_findings,
    remark_findings,
)
from service.findings.voltage import (
    corner_collapse_finding,
    drop_findings,
    outside_finding,
    strip_findings,
    window_findings,
)


def unsolved_findings(connected: Connected) -> list[FindingFacts]:
    """What can be said of a job before it is solved."""
    return [
        *low_voltage_findings(connected),
        *wet_contact_findings(connected),
        *tap_findings(connected),
        *unstated_device_findings(connected),
        *length_findings(connected),
        *range_findings(connected),
        *empty_window_findings(connected),
        *lamp_kind_findings(connected),
        *equivalent_findings(connected),
        *remark_findings(connected),
        *change_findings(connected),
        *repeated_change_findings(connected),
        *duplicate_name_findings(connected),
    ]


def fed_findings(connected: Connected) -> list[FindingFacts]:
    """Of what can be said before a job is solved, what depends on the voltage that its supply gives.

    The rest is the same in every state.
    """
    return [
        *low_voltage_findings(connected),
        *wet_contact_findings(connected),
        *lamp_kind_findings(connected),
    ]


def judged(reading: StateReading) -> list[FindingFacts]:
    """All findings of one solved state with all on."""
    return [*solved_findings(reading), *unsolved_findings(reading.state)]


def solved_findings(reading: StateReading) -> list[FindingFacts]:
    """What one solved state shows: lamps first, then the supply, then the cables."""
    state = reading.state
    charge(work_of_judging(state.network.points))
    count(JUDGED * state.network.points)
    found = [
        *window_findings(reading),
        *drop_findings(reading),
        *strip_findings(reading),
        *loading_findings(reading),
        *power_factor_findings(reading),
        *circuit_findings(reading),
        *class_2_findings(reading),
        *ampacity_findings(reading),
        *device_findings(state),
        *short_circuit_findings(state),
    ]
    charge(len(found))
    count(FOUND * len(found))
    return found


def with_corners(findings: list[FindingFacts], envelope: EnvelopeResult) -> list[FindingFacts]:
    """The findings of the stated state and of every corner: of each the gravest, at its worst value.

    A finding that the stated state shows keeps its place; one that only a corner shows follows, and names it.
    """
    worst: dict[tuple[str, JobPart, str], FindingFacts] = {_key(finding): finding for finding in findings}
    for finding in corner_findings(envelope):
        known = worst.get(_key(finding))
        if known is None or _graver(finding, known):
            worst[_key(finding)] = finding
    return list(worst.values())


def corner_findings(envelope: EnvelopeResult) -> list[FindingFacts]:
    """What the solved corners show, those without an operating point and those with little on.

    What is the same in every state is found in the stated one.
    """
    found = [
        finding._replace(corner=corner)
        for corner, reading in envelope.states
        for finding in [*solved_findings(reading), *fed_findings(reading.state)]
    ]
    found += _light_load_findings(envelope)
    collapsed = [corner_collapse_finding(connected, corner) for corner, connected in envelope.collapsed]
    return found + collapsed


def _light_load_findings(envelope: EnvelopeResult) -> list[FindingFacts]:
    """Fixtures whose highest voltage comes with little else on."""
    found = []
    for connected, line, subject, highest in envelope.light_loads():
        finding = outside_finding(connected, subject, line, highest.value)
        if finding is not None:
            found.append(finding._replace(corner=highest.corner))
    return found


def _key(finding: FindingFacts) -> tuple[str, JobPart, str]:
    """What makes two findings the same: code, subject, and the tap or circuit that they name."""
    named = [str(value) for name, value in finding.parameters if name in {"tap", "name", "conductor"}]
    return finding.code, finding.subject, " ".join(named)


def _graver(finding: FindingFacts, known: FindingFacts) -> bool:
    """Whether a finding says more: graver, or as grave and farther beyond its limit."""
    if GRAVEST_FIRST[finding.severity] != GRAVEST_FIRST[known.severity]:
        return GRAVEST_FIRST[finding.severity] < GRAVEST_FIRST[known.severity]
    if finding.measured is None or known.measured is None:
        return False
    towards = finding.measured.towards or 1
    return (finding.measured.value - known.measured.value) * towards > 0.0
