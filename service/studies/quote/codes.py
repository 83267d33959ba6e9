"""Codes of open standards by which a bill is read: currencies, units, numbers of trade items."""

from typing import Final

from service import tables

GTIN_LENGTHS: Final = (8, 12, 13, 14)
"""Digits of a Global Trade Item Number."""


def minor_unit(currency: str) -> int | None:
    """Decimals of a currency of ISO 4217; None where it has no minor unit, as gold and the code for tests.

    Raises
    ------
    NotListedError
        No currency that is in use has the code.

    Examples
    --------
    >>> minor_unit("EUR"), minor_unit("JPY"), minor_unit("KWD"), minor_unit("XAU")
    (2, 0, 3, None)
    """
    return tables.currency(currency).decimals


def unit_code(unit: str) -> str:
    """The code of UN/ECE Recommendation 20, or 21 behind an X, of a unit in which lines are counted.

    Parameters
    ----------
    unit : str
        A unit of length of the service (``m``, ``ft`` ...), ``piece``, ``hour``, ``set`` or ``reel``.

    Raises
    ------
    NotListedError
        For any other word.

    Examples
    --------
    >>> unit_code("ft"), unit_code("piece"), unit_code("reel")
    ('FOT', 'C62', 'XRL')
    """
    return tables.unit_code(unit).code


def is_gtin(text: str) -> bool:
    """Whether it is a Global Trade Item Number of GS1: 8, 12, 13 or 14 digits, the last one the check digit.

    Examples
    --------
    >>> is_gtin("7300010000001"), is_gtin("7300010000010")
    (True, False)
    """
    digits = text.isascii() and text.isdecimal() and len(text) in GTIN_LENGTHS
    return digits and check_digit(text[:-1]) == int(text[-1])


def check_digit(digits: str) -> int:
    """The check digit of GS1 behind such digits: from the right every other one counts three times.

    References
    ----------
    GS1 General Specifications, section 7.9, check digit calculation modulo 10 (from memory).
    """
    weighted = sum(int(digit) * (1 if place % 2 else 3) for place, digit in enumerate(reversed(digits)))
    return -weighted % 10
