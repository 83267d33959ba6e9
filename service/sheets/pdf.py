"""A sheet as PDF: plain drawing with two bundled faces, the same bytes for the same sheet."""

from __future__ import annotations

import re
import warnings
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Final, NamedTuple

with warnings.catch_warnings():
    # Sheets have no pictures, and the library that draws them misses their decoder aloud.
    warnings.filterwarnings("ignore", "Pillow could not be imported", UserWarning)
    from fpdf import FPDF

from service.sheets.drawing import WIDE, Area, Drawing, Part, Stroke, Tone, Words, within
from service.sheets.sheet import Block, Column, Facts, Figure, Headline, Paragraph, Section, Sheet, Table
from service.sheets.typeface import Face, face

PAPERS: Final = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
"""Width and height. [pt]"""


EDGE, TOP, FOOT = 38.0, 40.0, 50.0


BODY, TABLE, SMALLEST = 9.0, 7.8, 6.4


LEADING: Final = 1.28


GAP: Final = 7.0


HEADLINE, GRAVE = 14.0, 23.0
"""Size of the sentence that everybody should read; the larger one is above every title. [pt]"""


GROUP: Final = 6.0
"""What the line over a group of rows is taller by than its type. [pt]"""


BY_HAND: Final = 8.0
"""What a row is taller by where somebody is to write in it. [pt]"""


class Page(NamedTuple):
    """What stands on one page."""

    parts: list[Part]


class Pages(NamedTuple):
    """A laid-out sheet."""

    width: float
    height: float
    pages: list[Page]


def laid_out(sheet: Sheet) -> Pages:
    """Lay out a sheet."""
    flow = _Flow(*PAPERS[sheet.paper])
    flow.head(sheet)
    for section in sheet.sections:
        flow.section(section)
    if flow.printable.replaced:
        flow.paragraph(_REPLACED)
    return Pages(flow.width, flow.height, flow.pages)


def _tone(headline: Headline) -> Tone:
    return "warn" if headline.grave else "ink"


class _Flow:
    """Fills pages from the top.

    Parameters
    ----------
    width, height : float
        Of the paper. [pt]
    """

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self.pages = [Page([])]
        self.printable = Printable()
        self._room = width - 2.0 * EDGE
        self._y = TOP
        self._faces = face(bold=False), face(bold=True)

    def head(self, sheet: Sheet) -> None:
        """Title, study and the caller's lines."""
        self._lines(sheet.title, 17.0, bold=True)
        if sheet.study:
            self._lines(sheet.study, BODY)
        self._y += 4.0
        for line in sheet.lines:
            self._lines(line, BODY)

    def section(self, section: Section) -> None:
        """A heading that stays with the beginning of what stands under it."""
        self._need(36.0 + self._opening(section.blocks))
        if self._y > TOP:
            self._y += 12.0
        if section.title:
            self._lines(section.title, 11.5, bold=True)
            self._y += 2.0
        for block in section.blocks:
            self._block(block)

    def paragraph(self, text: str) -> None:
        """A paragraph."""
        self._lines(text, BODY)
        self._y += 3.0

    def _block(self, block: Block) -> None:
        if isinstance(block, Headline):
            self._lines(block.text, GRAVE if block.grave else HEADLINE, bold=True, tone=_tone(block))
            self._y += 4.0
        elif isinstance(block, Paragraph):
            self.paragraph(block.text)
        elif isinstance(block, Figure):
            self._figure(block)
        elif isinstance(block, Facts):
            rows = [list(row) for row in block.rows]
            self._table(Table([Column(""), Column("")], rows), headed=False)
        else:
            self._table(block, headed=True)

    def _least(self, block: Block) -> float:
        """How much room the beginning of a block needs. [pt]"""
        if isinstance(block, Figure):
            return self._tall(block.drawing) + 18.0
        return 56.0 if isinstance(block, Table) else 28.0

    def _opening(self, blocks: Sequence[Block]) -> float:
        """How much room the beginning of a section needs: a paragraph stays with what it introduces. [pt]"""
        introduced = blocks[1:2] if isinstance(blocks[0], Headline | Paragraph) else []
        return self._least(blocks[0]) + sum(map(self._least, introduced))

    def _need(self, height: float) -> None:
        """Begin a page where so much is not left on this one."""
        if self._y + height > self.height - FOOT and self._y > TOP:
            self.pages.append(Page([]))
            self._y = TOP

    def _lines(self, text: str, size: float, *, bold: bool = False, tone: Tone = "ink") -> None:
        for line in wrapped(self.printable(text), self._room, self._faces[bold], size):
            self._need(size * LEADING)
            self._y += size * LEADING
            self._put(Words(line, EDGE, self._y - 0.28 * size, size, tone=tone, bold=bold))

    def _put(self, part: Part) -> None:
        self.pages[-1].parts.append(part)

    def _figure(self, figure: Figure) -> None:
        drawing = figure.drawing
        scale = self._room / WIDE
        self._need(self._tall(drawing) + 16.0)
        self._lines(figure.caption, BODY, bold=True)
        self._y += 2.0
        for part in drawing.parts:
            self._put(self._scaled(part, scale))
        self._y += self._tall(drawing) + 4.0

    def _tall(self, drawing: Drawing) -> float:
        return drawing.height * self._room / WIDE

    def _scaled(self, part: Part, scale: float) -> Part:
        if isinstance(part, Words):
            x, y = EDGE + scale * part.x, self._y + scale * part.y
            return part._replace(text=self.printable(part.text), x=x, y=y, size=scale * part.size)
        return part._replace(points=[(EDGE + scale * x, self._y + scale * y) for x, y in part.points])

    def _table(self, table: Table, *, headed: bool) -> None:
        rows = [[self.printable(text) for text in row] for row in table.rows]
        setter = _Setter(table._replace(rows=rows), self._room, self._faces, spread_out=headed)
        if headed:
            self._need(setter.head_height + 2.0 * setter.leading)
            self._head_row(setter)
        for place in range(len(rows)):
            lines = setter.lines(place)
            height = setter.height(lines) + (BY_HAND if table.roomy else 0.0)
            group = table.groups.get(place)
            above = 0.0 if group is None else GROUP + setter.leading
            if self._y + above + height > self.height - FOOT:
                self._need(above + height)
                if headed:
                    self._head_row(setter)
            if group is not None:
                self._group_row(setter, group, above)
            self._row(setter, lines, height, bold=place in table.strong)
        self._y += 6.0

    def _group_row(self, setter: _Setter, text: str, height: float) -> None:
        """What the rows below have in common, in one line."""
        words = self.printable(text)
        self._y += height
        for line in wrapped(words, self._room, self._faces[True], setter.size)[:1]:
            self._put(Words(line, EDGE, self._y - 3.0, setter.size, bold=True))

    def _head_row(self, setter: _Setter) -> None:
        self._row(setter, setter.head, setter.head_height, bold=True, look="line")

    def _row(
        self,
        setter: _Setter,
        lines: Sequence[Sequence[str]],
        height: float,
        *,
        bold: bool,
        look: str = "faint",
    ) -> None:
        x, size, measure = EDGE, setter.size, self._faces[bold].breadth
        for cell, width, column in zip(lines, setter.widths, setter.table.columns, strict=True):
            down = height - setter.height([cell]) if look == "line" else 0.0
            for place, line in enumerate(cell):
                y = self._y + down + 2.0 + setter.leading * (place + 0.8)
                left = x + width - GAP - measure(line, size) if column.numbers else x
                self._put(Words(line, left, y, size, bold=bold))
            x += width
        self._y += height
        rule = [(EDGE, self._y), (EDGE + sum(setter.widths) - GAP, self._y)]
        self._put(Stroke(rule, "line" if look == "line" else "faint"))


class _Setter:
    """How one table is set: its size, its columns, and the lines of its cells."""

    def __init__(self, table: Table, room: float, faces: tuple[Face, Face], *, spread_out: bool) -> None:
        self.table, self._faces = table, faces
        self.size = TABLE
        self.widths = self._widths(room)
        while sum(self.widths) > room + GAP + 0.1 and self.size > SMALLEST:
            self.size -= 0.2
            self.widths = self._widths(room)
        self.widths = narrowed(self.widths, [not column.numbers for column in table.columns], room + GAP)
        if spread_out:
            self.widths = spread(self.widths, room + GAP)
        self.leading = LEADING * self.size
        self.head = [
            wrapped(column.heading, width - GAP, faces[1], self.size)
            for column, width in zip(table.columns, self.widths, strict=True)
        ]
        self.head_height = self.height(self.head)

    def _widths(self, room: float) -> list[float]:
        return column_widths(self.table, room + GAP, GAP, self._faces, self.size)

    def lines(self, place: int) -> list[list[str]]:
        """The lines of each cell of a row."""
        used = self._faces[place in self.table.strong]
        return [
            [text] if column.numbers else wrapped(text, width - GAP, used, self.size)
            for text, column, width in zip(
                self.table.rows[place], self.table.columns, self.widths, strict=True
            )
        ]

    def height(self, lines: Sequence[Sequence[str]]) -> float:
        """How tall a row is. [pt]"""
        return self.leading * max(map(len, lines)) + 4.0


ROUNDING = 1e-6
"""What sums of breadths may differ by. [pt]"""


LEAST_COLUMN = 34.0
"""A column of texts is not made narrower than this where there is a choice. [pt]"""


BETWEEN_WORDS: Final = re.compile(r" (?!(?<=[0-9] )(?:m?V|A|k?VA|k?W|%|ft|m|mm|mm2|AWG|ohm)(?![\w/]))")
"""A space at which a line may end: not between a number and its unit."""


def wrapped(text: str, width: float, face: Face, size: float) -> list[str]:
    """Lines of a printable text, each no wider than allowed; a word that is too long is cut. [pt]"""
    width += ROUNDING
    if face.breadth(text, size) <= width:
        return [text]
    lines: list[str] = []
    line = ""
    for word in BETWEEN_WORDS.split(text):
        joined = f"{line} {word}" if line else word
        if face.breadth(joined, size) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        *full, line = _cut(word, width, face, size)
        lines += full
    return [*lines, line]


def _cut(word: str, width: float, face: Face, size: float) -> list[str]:
    pieces, piece = [], ""
    for letter in word:
        if piece and face.breadth(piece + letter, size) > width:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]


def column_widths(
    table: Table, room: float, gap: float, faces: tuple[Face, Face], size: float
) -> list[float]:
    """The width of each column, gap included. [pt]

    Columns of numbers are as wide as their widest number or the longest word of their heading; texts share
    what is left, the short ones first.
    """
    natural = [_natural(table, place, faces, size) + gap for place in range(len(table.columns))]
    texts = [place for place, column in enumerate(table.columns) if not column.numbers]
    left = room - sum(width for place, width in enumerate(natural) if place not in texts)
    widths = list(natural)
    waiting = sorted(texts, key=lambda place: natural[place])
    while waiting:
        place = waiting.pop(0)
        share = max(left / (len(waiting) + 1), LEAST_COLUMN, table.columns[place].least)
        widths[place] = min(natural[place], share)
        left -= widths[place]
    return widths


NARROWEST: Final = 22.0
"""No column of texts is made narrower than this, whatever stands beside it. [pt]"""


def narrowed(widths: list[float], breakable: list[bool], room: float) -> list[float]:
    """Columns that together fit into the room: what is too much the widest texts give up. [pt]"""
    widths = list(widths)
    texts = [place for place, may in enumerate(breakable) if may and widths[place] > NARROWEST]
    while (excess := sum(widths) - room) > ROUNDING and texts:
        texts.sort(key=lambda place: widths[place])
        *_, widest = texts
        least = max(NARROWEST, widths[texts[-2]] if len(texts) > 1 else 0.0, widths[widest] - excess)
        alike = [place for place in texts if widths[place] == widths[widest]]
        if len(alike) > 1:
            least = max(NARROWEST, widths[widest] - excess / len(alike))
        for place in alike:
            widths[place] = least
        texts = [place for place in texts if widths[place] > NARROWEST]
    return widths


def spread(widths: list[float], room: float) -> list[float]:
    """Columns with what is left of the room shared among them, the wide ones first. [pt]"""
    total = sum(widths)
    return [width * room / total for width in widths] if 0.0 < total < room else widths


def _natural(table: Table, place: int, faces: tuple[Face, Face], size: float) -> float:
    column = table.columns[place]
    regular, bold = faces
    strong = [row[place] for index, row in enumerate(table.rows) if index in table.strong]
    cells = max(
        (regular.breadth(text, size) for text in longest([row[place] for row in table.rows])), default=0.0
    )
    strong_cells = max((bold.breadth(text, size) for text in longest(strong)), default=0.0)
    words = column.heading.split(" ") if column.numbers else [column.heading]
    return max(cells, strong_cells, *(bold.breadth(word, size) for word in words))


def longest(texts: Sequence[str], most: int = 40) -> list[str]:
    """The texts with most letters, among which the widest is."""
    return sorted(set(texts), key=len, reverse=True)[:most]


REPLACEMENT: Final = "\N{WHITE VERTICAL RECTANGLE}"
"""Stands for a letter that the faces do not have."""


_REPLACED: Final = (
    f"Letters that this print cannot show stand as {REPLACEMENT}; the same sheet as a web page shows them."
)


class Printable:
    """Makes texts printable, and counts what had to be replaced."""

    def __init__(self) -> None:
        self._known = face(bold=False).breadths.keys() & face(bold=True).breadths.keys()
        self.replaced = 0

    def __call__(self, text: str) -> str:
        """A text with every letter that the faces lack replaced."""
        if text.isascii() and text.isprintable():
            return text
        letters = [letter if ord(letter) in self._known else REPLACEMENT for letter in text]
        self.replaced += sum(one != other for one, other in zip(letters, text, strict=True))
        return "".join(letters)


MADE: Final = datetime(2000, 1, 1, tzinfo=UTC)
"""Every sheet says that it was made then: the clock has no place in an answer."""


FAMILY: Final = "sheet"


_TONES: Final = {"ink": (27, 27, 27), "quiet": (85, 82, 76), "warn": (163, 50, 11), "tint": (163, 50, 11)}


TINT, HALO = 0.07, 0.75
"""How opaque a tint is, and the paper behind words that stand over lines."""


_LOOKS: Final = {
    "line": ((27, 27, 27), 0.7),
    "bold": ((27, 27, 27), 1.4),
    "faint": ((201, 198, 191), 0.5),
    "trench": ((226, 221, 210), 8.0),
    "limit": ((163, 50, 11), 0.7),
    "cross": ((27, 27, 27), 1.8),
}


def pdf_bytes(sheet: Sheet) -> bytes:
    """A sheet as a document.

    Parameters
    ----------
    sheet : Sheet
    """
    sheets = (sheet, *sheet.further)
    papers = [laid_out(each) for each in sheets]
    document = _document(sheet, papers[0])
    for own, paper in zip(sheets, papers, strict=True):
        said = Printable()(" \N{MIDDLE DOT} ".join(filter(None, (own.study, own.title))))
        for number, page in enumerate(paper.pages, 1):
            document.add_page()
            pen = _Pen(document)
            for part in page.parts:
                pen.draw(part)
            pen.foot(f"page {number} of {len(paper.pages)}", paper, said if number > 1 else "")
    return bytes(document.output())


def _document(sheet: Sheet, pages: Pages) -> FPDF:
    document = FPDF(unit="pt", format=(pages.width, pages.height))
    document.set_creation_date(MADE)
    document.set_producer("Lastlamp")
    document.set_title(sheet.title)
    document.set_lang("en")
    document.set_auto_page_break(auto=False)
    for style in ("", "B"):
        document.add_font(FAMILY, style, face(bold=style == "B").path)
    return document


FOOT_SIZE: Final = 7.5
"""Size of what stands below every page. [pt]"""


class _Pen:
    """Draws parts on the newest page."""

    def __init__(self, document: FPDF) -> None:
        self._document = document
        self._set: tuple[bool, float, str] | None = None

    def draw(self, part: Part) -> None:
        """Draw one part."""
        if isinstance(part, Words):
            self._words(part)
        elif isinstance(part, Stroke):
            self._stroke(part)
        elif part.tone == "tint":
            with self._document.local_context(fill_opacity=TINT):
                self._area(part)
        else:
            self._area(part)

    def _area(self, part: Area) -> None:
        tone = _TONES[part.tone]
        self._document.set_draw_color(*tone)
        self._document.set_fill_color(*((255, 255, 255) if part.hollow else tone))
        self._document.set_line_width(0.9)
        self._document.polygon(list(part.points), style="DF" if part.hollow else "F")

    def foot(self, text: str, pages: Pages, again: str) -> None:
        """Say which page it is and, where pages may be parted, of what."""
        wide, y = face(bold=False).breadth(text, FOOT_SIZE), pages.height - 26.0
        self._words(Words(text, pages.width - EDGE - wide, y, FOOT_SIZE, tone="quiet"))
        if again:
            kept = within(again, pages.width - 2.0 * EDGE - wide - 20.0, FOOT_SIZE)
            self._words(Words(kept, EDGE, y, FOOT_SIZE, tone="quiet"))

    def _words(self, part: Words) -> None:
        wanted = part.bold, part.size, part.tone
        if wanted != self._set:
            self._document.set_font(FAMILY, "B" if part.bold else "", part.size)
            self._document.set_text_color(*_TONES[part.tone])
            self._set = wanted
        shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[part.anchor]
        wide = face(bold=part.bold).breadth(part.text, part.size) if shift else 0.0
        if part.tone == "warn":
            self._paper(part)
        self._document.text(part.x - shift * wide, part.y, part.text)

    def _paper(self, part: Words) -> None:
        """Paper behind words, over whatever line passes there."""
        wide = face(bold=part.bold).breadth(part.text, part.size)
        with self._document.local_context(fill_opacity=HALO, fill_color=(255, 255, 255)):
            self._document.rect(part.x, part.y - 0.8 * part.size, wide, part.size, style="F")

    def _stroke(self, part: Stroke) -> None:
        colour, width = _LOOKS[part.look]
        self._document.set_draw_color(*colour)
        self._document.set_line_width(width)
        # The library knows patterns of one dash and one gap: each dash of a longer one is drawn by itself.
        period = sum(part.dash)
        for place, dash in enumerate(part.dash[::2]):
            phase = (period - sum(part.dash[: 2 * place])) % period
            self._document.set_dash_pattern(dash, period - dash, phase)
            self._document.polyline(list(part.points))
        if part.dash:
            self._document.set_dash_pattern()
        else:
            self._document.polyline(list(part.points))
