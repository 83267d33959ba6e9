"""The cheapest spools for a length that may be joined from any of them."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil, gcd
from typing import NamedTuple

from service.purchase.packing import Offer
from service.purchase.steps import OutOfStepsError, Steps

MOST_MIXES = 1_000
"""Mixes that are looked at: spools as dear for their length as others could be mixed for ever."""

LOOKED_AT = 20
"""Operations of one look at a mix."""


class Mix(NamedTuple):
    """How many of each spool, in the order offered, their price, and what no mix costs less than."""

    counts: tuple[int, ...]
    price: int
    at_least: int


def cheapest_mix(offers: Sequence[Offer], length: int, steps: Steps) -> Mix:
    """The cheapest whole spools that together are long enough; of equals the fewest that are bought.

    Every number of every spool but the last is tried, dearest for its length first, and a branch is left as
    soon as the rest at the best price could not beat the best mix so far. What is at hand for nothing is used
    first.

    Parameters
    ----------
    offers : sequence of Offer
        One at least of which there is no end.
    length : int
    steps : Steps
        Taken from; without them the first mix is answered.
    """
    order = sorted(range(len(offers)), key=lambda index: _turn(offers[index]))
    mixing = _Mixing([offers[index] for index in order], steps)
    least = mixing.least(length, 0)
    mixing.fill(length, (), 0)
    counts = [0] * len(offers)
    for place, index in enumerate(order):
        counts[index] = mixing.best[place]
    return Mix(tuple(counts), mixing.price, mixing.price if mixing.complete else min(least, mixing.price))


def _turn(offer: Offer) -> tuple[bool, bool, Fraction, int]:
    """What is at hand for nothing first, longest first; then what there is an end of; then dearest first."""
    if not offer.bought:
        return False, False, Fraction(0), -offer.room
    return True, offer.at_most is None, -Fraction(offer.price, offer.room), offer.room


class _Mixing:
    """The search for one mix; of the last spool there is no end."""

    def __init__(self, offers: list[Offer], steps: Steps) -> None:
        self._offers, self._steps = offers, steps
        rates = [Fraction(offer.price, offer.room) for offer in offers]
        self._rates = [min(rates[place:]) for place in range(len(rates))]
        self._longest = max(offer.room for offer in offers)
        self._coin = gcd(*(offer.price for offer in offers)) or 1
        self._left = MOST_MIXES
        self.best: tuple[int, ...] = ()
        self.price = 0
        self.complete = True

    def least(self, short: int, place: int) -> int:
        """What the rest costs at least from this spool on, if nothing of it is at hand for nothing."""
        while not self._offers[place].bought:
            short -= self._offers[place].room * (self._offers[place].at_most or 0)
            place += 1
        coins = ceil(self._rates[place] * max(0, short) / self._coin)
        return coins * self._coin

    def fill(self, short: int, counts: tuple[int, ...], price: int) -> None:
        """Try every number of the spool whose turn it is."""
        place = len(counts)
        offer = self._offers[place]
        most = max(0, -(-short // offer.room))
        if place == len(self._offers) - 1:
            self._take(counts, most, price + most * offer.price)
            return
        most = most if offer.at_most is None else min(most, offer.at_most)
        for number in range(most + 1) if offer.bought else (most,):
            left, spent = short - number * offer.room, price + number * offer.price
            self._left -= 1
            if self._left <= 0 or not self._pays():
                self.complete = False
            if not self.best or (self.complete and self._can_be_better(left, (*counts, number), spent)):
                self.fill(left, (*counts, number), spent)
            elif offer.at_most is None or not self.complete:
                # Of what there is an end of, more may still be cheaper than what comes after it.
                return

    def _pays(self) -> bool:
        try:
            self._steps.take(LOOKED_AT)
        except OutOfStepsError:
            return False
        return True

    def _take(self, counts: tuple[int, ...], most: int, price: int) -> None:
        found = (*counts, most)
        if not self.best or (price, self._bought(found)) < (self.price, self._bought(self.best)):
            self.best, self.price = found, price

    def _bought(self, counts: tuple[int, ...]) -> int:
        return sum(number * offer.bought for number, offer in zip(counts, self._offers, strict=False))

    def _can_be_better(self, left: int, counts: tuple[int, ...], spent: int) -> bool:
        """Whether the rest, at the least that it can cost and in the fewest spools, would beat the best."""
        fewest = self._bought(counts)
        if self._offers[len(counts)].bought:
            fewest += max(0, -(-left // self._longest))
        return (spent + self.least(left, len(counts)), fewest) < (self.price, self._bought(self.best))
