"""A drawing as SVG 1.1: it loads nothing and runs nothing, and text stays text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Final
from xml.etree.ElementTree import Element, tostring

from service.sheets.drawing import Area, Drawing, Part, Point, Stroke, Words

STYLE: Final = (
    "svg text{font-family:system-ui,'Segoe UI',Helvetica,Arial,sans-serif;fill:#1b1b1b}"
    "svg .quiet{fill:#55524c}svg .warn{fill:#a3320b}"
    "svg .paper{fill:#fff}"
    "svg .line,svg .bold,svg .faint,svg .limit,svg .cross{fill:none;stroke:#1b1b1b;stroke-width:.8}"
    "svg .bold{stroke-width:1.5}svg .faint{stroke:#c9c6bf;stroke-width:.6}"
    "svg .limit{stroke:#a3320b;stroke-width:1.2}"
    "svg .trench{fill:none;stroke:#e2ddd2;stroke-width:8;stroke-linecap:round}"
    "svg .cross{stroke-width:2}svg .tint{fill:#a3320b;fill-opacity:.07}"
    "svg .ink{fill:#1b1b1b}svg .hollow,svg .open{fill:#fff;stroke:#a3320b;stroke-width:1.1}"
    "svg .open{stroke:#1b1b1b}"
    "svg text.warn{paint-order:stroke;stroke:#fff;stroke-width:3;stroke-opacity:.75}"
)
"""The style of a drawing on a page, which is light."""


OWN_STYLE: Final = STYLE + (
    "@media(prefers-color-scheme:dark){svg text,svg .ink{fill:#ece9e2}svg .paper{fill:#16181b}"
    "svg .line,svg .bold,svg .cross{stroke:#ece9e2}svg .faint{stroke:#4a4c50}svg .limit{stroke:#f2a27e}"
    "svg .trench{stroke:#3a3d42}"
    "svg .quiet{fill:#b3afa7}svg .warn,svg .tint{fill:#f2a27e}svg text.warn{stroke:#16181b}"
    "svg .hollow{fill:#16181b;stroke:#f2a27e}svg .open{fill:#16181b;stroke:#ece9e2}}"
)
"""The only style in a drawing of its own, light or dark, so that a policy can name it by its hash."""


_EDGE: Final = 12.0


def svg_bytes(drawing: Drawing) -> bytes:
    """A drawing as a document of its own."""
    whole = svg_element(drawing, alone=True)
    written: bytes = tostring(whole, encoding="utf-8")
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + written


def svg_element(drawing: Drawing, *, alone: bool = False) -> Element:
    """A drawing as an element; alone it brings its own style, paper and edge."""
    edge = _EDGE if alone else 0.0
    wide, tall = drawing.width + 2.0 * edge, drawing.height + 2.0 * edge
    size = {"width": _number(wide), "height": _number(tall)} if alone else {}
    own = [element("style", OWN_STYLE)] if alone else []
    corner = f"{_number(-edge)} {_number(-edge)}"
    paper = element(
        "rect", class_="paper", x=_number(-edge), y=_number(-edge), width=_number(wide), height=_number(tall)
    )
    return element(
        "svg",
        element("title", drawing.title),
        element("desc", drawing.description),
        *own,
        paper,
        *map(_drawn, drawing.parts),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"{corner} {_number(wide)} {_number(tall)}",
        role="img",
        **size,
    )


def _drawn(part: Part) -> Element:
    if isinstance(part, Words):
        return _words(part)
    if isinstance(part, Stroke):
        dash = {"stroke_dasharray": " ".join(map(_number, part.dash))} if part.dash else {}
        return element("path", class_=part.look, d=_path(part.points), **dash)
    return element("path", class_=_filling(part), d=_path(part.points) + "z")


def _filling(area: Area) -> str:
    if not area.hollow:
        return area.tone
    return "open" if area.tone == "ink" else "hollow"


def _words(part: Words) -> Element:
    look = {} if part.tone == "ink" else {"class": part.tone}
    anchor = {} if part.anchor == "start" else {"text-anchor": part.anchor}
    weight = {"font-weight": "600"} if part.bold else {}
    place = {"x": _number(part.x), "y": _number(part.y), "font-size": _number(part.size)}
    return element("text", isolated(part.text), **look, **place, **anchor, **weight)


_LETTERS: Final = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc"
_RIGHT_TO_LEFT: Final = re.compile(f"[{_LETTERS}]+(?:[ \u00a0-]+[{_LETTERS}]+)*")


def isolated(text: str) -> str:
    """A text in which words that run from right to left move nothing beside them (UAX #9, isolates).

    Else "4 × NAME, 1 × NAME" shows the 1 beside the 4, and a number after a name before it.
    """
    return _RIGHT_TO_LEFT.sub("\u2068\\g<0>\u2069", text)


def _path(points: Sequence[Point]) -> str:
    return "M" + "L".join(f"{_number(x)} {_number(y)}" for x, y in points)


def _number(value: float) -> str:
    return f"{round(value, 1) + 0.0:g}"


# XML 1.0, section 2.2: what may stand in no document, escaped or not.
_NO_CHARACTERS = {0xFFFE: "\ufffd", 0xFFFF: "\ufffd"}


def element(name: str, /, *content: Element | str, **attributes: str) -> Element:
    """An element; underscores in the names of attributes stand for hyphens, one at the end for nothing."""
    written = {key.rstrip("_").replace("_", "-"): value for key, value in attributes.items()}
    made = Element(name, written)
    for part in content:
        if isinstance(part, str):
            add_text(made, part)
        else:
            made.append(part)
    return made


def add_text(parent: Element, text: str) -> None:
    """Put a text at the end of an element."""
    clean = text.translate(_NO_CHARACTERS)
    if len(parent):
        parent[-1].tail = (parent[-1].tail or "") + clean
    else:
        parent.text = (parent.text or "") + clean


def each(name: str, texts: Iterable[str]) -> list[Element]:
    """An element for each text."""
    return [element(name, text) for text in texts]
