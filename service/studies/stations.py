"""Where things stand along one run."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.studies.strip import points_of

if TYPE_CHECKING:
    from service.studies.job import FixtureLine, Run


class Stand(NamedTuple):
    """One place of a fixture line; `number` counts where the line stands for several. [m]"""

    line: FixtureLine
    number: int | None
    at_m: float


def place_fixtures(run: Run) -> list[Stand]:
    """Every place at which a fixture of this run stands, in the order of its lines."""
    stands = []
    for line in run.fixtures:
        if line.spacing_m is None:
            stands.append(Stand(line, None, line.at_m))
        else:
            stands.extend(
                Stand(line, index + 1, line.at_m + index * line.spacing_m) for index in range(line.pieces)
            )
    return stands


def farthest_point(run: Run, stands: list[Stand]) -> float:
    """Where the run ends, its tail apart: its farthest fixture or branch. [m]"""
    farthest_m = max((stand.at_m for stand in stands), default=0.0)
    return max([farthest_m, *(branch.at_m for branch in run.branches)])


def stations(run: Run, stands: list[Stand], end_m: float) -> list[float]:
    """Every position at which something happens, in order and without repeats. [m]"""
    places = {stand.at_m for stand in stands}
    places.update(branch.at_m for branch in run.branches)
    places.update(change.at_m for change in run.changes if change.at_m < end_m)
    places.add(end_m)
    return sorted(places)


def count_points(run: Run) -> int:
    """How many points beside the supply a run and its branches may need, counted without laying them."""
    lines = sum(
        (line.pieces if line.spacing_m is not None else 1) * (1 + points_of(line)) for line in run.fixtures
    )
    own = lines + len(run.changes) + (run.tail_m > 0.0)
    return own + sum(1 + count_points(branch) for branch in run.branches)


def count_loops(run: Run) -> int:
    """How many loops a run and its branches close."""
    return (run.return_leg is not None) + sum(count_loops(branch) for branch in run.branches)
