"""The cheapest layout of a tiny site by trying all of them; no search of the service is shared.

Every tree of routes, every way to put the lamps on runs, every box, tap and cable of every span is tried.
What a layout gives is found by repeating Kirchhoff's and Ohm's laws until nothing moves, all lamps with
constant watts in phase.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import product
from math import inf
from typing import NamedTuple

from service.studies.least_cost_layout.site import BoxOffer, Site

Span = tuple[int, int, float]
"""Where it begins and ends, and how long it is. [m]"""


def trees(site: Site, mount: int) -> Iterator[dict[int, tuple[int, int]]]:
    """Every tree of routes that joins all lamps to a mounting point and has no end without a lamp."""
    root, lit = site.mounts[mount].place, {lamp.place for lamp in site.lamps}
    seen = set()
    for chosen in product((False, True), repeat=len(site.routes)):
        routes = [index for index, taken in enumerate(chosen) if taken]
        before, waiting = {root: (root, -1)}, [root]
        while waiting:
            place = waiting.pop()
            for index in routes:
                ends = site.routes[index].start, site.routes[index].end
                if place in ends:
                    other = ends[1] if ends[0] == place else ends[0]
                    if other not in before:
                        before[other] = (place, index)
                        waiting.append(other)
        ends_of_it = set(before) - {step[0] for step in before.values()}
        key = frozenset(routes)
        if len(before) == len(routes) + 1 and lit <= set(before) and ends_of_it <= lit and key not in seen:
            seen.add(key)
            del before[root]
            yield before


def partitions(items: Sequence[int]) -> Iterator[list[list[int]]]:
    """Every way to put things into groups."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for groups in partitions(rest):
        yield [[first], *groups]
        for place in range(len(groups)):
            yield [*groups[:place], [first, *groups[place]], *groups[place + 1 :]]


def spans_of(site: Site, root: int, before: dict[int, tuple[int, int]], lamps: Sequence[int]) -> list[Span]:
    """The spans of a run, each place but those where nothing stands and nothing parts an end of one."""
    lit = {site.lamps[lamp].place for lamp in lamps}
    used = {root}
    for each in lit:
        place = each
        while place not in used:
            used.add(place)
            place = before[place][0]
    onward = {place: [each for each in used if each != root and before[each][0] == place] for place in used}
    found = []
    waiting = [(root, child) for child in sorted(onward[root])]
    while waiting:
        start, place = waiting.pop()
        length = site.routes[before[place][1]].length_m
        while place not in lit and len(onward[place]) == 1:
            [place] = onward[place]
            length += site.routes[before[place][1]].length_m
        found.append((start, place, length))
        waiting += [(place, child) for child in sorted(onward[place])]
    return found


class State(NamedTuple):
    """Open circuit over the voltage of a tap [-], resistance of the source over E² [1/W], ohms a metre."""

    ratio: float
    resistance: float
    ohms: Sequence[float]


class WiredRun(NamedTuple):
    """A run with its lamps, the cable of each span by its index, and its tap. [V]"""

    spans: list[Span]
    lamps: list[int]
    cables: Sequence[int]
    tap_v: float


def volts(site: Site, runs: Sequence[WiredRun], root: int, state: State) -> dict[int, float]:
    """The voltage of every lamp; zero where it goes on falling. [V]"""
    watts = [lamp.load.power_w for lamp in site.lamps]
    at = {lamp: run.tap_v * state.ratio for run in runs for lamp in run.lamps}
    for _ in range(200):
        lost = state.resistance * sum(
            run.tap_v * state.ratio * watts[lamp] / at[lamp] for run in runs for lamp in run.lamps
        )
        new: dict[int, float] = {}
        for run in runs:
            through: dict[int, float] = {}
            for lamp in run.lamps:
                place = site.lamps[lamp].place
                through[place] = through.get(place, 0.0) + watts[lamp] / at[lamp]
            for start, end, _ in reversed(run.spans):
                through[start] = through.get(start, 0.0) + through.get(end, 0.0)
            level = {root: run.tap_v * state.ratio * (1.0 - lost)}
            for (start, end, length), cable in zip(run.spans, run.cables, strict=True):
                level[end] = level[start] - through.get(end, 0.0) * length * state.ohms[cable]
            new |= {lamp: level[site.lamps[lamp].place] for lamp in run.lamps}
        if min(new.values()) < 0.3 * min(run.tap_v for run in runs):
            break
        if max(abs(new[lamp] - at[lamp]) for lamp in new) < 1e-10:
            return new
        at = new
    return dict.fromkeys(at, 0.0)


class Wiring(NamedTuple):
    """Runs on one tree of routes, by spans and lamps, and what they cost but for box, cable and splices."""

    mount: int
    runs: list[tuple[list[Span], list[int]]]
    fixed: float


def wirings(site: Site) -> Iterator[Wiring]:
    """Every tree of routes with every way to put the lamps on runs."""
    joints = site.joints
    for mount, place in enumerate(site.mounts):
        for before in trees(site, mount):
            dug = sum(float(site.routes[route].trench) for _, route in before.values())
            for groups in partitions(list(range(len(site.lamps)))):
                runs = [(spans_of(site, place.place, before, group), group) for group in groups]
                # Of what leaves the box by several routes each way is a run of its own.
                if any(sum(start == place.place for start, _, _ in spans) != 1 for spans, _ in runs):
                    continue
                tees = sum(
                    max(0, sum(start == end for start, _, _ in spans) - 1)
                    for spans, _ in runs
                    for _, end, _ in spans
                )
                fixed = dug + float(place.price) + float(joints.fixture) * len(site.lamps)
                fixed += float(joints.tee) * tees + float(joints.cable_end) * len(runs)
                yield Wiring(mount, runs, fixed)


@cache
def cheapest(site: Site) -> float:
    """The least that any layout with one box costs; infinite where none passes."""
    best = inf
    prices = [float(cable.price_per_m) for cable in site.cables]
    for wiring in wirings(site):
        lengths = [length for spans, _ in wiring.runs for _, _, length in spans]
        for offer in site.boxes:
            for chosen in product(range(len(prices)), repeat=len(lengths)):
                cost = wiring.fixed + float(offer.price)
                cost += sum(prices[cable] * length for cable, length in zip(chosen, lengths, strict=True))
                cost += _spliced(site, wiring, chosen)
                if cost < best - 1e-9 and _tapped(site, wiring, offer, chosen):
                    best = cost
    return best


def cheapest_below(site: Site, limit: float) -> float:
    """The least that any layout with one box costs, if it is below a limit; infinite where none is.

    Cables are chosen span by span. What is chosen is left where it costs as much as the best with the
    cheapest cable in all other spans, or where a lamp is too low with that of least resistance in them and
    every run on the highest tap: no other choice makes a voltage higher in that state.
    """
    best = limit
    prices = [float(cable.price_per_m) for cable in site.cables]
    stoutest = min(range(len(prices)), key=lambda each: site.cables[each].hot_ohm_per_m)
    for wiring in wirings(site):
        lengths = [length for spans, _ in wiring.runs for _, _, length in spans]
        left = [min(prices) * sum(lengths[place:]) for place in range(len(lengths) + 1)]
        for offer in site.boxes:
            waiting: list[tuple[float, tuple[int, ...]]] = [(wiring.fixed + float(offer.price), ())]
            while waiting:
                cost, chosen = waiting.pop()
                rest = len(lengths) - len(chosen)
                if cost + left[len(chosen)] >= best - 1e-9:
                    continue
                highest = [max(offer.taps_v)] * len(wiring.runs)
                if not _bright(
                    site, wired(wiring, (*chosen, *[stoutest] * rest), highest), wiring.mount, offer
                ):
                    continue
                if rest:
                    length = lengths[len(chosen)]
                    waiting += [(cost + price * length, (*chosen, each)) for each, price in enumerate(prices)]
                    continue
                cost += _spliced(site, wiring, chosen)
                if cost < best - 1e-9 and _tapped(site, wiring, offer, chosen):
                    best = cost
    return best if best < limit else inf


def wired(wiring: Wiring, cables: Sequence[int], taps: Sequence[float]) -> list[WiredRun]:
    """The runs of a wiring with a cable for each span, in their order, and a tap for each run. [V]"""
    found, start = [], 0
    for (spans, lamps), tap in zip(wiring.runs, taps, strict=True):
        found.append(WiredRun(spans, lamps, cables[start : start + len(spans)], tap))
        start += len(spans)
    return found


def _spliced(site: Site, wiring: Wiring, cables: Sequence[int]) -> float:
    runs = wired(wiring, cables, [0.0] * len(wiring.runs))
    return float(site.joints.splice) * sum(_splices(run.spans, run.cables) for run in runs)


def _tapped(site: Site, wiring: Wiring, offer: BoxOffer, cables: Sequence[int]) -> bool:
    """Whether it passes with any tap for each run."""
    return any(
        passes(site, wired(wiring, cables, taps), wiring.mount, offer)
        for taps in product(offer.taps_v, repeat=len(wiring.runs))
    )


def _splices(spans: Sequence[Span], cables: Sequence[int]) -> int:
    fed_by = {end: cable for (_, end, _), cable in zip(spans, cables, strict=True)}
    return sum(
        start in fed_by and fed_by[start] != cable for (start, _, _), cable in zip(spans, cables, strict=True)
    )


def _bright(site: Site, runs: Sequence[WiredRun], mount: int, offer: BoxOffer) -> bool:
    """Whether no lamp is too low in the state that asks most."""
    low = lowest_volts(site, runs, mount, offer)
    return all(low[lamp] >= site.lamps[lamp].least_v for lamp in low)


def lowest_volts(site: Site, runs: Sequence[WiredRun], mount: int, offer: BoxOffer) -> dict[int, float]:
    """The voltage of each lamp in the state that asks most. [V]"""
    feeding, hot = offer.feedings[mount], [each.hot_ohm_per_m for each in site.cables]
    return volts(site, runs, site.mounts[mount].place, State(feeding.low_ratio, feeding.low_resistance, hot))


def passes(site: Site, runs: Sequence[WiredRun], mount: int, offer: BoxOffer) -> bool:
    """Whether every lamp is inside its window at both ends of the range, and the box within its rating."""
    feeding, root = offer.feedings[mount], site.mounts[mount].place
    cold = [each.cold_ohm_per_m for each in site.cables]
    low = lowest_volts(site, runs, mount, offer)
    if any(low[lamp] < site.lamps[lamp].least_v for lamp in low):
        return False
    used = sum(site.lamps[lamp].load.power_w / low[lamp] * run.tap_v for run in runs for lamp in run.lamps)
    if used > offer.rating_va:
        return False
    high = volts(site, runs, root, State(feeding.high_ratio, feeding.high_resistance, cold))
    return all(high[lamp] <= site.lamps[lamp].highest_v for lamp in high)
