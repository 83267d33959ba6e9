"""The extremes of each quantity over the corners that a request asks for."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.messages.reply import Pointer, RowNumber, Subject
from service.messages.shown import ShownApparentPower, ShownCurrent, ShownVoltage
from service.messages.words import CallerId


class CornerState(Struct, frozen=True):
    """One corner: the mains, the conductors, and what alone is on where not all is."""

    mains: Annotated[str, Meta(description="lowest, highest, or as stated")]
    conductor_temperature: Annotated[str, Meta(description="cold, hot, or as stated")]
    alone: Subject | UnsetType = UNSET


class ExtremeVoltage(Struct, frozen=True):
    """A voltage and the corner that gives it."""

    voltage: ShownVoltage
    corner: CornerState


class ExtremeCurrent(Struct, frozen=True):
    """A current and the corner that gives it."""

    current: ShownCurrent
    corner: CornerState


class ExtremeApparentPower(Struct, frozen=True):
    """Apparent power and the corner that gives it."""

    apparent_power: ShownApparentPower
    corner: CornerState


class FixtureEnvelope(Struct, frozen=True):
    """The lowest and the highest voltage of one fixture while it is on."""

    pointer: Pointer
    name: str
    lowest: ExtremeVoltage
    highest: ExtremeVoltage
    id: CallerId | UnsetType = UNSET
    number: RowNumber | UnsetType = UNSET


class CircuitEnvelope(Struct, frozen=True):
    """The highest current of one circuit."""

    name: str
    highest: ExtremeCurrent


class SupplyEnvelope(Struct, frozen=True):
    """The extremes of the supply, on its rated secondary."""

    highest_open_circuit: ExtremeVoltage
    lowest_terminal: ExtremeVoltage
    highest_terminal: ExtremeVoltage
    highest_apparent_power: ExtremeApparentPower


class Envelope(Struct, frozen=True):
    """The extremes over every corner; corners without an operating point give no values and are listed."""

    fixtures: list[FixtureEnvelope]
    circuits: list[CircuitEnvelope]
    collapsed: list[CornerState]
    supply: SupplyEnvelope | UnsetType = UNSET
