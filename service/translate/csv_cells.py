"""Cells of comma-separated values (RFC 4180) that no spreadsheet takes for formulas."""

from __future__ import annotations

from unicodedata import normalize

Cell = str | float | None


_FORMULA = ("=", "+", "-", "@")
"""What a spreadsheet would take for the start of something to compute (CWE-1236)."""


def as_text(text: str) -> str:
    """A text that no spreadsheet takes for a formula.

    Blanks before it are looked past, and signs of full width are taken for plain ones: some spreadsheets do
    both.
    """
    start = normalize("NFKC", text).lstrip()
    return f"'{text}" if text.startswith(("\t", "\r")) or start.startswith(_FORMULA) else text
