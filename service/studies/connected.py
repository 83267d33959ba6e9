"""A job connected to its supply and laid out: all that can be known before it is solved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from service.studies.errors import refuse_too_large
from service.studies.feed import connect
from service.studies.job import Graph
from service.studies.lay_graph import lay_graph
from service.studies.lay_runs import lay_runs
from service.studies.stations import count_loops, count_points
from service.studies.window import REFERENCE_NOMINAL_V, bounds_of

if TYPE_CHECKING:
    from service.studies.feed import Feed
    from service.studies.job import FixtureLine, Job
    from service.studies.layout import Layout
    from service.studies.window import Bounds

DEFAULT_TEMPERATURE_C = 20.0


@dataclass(slots=True)
class Connected:
    """A job, what feeds it, and where everything stands."""

    job: Job
    feed: Feed
    layout: Layout

    def tap_open_circuit_v(self, feeder: int) -> float:
        """Open-circuit voltage of the tap of a feeder. [V]"""
        return self.feed.open_circuit_v[self.feed.tap_of[feeder]]

    def bounds(self, line: FixtureLine) -> Bounds:
        """The window that a fixture line is judged by."""
        nominal_v = REFERENCE_NOMINAL_V if self.job.nominal_v is None else self.job.nominal_v
        several_taps = len(self.job.supply.taps_v) > 1 or len(self.feed.taps_v) > 1
        return bounds_of(line, nominal_v=nominal_v, several_taps=several_taps)


def connect_job(job: Job) -> Connected:
    """Connect what leaves the supply to its taps and circuits and lay it from the terminal on.

    Raises
    ------
    JobTooLargeError
        More points or loops than one request may ask for.
    WiringContradictoryError
        A graph that cannot be wired as it is described.
    """
    feed = connect(job.supply, job.feeders())
    temperature_c = DEFAULT_TEMPERATURE_C if job.temperature_c is None else job.temperature_c
    if isinstance(job.wiring, Graph):
        return Connected(job, feed, lay_graph(job.wiring, feed, temperature_c))
    refuse_too_large(
        points=sum(count_points(run) for run in job.wiring),
        loops=sum(count_loops(run) for run in job.wiring),
    )
    return Connected(job, feed, lay_runs(job.wiring, feed, temperature_c))
