"""Verdicts inside an answer: a stable code, how grave it is, what it is about, value beside limit."""

from __future__ import annotations

from typing import NamedTuple

from service.circuit.corners import Corner
from service.circuit.job import JobPart

FAULT = "fault"


WARNING = "warning"


NOTE = "note"


class Amount(NamedTuple):
    """A value in its SI unit; `towards` says on which side of it a failure lies (-1, 0, 1)."""

    value: float
    unit: str
    towards: int = 0


class FindingFacts(NamedTuple):
    """One verdict.

    Parameters
    ----------
    code : str
        Stable; the catalogue holds its words.
    severity : str
        fault, warning or note.
    subject : Subject
        What it is about.
    source : str
        Id of the source of the limit.
    measured, limit : Amount or None
        Value beside limit.
    parameters : tuple of (str, str or Amount)
        Further named parts of the message.
    corner : Corner or None
        The corner in which it shows, where it does not show in the state that was said.
    """

    code: str
    severity: str
    subject: JobPart
    source: str
    measured: Amount | None = None
    limit: Amount | None = None
    parameters: tuple[tuple[str, str | Amount], ...] = ()
    corner: Corner | None = None
