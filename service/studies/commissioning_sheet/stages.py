"""The columns and stages of a commissioning sheet, and what is read in each."""

from __future__ import annotations

from typing import NamedTuple

from service import tables
from service.circuit.corners import USUAL_MAINS
from service.circuit.job import Graph, Job, JobPart, RunSpec, Supply, usual_rated_v
from service.circuit.layout import LaidSpan, Layout, RunEnd
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.state import Connected
from service.estimation.job import (
    ALL_ON,
    CURRENT,
    LISTED,
    NO_LOAD,
    VOLTAGE,
    MeterSpec,
    Pointed,
    PriorSpec,
    SwitchedState,
    Terminal,
)
from service.physics.network import TERMINAL


class CommissioningJob(NamedTuple):
    """A job, the meter with which it will be read, and how well the wiring is known.

    `mains_v` are those for which values are wanted, None: steps through a range, empty: as the job says [V];
    `every`: every fixture, not the key ones alone.
    """

    circuit: Job
    instrument: MeterSpec
    priors: PriorSpec
    mains_v: tuple[float, ...] | None
    every: bool


AT_MAINS, AS_DESCRIBED = "at-mains", "as-described"

BATTERY = LOWEST_BATTERY, NOMINAL_BATTERY, HIGHEST_BATTERY = (
    "battery-lowest",
    "battery-nominal",
    "battery-highest",
)

STEPS = (5, 3)
"""Columns where the request names none: as many as the work allows, else one."""

SPENT_OF_STEPS = 0.8
"""Share of the work of one request that those columns may take. [-]"""

SHOWN_DIGITS = 1
"""Steps are given to a tenth of a volt, as a meter shows mains. [V]"""


class MainsStep(NamedTuple):
    """A state behind the supply: its mains [V], or of a battery its volts over the nominal ones. [-]"""

    code: str
    mains_v: float | None = None
    battery_ratio: float = 1.0


def mains_columns(job: CommissioningJob, *, work: int) -> list[MainsStep]:
    """The columns, each once, in the order in which they were asked for; one is about so much `work`."""
    supply = job.circuit.supply
    if supply.range_v is not None:
        volts = min(supply.range_v), supply.rated_v, max(supply.range_v)
        return [
            MainsStep(code, None, each / supply.rated_v) for code, each in zip(BATTERY, volts, strict=True)
        ]
    mains_v = mains_steps(job, work=work) if job.mains_v is None else job.mains_v
    if not follows_mains(supply) or not mains_v:
        return [MainsStep(AS_DESCRIBED)]
    return [MainsStep(AT_MAINS, each) for each in dict.fromkeys(mains_v)]


def follows_mains(supply: Supply) -> bool:
    """Whether the volts at other mains can be told: not where they were measured and the mains were not."""
    if supply.direct_current:
        return False
    measured = supply.open_circuit
    return measured is None or measured.at_primary_v is not None or supply.mains is not None


def mains_steps(job: CommissioningJob, *, work: int) -> tuple[float, ...]:
    """Even steps through the mains that the request names, else through the usual range. [V]"""
    rated_v, corners = rated_primary_v(job.circuit.supply), job.circuit.corners
    if corners is not None and corners.mains_ratios is not None:
        lowest, highest = corners.mains_ratios
    else:
        usual = tables.mains_range(USUAL_MAINS)
        lowest, highest = usual.lowest_ratio, usual.highest_ratio
    room = SPENT_OF_STEPS * MAXIMUM_REQUEST_WORK
    steps = next((steps for steps in STEPS if steps * work <= room), 1)
    parts = [place / (steps - 1) for place in range(steps)] if steps > 1 else [0.5]
    return tuple(round(rated_v * (lowest + (highest - lowest) * part), SHOWN_DIGITS) for part in parts)


def steps_assumed(job: CommissioningJob) -> bool:
    """Whether the mains of the columns are nobody's but ours."""
    corners = job.circuit.corners
    stated = corners is not None and corners.mains_ratios is not None
    return job.mains_v is None and not stated and follows_mains(job.circuit.supply)


def rated_primary_v(supply: Supply) -> float:
    """Rated mains as stated, else 120 V or 230 V, by what was measured if anything was. [V]"""
    if supply.mains is not None:
        return supply.mains.rated_v
    measured = supply.open_circuit
    at_v = None if measured is None else measured.at_primary_v
    return usual_rated_v(at_v or 0.0)


RUN_ALONE = "run-alone"

TERMINALS, START, FIXTURE, END = "terminals", "start", "fixture", "end"
"""What a place to read is."""


class ReadPoint(NamedTuple):
    """One place to read; `row` of a fixture, None elsewhere."""

    kind: str
    where: Pointed | Terminal
    quantity: str
    subject: JobPart
    row: int | None = None


class Part(NamedTuple):
    """A run that leaves the supply with all that hangs on it, or a part of a graph that hangs together."""

    subject: JobPart
    tap_v: float
    rows: list[int]
    starts: list[JobPart]
    ends: list[RunEnd]


class StageSpec(NamedTuple):
    """One state of the switches; `part` is the one that alone is on, `lit` what of it is.

    `alone` is the run that is connected; None where everything is, or where nobody can take a graph apart.
    """

    code: str
    on: str
    points: list[ReadPoint]
    part: Part | None = None
    lit: tuple[Pointed, ...] = ()
    alone: RunSpec | None = None


def parts_of(connected: Connected) -> list[Part]:
    """Everything that leaves the supply and lights something, in the order of the request."""
    layout, feed, feeders = connected.layout, connected.feed, connected.job.feeders()
    graph = isinstance(connected.job.wiring, Graph)
    parts = []
    for leader in dict.fromkeys(layout.leaders):
        rows = [index for index, placed in enumerate(layout.fixtures) if placed.feeder == leader]
        starts = [
            feeder.subject for feeder, lead in zip(feeders, layout.leaders, strict=True) if lead == leader
        ]
        # Volts at the end of a span are those of what is there; only runs have ends of their own.
        ends = [] if graph else [end for end in layout.ends if end.feeder == leader]
        if rows:
            parts.append(Part(starts[0], feed.taps_v[feed.tap_of[leader]], rows, starts, ends))
    return parts


def stages_of(connected: Connected, *, lowest: dict[int, float] | None, every: bool) -> list[StageSpec]:
    """The stages in their order.

    Parameters
    ----------
    connected : Connected
    lowest : dict of int to float or None
        Volts at each fixture row with everything on, where that can be carried. [V]
    every : bool
        Whether every fixture is read.
    """
    parts = parts_of(connected)
    reader = _StageReader(connected, lowest=lowest, every=every)
    along = [reader.along(part) for part in parts]
    stages = [StageSpec(NO_LOAD, NO_LOAD, reader.taps())]
    if len(parts) > 1:
        for part, points in zip(parts, along, strict=True):
            places = [reader.tap(part.tap_v), *points]
            alone = _run_of(connected.job, part)
            stages.append(StageSpec(RUN_ALONE, LISTED, places, part, _lit(connected, part), alone))
    everything = [*reader.taps(), *reader.amperes(), *(each for points in along for each in points)]
    return [*stages, StageSpec(ALL_ON, ALL_ON, everything)]


def states_of(connected: Connected) -> list[SwitchedState]:
    """The state of each stage, in their order."""
    return [SwitchedState(stage.on, stage.lit) for stage in stages_of(connected, lowest=None, every=False)]


def _run_of(job: Job, part: Part) -> RunSpec | None:
    """The run that a part is."""
    runs = () if isinstance(job.wiring, Graph) else job.wiring
    return next((run for run in runs if run.subject == part.subject), None)


def _lit(connected: Connected, part: Part) -> tuple[Pointed, ...]:
    """What is lit while a part alone is on."""
    if not isinstance(connected.job.wiring, Graph):
        return (Pointed(part.subject.pointer, None, ""),)
    lines = [connected.layout.fixtures[row].line.subject.pointer for row in part.rows]
    return tuple(Pointed(pointer, None, "") for pointer in dict.fromkeys(lines))


class _StageReader:
    """Chooses places to read."""

    __slots__ = ("_connected", "_every", "_lowest", "_shared", "_turn")

    def __init__(self, connected: Connected, *, lowest: dict[int, float] | None, every: bool) -> None:
        self._connected, self._lowest, self._every = connected, lowest, every
        self._turn = walk(connected.layout)
        self._shared = {end.subject.pointer for end in connected.layout.ends}

    def taps(self) -> list[ReadPoint]:
        """The volts of each tap in use, in the order in which they stand on a box."""
        return [self.tap(volts) for volts in sorted(self._connected.feed.taps_v)]

    def tap(self, volts: float) -> ReadPoint:
        """The volts of one tap, which is named only where there are several. [V]"""
        return self._terminal(VOLTAGE, volts if len(self._connected.feed.taps_v) > 1 else None, None)

    def amperes(self) -> list[ReadPoint]:
        """What leaves in all, by each tap and by each circuit, where there are several."""
        feed = self._connected.feed
        taps = sorted(feed.taps_v[tap] for tap in set(feed.tap_of))
        circuits = [feed.circuits[circuit].name for circuit in dict.fromkeys(feed.circuit_of)]
        return [
            self._terminal(CURRENT, None, None),
            *(self._terminal(CURRENT, tap, None) for tap in taps if len(taps) > 1),
            *(self._terminal(CURRENT, None, circuit) for circuit in circuits if len(circuits) > 1),
        ]

    def along(self, part: Part) -> list[ReadPoint]:
        """From the start of a run to its ends, branches where they leave."""
        stops = [(self._point(row), row) for row in self._chosen(part)]
        fixture_at = {self._point(row): row for row in reversed(part.rows)}
        taken = {TERMINAL, *(point for point, _ in stops)}
        bare: dict[int, RunEnd] = {}
        for end in part.ends:
            if end.point in taken:
                continue
            taken.add(end.point)
            if end.point in fixture_at:
                stops.append((end.point, fixture_at[end.point]))
            else:
                bare[end.point] = end
        order = sorted(
            [*stops, *((point, -1) for point in bare)], key=lambda stop: (self._turn[stop[0]], stop[1])
        )
        return [
            *(ReadPoint(START, Pointed(start.pointer, None, ""), CURRENT, start) for start in part.starts),
            *(_read_end(bare[point]) if row < 0 else self._read_fixture(row) for point, row in order),
        ]

    def _chosen(self, part: Part) -> list[int]:
        """Every fixture row, or the first, the lowest and the farthest, each point once."""
        if self._every:
            return part.rows
        fixtures = self._connected.layout.fixtures
        wanted = [
            min(part.rows, key=lambda row: (self._turn[self._point(row)], row)),
            max(part.rows, key=lambda row: (fixtures[row].distance_m, row)),
        ]
        if self._lowest is not None:
            volts = self._lowest
            wanted.insert(0, min(part.rows, key=lambda row: (volts[row], row)))
        return list({self._point(row): row for row in reversed(wanted)}.values())

    def _read_fixture(self, row: int) -> ReadPoint:
        placed = self._connected.layout.fixtures[row]
        pointer, number = placed.line.subject.pointer, placed.number
        # Where one pointer names the run and its fixtures, a number says that a fixture is meant.
        if number is None and pointer in self._shared:
            number = 1
        return ReadPoint(FIXTURE, Pointed(pointer, number, ""), VOLTAGE, placed.subject, row)

    def _point(self, row: int) -> int:
        """The point of the cable at which a fixture is spliced."""
        return self._connected.layout.fixtures[row].cable_point

    def _terminal(self, quantity: str, tap_v: float | None, circuit: str | None) -> ReadPoint:
        subject = self._connected.job.supply.subject
        return ReadPoint(TERMINALS, Terminal(tap_v, circuit, ""), quantity, subject)


def _read_end(end: RunEnd) -> ReadPoint:
    """The volts at an end where nothing stands."""
    return ReadPoint(END, Pointed(end.subject.pointer, None, ""), VOLTAGE, end.subject)


RETURN_LEG = "/return_leg"


def walk(layout: Layout) -> list[int]:
    """The turn at which each point is reached, one per point."""
    leaving: list[list[tuple[tuple[int, bool, int, int], int]]] = [[] for _ in layout.places]
    for index, span in enumerate(layout.spans):
        order = _order(span, index)
        leaving[span.start].append((order, span.end))
        leaving[span.end].append((order, span.start))
    turn_of: dict[int, int] = {}
    waiting = [TERMINAL]
    while waiting:
        point = waiting.pop()
        if point not in turn_of:
            turn_of[point] = len(turn_of)
            waiting += [far for _, far in sorted(leaving[point], reverse=True)]
    return [turn_of.get(point, len(turn_of)) for point in range(len(layout.places))]


def _order(span: LaidSpan, index: int) -> tuple[int, bool, int, int]:
    """Run by run; what brings a loop back last; a branch before what lies beyond it."""
    pointer = span.subject.pointer
    return span.feeder, pointer.endswith(RETURN_LEG), -pointer.count("/"), index
