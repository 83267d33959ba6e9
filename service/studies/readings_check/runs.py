"""Runs as a whole: what belongs to each, and what may be wrong with how it is connected to the supply."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import combinations
from typing import NamedTuple

from service.circuit.job import Graph, JobPart
from service.circuit.state import Connected
from service.estimation.job import CURRENT, VOLTAGE
from service.estimation.model import AS_THOUGHT, Change, Measurement, Moved
from service.estimation.probes import Connection, Probe, Probes
from service.physics.network import TERMINAL
from service.studies.readings_check.fault import (
    EXCHANGED_RUNS,
    OTHER_TAP,
    Basis,
    FaultHypothesis,
    fixed,
)

MOST_EXCHANGED = 12
"""Runs of which every pair is tried as exchanged; of more those whose readings are farthest off."""


class RunReadings(NamedTuple):
    """A run with all that is connected to it: its tap [V], and its points, spans and rows of the layout.

    `movable`: whether no fixture of it is at the supply's own terminals, which all taps share.
    """

    feeder: int
    subject: JobPart
    tap_v: float
    points: frozenset[int]
    spans: frozenset[int]
    rows: frozenset[int]
    movable: bool

    def holds(self, probe: Probe) -> bool:
        """Whether a probe is on this run and on nothing else.

        A clamp at the supply is not: what it is round hangs on where the other runs leave it.
        """
        if probe.quantity != CURRENT:
            return probe.point in self.points
        if probe.leaving is not None:
            return False
        spans, rows = {index for index, _ in probe.spans}, {row for row, _ in probe.rows}
        return bool(spans or rows) and spans <= self.spans and rows <= self.rows

    def has(self, fault: FaultHypothesis) -> bool:
        """Whether a fault is on this run and on nothing else."""
        if fault.runs:
            return fault.runs == (self.feeder,)
        if fault.spans:
            return self.spans.issuperset(fault.spans)
        return self.rows.issuperset(fault.rows) if fault.rows else fault.point in self.points


def runs_of(connected: Connected) -> list[RunReadings]:
    """The runs that leave the supply, in their order; none of a graph, which nobody labels run by run."""
    if isinstance(connected.job.wiring, Graph):
        return []
    layout, feed = connected.layout, connected.feed
    feeders = connected.job.feeders()
    spans: list[list[int]] = [[] for _ in feeders]
    rows: list[list[int]] = [[] for _ in feeders]
    points: list[set[int]] = [set() for _ in feeders]
    for index, span in enumerate(layout.spans):
        spans[span.feeder].append(index)
        points[span.feeder] |= {span.start, span.end}
    for row, placed in enumerate(layout.fixtures):
        rows[placed.feeder].append(row)
        points[placed.feeder].add(placed.lamp_point)
    return [
        RunReadings(
            feeder,
            each.subject,
            feed.taps_v[feed.tap_of[feeder]],
            frozenset(points[feeder] - {TERMINAL}),
            frozenset(spans[feeder]),
            frozenset(rows[feeder]),
            all(layout.fixtures[row].lamp_point != TERMINAL for row in rows[feeder]),
        )
        for feeder, each in enumerate(feeders)
    ]


def run_faults(basis: Basis) -> Iterator[FaultHypothesis]:
    """A run on another tap that the supply offers, and two runs exchanged at the supply or in the record."""
    runs = [run for run in runs_of(basis.model.connected) if run.points]
    supply, probes = basis.model.connected.job.supply, Probes(basis.model.connected)
    if not supply.direct_current:
        offered = dict.fromkeys((supply.rated_v, *supply.taps_v))
        for run in runs:
            for tap_v in offered:
                if run.movable and tap_v != run.tap_v:
                    yield _on_tap(basis, probes, run, tap_v)
    for a, b in combinations(_farthest_off(basis, runs), 2):
        yield from _exchanged(basis, probes, a, b)


def _on_tap(basis: Basis, probes: Probes, run: RunReadings, tap_v: float) -> FaultHypothesis:
    ratio, thought = tap_v / run.tap_v, probes.connection(run.feeder)
    moved = Moved(probes.feeder_probe(run.feeder), thought, Connection(tap_v, thought.circuit))
    change = Change(volts=dict.fromkeys(run.points, ratio), moved={run.feeder: moved})
    slope = [
        _leaving(basis, one, one.probe.leaving, [(run, moved)])
        if one.probe.leaving is not None
        else _scaled(basis, index, one, ratio)
        if run.holds(one.probe)
        else 0.0
        for index, one in enumerate(basis.measurements)
    ]
    return FaultHypothesis(OTHER_TAP, partial(fixed, change), slope, runs=(run.feeder,), tap_v=tap_v)


def _scaled(basis: Basis, index: int, one: Measurement, ratio: float) -> float:
    """About what a reading moves by on other volts: loads of constant power draw so much less. [V], [A]"""
    value = basis.sensitivities[index].value
    if one.probe.is_resistance:
        return 0.0
    return value * (ratio - 1.0) if one.probe.is_voltage else value * (1.0 / ratio - 1.0)


def _leaving(
    basis: Basis, one: Measurement, leaving: Connection, moved: list[tuple[RunReadings, Moved]]
) -> float:
    """About what amperes at the supply move by where runs leave it elsewhere. [A]"""
    total = 0.0
    for run, each in moved:
        lit = basis.model.lit(basis.model.states[one.state], AS_THOUGHT)
        volts = basis.model.network.open_circuit_v
        amps = sum(load.rms_current(volts[at]) for row in run.rows for at, load in lit[row])
        on_other_v = run.tap_v / (each.really.tap_v or run.tap_v)
        total += amps * (on_other_v * leaving.encloses(each.really) - leaving.encloses(each.thought))
    return total


def _exchanged(basis: Basis, probes: Probes, a: RunReadings, b: RunReadings) -> Iterator[FaultHypothesis]:
    """Two cables at each other's terminals, read there by label; or two names mixed up in the record."""
    feeders = a.feeder, b.feeder
    ratios = dict.fromkeys(a.points, b.tap_v / a.tap_v) | dict.fromkeys(b.points, a.tap_v / b.tap_v)
    amps = _swapped(basis, probes, a, b, CURRENT)
    taps = a.movable and b.movable and a.tap_v != b.tap_v
    moved = _moved(probes, a, b) if taps or a.tap_v == b.tap_v else []
    clamped = [one.probe.leaving for one in basis.measurements if one.probe.leaving is not None]
    if taps or amps or any(each.shifts(leaving) for leaving in clamped for _, each in moved):
        slope = [
            _scaled(basis, index, one, ratios[one.probe.point])
            if taps and one.probe.is_voltage and one.probe.point in ratios
            else _difference(basis, one, amps.get(one.probe))
            if one.probe.leaving is None
            else _leaving(basis, one, one.probe.leaving, moved)
            for index, one in enumerate(basis.measurements)
        ]
        shifted = {run.feeder: each for run, each in moved}
        change = Change(volts=ratios if taps else {}, probes=amps, moved=shifted)
        yield FaultHypothesis(EXCHANGED_RUNS, partial(fixed, change), slope, runs=feeders)
    volts = _swapped(basis, probes, a, b, VOLTAGE)
    if volts:
        both = volts | amps
        slope = [_difference(basis, one, both.get(one.probe)) for one in basis.measurements]
        yield FaultHypothesis(
            EXCHANGED_RUNS, partial(fixed, Change(probes=both)), slope, runs=feeders, recorded=True
        )


def _moved(probes: Probes, a: RunReadings, b: RunReadings) -> list[tuple[RunReadings, Moved]]:
    """Two runs that leave the supply in each other's place."""
    at_a, at_b = probes.connection(a.feeder), probes.connection(b.feeder)
    return [
        (a, Moved(probes.feeder_probe(a.feeder), at_a, at_b)),
        (b, Moved(probes.feeder_probe(b.feeder), at_b, at_a)),
    ]


def _swapped(
    basis: Basis, probes: Probes, a: RunReadings, b: RunReadings, quantity: str
) -> dict[Probe, Probe]:
    """Readings of two whole runs in each other's place; empty where not both were taken in one state."""
    first, second = (probes.run_probe(run.subject.pointer, quantity) for run in (a, b))
    states = [{one.state for one in basis.measurements if one.probe == probe} for probe in (first, second)]
    return {first: second, second: first} if states[0] & states[1] else {}


def _difference(basis: Basis, one: Measurement, instead: Probe | None) -> float:
    """What a reading shows elsewhere, less what it shows here; zero where nobody read that. [V], [A]"""
    if instead is None:
        return 0.0
    own = other = None
    for each, sensitivity in zip(basis.measurements, basis.sensitivities, strict=True):
        if each.state == one.state and each.probe == one.probe:
            own = sensitivity.value
        if each.state == one.state and each.probe == instead:
            other = sensitivity.value
    return 0.0 if own is None or other is None else other - own


def _farthest_off(basis: Basis, runs: list[RunReadings]) -> list[RunReadings]:
    """The runs whose readings are farthest off, in their order."""
    if len(runs) <= MOST_EXCHANGED:
        return runs
    weighted = list(zip(basis.measurements, basis.weighted, strict=True))
    off = [max((abs(each) for one, each in weighted if run.holds(one.probe)), default=0.0) for run in runs]
    chosen = sorted(range(len(runs)), key=lambda index: -off[index])[:MOST_EXCHANGED]
    return [runs[index] for index in sorted(chosen)]
