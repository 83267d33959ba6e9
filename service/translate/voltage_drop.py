"""Voltage drop: the request into a job, the answer into a reply."""

from __future__ import annotations

from math import floor, log10
from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service import tables
from service.messages.voltage_drop import (
    FirstOutOfWindow,
    LoadMargin,
    NoOperatingPoint,
    Solution,
    Solved,
    Totals,
)
from service.messages.wiring import EvenWiring, SpansWiring
from service.studies.job import Job, Subject
from service.studies.version import CALCULATION_VERSION
from service.translate.conditions import corners_of, in_phase, temperature_of
from service.translate.envelope import envelope_row
from service.translate.finding import CAUTION_ROWS, assumption_rows, finding_row, source_rows
from service.translate.naming import Naming
from service.translate.rounding import rounded
from service.translate.rows import fixture_row, residual, run_row, span_row, supply_state, watts
from service.translate.supply import supply_of
from service.translate.wiring import wiring_of

if TYPE_CHECKING:
    from service.messages.quantities import Length
    from service.messages.voltage_drop import VoltageDropReply, VoltageDropRequest
    from service.messages.wiring import Run
    from service.studies.outcome import Answer, Margin, Proof

METRIC = frozenset({"m", "cm", "mm", "km"})


def job_of(request: VoltageDropRequest) -> Job:
    """The job that a request asks to be solved."""
    supply = supply_of(request.supply, "/supply")
    limits = request.limits
    drop_percent = UNSET if limits is UNSET else limits.maximum_drop_percent
    nominal = request.wiring.nominal_voltage
    return Job(
        subject=Subject("", None if request.id is UNSET else request.id),
        supply=supply,
        wiring=wiring_of(request.wiring, "/wiring", direct_current=supply.direct_current),
        nominal_v=None if nominal is UNSET else float(nominal.value),
        temperature_c=temperature_of(request.conditions),
        all_in_phase=in_phase(request.conditions),
        maximum_drop_ratio=None if drop_percent is UNSET else drop_percent / 100.0,
        margin=request.margin is True,
        corners=corners_of(request.conditions, supply),
    )


def length_unit(request: VoltageDropRequest) -> str:
    """The unit of the lengths in the reply: as asked, else the family of the first length in the request."""
    if request.units is not UNSET:
        return "m" if request.units == "metric" else "ft"
    first = _first_length(request)
    return "m" if first is None or first.unit in METRIC else "ft"


def _first_length(request: VoltageDropRequest) -> Length | None:
    """The first length in document order: the supply's, then the wiring's."""
    supply, wiring = request.supply, request.wiring
    if not isinstance(supply.maximum_cable_length, UnsetType):
        return supply.maximum_cable_length
    if isinstance(wiring, EvenWiring):
        return wiring.length
    if isinstance(wiring, SpansWiring):
        return wiring.spans[0].length
    return next((first for run in wiring.runs if (first := _first_of_run(run)) is not None), None)


def _first_of_run(run: Run) -> Length | None:
    """The first length of a run in document order: fixtures, changes, tail, return leg, branches."""
    if run.fixtures:
        return run.fixtures[0].at
    if not isinstance(run.cable_changes, UnsetType) and run.cable_changes:
        return run.cable_changes[0].at
    if not isinstance(run.tail, UnsetType):
        return run.tail
    if not isinstance(run.return_leg, UnsetType):
        return run.return_leg.length
    return None if isinstance(run.branches, UnsetType) or not run.branches else run.branches[0].at


def reply_of(request: VoltageDropRequest, answer: Answer, sha256: str) -> VoltageDropReply:
    """The reply to a request.

    Parameters
    ----------
    request : VoltageDropRequest
    answer : Answer
        What the study found.
    sha256 : str
        Of the request as it came.
    """
    naming = Naming(answer.layout, length_unit(request))
    findings = [finding_row(finding, naming) for finding in answer.findings]
    assumptions, sources = assumption_rows(answer.assumptions), source_rows(answer.sources)
    margin = _margin(answer.margin)
    versions = CALCULATION_VERSION, tables.TABLES_VERSION, sha256, request.id
    if answer.proof is None or answer.supply is None:
        return NoOperatingPoint([], findings, margin, assumptions, sources, CAUTION_ROWS, *versions)
    return Solved(
        supply_state(answer.supply),
        [fixture_row(row, naming) for row in answer.fixtures],
        [span_row(row, naming) for row in answer.spans],
        [run_row(row, naming) for row in answer.runs],
        Totals(watts(answer.fixture_w), watts(answer.cable_loss_w), watts(answer.winding_loss_w)),
        findings,
        _solution(answer.proof),
        margin,
        assumptions,
        sources,
        CAUTION_ROWS,
        *versions,
        UNSET if answer.envelope is None else envelope_row(answer.envelope, naming),
    )


def _solution(proof: Proof) -> Solution:
    return Solution(proof.iterations, residual(proof.residual_a), proof.method)


def _margin(margin: Margin) -> LoadMargin:
    first = margin.first_out
    return LoadMargin(
        UNSET if margin.at_least is None else _floor(margin.at_least),
        UNSET if margin.exact is None else _floor(margin.exact),
        UNSET
        if first is None
        else FirstOutOfWindow(
            _floor(first[0]), first[1].pointer, UNSET if first[1].number is None else first[1].number
        ),
        UNSET if margin.absent_because is None else margin.absent_because,
    )


def _floor(factor: float) -> float:
    """Four significant digits, never more than was found."""
    if factor <= 0.0:
        return 0.0
    decimals = 3 - floor(log10(factor))
    return rounded(factor, decimals, -1)
