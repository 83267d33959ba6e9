"""Reads printed sheets back: tables and texts of a page, the words of a PDF, the numbers of either."""

import re
from html.parser import HTMLParser
from io import BytesIO
from typing import Any, Final

from pypdf import PdfReader

from tests.client import Client

HTML: Final = "text/html"
PDF: Final = "application/pdf"
SVG: Final = "image/svg+xml"

NUMBER: Final = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?:e[+-]?\d+)?(?![\w])")
REPLACEMENT: Final = "\u25af"


class Page(HTMLParser):
    """The headings, tables and whole text of a page, style and drawings apart.

    A browser's parser would let a start tag inside a name begin an element; this one does as well.
    """

    def __init__(self, content: bytes) -> None:
        super().__init__(convert_charrefs=True)
        self.tables: dict[str, list[list[list[str]]]] = {}
        self.texts: list[str] = []
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self._heading = ""
        self._cell: list[str] | None = None
        self._skipped = 0
        self._in_heading = False
        self.feed(content.decode())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        self._skipped += tag in ("style", "svg")
        if tag == "h2":
            self._heading, self._in_heading = "", True
        elif tag == "table":
            self.tables.setdefault(self._heading, []).append([])
        elif tag == "tr":
            self.tables[self._heading][-1].append([])
        elif tag in ("td", "th"):
            self._cell = []

    def handle_endtag(self, tag: str) -> None:
        self._skipped -= tag in ("style", "svg")
        if tag == "h2":
            self._in_heading = False
        elif tag in ("td", "th") and self._cell is not None:
            self.tables[self._heading][-1][-1].append("".join(self._cell))
            self._cell = None

    def handle_data(self, data: str) -> None:
        if self._skipped:
            return
        self.texts.append(data)
        if self._in_heading:
            self._heading += data
        if self._cell is not None:
            self._cell.append(data)

    @property
    def text(self) -> str:
        return " ".join(self.texts)

    def table(self, heading: str, place: int = 0) -> list[dict[str, str]]:
        """Rows of a table under a heading, by its columns; without the lines over groups of them."""
        head, *rows = self.tables[heading][place]
        return [dict(zip(head, row, strict=True)) for row in rows if len(row) > 1 or len(head) == 1]


def pdf_pages(content: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(BytesIO(content)).pages]


def numbers_in(text: str) -> set[float]:
    return {float(number) for number in NUMBER.findall(text)}


def printed(client: Client, path: str, request: Any, form: str) -> bytes:
    reply = client.post(path, json=request, headers={"Accept": form})
    assert reply.status_code == 200, reply.text
    assert reply.headers["content-type"].partition(";")[0] == form
    return reply.content


def page_of(client: Client, path: str, request: Any) -> Page:
    return Page(printed(client, path, request, HTML))


def pdf_text(client: Client, path: str, request: Any) -> str:
    return "\n".join(pdf_pages(printed(client, path, request, PDF)))


def squeezed(text: str) -> str:
    """A text without the breaks that a column puts into it."""
    return "".join(text.split())
