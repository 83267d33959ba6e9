"""What may be chosen: cable and transformers in stock, how they are sold, and how cable is cut."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.cable import ConductorName, OwnMaterial, OwnStranding
from service.wire.money import Amount
from service.wire.quantities import CallerId, Length, Name, Percent, Rating, ShownLengthUnit, bounded
from service.wire.supply import Circuits, MinimumLoad, Taps


class SpoolLength(Length, frozen=True, forbid_unknown_fields=True):
    """The length of a spool."""

    value: Annotated[float, bounded("length", 0.1, 100_000, "Length of cable on the spool.")]


ConductorFamily = Literal["awg", "metric"]


JointPlaces = Literal["nowhere", "anywhere"]


class Cutting(Struct, frozen=True, forbid_unknown_fields=True):
    """How cable is cut from spools."""

    joints: Annotated[
        JointPlaces,
        Meta(
            description="Where a piece may be joined from several spools. A piece is a run, a branch or a"
            " spur as far as it has one cable, a return leg, or a span."
        ),
    ]


class PricePerLength(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="per-length"):
    """A cable sold by length."""

    amount: Amount
    per: ShownLengthUnit


class SpoolPrice(Struct, frozen=True, forbid_unknown_fields=True):
    """One spool and what it costs."""

    length: SpoolLength
    amount: Amount


class PricePerSpool(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="per-spool"):
    """A cable sold in whole spools."""

    spools: Annotated[list[SpoolPrice], Meta(min_length=1, max_length=4)]


Price = PricePerLength | PricePerSpool


class StockCable(Struct, frozen=True, forbid_unknown_fields=True):
    """One cable of the caller's stock: copper and stranded unless stated otherwise."""

    id: CallerId
    conductor: ConductorName
    name: Name | UnsetType = UNSET
    material: OwnMaterial | UnsetType = UNSET
    stranding: OwnStranding | UnsetType = UNSET
    price: Price | UnsetType = UNSET


CableStock = Annotated[
    list[StockCable],
    Meta(
        min_length=1,
        max_length=40,
        description="Left out: the sizes of `family` in which cable is laid, stranded copper.",
    ),
]


StockFamily = Annotated[
    ConductorFamily,
    Meta(description="Sizes to choose from without a stock. Left out: as the first length."),
]


OwnCutting = Annotated[
    Cutting,
    Meta(description="Left out: each piece is cut from one spool (`cut-in-one-piece`)."),
]


class StockTransformer(Struct, frozen=True, forbid_unknown_fields=True):
    """One transformer that may be chosen."""

    id: CallerId
    rating: Rating
    taps: Annotated[Taps, Meta(description="Every voltage that it offers.")]
    name: Name | UnsetType = UNSET
    regulation_percent: (
        Annotated[
            Percent,
            Meta(description="Left out: its voltage does not sag with load (`stock-without-regulation`)."),
        ]
        | UnsetType
    ) = UNSET
    circuits: (
        Annotated[
            Circuits,
            Meta(description="Left out: one circuit, whose device is not known (`stock-without-circuits`)."),
        ]
        | UnsetType
    ) = UNSET
    minimum_load: MinimumLoad | UnsetType = UNSET
    price: Amount | UnsetType = UNSET
