"""What lies where on a site: each cable from place to place, each route with what lies in it, each lamp."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import Final, NamedTuple

from service.sheets.figures import given
from service.studies.least_cost_layout.composing import place_names, positions_of
from service.studies.least_cost_layout.reply import (
    LaidOut,
    LaidRun,
    LaidSpanRow,
    LaidSupply,
    LaidTrench,
    LeastCostLayoutReply,
)
from service.studies.least_cost_layout.request import LeastCostLayoutRequest
from service.studies.least_cost_layout.site import Position

NOT_APPROVED: Final = (
    "It is a proposal, no plan approved. Depth of trenches and crossings are for the local code."
)
"""What stands with every plan."""


class PlannedSpan(NamedTuple):
    """A span of cable and the places that it goes through, by index and in the order of its current."""

    run: LaidRun
    row: LaidSpanRow
    places: tuple[int, ...]


class PlannedLamp(NamedTuple):
    """A fixture by its number in the request, what it is called, its place, and the run that feeds it."""

    number: int
    name: str
    place: int
    run: LaidRun | None


class PlannedBox(NamedTuple):
    """A mounting point, its place, and the transformers that hang there."""

    pointer: str
    place: int
    supplies: tuple[LaidSupply, ...]


class SitePlan:
    """A site as it is drawn; of a reply without a layout nothing lies in its routes.

    Parameters
    ----------
    request : LeastCostLayoutRequest
    reply : LeastCostLayoutReply
    """

    def __init__(self, request: LeastCostLayoutRequest, reply: LeastCostLayoutReply) -> None:
        self.request = request
        self.names = place_names(request)
        self.positions = positions_of(request)
        self._places = {name: place for place, name in enumerate(self.names)}
        self.routes = [(self._places[each.start], self._places[each.end]) for each in request.routes]
        self.supplies = reply.layout.supplies if isinstance(reply, LaidOut) else []
        trenches = reply.layout.trenches if isinstance(reply, LaidOut) else []
        self.trenches: dict[int, LaidTrench] = {number_of(each.pointer): each for each in trenches}
        """Routes in use, by their index."""
        self.runs = [run for supply in self.supplies for run in supply.runs]
        self.spans = [span for supply in self.supplies for span in self._spans(supply)]

    @property
    def extent(self) -> tuple[Position, Position]:
        """The corners of the site to the south-west and to the north-east. [m]"""
        west, south, east, north = inf, inf, -inf, -inf
        for each in self.positions:
            west, east = min(west, each.east_m), max(east, each.east_m)
            south, north = min(south, each.north_m), max(north, each.north_m)
        return Position(west, south), Position(east, north)

    def lamps(self) -> Iterator[PlannedLamp]:
        """The fixtures, in the order of the request."""
        fed = {pointer: run for run in self.runs for pointer in run.fixtures}
        for index, own in enumerate(self.request.fixtures):
            name = given(own.name) or own.place
            yield PlannedLamp(index + 1, name, self._places[own.place], fed.get(f"/fixtures/{index}"))

    def boxes(self) -> Iterator[PlannedBox]:
        """The mounting points, in the order of the request."""
        for index, mount in enumerate(self.request.mounting_points):
            pointer = f"/mounting_points/{index}"
            own = tuple(each for each in self.supplies if each.mounting_point == pointer)
            yield PlannedBox(pointer, self._places[mount.place], own)

    def _spans(self, supply: LaidSupply) -> Iterator[PlannedSpan]:
        """Each span from where the one before it ends, along its routes."""
        mount = self.request.mounting_points[number_of(supply.mounting_point)]
        ends = {"supply": self._places[mount.place]}
        for run in supply.runs:
            for row in run.spans:
                places = [ends[row.start]]
                for pointer in row.routes:
                    start, end = self.routes[number_of(pointer)]
                    places.append(start if places[-1] == end else end)
                ends[row.end] = places[-1]
                yield PlannedSpan(run, row, tuple(places))


def number_of(pointer: str) -> int:
    """Which of its list a pointer names."""
    return int(pointer.rpartition("/")[2])
