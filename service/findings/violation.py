"""Limits that a choice of cables may break."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Final, NamedTuple

from service.circuit.corners import Corner
from service.circuit.envelope import EnvelopeResult
from service.circuit.job import JobPart
from service.circuit.limits import over_ampacity, over_drop
from service.circuit.state import Connected, FixtureVoltages, SolvedState
from service.circuit.windows import INSIDE, WindowBounds, farthest_above, farthest_below
from service.findings.finding import FindingFacts, FindingKind
from service.findings.protection import (
    CONDUCTOR_BELOW_DEVICE,
    SPAN_OVER_AMPACITY,
    too_large_device,
)
from service.findings.voltage import (
    DROP_OVER_LIMIT,
    FIXTURE_ABOVE_WINDOW,
    FIXTURE_BELOW_WINDOW,
)

NOT_MEASURED: Final = ""
"""The unit of a violation that has no value beside a limit."""


class Violation(NamedTuple):
    """A limit that a choice breaks: which, where, by what value beside which limit, and in which corner.

    `corner` is None in the stated state, and where what is broken is no matter of the state.
    """

    kind: FindingKind
    subject: JobPart
    measured: float
    limit: float
    unit: str
    corner: Corner | None = None

    @property
    def code(self) -> str:
        """The code of its kind."""
        return self.kind.code

    @property
    def side(self) -> str:
        """Low where more copper helps, high where less does, thin where only another conductor does."""
        return self.kind.limited.side

    @property
    def excess(self) -> float:
        """How far the value lies beyond the limit. [unit]"""
        return abs(self.measured - self.limit)


def count_and_excess(violations: Collection[Violation]) -> tuple[int, float]:
    """How many limits are broken, and how far beyond them it is, each in its unit."""
    return len(violations), sum(violation.excess for violation in violations)


def worst_of_each(violations: Iterable[Violation]) -> tuple[Violation, ...]:
    """Of each kind the violation farthest beyond its limit, in the order in which the kinds first appear."""
    worst: dict[FindingKind, Violation] = {}
    for violation in violations:
        known = worst.get(violation.kind)
        if known is None or violation.excess > known.excess:
            worst[violation.kind] = violation
    return tuple(worst.values())


def may_be_dim(accepted: frozenset[str]) -> bool:
    """Whether a fixture may be dim, because that warning is accepted."""
    return FIXTURE_BELOW_WINDOW.code in accepted


def least_v(window: WindowBounds, accepted: frozenset[str]) -> float:
    """What a fixture must get: no warning, or no fault where the warning is accepted. [V]"""
    return window.least_v(dim=may_be_dim(accepted))


def window_violations(
    state: SolvedState, volts: FixtureVoltages, accepted: frozenset[str]
) -> list[Violation]:
    """The fixture farthest below its window, and the one farthest above.

    Low is judged by the warning bound, high by the fault bound: a lamp that is only dim is no recommendation
    unless the caller accepts it.
    """
    if volts.verdict.count(INSIDE) == len(volts.verdict):
        return []
    found, fixtures, windows, judged_v = [], state.layout.fixtures, state.windows, volts.judged_v
    low = farthest_below(windows, judged_v, dim=may_be_dim(accepted))
    if low is not None:
        limit_v = least_v(windows[low], accepted)
        found.append(Violation(FIXTURE_BELOW_WINDOW, fixtures[low].subject, judged_v[low], limit_v, "V"))
    high = farthest_above(windows, judged_v)
    if high is not None:
        limit_v = windows[high].highest_v
        found.append(Violation(FIXTURE_ABOVE_WINDOW, fixtures[high].subject, judged_v[high], limit_v, "V"))
    return found


def light_load_violations(light: EnvelopeResult) -> list[Violation]:
    """Fixtures above their window with little else on."""
    found = []
    for connected, line, subject, highest in light.light_loads():
        bounds = connected.bounds(line)
        if bounds.is_above(highest.value):
            corner = highest.corner
            found.append(
                Violation(FIXTURE_ABOVE_WINDOW, subject, highest.value, bounds.highest_v, "V", corner)
            )
    return found


def drop_violations(state: SolvedState, volts: FixtureVoltages) -> list[Violation]:
    """The fixture with the largest drop, where that is over the request's limit."""
    limit_ratio = state.job.maximum_drop_ratio
    worst = max(volts.drop_ratio, default=0.0)
    if limit_ratio is None or not over_drop(worst, limit_ratio):
        return []
    subject = state.layout.fixtures[volts.drop_ratio.index(worst)].subject
    return [Violation(DROP_OVER_LIMIT, subject, 100.0 * worst, 100.0 * limit_ratio, "%")]


def conductor_violations(
    state: Connected, currents_a: list[float], accepted: frozenset[str]
) -> list[Violation]:
    """Cables over their ampacity, and cables and leads too thin for a device whose limit the request states.

    Currents are those of the spans, of either sign. [A]
    """
    found = []
    for laid, amps in zip(state.layout.spans, currents_a, strict=True):
        cable = laid.cable
        if cable is None:
            continue
        each_a = abs(amps) / laid.pieces
        if cable.ampacity_a is not None and over_ampacity(each_a, cable.ampacity_a):
            found.append(Violation(SPAN_OVER_AMPACITY, laid.subject, each_a, cable.ampacity_a, "A"))
        circuit = too_large_device(state, laid.feeder, cable)
        if circuit is not None:
            device_a, allowed_a = circuit.limit_a or 0.0, cable.device_a or 0.0
            found.append(Violation(CONDUCTOR_BELOW_DEVICE, laid.subject, device_a, allowed_a, "A"))
    return [each for each in found if each.code not in accepted]


def as_violations(findings: Iterable[FindingFacts]) -> list[Violation]:
    """Findings that rule a choice out, as limits that it breaks."""
    return [_as_violation(finding) for finding in findings]


def _as_violation(finding: FindingFacts) -> Violation:
    measured, limit = finding.measured, finding.limit
    if measured is None or limit is None:
        return Violation(finding.kind, finding.subject, 0.0, 0.0, NOT_MEASURED, finding.corner)
    return Violation(
        finding.kind, finding.subject, measured.value, limit.value, measured.unit, finding.corner
    )


def low_feeders(state: SolvedState, volts: FixtureVoltages, accepted: frozenset[str]) -> frozenset[int]:
    """The feeders with a fixture below what it is recommended at, or with too large a drop."""
    limit_ratio, dim = state.job.maximum_drop_ratio, may_be_dim(accepted)
    fixtures, windows = state.layout.fixtures, state.windows
    low = {
        fixtures[row].feeder
        for row, verdict in enumerate(volts.verdict)
        if verdict != INSIDE and windows[row].is_low(volts.judged_v[row], dim=dim)
    }
    if limit_ratio is not None:
        low.update(
            placed.feeder
            for placed, drop_ratio in zip(fixtures, volts.drop_ratio, strict=True)
            if over_drop(drop_ratio, limit_ratio)
        )
    return frozenset(low)
