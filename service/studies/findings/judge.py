"""All findings of a job, in the order in which an installer would want to read them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.studies.findings.connection import (
    change_findings,
    length_findings,
    low_voltage_findings,
    range_findings,
    repeated_change_findings,
    tap_findings,
    wet_contact_findings,
)
from service.studies.findings.loading import circuit_findings, class_2_findings, loading_findings
from service.studies.findings.protection import ampacity_findings, device_findings, short_circuit_findings
from service.studies.findings.request import (
    duplicate_name_findings,
    empty_window_findings,
    lamp_kind_findings,
    remark_findings,
)
from service.studies.findings.voltage import drop_findings, window_findings
from service.studies.work import FOUND, JUDGED, charge, count, work_of_judging

if TYPE_CHECKING:
    from service.studies.connected import Connected
    from service.studies.finding import Finding
    from service.studies.outcome import FixtureState, SpanState, SupplyState
    from service.studies.state import SolvedState


def unsolved_findings(connected: Connected) -> list[Finding]:
    """What can be said of a job before it is solved."""
    return [
        *low_voltage_findings(connected),
        *wet_contact_findings(connected),
        *tap_findings(connected),
        *length_findings(connected),
        *range_findings(connected),
        *empty_window_findings(connected),
        *lamp_kind_findings(connected),
        *remark_findings(connected),
        *change_findings(connected),
        *repeated_change_findings(connected),
        *duplicate_name_findings(connected),
    ]


def solved_findings(
    state: SolvedState, supply: SupplyState, fixtures: list[FixtureState], spans: list[SpanState]
) -> list[Finding]:
    """What one solved state shows: lamps first, then the supply, then the cables."""
    charge(work_of_judging(state.network.points))
    count(JUDGED * state.network.points)
    found = [
        *window_findings(state, fixtures),
        *drop_findings(state, fixtures),
        *loading_findings(state, supply),
        *circuit_findings(state, supply),
        *class_2_findings(state, supply),
        *ampacity_findings(spans),
        *device_findings(state),
        *short_circuit_findings(state),
    ]
    charge(len(found))
    count(FOUND * len(found))
    return found
