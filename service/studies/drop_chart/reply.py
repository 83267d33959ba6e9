"""`/v1/drop-chart`: what is answered."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import (
    CallerId,
    ShownCurrent,
    ShownLength,
    ShownRealPower,
    ShownVoltage,
)
from service.wire.reply import Answer, Pointer, Word

Verdict = Annotated[
    Word,
    Meta(
        description="`inside`; `low` or `high`, outside what the trade goes by; `below` or `above`, outside"
        " the window; `over-drop`; `over-ampacity`. The gravest alone is said."
    ),
]


class CarriedLoad(Struct, frozen=True, tag_field="outcome", tag="carried"):
    """The cable carries the load."""

    end_voltage: Annotated[ShownVoltage, Meta(description="At the far end.")]
    drop_percent: Annotated[float, Meta(description="Lost in the cable, over the open-circuit voltage.")]
    current: Annotated[ShownCurrent, Meta(description="Rms, into the cable.")]
    verdict: Verdict


class UncarriedLoad(Struct, frozen=True, tag_field="outcome", tag="collapsed"):
    """The cable cannot carry the load at any voltage; no number is shown."""


ChartEnd = CarriedLoad | UncarriedLoad


class ShortcutEnd(Struct, frozen=True):
    """What the trade's constant makes of the same load and length."""

    end_voltage: Annotated[
        ShownVoltage, Meta(description="Open circuit minus watts times feet over the constant.")
    ]
    minus_lumped: (
        Annotated[
            ShownVoltage,
            Meta(description="By how much it flatters a load at the end. Left out where that collapses."),
        ]
        | UnsetType
    ) = UNSET
    minus_evenly_spread: (
        Annotated[ShownVoltage, Meta(description="The same beside an even spread.")] | UnsetType
    ) = UNSET


class ChartCell(Struct, frozen=True):
    """One load at one length."""

    power: ShownRealPower
    length: ShownLength
    lumped: Annotated[ChartEnd, Meta(description="All of the load at the far end: the cautious layout.")]
    evenly_spread: Annotated[
        ChartEnd,
        Meta(
            description="The load spread evenly and without gaps from the supply to the far end: solved along"
            " the cable, not as lumps, and right to all decimals that are shown."
        ),
    ]
    shortcut: ShortcutEnd | UnsetType = UNSET


class CableConstant(Struct, frozen=True):
    """What the trade divides watts times feet by."""

    value: float
    unit: Literal["W.ft/V"]


class ChartedCable(Struct, frozen=True):
    """One cable: load by load in the order of the request, each at every length."""

    pointer: Pointer
    name: str
    conductor: str
    cells: list[ChartCell]
    id: CallerId | UnsetType = UNSET
    ampacity: (
        Annotated[ShownCurrent, Meta(description="Left out where no table lists it; check with the maker.")]
        | UnsetType
    ) = UNSET
    installation_method: (
        Annotated[str, Meta(description="How the cable is laid for that ampacity.")] | UnsetType
    ) = UNSET
    shortcut_constant: (
        Annotated[
            CableConstant,
            Meta(description="Left out where the trade has none, or the fixtures are not 12 V."),
        ]
        | UnsetType
    ) = UNSET


class ChartLimits(Struct, frozen=True):
    """By what the ends are judged."""

    below: Annotated[ShownVoltage, Meta(description="A lower end is `below`: the fixture may not work.")]
    low: Annotated[ShownVoltage, Meta(description="A lower end is `low`.")]
    high: Annotated[ShownVoltage, Meta(description="A higher end is `high`.")]
    above: Annotated[ShownVoltage, Meta(description="A higher end is `above`.")]
    source: Annotated[str, Meta(description="Id of the source of the window; see sources.")]
    maximum_drop_percent: float | UnsetType = UNSET
    over_drop: (
        Annotated[ShownVoltage, Meta(description="What that leaves: a lower end is `over-drop`.")] | UnsetType
    ) = UNSET


class ShownTemperature(Struct, frozen=True):
    """A temperature."""

    value: float
    unit: Literal["degC"]


class ChartAnswer(Answer, frozen=True, kw_only=True):
    """What closes a chart: beyond the usual its title."""

    title: str | UnsetType = UNSET
    shortcut_note: (
        Annotated[str, Meta(description="What the shortcut is worth, where there is one.")] | UnsetType
    ) = UNSET


class DropChartReply(ChartAnswer, frozen=True):
    """The chart."""

    open_circuit: ShownVoltage
    nominal_voltage: Annotated[ShownVoltage, Meta(description="Of the fixtures.")]
    conductor_temperature: ShownTemperature
    power_factor: float
    limits: ChartLimits
    cables: list[ChartedCable]
