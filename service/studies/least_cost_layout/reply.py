"""`POST /v1/least-cost-layout`: what is answered."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.studies.gauge_recommendation.reply import PurchaseLine
from service.studies.least_cost_layout.certificate import AnsweredCertificate
from service.studies.quote.request import MOST_PARTS, QuoteAlternative
from service.studies.voltage_drop.request import VoltageDropRequest
from service.wire.conditions import Conditions
from service.wire.money import Currency, ShownAmount
from service.wire.quantities import (
    CallerId,
    Name,
    ShownApparentPower,
    ShownLength,
    ShownVoltage,
)
from service.wire.reply import Code, Finding, JudgedAnswer, Pointer, Word
from service.wire.summary import Summary


class LaidSpanRow(Struct, frozen=True, rename={"start": "from", "end": "to"}):
    """One span of a run, between two points of the wiring in `request`, and the routes that it lies in."""

    start: str
    end: str
    length: ShownLength
    conductor: str
    routes: Annotated[list[Pointer], Meta(description="In the order in which they are walked.")]
    stock_id: CallerId | UnsetType = UNSET


class LaidRun(Struct, frozen=True):
    """One cable that leaves a transformer, with all that branches off it."""

    name: str
    tap: ShownVoltage
    load: Annotated[ShownApparentPower, Meta(description="Of its fixtures, added up.")]
    cable: ShownLength
    fixtures: Annotated[list[Pointer], Meta(description="In the order of the request.")]
    spans: list[LaidSpanRow]
    circuit: Name | UnsetType = UNSET


class LaidSupply(Struct, frozen=True):
    """One transformer, its runs, and the wiring behind it."""

    name: str
    mounting_point: Pointer
    transformer: Pointer
    transformer_id: CallerId
    lowest: Annotated[ShownVoltage, Meta(description="Of any lamp in any state that was judged.")]
    highest: ShownVoltage
    loading_ratio: Annotated[float, Meta(description="Of the rating, in the worst state.")]
    runs: list[LaidRun]
    request: Annotated[
        VoltageDropRequest,
        Meta(description="Posts to voltage-drop as it is, and passes there with the warnings of `accept`."),
    ]


class LaidTrench(Struct, frozen=True, rename={"start": "from", "end": "to"}):
    """A route in use."""

    pointer: Pointer
    start: Name
    end: Name
    length: ShownLength
    cables: Annotated[int, Meta(ge=1, description="Cables that lie in it.")]
    price: ShownAmount
    id: CallerId | UnsetType = UNSET


class JointCount(Struct, frozen=True):
    """How many joints of one kind."""

    kind: Annotated[Word, Meta(description="fixture, tee, splice or cable-end")]
    count: Annotated[int, Meta(ge=0)]
    price: ShownAmount


class SiteLayout(Struct, frozen=True):
    """What lies where."""

    supplies: list[LaidSupply]
    trenches: list[LaidTrench]
    joints: list[JointCount]


class LayoutCosts(Struct, frozen=True):
    """What a layout costs, each part rounded up to the cent."""

    transformers: ShownAmount
    mounting_points: ShownAmount
    cable: ShownAmount
    trenches: ShownAmount
    joints: ShownAmount
    total: ShownAmount


class BoundShares(Struct, frozen=True):
    """The parts of a bound, paid by different money, so that they add."""

    transformers: Annotated[ShownAmount, Meta(description="The cheapest that carry the load, mounted.")]
    routes: Annotated[
        ShownAmount, Meta(description="Trenches that join all fixtures, with a part of the cheapest cable.")
    ]
    copper: Annotated[
        ShownAmount,
        Meta(
            description="What cable costs beyond, for fixtures are far away; with all that a relaxation adds."
        ),
    ]
    joints: ShownAmount


class CostBound(Struct, frozen=True):
    """What no layout that passes costs less than."""

    amount: ShownAmount
    shares: BoundShares
    left_out: Annotated[
        list[Word], Meta(description="What raises the cost of layouts and is not in the bound.")
    ]


class CostGap(CostBound, frozen=True):
    """The bound, beside a layout."""

    within_percent: Annotated[
        float,
        Meta(description="The layout is dearer than the cheapest by no more than this share of its cost."),
    ]


class ComparedLayout(Struct, frozen=True):
    """A usual way to lay the same fixtures, by the same rules."""

    way: Annotated[
        Word,
        Meta(
            description="daisy-chain: runs from fixture to fixture in one size; hub: one cable to a hub, and"
            " from there cables of one length, in one size"
        ),
    ]
    outcome: Annotated[Word, Meta(description="passes; none-found: no such layout was found that does")]
    runs: Annotated[int, Meta(ge=0)]
    total: ShownAmount | UnsetType = UNSET


class UnreachedFixture(Struct, frozen=True):
    """A fixture that no cable of the stock reaches with enough voltage."""

    pointer: Pointer
    distance: Annotated[ShownLength, Meta(description="By routes, from the nearest mounting point.")]
    reach: Annotated[
        ShownLength, Meta(description="How far it may be with the cable of least resistance, at best.")
    ]
    mounting_point: Annotated[Pointer, Meta(description="The nearest by routes.")]
    id: CallerId | UnsetType = UNSET


class LayoutHelp(Struct, frozen=True):
    """What would help: with it alone a layout was found; `more-effort`: the search did not come to an end."""

    code: Code
    message: str


Method = Annotated[
    Word,
    Meta(
        description="closed-form: the bound is a formula that every layout keeps; relaxation: a linear"
        " programme that every layout keeps made it higher, proven again in exact fractions. The layout"
        " itself is the best that was found."
    ),
]


class PreviousAnswer(Struct, frozen=True):
    """What is found here of the earlier answer that this one goes on from."""

    outcome: Annotated[
        Word,
        Meta(
            description="passes: its layout keeps every limit here; breaks-limits: it does not and was only a"
            " start; none: it has no layout"
        ),
    ]
    bound: Annotated[ShownAmount, Meta(description="Proven by it here, beside the formula.")]
    total: (
        Annotated[
            ShownAmount,
            Meta(
                description="Of its layout, by the prices here. Left out: it has none that the rules and the"
                " spools here allow."
            ),
        ]
        | UnsetType
    ) = UNSET


class LayoutAnswer(JudgedAnswer, frozen=True, kw_only=True):
    """What closes every answer about a layout."""

    method: Method
    work: Annotated[int, Meta(ge=0, description="Units of work that the search took.")]
    judged_conditions: Conditions
    currency: Currency | UnsetType = UNSET


class OngoingAnswer(LayoutAnswer, frozen=True, kw_only=True):
    """What closes an answer from which another request may go on."""

    previous: PreviousAnswer | UnsetType = UNSET
    certificate: (
        Annotated[
            AnsweredCertificate,
            Meta(
                description="Goes into `previous` of another request for the same site as it is. Only with"
                " `certify` it has what proves the bound."
            ),
        ]
        | UnsetType
    ) = UNSET
    certified_bound: (
        Annotated[
            ShownAmount,
            Meta(description="What `certificate` proves with `certify`: the bound, or all it has room for."),
        ]
        | UnsetType
    ) = UNSET


class LaidOut(OngoingAnswer, frozen=True, tag_field="status", tag="laid-out"):
    """A layout in which every limit is kept, and what none can cost less than."""

    summary: Summary
    layout: SiteLayout
    costs: LayoutCosts
    purchase: list[PurchaseLine]
    bound: CostGap
    compared: list[ComparedLayout]
    quote_lacks: Annotated[
        list[Pointer],
        Meta(
            description="Fixtures without an `item`, of their own or of their type: of these"
            " `quote_alternative` cannot say what is bought. A quote whose catalogue has fixtures cannot bill"
            " them (`item-not-named`); one whose catalogue leaves fixtures out can."
        ),
    ]
    findings: list[Finding]
    quote_alternative: (
        Annotated[
            QuoteAlternative,
            Meta(
                description="Goes into `alternatives` of a quote as it is. Transformers and cables are named"
                " by their ids of this request, fixtures and lamps by `item` and `lamp`: a catalogue lists"
                " them under the same ids. Warnings accepted here are accepted in the quote with its"
                " own `accept`; trenches, mounting points and work are for its `ground`, `sundries` and"
                f" `labour`. Left out: more than {MOST_PARTS} transformers, which is more than a quote has"
                " parts for."
            ),
        ]
        | UnsetType
    ) = UNSET


class NoLayoutPasses(LayoutAnswer, frozen=True, tag_field="status", tag="none-passes"):
    """No layout keeps every limit, which is proven."""

    summary: Summary
    unreached: list[UnreachedFixture]
    helps: list[LayoutHelp]
    connected: Annotated[ShownApparentPower, Meta(description="Drawn by all fixtures at least.")]
    carried: (
        Annotated[
            ShownApparentPower,
            Meta(description="What all transformers that may be mounted carry; where that is too little."),
        ]
        | UnsetType
    ) = UNSET


class NoLayoutFound(OngoingAnswer, frozen=True, tag_field="status", tag="none-found"):
    """No layout was found that keeps every limit; there may be one."""

    summary: Summary
    helps: list[LayoutHelp]
    bound: CostBound
    findings: Annotated[list[Finding], Meta(description="Of the best layout that was tried, if one was.")]


LeastCostLayoutReply = LaidOut | NoLayoutPasses | NoLayoutFound


Degrees = Annotated[
    list[float],
    Meta(
        min_length=2,
        max_length=2,
        description="Longitude, then latitude, in degrees of WGS 84.",
    ),
]


class DrawnPoint(Struct, frozen=True, tag_field="type", tag="Point"):
    """A GeoJSON point (RFC 7946, section 3.1.2)."""

    coordinates: Degrees


class DrawnLine(Struct, frozen=True, tag_field="type", tag="LineString"):
    """A GeoJSON line (RFC 7946, section 3.1.4)."""

    coordinates: Annotated[list[Degrees], Meta(min_length=2)]


DrawnGeometry = DrawnPoint | DrawnLine


class DrawnProperties(Struct, frozen=True, kw_only=True):
    """What a thing on the plan is."""

    role: Annotated[
        Word,
        Meta(
            description="transformer: a mounting point where one hangs at least; mounting-point: one without;"
            " fixture; trench: a route in which cable lies; route: one without; cable: one span of a run"
        ),
    ]
    name: str
    pointer: Pointer | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET
    number: (
        Annotated[int, Meta(ge=1, description="Of a fixture, as on every plan and paper.")] | UnsetType
    ) = UNSET
    transformers: (
        Annotated[list[CallerId], Meta(description="Those that hang there, by their ids in the request.")]
        | UnsetType
    ) = UNSET
    run: str | UnsetType = UNSET
    conductor: str | UnsetType = UNSET
    stock_id: CallerId | UnsetType = UNSET
    tap: ShownVoltage | UnsetType = UNSET
    circuit: Name | UnsetType = UNSET
    cables: Annotated[int, Meta(ge=1, description="Cables that lie in a trench.")] | UnsetType = UNSET
    length: ShownLength | UnsetType = UNSET


class DrawnFeature(Struct, frozen=True, tag_field="type", tag="Feature"):
    """A GeoJSON feature (RFC 7946, section 3.2)."""

    geometry: DrawnGeometry
    properties: DrawnProperties


class DrawnPlan(Struct, frozen=True, tag_field="type", tag="FeatureCollection"):
    """The plan as a GeoJSON feature collection (RFC 7946, section 3.3)."""

    features: list[DrawnFeature]
