"""Numbers inside the sentences of a check of readings."""

from __future__ import annotations

THREE_DIGITS_FROM = 100.0


def number(value: float) -> str:
    """A number for a sentence: to two digits, three from a hundred on.

    >>> number(0.2397), number(31.1), number(186.4)
    ('0.24', '31', '186')
    """
    if value == 0.0:
        return "0"
    digits = 3 if abs(value) >= THREE_DIGITS_FROM else 2
    text = f"{float(f'{value:.{digits}g}'):f}"
    return text.rstrip("0").rstrip(".")
