"""`POST /v1/transformer-loading`: what is asked."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.job import Accept, JobRequest
from service.wire.money import Amount, Currency
from service.wire.quantities import (
    CallerId,
    Name,
    Percent,
    Rating,
)
from service.wire.supply import Circuits, MinimumLoad, Taps

MAXIMUM_STOCK = 100
"""Transformers in one stock."""


ShareOfRating = Annotated[float, Meta(description="As a share of the rating, where the rating is known.")]


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


class TransformerLoadingRequest(JobRequest, frozen=True, forbid_unknown_fields=True):
    """A supply and its wiring, whose loading is to be known and whose transformer is to be chosen."""

    spare_percent: (
        Annotated[
            float,
            Meta(
                ge=0,
                le=100,
                description="What the transformer is to have to spare above the connected volt-amperes."
                " Left out: 10, common practice (`spare-10-percent`). One that is asked for and not met"
                " fails (`rating-below-connected`); the 10 that nobody asked for are advice, and where none"
                " passes with them one that passes without is recommended (`usual-spare-not-met`).",
            ),
        ]
        | UnsetType
    ) = UNSET
    maximum_loading_percent: (
        Annotated[
            float,
            Meta(
                ge=1,
                le=100,
                description="Largest share of its rating to which the transformer may be loaded, by its"
                " plates and as solved, in volt-amperes or in current, whichever is more. 80 is a"
                " habit of the trade, not a rule. Left out: 100.",
            ),
        ]
        | UnsetType
    ) = UNSET
    stock: (
        Annotated[
            list[StockTransformer],
            Meta(
                min_length=1,
                max_length=MAXIMUM_STOCK,
                description="What may be chosen. Left out: the usual ratings (`usual-ratings`).",
            ),
        ]
        | UnsetType
    ) = UNSET
    currency: Currency | UnsetType = UNSET
    accept: Accept | UnsetType = UNSET
