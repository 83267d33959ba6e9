"""From runs, branches and spurs to points and spans: where things stand, and what lies between them."""

from __future__ import annotations

from collections.abc import Mapping
from operator import attrgetter
from typing import NamedTuple

from service.circuit.cables import joints_resistance, resolve_cable
from service.circuit.job import FixtureSpec, LaidStretch, RunSpec
from service.circuit.layout import (
    SAME_NUMBER_M,
    SAME_PLACE_M,
    LaidPoint,
    LaidSpan,
    Layout,
    PlacedFixture,
    RunEnd,
    points_of,
)
from service.circuit.supply import Feed


def places_of(line: FixtureSpec) -> list[float]:
    """Every place at which a fixture of a line stands, in their order. [m]"""
    if line.spacing_m is None:
        return [line.at_m]
    return [line.at_m + index * line.spacing_m for index in range(line.pieces)]


def farthest_point(run: RunSpec, places_m: list[list[float]]) -> float:
    """Where the run ends, its tail apart: its farthest fixture or branch. [m]

    `places_m` are those of each of its lines. [m]
    """
    farthest_m = max(map(max, places_m), default=0.0)
    return max([farthest_m, *(branch.at_m for branch in run.branches)])


def stops_m(run: RunSpec, places_m: list[list[float]], end_m: float) -> list[float]:
    """Every position at which something happens, in order and without repeats. [m]

    `places_m` are those of each of its lines. [m]
    """
    places = set[float]().union(*places_m)
    places.update(branch.at_m for branch in run.branches)
    places.update(change.at_m for change in run.changes if change.at_m < end_m)
    places.add(end_m)
    return sorted(places)


class LaidTo(NamedTuple):
    """Cable from the start of a run to each of its stops [m], and what joints on the way add. [ohm]"""

    cable_m: list[float]
    joints_ohm: list[float]


def laid_to(run: RunSpec, stops: list[float], temperature_c: float) -> LaidTo:
    """What lies between the start of a run and each of its stops, at a temperature of the conductors. [°C]

    `stops` are on the route, in order. [m]

    Where nothing is said of what is laid it is as much cable as route. Where a stop lies within a stretch it
    has its share of that.
    """
    if not run.laid:
        return LaidTo(stops, [0.0] * len(stops))
    found = LaidTo([], [])
    cable_m = joints_ohm = reached_m = 0.0
    stretches = iter(run.laid)
    stretch = next(stretches, None)
    for at_m in stops:
        while stretch is not None and stretch.to_m <= at_m:
            cable_m += stretch.laid_m
            joints_ohm += _joints_ohm(run, stretch, temperature_c)
            reached_m, stretch = stretch.to_m, next(stretches, None)
        beyond_m = at_m - reached_m
        if stretch is None:
            found.cable_m.append(cable_m + beyond_m)
            found.joints_ohm.append(joints_ohm)
        else:
            share = beyond_m / (stretch.to_m - stretch.from_m)
            found.cable_m.append(cable_m + share * stretch.laid_m)
            found.joints_ohm.append(joints_ohm + share * _joints_ohm(run, stretch, temperature_c))
    return found


def _joints_ohm(run: RunSpec, stretch: LaidStretch, temperature_c: float) -> float:
    """What the joints in a stretch of a run add. [ohm]"""
    if not stretch.joined:
        return 0.0
    # Of several changes at one place the last holds, as where the cable is laid.
    changes = sorted(run.changes, key=attrgetter("at_m"))
    cables = [change.cable for change in changes if change.at_m <= stretch.from_m + SAME_PLACE_M]
    spec = cables[-1] if cables else run.cable
    return joints_resistance(resolve_cable(spec, temperature_c), stretch.laid_m, stretch.joined)


def count_points(run: RunSpec) -> int:
    """How many points beside the supply a run and its branches may need, counted without laying them."""
    points = len(run.changes) + (run.tail_m > 0.0)
    for line in run.fixtures:
        points += (1 if line.spacing_m is None else line.pieces) * (1 + points_of(line))
    for branch in run.branches:
        points += 1 + count_points(branch)
    return points


def count_loops(run: RunSpec) -> int:
    """How many loops a run and its branches close."""
    return (run.return_leg is not None) + sum(count_loops(branch) for branch in run.branches)


LUMPS = 64
"""Lumps that stand for a load without gaps."""


class Placement(NamedTuple):
    """`pieces` lamps alike, the first at `at_m` [m], each `spacing_m` farther; each has this share of a load.

    [-]
    """

    at_m: float
    pieces: int
    spacing_m: float | None
    share_ratio: float


def lumped(length_m: float) -> tuple[Placement, ...]:
    """All of it at the far end. [m]"""
    return (Placement(length_m, 1, None, 1.0),)


def evenly_spread(length_m: float, lumps: int = LUMPS) -> tuple[Placement, ...]:
    """Without gaps from the supply to the far end [m], half a lump at either end (the trapezoid rule).

    Of a load of constant current the end voltage is then exact; of others the error falls with the square of
    the number of lumps.
    """
    gap_m = length_m / lumps
    return (
        Placement(0.0, 1, None, 0.5 / lumps),
        Placement(gap_m, lumps - 1, gap_m, 1.0 / lumps),
        Placement(length_m, 1, None, 0.5 / lumps),
    )


def spaced(first_m: float, spacing_m: float, pieces: int, *, share_ratio: float) -> tuple[Placement, ...]:
    """One lamp after another from the first on. [m]"""
    return (Placement(first_m, pieces, spacing_m, share_ratio),)


def lines_at(line: FixtureSpec, placements: tuple[Placement, ...]) -> tuple[FixtureSpec, ...]:
    """The fixture lines that stand for one load placed so."""
    return tuple(
        line._replace(
            name=line.name if each.spacing_m is None and each.at_m > 0.0 else None,
            at_m=each.at_m,
            pieces=each.pieces,
            spacing_m=each.spacing_m,
            load=line.load if each.share_ratio == 1.0 else line.load.scaled(each.share_ratio),
        )
        for each in placements
    )


def build_runs(runs: tuple[RunSpec, ...], feed: Feed, temperature_c: float) -> Layout:
    """Lay every run from the terminal on.

    Parameters
    ----------
    runs : tuple of RunSpec
        Each its own feeder.
    feed : Feed
        The taps that they are connected to.
    temperature_c : float
        Of every conductor. [°C]
    """
    layout = Layout(temperature_c, [feed.open_circuit_v[0]], leaders=list(range(len(runs))))
    for feeder, run in enumerate(runs):
        _RunLayer(layout, feed.open_circuit_v[feed.tap_of[feeder]], feeder).build_run(run, 0, 0.0)
    return layout


class _RunLayer:
    """Lays one run that leaves the supply, with its branches and spurs.

    Parameters
    ----------
    layout : Layout
        Added to.
    volts : float
        Open-circuit voltage of its tap. [V]
    feeder : int
        Its index among what leaves the supply.
    """

    __slots__ = ("_feeder", "_layout", "_volts")

    def __init__(self, layout: Layout, volts: float, feeder: int) -> None:
        self._layout = layout
        self._volts = volts
        self._feeder = feeder

    def build_run(self, run: RunSpec, start: int, start_distance_m: float) -> None:
        """Build a run from a point on, its branches after it; `start_distance_m` is from the supply. [m]"""
        layout = self._layout
        places_m = [places_of(line) for line in run.fixtures]
        farthest_m = farthest_point(run, places_m)
        end_m = farthest_m + run.tail_m
        stops = stops_m(run, places_m, end_m)
        laid = laid_to(run, stops, layout.temperature_c)
        point_at = self._build_cable(run, start, stops, laid)
        distance_at = {
            at_m: start_distance_m + cable_m for at_m, cable_m in zip(stops, laid.cable_m, strict=True)
        }
        layout.lines.extend(run.fixtures)
        for line, line_m in zip(run.fixtures, places_m, strict=True):
            self._connect(line, line_m, point_at, distance_at)
        layout.ends.append(
            RunEnd(
                run.subject, run.name, self._feeder, point_at[end_m], end_m, distance_at[end_m], run.changes
            )
        )
        self._close(run, point_at[farthest_m], start)
        for branch in run.branches:
            self.build_run(branch, point_at[branch.at_m], distance_at[branch.at_m])

    def _connect(
        self,
        line: FixtureSpec,
        line_m: list[float],
        point_at: Mapping[float, int],
        distance_at: Mapping[float, float],
    ) -> None:
        """Connect the fixtures of a line at their places [m]; several at one place are one row."""
        volts, feeder, spaced = self._volts, self._feeder, line.spacing_m is not None
        pieces = 1 if spaced else line.pieces
        for index, at_m in enumerate(line_m, 1):
            number, point = index if spaced else None, point_at[at_m]
            self._layout.connect(
                PlacedFixture(line, number, pieces, at_m, point, point, feeder, volts, distance_at[at_m])
            )

    def _build_cable(self, run: RunSpec, start: int, stops: list[float], laid: LaidTo) -> dict[float, int]:
        """Lay the cable of one run from stop to stop; answers the point at each."""
        layout, subject, feeder = self._layout, run.subject, self._feeder
        changes = sorted(run.changes, key=attrgetter("at_m"))
        cable, cable_at = resolve_cable(run.cable, layout.temperature_c), f"{subject.pointer}/cable"
        point, place_m, before_m, before_ohm = start, 0.0, 0.0, 0.0
        point_at = {0.0: start}
        for at_m, cable_m, joints_ohm in zip(stops, *laid, strict=True):
            while changes and changes[0].at_m <= place_m + SAME_PLACE_M:
                change = changes.pop(0)
                cable = resolve_cable(change.cable, layout.temperature_c)
                cable_at = f"{change.subject.pointer}/cable"
            gap_m = at_m - place_m
            if gap_m >= SAME_PLACE_M:
                new = layout.point(self._volts, LaidPoint(subject.pointer, at_m))
                length_m, own_ohm = cable_m - before_m, joints_ohm - before_ohm
                ohm = length_m * cable.ohm_per_m + own_ohm
                layout.spans.append(
                    LaidSpan(
                        point,
                        new,
                        ohm,
                        length_m,
                        cable,
                        subject,
                        feeder,
                        1,
                        cable_at,
                        place_m,
                        own_ohm,
                    )
                )
                point, place_m, before_m, before_ohm = new, at_m, cable_m, joints_ohm
            elif gap_m > SAME_NUMBER_M:
                layout.merged = True
            point_at[at_m] = point
        return point_at

    def _close(self, run: RunSpec, farthest: int, start: int) -> None:
        """Bring the farthest point back to the run's start by a leg of 1 mm at least, if asked for."""
        leg = run.return_leg
        if leg is not None and farthest != start:
            cable = resolve_cable(leg.cable, self._layout.temperature_c)
            length_m = max(leg.length_m, SAME_PLACE_M)
            cable_at = f"{(run if leg.as_run else leg).subject.pointer}/cable"
            self._layout.span(
                (farthest, start),
                length_m,
                cable,
                leg.subject,
                feeder=self._feeder,
                cable_at=cable_at,
                joints_ohm=joints_resistance(cable, length_m, leg.joined),
            )
