"""The cable of one alternative: what is laid of each row, how it is cut, and the joints that this makes."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import NamedTuple

from service.circuit.work import Budget
from service.studies.quote.cut_list import (
    MICROMETRES,
    CutList,
    CutPart,
    CutRow,
    JointTerms,
    OfferedSpool,
    OnHand,
    WantedPiece,
    cut_list,
    micrometres,
    work_of_cut_list,
)
from service.studies.quote.job import AlternativeJob, CableGood
from service.studies.quote.ledger import LineAsked, Terms, unit_price
from service.studies.quote.pieces import LaidPiece


class PartPiece(NamedTuple):
    """A piece, and the part that it belongs to."""

    part: int
    piece: LaidPiece

    @property
    def length(self) -> int:
        """What is cut for it. [µm]"""
        return micrometres(self.piece.laid, up=True)


class CableCuts(NamedTuple):
    """What is laid of a cable, and how it is cut.

    Parameters
    ----------
    row : int
        Of the catalogue.
    pieces : tuple of PartPiece
    rows : tuple of CutRow
        Spools, and off-cuts on hand.
    by_length : tuple of int
        How many of each piece are bought by length.
    plan : CutList or None
        Where the cable is sold in spools.
    """

    row: int
    pieces: tuple[PartPiece, ...]
    rows: tuple[CutRow, ...]
    by_length: tuple[int, ...]
    plan: CutList | None = None

    @property
    def laid(self) -> Fraction:
        """All pieces, with what joints within them take. [m]"""
        laid = sum((each.piece.laid * each.piece.number for each in self.pieces), start=Fraction(0))
        return laid + Fraction(self._taken_by_joints, MICROMETRES)

    @property
    def _taken_by_joints(self) -> int:
        """What the parts of joined pieces are longer than these. [µm]"""
        parts = [part for row in self.rows for part in row.cuts if part.copy is not None]
        joined = {(part.piece, part.copy) for part in parts}
        return sum(part.length for part in parts) - sum(self.pieces[piece].length for piece, _ in joined)

    @property
    def route(self) -> Fraction:
        """The same without what is taken beside the route. [m]"""
        return sum((each.piece.route * each.piece.number for each in self.pieces), start=Fraction(0))

    @property
    def bought_by_length(self) -> Fraction:
        """What is bought by length. [m]"""
        return sum(
            (each.piece.laid * number for each, number in zip(self.pieces, self.by_length, strict=True)),
            start=Fraction(0),
        )


def pieces_by_row(alternative: AlternativeJob) -> dict[int, list[PartPiece]]:
    """The pieces of each row, in the order of the catalogue; what names no row is left out."""
    found: dict[int, list[PartPiece]] = {}
    for place, part in enumerate(alternative.parts):
        for piece in part.laying.pieces:
            if piece.cable.row is not None and piece.laid > 0:
                found.setdefault(piece.cable.row, []).append(PartPiece(place, piece))
    return dict(sorted(found.items()))


def offered(cable: CableGood, terms: Terms) -> list[OfferedSpool]:
    """The spools of a cable with their net prices."""
    return [
        OfferedSpool(
            micrometres(spool.length, up=False),
            unit_price(LineAsked("cables", Decimal(1), spool.amount, Decimal(1), cable.good.tax), terms),
        )
        for spool in cable.spools
    ]


def first_cut_work(cable: CableGood, pieces: Sequence[PartPiece], terms: Terms) -> int:
    """Work of a first cut list of these pieces."""
    if not cable.spools:
        return 1 + len(pieces)
    spools = offered(cable, terms)
    return work_of_cut_list(wanted(pieces), [*spools, *spools[:1] * len(cable.on_hand)])


def most_joints(cable: CableGood, pieces: Sequence[PartPiece]) -> int:
    """About the most joints within these pieces: one for each spool, were all of them the shortest."""
    if not cable.spools:
        return 0
    laid = sum((each.piece.laid * each.piece.number for each in pieces), start=Fraction(0))
    shortest = min(spool.length for spool in cable.spools)
    return ceil(laid / shortest) + sum(number for _, number in cable.on_hand)


def wanted(pieces: Sequence[PartPiece]) -> list[WantedPiece]:
    """The pieces as they are cut."""
    return [WantedPiece(each.length, each.piece.pointer, each.piece.number) for each in pieces]


def cut(  # noqa: PLR0913  # what is cut, from what, and how
    row: int,
    cable: CableGood,
    pieces: Sequence[PartPiece],
    terms: Terms,
    *,
    joints: JointTerms | None,
    keep_from: Fraction,
    work: int,
) -> CableCuts:
    """Cut the pieces of one cable.

    Raises
    ------
    WorkOverLimitError
        The work does not reach a first cut list.
    """
    on_hand = [OnHand(micrometres(length, up=False), number) for length, number in cable.on_hand]
    if not cable.spools:
        rows, left = _cut_from_hand(pieces, on_hand)
        return CableCuts(row, tuple(pieces), rows, left)
    plan = cut_list(
        wanted(pieces),
        offered(cable, terms),
        minor_unit=terms.minor_unit,
        on_hand=on_hand,
        joints=joints,
        keep_from=micrometres(keep_from, up=True),
        work=work,
        budget=Budget(),
    )
    return CableCuts(row, tuple(pieces), plan.rows, tuple(0 for _ in pieces), plan)


def _cut_from_hand(
    pieces: Sequence[PartPiece], on_hand: Sequence[OnHand]
) -> tuple[tuple[CutRow, ...], tuple[int, ...]]:
    """What off-cuts hold of a cable that is sold by length, and how many of each piece are left.

    Longest first, each from the shortest off-cut that holds it: what is left costs by its length, so that
    little is lost by not seeking the best.
    """
    sources = [place for place, each in enumerate(on_hand) for _ in range(each.number)]
    lefts = sorted((on_hand[place].length, spot) for spot, place in enumerate(sources))
    cuts: list[list[CutPart]] = [[] for _ in sources]
    needed = [each.piece.number for each in pieces]
    for place in sorted(range(len(pieces)), key=lambda place: -pieces[place].length):
        length = pieces[place].length
        while needed[place] and (at := bisect_left(lefts, (length, -1))) < len(lefts):
            left, spot = lefts.pop(at)
            insort(lefts, (left - length, spot))
            cuts[spot].append(CutPart(place, length))
            needed[place] -= 1
    left_of = {spot: left for left, spot in lefts}
    rows = tuple(
        CutRow(sources[spot], on_hand=True, cuts=tuple(made), off_cut=left_of[spot])
        for spot, made in enumerate(cuts)
        if made
    )
    return rows, tuple(needed)
