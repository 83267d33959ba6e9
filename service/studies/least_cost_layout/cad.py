"""A plan for a drawing program: routes, trenches, runs by size, fixtures and transformers on layers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from service.sheets.chart import DASHES
from service.sheets.dxf import (
    CadCircle,
    CadDrawing,
    CadLayer,
    CadLine,
    CadPart,
    CadPoint,
    CadText,
    layer_name,
)
from service.studies.least_cost_layout.composing import length_unit_of
from service.studies.least_cost_layout.drawing import run_words
from service.studies.least_cost_layout.plan import NOT_APPROVED, PlannedSpan, SitePlan
from service.studies.least_cost_layout.reply import LeastCostLayoutReply
from service.studies.least_cost_layout.request import GeographicPlaces, LeastCostLayoutRequest
from service.studies.least_cost_layout.site import Position
from service.units import from_inside

ROUTE: Final = CadLayer("ROUTE", 8)
TRENCH: Final = CadLayer("TRENCH", 9)
FIXTURE: Final = CadLayer("FIXTURE", 7)
TRANSFORMER: Final = CadLayer("TRANSFORMER", 7)
NOTE: Final = CadLayer("NOTE", 8)


RUN_COLOURS: Final = (5, 1, 3, 6, 4, 2)
"""Blue, red, green, magenta, cyan and yellow by the numbers of AutoCAD; dashes tell runs apart as well."""


TEXT_SHARE, LEAST_TEXT_M = 1.0 / 80.0, 0.1
"""Height of the text, of the longer side of the plan [-], and at least. [m]"""


DASH_SHARE: Final = 1.0 / 12.0
"""What a unit of a dash is, of the height of the text. [-]"""


def cad_drawing(request: LeastCostLayoutRequest, reply: LeastCostLayoutReply) -> CadDrawing:
    """The plan in the unit of the reply; x goes east, y north, as the places have them.

    Cables in one trench lie on one line, each on the layer of its run and its size.
    """
    return _Drafting(request, reply).drawing()


class _Drafting:
    """Draws a plan."""

    def __init__(self, request: LeastCostLayoutRequest, reply: LeastCostLayoutReply) -> None:
        self._plan = SitePlan(request, reply)
        self._unit = length_unit_of(request)
        self._is_about_middle = isinstance(request.places, GeographicPlaces)
        self._corner, other = self._plan.extent
        longer_m = max(other.east_m - self._corner.east_m, other.north_m - self._corner.north_m)
        self._height = from_inside(max(longer_m * TEXT_SHARE, LEAST_TEXT_M), self._unit)

    def drawing(self) -> CadDrawing:
        layers = {self._layer(each).name: self._layer(each) for each in self._plan.spans}
        fixed = [ROUTE, TRENCH, FIXTURE, TRANSFORMER, NOTE]
        return CadDrawing(self._unit, [*fixed, *layers.values()], list(self._parts()))

    def _parts(self) -> Iterator[CadPart]:
        plan, height = self._plan, self._height
        for index, route in enumerate(plan.routes):
            layer = TRENCH if index in plan.trenches else ROUTE
            yield CadLine(layer.name, [self._at(place) for place in route])
        for span in plan.spans:
            if len(span.places) > 1:
                yield CadLine(self._layer(span).name, [self._at(place) for place in span.places])
        lines: dict[int, int] = {}
        for lamp in plan.lamps():
            x, y = self._at(lamp.place)
            line = lines[lamp.place] = lines.get(lamp.place, -1) + 1
            if not line:
                yield CadCircle(FIXTURE.name, (x, y), 0.5 * height)
            words = f"{lamp.number} {lamp.name}"
            yield CadText(FIXTURE.name, (x + height, y - (line + 0.5) * 1.6 * height), height, words)
        for box in plan.boxes():
            x, y = self._at(box.place)
            corners = [(x + dx * height, y + dy * height) for dx, dy in CORNERS]
            yield CadLine(TRANSFORMER.name, corners, closed=True)
            hung = "".join(f", {each.transformer_id}" for each in box.supplies)
            words = f"{plan.names[box.place]}{hung}"
            yield CadText(TRANSFORMER.name, (x + 1.2 * height, y + 0.6 * height), height, words)
        yield from self._notes()

    def _notes(self) -> Iterator[CadText]:
        """Below the plan: the unit, what each run is, and what a plan is not."""
        west, south = self._shown(self._corner)
        told = [
            f"Lengths in {self._unit}; x is east, y is north"
            + (" of the middle of the places." if self._is_about_middle else "."),
            *(run_words(run) for run in self._plan.runs),
            NOT_APPROVED,
        ]
        for line, words in enumerate(told):
            yield CadText(NOTE.name, (west, south - (line + 4) * 1.8 * self._height), self._height, words)

    def _layer(self, span: PlannedSpan) -> CadLayer:
        place = next(index for index, run in enumerate(self._plan.runs) if run is span.run)
        unit = DASH_SHARE * self._height
        return CadLayer(
            layer_name(span.run.name, span.row.conductor),
            RUN_COLOURS[place % len(RUN_COLOURS)],
            tuple(unit * length for length in DASHES[place % len(DASHES)]),
        )

    def _at(self, place: int) -> CadPoint:
        return self._shown(self._plan.positions[place])

    def _shown(self, position: Position) -> CadPoint:
        return from_inside(position.east_m, self._unit), from_inside(position.north_m, self._unit)


CORNERS: Final = ((-0.7, -0.7), (0.7, -0.7), (0.7, 0.7), (-0.7, 0.7))
"""Of the square of a mounting point, of the height of the text."""
