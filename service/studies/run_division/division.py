"""Lamps along the route of a zone in runs: as equal in load as can be, and then with the least cable."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator
from itertools import accumulate, pairwise
from math import inf
from typing import Final, NamedTuple

from service.circuit.job import JobPart
from service.circuit.work import OPERATIONS_OF_WORK, charged, count

CHAIN: Final = "chain"
"""The cable goes from lamp to lamp, away from where it arrives at the route."""

TEE: Final = "tee"
"""It arrives between its lamps and goes on both ways."""

HUB: Final = "hub"
"""It ends at a hub, from which each lamp has a leg of its own, all of one length."""

LOAD_STEPS_PER_VA: Final = 1_000
"""Loads are compared as whole numbers of such steps, so that a sum in another order is the same sum."""


class Lamp(NamedTuple):
    """What stands at one point of the route: how far along it [m], and what it draws [VA]."""

    at_m: float
    load_va: float


class Zone(NamedTuple):
    """Lamps along one route, in their order along it.

    The cable from the supply is `distance_m` long where it arrives at the route, `arrival_m` from its
    beginning. [m]
    """

    subject: JobPart
    distance_m: float
    arrival_m: float
    lamps: tuple[Lamp, ...]


Group = tuple[int, int]
"""The lamps of one run: from the first up to the one before the second number."""


class RunPlan(NamedTuple):
    """One run of a zone.

    Parameters
    ----------
    form : str
        CHAIN, TEE or HUB.
    onward, back : tuple of int
        Lamps in the order in which the cable meets them: away from the arrival, and on a tee the other way.
    hub_m : float
        Where along the route the hub is; of a chain and a tee where the cable arrives. [m]
    leg_m : float
        Length of each leg of a hub. [m]
    cable_m : float
        All cable of it, from the supply on. [m]
    load_va : float
        Of all its lamps, added up. [VA]
    moment_va_m : float
        Loads times the length of cable that they share with the way to the lamp where that sum is largest: on
        one cable the drop goes with it. [VA m]
    """

    form: str
    onward: tuple[int, ...]
    back: tuple[int, ...]
    hub_m: float
    leg_m: float
    cable_m: float
    load_va: float
    moment_va_m: float


class ZonePlan(NamedTuple):
    """One way to divide a zone: `hubs` or not, and its runs in the order of the route."""

    hubs: bool
    runs: tuple[RunPlan, ...]

    @property
    def largest_va(self) -> float:
        """Load of the run that has most. [VA]"""
        return max(run.load_va for run in self.runs)

    @property
    def cable_m(self) -> float:
        """All cable. [m]"""
        return sum(run.cable_m for run in self.runs)

    @property
    def moment_va_m(self) -> float:
        """Of the run that has the largest. [VA m]"""
        return max(run.moment_va_m for run in self.runs)


def plans_of(zone: Zone, runs_at_most: int, *, hubs: bool) -> Iterator[ZonePlan]:
    """Every number of runs, first along the route and then, where that is another, with hubs.

    Parameters
    ----------
    zone : Zone
    runs_at_most : int
    hubs : bool
        Whether lamps may be fed from hubs.
    """
    for runs in range(1, min(runs_at_most, len(zone.lamps)) + 1):
        yield ZonePlan(hubs=False, runs=equal_runs(zone, runs, along_route))
        if hubs:
            plan = ZonePlan(hubs=True, runs=equal_runs(zone, runs, from_hub))
            if any(run.form == HUB for run in plan.runs):
                yield plan


Layer = Callable[[Zone, Group], RunPlan]
"""How the lamps of a group are wired as one run."""


def equal_runs(zone: Zone, runs: int, layer: Layer) -> tuple[RunPlan, ...]:
    """Divide a zone into so many runs of neighbours.

    The largest load of a run is the smallest that there is; of the divisions with that the one with the
    least cable is taken, and of those the one whose first run ends first. Both are exact: the first by
    bisection over the load (neighbours fill a run while they fit), the second by the shortest path over the
    places where a run may end.

    Parameters
    ----------
    zone : Zone
        With at least `runs` lamps.
    runs : int
    layer : callable
        What a group becomes, `along_route` or `from_hub`.

    Returns
    -------
    runs : tuple of RunPlan
        In the order of the route.
    """
    loads = [_steps(lamp) for lamp in zone.lamps]
    sums = [0, *accumulate(loads)]
    work = len(loads) * (len(loads) + runs) // OPERATIONS_OF_WORK
    with charged(work):
        most = _least_largest(loads, sums, runs)
        cuts = _least_cable(zone, sums, runs, most, layer)
    return tuple(layer(zone, group) for group in pairwise(cuts))


def _least_largest(loads: list[int], sums: list[int], runs: int) -> int:
    """The smallest load that the fullest of so many runs of neighbours can have. [steps]"""
    low, high = max(loads), sums[-1]

    def needed(most: int) -> int:
        runs_needed, begin = 0, 0
        while begin < len(loads):
            begin = bisect_left(sums, sums[begin] + most + 1) - 1
            runs_needed += 1
        count(runs_needed)
        return runs_needed

    while low < high:
        middle = (low + high) // 2
        if needed(middle) <= runs:
            high = middle
        else:
            low = middle + 1
    return low


def _least_cable(zone: Zone, sums: list[int], runs: int, most: int, layer: Layer) -> list[int]:
    """Where the runs end, so that none has more than `most` and their cable is the least."""
    lamps = len(zone.lamps)
    least_m: list[dict[int, float]] = [{0: 0.0}]
    before: list[dict[int, int]] = [{}]
    cable_m = _CableOf(zone, layer)
    for run in range(1, runs + 1):
        ends, came_from = dict[int, float](), dict[int, int]()
        for begin, so_far_m in sorted(least_m[-1].items()):
            last = min(bisect_left(sums, sums[begin] + most + 1) - 1, lamps - (runs - run))
            for end in range(begin + 1, last + 1):
                length_m = so_far_m + cable_m[begin, end]
                if length_m < ends.get(end, inf):
                    ends[end], came_from[end] = length_m, begin
        least_m.append(ends)
        before.append(came_from)
    cuts = [lamps]
    for came_from in reversed(before[1:]):
        cuts.append(came_from[cuts[-1]])
    return cuts[::-1]


class _CableOf(dict[Group, float]):
    """The cable of a group as one run, worked out once. [m]"""

    def __init__(self, zone: Zone, layer: Layer) -> None:
        super().__init__()
        self._zone, self._layer = zone, layer

    def __missing__(self, group: Group) -> float:
        count(group[1] - group[0])
        self[group] = length_m = self._layer(self._zone, group).cable_m
        return length_m


def along_route(zone: Zone, group: Group) -> RunPlan:
    """A chain, or a tee where the cable arrives between the lamps."""
    lamps = range(*group)
    onward = tuple(each for each in lamps if zone.lamps[each].at_m >= zone.arrival_m)
    back = tuple(each for each in reversed(lamps) if zone.lamps[each].at_m < zone.arrival_m)
    ways = [way for way in (onward, back) if way]
    load_va = _load_va(zone, group)
    moments = (sum(zone.lamps[lamp].load_va * _along_m(zone, lamp) for lamp in way) for way in ways)
    form = TEE if len(ways) > 1 else CHAIN
    return RunPlan(
        form=form,
        onward=onward or back,
        back=back if onward else (),
        hub_m=zone.arrival_m,
        leg_m=0.0,
        cable_m=zone.distance_m + sum(_along_m(zone, way[-1]) for way in ways),
        load_va=load_va,
        moment_va_m=load_va * zone.distance_m + max(moments),
    )


def _along_m(zone: Zone, lamp: int) -> float:
    """From where the cable arrives to a lamp, along the route. [m]"""
    return abs(zone.lamps[lamp].at_m - zone.arrival_m)


def from_hub(zone: Zone, group: Group) -> RunPlan:
    """A hub where the load's middle is, each leg as long as the longest; one place needs no hub.

    The middle is the weighted median: no place has less load times length of the ways from it.
    """
    first, last = zone.lamps[group[0]], zone.lamps[group[1] - 1]
    hub_m = zone.lamps[_median(zone, group)].at_m
    leg_m = max(hub_m - first.at_m, last.at_m - hub_m)
    if leg_m <= 0.0:
        return along_route(zone, group)
    lamps, load_va = tuple(range(*group)), _load_va(zone, group)
    feed_m = zone.distance_m + abs(hub_m - zone.arrival_m)
    return RunPlan(
        form=HUB,
        onward=lamps,
        back=(),
        hub_m=hub_m,
        leg_m=leg_m,
        cable_m=feed_m + len(lamps) * leg_m,
        load_va=load_va,
        moment_va_m=load_va * feed_m + leg_m * max(zone.lamps[lamp].load_va for lamp in lamps),
    )


def _median(zone: Zone, group: Group) -> int:
    """The first lamp up to which half of the load stands."""
    loads = [_steps(zone.lamps[lamp]) for lamp in range(*group)]
    so_far = accumulate(loads)
    return next(lamp for lamp, load in zip(range(*group), so_far, strict=True) if 2 * load >= sum(loads))


def _steps(lamp: Lamp) -> int:
    """What a lamp draws, in whole steps."""
    return round(lamp.load_va * LOAD_STEPS_PER_VA)


def _load_va(zone: Zone, group: Group) -> float:
    return sum(lamp.load_va for lamp in zone.lamps[slice(*group)])
