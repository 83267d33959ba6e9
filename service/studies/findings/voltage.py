"""Voltage at the fixtures: windows and drop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.studies.finding import FAULT, WARNING, Amount, Finding

if TYPE_CHECKING:
    from service.studies.outcome import FixtureState
    from service.studies.state import SolvedState


def window_findings(state: SolvedState, fixtures: list[FixtureState]) -> list[Finding]:
    """One finding for each fixture that is not inside its window."""
    has_taps = len(state.job.supply.taps_v) > 1 or len(state.feed.taps_v) > 1
    found = []
    for row in fixtures:
        if row.verdict == "inside":
            continue
        bounds = state.bounds(row.placed.line)
        low = row.verdict in {"below", "low"}
        limit_v = {
            "below": bounds.lowest_v,
            "low": bounds.low_v,
            "high": bounds.high_v,
            "above": bounds.highest_v,
        }[row.verdict]
        found.append(
            Finding(
                "fixture-below-window" if low else "fixture-above-window",
                FAULT if row.verdict in {"below", "above"} else WARNING,
                row.subject,
                bounds.source_of(row.verdict),
                measured=Amount(row.voltage_v, "V", -1 if low else 1),
                limit=Amount(limit_v, "V"),
                parameters=(
                    ("effect", _effect(row, stated=bounds.stated)),
                    ("remedy", _remedy(row.verdict, has_taps=has_taps)),
                ),
            )
        )
    return found


def _effect(row: FixtureState, *, stated: bool) -> str:
    """What the voltage is likely to do to the fixture."""
    if row.verdict == "high":
        return "That is inside its window, but more than is common practice on a supply with several taps."
    if row.verdict == "above":
        return "A fixture fed above its window ages fast and may fail."
    if row.placed.line.filament:
        return "A filament lamp glows dim and yellow there."
    if stated or row.verdict == "low":
        return "It may be dim, flicker or stay dark."
    return "An LED fixture is likely to flicker or stay dark there."


def _remedy(verdict: str, *, has_taps: bool) -> str:
    """What to do about a voltage; a tap only where the supply may have one."""
    if verdict in {"below", "low"}:
        return "Use thicker cable, or a shorter or split run" + (", or a higher tap" if has_taps else "")
    return "Use a lower tap" if has_taps else "Use a supply of lower voltage"


def drop_findings(state: SolvedState, fixtures: list[FixtureState]) -> list[Finding]:
    """Fixtures whose cable drop is over the caller's own limit."""
    limit_ratio = state.job.maximum_drop_ratio or 0.0
    return [
        Finding(
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


def near_collapse_finding(state: SolvedState, *, growth: float) -> Finding:
    """A network that this much more load would bring down. [-]"""
    return Finding(
        "near-collapse", WARNING, state.job.supply.subject, "own-calculation", limit=Amount(growth, "1")
    )
