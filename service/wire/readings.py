"""What a meter read: readings, the states in which they were taken, the meter, and what may be off."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.conditions import TemperatureRange
from service.wire.quantities import (
    POINTER_PATTERN,
    CallerId,
    Count,
    CurrentUnit,
    MainsVoltage,
    Measured,
    Name,
    Percent,
    ResistanceUnit,
    SecondaryVoltage,
    bounded,
)
from service.wire.reply import Code, Subject

MOST_READINGS = 200


VoltageUnit = Literal["V", "mV"]


class ReadVoltage(Measured, frozen=True):
    """A voltage as a meter shows it."""

    value: Annotated[float, bounded("voltage", 0, 100_000, "As the meter shows it.")]
    unit: VoltageUnit


class ReadCurrent(Measured, frozen=True):
    """A current as a clamp meter shows it."""

    value: Annotated[float, bounded("current", 0, 100_000, "As the meter shows it.")]
    unit: CurrentUnit


class VoltageRead(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="voltage"):
    """Volts between the two conductors."""

    value: ReadVoltage


class CurrentRead(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="current"):
    """Amperes in one conductor: a clamp round both reads zero."""

    value: ReadCurrent


class ReadResistance(Measured, frozen=True):
    """A resistance as an ohmmeter shows it."""

    value: Annotated[float, bounded("resistance", 0, 1_000, "As the meter shows it, its leads included.")]
    unit: ResistanceUnit


class ResistanceRead(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="resistance"):
    """Ohms between the two conductors at the supply's end of a run, joined at the subject.

    With the supply off and disconnected (state `disconnected`): join both conductors where the subject is,
    and read at the end that was taken off the supply. Electronic loads draw nothing at its volts and
    may stay; filament lamps and resistors must be out.
    """

    value: ReadResistance


QuantityRead = VoltageRead | CurrentRead | ResistanceRead


WiredPointer = Annotated[
    str,
    Meta(
        min_length=1,
        max_length=200,
        pattern=POINTER_PATTERN,
        description="JSON Pointer into this request: a fixture line, a run, a branch, a spur, or a span.",
    ),
]


WiredNumber = Annotated[Count, Meta(description="Which fixture of a line that stands for several, from 1.")]


class AtTerminal(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="terminal"):
    """At the supply: the volts of a tap, or the amperes that leave by a tap and a circuit."""

    tap: (
        Annotated[SecondaryVoltage, Meta(description="Left out: volts of the secondary, amperes of all.")]
        | UnsetType
    ) = UNSET
    circuit: Annotated[Name, Meta(description="Of amperes alone. Left out: all.")] | UnsetType = UNSET


class Wired(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="wired"):
    """On the wiring.

    Of a fixture: volts at its splice on the cable, before its lead, where a probe reaches; amperes that one
    fixture draws. Of a run, a branch or a spur: volts at its far end, its tail included; amperes at its
    start. Of a span of a graph: amperes.
    """

    pointer: WiredPointer
    number: WiredNumber | UnsetType = UNSET


ReadingPlace = AtTerminal | Wired


class LitPart(Struct, frozen=True, forbid_unknown_fields=True):
    """A fixture line, one fixture of it, or all that a run, a branch or a spur feeds."""

    pointer: WiredPointer
    number: WiredNumber | UnsetType = UNSET


MeasuredMainsVoltage = Annotated[
    MainsVoltage,
    Meta(description="Measured at the transformer in this state; left out: as `supply.primary` says."),
]


class NoLoadState(Struct, frozen=True, forbid_unknown_fields=True, tag_field="on", tag="no-load"):
    """Nothing draws: every fixture is off or taken off."""

    mains: MeasuredMainsVoltage | UnsetType = UNSET


class AllOnState(Struct, frozen=True, forbid_unknown_fields=True, tag_field="on", tag="all-on"):
    """Everything is lit."""

    mains: MeasuredMainsVoltage | UnsetType = UNSET


class ListedState(Struct, frozen=True, forbid_unknown_fields=True, tag_field="on", tag="listed"):
    """What is listed is lit, and nothing else."""

    lit: Annotated[list[LitPart], Meta(max_length=10_000)]
    mains: MeasuredMainsVoltage | UnsetType = UNSET


class DisconnectedState(Struct, frozen=True, forbid_unknown_fields=True, tag_field="on", tag="disconnected"):
    """The supply off and isolated, and the run taken off its terminals: for an ohmmeter alone."""

    lamps_out: (
        Annotated[
            bool,
            Meta(
                description="Whether filament lamps and resistors were taken out; electronic loads may stay."
                " Left out: false."
            ),
        ]
        | UnsetType
    ) = UNSET


ReadingState = NoLoadState | AllOnState | ListedState | DisconnectedState


class Reading(Struct, frozen=True, forbid_unknown_fields=True):
    """One value off a meter; readings whose states are written alike share one state."""

    subject: ReadingPlace
    quantity: QuantityRead
    id: CallerId | UnsetType = UNSET
    state: (
        Annotated[
            ReadingState,
            Meta(description="Left out: nobody can say what the reading means (`reading-without-state`)."),
        ]
        | UnsetType
    ) = UNSET


AccuracyPercent = Annotated[float, Meta(ge=0, le=20, description="Of the reading, from the meter's sheet.")]


Counts = Annotated[float, Meta(ge=0, le=100, description="Last digits that the sheet adds.")]


InstrumentKind = Literal["true-rms", "averaging"]


class Instrument(Struct, frozen=True, forbid_unknown_fields=True):
    """The meter by its sheet: limits of error in per cent of the reading and in counts."""

    kind: (
        Annotated[
            InstrumentKind,
            Meta(
                description="An averaging meter cannot be predicted where the current is not a sine."
                " Left out: true-rms."
            ),
        ]
        | UnsetType
    ) = UNSET
    accuracy_percent: Annotated[AccuracyPercent, Meta(description="Left out: 0.8.")] | UnsetType = UNSET
    counts: Annotated[Counts, Meta(description="Left out: 3.")] | UnsetType = UNSET
    voltage_resolution: Annotated[ReadVoltage, Meta(description="Left out: 0.01 V.")] | UnsetType = UNSET
    current_accuracy_percent: Annotated[AccuracyPercent, Meta(description="Left out: 2.5.")] | UnsetType = (
        UNSET
    )
    current_counts: Annotated[Counts, Meta(description="Left out: 5.")] | UnsetType = UNSET
    current_resolution: Annotated[ReadCurrent, Meta(description="Left out: 0.01 A.")] | UnsetType = UNSET
    resistance_accuracy_percent: Annotated[AccuracyPercent, Meta(description="Left out: 1.")] | UnsetType = (
        UNSET
    )
    resistance_counts: Annotated[Counts, Meta(description="Left out: 3.")] | UnsetType = UNSET
    resistance_resolution: Annotated[ReadResistance, Meta(description="Left out: 0.1 ohm.")] | UnsetType = (
        UNSET
    )
    lead_resistance: (
        Annotated[
            ReadResistance,
            Meta(description="What the meter shows with its tips together. Left out: 0.2 ohm, within 0.2."),
        ]
        | UnsetType
    ) = UNSET


class Priors(Struct, frozen=True, forbid_unknown_fields=True):
    """How far the wiring may be from what the request says, each way, before anything counts as wrong."""

    length_percent: Annotated[Percent, Meta(description="Of each span. Left out: 2.")] | UnsetType = UNSET
    temperature_span: (
        Annotated[
            TemperatureRange,
            Meta(description="Of all conductors. Left out: 5 to 35 °C, or 5 K about a stated temperature."),
        ]
        | UnsetType
    ) = UNSET
    power_percent: Annotated[Percent, Meta(description="Of each fixture. Left out: 3.")] | UnsetType = UNSET
    winding_percent: (
        Annotated[Percent, Meta(description="Of the supply's resistance. Left out: 10.")] | UnsetType
    ) = UNSET
    mains_percent: (
        Annotated[
            Percent,
            Meta(
                description="Of the supply's volts, common to all states; from state to state half of it and"
                " at most 1. Left out: 1 where they were measured or are regulated, else 5."
            ),
        ]
        | UnsetType
    ) = UNSET
    resistance_percent: (
        Annotated[Percent, Meta(description="Of each kind of cable. Left out: 2.")] | UnsetType
    ) = UNSET


class NextState(Struct, frozen=True):
    """What is to be on: `no-load`, `all-on`, or `listed` with what alone is lit."""

    on: Code
    lit: list[Subject] | UnsetType = UNSET
