"""`POST /v1/voltage-drop`: what is asked and what is answered."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.messages.bracket import Bracket
from service.messages.envelope import Envelope
from service.messages.job import JobRequest
from service.messages.reply import Assumption, Caution, Code, Finding, Pointer, RowNumber, SourceNote, Word
from service.messages.sheet import OwnDropSheet
from service.messages.shown import (
    ShownApparentPower,
    ShownCurrent,
    ShownLength,
    ShownRealPower,
    ShownResistance,
    ShownVoltage,
)
from service.messages.words import CallerId


class VoltageDropRequest(JobRequest, frozen=True, forbid_unknown_fields=True):
    """A supply and its wiring, to be solved in one state, and in its corners where they are asked for."""

    margin: (
        Annotated[bool, Meta(description="Whether to search for the factor by which all loads could grow.")]
        | UnsetType
    ) = UNSET
    sheet: OwnDropSheet | UnsetType = UNSET


class TapState(Struct, frozen=True):
    """One tap of the secondary under load."""

    rated: ShownVoltage
    open_circuit: ShownVoltage
    terminal: ShownVoltage
    current: ShownCurrent


class CircuitState(Struct, frozen=True):
    """One circuit under load."""

    name: str
    current: ShownCurrent
    limit: ShownCurrent


class SupplyState(Struct, frozen=True):
    """The supply under load, seen at its terminals."""

    open_circuit: ShownVoltage
    terminal: ShownVoltage
    current: ShownCurrent
    real_power: ShownRealPower
    apparent_power: ShownApparentPower
    taps: list[TapState]
    circuits: list[CircuitState]
    loading_ratio: (
        Annotated[float, Meta(description="Apparent power over the rating, where the rating is known.")]
        | UnsetType
    ) = UNSET


class FixtureRow(Struct, frozen=True):
    """One fixture; where `count` stands at one point, each of them."""

    pointer: Pointer
    name: str
    at: ShownLength
    voltage: Annotated[
        ShownVoltage, Meta(description="At the lamp, behind its lead; of a strip where it is fed.")
    ]
    verdict: Annotated[
        Code,
        Meta(description="Where the voltage stands against the window: of a strip at its worse end."),
    ]
    cable_drop: Annotated[ShownVoltage, Meta(description="Terminal under load minus here.")]
    total_drop: Annotated[ShownVoltage, Meta(description="Open circuit minus here.")]
    drop_percent: Annotated[float, Meta(description="Cable drop over the rated secondary voltage.")]
    current: ShownCurrent
    real_power: Annotated[
        ShownRealPower, Meta(description="Of a strip without the heat in its rails, which is cable loss.")
    ]
    id: CallerId | UnsetType = UNSET
    number: RowNumber | UnsetType = UNSET
    count: (
        Annotated[int, Meta(ge=1, description="How many stand at this one point, each as this row says.")]
        | UnsetType
    ) = UNSET
    splice_voltage: (
        Annotated[ShownVoltage, Meta(description="On the cable, before the lead.")] | UnsetType
    ) = UNSET
    far_voltage: (
        Annotated[ShownVoltage, Meta(description="At the far end of a strip that has resistance.")]
        | UnsetType
    ) = UNSET


class SpanRow(Struct, frozen=True, rename={"start": "from", "end": "to"}):
    """One stretch of cable, lead or splice, or a whole strip; current and drop count from `from` to `to`."""

    start: str
    end: str
    length: ShownLength
    resistance: Annotated[ShownResistance, Meta(description="Both conductors.")]
    current: ShownCurrent
    drop: ShownVoltage
    loss: ShownRealPower
    pointer: Pointer | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET
    conductor: str | UnsetType = UNSET


class RunRow(Struct, frozen=True):
    """One run, its branches and spurs included."""

    pointer: Pointer
    name: str
    current: ShownCurrent
    lowest_voltage: ShownVoltage
    end_voltage: Annotated[ShownVoltage, Meta(description="At the far end of the run's own cable.")]
    cable_loss: ShownRealPower
    id: CallerId | UnsetType = UNSET
    lowest_fixture: Pointer | UnsetType = UNSET
    lowest_number: RowNumber | UnsetType = UNSET


class Totals(Struct, frozen=True):
    """Where the power goes."""

    fixture_power: ShownRealPower
    cable_loss: ShownRealPower
    winding_loss: ShownRealPower


class Solution(Struct, frozen=True):
    """The evidence that the equations are solved."""

    iterations: Annotated[int, Meta(ge=0)]
    residual: Annotated[ShownCurrent, Meta(description="Largest current that Kirchhoff's law leaves over.")]
    method: Word


class FirstOutOfWindow(Struct, frozen=True):
    """The fixture that falls below its window first as all loads grow, and the factor at which it does."""

    factor: float
    pointer: Pointer
    number: RowNumber | UnsetType = UNSET


class LoadMargin(Struct, frozen=True):
    """By what common factor all loads could grow."""

    at_least: Annotated[float, Meta(description="Certain, from the certificate.")] | UnsetType = UNSET
    exact: Annotated[float, Meta(description="Found by search, to 1 %.")] | UnsetType = UNSET
    first_out_of_window: FirstOutOfWindow | UnsetType = UNSET
    absent_because: Word | UnsetType = UNSET


class Solved(Struct, frozen=True, tag_field="status", tag="solved"):
    """The operating point."""

    supply: SupplyState
    fixtures: list[FixtureRow]
    spans: list[SpanRow]
    runs: list[RunRow]
    totals: Totals
    findings: list[Finding]
    solution: Solution
    load_margin: LoadMargin
    assumptions: list[Assumption]
    sources: list[SourceNote]
    cautions: list[Caution]
    calculation_version: str
    tables_version: str
    request_sha256: str
    id: CallerId | UnsetType = UNSET
    envelope: Envelope | UnsetType = UNSET
    bracket: (
        Annotated[Bracket, Meta(description="Where only totals were given: how far the layout matters.")]
        | UnsetType
    ) = UNSET


class NoOperatingPoint(Struct, frozen=True, tag_field="status", tag="no-operating-point"):
    """The cable cannot carry that load at any voltage; no number is shown."""

    fixtures: list[FixtureRow]
    findings: list[Finding]
    load_margin: LoadMargin
    assumptions: list[Assumption]
    sources: list[SourceNote]
    cautions: list[Caution]
    calculation_version: str
    tables_version: str
    request_sha256: str
    id: CallerId | UnsetType = UNSET
    bracket: (
        Annotated[Bracket, Meta(description="Where only totals were given: how far the layout matters.")]
        | UnsetType
    ) = UNSET


VoltageDropReply = Solved | NoOperatingPoint
