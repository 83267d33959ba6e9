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
from service.wire.quantities import CallerId, Length, Name, Quantity, ShownLengthUnit, bounded
from service.wire.stock import OwnCutting, StockCable, StockTransformer
from service.wire.supply import Primary
from service.wire.wiring import FixtureTypes, FixtureVoltage

MOST_PLACES, MOST_ROUTES, MOST_FIXTURES, MOST_MOUNTING_POINTS = 150, 100, 50, 3

MOST_CABLES, MOST_TRANSFORMERS, MOST_BOXES = 5, 10, 4

MOST_MULTIPLIERS, MOST_WHOLE, MOST_BRANCHES, MOST_CASES = 60_000, 2**52, 500, 100

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


Place = Annotated[float, Meta(ge=0, le=MOST_PLACES, multiple_of=1, extra_json_schema={"type": "integer"})]
"""Of a thing in a list of the request, from 0."""


Multiplier = Annotated[
    float, Meta(ge=-MOST_WHOLE, le=MOST_WHOLE, multiple_of=1, extra_json_schema={"type": "integer"})
]
"""A place in `rows`, or a multiplier times 2^24."""


class SpanLength(Quantity, frozen=True):
    """How long a span is where it is longer than its routes."""

    value: Annotated[float, Meta(ge=0, le=100_000, description="One way along the cable.")]
    unit: Literal["m"]


class CertifiedSpan(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One span of a run: its routes from where it is fed, in the order in which they are walked."""

    after: Annotated[
        Place, Meta(description="The span of the run that feeds it, from 1; 0: it leaves the transformer.")
    ]
    routes: Annotated[list[Place], Meta(min_length=1, max_length=2 * MOST_ROUTES)]
    stock: Place
    fixtures: Annotated[list[Place], Meta(max_length=MOST_FIXTURES, description="At its end.")]
    length: Annotated[SpanLength, Meta(description="Left out: that of its routes.")] | UnsetType = UNSET


class CertifiedRun(Struct, frozen=True, forbid_unknown_fields=True):
    """One cable that leaves a transformer, with all that branches off it."""

    tap_place: Annotated[Place, Meta(description="Of the taps of the transformer.")]
    circuit: Annotated[Place, Meta(description="Of its circuits; 0 where it has none.")]
    spans: Annotated[list[CertifiedSpan], Meta(min_length=1, max_length=MOST_PLACES)]


class CertifiedSupply(Struct, frozen=True, forbid_unknown_fields=True):
    """One transformer where it is mounted, and its runs."""

    mounting_point: Place
    transformer: Place
    runs: Annotated[list[CertifiedRun], Meta(min_length=1, max_length=MOST_FIXTURES)]


class CertifiedBranch(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Layouts in which some routes are dug and some are not, and what proves their bound."""

    dug: Annotated[list[Place], Meta(max_length=MOST_ROUTES)]
    undug: Annotated[list[Place], Meta(max_length=MOST_ROUTES)]
    empty: Annotated[bool, Meta(description="That there is no such layout is what is proven.")]
    multipliers: Annotated[
        list[Multiplier],
        Meta(
            max_length=2 * MOST_MULTIPLIERS,
            description="Of each row that counts its place in `rows`, then its multiplier times 2^24.",
        ),
    ]


class CertifiedCase(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Layouts that use these mounting points at most; or just these, with just these transformers."""

    mounting_points: Annotated[list[Place], Meta(min_length=1, max_length=MOST_MOUNTING_POINTS)]
    branches: Annotated[
        list[CertifiedBranch],
        Meta(max_length=MOST_BRANCHES, description="Together they leave no layout of the case out."),
    ]
    transformers: (
        Annotated[list[Place], Meta(min_length=1, max_length=MOST_BOXES, description="Left out: any.")]
        | UnsetType
    ) = UNSET


class LayoutCertificate(Struct, frozen=True, forbid_unknown_fields=True):
    """A layout and what proves a bound, to go on from; all by places in the lists of the request, from 0."""

    supplies: Annotated[
        list[CertifiedSupply],
        Meta(
            max_length=MOST_MOUNTING_POINTS * MOST_BOXES,
            description="The layout; empty where none was found.",
        ),
    ]
    rows: Annotated[
        list[Annotated[str, Meta(min_length=1, max_length=1_000, pattern=r"^[ -~]+(?![\s\S])")]],
        Meta(max_length=MOST_MULTIPLIERS, description="Names of the rows of the linear programme."),
    ]
    cases: Annotated[list[CertifiedCase], Meta(max_length=MOST_CASES)]


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
                " find a cheaper layout. The bound keeps a part of a request's work for itself, so that the"
                f" search may end sooner. Left out: {USUAL_EFFORT}.",
                extra_json_schema={"type": "integer"},
            ),
        ]
        | UnsetType
    ) = UNSET
    previous: (
        Annotated[
            LayoutCertificate,
            Meta(
                description="The `certificate` of an earlier answer about the same site, to go on from. It is"
                " judged and proven again: what no longer holds is only a start."
            ),
        ]
        | UnsetType
    ) = UNSET
    certify: (
        Annotated[
            bool,
            Meta(
                description="Whether `certificate` also has what proves the bound, up to 2 MB. Left out:"
                " false."
            ),
        ]
        | UnsetType
    ) = UNSET
    currency: Currency | UnsetType = UNSET
    units: LengthUnits | UnsetType = UNSET
    sheet: OwnSheet | UnsetType = UNSET
    detail: OwnDetail | UnsetType = UNSET
