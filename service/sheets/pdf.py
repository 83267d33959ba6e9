"""A sheet as PDF: plain drawing with two bundled faces, the same bytes for the same sheet."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Final

from fpdf import FPDF

from service.sheets.drawing import Area, Part, Stroke, Words
from service.sheets.flow import EDGE, Pages, face, laid_out
from service.sheets.sheet import Sheet

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
    "limit": ((163, 50, 11), 0.7),
    "cross": ((27, 27, 27), 1.8),
}


def pdf_bytes(sheet: Sheet) -> bytes:
    """A sheet as a document.

    Parameters
    ----------
    sheet : Sheet
    """
    pages = laid_out(sheet)
    document = _document(sheet, pages)
    for number, page in enumerate(pages.pages, 1):
        document.add_page()
        pen = _Pen(document)
        for part in page.parts:
            pen.draw(part)
        pen.foot(f"page {number} of {len(pages.pages)}", pages)
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

    def foot(self, text: str, pages: Pages) -> None:
        """Say which page it is."""
        wide = face(bold=False).breadth(text, 7.5)
        self._words(Words(text, pages.width - EDGE - wide, pages.height - 26.0, 7.5, tone="quiet"))

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
