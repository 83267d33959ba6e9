"""A plan as GeoJSON: where its places lie on the ellipsoid of WGS 84."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import UNSET, UnsetType

from service.problems import ErrorKind, Mistake, ProblemKind, UnansweredError
from service.studies.least_cost_layout.ellipsoid import unflattened
from service.studies.least_cost_layout.plan import PlannedBox, PlannedLamp, PlannedSpan, SitePlan
from service.studies.least_cost_layout.reply import (
    DrawnFeature,
    DrawnLine,
    DrawnPlan,
    DrawnPoint,
    DrawnProperties,
    LeastCostLayoutReply,
)
from service.studies.least_cost_layout.request import (
    GeographicPlaces,
    LeastCostLayoutRequest,
    LocalPlaces,
    PlanOrigin,
)
from service.studies.least_cost_layout.site import Position
from service.wire.optional import given

PLACES_WITHOUT_POSITION: Final = ProblemKind(
    "places-without-position",
    422,
    "The places have no longitude and latitude",
    "GeoJSON holds longitudes and latitudes of WGS 84 (RFC 7946, section 4); places in a frame of their own"
    " have none.",
    "State in `places.origin` where x and y are zero, or ask for a drawing, `image/svg+xml` or"
    " `image/vnd.dxf`.",
    detail="The places are in a frame of their own, which GeoJSON does not have. State in `places.origin`"
    " where x and y are zero, or ask for `image/svg+xml` or `image/vnd.dxf`.",
)


ORIGIN_MISSING: Final = ErrorKind(
    "origin-missing",
    "Places in a frame of their own are asked for as longitudes and latitudes.",
    "State where x and y are zero, as a longitude and a latitude.",
)


DECIMALS: Final = 7
"""Of a degree: 11 mm (RFC 7946, section 11.2, on precision)."""


def refuse_without_position(request: LeastCostLayoutRequest) -> None:
    """Refuse places that have no longitude and latitude.

    Raises
    ------
    UnansweredError
        They are in a frame of their own, whose origin is not stated.
    """
    if isinstance(request.places, LocalPlaces):
        _origin_of(request.places)


def _origin_of(places: LocalPlaces) -> PlanOrigin:
    """Where places in a frame of their own lie, or a refusal."""
    if isinstance(places.origin, UnsetType):
        mistake = Mistake(ORIGIN_MISSING.code, "/places/origin")
        raise UnansweredError(PLACES_WITHOUT_POSITION, "no origin", [mistake])
    return places.origin


def degrees_of(origin: PlanOrigin, positions: Sequence[Position]) -> list[tuple[float, float]]:
    """Longitude and latitude of positions about an origin. [°]"""
    return [
        unflattened((origin.longitude, origin.latitude), (each.east_m, each.north_m)) for each in positions
    ]


def drawn_plan(request: LeastCostLayoutRequest, reply: LeastCostLayoutReply) -> DrawnPlan:
    """The plan as a feature collection: transformers, fixtures, routes and spans, each with what it is.

    Raises
    ------
    UnansweredError
        The places have no longitude and latitude.
    """
    plan = SitePlan(request, reply)
    return DrawnPlan(list(_Map(plan, _coordinates(request, plan)).features()))


def _coordinates(request: LeastCostLayoutRequest, plan: SitePlan) -> list[list[float]]:
    """Where each place lies: as it was stated, or about the origin."""
    places = request.places
    if isinstance(places, GeographicPlaces):
        stated = [each.geometry.coordinates for each in places.features]
        return [[round(lon, DECIMALS), round(lat, DECIMALS)] for lon, lat in stated]
    degrees = degrees_of(_origin_of(places), plan.positions)
    return [[round(lon, DECIMALS), round(lat, DECIMALS)] for lon, lat in degrees]


class _Map:
    """Writes the features of a plan."""

    def __init__(self, plan: SitePlan, at: Sequence[list[float]]) -> None:
        self._plan, self._at = plan, at

    def features(self) -> Iterator[DrawnFeature]:
        plan = self._plan
        yield from map(self._box, plan.boxes())
        yield from map(self._lamp, plan.lamps())
        yield from map(self._route, range(len(plan.routes)))
        yield from (self._span(each) for each in plan.spans if len(each.places) > 1)

    def _box(self, box: PlannedBox) -> DrawnFeature:
        mount = self._plan.request.mounting_points[int(box.pointer.rpartition("/")[2])]
        properties = DrawnProperties(
            role="transformer" if box.supplies else "mounting-point",
            name=self._plan.names[box.place],
            pointer=box.pointer,
            id=mount.id,
            transformers=[each.transformer_id for each in box.supplies] or UNSET,
        )
        return DrawnFeature(DrawnPoint(self._at[box.place]), properties)

    def _lamp(self, lamp: PlannedLamp) -> DrawnFeature:
        pointer = f"/fixtures/{lamp.number - 1}"
        properties = DrawnProperties(
            role="fixture",
            name=lamp.name,
            pointer=pointer,
            id=self._plan.request.fixtures[lamp.number - 1].id,
            number=lamp.number,
            run=UNSET if lamp.run is None else lamp.run.name,
        )
        return DrawnFeature(DrawnPoint(self._at[lamp.place]), properties)

    def _route(self, index: int) -> DrawnFeature:
        start, end = self._plan.routes[index]
        names, trench = self._plan.names, self._plan.trenches.get(index)
        properties = DrawnProperties(
            role="route" if trench is None else "trench",
            name=f"{names[start]} to {names[end]}",
            pointer=f"/routes/{index}",
            id=self._plan.request.routes[index].id,
            cables=UNSET if trench is None else trench.cables,
            length=UNSET if trench is None else trench.length,
        )
        return DrawnFeature(DrawnLine([self._at[start], self._at[end]]), properties)

    def _span(self, span: PlannedSpan) -> DrawnFeature:
        run, row = span.run, span.row
        properties = DrawnProperties(
            role="cable",
            name=f"{row.start} to {row.end}",
            run=run.name,
            conductor=row.conductor,
            stock_id=row.stock_id,
            tap=run.tap,
            circuit=given(run.circuit) or UNSET,
            length=row.length,
        )
        return DrawnFeature(DrawnLine([self._at[place] for place in span.places]), properties)
