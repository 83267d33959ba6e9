"""`POST /v1/least-cost-layout`: what is asked."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.conditions import Conditions
from service.wire.fixture import (
    FixtureItem,
    LampItem,
    OwnInput,
    OwnLead,
    OwnLoad,
    OwnWindow,
    SpliceResistance,
    TypeId,
)
from service.wire.job import Accept, LengthUnits, Limits, OwnDetail, OwnSheet
from service.wire.money import Amount, Currency
from service.wire.quantities import CallerId, Length, Name, ShownLengthUnit, bounded
from service.wire.stock import OwnCutting, StockCable, StockTransformer
from service.wire.supply import Primary
from service.wire.wiring import FixtureTypes, FixtureVoltage

MOST_PLACES, MOST_ROUTES, MOST_FIXTURES, MOST_MOUNTING_POINTS = 150, 100, 50, 3

MOST_CABLES, MOST_TRANSFORMERS, MOST_BOXES = 5, 10, 4

LEAST_EFFORT, USUAL_EFFORT, MOST_EFFORT = 1_000, 30_000, 60_000


class PlanLength(Length, frozen=True, forbid_unknown_fields=True):
    """A coordinate of a plan."""

    value: Annotated[float, bounded("length", -10_000, 10_000, "East or north of where the plan begins.")]


class PlanPoint(Struct, frozen=True, forbid_unknown_fields=True):
    """A place of a plan with coordinates of its own."""

    name: Name
    x: PlanLength
    y: PlanLength


class PlanOrigin(Struct, frozen=True, forbid_unknown_fields=True):
    """Where x and y of a plan are zero, in degrees of WGS 84; y goes to true north."""

    longitude: Annotated[float, Meta(ge=-180, le=180)]
    latitude: Annotated[float, Meta(ge=-85, le=85)]


class LocalPlaces(Struct, frozen=True, forbid_unknown_fields=True, tag_field="frame", tag="local"):
    """Places by their distances to the east and to the north of some point."""

    points: Annotated[list[PlanPoint], Meta(min_length=2, max_length=MOST_PLACES)]
    origin: (
        Annotated[
            PlanOrigin,
            Meta(
                description="For the answer as GeoJSON. Left out: there is none (`places-without-position`)."
            ),
        ]
        | UnsetType
    ) = UNSET


class GeoPoint(Struct, frozen=True, forbid_unknown_fields=True):
    """A GeoJSON point (RFC 7946, section 3.1.2)."""

    type: Literal["Point"]
    coordinates: Annotated[
        list[Annotated[float, Meta(ge=-180, le=180)]],
        Meta(min_length=2, max_length=2, description="Longitude, then latitude, in degrees of WGS 84."),
    ]


class GeoProperties(Struct, frozen=True, forbid_unknown_fields=True):
    """What is known of a place."""

    name: Name


class GeoFeature(Struct, frozen=True, forbid_unknown_fields=True):
    """A GeoJSON feature (RFC 7946, section 3.2): one place."""

    type: Literal["Feature"]
    geometry: GeoPoint
    properties: GeoProperties


class GeographicPlaces(Struct, frozen=True, forbid_unknown_fields=True, tag_field="frame", tag="wgs84"):
    """Places as a GeoJSON feature collection (RFC 7946, section 3.3); `frame` is a member of our own."""

    type: Literal["FeatureCollection"]
    features: Annotated[list[GeoFeature], Meta(min_length=2, max_length=MOST_PLACES)]


Places = LocalPlaces | GeographicPlaces


class TrenchPrice(Struct, frozen=True, forbid_unknown_fields=True):
    """What a trench costs for its length, whatever lies in it."""

    amount: Amount
    per: ShownLengthUnit


class CableRoute(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"start": "from", "end": "to"}
):
    """A way between two places along which cable may lie."""

    start: Name
    end: Name
    id: CallerId | UnsetType = UNSET
    length: Annotated[Length, Meta(description="Of the route. Left out: straight.")] | UnsetType = UNSET
    trench: (
        Annotated[TrenchPrice, Meta(description="Paid once where any cable lies. Left out: nothing.")]
        | UnsetType
    ) = UNSET


class SiteFixture(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One fixture, at a place."""

    place: Name
    load: OwnLoad | UnsetType = UNSET
    type: TypeId | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET
    name: Name | UnsetType = UNSET
    window: OwnWindow | UnsetType = UNSET
    lead: OwnLead | UnsetType = UNSET
    splice_resistance: SpliceResistance | UnsetType = UNSET
    input: OwnInput | UnsetType = UNSET
    item: FixtureItem | UnsetType = UNSET
    lamp: LampItem | UnsetType = UNSET


class MountingPoint(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A place where transformers may be mounted."""

    place: Name
    id: CallerId | UnsetType = UNSET
    price: Annotated[Amount, Meta(description="Paid once if used. Left out: nothing.")] | UnsetType = UNSET
    primary: (
        Annotated[
            Primary, Meta(description="Left out: the mains stand at their rated voltage (`mains-nominal`).")
        ]
        | UnsetType
    ) = UNSET
    transformers_at_most: (
        Annotated[
            float,
            Meta(
                ge=1,
                le=MOST_BOXES,
                multiple_of=1,
                description="Left out: 1.",
                extra_json_schema={"type": "integer"},
            ),
        ]
        | UnsetType
    ) = UNSET


class JointCosts(Struct, frozen=True, forbid_unknown_fields=True):
    """What each joint costs, work with it; what is left out costs nothing."""

    fixture: Annotated[Amount, Meta(description="At each fixture.")] | UnsetType = UNSET
    tee: Annotated[Amount, Meta(description="Each cable more that leaves a place.")] | UnsetType = UNSET
    splice: Annotated[Amount, Meta(description="Where a cable goes on in another size.")] | UnsetType = UNSET
    cable_end: Annotated[Amount, Meta(description="Each run at its transformer.")] | UnsetType = UNSET


Branching = Literal["chain", "tee", "hub"]


GaugeScope = Literal["per-run", "per-span"]


class LeastCostLayoutRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Places, routes between them, fixtures, and what may feed them: a layout is sought."""

    places: Places
    routes: Annotated[list[CableRoute], Meta(min_length=1, max_length=MOST_ROUTES)]
    fixtures: Annotated[list[SiteFixture], Meta(min_length=1, max_length=MOST_FIXTURES)]
    mounting_points: Annotated[list[MountingPoint], Meta(min_length=1, max_length=MOST_MOUNTING_POINTS)]
    transformers: Annotated[
        list[StockTransformer],
        Meta(
            min_length=1,
            max_length=MOST_TRANSFORMERS,
            description="What may be mounted, each with a price; of each as many as are needed.",
        ),
    ]
    stock: Annotated[
        list[StockCable],
        Meta(min_length=1, max_length=MOST_CABLES, description="Cable to lay, each with a price."),
    ]
    id: CallerId | UnsetType = UNSET
    fixture_types: FixtureTypes | UnsetType = UNSET
    nominal_voltage: FixtureVoltage | UnsetType = UNSET
    joints: JointCosts | UnsetType = UNSET
    branching: (
        Annotated[
            Branching,
            Meta(
                description="How a run may part: `chain`: not at all; `tee`: at any place; `hub`: at one"
                " place, with a cable to each fixture. Left out: tee."
            ),
        ]
        | UnsetType
    ) = UNSET
    gauges: (
        Annotated[
            GaugeScope,
            Meta(description="One size for each run, or for each span. Left out: per-span."),
        ]
        | UnsetType
    ) = UNSET
    cutting: OwnCutting | UnsetType = UNSET
    limits: Limits | UnsetType = UNSET
    conditions: Conditions | UnsetType = UNSET
    accept: Accept | UnsetType = UNSET
    effort: (
        Annotated[
            float,
            Meta(
                ge=LEAST_EFFORT,
                le=MOST_EFFORT,
                multiple_of=1,
                description="Units of work that the search may spend, about 10 microseconds each; more may"
                f" find a cheaper layout. Left out: {USUAL_EFFORT}.",
                extra_json_schema={"type": "integer"},
            ),
        ]
        | UnsetType
    ) = UNSET
    currency: Currency | UnsetType = UNSET
    units: LengthUnits | UnsetType = UNSET
    sheet: OwnSheet | UnsetType = UNSET
    detail: OwnDetail | UnsetType = UNSET
