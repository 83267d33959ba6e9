"""The two faces that a PDF is set in: how wide their letters are, and which letters they have."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final, NamedTuple

from fontTools.ttLib import TTFont  # type: ignore[import-untyped]  # it has no types of its own

FOLDER: Final = Path(__file__).parents[1] / "static" / "fonts"
FILES: Final = {"": "DejaVuSansCondensed.ttf", "B": "DejaVuSansCondensed-Bold.ttf"}

REPLACEMENT: Final = "\N{WHITE VERTICAL RECTANGLE}"
"""Stands for a letter that the faces do not have."""


class Face(NamedTuple):
    """One face: the breadth of each letter as a share of the size."""

    path: Path
    breadths: dict[int, float]

    def breadth(self, text: str, size: float) -> float:
        """How wide a printable text is. [pt]"""
        breadths = self.breadths
        return size * sum([breadths[ord(letter)] for letter in text])


@cache
def face(*, bold: bool) -> Face:
    """One of the two faces."""
    path = FOLDER / FILES["B" if bold else ""]
    with TTFont(path, lazy=True) as font:
        em = font["head"].unitsPerEm
        advances = font["hmtx"].metrics
        breadths = {code: advances[glyph][0] / em for code, glyph in font.getBestCmap().items()}
    return Face(path, breadths)


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
