"""The cables of a stock, and what to buy for a length: whole spools at the least price."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal
from math import ceil
from typing import NamedTuple

from service import tables
from service.circuit.job import CableSpec, JobPart, Listed

LENGTH_SLACK_M = 1e-6
"""A spool that is short by less than this is long enough. [m]"""


class Spool(NamedTuple):
    """One length in which a cable is sold. [m], [currency]"""

    length_m: float
    price: Decimal


MOST_ORDERS = 1_000
"""Orders that are looked at for one length: spools as dear per metre as others could be mixed for ever."""


class SpoolOrder(NamedTuple):
    """How many of each spool, in the order offered, their price [currency], and whether none costs less."""

    counts: tuple[int, ...]
    price: Decimal
    proven: bool = True


def cheapest_spools(spools: tuple[Spool, ...], length_m: float) -> SpoolOrder:
    """The cheapest whole spools that together are long enough; of equals the fewest spools.

    Every number of every spool but the last is tried, dearest per metre first, and a branch is left as soon
    as the rest at the best price per metre could not beat the best order so far.

    Parameters
    ----------
    spools : tuple of Spool
        At least one, each longer than zero.
    length_m : float
        [m]
    """
    order = sorted(range(len(spools)), key=lambda index: (-_rate(spools[index]), spools[index].length_m))
    mixing = _Mixing([spools[index] for index in order])
    mixing.fill(length_m, (), Decimal(0))
    counts = [0] * len(spools)
    for place, index in enumerate(order):
        counts[index] = mixing.best[place]
    return SpoolOrder(tuple(counts), mixing.price, proven=mixing.left > 0)


class _Mixing:
    """The search for one order; the last spool has the lowest price per metre."""

    def __init__(self, spools: list[Spool]) -> None:
        self._spools, self._least_per_m = spools, _rate(spools[-1])
        self._longest_m = max(spool.length_m for spool in spools)
        # Every sum of prices is a whole number of the smallest coin in which any of them is written.
        self._coin = sum((0 * spool.price for spool in spools), start=Decimal(0))
        self.left = MOST_ORDERS
        self.best: tuple[int, ...] = ()
        self.price = Decimal("Infinity")

    def fill(self, short_m: float, counts: tuple[int, ...], price: Decimal) -> None:
        """Try every number of the spool whose turn it is."""
        spool = self._spools[len(counts)]
        most = _count(short_m, spool.length_m)
        if len(counts) == len(self._spools) - 1:
            self.left -= 1
            found = (*counts, most), price + most * spool.price
            if (found[1], sum(found[0])) < (self.price, sum(self.best)):
                self.best, self.price = found
            return
        for count in range(most + 1):
            left_m, spent = short_m - count * spool.length_m, price + count * spool.price
            if self.left <= 0 or not self._can_be_better(left_m, sum(counts) + count, spent):
                break
            self.fill(left_m, (*counts, count), spent)

    def _can_be_better(self, left_m: float, count: int, spent: Decimal) -> bool:
        """Whether the rest, at the least that it can cost and in the fewest spools, would beat the best."""
        rest = self._least_per_m * Decimal(repr(max(0.0, left_m - LENGTH_SLACK_M)))
        least = (spent + rest).quantize(self._coin, ROUND_CEILING)
        fewest = count + _count(left_m, self._longest_m)
        return (least, fewest) < (self.price, sum(self.best))


def _count(length_m: float, spool_m: float) -> int:
    """Spools that are needed for a length."""
    return max(0, ceil((length_m - LENGTH_SLACK_M) / spool_m))


def _rate(spool: Spool) -> Decimal:
    """Price per metre. [currency/m]"""
    return spool.price / Decimal(repr(spool.length_m))


CONDUCTORS = 2
"""Conductors in a cable."""


class Candidate(NamedTuple):
    """One cable that may be chosen.

    Parameters
    ----------
    subject : Subject
        Where it stands in the request; the caller's id names it.
    conductor : Listed
        Size, material and stranding.
    price_per_m : Decimal or None
        [currency/m]
    spools : tuple of Spool
        Lengths in which it is sold, where it is not sold by length.
    """

    subject: JobPart
    conductor: Listed
    price_per_m: Decimal | None = None
    spools: tuple[Spool, ...] = ()

    @property
    def priced(self) -> bool:
        """Whether a price is known."""
        return self.price_per_m is not None or bool(self.spools)

    def spec(self, kept: CableSpec) -> CableSpec:
        """The cable in the place of another; as many in parallel as there were."""
        return CableSpec(self.conductor, None, kept.in_parallel)

    def price(self, length_m: float) -> Decimal:
        """Price of this much cable, whole spools where it is sold so. [currency]"""
        if self.price_per_m is not None:
            return self.price_per_m * Decimal(repr(length_m))
        return cheapest_spools(self.spools, length_m).price

    def order(self, length_m: float) -> SpoolOrder | None:
        """The spools to buy for this much cable; None where it is sold by length or has no price."""
        if self.price_per_m is not None or not self.spools:
            return None
        return cheapest_spools(self.spools, length_m)

    def least_price_per_m(self) -> Decimal:
        """No length of it costs less than this. [currency/m]"""
        if self.price_per_m is not None:
            return self.price_per_m
        return min(spool.price / Decimal(repr(spool.length_m)) for spool in self.spools)

    def metal_mm2(self) -> float:
        """Cross-section of both conductors. [mm²]"""
        row = tables.conductor(
            self.conductor.name, self.conductor.material or "copper", self.conductor.stranding or "stranded"
        )
        return CONDUCTORS * row.area_mm2
