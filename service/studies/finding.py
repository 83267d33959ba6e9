"""Verdicts inside an answer: a stable code, how grave it is, what it is about, value beside limit."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from service.studies.corners import Corner
    from service.studies.job import Subject

FAULT = "fault"
WARNING = "warning"
NOTE = "note"


class Amount(NamedTuple):
    """A value in its SI unit; `towards` says on which side of it a failure lies (-1, 0, 1)."""

    value: float
    unit: str
    towards: int = 0


class Finding(NamedTuple):
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
    subject: Subject
    source: str
    measured: Amount | None = None
    limit: Amount | None = None
    parameters: tuple[tuple[str, str | Amount], ...] = ()
    corner: Corner | None = None
