"""What is cut from which spool of one cable, and where it is joined, so that the bill is least.

Lengths are whole micrometres, which every foot and every inch is. Spools and joints cost what they add to the
bill, line by line as `ledger` rounds them: by that whole pieces, joined ones and mixtures are compared.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor, lcm
from typing import Final, NamedTuple

from service.circuit.work import Budget
from service.purchase.cutting import Piece, SpoolKind, work_of_first_cut
from service.purchase.joining import JointCost, SpoolCut, least_charged, work_of_joined_cut
from service.purchase.knapsack import LENGTH_BITS
from service.purchase.steps import PAID_AT_ONCE
from service.studies.quote.ledger import line_amount, printed_quantity, rounded

MICROMETRES: Final = 1_000_000
"""In a metre."""

WORK_OF_A_CUT_LIST: Final = 6_000
"""Work that the cut list of one cable may take: some 60 milliseconds."""


LONGEST_SPOOL: Final = (1 << LENGTH_BITS) - 1
"""Micrometres of the longest spool that can be cut from, some 1,100 km."""

BEGUN: Final = 12
"""Searches that may have begun before they see that nothing may be spent on them."""


class WantedPiece(NamedTuple):
    """So many pieces of one length [µm], with what they take at their ends; `at`: where they stand."""

    length: int
    at: str
    number: int = 1


class OfferedSpool(NamedTuple):
    """A length [µm] in which the cable is sold; the net price of `base_quantity` of them, None if missing.

    It is above zero and no longer than `LONGEST_SPOOL`, here as on hand.
    """

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
    """

    unit_price: Decimal | None
    each: Decimal
    base_quantity: Decimal = Decimal(1)
    others: Decimal = Decimal(0)

    def net(self, joints: int, minor_unit: int) -> Decimal:
        """What the line comes to with so many joints."""
        if self.unit_price is None:
            return Decimal(0)
        exact = Fraction(self.others) + Fraction(self.each) * joints
        return line_amount(self.unit_price, self.base_quantity, printed_quantity(exact), minor_unit)


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
    at_joint : int
        What each joint takes of the cable [µm], half of it at either side: where a joint is `at` by the piece
        alone, the two parts are made up so much farther on.
    """

    rows: tuple[CutRow, ...]
    joints: tuple[JointInRun, ...]
    bought: tuple[int, ...]
    uncut: tuple[int, ...]
    net: Decimal | None
    at_least: Decimal | None
    proven: bool
    at_joint: int = 0

    def made_up(self, at: int) -> Fraction:
        """How far along its piece a joint is made up. [m]"""
        return Fraction(2 * at + self.at_joint, 2 * MICROMETRES)


def micrometres(length_m: Fraction, *, up: bool) -> int:
    """Whole micrometres: a piece is rounded up, a spool down.

    Examples
    --------
    >>> micrometres(Fraction("0.3048") * 150, up=True), micrometres(Fraction(1, 3), up=True)
    (45720000, 333334)
    """
    exact = length_m * MICROMETRES
    return ceil(exact) if up else floor(exact)


def sold_length(length: int, unit_m: Fraction) -> Decimal:
    """A length [µm] as it is sold by the unit, such as 0.3048 m: in 3 decimals, rounded up.

    Examples
    --------
    >>> sold_length(45720000, Fraction("0.3048")), sold_length(1000000, Fraction("0.3048"))
    (Decimal('150'), Decimal('3.281'))
    """
    return printed_quantity(Fraction(length, MICROMETRES) / unit_m, up=True)


def joints_net(lines: Sequence[PerJoint], joints: int, minor_unit: int) -> Decimal:
    """What so many joints add to the net of the bill.

    Examples
    --------
    >>> connectors = PerJoint(Decimal("3.43"), each=Decimal(2), others=Decimal(4))
    >>> sealant = PerJoint(Decimal("9.90"), each=Decimal("0.2"))
    >>> joints_net([connectors, sealant], 1, 2), joints_net([connectors, sealant], 5, 2)
    (Decimal('8.84'), Decimal('44.20'))
    """
    return rounded(
        _lines_net(lines, joints, minor_unit) - _lines_net(lines, 0, minor_unit),
        minor_unit,
    )


def _lines_net(lines: Sequence[PerJoint], joints: int, minor_unit: int) -> Fraction:
    """What the lines come to together with so many joints."""
    return sum((Fraction(line.net(joints, minor_unit)) for line in lines), start=Fraction(0))


def cut_list(  # noqa: PLR0913  # what is cut, from what, and what that may cost
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
        They cost nothing, and so are used before anything is bought.
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
    prices = _Prices(pieces, spools, joints, minor_unit)
    kinds = [SpoolKind(each.length, 0, each.number) for each in on_hand]
    kinds += map(SpoolKind, (spool.length for spool in spools), prices.of_spools)
    plan = least_charged(
        [Piece(piece.length, piece.number) for piece in pieces],
        kinds,
        joints=None if joints is None else JointCost(prices.of_joints, joints.at_joint),
        coin=prices.coin,
        keep_from=keep_from,
        work=work,
        budget=budget,
    )
    own = len(on_hand)
    told = sorted(plan.spools, key=lambda row: (row.spool >= own, -kinds[row.spool].length))
    bought: Counter[int] = Counter()
    for row in plan.spools:
        bought[row.spool - own] += row.number
    return CutList(
        rows=tuple(
            CutRow(
                row.spool if row.spool < own else row.spool - own,
                row.spool < own,
                tuple(CutPart(*part) for part in row.parts),
                row.off_cut,
                row.number,
            )
            for row in told
        ),
        joints=_joints(plan.spools),
        bought=tuple(bought[place] for place in range(len(spools))),
        uncut=plan.uncut,
        net=prices.net(plan.charged),
        at_least=prices.net(plan.at_least),
        proven=plan.proven,
        at_joint=0 if joints is None else joints.at_joint,
    )


def _joints(rows: Iterable[SpoolCut]) -> tuple[JointInRun, ...]:
    """Where parts of a piece meet: a part that does not begin the piece begins at a joint."""
    parts = (part for row in rows for part in row.parts if part.copy is not None and part.begins)
    return tuple(sorted(JointInRun(part.piece, part.copy or 0, part.begins) for part in parts))


class _Prices:
    """Prices of spools and joints as whole numbers; where one is missing, lengths instead.

    Then a joint counts more than all that it could save, so that only what no spool holds is joined.
    """

    def __init__(
        self,
        pieces: Sequence[WantedPiece],
        spools: Sequence[OfferedSpool],
        joints: JointTerms | None,
        minor_unit: int,
    ) -> None:
        self._lines = () if joints is None else joints.lines
        self._minor_unit = minor_unit
        prices = [
            Fraction(spool.unit_price) / Fraction(spool.base_quantity)
            for spool in spools
            if spool.unit_price is not None
        ]
        self._known = len(prices) == len(spools)
        self._scale = lcm(10**minor_unit, *(price.denominator for price in prices)) if self._known else 1
        self._deterrent = sum(piece.length * piece.number for piece in pieces) + max(
            spool.length for spool in spools
        )
        self._nets = {0: _lines_net(self._lines, 0, minor_unit)}
        self.coin = self._scale // 10**minor_unit if self._known else 1
        self.of_spools = (
            [int(price * self._scale) for price in prices]
            if self._known
            else [spool.length for spool in spools]
        )

    def of_joints(self, joints: int) -> int:
        """What so many joints cost."""
        if not self._known:
            return joints * self._deterrent
        if joints not in self._nets:
            self._nets[joints] = _lines_net(self._lines, joints, self._minor_unit)
        return int((self._nets[joints] - self._nets[0]) * self._scale)

    def net(self, charged: int) -> Decimal | None:
        """In the currency; None where it is a length."""
        return rounded(Fraction(charged, self._scale), self._minor_unit) if self._known else None


def work_of_cut_list(
    pieces: Sequence[WantedPiece],
    spools: Sequence[OfferedSpool],
    *,
    on_hand: Sequence[OnHand] = (),
    joints: JointTerms | None = None,
) -> int:
    """Work of a first cut list at most, without any search for a better one; as for `cut_list`."""
    number = sum(piece.number for piece in pieces)
    first = work_of_first_cut(number, len(spools) + len(on_hand)) + BEGUN * PAID_AT_ONCE
    lengths = [*(spool.length for spool in spools), *(spool.length for spool in on_hand)]
    if joints is None or all(piece.length <= max(lengths) for piece in pieces):
        return first
    total = sum(piece.length * piece.number for piece in pieces)
    usable = [spool.length - joints.at_joint for spool in spools if spool.length > joints.at_joint]
    most = sum(spool.number for spool in on_hand) + (total // min(usable) + 1 if usable else 0)
    return first + work_of_joined_cut(number, most)
