"""Voltage at the fixtures: windows and drop."""

from __future__ import annotations

from service.circuit.job import FixtureSpec, JobPart
from service.circuit.state import Connected, FixtureResult, SolvedState
from service.findings.finding import FAULT, WARNING, Amount, FindingFacts


def window_findings(state: SolvedState, fixtures: list[FixtureResult]) -> list[FindingFacts]:
    """One finding for each fixture that is not inside its window."""
    return [
        found
        for row in fixtures
        if row.verdict != "inside"
        and (found := outside_finding(state, row.subject, row.placed.line, row.voltage_v)) is not None
    ]


def outside_finding(
    connected: Connected, subject: JobPart, line: FixtureSpec, voltage_v: float
) -> FindingFacts | None:
    """The finding for a fixture at a voltage [V]; None inside its window."""
    bounds = connected.bounds(line)
    verdict = bounds.verdict(voltage_v)
    if verdict == "inside":
        return None
    low = verdict in {"below", "low"}
    has_taps = len(connected.job.supply.taps_v) > 1 or len(connected.feed.taps_v) > 1
    return FindingFacts(
        "fixture-below-window" if low else "fixture-above-window",
        FAULT if verdict in {"below", "above"} else WARNING,
        subject,
        bounds.source_of(verdict),
        measured=Amount(voltage_v, "V", -1 if low else 1),
        limit=Amount(bounds.limit_of(verdict), "V"),
        parameters=(
            ("effect", _effect(verdict, filament=line.filament, stated=bounds.stated)),
            ("remedy", _remedy(verdict, has_taps=has_taps)),
        ),
    )


def _effect(verdict: str, *, filament: bool, stated: bool) -> str:
    """What the voltage is likely to do to the fixture."""
    if verdict == "high":
        return "That is inside its window, but more than is common practice on a supply with several taps."
    if verdict == "above":
        return "A fixture fed above its window ages fast and may fail."
    if filament:
        return "A filament lamp glows dim and yellow there."
    if stated or verdict == "low":
        return "It may be dim, flicker or stay dark."
    return "An LED fixture is likely to flicker or stay dark there."


def _remedy(verdict: str, *, has_taps: bool) -> str:
    """What to do about a voltage; a tap only where the supply may have one."""
    if verdict in {"below", "low"}:
        return "Use thicker cable, or a shorter or split run" + (", or a higher tap" if has_taps else "")
    return "Use a lower tap" if has_taps else "Use a supply of lower voltage"


def drop_findings(state: SolvedState, fixtures: list[FixtureResult]) -> list[FindingFacts]:
    """Fixtures whose cable drop is over the caller's own limit."""
    limit_ratio = state.job.maximum_drop_ratio or 0.0
    return [
        FindingFacts(
            "drop-over-limit",
            FAULT,
            row.subject,
            "caller",
            measured=Amount(100.0 * row.drop_ratio, "%", 1),
            limit=Amount(100.0 * limit_ratio, "%"),
        )
        for row in fixtures
        if row.drop_over
    ]


def near_collapse_finding(state: SolvedState, *, growth: float) -> FindingFacts:
    """A network that this much more load would bring down. [-]"""
    return FindingFacts(
        "near-collapse", WARNING, state.job.supply.subject, "own-calculation", limit=Amount(growth, "1")
    )
