"""`POST /v1/gauge-recommendation`: which cables are open, what may fill them, and what is recommended."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.messages.bounds import bounded
from service.messages.cable import ConductorName, Material, Stranding
from service.messages.job import JobRequest
from service.messages.money import Amount, Currency, ShownAmount
from service.messages.quantities import Length
from service.messages.reply import Assumption, Caution, Code, Finding, Pointer, SourceNote, Subject, Word
from service.messages.shown import ShownLength, ShownQuantity, ShownRealPower, ShownVoltage
from service.messages.wiring import Wiring
from service.messages.words import CallerId, Name


class SpoolLength(Length, frozen=True, forbid_unknown_fields=True):
    """The length of a spool."""

    value: Annotated[float, bounded("length", 0.1, 100_000, "Length of cable on the spool.")]


class PricePerLength(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="per-length"):
    """A cable sold by length."""

    amount: Amount
    per: Literal["m", "ft"]


class SpoolPrice(Struct, frozen=True, forbid_unknown_fields=True):
    """One spool and what it costs."""

    length: SpoolLength
    amount: Amount


class PricePerSpool(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="per-spool"):
    """A cable sold in whole spools, joined end to end where one is too short."""

    spools: Annotated[list[SpoolPrice], Meta(min_length=1, max_length=4)]


Price = PricePerLength | PricePerSpool


class StockCable(Struct, frozen=True, forbid_unknown_fields=True):
    """One cable of the caller's stock: copper and stranded unless said otherwise."""

    id: CallerId
    conductor: ConductorName
    name: Name | UnsetType = UNSET
    material: Material | UnsetType = UNSET
    stranding: Stranding | UnsetType = UNSET
    price: Price | UnsetType = UNSET


class GaugeRecommendationRequest(JobRequest, frozen=True, forbid_unknown_fields=True):
    """A job whose cables are to be chosen; what stands in the open places only says where they are."""

    open: (
        Annotated[
            list[Annotated[str, Meta(max_length=200, pattern=r"^/[\x21-\x7E]{1,199}(?![\s\S])")]],
            Meta(
                max_length=500,
                description="JSON Pointers to the `cable` members to be chosen. Left out: all of the wiring.",
            ),
        ]
        | UnsetType
    ) = UNSET
    stock: (
        Annotated[
            list[StockCable],
            Meta(
                min_length=1, max_length=40, description="Left out: the sizes of `family`, stranded copper."
            ),
        ]
        | UnsetType
    ) = UNSET
    family: (
        Annotated[
            Literal["awg", "metric"],
            Meta(description="Sizes to choose from without a stock. Left out: as the first length."),
        ]
        | UnsetType
    ) = UNSET
    scope: (
        Annotated[
            Literal["one", "per-run", "per-span"],
            Meta(description="One size for all, one for each cable, or one for each span. Left out: one."),
        ]
        | UnsetType
    ) = UNSET
    taps: (
        Annotated[
            Literal["keep", "choose"],
            Meta(description="Whether the taps of `supply.taps` are chosen as well. Left out: keep."),
        ]
        | UnsetType
    ) = UNSET
    currency: Currency | UnsetType = UNSET


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


class PurchaseLine(Struct, frozen=True):
    """What to buy of one cable."""

    conductor: str
    quantity: ShownLength
    stock_id: CallerId | UnsetType = UNSET
    spools: list[SpoolCount] | UnsetType = UNSET
    line_total: ShownAmount | UnsetType = UNSET


class RemedyRow(Struct, frozen=True):
    """One thing that might help, solved with the thickest cable of the stock unless it names another."""

    code: Code
    message: str
    outcome: Outcome
    subject: Subject
    parameter: str | UnsetType = UNSET


class Recommended(Struct, frozen=True, tag_field="status", tag="recommended"):
    """The best choice, and the wiring with it, ready to be posted to voltage-drop."""

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
    assumptions: list[Assumption]
    sources: list[SourceNote]
    cautions: list[Caution]
    calculation_version: str
    tables_version: str
    request_sha256: str
    id: CallerId | UnsetType = UNSET
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


class NonePasses(Struct, frozen=True, tag_field="status", tag="none-passes"):
    """No choice keeps every limit; what each breaks, and what would help."""

    objective: Word
    compared: list[ComparedCable]
    remedies: list[RemedyRow]
    assumptions: list[Assumption]
    sources: list[SourceNote]
    cautions: list[Caution]
    calculation_version: str
    tables_version: str
    request_sha256: str
    id: CallerId | UnsetType = UNSET
    currency: Currency | UnsetType = UNSET


GaugeRecommendationReply = Recommended | NonePasses
