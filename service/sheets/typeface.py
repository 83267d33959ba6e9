"""The type of printed sheets: two bundled faces, and how wide their letters are."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final, NamedTuple

from fontTools.ttLib import TTFont  # type: ignore[import-untyped]  # it has no types of its own

FOLDER: Final = Path(__file__).parents[1] / "static" / "fonts"


FILES: Final = {"": "DejaVuSansCondensed.ttf", "B": "DejaVuSansCondensed-Bold.ttf"}


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
