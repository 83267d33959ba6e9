r"""About what the cable of a run costs, before any size is chosen: it tells which changes are worth a fit.

Let every span have the conductance that makes the run cheapest, at :math:`\kappa` for each siemens and metre,
so that every end has the drop D. A span of length l that carries I, with ways behind it whose own sums are
:math:`S_i`, is as good as one way with

.. math:: S = l \sqrt I + \sqrt{\textstyle\sum_i S_i^2}

and the run costs :math:`\kappa S^2 / D`: a span and what is behind it share a drop so that the sum of
:math:`S_i^2 / D_i` is least, and ways side by side have the same drop each. No cable is thinner than the
thinnest or thicker than the thickest that is offered; what the thin ends have over, the others are thinned
by. Between two sizes a price is read from a straight line.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf, sqrt
from typing import NamedTuple

from service.studies.least_cost_layout.design import CableTree
from service.studies.least_cost_layout.site import Site


class _Size(NamedTuple):
    """A cable of which the price is on the lower hull of all: siemens of a metre [S·m], price of a metre."""

    siemens: float
    price: float


class RunGuess(NamedTuple):
    """What a run costs [currency], infinite where it is too far, and the volt-amperes that it takes. [VA]"""

    cost: float
    drawn_va: float


class RunGuesser:
    """Guesses what runs of a site cost.

    Parameters
    ----------
    site : Site
    only : int, optional
        The one cable that is laid.
    """

    def __init__(self, site: Site, only: int | None = None) -> None:
        self._site = site
        offered = site.cables if only is None else [site.cables[only]]
        self._sizes = _hull([_Size(1.0 / each.hot_ohm_per_m, float(each.price_per_m)) for each in offered])
        self._volt_amperes = [abs(lamp.least_va) for lamp in site.lamps]
        self._amps = [lamp.least_w / (OVER_LEAST * lamp.least_v or 1.0) for lamp in site.lamps]
        self._tee, self._end = float(site.joints.tee), float(site.joints.cable_end)

    def guess(self, tree: CableTree, low_v: float) -> RunGuess:
        """Of the cable and the joints of a run, but for those at fixtures; infinite: it is too far.

        `low_v` is what it is fed by at the lowest mains. [V]
        """
        parents, lengths_m, site = tree.parents, tree.lengths_m, self._site
        points = len(parents)
        amps, beside = [0.0] * points, [0.0] * points
        room_v = [inf] * points
        for point, lamps in enumerate(tree.lamps):
            for lamp in lamps:
                amps[point] += self._amps[lamp]
                room_v[point] = min(room_v[point], low_v - site.lamps[lamp].least_v)
        least_room_v = min(room_v)
        if least_room_v <= 0.0:
            return TOO_FAR
        sums, roots = [0.0] * points, [0.0] * points
        for point in range(points - 1, 0, -1):
            parent = parents[point]
            amps[parent] += amps[point]
            roots[point] = sqrt(amps[point])
            sums[point] = lengths_m[point] * roots[point] + sqrt(beside[point])
            beside[parent] += sums[point] * sums[point]
        shares, rest = [0.0] * points, [1.0] * points
        for point in range(1, points):
            left = rest[parents[point]]
            shares[point] = roots[point] * sums[point] / left if left > 0.0 else inf
            rest[point] = left * sqrt(beside[point]) / sums[point] if sums[point] > 0.0 else left
        return self._scaled(tree, shares, amps, room_v, 1.0 / least_room_v)

    def _scaled(
        self,
        tree: CableTree,
        shares: Sequence[float],
        amps: Sequence[float],
        room_v: Sequence[float],
        scale: float,
    ) -> RunGuess:
        """The cost once the conductances, in these shares, leave the worst lamp just enough."""
        parents, lengths_m = tree.parents, tree.lengths_m
        thin, thick = self._sizes[0].siemens, self._sizes[-1].siemens
        siemens, drops = [0.0] * len(parents), [0.0] * len(parents)
        for _ in range(SCALED):
            used = 0.0
            for point in range(1, len(parents)):
                own = scale * shares[point]
                own = thin if own < thin else min(own, thick)
                siemens[point] = own
                drops[point] = drops[parents[point]] + lengths_m[point] * amps[point] / own
                if drops[point] > used * room_v[point]:
                    used = drops[point] / room_v[point]
            if abs(used - 1.0) < SCALED_NEAR:
                break
            scale *= used
        if used > 1.0 + FAR:
            return TOO_FAR
        cost, drawn_va = self._end + self._tee * tree.tees, 0.0
        for point in range(1, len(parents)):
            cost += lengths_m[point] * self._price(siemens[point])
            drawn_va += amps[point] * (drops[point] - drops[parents[point]])
            for lamp in tree.lamps[point]:
                drawn_va += self._volt_amperes[lamp]
        return RunGuess(cost, drawn_va)

    def _price(self, siemens: float) -> float:
        """Of a metre with so much conductance, between two sizes on the straight line. [currency/m]"""
        for one, other in pairwise(self._sizes):
            if siemens <= other.siemens:
                share = (siemens - one.siemens) / (other.siemens - one.siemens)
                return one.price + max(share, 0.0) * (other.price - one.price)
        return self._sizes[-1].price


TOO_FAR = RunGuess(inf, inf)


OVER_LEAST = 1.04
"""At how much of its least voltage a lamp is taken to stand, for what it draws. [-]"""


SCALED, SCALED_NEAR = 4, 0.02
"""Times that conductances are scaled, at most; and what the worst lamp may be off by. [-]"""


FAR = 0.1
"""What the drop may be too large by, with the thickest cable, and a fit still be tried. [-]"""


def _hull(sizes: Sequence[_Size]) -> list[_Size]:
    """The cheapest size and those above it that lie on the lower hull of price over conductance."""
    ordered = sorted(sizes, key=lambda each: (each.price, -each.siemens))
    hull = list[_Size]()
    for each in ordered:
        if hull and each.siemens <= hull[-1].siemens:
            continue
        while len(hull) > 1 and _slope(hull[-2], each) <= _slope(hull[-2], hull[-1]):
            hull.pop()
        hull.append(each)
    return hull


def _slope(one: _Size, other: _Size) -> float:
    return (other.price - one.price) / (other.siemens - one.siemens)
