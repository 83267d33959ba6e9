"""Which connector joins the conductors at a point: only one whose maker says that it takes exactly these."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple


class Meeting(NamedTuple):
    """Conductors of one pole: a size, as ``12 AWG``; uncut where a cable passes and is only tapped."""

    conductor: str
    uncut: bool = False


Conductors = Mapping[Meeting, int]
"""How often each meets at a point: an exact multiset, without zeros."""


def conductors_of(meeting: Iterable[tuple[Meeting, int]]) -> Conductors:
    """The multiset of conductors of one pole at a point.

    Parameters
    ----------
    meeting : iterable of tuple of Meeting and int
        Ends, leads and uncut passes with their number; cables in parallel count each. What is counted zero
        times is left out.

    Examples
    --------
    >>> conductors_of([(Meeting("12 AWG", uncut=True), 1), (Meeting("18 AWG"), 1), (Meeting("18 AWG"), 1)])
    {Meeting(conductor='12 AWG', uncut=True): 1, Meeting(conductor='18 AWG', uncut=False): 2}
    """
    counts: dict[Meeting, int] = {}
    for conductor, number in meeting:
        if number:
            counts[conductor] = counts.get(conductor, 0) + number
    return dict(sorted(counts.items()))


class Connector(NamedTuple):
    """A row of the catalogue.

    Parameters
    ----------
    poles : int
        1: a point takes two of them; 2: one.
    accepts : tuple of Conductors
        Of one pole, the maker's own list.
    unit_price : Decimal or None
        Net, of `base_quantity`; None where it is missing.
    """

    id: str
    poles: int
    accepts: tuple[Conductors, ...]
    unit_price: Decimal | None
    base_quantity: Decimal = Decimal(1)

    @property
    def number(self) -> int:
        """How many of them a point takes."""
        return 2 if self.poles == 1 else 1


def cheapest(connectors: Sequence[Connector], conductors: Conductors) -> Connector | None:
    """The connector that costs least at a point, of those that take exactly these conductors.

    What has a price goes before what has none; of equals the first of the catalogue. None where no row takes
    these: the nearest is never taken.
    """
    fitting = [each for each in connectors if any(dict(one) == dict(conductors) for one in each.accepts)]
    return min(fitting, key=_cost, default=None)


def _cost(connector: Connector) -> tuple[bool, Fraction]:
    """Whether its price is missing, and what those that a point takes cost."""
    price = Fraction(connector.unit_price or 0) / Fraction(connector.base_quantity)
    return connector.unit_price is None, price * connector.number
