"""Numbers and quantities as a sheet prints them: the very ones of the messages."""

from __future__ import annotations

from typing import Protocol

from msgspec import UnsetType

from service.translate.rounding import DECIMALS, known_to_1_percent
from service.wire import optional as members
from service.wire.quantities import Celsius, Temperature

ALIGNED = ("V", "A", "W", "VA", "ohm")
"""Units whose values have as many decimals in a sheet as in a reply, so that they stand under each other."""


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


def figure(quantity: ShownValue) -> str:
    """The value of a quantity of a reply, without its unit."""
    if quantity.unit in ALIGNED:
        return f"{quantity.value + 0.0:.{DECIMALS[quantity.unit]}f}"
    return plain(quantity.value)


def figures(*shown: ShownValue) -> list[str]:
    """The values of several quantities of a reply."""
    return [figure(each) for each in shown]


def quantity(shown: ShownValue) -> str:
    """A quantity of a reply."""
    return f"{figure(shown)} {shown.unit}"


def as_stated(given: ShownValue) -> str:
    """A quantity as the request wrote it."""
    return f"{plain(given.value)} {given.unit}"


def temperature(given: Temperature) -> str:
    """A temperature as the request wrote it."""
    return f"{plain(given.value)} {'°C' if isinstance(given, Celsius) else '°F'}"


def percent(ratio: float) -> str:
    """A share of one in per cent."""
    return f"{plain(round(100.0 * ratio, 6))} %"


given = members.given
"""For sheets, which take everything else from here."""


def either(text: str | UnsetType | None) -> str:
    """A text, or the sign for none."""
    return text if isinstance(text, str) and text else NOTHING


def optional(shown: ShownValue | UnsetType | None) -> str:
    """The value of a quantity that may be absent."""
    return NOTHING if shown is None or isinstance(shown, UnsetType) else figure(shown)
