"""How large a job is, counted line by line without laying it, and how much work its states will take."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from service.circuit.cables import joints_resistance, resolve_cable
from service.circuit.corners import BY_RUN, INDIVIDUALLY, corners_of
from service.circuit.graph import leaves_supply
from service.circuit.job import SUPPLY_POINT, FixtureSpec, Graph, Job, RunSpec
from service.circuit.layout import points_of, stretches_of
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.runs import LUMPS, count_points, laid_to
from service.circuit.state import conductor_temperature
from service.circuit.supply import connect
from service.circuit.work import (
    WORK_ALONE,
    BatchSpentError,
    WorkOverLimitError,
    left,
    work_of,
    work_of_again,
    work_of_judging,
    work_of_telling,
)
from service.physics.elimination import effort_of_loops

FILLS_OF_LOOPS = 1.4
"""Fills of so many loops between any points, over their square. [-]"""


class Size(NamedTuple):
    """The most points that a job may need, the effort of one elimination, and what hangs where.

    `rows` are fixtures by place, `rails` the stretches of their strips, `feeders` what leaves the supply,
    `ends` the runs and all that branches off them. `looped`: some points are on a loop; `turned`: something
    is drawn out of phase.
    """

    points: int
    effort: int
    rows: int
    rails: int
    feeders: int
    ends: int
    looped: bool
    turned: bool


def size_of(job: Job) -> Size:
    """The size of a job, in the lines of its request."""
    found = _size_of_graph(job.wiring) if isinstance(job.wiring, Graph) else _size_of_runs(job.wiring)
    return found._replace(turned=found.turned and not job.all_in_phase)


def _size_of_runs(runs: tuple[RunSpec, ...]) -> Size:
    points = 1 + sum(map(count_points, runs))
    stretches = [stretch for run in runs for stretch in _stretches(run)]
    looped = sum(_places(stretch) for stretch in stretches if stretch.return_leg is not None)
    lines = [line for stretch in stretches for line in stretch.fixtures]
    return _size(points, looped, looped, lines, len(runs))._replace(ends=len(stretches))


def _size_of_graph(graph: Graph) -> Size:
    names = {SUPPLY_POINT, *(name for span in graph.spans for name in (span.start, span.end))}
    lines = [fixture.line for fixture in graph.fixtures]
    points = len(names) + sum(map(points_of, lines))
    loops = max(0, len(graph.spans) - len(names) + 1)
    looped = _looped_points(graph) if loops else 0
    fills = looped + int(FILLS_OF_LOOPS * loops * loops)
    return _size(points, looped, fills, lines, sum(map(leaves_supply, graph.spans)))


def _size(points: int, looped: int, fills: int, lines: list[FixtureSpec], feeders: int) -> Size:
    effort = max(0, points - looped) + effort_of_loops(looped, fills)
    rows, rails, turned = 0, 0, False
    for line in lines:
        places, load = _rows(line), line.load
        rows += places
        rails += places * stretches_of(line)
        turned = turned or load.non_active_var != 0.0 or load.non_active_a != 0.0
    return Size(points, effort, rows, rails, feeders, 0, looped=looped > 0, turned=turned)


def _rows(line: FixtureSpec) -> int:
    """Places at which a line stands."""
    return 1 if line.spacing_m is None else line.pieces


def _stretches(run: RunSpec) -> Iterator[RunSpec]:
    """A run and everything that branches off it."""
    yield run
    for branch in run.branches:
        yield from _stretches(branch)


def _places(run: RunSpec) -> int:
    """The most points that a run may have on its own cable."""
    return sum(map(_rows, run.fixtures)) + len(run.changes) + len(run.branches) + (run.tail_m > 0.0)


def _looped_points(graph: Graph) -> int:
    """Points left once every point that hangs on one other is taken off."""
    around: dict[str, set[str]] = {}
    for span in graph.spans:
        if span.start != span.end:
            around.setdefault(span.start, set()).add(span.end)
            around.setdefault(span.end, set()).add(span.start)
    waiting = [name for name, others in around.items() if len(others) == 1 and name != SUPPLY_POINT]
    while waiting:
        name = waiting.pop()
        if not around[name]:
            continue
        (other,) = around.pop(name)
        around[other].discard(name)
        if len(around[other]) == 1 and other != SUPPLY_POINT:
            waiting.append(other)
    return sum(1 for name, others in around.items() if others and name != SUPPLY_POINT)


KEY_PLACES, OF_THE_SUPPLY = 3, 4
"""Fixtures that are read on a run where not all are, and what is read at the supply."""


class Estimate(NamedTuple):
    """Work up to the first complete answer, and with all parts that may stop anywhere."""

    first: int
    most: int


SURELY_OVER = 1.5
"""Estimates of large requests are up to so many times what is spent; below that one may be answered. [-]"""


def refuse_over_limit(estimate: Estimate) -> None:
    """Refuse what cannot have its first complete answer; what may just not have it stops at the limit.

    Raises
    ------
    WorkOverLimitError
        The first complete answer would take more work than one request may ask for.
    """
    if estimate.first > SURELY_OVER * MAXIMUM_REQUEST_WORK:
        raise WorkOverLimitError(estimate.first, MAXIMUM_REQUEST_WORK)


def refuse_where_spent(estimate: Estimate) -> None:
    """Refuse one of several questions for which the others left too little, before anything is laid out.

    Raises
    ------
    BatchSpentError
    """
    if estimate.first > SURELY_OVER * left():
        raise BatchSpentError(left(), MAXIMUM_REQUEST_WORK)


def estimate_of(first: int, optional: int, *, turned: bool = False) -> Estimate:
    """Where something is drawn out of phase a state near its limit may take twice the usual steps."""
    most = first * (2 if turned else 1) + optional
    return Estimate(first, max(first, min(most, MAXIMUM_REQUEST_WORK)))


def drop_work(job: Job, size: Size) -> int:
    """Work of one voltage drop, its margin apart; where the layout is unknown two even spreads too."""
    stated = work_of(size.effort) + answer_work(size.points)
    if job.layout_unknown:
        stated += sum(2 * work_of(lumps + 1) + answer_work(lumps + 1) for lumps in (LUMPS, LUMPS // 2))
    return stated + corner_work(job, size)


STATES_OF_A_SHARE = 10
"""States that are solved to find what share of its load a wiring can carry, to 1 % of it."""


def collapse_work(job: Job, size: Size, most_off: int) -> int:
    """Work of what a job can carry, and of the rest without so many runs at most; none where all is carried.

    So near its limit a state that lags takes twice the usual steps, and more.
    """
    if surely_carried(job):
        return 0
    states = STATES_OF_A_SHARE + min(most_off, size.feeders)
    alone = work_of(size.effort) + work_of(0) * size.feeders
    return (3 if size.turned else 1) * (states * work_of(size.effort) + alone) + drop_work(job, size)


CERTAIN_RATIO = 0.25
"""Below this share of the voltage, lost if all loads kept their open-circuit current, all can be carried. [-]

It is the certificate of `physics/certificate.py`, here with more ohms and volt-amperes than there are.
"""


def surely_carried(job: Job) -> bool:
    """Whether a job is carried for certain, told without laying it, as if the loads of a run were at its end.

    Of a graph all spans are taken in a row.
    """
    feed, temperature_c = connect(job.supply, job.feeders()), conductor_temperature(job)
    highest_v, lowest_v = max(feed.open_circuit_v), min(feed.open_circuit_v)
    whole_va = worst_ratio = 0.0
    for ohm, lines in _ways(job.wiring, temperature_c):
        drawn_va, load, drawn_a = 0.0, None, 0.0
        for line in lines:
            # Most fixtures of a run draw alike.
            if line.load is not load:
                load, drawn_a = line.load, line.load.rms_current(highest_v)
            drawn_va += line.pieces * drawn_a * highest_v
        own_ohm = max((_own_ohm(line, temperature_c) for line in lines if points_of(line)), default=0.0)
        whole_va += drawn_va
        worst_ratio = max(worst_ratio, drawn_va * (ohm + own_ohm) / (lowest_v * lowest_v))
    return worst_ratio + whole_va * feed.source_resistance < CERTAIN_RATIO


def _ways(
    wiring: tuple[RunSpec, ...] | Graph, temperature_c: float
) -> Iterator[tuple[float, list[FixtureSpec]]]:
    """Each run with all that branches off it, or the graph: its ohms in a row, and its lines of fixtures."""
    if isinstance(wiring, Graph):
        ohms = [
            span.length_m * cable.ohm_per_m + joints_resistance(cable, span.length_m, span.joined)
            for span in wiring.spans
            for cable in [resolve_cable(span.cable, temperature_c)]
        ]
        yield sum(ohms), [fixture.line for fixture in wiring.fixtures]
        return
    for run in wiring:
        stretches = list(_stretches(run))
        lines = [line for stretch in stretches for line in stretch.fixtures]
        yield sum(_stretch_ohm(stretch, temperature_c) for stretch in stretches), lines


def _stretch_ohm(run: RunSpec, temperature_c: float) -> float:
    """A run, a branch or a spur up to its farthest fixture or branch, all of its thinnest cable. [ohm]"""
    reaches_m = [line.at_m + (line.spacing_m or 0.0) * (line.pieces - 1) for line in run.fixtures]
    cables = [run.cable, *(change.cable for change in run.changes)]
    ohm_per_m = max(resolve_cable(cable, temperature_c).ohm_per_m for cable in cables)
    farthest_m = max([*reaches_m, *(branch.at_m for branch in run.branches)], default=0.0)
    laid = laid_to(run, [farthest_m], temperature_c)
    return ohm_per_m * laid.cable_m[0] + laid.joints_ohm[0]


def _own_ohm(line: FixtureSpec, temperature_c: float) -> float:
    """What a fixture has of its own before its far end: lead, splice and rail. [ohm]"""
    ohm = line.splice_ohm + line.rail_ohm
    if line.lead is not None:
        ohm += line.lead.length_m * resolve_cable(line.lead.cable, temperature_c).ohm_per_m
    return ohm


def answer_work(points: int) -> int:
    """Work of judging and telling one state."""
    return work_of_judging(points) + work_of_telling(points)


def findings_work(job: Job, size: Size) -> int:
    """Work of a finding for each fixture and each span in every state, as where all lamps are too low."""
    return 2 * size.points * (1 + corner_count(job))


def corner_count(job: Job) -> int:
    """How many corners are asked for."""
    return len(corners_of(job.corners))


def corner_work(job: Job, size: Size) -> int:
    """Work of every corner, judged, and of what may be on alone in it."""
    if job.corners is None:
        return 0
    work, switching, state = 0, job.corners.switching, work_of_again(size.effort)
    circuits = min(size.feeders, len(job.supply.circuits) or size.feeders)
    for corner in corners_of(job.corners):
        work += state + work_of_judging(size.points)
        if corner.is_light(switching):
            alone = state + WORK_ALONE * size.rows + size.rails if switching == INDIVIDUALLY else 0
            work += alone + circuits * state + (size.feeders * state if switching == BY_RUN else 0)
    return work
