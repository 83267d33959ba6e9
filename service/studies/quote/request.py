"""`POST /v1/quote`: what is asked."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.studies.voltage_drop.request import VoltageDropRequest
from service.wire.cable import ConductorName, Material
from service.wire.job import AcceptedWarning, LengthUnits, Line, OwnDetail, PaperFor, SheetWords
from service.wire.money import Amount, Currency, DecimalText
from service.wire.quantities import CallerId, ItemId, Length, Name, Resistance
from service.wire.stock import SpoolLength, StockCable

MOST_ALTERNATIVES, MOST_PARTS = 5, 10
"""Alternatives of one quote, and supplies of one alternative."""

MOST_LENGTHS = 400
"""Lengths of one cable that differ: pieces alike are one."""

MOST_ROWS = 200
"""Rows of one class of the catalogue."""

PERCENT_DECIMALS = 6
"""The most that a percentage may have that a bill prints."""

QuoteJointPlaces = Literal["nowhere", "at-fixtures", "anywhere"]


PricesAre = Literal["cost", "net", "gross"]


GoodsClass = Literal["supplies", "cables", "fixtures", "lamps", "joints", "sundries"]


UpliftKind = Literal["markup", "margin"]


SundryPer = Literal["job", "supply", "run", "fixture", "joint", "length", "crossing"]


LabourPer = Literal["job", "supply", "run", "fixture", "fixture-joint", "run-joint", "length", "crossing"]


TaxRounding = Literal["per-rate", "per-line"]


AdjustmentKind = Literal["allowance", "charge"]


SheetShow = Literal["prices", "total"]


TaxCode = Annotated[
    str,
    Meta(
        min_length=1,
        max_length=20,
        pattern=r"^[A-Za-z0-9._-]{1,20}(?![\s\S])",
        description="One of `money.taxes`, by its code.",
    ),
]


Gtin = Annotated[
    str,
    Meta(
        min_length=8,
        max_length=14,
        pattern=r"^[0-9]{8,14}(?![\s\S])",
        description="GTIN of 8, 12, 13 or 14 digits with its GS1 check digit. Carried along.",
    ),
]


class GoodsPrice(Struct, frozen=True, forbid_unknown_fields=True):
    """What so many of a row cost."""

    amount: Amount
    base_quantity: (
        Annotated[DecimalText, Meta(description="For how many the amount is. Left out: 1.")] | UnsetType
    ) = UNSET


OwnPrice = Annotated[
    GoodsPrice,
    Meta(
        description="As `money.prices_are` says. Left out: the line is listed without money, and the bill has"
        " no total (`price-missing`)."
    ),
]


class OnHand(Struct, frozen=True, forbid_unknown_fields=True):
    """Off-cuts of one length that are there already."""

    length: SpoolLength
    count: Annotated[
        float,
        Meta(ge=1, le=200, multiple_of=1, extra_json_schema={"type": "integer"}, description="How many."),
    ]


class CatalogueCable(StockCable, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A cable that is sold: a stock's with its tax."""

    tax: TaxCode
    gtin: Gtin | UnsetType = UNSET
    on_hand: (
        Annotated[
            list[OnHand],
            Meta(max_length=20, description="Used before anything is bought, at no price."),
        ]
        | UnsetType
    ) = UNSET


class CatalogueGoods(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A supply, a fixture or a lamp that is sold by the piece."""

    id: CallerId
    tax: TaxCode
    name: Name | UnsetType = UNSET
    price: OwnPrice | UnsetType = UNSET
    gtin: Gtin | UnsetType = UNSET


class JoinedConductor(Struct, frozen=True, forbid_unknown_fields=True):
    """Conductors of one size that a connector takes."""

    conductor: ConductorName
    count: Annotated[
        float,
        Meta(ge=1, le=100, multiple_of=1, extra_json_schema={"type": "integer"}, description="How many."),
    ]
    material: Annotated[Material, Meta(description="Left out: copper.")] | UnsetType = UNSET
    uncut: (
        Annotated[
            bool,
            Meta(description="Whether it passes uncut and is only tapped. Left out: no, it ends there."),
        ]
        | UnsetType
    ) = UNSET


class JoinedConductors(Struct, frozen=True, forbid_unknown_fields=True):
    """One combination of conductors, all of one pole, that a connector takes."""

    conductors: Annotated[list[JoinedConductor], Meta(min_length=1, max_length=10)]


class CatalogueJoint(CatalogueGoods, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A connector, with the combinations that its maker lists; it is taken for exactly these."""

    poles: Annotated[
        float,
        Meta(
            ge=1,
            le=2,
            multiple_of=1,
            extra_json_schema={"type": "integer"},
            description="1: a joint takes two of them; 2: one.",
        ),
    ]
    accepts: Annotated[
        list[JoinedConductors],
        Meta(max_length=200, description="The maker's own list; nothing near it is taken instead."),
    ]
    resistance: (
        Annotated[
            Resistance,
            Meta(
                description="Of one connector; a joint has that of two with one pole. Of joints within a run"
                " it enters the circuit. Left out: none."
            ),
        ]
        | UnsetType
    ) = UNSET


CountedBase = Annotated[
    Length,
    Meta(
        description="With `length`: for how much. With `crossing`: for so much of its length; left out: for"
        " each crossing."
    ),
]


class CatalogueSundry(CatalogueGoods, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is used up with the work: stakes, tape, sleeves."""

    quantity: Annotated[DecimalText, Meta(description="For each of `per`.")]
    per: Annotated[
        SundryPer,
        Meta(
            description="`joint`: at fixtures and in runs; `length`: for each `base` of route, cables side by"
            " side once; `crossing`: for each that names it as its `item`, or that names none."
        ),
    ]
    base: CountedBase | UnsetType = UNSET


_Goods = Annotated[list[CatalogueGoods], Meta(max_length=MOST_ROWS)]


class Catalogue(Struct, frozen=True, forbid_unknown_fields=True):
    """The caller's own goods; each row has an id of its own."""

    cables: Annotated[list[CatalogueCable], Meta(max_length=40)] | UnsetType = UNSET
    supplies: (
        Annotated[
            list[CatalogueGoods],
            Meta(max_length=MOST_ROWS, description="Left out: no supply is quoted (`supplies-not-quoted`)."),
        ]
        | UnsetType
    ) = UNSET
    fixtures: (
        Annotated[
            list[CatalogueGoods],
            Meta(max_length=MOST_ROWS, description="Left out: no fixture is quoted (`fixtures-not-quoted`)."),
        ]
        | UnsetType
    ) = UNSET
    lamps: _Goods | UnsetType = UNSET
    joints: (
        Annotated[
            list[CatalogueJoint],
            Meta(max_length=MOST_ROWS, description="Left out: no connector is quoted (`joints-not-quoted`)."),
        ]
        | UnsetType
    ) = UNSET
    sundries: Annotated[list[CatalogueSundry], Meta(max_length=MOST_ROWS)] | UnsetType = UNSET


class QuoteCutting(Struct, frozen=True, forbid_unknown_fields=True):
    """Where cable may be cut and joined."""

    joints: (
        Annotated[
            QuoteJointPlaces,
            Meta(
                description="`nowhere`: a run, branch or spur lies in one piece as far as it has one cable;"
                " fixtures are tapped on. `at-fixtures`: it is cut at each fixture and branch. `anywhere`:"
                " a piece may be joined from several spools, and its joints are paid and solved. Spans are"
                " pieces each. Left out: nowhere (`cut-in-one-piece`)."
            ),
        ]
        | UnsetType
    ) = UNSET
    keep_from: (
        Annotated[Length, Meta(description="Shortest off-cut worth keeping. Left out: none.")] | UnsetType
    ) = UNSET


class QuoteAlternative(Struct, frozen=True, forbid_unknown_fields=True):
    """One way to light the garden: a part for each supply, billed together."""

    id: CallerId
    parts: Annotated[
        list[VoltageDropRequest],
        Meta(
            min_length=1,
            max_length=MOST_PARTS,
            description="Each as voltage-drop takes it; its `wiring` may be what gauge-recommendation"
            " answered. `margin`, `sheet` and `detail` ask for nothing here.",
        ),
    ]
    name: Name | UnsetType = UNSET
    cutting: Annotated[QuoteCutting, Meta(description="Left out: that of the request.")] | UnsetType = UNSET


class Allowances(Struct, frozen=True, forbid_unknown_fields=True):
    """Cable that is laid beside the route, whose lengths the wiring has."""

    slack_percent: (
        Annotated[float, Meta(ge=0, le=100, description="Of every stretch. Left out: none.")] | UnsetType
    ) = UNSET
    at_fixture: (
        Annotated[
            Length,
            Meta(
                description="For each way in which cable leaves a fixture; cable that passes it uncut leaves"
                " it two ways. Leads have none."
            ),
        ]
        | UnsetType
    ) = UNSET
    at_supply: Annotated[Length, Meta(description="For each cable that leaves the supply.")] | UnsetType = (
        UNSET
    )
    at_joint: (
        Annotated[
            Length,
            Meta(
                description="For each cable end at a joint without a fixture: a branch, a change of cable, a"
                " joint within a run; what passes it uncut takes it twice."
            ),
        ]
        | UnsetType
    ) = UNSET


class GroundLabour(Struct, frozen=True, forbid_unknown_fields=True):
    """Hours for so much route."""

    hours: DecimalText
    base: Length
    rate: Annotated[Amount, Meta(description="An hour, always net.")]
    tax: TaxCode


class GroundSundry(Struct, frozen=True, forbid_unknown_fields=True):
    """Of a row of the catalogue's sundries so many for so much route, beside what that row says itself."""

    item: ItemId
    quantity: DecimalText
    base: Length


class GroundClass(Struct, frozen=True, forbid_unknown_fields=True):
    """A kind of ground that cable is laid in."""

    id: CallerId
    name: Name | UnsetType = UNSET
    labour: GroundLabour | UnsetType = UNSET
    sundries: Annotated[list[GroundSundry], Meta(max_length=20)] | UnsetType = UNSET


RequestPointer = Annotated[
    str,
    Meta(
        max_length=200,
        pattern=r"^/[\x21-\x7E]{0,199}(?![\s\S])",
        description="JSON Pointer into this request, to a run, branch, spur, return leg or span, or to an"
        " even wiring: `/alternatives/0/parts/0/wiring/runs/0`.",
    ),
]


class GroundPlace(
    Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    rename={"start": "from", "end": "to"},
):
    """The ground of one stretch of route."""

    pointer: RequestPointer
    start: Annotated[Length, Meta(description="Along it, from its start.")]
    end: Length
    ground: Annotated[CallerId, Meta(description="One of `ground`.")]


class Crossing(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where cable goes under a drive or a wall."""

    pointer: RequestPointer
    at: Annotated[Length, Meta(description="Along it, from its start, to where the crossing begins.")]
    length: Length
    item: (
        Annotated[ItemId, Meta(description="One of the sundries `per` crossing. Left out: all of them.")]
        | UnsetType
    ) = UNSET


class QuoteLabour(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Hours for each of what is counted."""

    id: CallerId
    hours: DecimalText
    per: Annotated[
        LabourPer,
        Meta(
            description="`run`: what leaves the supply; `fixture-joint`: a joint at which fixtures hang;"
            " `run-joint`: any other; `length`: each `base` of route, cables side by side once."
        ),
    ]
    rate: Annotated[Amount, Meta(description="An hour, always net.")]
    tax: TaxCode
    name: Name | UnsetType = UNSET
    base: CountedBase | UnsetType = UNSET


class QuoteUplift(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"goods": "class"}):
    """From cost to price."""

    goods: GoodsClass
    kind: Annotated[
        UpliftKind,
        Meta(description="`markup`: per cent of the cost; `margin`: per cent of the price, below 100."),
    ]
    percent: Annotated[float, Meta(ge=0, le=1_000)]


class TaxRate(Struct, frozen=True, forbid_unknown_fields=True):
    """A tax and its rate; nothing is taxed under one of 0 per cent, and it is listed all the same."""

    code: Annotated[TaxCode, Meta(description="By which rows name it.")]
    percent: Annotated[float, Meta(ge=0, le=100, description="With 6 decimals at most.")]
    name: Name | UnsetType = UNSET


class QuoteAdjustment(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An allowance, which is taken off, or a charge, which is added: an `amount` or a `percent`."""

    kind: AdjustmentKind
    name: Annotated[Name, Meta(description="Why, as it is printed.")] | UnsetType = UNSET
    amount: Amount | UnsetType = UNSET
    percent: (
        Annotated[
            float,
            Meta(
                ge=0,
                le=100,
                description="Of the line; of the whole bill: of all lines with the same tax. With 6 decimals"
                " at most.",
            ),
        ]
        | UnsetType
    ) = UNSET
    tax: (
        Annotated[
            TaxCode, Meta(description="Of the whole bill: which it has. A line's has that of its line.")
        ]
        | UnsetType
    ) = UNSET
    line: (
        Annotated[
            CallerId,
            Meta(
                description="Id of the row of the catalogue or of `labour` whose lines it changes. Left out:"
                " the whole bill."
            ),
        ]
        | UnsetType
    ) = UNSET


class QuoteMoney(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How money is counted."""

    currency: Annotated[Currency, Meta(description="Of ISO 4217, one that has a minor unit.")]
    prices_are: Annotated[
        PricesAre,
        Meta(
            description="Prices of goods: what they cost the caller, or net or gross of tax as they are sold."
        ),
    ]
    taxes: Annotated[list[TaxRate], Meta(min_length=1, max_length=20)]
    uplift: (
        Annotated[
            list[QuoteUplift],
            Meta(max_length=6, description="With prices at cost. A class without one is sold at cost."),
        ]
        | UnsetType
    ) = UNSET
    adjustments: Annotated[list[QuoteAdjustment], Meta(max_length=50)] | UnsetType = UNSET
    prepaid: Annotated[Amount, Meta(description="Already paid. Left out: nothing.")] | UnsetType = UNSET
    unit_price_decimals: (
        Annotated[
            float,
            Meta(
                ge=2,
                le=6,
                multiple_of=1,
                extra_json_schema={"type": "integer"},
                description="Of printed unit prices. Left out: those of the currency, 2 at least.",
            ),
        ]
        | UnsetType
    ) = UNSET
    tax_rounding: (
        Annotated[
            TaxRounding,
            Meta(
                description="Where tax is rounded: once a rate, as EN 16931 does, or on each line, as some"
                " ledgers do. Left out: per-rate."
            ),
        ]
        | UnsetType
    ) = UNSET


class QuoteTerms(Struct, frozen=True, forbid_unknown_fields=True):
    """What a quote says beside its bill; the service has no clock."""

    issued_on: (
        Annotated[
            str,
            Meta(
                pattern=r"^(19|20|21)[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])(?![\s\S])",
                max_length=10,
                description="A date, as 2026-05-04. Left out: no date is printed.",
            ),
        ]
        | UnsetType
    ) = UNSET
    valid_days: (
        Annotated[
            float,
            Meta(
                ge=0,
                le=3_650,
                multiple_of=1,
                extra_json_schema={"type": "integer"},
                description="From the day of issue: without `issued_on` papers say so many days, not until"
                " when. Left out: no end is printed.",
            ),
        ]
        | UnsetType
    ) = UNSET
    lines: (
        Annotated[list[Line], Meta(max_length=12, description="Printed under the bill, as they are.")]
        | UnsetType
    ) = UNSET


class QuoteSheetWords(SheetWords, frozen=True, forbid_unknown_fields=True, rename={"papers": "for"}):
    """What a printed quote says beside its bill."""

    papers: (
        Annotated[
            PaperFor | Annotated[list[PaperFor], Meta(min_length=1, max_length=4)],
            Meta(
                description="Whom it is printed for; a list is one document of several papers, in its order."
                " `customer`: the bill, with its verdict in a sentence; what goods cost the caller stands"
                " nowhere. `installer`: what to take along, the cut list of each spool and every joint, of"
                " each alternative, without prices. `record`: everything that the reply says. There is no"
                " `meter` of a quote. Left out: customer."
            ),
        ]
        | UnsetType
    ) = UNSET
    show: (
        Annotated[
            SheetShow,
            Meta(
                description="To the customer: what each line costs, or the total alone; never what it costs"
                " the caller. Left out: prices."
            ),
        ]
        | UnsetType
    ) = UNSET


OwnQuoteSheet = Annotated[
    QuoteSheetWords,
    Meta(description="What a printed sheet says beside the answer. A JSON reply stays the same."),
]


QuoteWarning = Literal[
    AcceptedWarning,
    "joint-without-connector",
    "lead-not-stated",
    "amount-below-zero",
    "adjustment-without-line",
]


class QuoteRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Solved wirings, what they are bought from, and how that is billed."""

    alternatives: Annotated[
        list[QuoteAlternative],
        Meta(min_length=1, max_length=MOST_ALTERNATIVES, description="Each its own bill."),
    ]
    catalogue: Catalogue
    money: QuoteMoney
    id: CallerId | UnsetType = UNSET
    cutting: QuoteCutting | UnsetType = UNSET
    allowances: Annotated[Allowances, Meta(description="Left out: none (`no-slack`).")] | UnsetType = UNSET
    labour: Annotated[list[QuoteLabour], Meta(max_length=50)] | UnsetType = UNSET
    ground: (
        Annotated[
            list[GroundClass],
            Meta(
                min_length=1,
                max_length=20,
                description="Kinds of ground. Route for which `places` say nothing lies in the first"
                " (`ground-not-stated`).",
            ),
        ]
        | UnsetType
    ) = UNSET
    places: Annotated[list[GroundPlace], Meta(max_length=500)] | UnsetType = UNSET
    crossings: Annotated[list[Crossing], Meta(max_length=200)] | UnsetType = UNSET
    terms: QuoteTerms | UnsetType = UNSET
    accept: (
        Annotated[
            list[QuoteWarning],
            Meta(
                max_length=20,
                description="Warnings with which a bill passes all the same, by their codes; a fault is never"
                " accepted. Left out: none.",
            ),
        ]
        | UnsetType
    ) = UNSET
    units: LengthUnits | UnsetType = UNSET
    sheet: OwnQuoteSheet | UnsetType = UNSET
    detail: OwnDetail | UnsetType = UNSET
