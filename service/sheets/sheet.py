"""A sheet before it has a form: what it says, in which order, and how much of it belongs together.

Every number is already a text here, so that each form prints the same one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from service.sheets.drawing import Drawing
from service.wire.job import PaperSize

Paper = PaperSize


class Paragraph(NamedTuple):
    """A paragraph."""

    text: str


class Headline(NamedTuple):
    """The one sentence that everybody should read; what is `grave` is the largest on its page."""

    text: str
    grave: bool = False


class Facts(NamedTuple):
    """Names and what they are, one below the other."""

    rows: Sequence[tuple[str, str]]


class Column(NamedTuple):
    """A column and whether it holds numbers, which stand right; they and `short` texts are never broken."""

    heading: str
    numbers: bool = False
    short: bool = False
    least: float = 0.0
    """A column of texts is not made narrower than this. [pt]"""


class Table(NamedTuple):
    """Rows under headings; a row has a text for each column and is never split over two pages."""

    columns: Sequence[Column]
    rows: Sequence[Sequence[str]]
    strong: frozenset[int] = frozenset()
    """Rows that stand out, by their place."""
    roomy: bool = False
    """Whether rows are tall enough to be written in by hand."""
    groups: Mapping[int, str] = MappingProxyType({})
    """What stands over the row at a place, and holds until the next."""


class Figure(NamedTuple):
    """A drawing and what it shows."""

    drawing: Drawing
    caption: str
    slim: Drawing | None = None
    """The same for a narrow screen, where it is another one."""


Block = Headline | Paragraph | Facts | Table | Figure


class Section(NamedTuple):
    """A heading, none where it is empty, and what stands under it."""

    title: str
    blocks: Sequence[Block]


class Sheet(NamedTuple):
    """Everything that a sheet says; `lines` are the caller's own."""

    title: str
    study: str
    lines: Sequence[str]
    paper: Paper
    sections: Sequence[Section]
    further: Sequence[Sheet] = ()
    """Sheets that are handed over with it, each on pages of its own."""
    one_page: bool = False
    """Whether all of it is meant to stand on one page."""


def rows_of(sheet: Sheet) -> int:
    """How many rows its tables have, those of further sheets with them."""
    tables = (block for section in sheet.sections for block in section.blocks if isinstance(block, Table))
    return sum(len(table.rows) for table in tables) + sum(map(rows_of, sheet.further))


def texts(*headings: str) -> list[Column]:
    """Columns of texts."""
    return [Column(heading) for heading in headings]


def numbers(*headings: str) -> list[Column]:
    """Columns of numbers."""
    return [Column(heading, numbers=True) for heading in headings]


def filled(sections: Iterable[Section]) -> list[Section]:
    """Sections that say something."""
    kept = [section._replace(blocks=[each for each in section.blocks if _says(each)]) for section in sections]
    return [section for section in kept if section.blocks]


def _says(block: Block) -> bool:
    return bool(block.rows) if isinstance(block, Facts | Table) else True
