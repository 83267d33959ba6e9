"""`GET /v1/drop-chart`: a chart as the parameters of an address."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.messages.cable import ConductorName
from service.messages.job import DropPercent
from service.messages.words import PowerFactor
from service.units import bound_in

_FEET = Annotated[float, Meta(ge=0, le=bound_in(100_000, "ft"))]
_METRES = Annotated[float, Meta(ge=0, le=100_000)]


class DropChartQuery(Struct, frozen=True, forbid_unknown_fields=True):
    """The parameters; lists of numbers have commas between, conductors stand one in each parameter."""

    conductor: Annotated[
        list[ConductorName],
        Meta(min_length=1, max_length=6, description="Stranded copper. Repeat the parameter for several."),
    ]
    watts: Annotated[
        list[Annotated[float, Meta(ge=0, le=100_000)]],
        Meta(
            min_length=1,
            max_length=20,
            description="Loads of constant power, each the whole load of a cable.",
        ),
    ]
    volts: Annotated[
        float,
        Meta(ge=0.001, le=30, description="At the start of the cables; it does not sag with load."),
    ]
    feet: (
        Annotated[
            list[_FEET],
            Meta(
                min_length=1,
                max_length=20,
                description="Lengths, one way along the route. Exactly one of `feet` and `metres` is needed.",
            ),
        ]
        | UnsetType
    ) = UNSET
    metres: (
        Annotated[
            list[_METRES],
            Meta(min_length=1, max_length=20, description="Lengths, one way along the route."),
        ]
        | UnsetType
    ) = UNSET
    nominal_volts: (
        Annotated[
            float,
            Meta(
                ge=12,
                le=24,
                multiple_of=3,
                description="Of the fixtures. Left out: 12 V (`fixtures-12-volt`).",
            ),
        ]
        | UnsetType
    ) = UNSET
    power_factor: (
        Annotated[PowerFactor, Meta(description="Left out: 1 (`power-factor-one`).")] | UnsetType
    ) = UNSET
    temperature_degc: (
        Annotated[
            float,
            Meta(
                ge=-40,
                le=90,
                description="Of the conductors. Left out: 20 °C (`conductor-20-degrees`).",
            ),
        ]
        | UnsetType
    ) = UNSET
    maximum_drop_percent: (
        Annotated[DropPercent, Meta(description="Largest cable drop, in per cent of `volts`.")] | UnsetType
    ) = UNSET
