"""The lowest taps on which no lamp is too low."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.studies.graph import leaves_supply
from service.studies.job import Graph

if TYPE_CHECKING:
    from collections.abc import Callable

    from service.studies.assessment import Assessment
    from service.studies.job import Job

Taps = tuple[float, ...]
"""Rated voltage of the tap of each feeder. [V]"""


class TapLadder:
    """Moves feeders between the taps that are offered; those that meet behind them move together.

    Parameters
    ----------
    offered_v : tuple of float
        Lowest first. [V]
    leaders : list of int
        For each feeder the one that stands for all that meet behind it.
    assess : callable
        What a choice of cables does on given taps.
    """

    def __init__(self, offered_v: Taps, leaders: list[int], assess: Callable[[Taps], Assessment]) -> None:
        self._offered_v, self._leaders, self._assess = offered_v, leaders, assess

    def climbed(self) -> Assessment:
        """From the lowest taps up: every feeder with a lamp too low is raised until no lamp is.

        The winding couples the feeders, so all are solved anew after each step. Where nothing draws less at a
        higher voltage these are the lowest taps there are, because each step was needed.
        """
        taps_v = self._offered_v[:1] * len(self._leaders)
        found = self._assess(taps_v)
        while (raised := self._moved(taps_v, found.low_feeders, 1)) != taps_v:
            taps_v, found = raised, self._assess(raised)
        return found

    def settled(self, found: Assessment) -> Assessment:
        """From given taps down: each feeder is lowered as long as no lamp on any becomes too low.

        A driver draws less at a higher voltage, so that a feeder which was raised together with another may
        have been helped enough by the other alone. A lamp that is too low on its highest tap is given what
        help the highest taps of the others can give before it is given up.
        """
        if found.low_feeders:
            found = self._assess(self._offered_v[-1:] * len(self._leaders))
        moved = not found.low_feeders
        while moved:
            moved = False
            for leader in dict.fromkeys(self._leaders):
                lower = self._assess_lower(found, leader)
                while lower is not None:
                    found, moved = lower, True
                    lower = self._assess_lower(found, leader)
        return found

    def several_raised(self, found: Assessment) -> bool:
        """Whether more than one feeder is above the lowest tap, so that one may have helped another."""
        raised = {
            leader
            for leader, tap_v in zip(self._leaders, found.taps_v, strict=True)
            if tap_v > self._offered_v[0]
        }
        return len(raised) > 1

    def _assess_lower(self, found: Assessment, leader: int) -> Assessment | None:
        """One feeder a tap lower; None where that is too low or where there is none."""
        taps_v = self._moved(found.taps_v, frozenset({leader}), -1)
        if taps_v == found.taps_v:
            return None
        lower = self._assess(taps_v)
        return None if lower.low_feeders else lower

    def _moved(self, taps_v: Taps, feeders: frozenset[int], steps: int) -> Taps:
        """The taps with some feeders so many steps higher, as far as there are taps."""
        lifted, last = {self._leaders[feeder] for feeder in feeders}, len(self._offered_v) - 1
        return tuple(
            self._offered_v[min(max(self._offered_v.index(tap_v) + steps, 0), last)]
            if leader in lifted
            else tap_v
            for leader, tap_v in zip(self._leaders, taps_v, strict=True)
        )


def with_taps(job: Job, taps_v: Taps) -> Job:
    """The job with the tap of each feeder; none given leaves them as they are. [V]"""
    if not taps_v:
        return job
    if isinstance(job.wiring, Graph):
        taps = iter(taps_v)
        spans = tuple(
            span._replace(tap_v=next(taps)) if leaves_supply(span) else span for span in job.wiring.spans
        )
        return job._replace(wiring=job.wiring._replace(spans=spans))
    runs = tuple(run._replace(tap_v=tap_v) for run, tap_v in zip(job.wiring, taps_v, strict=True))
    return job._replace(wiring=runs)
