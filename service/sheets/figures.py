"""Numbers and quantities as a sheet prints them: those of the messages, with as many digits as one reads."""

from __future__ import annotations

from typing import Final, Protocol

from msgspec import UnsetType

from service.translate.rounding import known_to_1_percent, rounded
from service.wire import optional as members
from service.wire.quantities import Celsius, Temperature

PRINTED: Final = {"V": 2, "A": 2, "W": 2, "VA": 1, "ohm": 4, "percent": 1}
"""Decimals of a printed value by its unit, always as many, so that they stand under each other."""


OTHERS: Final = 2
"""Decimals of any other, without zeros at the end."""


UNITS: Final = {"percent": "%", "ratio": "times"}
"""Units that JSON spells out, as they are printed."""


NOTHING = "–"


class ShownValue(Protocol):
    """A value with its unit."""

    @property
    def value(self) -> float:
        """The number."""
        ...

    @property
    def unit(self) -> str:
        """Its unit."""
        ...


def plain(value: float) -> str:
    """A number with the digits that it has.

    Examples
    --------
    >>> plain(30.0), plain(11.701), plain(-0.0)
    ('30', '11.701', '0')
    """
    return f"{value + 0.0:.12g}"


def searched(factor: float) -> str:
    """A number that was found by a search to 1 %, with the digits that this knows.

    Examples
    --------
    >>> searched(0.7409), searched(4.455)
    ('about 0.74', 'about 4.45')
    """
    return f"about {plain(known_to_1_percent(factor))}"


def figure(quantity: ShownValue, towards: int = 0) -> str:
    """The value of a quantity of a reply, without its unit.

    Parameters
    ----------
    quantity : ShownValue
    towards : int
        -1 where a low value fails, 1 where a high one does: it is never printed on the other side.
    """
    decimals = PRINTED.get(quantity.unit)
    if decimals is None:
        return plain(rounded(quantity.value, OTHERS, towards))
    return f"{rounded(quantity.value, decimals, towards) + 0.0:.{decimals}f}"


def beside(measured: ShownValue, limit: ShownValue | UnsetType) -> str:
    """A quantity beside its limit: where both would be printed alike, with all of its digits."""
    shown = quantity(measured)
    alike = not isinstance(limit, UnsetType) and measured.value != limit.value and shown == quantity(limit)
    return as_stated(measured) if alike else shown


def figures(*shown: ShownValue) -> list[str]:
    """The values of several quantities of a reply."""
    return [figure(each) for each in shown]


def quantity(shown: ShownValue) -> str:
    """A quantity of a reply."""
    return f"{figure(shown)} {UNITS.get(shown.unit, shown.unit)}"


def as_stated(given: ShownValue) -> str:
    """A quantity as the request wrote it."""
    return f"{plain(given.value)} {given.unit}"


def laid(given: ShownValue) -> str:
    """A length of a wiring to the millimetre (or thousandth of a foot), as one can measure it off."""
    return f"{plain(round(given.value, 3) or given.value)} {given.unit}"


def temperature(given: Temperature) -> str:
    """A temperature as the request wrote it."""
    return f"{plain(given.value)} {'°C' if isinstance(given, Celsius) else '°F'}"


def per_cent(value: float, towards: int = 0) -> str:
    """A number of per cent, without the sign.

    Examples
    --------
    >>> per_cent(3.04), per_cent(3.04, 1)
    ('3.0', '3.1')
    """
    return f"{rounded(value, 1, towards) + 0.0:.1f}"


def percent(ratio: float) -> str:
    """A share of one in per cent; more than all is never printed as all.

    Examples
    --------
    >>> percent(0.57186), percent(1.0004)
    ('57.2 %', '100.1 %')
    """
    return f"{per_cent(100.0 * ratio, int(ratio > 1.0))} %"


given = members.given
"""For sheets, which take everything else from here."""


def either(text: str | UnsetType | None) -> str:
    """A text, or the sign for none."""
    return text if isinstance(text, str) and text else NOTHING


def optional(shown: ShownValue | UnsetType | None) -> str:
    """The value of a quantity that may be absent."""
    return NOTHING if shown is None or isinstance(shown, UnsetType) else figure(shown)
