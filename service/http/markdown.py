"""Markdown as HTML, as far as the pages of the documentation use it; all text is escaped.

Headings of rank two and three, paragraphs, lists, quotations, tables and fenced code; within them code, bold
words and links.
"""

import re
from collections.abc import Callable, Iterator
from html import escape

_INLINE = re.compile(r"(``.+?``|`[^`]+`|\*\*[^*]+\*\*|\[[^\]]+\]\([^)\s]+\))", re.DOTALL)


def html_of(text: str, anchor: Callable[[str], str]) -> str:
    """A text as HTML.

    Parameters
    ----------
    text : str
        Markdown.
    anchor : callable
        From a heading to its `id`.
    """
    return "\n".join(_blocks(text, anchor))


def _blocks(text: str, anchor: Callable[[str], str]) -> Iterator[str]:
    for piece in re.split(r"(^```\w*\n.*?^```$)", text, flags=re.MULTILINE | re.DOTALL):
        if piece.startswith("```"):
            code = piece.partition("\n")[2].removesuffix("\n```")
            yield f'<pre tabindex="0"><code>{escape(code)}</code></pre>'
        else:
            for block in re.split(r"\n{2,}", piece.strip("\n")):
                if block.strip():
                    yield _block(block.strip("\n"), anchor)


def _block(block: str, anchor: Callable[[str], str]) -> str:
    heading = re.fullmatch(r"(#{2,3}) (.+)", block)
    if heading is not None:
        rank, title = len(heading[1]), heading[2]
        return f'<h{rank} id="{escape(anchor(title))}" tabindex="-1">{inline(title)}</h{rank}>'
    if block.startswith("- "):
        items = re.split(r"\n- ", block[2:])
        return "<ul>" + "".join(f"<li>{inline(item)}</li>" for item in items) + "</ul>"
    if block.startswith("> "):
        return f"<blockquote><p>{inline(block.removeprefix('> '))}</p></blockquote>"
    return _table(block) if block.startswith("| ") else f"<p>{inline(block)}</p>"


def _table(block: str) -> str:
    heads, _, *rows = (re.split(r" ?\| ?", line.strip("| ")) for line in block.split("\n"))
    named = "".join(f'<th scope="col">{inline(head)}</th>' for head in heads)
    body = "".join("<tr>" + "".join(f"<td>{inline(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><thead><tr>{named}</tr></thead><tbody>{body}</tbody></table>"


def inline(text: str) -> str:
    """One line of words."""
    return "".join(map(_piece, _INLINE.split(" ".join(text.split()))))


def _piece(piece: str) -> str:
    code = re.fullmatch(r"(`{1,2})(.+)\1", piece)
    if code is not None:
        return f"<code>{escape(code[2].strip())}</code>"
    if re.fullmatch(r"\*\*[^*]+\*\*", piece):
        return f"<strong>{escape(piece[2:-2])}</strong>"
    link = re.fullmatch(r"\[([^\]]+)\]\(([^)\s]+)\)", piece)
    if link is not None:
        return f'<a href="{escape(link[2])}">{inline(link[1])}</a>'
    return escape(piece)
