"""`POST /v1/gauge-recommendation`: what is answered."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.conditions import Conditions
from service.wire.money import Currency, ShownAmount
from service.wire.quantities import (
    CallerId,
    ShownLength,
    ShownQuantity,
    ShownRealPower,
    ShownVoltage,
)
from service.wire.reply import Code, Finding, JudgedAnswer, Pointer, Subject, Word
from service.wire.summary import LoadSummary
from service.wire.supply import Supply
from service.wire.wiring import Wiring


class ShownMetal(Struct, frozen=True):
    """A volume of metal: cross-section times length, all conductors together."""

    value: float
    unit: Literal["mm2.m"]


class BrokenLimit(Struct, frozen=True):
    """A limit that a choice breaks."""

    code: Code
    subject: Subject
    measured: ShownQuantity | UnsetType = UNSET
    limit: ShownQuantity | UnsetType = UNSET


class Outcome(Struct, frozen=True):
    """What a choice does, over every corner asked for; members are absent where nothing can be carried."""

    passes: bool
    breaks: list[BrokenLimit]
    lowest_voltage: ShownVoltage | UnsetType = UNSET
    highest_voltage: ShownVoltage | UnsetType = UNSET
    drop_percent: float | UnsetType = UNSET
    cable_loss: ShownRealPower | UnsetType = UNSET
    taps: (
        Annotated[
            list[ShownVoltage],
            Meta(description="Where the taps are open: those used, in the order of what leaves the supply."),
        ]
        | UnsetType
    ) = UNSET
    loading_ratio: (
        Annotated[float, Meta(description="Largest share of the supply's rating, where that is known.")]
        | UnsetType
    ) = UNSET


class ComparedCable(Struct, frozen=True):
    """One candidate in every open place."""

    conductor: str
    outcome: Outcome
    stock_id: CallerId | UnsetType = UNSET
    price: ShownAmount | UnsetType = UNSET


class ChosenCable(Struct, frozen=True):
    """What was chosen for one cable of the request, or for one span of it."""

    pointer: Pointer
    start: Annotated[str, Meta(description="Where this choice begins.")]
    end: Annotated[str, Meta(description="Where it ends.")]
    length: ShownLength
    conductor: str
    stock_id: CallerId | UnsetType = UNSET


class ChosenTap(Struct, frozen=True):
    """The tap that was chosen for one run or one span that leaves the supply."""

    pointer: Pointer
    tap: ShownVoltage


class SpoolCount(Struct, frozen=True):
    """How many spools of one length."""

    length: ShownLength
    count: Annotated[int, Meta(ge=1)]


class CutPiece(Struct, frozen=True):
    """One length to cut, and where it lies."""

    pointer: Annotated[Pointer, Meta(description="To the cable in the request that it is for.")]
    start: Annotated[str, Meta(description="Where the piece that it is for, or a part of, begins.")]
    end: Annotated[str, Meta(description="Where that piece ends.")]
    length: ShownLength
    joined: Annotated[bool, Meta(description="Whether it is only a part, to be joined with others.")]


class SpoolCuts(Struct, frozen=True):
    """So many spools to cut alike, in the order of the pieces, and what is left of each."""

    length: ShownLength
    count: Annotated[int, Meta(ge=1)]
    pieces: list[CutPiece]
    off_cut: ShownLength


class PurchaseLine(Struct, frozen=True):
    """What to buy of one cable."""

    conductor: str
    quantity: ShownLength
    stock_id: CallerId | UnsetType = UNSET
    spools: list[SpoolCount] | UnsetType = UNSET
    line_total: ShownAmount | UnsetType = UNSET
    cut_list: (
        Annotated[
            list[SpoolCuts], Meta(description="Which piece from which spool; where it is sold in spools.")
        ]
        | UnsetType
    ) = UNSET
    joints: Annotated[int, Meta(ge=0, description="How often pieces are joined.")] | UnsetType = UNSET
    proven: (
        Annotated[bool, Meta(description="Whether no other spools for these pieces cost less.")] | UnsetType
    ) = UNSET
    at_least: (
        Annotated[ShownAmount, Meta(description="No spools for these pieces cost less; where not proven.")]
        | UnsetType
    ) = UNSET


class RemedyChange(Struct, frozen=True):
    """One thing to change, and the run of the request where."""

    code: Code
    message: str
    subject: Subject
    parameter: str | UnsetType = UNSET


class RemedyRow(Struct, frozen=True, kw_only=True):
    """What would help: all its changes together, with the cheapest cables of the stock that were found.

    One that passes has what to post to voltage-drop; of one that does not the message says so.
    """

    code: Code
    message: str
    outcome: Annotated[Outcome, Meta(description="Of the changed `wiring`; pointers are into that.")]
    subject: Annotated[Subject, Meta(description="The run of the request, or what has several.")]
    changes: Annotated[list[RemedyChange], Meta(description="Run by run.")]
    more_cable: Annotated[
        ShownLength, Meta(description="All cable of the changed wiring less that of the request.")
    ]
    purchase: Annotated[list[PurchaseLine], Meta(description="All open cable of the changed wiring.")]
    wiring: (
        Annotated[
            Wiring,
            Meta(
                description="The changed wiring; with the judged conditions it posts to voltage-drop. Absent"
                " where `detail` is `summary`."
            ),
        ]
        | UnsetType
    ) = UNSET
    parameter: str | UnsetType = UNSET
    judged_conditions: (
        Annotated[
            Conditions,
            Meta(description="Where it passes under these alone, as stated, and not over the range."),
        ]
        | UnsetType
    ) = UNSET
    supply: Annotated[Supply, Meta(description="The changed supply. Left out: it stays.")] | UnsetType = UNSET
    total: (
        Annotated[
            ShownAmount,
            Meta(description="Of all cable to buy, where each has a price; a box or fixtures are not in it."),
        ]
        | UnsetType
    ) = UNSET


OwnJudgedConditions = Annotated[
    Conditions,
    Meta(
        description="The conditions that it was judged under, complete: with the supply and the wiring they"
        " can be posted to voltage-drop as they are."
    ),
]


class RecommendedAnswer(JudgedAnswer, frozen=True, kw_only=True):
    """What closes a recommendation: beyond the usual taps and money."""

    judged_conditions: OwnJudgedConditions
    taps: list[ChosenTap] | UnsetType = UNSET
    total: ShownAmount | UnsetType = UNSET
    least_possible_total: (
        Annotated[
            ShownAmount, Meta(description="No choice costs less; where the price was sought and not proven.")
        ]
        | UnsetType
    ) = UNSET
    least_possible_metal: (
        Annotated[
            ShownMetal, Meta(description="No choice takes less; where metal was sought and not proven.")
        ]
        | UnsetType
    ) = UNSET
    currency: Currency | UnsetType = UNSET


class Recommended(RecommendedAnswer, frozen=True, tag_field="status", tag="recommended"):
    """The best choice, and the wiring with it, ready to be posted to voltage-drop."""

    summary: LoadSummary
    objective: Annotated[
        Code, Meta(description="least-price, or least-metal where not every cable has a price")
    ]
    method: Annotated[Word, Meta(description="exact, or best-found where the work ran out")]
    outcome: Outcome
    chosen: list[ChosenCable]
    wiring: Wiring
    compared: list[ComparedCable]
    purchase: list[PurchaseLine]
    findings: list[Finding]


class NonePassesAnswer(JudgedAnswer, frozen=True, kw_only=True):
    """What closes a choice of which none passes."""

    judged_conditions: OwnJudgedConditions
    currency: Currency | UnsetType = UNSET


class NothingChosen(NonePassesAnswer, frozen=True, kw_only=True):
    """What is told where nothing is recommended."""

    summary: LoadSummary
    objective: Word
    compared: list[ComparedCable]
    remedies: Annotated[
        list[RemedyRow],
        Meta(
            description="What passes, the cheapest first, what has no price here last, then what passes as"
            " stated alone (with `judged_conditions` of its own); where nothing does the nearest of what was"
            " tried, whose `outcome` says what it still breaks. Fewer watts are not told"
            " below 20 %."
        ),
    ]
    remedies_untried: Annotated[
        list[Code],
        Meta(
            description="Kinds of remedies that the work of one request did not reach the end of; they may"
            " help. None: all were tried."
        ),
    ]
    findings: Annotated[
        list[Finding],
        Meta(
            description="What no cable and no tap removes, and pieces of cable that the spools on offer"
            " cannot hold."
        ),
    ]


class NonePasses(NothingChosen, frozen=True, kw_only=True, tag_field="status", tag="none-passes"):
    """No choice keeps every limit; what each breaks, and what would help."""


class NoneFound(NothingChosen, frozen=True, kw_only=True, tag_field="status", tag="none-found"):
    """The work of one request ended before a choice was found that keeps every limit; there may be one."""


GaugeRecommendationReply = Recommended | NonePasses | NoneFound
