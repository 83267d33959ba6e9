"""`POST /v1/transformer-loading`: what is asked."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, UnsetType

from service.wire.job import Accept, JobRequest
from service.wire.money import Currency
from service.wire.stock import StockTransformer

MAXIMUM_STOCK = 100
"""Transformers in one stock."""


ShareOfRating = Annotated[float, Meta(description="As a share of the rating, where the rating is known.")]


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
