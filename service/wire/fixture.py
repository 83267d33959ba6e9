"""Fixtures and how they draw."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.cable import Cable
from service.wire.quantities import (
    ApparentPower,
    CallerId,
    Count,
    Current,
    ItemId,
    LampVoltage,
    Length,
    LoopResistancePerLength,
    Name,
    PowerFactor,
    PowerPerLength,
    RealPower,
    Resistance,
)


class ConstantPower(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="constant-power"):
    """An electronic driver inside its window: the same watts at any voltage."""

    power: RealPower
    power_factor: PowerFactor | UnsetType = UNSET
    apparent_power: ApparentPower | UnsetType = UNSET


class ConstantCurrent(
    Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="constant-current"
):
    """A linear regulator: the same rms current at any voltage."""

    current: Current
    power_factor: PowerFactor | UnsetType = UNSET


class ConstantResistance(
    Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="constant-resistance"
):
    """A resistor that draws its power at its rated voltage."""

    power: RealPower
    rated_voltage: LampVoltage


class Filament(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="filament"):
    """A halogen or incandescent lamp: its current goes with V^0.55."""

    power: RealPower
    rated_voltage: LampVoltage


class Zip(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="zip"):
    """A mixture of the three constant kinds, each in watts at the rated voltage."""

    constant_power_part: RealPower
    constant_current_part: RealPower
    constant_resistance_part: RealPower
    rated_voltage: LampVoltage


class Strip(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="strip"):
    """A light strip fed at one end: the same watts on each length of it at any voltage."""

    length: Annotated[Length, Meta(description="Of one strip, from where it is fed to its far end.")]
    power_per_length: PowerPerLength
    resistance_per_length: (
        Annotated[
            LoopResistancePerLength,
            Meta(
                description="Of the strip itself, both rails together. Left out: none, so that its far end"
                " stands at the voltage of its start."
            ),
        ]
        | UnsetType
    ) = UNSET


Load = ConstantPower | ConstantCurrent | ConstantResistance | Filament | Zip


FixtureLoad = ConstantPower | ConstantCurrent | ConstantResistance | Filament | Zip | Strip


class Window(Struct, frozen=True, forbid_unknown_fields=True):
    """The lowest and the highest voltage that a fixture is made for."""

    minimum: LampVoltage
    maximum: LampVoltage


class Lead(Struct, frozen=True, forbid_unknown_fields=True):
    """The factory pigtail of a fixture."""

    length: Length
    cable: Cable
    item: (
        Annotated[
            ItemId,
            Meta(
                description="The cable of a quote's `catalogue` that the lead is cut from. Left out: it comes"
                " with the fixture."
            ),
        ]
        | UnsetType
    ) = UNSET


PointCount = Annotated[
    Count,
    Meta(description="How many. Left out: 1. Without `spacing` all stand at one point, in one reply row."),
]


OwnWindow = Annotated[Window, Meta(description="Left out: common practice decides (`window-default`).")]


OwnLead = Annotated[Lead, Meta(description="Left out: the lamp hangs at the cable itself.")]


SpliceResistance = Annotated[Resistance, Meta(description="Of the joint, both conductors. Left out: none.")]


FixtureItem = Annotated[
    ItemId, Meta(description="The fixture of a quote's `catalogue`; other studies carry it along.")
]


LampItem = Annotated[
    ItemId,
    Meta(
        description="The lamp of a quote's `catalogue` that goes into it. Left out: none is bought beside the"
        " fixture."
    ),
]


FixtureInput = Literal["ac", "dc", "either"]


OwnInput = Annotated[FixtureInput, Meta(description="What the fixture is made for. Left out: either.")]


class FixtureType(Struct, frozen=True, forbid_unknown_fields=True):
    """What fixtures of one type have in common; a member of the fixture itself goes before it."""

    id: Annotated[CallerId, Meta(description="By which fixtures name it as their `type`.")]
    load: FixtureLoad
    name: Annotated[Name, Meta(description="What fixtures without a name are called by.")] | UnsetType = UNSET
    window: OwnWindow | UnsetType = UNSET
    lead: OwnLead | UnsetType = UNSET
    input: OwnInput | UnsetType = UNSET
    item: FixtureItem | UnsetType = UNSET
    lamp: LampItem | UnsetType = UNSET


TypeId = Annotated[
    CallerId,
    Meta(description="One of `wiring.fixture_types`, which gives whatever the fixture itself leaves out."),
]


OwnLoad = Annotated[FixtureLoad, Meta(description="How it draws. Left out: that of its `type`.")]


class FixtureLine(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One fixture, or `count` alike: with `spacing` one after another, without it all at one point."""

    at: Annotated[Length, Meta(description="From the start of its own run, branch or spur.")]
    load: OwnLoad | UnsetType = UNSET
    type: TypeId | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET
    name: Name | UnsetType = UNSET
    count: PointCount | UnsetType = UNSET
    spacing: Annotated[Length, Meta(description="Each so much farther along.")] | UnsetType = UNSET
    window: OwnWindow | UnsetType = UNSET
    lead: OwnLead | UnsetType = UNSET
    splice_resistance: SpliceResistance | UnsetType = UNSET
    input: OwnInput | UnsetType = UNSET
    item: FixtureItem | UnsetType = UNSET
    lamp: LampItem | UnsetType = UNSET


class PointFixture(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One fixture, or `count` alike, at a named point of a graph of spans."""

    point: Name
    load: OwnLoad | UnsetType = UNSET
    type: TypeId | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET
    name: Name | UnsetType = UNSET
    count: PointCount | UnsetType = UNSET
    window: OwnWindow | UnsetType = UNSET
    lead: OwnLead | UnsetType = UNSET
    splice_resistance: SpliceResistance | UnsetType = UNSET
    input: OwnInput | UnsetType = UNSET
    item: FixtureItem | UnsetType = UNSET
    lamp: LampItem | UnsetType = UNSET
