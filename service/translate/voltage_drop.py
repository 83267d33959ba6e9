"""Voltage drop: the request into a job, the answer into a reply."""

from __future__ import annotations

from math import floor, log10
from typing import TYPE_CHECKING

from msgspec import UNSET

from service import tables
from service.messages.voltage_drop import (
    FirstOutOfWindow,
    LoadMargin,
    NoOperatingPoint,
    Solution,
    Solved,
    Totals,
)
from service.studies.version import CALCULATION_VERSION
from service.translate import job
from service.translate.bracket import bracket_row
from service.translate.envelope import envelope_row
from service.translate.finding import CAUTION_ROWS, assumption_rows, finding_row, source_rows
from service.translate.naming import Naming
from service.translate.rounding import rounded
from service.translate.rows import fixture_row, residual, run_row, span_row, supply_state, watts

if TYPE_CHECKING:
    from service.messages.voltage_drop import VoltageDropReply, VoltageDropRequest
    from service.studies.job import Job
    from service.studies.outcome import Answer, Margin, Proof


def job_of(request: VoltageDropRequest) -> Job:
    """The job that a request asks to be solved."""
    return job.job_of(request, margin=request.margin is True)


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
    naming = Naming(answer.layout, job.length_unit(request))
    findings = [finding_row(finding, naming) for finding in answer.findings]
    assumptions, sources = assumption_rows(answer.assumptions), source_rows(answer.sources)
    margin = load_margin(answer.margin)
    bracket = UNSET if answer.bracket is None else bracket_row(answer.bracket)
    versions = CALCULATION_VERSION, tables.TABLES_VERSION, sha256, request.id
    if answer.proof is None or answer.supply is None:
        return NoOperatingPoint([], findings, margin, assumptions, sources, CAUTION_ROWS, *versions, bracket)
    return Solved(
        supply_state(answer.supply),
        [fixture_row(row, naming) for row in answer.fixtures],
        [span_row(row, naming) for row in answer.spans],
        [run_row(row, naming) for row in answer.runs],
        Totals(watts(answer.fixture_w), watts(answer.cable_loss_w), watts(answer.winding_loss_w)),
        findings,
        solution(answer.proof),
        margin,
        assumptions,
        sources,
        CAUTION_ROWS,
        *versions,
        UNSET if answer.envelope is None else envelope_row(answer.envelope, naming),
        bracket,
    )


def solution(proof: Proof) -> Solution:
    """The evidence that the equations are solved."""
    return Solution(proof.iterations, residual(proof.residual_a), proof.method)


def load_margin(margin: Margin) -> LoadMargin:
    """By what factor the loads could grow, never more than was found."""
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
