"""How large a job is, counted line by line without laying it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.physics.elimination import effort_of_loops
from service.studies.graph import leaves_supply
from service.studies.job import SUPPLY_POINT, Graph
from service.studies.stations import count_points
from service.studies.strip import points_of, stretches_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from service.studies.job import FixtureLine, Job, Run

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


def _size_of_runs(runs: tuple[Run, ...]) -> Size:
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


def _size(points: int, looped: int, fills: int, lines: list[FixtureLine], feeders: int) -> Size:
    effort = max(0, points - looped) + effort_of_loops(looped, fills)
    rows = sum(map(_rows, lines))
    rails = sum(_rows(line) * stretches_of(line) for line in lines)
    turned = any(line.load.non_active_var or line.load.non_active_a for line in lines)
    return Size(points, effort, rows, rails, feeders, 0, looped=looped > 0, turned=turned)


def _rows(line: FixtureLine) -> int:
    """Places at which a line stands."""
    return 1 if line.spacing_m is None else line.pieces


def _stretches(run: Run) -> Iterator[Run]:
    """A run and everything that branches off it."""
    yield run
    for branch in run.branches:
        yield from _stretches(branch)


def _places(run: Run) -> int:
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
