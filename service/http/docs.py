"""`GET /docs`: what people read: a page for each study, a worked garden, every code, and the contract to try.

Nothing is loaded from anywhere else. The pages are written when the process starts, from its own document.
"""

import json
from collections.abc import Callable
from functools import lru_cache
from html import escape
from itertools import pairwise
from typing import Any, Final, NamedTuple

from litestar import Response, get
from litestar.params import FromPath
from markdown_it import MarkdownIt

from service.http import guide
from service.http.openapi_document import DOCUMENT, WrittenDocument
from service.http.replies import AnyRequest
from service.http.static_files import (
    ANEW,
    FILE_POLICY,
    STATIC,
    File,
    file_named,
    file_of,
    file_reply,
    files_in,
)
from service.studies.record import HTML, JSON

FOLDER: Final = STATIC / "docs"


REFERENCE: Final = "reference"
"""The page on which the contract is read and tried, which a script writes."""


SEARCH: Final = "search.json"
"""What the search of the pages looks into, loaded once."""


MARKDOWN: Final = "text/markdown"


TEXT: Final = "text/plain"


DOCS_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:;"
    " font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


_PAGE: Final = """\
<!doctype html>
<html lang="en">
  <head>
    <meta charset="utf-8">
    <meta name="viewport" content="width=device-width, initial-scale=1">
    <meta name="color-scheme" content="light dark">
    <title>{title} - Lastlamp</title>
    <link rel="icon" href="/docs/lamp.svg" type="image/svg+xml">
    <link rel="stylesheet" href="/docs/page.css">
    <script type="module" src="/docs/search.js"></script>
  </head>
  <body>
    <a class="skip" href="#content">Skip to the content</a>
    <header class="top">
      <p class="mark"><a href="/">Lastlamp</a></p>
      <p><a href="/docs.md">Markdown</a> <a href="/openapi.json">openapi.json</a></p>
    </header>
    <nav aria-label="Contents">
{contents}
    </nav>
    <main id="content" tabindex="-1">
      <div id="search"></div>
      <h1>{title}</h1>
{text}
    </main>
  </body>
</html>
"""


class Guide(NamedTuple):
    """All that is written from one document."""

    pages: dict[str, File]
    """By the name below `/docs`; empty is the first page."""
    whole: File
    short: File


@get("/docs", include_in_schema=False)
async def docs(request: AnyRequest) -> Response[bytes]:
    """The first page."""
    return _page(request, (await _guide(request)).pages[""])


@get("/docs/{name:str}", include_in_schema=False)
async def docs_file(request: AnyRequest, name: FromPath[str]) -> Response[bytes]:
    """A page, or a file that a page loads.

    Raises
    ------
    Refused
        ``not-found``: there is no such page or file.
    """
    files = {**(await _guide(request)).pages, **files_in(FOLDER)}
    files[REFERENCE] = files["reference.html"]
    missing = "The documentation has no page or file of this name. It starts at /docs."
    return _page(request, file_named(files, name, missing))


@get("/docs.md", include_in_schema=False)
async def docs_markdown(request: AnyRequest) -> Response[bytes]:
    """All pages as one text."""
    file = (await _guide(request)).whole
    return file_reply(request, file, policy=FILE_POLICY, cache_control=ANEW)


@get("/llms.txt", include_in_schema=False)
async def docs_short(request: AnyRequest) -> Response[bytes]:
    """What this is, each study in a line, and where the rest stands."""
    file = (await _guide(request)).short
    return file_reply(request, file, policy=FILE_POLICY, cache_control=ANEW)


async def _guide(request: AnyRequest) -> Guide:
    document: WrittenDocument = request.app.state[DOCUMENT]
    return guide_of(await document.text())


@lru_cache(maxsize=1)
def guide_of(document: bytes) -> Guide:
    """Write every page from the document, once."""
    contract: Any = json.loads(document)
    pages = guide.pages(contract)
    contents = _contents(pages)
    written = {
        page.name: file_of(
            _PAGE.format(
                title=escape(page.title), contents=contents, text=html_of(page.text, guide.anchor)
            ).encode(),
            HTML,
        )
        for page in pages
    }
    found_by_search = [entry._asdict() for page in pages for entry in guide.entries(page)]
    written[SEARCH] = file_of(json.dumps(found_by_search, ensure_ascii=False).encode(), JSON)
    return Guide(
        written,
        file_of(guide.whole(contract).encode(), MARKDOWN),
        file_of(guide.short(contract).encode(), TEXT),
    )


def html_of(text: str, anchor: Callable[[str], str]) -> str:
    """Markdown as HTML; markup in it is shown as text.

    Parameters
    ----------
    text : str
        CommonMark with tables.
    anchor : callable
        From a heading to its `id`.
    """
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    # Code may be wider than the page, so that the keyboard has to reach it.
    reader.add_render_rule("fence", lambda _, tokens, place, *__: _code(tokens[place].content.rstrip("\n")))
    tokens = reader.parse(text)
    for token, following in pairwise(tokens):
        if token.type == "heading_open":
            token.attrs |= {"id": anchor(following.content), "tabindex": "-1"}
        elif token.type == "th_open":
            token.attrs |= {"scope": "col"}
    rendered: str = reader.renderer.render(tokens, reader.options, {})
    return rendered


def _code(text: str) -> str:
    return f'<pre tabindex="0"><code>{escape(text)}</code></pre>\n'


def _contents(pages: list[guide.Chapter]) -> str:
    links = [(page.address, page.title) for page in pages] + [(f"/docs/{REFERENCE}", "Reference")]
    rows = [f'<li><a href="{escape(address)}">{escape(title)}</a></li>' for address, title in links]
    return "<ul>" + "".join(rows) + "</ul>"


def _page(request: AnyRequest, file: File) -> Response[bytes]:
    policy = DOCS_POLICY if file.media_type == HTML else FILE_POLICY
    return file_reply(request, file, policy=policy, cache_control=ANEW)
