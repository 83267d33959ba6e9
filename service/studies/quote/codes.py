"""Codes of open standards that a bill is read by: currencies, units, check digits of trade item numbers."""

from __future__ import annotations

from typing import Final

PIECE_CODE: Final = "C62"
"""One piece (UN/ECE Recommendation 20)."""


def minor_unit(currency: str) -> int | None:
    """Decimals of a currency of ISO 4217; None where it has no minor unit, as gold and what is for tests.

    Raises
    ------
    NotListedError
        No currency in use has that code.
    """
    raise NotImplementedError


def unit_code(unit: str) -> str:
    """The code of UN/ECE Recommendation 20, or 21 with an X before it, of a unit that lines are counted in.

    Parameters
    ----------
    unit : str
        A length unit of the service (``m``, ``ft`` ...), ``piece``, ``hour``, ``set`` or ``reel``.

    Raises
    ------
    NotListedError
        For any other word.
    """
    raise NotImplementedError


def is_gtin(digits: str) -> bool:
    """Whether it is a GTIN of 8, 12, 13 or 14 digits with the right check digit."""
    raise NotImplementedError


def check_digit(digits: str) -> int:
    """The GS1 check digit, modulo 10, of digits without it."""
    raise NotImplementedError
