"""`POST /v1/quote`: what is answered."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.money import Currency, ShownPrice, SignedAmount
from service.wire.quantities import (
    CallerId,
    Name,
    ShownApparentPower,
    ShownLength,
    ShownRealPower,
    ShownVoltage,
)
from service.wire.reply import Code, Finding, JudgedAnswer, Pointer, RowNumber, Word
from service.wire.summary import Summary

UnsignedAmount = Annotated[
    str,
    Meta(pattern=r"^[0-9]{1,60}(\.[0-9]{1,4})?(?![\s\S])", description="An amount of money as decimal text."),
]


Percentage = Annotated[str, Meta(pattern=r"^[0-9]{1,3}(\.[0-9]{1,6})?(?![\s\S])", description="Per cent.")]


UnitCode = Annotated[
    str,
    Meta(
        pattern=r"^[A-Z0-9]{2,4}(?![\s\S])",
        description="UN/ECE Recommendation 20, or 21 with an X before it: C62 one, MTR metre, FOT foot, HUR"
        " hour, XRL reel.",
    ),
]


CodeOfTax = Annotated[
    str, Meta(pattern=r"^[A-Za-z0-9._-]{1,20}(?![\s\S])", description="One of `money.taxes`, by its code.")
]


class BillAdjustment(Struct, frozen=True):
    """An allowance, which is taken off, or a charge, which is added (EN 16931 BG-20, BG-21, BG-27, BG-28)."""

    kind: Annotated[Word, Meta(description="allowance or charge")]
    amount: Annotated[UnsignedAmount, Meta(description="Without a sign.")] | UnsetType = UNSET
    name: Name | UnsetType = UNSET
    percent: Percentage | UnsetType = UNSET
    base: Annotated[SignedAmount, Meta(description="Of which it is that per cent.")] | UnsetType = UNSET
    tax: CodeOfTax | UnsetType = UNSET


class BillLine(Struct, frozen=True, kw_only=True):
    """One line of a bill (EN 16931 BG-25); members of money are absent where its price is missing."""

    line: Annotated[int, Meta(ge=1, description="BT-126")]
    kind: Annotated[Word, Meta(description="supply, cable, fixture, lamp, joint, sundry or labour")]
    item: Annotated[CallerId, Meta(description="The row of the catalogue or of `labour` (BT-155).")]
    name: Annotated[str, Meta(description="BT-153")]
    quantity: Annotated[
        str,
        Meta(
            pattern=r"^[0-9]{1,20}(\.[0-9]{1,3})?(?![\s\S])",
            description="As decimal text; lengths are rounded up (BT-129).",
        ),
    ]
    unit_code: Annotated[UnitCode, Meta(description="BT-130")]
    base_quantity: Annotated[
        str,
        Meta(
            pattern=r"^[0-9]{1,9}(\.[0-9]{1,6})?(?![\s\S])",
            description="For how many the unit price is (BT-149).",
        ),
    ]
    tax: CodeOfTax
    pointers: Annotated[
        list[Pointer], Meta(description="Where it stands in the request; 200 at most.", max_length=200)
    ]
    unit_price: Annotated[ShownPrice, Meta(description="Net (BT-146).")] | UnsetType = UNSET
    adjustments: list[BillAdjustment] | UnsetType = UNSET
    net: Annotated[SignedAmount, Meta(description="BT-131")] | UnsetType = UNSET
    why: Annotated[str, Meta(description="How the quantity comes about.")] | UnsetType = UNSET
    ground: Annotated[Name, Meta(description="The kind of ground that it is for.")] | UnsetType = UNSET
    spool: Annotated[ShownLength, Meta(description="Of a cable sold in spools: its length.")] | UnsetType = (
        UNSET
    )
    gtin: Annotated[str, Meta(description="BT-157")] | UnsetType = UNSET


class BillTax(Struct, frozen=True):
    """What is taxable under one code (EN 16931 BT-116), and the tax on it (BT-117)."""

    code: CodeOfTax
    percent: Percentage
    taxable: SignedAmount
    tax: SignedAmount
    name: Name | UnsetType = UNSET


class QuotedCut(Struct, frozen=True):
    """One length to cut."""

    pointer: Annotated[Pointer, Meta(description="To what in the request it is the cable of.")]
    start: Annotated[str, Meta(description="Where it begins.")]
    end: Annotated[str, Meta(description="Where it ends.")]
    length: Annotated[ShownLength, Meta(description="To cut, with all that it takes at its ends.")]
    mark: Annotated[
        str, Meta(description="Of the piece: a letter; parts of one that is joined have it in common.")
    ]
    joined: Annotated[bool, Meta(description="Whether it is a part, joined with the others of its mark.")]


class QuotedSpool(Struct, frozen=True, kw_only=True):
    """So many spools to cut alike, and what is left of each."""

    length: ShownLength
    count: Annotated[int, Meta(ge=1)]
    on_hand: Annotated[bool, Meta(description="Whether it is there already.")]
    cuts: Annotated[list[QuotedCut], Meta(description="In their order.")]
    off_cut: ShownLength
    kept: Annotated[bool, Meta(description="Whether the off-cut is worth keeping, by `cutting.keep_from`.")]


class CableCutList(Struct, frozen=True, kw_only=True):
    """What is laid of one cable, and how it is cut."""

    item: CallerId
    name: str
    conductor: str
    pieces: Annotated[int, Meta(ge=0, description="As they lie, cables side by side counted each.")]
    laid: Annotated[ShownLength, Meta(description="All of them, with allowances.")]
    route: Annotated[ShownLength, Meta(description="The same without allowances.")]
    spools: Annotated[
        list[QuotedSpool], Meta(description="Those on hand first. Of a cable sold by length none are bought.")
    ]
    lengths: Annotated[
        list[QuotedCut], Meta(description="Of a cable sold by length, or without a price: what to cut.")
    ]
    joints: Annotated[int, Meta(ge=0, description="Joints within pieces.")]
    proven: (
        Annotated[bool, Meta(description="Whether no other cut list adds less to the net of the bill.")]
        | UnsetType
    ) = UNSET
    net: (
        Annotated[UnsignedAmount, Meta(description="What its spools and the joints in them add to the bill.")]
        | UnsetType
    ) = UNSET
    at_least: Annotated[UnsignedAmount, Meta(description="No cut list adds less.")] | UnsetType = UNSET


class MetConductor(Struct, frozen=True):
    """Conductors of one size that meet at a joint."""

    conductor: str
    count: Annotated[int, Meta(ge=1)]
    uncut: Annotated[bool, Meta(description="Whether they pass, and are only tapped.")]


class QuotedJoint(Struct, frozen=True, kw_only=True):
    """Joints alike: the conductors of one pole, and the connector for them."""

    kind: Annotated[
        Word,
        Meta(description="fixture-joint where fixtures hang, else run-joint: a branch, a change, a split"),
    ]
    conductors: list[MetConductor]
    poles: Annotated[
        int,
        Meta(
            ge=1, le=2, description="At how many poles just these meet: 1 where a cable has two conductors."
        ),
    ]
    count: Annotated[int, Meta(ge=1, description="Joints.")]
    places: Annotated[list[str], Meta(description="Where they are; 200 at most.", max_length=200)]
    pointers: Annotated[list[Pointer], Meta(max_length=200)]
    item: (
        Annotated[
            CallerId, Meta(description="Absent: no connector of the catalogue is listed for exactly these.")
        ]
        | UnsetType
    ) = UNSET
    connectors: Annotated[int, Meta(ge=1, description="Of that row, for all of them.")] | UnsetType = UNSET


class QuotedFixture(Struct, frozen=True):
    """A fixture and its voltage."""

    pointer: Pointer
    name: str
    voltage: ShownVoltage
    id: CallerId | UnsetType = UNSET
    number: RowNumber | UnsetType = UNSET


class QuotedPart(Struct, frozen=True, kw_only=True):
    """One supply with its wiring as it is laid; members are absent where nothing can be carried."""

    pointer: Pointer
    verdict: Annotated[Word, Meta(description="passes, passes-with-warnings or fails")]
    carried: Annotated[bool, Meta(description="Whether there is an operating point.")]
    id: CallerId | UnsetType = UNSET
    weakest: Annotated[QuotedFixture, Meta(description="In the worst state judged.")] | UnsetType = UNSET
    weakest_with_joints: (
        Annotated[
            ShownVoltage,
            Meta(
                description="Where cable is joined within runs: the lowest of all lamps in the stated state."
            ),
        ]
        | UnsetType
    ) = UNSET
    weakest_without_joints: (
        Annotated[ShownVoltage, Meta(description="The same, were there no joints within runs.")] | UnsetType
    ) = UNSET
    loading_ratio: (
        Annotated[float, Meta(description="Largest share of the supply's rating, where that is known.")]
        | UnsetType
    ) = UNSET
    spare: Annotated[ShownApparentPower, Meta(description="Left of the rating.")] | UnsetType = UNSET
    cable_loss: ShownRealPower | UnsetType = UNSET
    winding_loss: ShownRealPower | UnsetType = UNSET


class QuoteBill(Struct, frozen=True, kw_only=True):
    """The bill of one alternative; without `total` where a fault forbids it."""

    alternative: CallerId
    pointer: Pointer
    status: Annotated[Word, Meta(description="quoted or not-quotable")]
    verdict: Annotated[Word, Meta(description="passes, passes-with-warnings or fails")]
    lines: list[BillLine]
    adjustments: Annotated[list[BillAdjustment], Meta(description="Of the whole bill.")]
    taxes: list[BillTax]
    cut_list: list[CableCutList]
    joints: list[QuotedJoint]
    electrical: Annotated[list[QuotedPart], Meta(description="Part by part.")]
    name: Name | UnsetType = UNSET
    line_total: Annotated[SignedAmount, Meta(description="Of all lines (BT-106).")] | UnsetType = UNSET
    net: Annotated[SignedAmount, Meta(description="With adjustments (BT-109).")] | UnsetType = UNSET
    tax: Annotated[SignedAmount, Meta(description="BT-110")] | UnsetType = UNSET
    total: Annotated[SignedAmount, Meta(description="BT-112, not rounded again.")] | UnsetType = UNSET
    prepaid: Annotated[UnsignedAmount, Meta(description="BT-113")] | UnsetType = UNSET
    payable: Annotated[SignedAmount, Meta(description="BT-115")] | UnsetType = UNSET


class ComparedAlternative(Struct, frozen=True, kw_only=True):
    """An alternative beside the others; what is not known is absent."""

    alternative: CallerId
    status: Word
    name: Name | UnsetType = UNSET
    total: SignedAmount | UnsetType = UNSET
    beside_cheapest: (
        Annotated[SignedAmount, Meta(description="Total beyond that of the cheapest.")] | UnsetType
    ) = UNSET
    weakest: Annotated[ShownVoltage, Meta(description="Of all its lamps.")] | UnsetType = UNSET
    spare: Annotated[ShownApparentPower, Meta(description="Least of its supplies.")] | UnsetType = UNSET
    lost: Annotated[ShownRealPower, Meta(description="In cable and windings.")] | UnsetType = UNSET


class QuoteReply(JudgedAnswer, frozen=True):
    """A bill for each alternative; pointers are into the request, and say which one they are about."""

    status: Annotated[
        Code,
        Meta(
            description="quoted: every bill has its total; not-quotable: a bill has a fault, and each says"
            " its own."
        ),
    ]
    summary: Summary
    currency: Currency
    bills: Annotated[list[QuoteBill], Meta(description="In the order of the request.")]
    comparison: list[ComparedAlternative]
    findings: list[Finding]
    valid_until: (
        Annotated[
            str,
            Meta(
                pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}(?![\s\S])",
                description="`issued_on` and `valid_days` later.",
            ),
        ]
        | UnsetType
    ) = UNSET
    valid_days: (
        Annotated[
            int,
            Meta(
                ge=0,
                description="As sent, from the day of issue. Without `issued_on` the service, which has no"
                " clock, cannot say until when: papers say the days.",
            ),
        ]
        | UnsetType
    ) = UNSET
