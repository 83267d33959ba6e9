"""A network with its points removed one after another; answers as many right-hand sides as asked.

Nothing is ever subtracted among conductances, so a kilometre of thin wire beside a millimetre of thick bar
loses no digits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from service.physics.kernel.plan import Plan
from service.physics.kernel.vectors import Reals, zeros


class Factor:
    """Room for the factors of one network; all vectors in it are by place in the order of removal.

    Parameters
    ----------
    plan : Plan
        Order of removal.
    conductance : sequence of float
        One per link, in the order of links. [W, per-unit]
    held : bool
        Whether the terminal is the source itself, at no drop.
    """

    def __init__(self, plan: Plan, conductance: Sequence[float], *, held: bool) -> None:
        self.plan, self.held = plan, held
        self.link, self.pivot = zeros(plan.slots), zeros(plan.points)
        self.work, self.ratio = zeros(plan.slots), zeros(plan.slots)
        self._take(conductance)

    def _take(self, conductance: Sequence[float]) -> None:
        links, slots = self.link, self.plan.slot
        for link in range(self.plan.links):
            links[slots[link]] = conductance[link]

    def eliminate(self, shunt: Reals, right: Reals) -> int:
        """Remove the points; the place of one whose conductance is not positive, -1 where there is none.

        Parameters
        ----------
        shunt : vector
            Conductance from each point to the source, which may be negative; used up. [W, per-unit]
        right : vector
            Right-hand side, which is taken along half of its way. [W, per-unit]
        """
        plan, link, ratio, pivots = self.plan, self.work, self.ratio, self.pivot
        column, target, first = plan.column, plan.target, plan.first
        leaves, points, aim = plan.leaves, plan.points, 0
        link[:] = self.link
        for leaf in range(leaves):
            own = shunt[leaf]
            pivot = own + link[leaf]
            if not pivot > 0.0:
                return leaf
            share = link[leaf] / pivot
            inner = column[leaf]
            shunt[inner] += share * own
            right[inner] += share * right[leaf]
            ratio[leaf], pivots[leaf] = share, pivot
        for place in range(leaves, points):
            start, end = first[place], first[place + 1]
            own, pivot = shunt[place], 0.0
            for slot in range(start, end):
                pivot += link[slot]
            pivot = own + pivot
            if self.held and place == points - 1:
                pivot = math.inf
            if not pivot > 0.0:
                return place
            pivots[place] = pivot
            for slot in range(start, end):
                share = link[slot] / pivot
                ratio[slot] = share
                shunt[column[slot]] += share * own
                right[column[slot]] += share * right[place]
            for slot in range(start, end):
                share = ratio[slot]
                for other in range(slot + 1, end):
                    link[target[aim]] += share * link[other]
                    aim += 1
        return -1

    def bring_inwards(self, right: Reals) -> None:
        """Take one more right-hand side along half of its way."""
        ratio, column, first, leaves = self.ratio, self.plan.column, self.plan.first, self.plan.leaves
        for leaf in range(leaves):
            right[column[leaf]] += ratio[leaf] * right[leaf]
        for place in range(leaves, self.plan.points):
            for slot in range(first[place], first[place + 1]):
                right[column[slot]] += ratio[slot] * right[place]

    def bring_outwards(self, values: Reals) -> None:
        """Take it along the other half: it is the answer then. [per-unit]"""
        plan, ratio, pivot = self.plan, self.ratio, self.pivot
        column, first, leaves = plan.column, plan.first, plan.leaves
        for place in range(plan.points - 1, leaves - 1, -1):
            value = values[place] / pivot[place]
            for slot in range(first[place], first[place + 1]):
                value += ratio[slot] * values[column[slot]]
            values[place] = value
        for leaf in range(leaves - 1, -1, -1):
            values[leaf] = values[leaf] / pivot[leaf] + ratio[leaf] * values[column[leaf]]

    def factorise(self, shunt: Sequence[float]) -> int:
        """Remove the points; the number of one whose conductance is not positive, -1 where there is none.

        Parameters
        ----------
        shunt : sequence of float
            One per point. [W, per-unit]
        """
        place = self.eliminate(self.plan.by_place(shunt), zeros(self.plan.points))
        return place if place < 0 else self.plan.order[place]

    def solve(self, right: Sequence[float]) -> list[float]:
        """Answer one right-hand side; both by point. [W, per-unit], [per-unit]"""
        values = self.plan.by_place(right)
        self.bring_inwards(values)
        self.bring_outwards(values)
        return self.plan.by_point(values)

    def transfer_diagonal(self) -> list[float]:
        """Diagonal of the inverse by point: the resistance from the source, all loads taken off. [1/W]"""
        diagonal = zeros(self.plan.points)
        self._find_diagonal(zeros(self.plan.slots), diagonal)
        return self.plan.by_point(diagonal)

    def _find_diagonal(self, inverse: Reals, diagonal: Reals) -> None:
        """Form the entries of the inverse that lie on the pattern of the factors, by slot, and no others."""
        plan, ratio, pivot = self.plan, self.ratio, self.pivot
        column, target, first = plan.column, plan.target, plan.first
        base = plan.fills
        for place in range(plan.points - 1, plan.leaves - 1, -1):
            start, end = first[place], first[place + 1]
            width = end - start
            base -= width * (width - 1) // 2
            own = 1.0 / pivot[place]
            for i in range(width):
                entry = 0.0
                for j in range(width):
                    if i == j:
                        seen = diagonal[column[start + i]]
                    else:
                        low, high = (i, j) if i < j else (j, i)
                        seen = inverse[target[base + low * (2 * width - low - 1) // 2 + high - low - 1]]
                    entry += ratio[start + j] * seen
                inverse[start + i] = entry
                own += ratio[start + i] * entry
            diagonal[place] = own
        for leaf in range(plan.leaves - 1, -1, -1):
            share = ratio[leaf]
            diagonal[leaf] = 1.0 / pivot[leaf] + share * share * diagonal[column[leaf]]
