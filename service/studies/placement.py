"""Where along one run a load hangs: at its end, spread evenly, or lamp by lamp."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from service.studies.job import FixtureLine

LUMPS = 64
"""Lumps that stand for a load without gaps."""


class Placement(NamedTuple):
    """`pieces` lamps alike, the first at `at_m` [m], each `spacing_m` farther; each has this share of a load.

    [-]
    """

    at_m: float
    pieces: int
    spacing_m: float | None
    share_ratio: float


def lumped(length_m: float) -> tuple[Placement, ...]:
    """All of it at the far end. [m]"""
    return (Placement(length_m, 1, None, 1.0),)


def evenly_spread(length_m: float, lumps: int = LUMPS) -> tuple[Placement, ...]:
    """Without gaps from the supply to the far end [m], half a lump at either end (the trapezoid rule).

    Of a load of constant current the end voltage is then exact; of others the error falls with the square of
    the number of lumps.
    """
    gap_m = length_m / lumps
    return (
        Placement(0.0, 1, None, 0.5 / lumps),
        Placement(gap_m, lumps - 1, gap_m, 1.0 / lumps),
        Placement(length_m, 1, None, 0.5 / lumps),
    )


def spaced(first_m: float, spacing_m: float, pieces: int, *, share_ratio: float) -> tuple[Placement, ...]:
    """One lamp after another from the first on. [m]"""
    return (Placement(first_m, pieces, spacing_m, share_ratio),)


def lines_at(line: FixtureLine, placements: tuple[Placement, ...]) -> tuple[FixtureLine, ...]:
    """The fixture lines that stand for one load placed so."""
    return tuple(
        line._replace(
            name=line.name if each.spacing_m is None and each.at_m > 0.0 else None,
            at_m=each.at_m,
            pieces=each.pieces,
            spacing_m=each.spacing_m,
            load=line.load if each.share_ratio == 1.0 else line.load.scaled(each.share_ratio),
        )
        for each in placements
    )
