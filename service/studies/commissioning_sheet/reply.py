"""`POST /v1/commissioning-sheet`: what is answered."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import CallerId, ShownQuantity, ShownVoltage
from service.wire.readings import NextState
from service.wire.reply import (
    Code,
    Finding,
    JudgedAnswer,
    Pointer,
    RowNumber,
    Subject,
    Word,
)
from service.wire.summary import Summary


class MainsColumn(Struct, frozen=True):
    """One state of what feeds the supply, for which every place has a value."""

    number: Annotated[int, Meta(ge=1, description="By which the expected values name it.")]
    name: str
    open_circuit: Annotated[ShownVoltage, Meta(description="Of the secondary or of the output.")]
    mains: (
        Annotated[
            ShownVoltage,
            Meta(
                description="Measured mains: with it as `mains` of its state a reading is judged by the very"
                " numbers of this column. Left out where the supply does not follow the mains."
            ),
        ]
        | UnsetType
    ) = UNSET


class ExpectedValue(Struct, frozen=True):
    """What a faultless meter shows at sound wiring, and within what that is still to be called sound."""

    mains_number: Annotated[int, Meta(ge=1, description="Number of the column in `mains`.")]
    value: ShownQuantity
    tolerance: Annotated[
        ShownQuantity,
        Meta(description="Each way: expanded uncertainty (k = 2), as `/v1/readings-check` judges it."),
    ]
    verdict: (
        Annotated[
            Word,
            Meta(
                description="Of a fixture: `inside`; `low` or `high`, outside what the trade goes by; `below`"
                " or `above`, outside the window. Of the volts at the lamp, behind its lead."
            ),
        ]
        | UnsetType
    ) = UNSET


class FixtureWindow(Struct, frozen=True):
    """Between which volts a fixture should stand, at the lamp."""

    minimum: ShownVoltage
    maximum: ShownVoltage


class PlaceToRead(Struct, frozen=True):
    """Where to hold the probes, in the words in which a reading of `/v1/readings-check` says it."""

    kind: Annotated[Word, Meta(description="terminal or wired")]
    pointer: Annotated[Pointer, Meta(description="Of what is wired.")] | UnsetType = UNSET
    number: RowNumber | UnsetType = UNSET
    tap: Annotated[ShownVoltage, Meta(description="Of a terminal.")] | UnsetType = UNSET
    circuit: Annotated[str, Meta(description="Of amperes at a terminal.")] | UnsetType = UNSET


class MeasuringPoint(Struct, frozen=True):
    """One place to read; `subject` and `quantity` are those of a reading of `/v1/readings-check`."""

    number: Annotated[int, Meta(ge=1, description="Through the whole sheet, in the order of the walk.")]
    name: str
    subject: PlaceToRead
    quantity: Annotated[Word, Meta(description="voltage or current")]
    expected: Annotated[
        list[ExpectedValue],
        Meta(description="One for each column; none for a column in which the stage cannot be carried."),
    ]
    id: CallerId | UnsetType = UNSET
    window: FixtureWindow | UnsetType = UNSET


class Stage(Struct, frozen=True):
    """One state of the switches, and what is read in it."""

    number: Annotated[int, Meta(ge=1)]
    code: Annotated[Code, Meta(description="no-load, run-alone or all-on")]
    name: str
    instruction: Annotated[str, Meta(description="What to connect and what to take off, isolated first.")]
    state: Annotated[
        NextState,
        Meta(description="As a reading of `/v1/readings-check` wants it; add the `mains` of the column."),
    ]
    test_points: list[MeasuringPoint]
    subject: Annotated[Subject, Meta(description="The run that alone is on.")] | UnsetType = UNSET


class CommissioningSheetReply(JudgedAnswer, frozen=True):
    """The sheet."""

    summary: Summary
    mains: list[MainsColumn]
    stages: list[Stage]
    findings: list[Finding]
