"""Cutting stock as a linear programme, whose duals prove what no cut list can be cheaper than."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from service.purchase.knapsack import Filling, best_filling
from service.purchase.packing import (
    CuttingProblem,
    Duals,
    Filled,
    Packing,
    packing_of,
    sparse,
)
from service.purchase.steps import OutOfStepsError, Steps

WORTH_BITS = 45
"""Bits in which a worth is written, beside the dearest spool."""

TOO_SMALL = 1e-9
"""Below this a number of the programme is taken as none. [-]"""

ENTRY_LOOKED_AT, MULTIPLIED = 2, 0.4
"""Operations of looking at a number of a row, and of adding a multiple of one number to another."""

ZEROS_AN_OPERATION = 20
"""Zeros that are written with one operation."""

NO_OFFER = -1

STEPS_OF_A_COLUMN = 20_000
"""Steps for one column: without an end to it there is still a bound, a lower one."""

MOST_ROUNDS = 4_000
"""Columns that are tried, so that floats which turn in a circle end."""


def by_length(problem: CuttingProblem) -> Duals:
    """Each length worth what the cheapest spool costs per length; spools at hand spare what they hold."""
    endless = [offer for offer in problem.offers if offer.at_most is None]
    if not endless:
        return Duals((0,) * len(problem.lengths), (0,) * len(problem.offers), 1)
    best = endless[0]
    for offer in endless:
        if offer.price * best.room < best.price * offer.room:
            best = offer
    spared = tuple(
        0 if offer.at_most is None else max(0, best.price * offer.room - offer.price * best.room)
        for offer in problem.offers
    )
    return Duals(tuple(best.price * length for length in problem.lengths), spared, best.room)


class Pattern(NamedTuple):
    """One filling, how many of each length by its index; below zero a length is cut once more than wanted."""

    offer: int
    counts: tuple[tuple[int, int], ...]


class Programme:
    """Covers every wanted length by so many of each filling at the least price, in parts of spools.

    The rows are the lengths, then the offers of which there is an end. Revised simplex with the inverse of
    the basis [1]_, [2]_; every length must fit in some spool of which there is no end.

    References
    ----------
    .. [1] Gilmore, P. C. and Gomory, R. E., A linear programming approach to the cutting-stock problem,
       Operations Research 9 (1961), 849-859 (from memory).
    .. [2] Farley, A. A., A note on bounding a class of linear programming problems, including cutting stock
       problems, Operations Research 38 (1990), 922-923 (from memory): the bound.
    """

    def __init__(self, problem: CuttingProblem, known: Sequence[Filled], steps: Steps) -> None:
        self._problem, self._steps = problem, steps
        self._known = [Pattern(each.offer, each.counts) for each in known]
        self._ended = [index for index, offer in enumerate(problem.offers) if offer.at_most is not None]
        self._dearest = max(offer.price for offer in problem.offers) or 1
        self._rows = len(problem.lengths) + len(self._ended)
        steps.take(self._rows * ENTRY_LOOKED_AT + self._rows * self._rows // ZEROS_AN_OPERATION)
        self._start()
        self.duals: list[Duals] = []

    def _start(self) -> None:
        """A basis to begin with: each length alone in the spool that is cheapest for it."""
        problem = self._problem
        self._basis: list[Pattern | None] = []
        self._amounts: list[float] = []
        self._inverse = [[0.0] * self._rows for _ in range(self._rows)]
        for row, length in enumerate(problem.lengths):
            fits = [
                (offer.price / min(offer.room // length, problem.wanted[row]), index)
                for index, offer in enumerate(problem.offers)
                if offer.at_most is None and offer.room >= length
            ]
            _, index = min(fits)
            each = min(problem.offers[index].room // length, problem.wanted[row])
            self._basis.append(Pattern(index, ((row, each),)))
            self._amounts.append(problem.wanted[row] / each)
            self._inverse[row][row] = 1.0 / each
        stock = problem.stock()
        for row, index in enumerate(self._ended, start=len(problem.lengths)):
            self._basis.append(None)
            self._amounts.append(float(stock[index]))
            self._inverse[row][row] = 1.0
        self._prices = [
            (0.0 if column is None else problem.offers[column.offer].price / self._dearest)
            * self._inverse[row][row]
            for row, column in enumerate(self._basis)
        ]

    def solve(self) -> None:
        """Go to the least price, as far as the steps allow; what was proven on the way stands in `duals`."""
        try:
            for _ in range(MOST_ROUNDS):
                if not self._improve():
                    return
        except OutOfStepsError:
            return

    def _improve(self) -> bool:
        """One column into the basis; False where none would make it cheaper."""
        lengths = len(self._problem.lengths)
        over = min(range(lengths), key=self._prices.__getitem__)
        if self._prices[over] < -TOO_SMALL:
            return self._enter(Pattern(NO_OFFER, ((over, -1),)), self._prices[over])
        for row in range(lengths, self._rows):
            if self._prices[row] > TOO_SMALL:
                return self._enter_unused(row)
        if self._enter_known():
            return True
        whole = [max(0, int(price * (1 << WORTH_BITS))) for price in self._prices[:lengths]]
        nothing = Filling((0,) * lengths, 0, 0)
        found = [
            nothing
            if offer.at_most == 0
            else best_filling(
                whole,
                self._problem.lengths,
                self._problem.wanted,
                offer.room,
                steps=self._steps,
                most_steps=STEPS_OF_A_COLUMN,
            )
            for offer in self._problem.offers
        ]
        self._keep_bound(whole, found)
        self._known += [Pattern(index, sparse(filling.counts)) for index, filling in enumerate(found)]
        return self._enter_known()

    def _enter_known(self) -> bool:
        """The column into the basis that is worth most beside its cost, of those that were made so far."""
        self._steps.take(ENTRY_LOOKED_AT * sum(len(column.counts) for column in self._known))
        gains = [
            sum(self._prices[index] * count for index, count in column.counts) - self._cost(column.offer)
            for column in self._known
        ]
        best = max(range(len(gains)), key=gains.__getitem__, default=None)
        return best is not None and gains[best] > TOO_SMALL and self._enter(self._known[best], -gains[best])

    def _cost(self, offer: int) -> float:
        """Price of a spool beside the dearest, and what one less of those at hand costs."""
        spared = self._prices[self._row_of(offer)] if offer in self._ended else 0.0
        return self._problem.offers[offer].price / self._dearest - spared

    def _row_of(self, offer: int) -> int:
        """The row that keeps to the number of an offer of which there is an end."""
        return len(self._problem.lengths) + self._ended.index(offer)

    def _keep_bound(self, whole: list[int], found: list[Filling]) -> None:
        """Scale what lengths are worth, until no filling is worth more than its spool; keep if higher."""
        problem = self._problem
        price, worth = self._dearest, 1 << WORTH_BITS
        endless = [
            (offer.price, filling.at_most)
            for offer, filling in zip(problem.offers, found, strict=True)
            if offer.at_most is None and filling.at_most
        ]
        for its_price, its_worth in endless:
            if its_price * worth < price * its_worth:
                price, worth = its_price, its_worth
        spared = tuple(
            0 if offer.at_most is None else max(0, price * filling.at_most - offer.price * worth)
            for offer, filling in zip(problem.offers, found, strict=True)
        )
        duals = Duals(tuple(price * value for value in whole), spared, worth)
        wanted, stock = problem.wanted, problem.stock()
        if not self.duals or duals.bound(wanted, stock) >= self.duals[-1].bound(wanted, stock):
            self.duals = [duals]

    def _enter(self, column: Pattern, reduced: float) -> bool:
        """Put a column in the place of the one that it first brings to nothing."""
        used = list(column.counts)
        if column.offer in self._ended:
            used.append((self._row_of(column.offer), 1))
        self._steps.take(int(ENTRY_LOOKED_AT * self._rows * len(used)))
        through = [sum(line[row] * entry for row, entry in used) for line in self._inverse]
        return self._exchange(through, column, reduced)

    def _enter_unused(self, row: int) -> bool:
        """Leave spools at hand unused again."""
        through = [line[row] for line in self._inverse]
        return self._exchange(through, None, -self._prices[row])

    def _exchange(self, through: list[float], column: Pattern | None, reduced: float) -> bool:
        leaving = min(
            (row for row, value in enumerate(through) if value > TOO_SMALL),
            key=lambda row: (self._amounts[row] / through[row], row),
            default=None,
        )
        if leaving is None:
            return False
        changed = sum(1 for value in through if value)
        self._steps.take(int(MULTIPLIED * self._rows * changed) + ENTRY_LOOKED_AT * self._rows)
        pivot = through[leaving]
        line = [value / pivot for value in self._inverse[leaving]]
        amount = self._amounts[leaving] / pivot
        for row, factor in enumerate(through):
            if row != leaving and factor:
                self._inverse[row] = [
                    value - factor * own for value, own in zip(self._inverse[row], line, strict=True)
                ]
                self._amounts[row] = max(0.0, self._amounts[row] - factor * amount)
        self._inverse[leaving], self._amounts[leaving], self._basis[leaving] = line, amount, column
        self._prices = [price + reduced * own for price, own in zip(self._prices, line, strict=True)]
        return True

    def rounded_down(self) -> Iterator[Packing]:
        """The whole spools of the solution, then fewer and fewer of them: the rest is for a search."""
        problem = self._problem
        parts = [
            (amount, column)
            for amount, column in zip(self._amounts, self._basis, strict=True)
            if column is not None and column.offer != NO_OFFER and amount > TOO_SMALL
        ]
        for fewer in range(3):
            wanted, fillings = list(problem.wanted), []
            for amount, column in sorted(parts, reverse=True):
                spools = max(0, int(amount + TOO_SMALL) - fewer)
                spools = min([spools, *(wanted[index] // take for index, take in column.counts)])
                if spools:
                    fillings.append(Filled(column.offer, column.counts, spools))
                    for index, take in column.counts:
                        wanted[index] -= spools * take
            self._steps.take(ENTRY_LOOKED_AT * 2 * len(parts))
            yield packing_of(problem, fillings)
