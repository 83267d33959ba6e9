"""A drawing before it has a form: lines, areas and words on a sheet of its own; y grows downwards."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final, Literal, NamedTuple

from service.sheets.typeface import face

Point = tuple[float, float]


Look = Literal["line", "bold", "faint", "limit", "cross", "trench"]
"""How a line looks: an axis, what is shown, a grid, a limit, a cross where nothing is carried, or a band."""


Tone = Literal["ink", "quiet", "warn", "tint"]


Anchor = Literal["start", "middle", "end"]


WIDE = 520.0
"""A drawing of a sheet is as wide as the text of a page. [pt]"""


OTHER_EM, WIDE_EM = 0.65, 1.0
"""How wide a letter that the bundled faces lack is taken to be beside its size, and a wide one. [-]"""


OTHER_FACES: Final = 1.12
"""A page is shown in a face of the reader's own, which may be wider than the bundled one. [-]"""


class Stroke(NamedTuple):
    """A line through points; `dash` are lengths drawn and left out in turn. [pt]"""

    points: Sequence[Point]
    look: Look = "line"
    dash: Sequence[float] = ()


class Area(NamedTuple):
    """An area within points, filled or left hollow."""

    points: Sequence[Point]
    tone: Tone = "ink"
    hollow: bool = False


class Words(NamedTuple):
    """A line of text; y is where it stands on."""

    text: str
    x: float
    y: float
    size: float = 8.0
    anchor: Anchor = "start"
    tone: Tone = "ink"
    bold: bool = False


Part = Stroke | Area | Words


class Drawing(NamedTuple):
    """Parts on a sheet, and what they show in words."""

    title: str
    description: str
    height: float
    parts: Sequence[Part]
    width: float = WIDE


def stacked(title: str, drawings: Sequence[Drawing]) -> Drawing:
    """Drawings one below the other, each under its title."""
    parts: list[Part] = [Words(title, 0.0, 16.0, 13.0, bold=True)]
    top = 24.0
    for drawing in drawings:
        parts.append(Words(drawing.title, 0.0, top + 14.0, 10.0, bold=True))
        parts += shifted(drawing.parts, top + 20.0)
        top += drawing.height + 26.0
    description = " ".join(drawing.description for drawing in drawings)
    return Drawing(title, description, top, parts)


def shifted(parts: Iterable[Part], down: float) -> list[Part]:
    """The same parts farther down."""
    moved: list[Part] = []
    for part in parts:
        if isinstance(part, Words):
            moved.append(part._replace(y=part.y + down))
        else:
            moved.append(part._replace(points=[(x, y + down) for x, y in part.points]))
    return moved


def breadth(text: str, size: float, *, bold: bool = False) -> float:
    """How wide a text is, nearly. [pt]"""
    known = face(bold=bold).breadths
    return size * OTHER_FACES * sum(known.get(ord(letter)) or _other_em(letter) for letter in text)


def _other_em(letter: str) -> float:
    return WIDE_EM if letter > "\u2e7f" else OTHER_EM


def within(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """A text that is no wider than allowed; what is cut off shows as an ellipsis. [pt]"""
    if breadth(text, size, bold=bold) <= width:
        return text
    kept = text
    while len(kept) > 1 and breadth(f"{kept}…", size, bold=bold) > width:
        kept = kept[:-1].rstrip()
    return f"{kept}…"


SHAPES = {
    "inside": ((0.0, -3.2), (3.2, 0.0), (0.0, 3.2), (-3.2, 0.0)),
    "down": ((-3.8, -3.0), (3.8, -3.0), (0.0, 4.0)),
    "up": ((-3.8, 3.0), (3.8, 3.0), (0.0, -4.0)),
}


NOT_JUDGED: Final = "not-judged"
"""In place of a verdict, of a fixture whose voltage is not known."""


def mark(verdict: str, x: float, y: float) -> Area:
    """The mark of a fixture: a diamond inside its window, a triangle where too little or too much arrives.

    Of one that is not judged the diamond is hollow.
    """
    shape = {"inside": "inside", NOT_JUDGED: "inside", "above": "up"}.get(verdict, "down")
    points = [(x + dx, y + dy) for dx, dy in SHAPES[shape]]
    grave = verdict in ("below", "above")
    return Area(points, "ink" if shape == "inside" else "warn", hollow=verdict != "inside" and not grave)
