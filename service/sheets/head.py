"""The head of every sheet: its title, the caller's lines, and the paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from service.sheets.figures import said
from service.sheets.sheet import Sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from msgspec import UnsetType

    from service.messages.sheet import SheetWords
    from service.sheets.sheet import Paper, Section


class Request(Protocol):
    """What the head of a sheet is made from."""

    @property
    def id(self) -> str | UnsetType:
        """The caller's own id."""
        ...

    @property
    def sheet(self) -> SheetWords | UnsetType:
        """What the caller wants on the sheet."""
        ...


def head(request: Request, study: str, length_unit: str, sections: Sequence[Section]) -> Sheet:
    """A sheet with the head that the request asks for.

    Parameters
    ----------
    request : Request
    study : str
        What the study is called; the title where the request gives none.
    length_unit : str
        Of the reply: feet are read on letter paper, metres on A4.
    sections : sequence of Section
        In their order.
    """
    words = said(request.sheet)
    title = None if words is None else said(words.title)
    lines = [] if words is None else said(words.lines) or []
    paper: Paper | None = None if words is None else said(words.paper)
    usual: Paper = "letter" if length_unit == "ft" else "a4"
    own_id = said(request.id)
    return Sheet(
        title=study if title is None else title,
        study=study if own_id is None else f"{study} · job {own_id}",
        lines=lines,
        paper=usual if paper is None else paper,
        sections=sections,
    )
