"""What rules a choice out, the same for every study that chooses."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from service.findings.finding import FAULT, NOTE, WARNING, FindingFacts, FindingKind
from service.findings.voltage import FIXTURE_ABOVE_WINDOW, FIXTURE_BELOW_WINDOW


def unaccepted(findings: Iterable[FindingFacts], accepted: frozenset[str]) -> list[FindingFacts]:
    """Every fault, and every warning whose code was not accepted.

    Parameters
    ----------
    findings : iterable of FindingFacts
        Of the stated state and of every corner.
    accepted : frozenset of str
        Codes of warnings that the caller accepts.
    """
    return [
        found
        for found in findings
        if found.severity == FAULT or (found.severity != NOTE and found.code not in accepted)
    ]


RANGE_NOT_HELD: Final = FindingKind(
    "range-not-held",
    (WARNING,),
    "No choice was found that keeps every limit over the usual range, so this one is judged as stated."
    " {where} {shown}{beyond}.",
    "What is answered keeps the limits in the stated state; none was found that does over the usual range.",
    "No choice was found that keeps every limit over the usual range, so this one is judged as stated."
    " {where} {shown} at {corner}{beyond}.",
)


def range_finding(broken: list[FindingFacts]) -> FindingFacts:
    """That a choice does not hold the usual range, by what it breaks most there: of lamps first.

    Parameters
    ----------
    broken : list of FindingFacts
        What the range shows that the caller did not accept; at least one.
    """
    lamps = [each for each in broken if each.kind in {FIXTURE_BELOW_WINDOW, FIXTURE_ABOVE_WINDOW}]
    worst = max(lamps or broken, key=excess)
    return RANGE_NOT_HELD.found(
        worst.subject,
        worst.source,
        measured=worst.measured,
        limit=worst.limit,
        parameters=(*_shown(worst), ("broken", worst.code)),
        corner=worst.corner,
    )


def _shown(broken: FindingFacts) -> tuple[tuple[str, str], ...]:
    """Value and limit in words, where there are both."""
    meaning = broken.kind.meaning.rstrip(".")
    lowered = f": {meaning[:1].lower()}{meaning[1:]}"
    if broken.measured is None or broken.limit is None:
        return ("shown", "breaks a limit"), ("beyond", lowered)
    unit = "" if broken.measured.unit == "1" else f" {broken.measured.unit}"
    value, limit = f"{broken.measured.value:.2f}{unit}", f"the limit is {broken.limit.value:.2f}{unit}"
    if broken.kind in {FIXTURE_BELOW_WINDOW, FIXTURE_ABOVE_WINDOW}:
        return ("shown", f"has {value}"), ("beyond", f"; {limit}")
    return ("shown", "breaks a limit"), ("beyond", f"{lowered} ({value}; {limit})")


def excess(finding: FindingFacts, *, unmeasured: float = 1.0) -> float:
    """How far a value is beyond its limit, as a share of it; `unmeasured` where there are no two. [-]"""
    measured, limit = finding.measured, finding.limit
    if measured is None or limit is None or not limit.value or not measured.towards:
        return unmeasured
    return measured.towards * (measured.value / limit.value - 1.0)
