"""What a search has of a layout: boxes, trees of routes that its cable lies in, and the lamps of its runs."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import NamedTuple

from service.studies.least_cost_layout.design import CableTree, Fit, Spares, Terminal
from service.studies.least_cost_layout.site import Site, Step


class PlacedBox(NamedTuple):
    """A box of the offer at a mounting point, both by index."""

    mount: int
    offer: int


class DesignRun(NamedTuple):
    """A run of a design: its box and its circuit there by index, the lamps, the cable, and what feeds it."""

    box: int
    circuit: int
    lamps: tuple[int, ...]
    tree: CableTree
    terminal: Terminal
    fit: Fit


class SiteDesign(NamedTuple):
    """Boxes, runs and the routes that are dug; what all of it costs, as far as a search knows. [currency]"""

    boxes: tuple[PlacedBox, ...]
    runs: tuple[DesignRun, ...]
    routes: tuple[int, ...]
    cost: float


class Strictness(NamedTuple):
    """What designs must keep beyond what a sweep shows of them, because one was found to break it.

    `spare_v` is what every lamp must have beyond its least, `top_v` what it must be below its most [V]; taps
    above `most_tap_v` are not used, of the circuits, of the rating and of the resistance at which a device
    just trips only so much is. [-] `repairs` is how often it was made stricter.
    """

    spare_v: float = 0.0
    top_v: float = 0.0
    most_tap_v: float = inf
    circuit_ratio: float = 1.0
    rating_ratio: float = 1.0
    trip_ratio: float = 1.0
    repairs: int = 0

    @property
    def of_runs(self) -> Spares:
        """What of it each run must keep by itself."""
        return Spares(self.spare_v, self.top_v, self.trip_ratio)


class Group(NamedTuple):
    """Lamps that are to share a run as far as one route that leaves the box leads to them."""

    box: int
    lamps: tuple[int, ...]


Tree = dict[int, Step]
"""Of each place the one before it on the way to a mounting point, and the route between."""


class Draft(NamedTuple):
    """A design with the trees and the groups that it was made from, and what it had to keep."""

    boxes: tuple[PlacedBox, ...]
    trees: dict[int, Tree]
    groups: tuple[Group, ...]
    design: SiteDesign
    strict: Strictness = Strictness()


def by_first_route(site: Site, tree: Tree, root: int, lamps: Sequence[int]) -> list[tuple[int, ...]]:
    """Lamps by the route by which their way leaves the box."""
    found: dict[int, list[int]] = {}
    for lamp in lamps:
        place = site.lamps[lamp].place
        while tree[place][0] != root:
            place = tree[place][0]
        found.setdefault(place, []).append(lamp)
    return [tuple(found[place]) for place in sorted(found)]
