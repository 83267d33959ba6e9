"""`POST /v1/gauge-recommendation`: what is asked."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, UnsetType

from service.wire.job import Accept, JobRequest
from service.wire.money import Currency
from service.wire.stock import CableStock, OwnCutting, StockFamily

ChoiceScope = Literal["one", "per-run", "per-span"]


TapChoice = Literal["keep", "choose"]


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
    stock: CableStock | UnsetType = UNSET
    family: StockFamily | UnsetType = UNSET
    scope: (
        Annotated[
            ChoiceScope,
            Meta(description="One size for all, one for each cable, or one for each span. Left out: one."),
        ]
        | UnsetType
    ) = UNSET
    taps: (
        Annotated[
            TapChoice,
            Meta(description="Whether the taps of `supply.taps` are chosen as well. Left out: keep."),
        ]
        | UnsetType
    ) = UNSET
    accept: Accept | UnsetType = UNSET
    currency: Currency | UnsetType = UNSET
    cutting: OwnCutting | UnsetType = UNSET
