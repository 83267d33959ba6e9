"""What every study is asked with: a supply, its wiring, and the conditions and limits that hold."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.messages.conditions import Conditions
from service.messages.sheet import OwnSheet
from service.messages.supply import Supply
from service.messages.wiring import Wiring
from service.messages.words import CallerId

DropPercent = Annotated[
    float,
    Meta(ge=0.1, le=100, description="Largest cable drop, in per cent of the rated secondary voltage."),
]


class Limits(Struct, frozen=True, forbid_unknown_fields=True):
    """The caller's own policy."""

    maximum_drop_percent: DropPercent | UnsetType = UNSET


class JobRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """A supply and its wiring."""

    supply: Supply
    wiring: Wiring
    id: CallerId | UnsetType = UNSET
    limits: Limits | UnsetType = UNSET
    conditions: Conditions | UnsetType = UNSET
    units: (
        Annotated[
            Literal["us", "metric"],
            Meta(description="Of lengths in the reply. Left out: as the first length in the request."),
        ]
        | UnsetType
    ) = UNSET
    sheet: OwnSheet | UnsetType = UNSET
