"""What answers share beside their numbers: findings, assumptions, sources, states of the supply, extremes."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import (
    CallerId,
    ShownApparentPower,
    ShownCurrent,
    ShownQuantity,
    ShownRealPower,
    ShownVoltage,
)

Code = Annotated[
    str,
    Meta(
        pattern=r"^[a-z0-9]+(-[a-z0-9]+)*(?![\s\S])",
        description="A stable code. New ones may appear; treat an unknown one by its severity.",
    ),
]


Word = Annotated[
    str,
    Meta(
        pattern=r"^[a-z0-9]+(-[a-z0-9]+)*(?![\s\S])",
        description="A stable word. New ones may appear.",
    ),
]


Pointer = Annotated[str, Meta(description="JSON Pointer (RFC 6901) into the request.")]


RowNumber = Annotated[
    int, Meta(ge=1, description="1 to count, where one line of the request stands for several fixtures.")
]


class Subject(Struct, frozen=True):
    """What a finding is about."""

    pointer: Pointer
    id: CallerId | UnsetType = UNSET
    number: RowNumber | UnsetType = UNSET


class Parameter(Struct, frozen=True):
    """A named part of a message."""

    name: str
    value: str


class Finding(Struct, frozen=True):
    """A verdict inside an answer."""

    code: Code
    severity: Annotated[str, Meta(pattern=r"^[a-z]+(?![\s\S])", description="fault, warning or note")]
    subject: Subject
    parameters: list[Parameter]
    message: str
    source: Annotated[str, Meta(description="Id of the source of the limit; see sources.")]
    measured: ShownQuantity | UnsetType = UNSET
    limit: ShownQuantity | UnsetType = UNSET


class Assumption(Struct, frozen=True):
    """Something that the request left open and how it was read."""

    code: Code
    message: str


class Caution(Struct, frozen=True):
    """Something that can hurt."""

    code: Code
    message: str


class SourceNote(Struct, frozen=True):
    """Where a number comes from."""

    code: Annotated[Code, Meta(description="Id of the source.")]
    message: str


class Answer(Struct, frozen=True, kw_only=True):
    """What closes every answer, after the members of its own.

    A reply with members behind these has them in a base of its own that is `kw_only` as well.
    """

    assumptions: list[Assumption]
    sources: list[SourceNote]
    cautions: list[Caution]
    calculation_version: str
    tables_version: str
    request_sha256: Annotated[str, Meta(description="Of the body, or of the query string, as it was sent.")]
    id: CallerId | UnsetType = UNSET


class JudgedAnswer(Answer, frozen=True, kw_only=True):
    """What closes an answer that is judged: beyond the usual how much of it is left out."""

    detail: (
        Annotated[
            Word,
            Meta(
                description="summary or fixtures, where the request has it: a list may be empty and a member"
                " absent because it is left out. Absent: the reply is whole."
            ),
        ]
        | UnsetType
    ) = UNSET


class CornerState(Struct, frozen=True):
    """One corner: the mains or the battery, the conductors, and what alone is on where not all is."""

    mains: Annotated[str, Meta(description="lowest, highest, or as stated")]
    conductor_temperature: Annotated[str, Meta(description="cold, hot, or as stated")]
    alone: Subject | UnsetType = UNSET
    battery: Annotated[str, Meta(description="lowest or highest; where a battery feeds")] | UnsetType = UNSET


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


class CarriedEnd(Struct, frozen=True, tag_field="outcome", tag="carried"):
    """The load is carried."""

    end_voltage: Annotated[ShownVoltage, Meta(description="At the far end of the cable.")]
    verdict: Annotated[Code, Meta(description="Where the end stands against the window.")]
    terminal_voltage: Annotated[ShownVoltage, Meta(description="Where the cable leaves the supply.")]
    cable_drop: Annotated[ShownVoltage, Meta(description="Terminal under load minus the end.")]
    drop_percent: Annotated[float, Meta(description="Cable drop over the rated secondary voltage.")]
    current: Annotated[ShownCurrent, Meta(description="Into the cable.")]
    cable_loss: ShownRealPower
    error_bound: (
        Annotated[
            ShownVoltage,
            Meta(
                description="By how much the end voltage may be wrong because a continuous load is computed"
                " as lumps. Left out where nothing is approximated, and within a hair of the collapse."
            ),
        ]
        | UnsetType
    ) = UNSET


class CollapsedEnd(Struct, frozen=True, tag_field="outcome", tag="collapsed"):
    """The cable cannot carry the load; no number is shown."""


EndState = CarriedEnd | CollapsedEnd


class Bracket(Struct, frozen=True):
    """The ends between which an unknown layout lies, in the state that is answered; corners do not enter."""

    lumped: Annotated[EndState, Meta(description="All of the load at the far end: the cautious layout.")]
    evenly_spread: Annotated[
        EndState, Meta(description="The load spread evenly and without gaps from the supply to the far end.")
    ]


class TapState(Struct, frozen=True):
    """One tap of the secondary under load."""

    rated: ShownVoltage
    open_circuit: ShownVoltage
    terminal: ShownVoltage
    current: ShownCurrent


class CircuitState(Struct, frozen=True):
    """One circuit under load; `limit` where its device is stated."""

    name: str
    current: ShownCurrent
    limit: ShownCurrent | UnsetType = UNSET


CurrentRatio = Annotated[
    float,
    Meta(
        description="Current of the winding over what its rating allows at rated voltage; with several taps"
        " in use, of each its current times its rated voltage. A transformer is judged by this and by"
        " `loading_ratio`, whichever is larger. Absent where no rating of a transformer is known."
    ),
]


UsualLoadingRatio = Annotated[
    float,
    Meta(
        description="About what the loading would be if fixtures that state neither power factor nor"
        " volt-amperes had a power factor of 0.7, usual for LED lamps; absent where all state it, on direct"
        " current, and where the rating is not known."
    ),
]


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
    current_ratio: CurrentRatio | UnsetType = UNSET
    loading_ratio_at_usual_power_factor: UsualLoadingRatio | UnsetType = UNSET


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
