"""What feeds the wiring."""

from __future__ import annotations

from typing import Annotated, Final

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import (
    DeviceCurrent,
    DirectRating,
    DirectVoltage,
    ItemId,
    Length,
    MainsVoltage,
    Name,
    Percent,
    Rating,
    RealPower,
    Resistance,
    SecondaryVoltage,
)


class Winding(Struct, frozen=True, forbid_unknown_fields=True):
    """Rating and regulation together give the transformer's own resistance."""

    rating: Rating
    regulation_percent: Percent


class OpenCircuit(Struct, frozen=True, forbid_unknown_fields=True):
    """A measured no-load voltage of the secondary; with `at_primary` it is scaled to the actual mains."""

    voltage: SecondaryVoltage
    at_primary: MainsVoltage | UnsetType = UNSET


class Primary(Struct, frozen=True, forbid_unknown_fields=True):
    """The mains that the transformer is made for and the mains that it gets."""

    rated: MainsVoltage
    actual: MainsVoltage


class Circuit(Struct, frozen=True, forbid_unknown_fields=True):
    """What one secondary overcurrent device feeds."""

    name: Name
    limit: (
        Annotated[
            DeviceCurrent,
            Meta(
                description="Rating of its overcurrent device. Left out: not known, and nothing is judged by"
                " it (`device-not-stated`)."
            ),
        ]
        | UnsetType
    ) = UNSET
    listed_system: (
        Annotated[
            bool,
            Meta(
                description="Whether cable and fixtures are listed as one system with this device, so that"
                " a conductor thinner than the device asks for is covered. Left out: no."
            ),
        ]
        | UnsetType
    ) = UNSET


Circuits = Annotated[
    list[Circuit],
    Meta(
        min_length=1,
        max_length=50,
        description="Left out: all runs are on one circuit (`one-circuit`), its device not known.",
    ),
]


Taps = Annotated[
    list[SecondaryVoltage],
    Meta(
        min_length=1,
        max_length=20,
        description="Voltages that the box offers; a run that asks for another gets `tap-not-offered`.",
    ),
]


MinimumLoad = Annotated[RealPower, Meta(description="The least load at which the supply works.")]


MaximumCableLength = Annotated[Length, Meta(description="The longest cable that the supply's maker allows.")]


Class2 = Annotated[bool, Meta(description="Whether it is a Class 2 source, whose limits are then checked.")]


InternalResistance = Annotated[
    Resistance, Meta(description="Of the supply itself. Left out: none (`supply-ideal`).")
]


class Transformer(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="transformer"):
    """A magnetic transformer for AC low voltage; an electronic one is refused (`supply-not-computable`)."""

    secondary: Annotated[SecondaryVoltage, Meta(description="At rated load and rated mains.")]
    winding: (
        Annotated[Winding, Meta(description="Left out: the voltage does not sag with load (`supply-ideal`).")]
        | UnsetType
    ) = UNSET
    open_circuit: (
        Annotated[OpenCircuit, Meta(description="Left out: from the winding's regulation.")] | UnsetType
    ) = UNSET
    primary: (
        Annotated[
            Primary, Meta(description="Left out: the mains stand at their rated voltage (`mains-nominal`).")
        ]
        | UnsetType
    ) = UNSET
    taps: Taps | UnsetType = UNSET
    circuits: Circuits | UnsetType = UNSET
    minimum_load: MinimumLoad | UnsetType = UNSET
    maximum_cable_length: MaximumCableLength | UnsetType = UNSET
    class_2: Class2 | UnsetType = UNSET
    item: ItemId | UnsetType = UNSET


class DcSupply(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="dc-supply"):
    """A DC supply whose output does not follow the mains."""

    output: DirectVoltage
    rating: DirectRating | UnsetType = UNSET
    internal_resistance: InternalResistance | UnsetType = UNSET
    circuits: Circuits | UnsetType = UNSET
    minimum_load: MinimumLoad | UnsetType = UNSET
    maximum_cable_length: MaximumCableLength | UnsetType = UNSET
    class_2: Class2 | UnsetType = UNSET
    item: ItemId | UnsetType = UNSET


class Battery(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="battery"):
    """A battery; one state is answered at its nominal voltage."""

    lowest: DirectVoltage
    nominal: DirectVoltage
    highest: DirectVoltage
    internal_resistance: InternalResistance | UnsetType = UNSET
    circuits: Circuits | UnsetType = UNSET
    maximum_cable_length: MaximumCableLength | UnsetType = UNSET
    item: ItemId | UnsetType = UNSET


Supply = Transformer | DcSupply | Battery


NOT_COMPUTABLE: Final = ("electronic-transformer", "electronic-transformers", "electronictransformer")
"""Kinds of supply that callers may name and that are refused by name: no message, so not in the contract."""
