"""What a quote is asked: goods, money, and wirings that are read into pieces."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from service.circuit.job import Job
from service.findings.finding import FindingFacts
from service.studies.quote.connectors import Conductors
from service.studies.quote.ledger import Adjustment, Terms
from service.studies.quote.pieces import Laying, Takes

NOWHERE, AT_FIXTURES, ANYWHERE = "nowhere", "at-fixtures", "anywhere"
"""Where cable may be cut and joined."""

PIECE, REEL, HOUR = "piece", "reel", "hour"
"""Units in which lines are counted, beside those of lengths."""


class Good(NamedTuple):
    """A row of the catalogue, or of labour.

    Parameters
    ----------
    pointer, id, name : str
    amount : Decimal or None
        Price of `base_quantity`; None where it is missing.
    base_quantity : Decimal
    tax : str
        Code.
    gtin : str or None
    """

    pointer: str
    id: str
    name: str
    amount: Decimal | None
    base_quantity: Decimal
    tax: str
    gtin: str | None = None


class SpoolOffer(NamedTuple):
    """A length in which a cable is sold [m], and its price."""

    length: Fraction
    amount: Decimal


class CableGood(NamedTuple):
    """A cable of the catalogue: sold by a length, the unit of which is so long [m], or in spools.

    `on_hand` are off-cuts that are there: length [m] and number.
    """

    good: Good
    conductor: str
    unit: str
    unit_m: Fraction
    spools: tuple[SpoolOffer, ...] = ()
    on_hand: tuple[tuple[Fraction, int], ...] = ()


class ConnectorGood(NamedTuple):
    """A connector; `ohm` is the resistance that a joint of both poles has with it. [ohm]"""

    good: Good
    poles: int
    accepts: tuple[Conductors, ...]
    ohm: float


class Rate(NamedTuple):
    """So much for each of what is counted; of a length for each `base` of it. [m]"""

    each: Decimal
    per: str
    base: Fraction | None = None


class SundryGood(NamedTuple):
    """What is used up with the work."""

    good: Good
    rate: Rate


class Labour(NamedTuple):
    """Hours of work; `good.amount` is what one costs, net."""

    good: Good
    rate: Rate


class Ground(NamedTuple):
    """A kind of ground: hours for so much of it, and of sundries, by their row, so many for so much. [m]"""

    good: Good
    hours: Rate | None
    sundries: tuple[tuple[int, Rate], ...]


class Goods(NamedTuple):
    """Everything that may be billed."""

    cables: tuple[CableGood, ...]
    supplies: tuple[Good, ...]
    fixtures: tuple[Good, ...]
    lamps: tuple[Good, ...]
    connectors: tuple[ConnectorGood, ...]
    sundries: tuple[SundryGood, ...]
    labour: tuple[Labour, ...]
    grounds: tuple[Ground, ...]


class CountedLine(NamedTuple):
    """So many of a row, and where they stand."""

    row: int
    pointer: str
    number: int


class PartJob(NamedTuple):
    """One supply with its wiring: what is solved, what is laid, and what is bought by the piece.

    `heads` are its fixtures; `told` are findings about how its items are named.
    """

    pointer: str
    job: Job
    laying: Laying
    supplies: tuple[CountedLine, ...]
    fixtures: tuple[CountedLine, ...]
    lamps: tuple[CountedLine, ...]
    heads: int
    told: tuple[FindingFacts, ...] = ()


class CrossingJob(NamedTuple):
    """A crossing [m], and the sundry that is for it; None: every one of that kind."""

    length: Fraction
    sundry: int | None


class AlternativeJob(NamedTuple):
    """One way to light the garden; `grounds` is how much route lies in each kind. [m]"""

    pointer: str
    parts: tuple[PartJob, ...]
    joints: str
    keep_from: Fraction
    crossings: tuple[CrossingJob, ...]
    grounds: tuple[Fraction, ...]


class NamedAdjustment(NamedTuple):
    """An allowance or a charge, of the lines of a row where it names one."""

    adjustment: Adjustment
    pointer: str
    row: str | None = None
    name: str | None = None


MOST_POINTS = 6_000
"""Places and lamps of all parts of one quote together."""


class QuoteJob(NamedTuple):
    """What is to be quoted; `connectors_quoted`: whether the catalogue has connectors at all."""

    alternatives: tuple[AlternativeJob, ...]
    goods: Goods
    takes: Takes
    terms: Terms
    adjustments: tuple[NamedAdjustment, ...]
    accepted: frozenset[str]
    connectors_quoted: bool = True
