"""What is cut from which spool of one cable, so that the bill is least: spools, and joints where they are allowed.

Lengths are whole micrometres, which every foot and every inch is. A joint costs what it adds to the bill; so
whole pieces, joined ones and mixtures are compared by what the bill will charge.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Final, NamedTuple

from service.circuit.work import Budget

MICROMETRES: Final = 1_000_000
"""In a metre."""

WORK_OF_A_CUT_LIST: Final = 6_000
"""Work that the cut list of one cable may take: some 60 milliseconds."""


class WantedPiece(NamedTuple):
    """So many pieces of one length [µm], with what they take at their ends; `at`: where they stand."""

    length: int
    at: str
    number: int = 1


class OfferedSpool(NamedTuple):
    """A length [µm] in which the cable is sold: net price of `base_quantity` of them, None where it is missing."""

    length: int
    unit_price: Decimal | None
    base_quantity: Decimal = Decimal(1)


class OnHand(NamedTuple):
    """Off-cuts that are there already: length [µm] and number."""

    length: int
    number: int = 1


class PerJoint(NamedTuple):
    """A line of the bill that grows with each joint in a run: its connectors, labour or a sundry.

    Parameters
    ----------
    unit_price : Decimal or None
        Net, of `base_quantity`; None, where it is missing, counts nothing.
    each : Decimal
        Quantity that one joint adds: two one-pole connectors, hours, pieces.
    others : Decimal
        Quantity that the line has anyway.
    whole : bool
        Whether the line counts whole pieces, rounded up.
    """

    unit_price: Decimal | None
    each: Decimal
    base_quantity: Decimal = Decimal(1)
    others: Decimal = Decimal(0)
    whole: bool = False


class JointTerms(NamedTuple):
    """What a joint in a run adds to the bill, and how much cable it takes [µm]."""

    lines: tuple[PerJoint, ...] = ()
    at_joint: int = 0


class CutPart(NamedTuple):
    """One length [µm] that is cut, of the piece in this place of the request.

    Parameters
    ----------
    piece : int
    length : int
        With what its joint takes.
    copy : int or None
        Where the piece is joined from several parts: which of those alike it belongs to, from 0; else None.
    begins : int
        How far along the piece it begins [µm].
    """

    piece: int
    length: int
    copy: int | None = None
    begins: int = 0


class CutRow(NamedTuple):
    """So many spools cut alike, in the order of the cuts, and what is left of each [µm].

    Parameters
    ----------
    spool : int
        Place among the spools offered, or among those on hand.
    on_hand : bool
    cuts : tuple of CutPart
    off_cut : int
    number : int
    """

    spool: int
    on_hand: bool
    cuts: tuple[CutPart, ...]
    off_cut: int
    number: int = 1


class JointInRun(NamedTuple):
    """A joint: in which piece, which of those alike (from 0), and how far along it [µm]."""

    piece: int
    copy: int
    at: int


class CutList(NamedTuple):
    """What to buy, and how to cut it.

    Parameters
    ----------
    rows : tuple of CutRow
        On hand first, then longest spools first.
    joints : tuple of JointInRun
        In the order of the pieces.
    bought : tuple of int
        How many of each spool offered.
    uncut : tuple of int
        How many of each piece no spool holds.
    net, at_least : Decimal or None
        What spools and joints add to the bill, and what no other cut list adds less than; None where a price
        of a spool is missing, and then the least length is bought with no joint that can be done without.
    proven : bool
        Whether no other cut list adds less to the bill (without prices: buys less).
    """

    rows: tuple[CutRow, ...]
    joints: tuple[JointInRun, ...]
    bought: tuple[int, ...]
    uncut: tuple[int, ...]
    net: Decimal | None
    at_least: Decimal | None
    proven: bool


def micrometres(length_m: Fraction, *, up: bool) -> int:
    """Whole micrometres: a piece is rounded up, a spool down."""
    raise NotImplementedError


def sold_length(length: int, unit_m: Fraction) -> Decimal:
    """A length [µm] as it is sold by the unit, such as 0.3048 m: in 3 decimals, rounded up."""
    raise NotImplementedError


def joints_net(lines: Sequence[PerJoint], joints: int, minor_unit: int) -> Decimal:
    """What so many joints add to the net of the bill."""
    raise NotImplementedError


def cut_list(  # noqa: PLR0913  what is cut, from what, and what that may cost
    pieces: Sequence[WantedPiece],
    spools: Sequence[OfferedSpool],
    *,
    minor_unit: int,
    on_hand: Sequence[OnHand] = (),
    joints: JointTerms | None = None,
    keep_from: int = 0,
    work: int = WORK_OF_A_CUT_LIST,
    budget: Budget | None = None,
) -> CutList:
    """The cut list that adds least to the bill; of equals the fewest spools, then few short off-cuts.

    Parameters
    ----------
    pieces : sequence of WantedPiece
    spools : sequence of OfferedSpool
        One at least.
    minor_unit : int
        Decimals of the currency.
    on_hand : sequence of OnHand
        Used before anything is bought.
    joints : JointTerms or None
        None: each piece is cut whole, as with joints ``nowhere``, or ``at-fixtures`` where the pieces are
        those between fixtures; else ``anywhere``.
    keep_from : int
        Shortest off-cut worth keeping [µm].
    work : int
        The most that may be spent on searching.
    budget : Budget or None
        Of the study that asks.

    Raises
    ------
    WorkOverLimitError
        Not even a first cut list was in the budget.
    """
    raise NotImplementedError


def work_of_cut_list(pieces: int, spools: int) -> int:
    """Work of one cut list of so many pieces and kinds of spools without any search for a better one."""
    raise NotImplementedError
