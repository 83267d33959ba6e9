"""Breaking texts into lines, and a table's breadth into columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from service.sheets.fonts import Face
    from service.sheets.sheet import Table

ROUNDING = 1e-6
"""What sums of breadths may differ by. [pt]"""

LEAST_COLUMN = 34.0
"""A column of texts is not made narrower than this where there is a choice. [pt]"""


def wrapped(text: str, width: float, face: Face, size: float) -> list[str]:
    """Lines of a printable text, each no wider than allowed; a word that is too long is cut. [pt]"""
    width += ROUNDING
    if face.breadth(text, size) <= width:
        return [text]
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
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
