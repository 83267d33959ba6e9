"""What rules a choice out, the same for every study that chooses."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from service.findings.finding import FAULT, NOTE, WARNING, FindingFacts, FindingKind

RANGE_NOT_HELD: Final = FindingKind(
    "range-not-held",
    (WARNING,),
    "What is recommended holds the state as stated, not the whole range that is usual: {reason}. Nothing on"
    " offer holds all of it.",
    "No choice holds the range, so one that holds the stated state is recommended.",
)


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
