"""What a printed sheet says beside its answer."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.messages.patterns import LINE_PATTERN, TITLE_PATTERN

Title = Annotated[
    str,
    Meta(
        min_length=1,
        max_length=120,
        pattern=TITLE_PATTERN,
        description="Stands over the sheet: no control or bidirectional-override characters. Left out: what"
        " the study is called.",
    ),
]
Line = Annotated[
    str,
    Meta(
        max_length=120,
        pattern=LINE_PATTERN,
        description="A line of plain text: no control or bidirectional-override characters. Empty: a gap.",
    ),
]


class SheetWords(Struct, frozen=True, forbid_unknown_fields=True):
    """For `text/html` and `application/pdf` alone: who hands the sheet over, and on which paper."""

    title: Title | UnsetType = UNSET
    lines: (
        Annotated[
            list[Line],
            Meta(
                max_length=12, description="Under the title, as they are: seller, address, date, reference."
            ),
        ]
        | UnsetType
    ) = UNSET
    paper: (
        Annotated[
            Literal["a4", "letter"],
            Meta(description="Left out: letter where the reply is in feet, else A4."),
        ]
        | UnsetType
    ) = UNSET


OwnSheet = Annotated[
    SheetWords, Meta(description="What a printed sheet says beside the answer. A JSON reply stays the same.")
]


class DropSheetWords(SheetWords, frozen=True, forbid_unknown_fields=True):
    """What a printed voltage drop says beside its answer."""

    commissioning: (
        Annotated[
            bool,
            Meta(
                description="Whether what a meter should show at key places is printed too, stage by stage,"
                " at the stated mains, with room to write in. Left out: no."
            ),
        ]
        | UnsetType
    ) = UNSET


OwnDropSheet = Annotated[
    DropSheetWords,
    Meta(description="What a printed sheet says beside the answer. A JSON reply stays the same."),
]
