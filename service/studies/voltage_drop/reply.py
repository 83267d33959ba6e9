"""`POST /v1/voltage-drop`: what is answered."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import (
    CallerId,
    ShownCurrent,
    ShownLength,
    ShownRealPower,
    ShownResistance,
    ShownVoltage,
)
from service.wire.reply import (
    Bracket,
    Code,
    Envelope,
    Finding,
    JudgedAnswer,
    LoadMargin,
    Pointer,
    RowNumber,
    Solution,
    Subject,
    SupplyState,
)
from service.wire.summary import DropSummary

PointNumber = Annotated[
    int,
    Meta(
        ge=0,
        description="A point of the wiring, 0 the supply's terminal. The same request always has the same"
        " numbers; they may have gaps.",
    ),
]


class JudgedWindow(Struct, frozen=True):
    """The voltages between which a fixture is `inside`: the request's own window, or common practice."""

    minimum: ShownVoltage
    maximum: ShownVoltage


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
    point: Annotated[PointNumber, Meta(description="The lamp, behind its lead; of a strip where it is fed.")]
    window: JudgedWindow
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


class LampRow(Struct, frozen=True):
    """One fixture in short; where `count` stands at one point, each of them."""

    pointer: Pointer
    name: str
    voltage: Annotated[ShownVoltage, Meta(description="As in `fixtures`: at the lamp, behind its lead.")]
    verdict: Annotated[Code, Meta(description="As in `fixtures`.")]
    id: CallerId | UnsetType = UNSET
    number: RowNumber | UnsetType = UNSET
    count: Annotated[int, Meta(ge=1, description="How many stand at this one point.")] | UnsetType = UNSET


Lamps = Annotated[
    list[LampRow],
    Meta(description="Only with `detail` `fixtures`, in place of `fixtures`, which is empty then."),
]


class SpanRow(Struct, frozen=True, rename={"start": "from", "end": "to"}):
    """One stretch of cable, lead or splice, or a whole strip; current and drop count from `from` to `to`."""

    start: str
    end: str
    length: ShownLength
    resistance: Annotated[ShownResistance, Meta(description="Both conductors.")]
    current: ShownCurrent
    drop: ShownVoltage
    loss: ShownRealPower
    from_point: PointNumber
    to_point: PointNumber
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
    largest_device: (
        Annotated[
            ShownCurrent,
            Meta(
                description="The largest overcurrent device that its thinnest cable allows, branches and"
                " spurs included, leads not; absent where the tables know none for one of its cables."
            ),
        ]
        | UnsetType
    ) = UNSET


class Totals(Struct, frozen=True):
    """Where the power goes."""

    fixture_power: ShownRealPower
    cable_loss: ShownRealPower
    winding_loss: ShownRealPower


class SolvedAnswer(JudgedAnswer, frozen=True, kw_only=True):
    """What closes a solved state: beyond the usual its extremes."""

    lamps: Lamps | UnsetType = UNSET
    envelope: Envelope | UnsetType = UNSET
    bracket: (
        Annotated[Bracket, Meta(description="Where only totals were given: how far the layout matters.")]
        | UnsetType
    ) = UNSET


class Solved(SolvedAnswer, frozen=True, tag_field="status", tag="solved"):
    """The operating point."""

    summary: DropSummary
    supply: SupplyState
    fixtures: list[FixtureRow]
    spans: list[SpanRow]
    runs: list[RunRow]
    totals: Totals
    findings: list[Finding]
    solution: Solution
    load_margin: LoadMargin


class RestState(Struct, frozen=True):
    """What the others get while the runs that the wiring cannot carry are switched off."""

    off: Annotated[list[Subject], Meta(description="The runs that are taken as switched off.")]
    supply: SupplyState
    fixtures: list[FixtureRow]
    spans: list[SpanRow]
    runs: list[RunRow]
    totals: Totals
    findings: Annotated[list[Finding], Meta(description="About this state.")]
    lamps: Lamps | UnsetType = UNSET


class UnsolvedAnswer(JudgedAnswer, frozen=True, kw_only=True):
    """What closes a state without an operating point."""

    bracket: (
        Annotated[Bracket, Meta(description="Where only totals were given: how far the layout matters.")]
        | UnsetType
    ) = UNSET
    rest: (
        Annotated[RestState, Meta(description="Absent where no run is left, or the work does not reach.")]
        | UnsetType
    ) = UNSET


class NoOperatingPoint(UnsolvedAnswer, frozen=True, tag_field="status", tag="no-operating-point"):
    """The cable cannot carry that load at any voltage; no number is shown."""

    summary: DropSummary
    fixtures: list[FixtureRow]
    findings: list[Finding]
    load_margin: LoadMargin


VoltageDropReply = Solved | NoOperatingPoint
