"""From runs on paper to points and spans.

Points of one run that are nearer than 1 mm are one point, because the same position computed in two ways
differs in its last digits.
"""

from __future__ import annotations

from operator import attrgetter
from typing import TYPE_CHECKING

from service.studies.cables import resolve_cable
from service.studies.layout import SAME_NUMBER_M, SAME_PLACE_M, Layout, Place, RunEnd
from service.studies.stations import farthest_point, place_fixtures, stations

if TYPE_CHECKING:
    from service.studies.feed import Feed
    from service.studies.job import Run


def lay_runs(runs: tuple[Run, ...], feed: Feed, temperature_c: float) -> Layout:
    """Lay every run from the terminal on.

    Parameters
    ----------
    runs : tuple of Run
        Each its own feeder.
    feed : Feed
        The taps that they are connected to.
    temperature_c : float
        Of every conductor. [°C]
    """
    layout = Layout(temperature_c, [feed.open_circuit_v[0]], leaders=list(range(len(runs))))
    for feeder, run in enumerate(runs):
        _RunLayer(layout, feed.open_circuit_v[feed.tap_of[feeder]], feeder).lay(run, 0, 0.0)
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

    def lay(self, run: Run, start: int, start_distance_m: float) -> None:
        """Lay a run from a point on, its branches after it; `start_distance_m` is from the supply. [m]"""
        layout = self._layout
        stands = place_fixtures(run)
        layout.lines.extend(run.fixtures)
        farthest_m = farthest_point(run, stands)
        end_m = farthest_m + run.tail_m
        point_at = self._lay_cable(run, start, stations(run, stands, end_m))
        for stand in stands:
            distance_m = start_distance_m + stand.at_m
            layout.hang(stand, point_at[stand.at_m], self._volts, self._feeder, distance_m)
        distance_m = start_distance_m + end_m
        layout.ends.append(
            RunEnd(run.subject, run.name, self._feeder, point_at[end_m], end_m, distance_m, run.changes)
        )
        self._close(run, point_at[farthest_m], start)
        for branch in run.branches:
            self.lay(branch, point_at[branch.at_m], start_distance_m + branch.at_m)

    def _lay_cable(self, run: Run, start: int, stops: list[float]) -> dict[float, int]:
        """Lay the cable of one run from stop to stop; answers the point at each."""
        layout = self._layout
        changes = sorted(run.changes, key=attrgetter("at_m"))
        cable, cable_at = resolve_cable(run.cable, layout.temperature_c), f"{run.subject.pointer}/cable"
        point, place_m = start, 0.0
        point_at = {0.0: start}
        for at_m in stops:
            while changes and changes[0].at_m <= place_m + SAME_PLACE_M:
                change = changes.pop(0)
                cable = resolve_cable(change.cable, layout.temperature_c)
                cable_at = f"{change.subject.pointer}/cable"
            gap_m = at_m - place_m
            if gap_m >= SAME_PLACE_M:
                new = layout.point(self._volts, Place(run.subject.pointer, at_m))
                layout.span(
                    (point, new),
                    gap_m,
                    cable,
                    run.subject,
                    feeder=self._feeder,
                    cable_at=cable_at,
                    from_m=place_m,
                )
                point, place_m = new, at_m
            elif gap_m > SAME_NUMBER_M:
                layout.merged = True
            point_at[at_m] = point
        return point_at

    def _close(self, run: Run, farthest: int, start: int) -> None:
        """Bring the farthest point back to the run's start by a leg of 1 mm at least, if asked for."""
        leg = run.return_leg
        if leg is not None and farthest != start:
            cable = resolve_cable(leg.cable, self._layout.temperature_c)
            length_m = max(leg.length_m, SAME_PLACE_M)
            cable_at = f"{(run if leg.as_run else leg).subject.pointer}/cable"
            self._layout.span(
                (farthest, start), length_m, cable, leg.subject, feeder=self._feeder, cable_at=cable_at
            )
