"""Every row that a certificate may name is kept by every layout that passes: no multipliers prove too much.

Layouts are enumerated and solved without the service. What each gives the columns of the programme is worked
out here from its routes, cables and currents, as the theory says that it does.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import islice
from random import Random

import pytest

from service.studies.least_cost_layout.bound import Part
from service.studies.least_cost_layout.programme import RowName
from service.studies.least_cost_layout.refining import Case, beside, setting_of
from service.studies.least_cost_layout.relaxation import Relaxation
from service.studies.least_cost_layout.site import Site
from tests.studies.least_cost_layout import enumeration
from tests.studies.least_cost_layout.enumeration import WiredRun, Wiring
from tests.studies.least_cost_layout.test_bound import tiny

LAST_DIGITS = 1e-12
"""Of all that a row adds up: what floats of its coefficients may be off by, with many to spare."""


def passing(made: Site, random: Random) -> Iterator[tuple[Wiring, int, list[WiredRun]]]:
    """Layouts that pass, with their box, in any order."""
    wirings = list(enumeration.wirings(made))
    while True:
        wiring = random.choice(wirings)
        box = random.randrange(len(made.boxes))
        cables = [random.randrange(len(made.cables)) for spans, _ in wiring.runs for _ in spans]
        taps = [random.choice(made.boxes[box].taps_v) for _ in wiring.runs]
        runs = enumeration.wired(wiring, cables, taps)
        if enumeration.passes(made, runs, wiring.mount, made.boxes[box]):
            yield wiring, box, runs


def trail(relaxation: Relaxation, start: int, end: int, length_m: float) -> list[tuple[int, int]]:
    """The routes of a span and the place that each begins at; it is told from others by its length."""
    waiting: list[tuple[int, list[tuple[int, int]], float]] = [(start, [], 0.0)]
    while waiting:
        place, before, walked_m = waiting.pop()
        if place == end and abs(walked_m - length_m) < 1e-9:
            return before
        for other, route in relaxation.beside[place]:
            further_m = walked_m + relaxation.site.routes[route].length_m
            if further_m < length_m + 1e-9 and all(route != each for each, _ in before):
                waiting.append((other, [*before, (route, place)], further_m))
    raise AssertionError


class Columns:
    """What a layout gives each column, by the names of the rows' parts."""

    def __init__(
        self, relaxation: Relaxation, mount: int, runs: Sequence[WiredRun], volts: dict[int, float]
    ) -> None:
        self.site, self.relaxation = relaxation.site, relaxation
        self.cables, self.way = defaultdict[tuple[int, int, int], float](float), set[tuple[int, int, int]]()
        self.share = dict[tuple[int, int], float]()
        unit_ohm = max(each.hot_ohm_per_m for each in self.site.cables)
        for run in runs:
            feeding = {
                end: (start, length, cable)
                for (start, end, length), cable in zip(run.spans, run.cables, strict=True)
            }
            amps = {lamp: self.site.lamps[lamp].load.power_w / volts[lamp] for lamp in run.lamps}
            behind = defaultdict[int, float](float)
            ends = dict[int, list[int]]()
            for lamp in run.lamps:
                place, ends[lamp] = self.site.lamps[lamp].place, []
                while place in feeding:
                    ends[lamp].append(place)
                    behind[place] += amps[lamp]
                    place = feeding[place][0]
            for end, (start, length, cable) in feeding.items():
                for route, at in trail(relaxation, start, end, length):
                    arc = route, int(self.site.routes[route].start != at)
                    self.cables[*arc, cable] += 1.0
                    for lamp in run.lamps:
                        if end in ends[lamp]:
                            self.way.add((lamp, *arc))
                            gain = unit_ohm / self.site.cables[cable].hot_ohm_per_m
                            self.share[lamp, route] = gain * amps[lamp] / behind[end]
        self.root = self.site.mounts[mount].place

    def values(self) -> list[float]:
        """By the index of each column."""
        relaxation, found = self.relaxation, [0.0] * len(self.relaxation.programme.costs)
        for (route, way, cable), number in self.cables.items():
            found[relaxation.cables[(route, way), cable]] = number
            found[relaxation.dug[route]] = found[relaxation.tree[route, way]] = 1.0
        for lamp, route, way in self.way:
            found[relaxation.way[lamp, (route, way)]] = 1.0
        for (lamp, route), share in self.share.items():
            found[relaxation.share[lamp, route]] = share
            found[relaxation.taken[lamp, route]] = 1.0 / share
        leaving = defaultdict[int, float](float)
        for (route, way, _), number in self.cables.items():
            ends = (self.site.routes[route].start, self.site.routes[route].end)[:: 1 - 2 * way]
            leaving[ends[0]] += number
            leaving[ends[1]] -= number
        for place, number in leaving.items():
            found[relaxation.tees[place]] = max(0.0, number)
        return found


def names(made: Site, random: Random) -> Iterator[RowName]:
    """Rows that only a certificate may name."""
    lit = {lamp.place for lamp in made.lamps}
    for lamp in range(len(made.lamps)):
        for route in range(len(made.routes)):
            yield "in-trench", lamp, route
            yield from (("in-cable", lamp, route, way) for way in (0, 1))
            yield from (("tangent", lamp, route, 10.0 ** random.uniform(-3, 3)) for _ in range(3))
    for _ in range(30):
        inside = {place for place in range(len(made.positions)) if random.random() < 0.5}
        if not lit.isdisjoint(inside):
            yield "entered", tuple(sorted(inside))


@pytest.mark.parametrize("seed", range(1, 13))
def test_every_layout_that_passes_keeps_every_row_and_pays_all_that_is_counted(seed: int) -> None:
    made, random = tiny(seed), Random(seed)  # repeatable, not secret
    widest = setting_of(made, Case(tuple(range(len(made.mounts))), None))
    relaxation = Relaxation(made, widest, [[lamp] for lamp in range(len(made.lamps))])
    for name in names(made, random):
        relaxation.index_of(name)
    programme = relaxation.programme
    for wiring, box, runs in islice(passing(made, random), 20):
        volts = enumeration.lowest_volts(made, runs, wiring.mount, made.boxes[box])
        values = Columns(relaxation, wiring.mount, runs, volts).values()
        for value, most in zip(values, programme.most, strict=True):
            assert 0.0 <= value <= most * (1.0 + LAST_DIGITS)
        for case in (Case((wiring.mount,), None), Case((wiring.mount,), (box,))):
            standing = relaxation.standing(setting_of(made, case))
            for index, row in enumerate(programme.rows):
                least = standing.get(index, row.least)
                if least is None:
                    continue
                added = [coefficient * values[column] for column, coefficient in row.terms]
                near = LAST_DIGITS * (abs(least) + sum(map(abs, added)))
                assert sum(added) >= least - near, row.name
                assert not row.equal or sum(added) <= least + near, row.name
        counted = sum(cost * value for cost, value in zip(programme.costs, values, strict=True))
        part = Part((wiring.mount,), (box,), Decimal(0))
        lengths = [length for run in runs for _, _, length in run.spans]
        cables = [cable for run in runs for cable in run.cables]
        paid = (
            wiring.fixed
            - float(made.mounts[wiring.mount].price)
            + sum(
                float(made.cables[cable].price_per_m) * length
                for cable, length in zip(cables, lengths, strict=True)
            )
        )
        assert counted + float(beside(made, part)) <= paid * (1.0 + LAST_DIGITS)
