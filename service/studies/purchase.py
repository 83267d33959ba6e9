"""What to buy for a length: whole spools at the least price."""

from __future__ import annotations

from decimal import Decimal
from math import ceil
from typing import NamedTuple

LENGTH_SLACK_M = 1e-6
"""A spool that is short by less than this is long enough. [m]"""


class Spool(NamedTuple):
    """One length in which a cable is sold. [m], [currency]"""

    length_m: float
    price: Decimal


class SpoolOrder(NamedTuple):
    """How many of each spool, in the order offered, and what they cost. [currency]"""

    counts: tuple[int, ...]
    price: Decimal


def cheapest_spools(spools: tuple[Spool, ...], length_m: float) -> SpoolOrder:
    """The cheapest whole spools that together are long enough; of equals the fewest spools.

    Exact: every number of every spool but the last is tried, dearest per metre first, and a branch is left as
    soon as the rest at the best price per metre could not beat the best order so far.

    Parameters
    ----------
    spools : tuple of Spool
        At least one, each longer than nought.
    length_m : float
        [m]
    """
    order = sorted(range(len(spools)), key=lambda index: -_rate(spools[index]))
    best: list[SpoolOrder] = []

    def fill(place: int, short_m: float, counts: tuple[int, ...], price: Decimal) -> None:
        spool = spools[order[place]]
        most = max(0, ceil((short_m - LENGTH_SLACK_M) / spool.length_m))
        if place == len(order) - 1:
            _keep(best, SpoolOrder((*counts, most), price + most * spool.price))
            return
        for count in range(most + 1):
            left_m = short_m - count * spool.length_m
            spent = price + count * spool.price
            if best and spent + _floor(spools, left_m) > best[0].price:
                break
            fill(place + 1, left_m, (*counts, count), spent)

    fill(0, length_m, (), Decimal(0))
    counts = [0] * len(spools)
    for place, index in enumerate(order):
        counts[index] = best[0].counts[place]
    return SpoolOrder(tuple(counts), best[0].price)


def _keep(best: list[SpoolOrder], found: SpoolOrder) -> None:
    """Keep the better of two orders."""
    if not best:
        best.append(found)
    elif (found.price, sum(found.counts)) < (best[0].price, sum(best[0].counts)):
        best[0] = found


def _rate(spool: Spool) -> Decimal:
    return spool.price / Decimal(repr(spool.length_m))


def _floor(spools: tuple[Spool, ...], length_m: float) -> Decimal:
    """No spools of this length cost less. [currency]"""
    return min(_rate(spool) for spool in spools) * Decimal(repr(max(0.0, length_m - LENGTH_SLACK_M)))
