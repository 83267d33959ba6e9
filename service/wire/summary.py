"""The first member of a reply: whether the job passes, in a sentence and a few numbers."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import (
    CallerId,
    ShownApparentPower,
    ShownCurrent,
    ShownQuantity,
    ShownVoltage,
)
from service.wire.reply import Code, CornerState, Pointer, RowNumber, Word


class SummaryLamp(Struct, frozen=True):
    """One lamp and its voltage."""

    pointer: Pointer
    name: str
    voltage: ShownVoltage
    id: CallerId | UnsetType = UNSET
    number: RowNumber | UnsetType = UNSET
    corner: (
        Annotated[CornerState, Meta(description="Where a range was judged: the corner that gives it.")]
        | UnsetType
    ) = UNSET


class SupplyLoad(Struct, frozen=True):
    """What is used of the supply's rating, in the worst state that was judged."""

    loading_ratio: Annotated[
        float, Meta(description="By volt-amperes or by the winding's current, whichever is larger.")
    ]
    spare: Annotated[ShownApparentPower, Meta(description="Left of the rating; negative: too much.")]


class CircuitLoad(Struct, frozen=True):
    """The circuit that is used most of what its overcurrent device is rated for."""

    name: str
    current: ShownCurrent
    limit: ShownCurrent
    loading_ratio: float
    spare: Annotated[ShownCurrent, Meta(description="Left of 80 % of the limit; negative: more than that.")]


class LoadRoom(Struct, frozen=True):
    """How much load the wiring takes, all loads by the same share, so that no limit is broken."""

    load_percent: Annotated[
        int,
        Meta(
            ge=1,
            description="Of the load as it is, in whole per cent: 123 is room for 23 % more; below 100 the"
            " job passes with so much of it.",
        ),
    ]
    searched_to_percent: Annotated[int, Meta(ge=1, description="The most that was tried.")]
    binding: Annotated[Code, Meta(description="What a per cent more breaks.")] | UnsetType = UNSET
    message: Annotated[str, Meta(description="The same in words.")] | UnsetType = UNSET


class FindingGroup(Struct, frozen=True):
    """All findings of one code and severity, said once."""

    code: Code
    severity: Annotated[str, Meta(pattern=r"^[a-z]+(?![\s\S])", description="fault, warning or note")]
    count: Annotated[int, Meta(ge=1)]
    message: str
    pointers: Annotated[list[Pointer], Meta(description="The worst first; 20 at most.")]
    worst: ShownQuantity | UnsetType = UNSET
    limit: Annotated[ShownQuantity, Meta(description="That of the worst.")] | UnsetType = UNSET


class Summary(Struct, frozen=True):
    """The answer in short."""

    text: Annotated[str, Meta(description="One or two sentences.")]
    findings: Annotated[list[FindingGroup], Meta(description="Faults first, then warnings, then notes.")]
    verdict: (
        Annotated[
            Word,
            Meta(
                description="passes, passes-with-warnings or fails. Warnings that the request accepts do not"
                " count. Absent where nothing was judged."
            ),
        ]
        | UnsetType
    ) = UNSET


class LoadSummary(Summary, frozen=True):
    """The answer in short, with the load of the supply and the lamps of lowest and highest voltage."""

    weakest: Annotated[SummaryLamp, Meta(description="The lamp of lowest voltage.")] | UnsetType = UNSET
    highest: Annotated[SummaryLamp, Meta(description="The lamp of highest voltage.")] | UnsetType = UNSET
    supply: SupplyLoad | UnsetType = UNSET
    circuit: CircuitLoad | UnsetType = UNSET


class DropSummary(LoadSummary, frozen=True):
    """The answer in short, with the room for more load."""

    room: Annotated[LoadRoom, Meta(description="Where `margin` asks for it.")] | UnsetType = UNSET
