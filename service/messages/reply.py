"""What every answer carries beside its numbers."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.messages.shown import ShownQuantity
from service.messages.words import CallerId

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
