"""What every study is asked with: supply, wiring, conditions, limits, and words for a sheet."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.conditions import Conditions
from service.wire.quantities import LINE_PATTERN, TITLE_PATTERN, CallerId
from service.wire.supply import Supply
from service.wire.wiring import Wiring

PaperSize = Literal["a4", "letter"]


PaperFor = Literal["customer", "installer", "meter", "record"]


UnitSystem = Literal["us", "metric"]


LengthUnits = Annotated[
    UnitSystem,
    Meta(description="Of lengths in the reply. Left out: as the first length in the request."),
]


DropPercent = Annotated[
    float,
    Meta(ge=0.1, le=100, description="Largest cable drop, in per cent of the rated secondary voltage."),
]


class Limits(Struct, frozen=True, forbid_unknown_fields=True):
    """The caller's own policy."""

    maximum_drop_percent: DropPercent | UnsetType = UNSET


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


class SheetWords(Struct, frozen=True, forbid_unknown_fields=True, rename={"papers": "for"}):
    """For `text/html` and `application/pdf` alone: who hands the sheet over, to whom, and on which paper."""

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
            PaperSize,
            Meta(description="Left out: letter where the reply is in feet, else A4."),
        ]
        | UnsetType
    ) = UNSET

    papers: (
        Annotated[
            PaperFor | Annotated[list[PaperFor], Meta(min_length=1, max_length=4)],
            Meta(
                description="Whom it is printed for; a list is one document of several papers, in its order."
                " `customer`: one page with the verdict, the plan and what was chosen. `installer`: every"
                " piece of cable with tap, circuit, terminal and cut length, and the lamps by number."
                " `meter`: what a meter should show, stage by stage. `record`: everything. A paper that the"
                " study does not have is refused (`paper-not-offered`). Left out: record."
            ),
        ]
        | UnsetType
    ) = UNSET


OwnSheet = Annotated[
    SheetWords, Meta(description="What a printed sheet says beside the answer. A JSON reply stays the same.")
]


AcceptedWarning = Literal[
    "fixture-below-window",
    "below-minimum-load",
    "circuit-near-limit",
    "division-near-limit",
    "conductor-below-device",
    "short-circuit-below-trip",
    "near-collapse",
    "supply-nominal-outside-range",
    "apparent-below-real",
    "strip-rail-not-stated",
    "rating-at-usual-power-factor",
]


Detail = Literal["full", "fixtures", "summary"]


OwnDetail = Annotated[
    Detail,
    Meta(
        description="How much of the JSON reply is wanted; what is judged, and every sheet, CSV and drawing,"
        " stay the same. `summary`: of `findings` the faults alone, and beside `summary` and `cautions` what"
        " is needed to go on; lists that it leaves out are empty, other members that it leaves out are"
        " absent. `fixtures`: what was chosen as well, and of a voltage drop a row for each fixture in"
        " `lamps`. The operation says which members each has. Left out: full."
    ),
]


Accept = Annotated[
    list[AcceptedWarning],
    Meta(
        max_length=20,
        description="Warnings with which a choice passes all the same, by their codes; a fault is never"
        " accepted. Left out: none.",
    ),
]


class JobRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """A supply and its wiring."""

    supply: Supply
    wiring: Wiring
    id: CallerId | UnsetType = UNSET
    limits: Limits | UnsetType = UNSET
    conditions: Conditions | UnsetType = UNSET
    units: LengthUnits | UnsetType = UNSET
    sheet: OwnSheet | UnsetType = UNSET
    detail: OwnDetail | UnsetType = UNSET


class DropSheetWords(SheetWords, frozen=True, forbid_unknown_fields=True):
    """What a printed voltage drop says beside its answer."""

    commissioning: (
        Annotated[
            bool,
            Meta(
                description="Whether what a meter should show at key places is printed too, stage by stage,"
                " at the stated mains, with room to write in: `meter` behind the papers of `for`. Left out:"
                " no."
            ),
        ]
        | UnsetType
    ) = UNSET


OwnDropSheet = Annotated[
    DropSheetWords,
    Meta(description="What a printed sheet says beside the answer. A JSON reply stays the same."),
]
