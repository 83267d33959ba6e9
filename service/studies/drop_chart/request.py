"""`/v1/drop-chart`: what is asked, by a body or by an address."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.units import bound_in
from service.wire.cable import Cable, ConductorName
from service.wire.job import DropPercent, LengthUnits, Limits, OwnSheet
from service.wire.quantities import (
    CallerId,
    Length,
    Name,
    PowerFactor,
    RealPower,
    SecondaryVoltage,
    Temperature,
)
from service.wire.wiring import FixtureVoltage


class ChartCable(Struct, frozen=True, forbid_unknown_fields=True):
    """One cable of the chart."""

    cable: Cable
    name: Annotated[Name, Meta(description="Left out: its conductor.")] | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET


class DropChartRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """Loads of constant power and lengths, each load at each length on each cable."""

    cables: Annotated[list[ChartCable], Meta(min_length=1, max_length=12)]
    powers: Annotated[
        list[RealPower], Meta(min_length=1, max_length=40, description="Each the whole load of one cable.")
    ]
    lengths: Annotated[list[Length], Meta(min_length=1, max_length=40)]
    open_circuit: Annotated[
        SecondaryVoltage, Meta(description="At the start of the cables; it does not sag with load.")
    ]
    title: Annotated[Name, Meta(description="Stands over the drawing.")] | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET
    nominal_voltage: FixtureVoltage | UnsetType = UNSET
    power_factor: PowerFactor | UnsetType = UNSET
    conductor_temperature: (
        Annotated[Temperature, Meta(description="Left out: 20 °C (`conductor-20-degrees`).")] | UnsetType
    ) = UNSET
    limits: Limits | UnsetType = UNSET
    units: LengthUnits | UnsetType = UNSET
    sheet: OwnSheet | UnsetType = UNSET


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
