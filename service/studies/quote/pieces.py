"""What is laid: pieces of cable with what they take at their ends, and the joints at which they meet.

Lengths are exact. [m] A stretch is the cable between two neighbouring stops of a run: its start, its ends,
and places at which a fixture hangs, a branch starts or the cable changes. Each end of a stretch takes what
its stop asks for, whether the cable ends there or passes uncut: a loop is brought up to a fixture and goes
on. So what is laid, and what it loses, is the same however the cable is cut.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import accumulate, pairwise
from typing import NamedTuple

from service.circuit.graph import one_of_each, representative
from service.circuit.job import SUPPLY_POINT

SAME_PLACE = Fraction(1, 1_000)
"""Nearer than this is one place, as in the circuit. [m]"""

AT_FIXTURE, AT_RUN = "fixture-joint", "run-joint"
"""A joint at which fixtures hang, and any other."""


class RouteCable(NamedTuple):
    """A cable of the wiring: the row of the catalogue that it is bought as, its two conductors, how many lie.

    Parameters
    ----------
    row : int or None
        Place in the catalogue; None where that is not known.
    poles : tuple of str
        What each of the two conductors is.
    number : int
        Cables side by side.
    """

    row: int | None
    poles: tuple[str, str]
    number: int = 1


class RouteLead(NamedTuple):
    """A lead of a fixture, and its length where it is cut from cable that is bought. [m]"""

    cable: RouteCable
    bought: Fraction | None = None


class RouteLine(NamedTuple):
    """A line of fixtures: `pieces` alike at one place, or each `spacing` farther along. [m]"""

    pointer: str
    at: Fraction
    pieces: int
    spacing: Fraction | None
    lead: RouteLead | None


class RouteChange(NamedTuple):
    """From here on another cable [m]; `pointer` is to that cable."""

    pointer: str
    at: Fraction
    cable: RouteCable


class RouteLeg(NamedTuple):
    """A cable back to the start [m]; `cable_at` points to what says which."""

    pointer: str
    cable_at: str
    length: Fraction
    cable: RouteCable


class Route(NamedTuple):
    """A run, a branch or a spur; it starts `at` so far along its parent [m]; `cable_at` says its cable."""

    pointer: str
    cable_at: str
    at: Fraction
    cable: RouteCable
    lines: tuple[RouteLine, ...]
    changes: tuple[RouteChange, ...] = ()
    tail: Fraction = Fraction(0)
    leg: RouteLeg | None = None
    branches: tuple[Route, ...] = ()


class RouteSpan(NamedTuple):
    """A span of a graph between two named points [m]; `cable_at` is what says its cable."""

    pointer: str
    cable_at: str
    start: str
    end: str
    length: Fraction
    cable: RouteCable


class RouteGraph(NamedTuple):
    """Spans, and lines of fixtures with the named points at which they hang."""

    spans: tuple[RouteSpan, ...]
    lines: tuple[tuple[RouteLine, str], ...]


class Takes(NamedTuple):
    """What a stretch takes beside its route: a share of it [-], and at its ends. [m]"""

    slack: Fraction = Fraction(0)
    at_fixture: Fraction = Fraction(0)
    at_supply: Fraction = Fraction(0)
    at_joint: Fraction = Fraction(0)


class Spot(NamedTuple):
    """A place in words to be: the supply, a named point, so far along a run [m], or a fixture's lamp."""

    pointer: str = ""
    at: Fraction = Fraction(0)
    name: str = ""
    lamp: bool = False


SUPPLY = Spot(name=SUPPLY_POINT)


class HungLamps(NamedTuple):
    """Fixtures of one line at one place."""

    line: RouteLine
    pieces: int


@dataclass(slots=True)
class Stop:
    """A place, and what meets there."""

    spot: Spot
    at_supply: bool = False
    ends: list[RouteCable] = field(default_factory=list)
    passes: list[RouteCable] = field(default_factory=list)
    lamps: list[HungLamps] = field(default_factory=list)

    @property
    def is_joint(self) -> bool:
        """Whether cable is joined there without a fixture: cable that only ends or only passes is not."""
        return (
            not self.at_supply
            and not self.lamps
            and bool(self.ends)
            and len(self.ends) + len(self.passes) > 1
        )

    def takes(self, takes: Takes) -> Fraction:
        """What each stretch takes there. [m]"""
        if self.at_supply:
            return takes.at_supply
        if self.lamps:
            return takes.at_fixture
        return takes.at_joint if self.is_joint else Fraction(0)


class Stretch(NamedTuple):
    """Cable between two stops of a run; places on the run [m], and what says which cable it is."""

    pointer: str
    cable_at: str
    start: Stop
    end: Stop
    from_m: Fraction
    to_m: Fraction
    cable: RouteCable
    breaks: bool
    """Whether the cable is cut at its end."""

    @property
    def route(self) -> Fraction:
        """As the route goes. [m]"""
        return self.to_m - self.from_m

    def laid(self, takes: Takes) -> Fraction:
        """As it is laid. [m]"""
        return self.route * (1 + takes.slack) + self.start.takes(takes) + self.end.takes(takes)


class LaidPiece(NamedTuple):
    """Cable in one piece [m], as often as it lies side by side, or as many leads alike.

    `stretches` are those that it covers, with what is laid of each [m]; a lead has none.
    """

    cable: RouteCable
    pointer: str
    start: Spot
    end: Spot
    route: Fraction
    laid: Fraction
    number: int
    stretches: tuple[tuple[Stretch, Fraction], ...] = ()

    def at(self, along: Fraction) -> tuple[Stretch, Spot]:
        """The stretch in which a place along the cable [m] lies, and where that is on the route."""
        ends = list(accumulate(laid for _, laid in self.stretches))
        place = min(bisect_right(ends, along), len(ends) - 1)
        stretch, laid = self.stretches[place]
        share = (along - ends[place] + laid) / laid
        return stretch, Spot(stretch.pointer, stretch.from_m + min(share, Fraction(1)) * stretch.route)


class Splice(NamedTuple):
    """A joint of both poles: what meets there of each, ending or passing uncut, leads with it.

    `bare` are lines whose lamps have no lead: what is joined there is not known.
    """

    kind: str
    spot: Spot
    pointer: str
    poles: tuple[tuple[tuple[str, bool, int], ...], tuple[tuple[str, bool, int], ...]]
    """(conductor, uncut, number) of each pole."""
    bare: tuple[str, ...] = ()


class Laying(NamedTuple):
    """Everything that is laid behind one supply.

    Parameters
    ----------
    stretches : tuple of (Stretch, Fraction)
        With what is laid of each [m], in the order of each run; return legs and spans too.
    pieces : tuple of LaidPiece
    splices : tuple of Splice
    routes : dict of str to Fraction
        How long each run, branch, spur, return leg and span is, by its pointer. [m]
    feeders : int
        What leaves the supply.
    """

    stretches: tuple[tuple[Stretch, Fraction], ...]
    pieces: tuple[LaidPiece, ...]
    splices: tuple[Splice, ...]
    routes: dict[str, Fraction]
    feeders: int

    @property
    def route(self) -> Fraction:
        """All of the route, cables side by side once. [m]"""
        return sum(self.routes.values(), start=Fraction(0))

    @property
    def laid(self) -> Fraction:
        """The same with what is taken beside it. [m]"""
        return sum((laid for _, laid in self.stretches), start=Fraction(0))


def laying_of(wiring: Sequence[Route] | RouteGraph, takes: Takes, *, cut_at_joints: bool) -> Laying:
    """Lay a wiring.

    Parameters
    ----------
    wiring : sequence of Route or RouteGraph
    takes : Takes
    cut_at_joints : bool
        Whether cable is cut wherever something is joined to it; else it passes uncut.
    """
    layer = _Layer(cut_at_joints=cut_at_joints)
    if isinstance(wiring, RouteGraph):
        layer.lay_graph(wiring)
    else:
        for route in wiring:
            layer.lay(route, layer.stop(SUPPLY, at_supply=True))
        layer.feeders = len(wiring)
    return layer.laying(takes)


class _Layer:
    """Lays one wiring, stop by stop: what a stop takes is known when all that meets there is."""

    def __init__(self, *, cut_at_joints: bool) -> None:
        self._cut_at_joints = cut_at_joints
        self._stops: list[Stop] = []
        self._rows: list[list[Stretch]] = []
        self._routes: dict[str, Fraction] = {}
        self.feeders = 0

    def stop(self, spot: Spot, *, at_supply: bool = False) -> Stop:
        """A new place."""
        stop = Stop(spot, at_supply)
        self._stops.append(stop)
        return stop

    def lay(self, route: Route, start: Stop) -> None:
        """Lay a run from a stop on, its branches after it."""
        lamps = [
            (
                line.at + index * (line.spacing or 0),
                HungLamps(line, 1 if line.spacing is not None else line.pieces),
            )
            for line in route.lines
            for index in range(1 if line.spacing is None else line.pieces)
        ]
        farthest = max(
            [at for at, _ in lamps] + [branch.at for branch in route.branches], default=Fraction(0)
        )
        end = farthest + route.tail
        changes = sorted((each for each in route.changes if each.at < end), key=lambda each: each.at)
        places = {at for at, _ in lamps} | {branch.at for branch in route.branches}
        places |= {change.at for change in changes} | {farthest, end}
        stop_at, kept = self._stops_of(route, start, sorted(places))
        for at, hung in lamps:
            stop_at[at].lamps.append(hung)
        tied = {id(stop_at[at]) for at, _ in lamps} | {id(stop_at[branch.at]) for branch in route.branches}
        back = route.leg if stop_at[farthest] is not start else None
        if back is not None:
            tied.add(id(stop_at[farthest]))
        self._lay_cable(route, kept, changes, tied)
        self._routes[route.pointer] = kept[-1][0]
        if back is not None:
            self._lay_leg(back, stop_at[farthest], start)
        for branch in route.branches:
            self.lay(branch, stop_at[branch.at])

    def _stops_of(
        self, route: Route, start: Stop, places: Sequence[Fraction]
    ) -> tuple[dict[Fraction, Stop], list[tuple[Fraction, Stop]]]:
        """The stop of each place, and each stop with the place of it that counts; near ones are one."""
        kept = [(Fraction(0), start)]
        stop_at = {Fraction(0): start}
        for at in places:
            if at - kept[-1][0] >= SAME_PLACE:
                kept.append((at, self.stop(Spot(route.pointer, at))))
            stop_at[at] = kept[-1][1]
        return stop_at, kept

    def _lay_cable(
        self,
        route: Route,
        kept: Sequence[tuple[Fraction, Stop]],
        changes: Sequence[RouteChange],
        tied: set[int],
    ) -> None:
        """Lay the cable of a run between its stops; `tied` are those at which something is joined to it."""
        cable, cable_at, waiting = route.cable, route.cable_at, list(reversed(changes))
        laid: list[Stretch] = []
        for (before, start), (after, end) in pairwise(kept):
            while waiting and waiting[-1].at <= before + SAME_PLACE:
                change = waiting.pop()
                cable, cable_at = change.cable, change.pointer
            laid.append(Stretch(route.pointer, cable_at, start, end, before, after, cable, breaks=False))
        for place, stretch in enumerate(laid):
            onward = laid[place + 1] if place + 1 < len(laid) else None
            if place == 0:
                stretch.start.ends.append(stretch.cable)
            cut_here = self._cut_at_joints and id(stretch.end) in tied
            if onward is not None and onward.cable == stretch.cable and not cut_here:
                stretch.end.passes.append(stretch.cable)
                continue
            laid[place] = stretch._replace(breaks=True)
            stretch.end.ends.append(stretch.cable)
            if onward is not None:
                stretch.end.ends.append(onward.cable)
        if laid:
            self._rows.append(laid)

    def _lay_leg(self, leg: RouteLeg, farthest: Stop, start: Stop) -> None:
        length = max(leg.length, SAME_PLACE)
        stretch = Stretch(
            leg.pointer, leg.cable_at, farthest, start, Fraction(0), length, leg.cable, breaks=True
        )
        self._lay_alone(stretch)

    def _lay_alone(self, stretch: Stretch) -> None:
        """Lay a stretch that is a piece by itself."""
        stretch.start.ends.append(stretch.cable)
        stretch.end.ends.append(stretch.cable)
        self._rows.append([stretch])
        self._routes[stretch.pointer] = stretch.route

    def lay_graph(self, graph: RouteGraph) -> None:
        """Lay every span of a graph; the ends of one too short to tell apart are one point."""
        leaving = [SUPPLY_POINT in {span.start, span.end} for span in graph.spans]
        spans = zip(graph.spans, leaving, strict=True)
        same = one_of_each(
            (span.start, span.end) for span, leaves in spans if span.length < SAME_PLACE and not leaves
        )
        stops: dict[str, Stop] = {}

        def stop_of(point: str) -> Stop:
            name = representative(point, same)
            if name not in stops:
                stops[name] = self.stop(Spot(name=name), at_supply=name == SUPPLY_POINT)
            return stops[name]

        for line, point in graph.lines:
            stop_of(point).lamps.append(HungLamps(line, line.pieces))
        for span in graph.spans:
            start, end = stop_of(span.start), stop_of(span.end)
            if start is not end:
                length = max(span.length, SAME_PLACE)
                ends = start, end, Fraction(0), length
                self._lay_alone(Stretch(span.pointer, span.cable_at, *ends, span.cable, breaks=True))
        self.feeders = sum(leaving)

    def laying(self, takes: Takes) -> Laying:
        """What was laid, with what it takes."""
        rows = [[(stretch, stretch.laid(takes)) for stretch in row] for row in self._rows]
        return Laying(
            stretches=tuple(each for row in rows for each in row),
            pieces=(*(piece for row in rows for piece in _pieces(row)), *self._leads()),
            splices=tuple(_splices(self._stops)),
            routes=self._routes,
            feeders=self.feeders,
        )

    def _leads(self) -> Iterator[LaidPiece]:
        """Leads that are cut from cable that is bought."""
        for stop in self._stops:
            for line, pieces in stop.lamps:
                if line.lead is not None and line.lead.bought:
                    cable, length = line.lead.cable, line.lead.bought
                    yield LaidPiece(
                        cable,
                        f"{line.pointer}/lead",
                        stop.spot,
                        Spot(line.pointer, lamp=True),
                        length,
                        length,
                        pieces * cable.number,
                    )


def _pieces(row: Sequence[tuple[Stretch, Fraction]]) -> Iterator[LaidPiece]:
    """The pieces of one run: as far as the cable is not cut."""
    begun: list[tuple[Stretch, Fraction]] = []
    for each in row:
        begun.append(each)
        if each[0].breaks:
            first, last = begun[0][0], each[0]
            yield LaidPiece(
                first.cable,
                first.cable_at,
                first.start.spot,
                last.end.spot,
                sum((stretch.route for stretch, _ in begun), start=Fraction(0)),
                sum((laid for _, laid in begun), start=Fraction(0)),
                first.cable.number,
                tuple(begun),
            )
            begun = []


def _splices(stops: Sequence[Stop]) -> Iterator[Splice]:
    """Every joint but those at the supply, where conductors are at its terminals."""
    for stop in stops:
        if stop.at_supply or not (stop.lamps or stop.is_joint):
            continue
        leads = [(hung.line.lead.cable, hung.pieces) for hung in stop.lamps if hung.line.lead is not None]
        poles = tuple(
            (
                *((cable.poles[pole], False, cable.number) for cable in stop.ends),
                *((cable.poles[pole], True, cable.number) for cable in stop.passes),
                *((cable.poles[pole], False, cable.number * pieces) for cable, pieces in leads),
            )
            for pole in range(2)
        )
        bare = tuple(dict.fromkeys(hung.line.pointer for hung in stop.lamps if hung.line.lead is None))
        pointer = stop.lamps[0].line.pointer if stop.lamps else stop.spot.pointer
        yield Splice(AT_FIXTURE if stop.lamps else AT_RUN, stop.spot, pointer, (poles[0], poles[1]), bare)
