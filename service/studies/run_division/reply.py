"""`POST /v1/run-division`: what is answered."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.studies.gauge_recommendation.reply import (
    ChosenCable,
    NonePassesAnswer,
    Outcome,
    PurchaseLine,
    RecommendedAnswer,
    RemedyRow,
    ShownMetal,
)
from service.wire.money import ShownAmount
from service.wire.quantities import (
    CallerId,
    Name,
    ShownApparentPower,
    ShownLength,
    ShownVoltage,
)
from service.wire.reply import Finding, Pointer, RowNumber, Word
from service.wire.summary import LoadSummary
from service.wire.wiring import Wiring


class RunFixtures(Struct, frozen=True):
    """Fixtures of one line of the request on one run, in the order in which the cable meets them.

    Of a tee each way has its own.
    """

    pointer: Pointer
    first: RowNumber
    last: Annotated[RowNumber, Meta(description="Before `first` where the cable comes from the other end.")]


class HubPlace(Struct, frozen=True):
    """Where the hub of a run is, and how long each of its legs is."""

    along: Annotated[ShownLength, Meta(description="Along the route of the zone, from where that begins.")]
    leg: ShownLength
    legs: Annotated[int, Meta(ge=1)]


class DividedRunRow(Struct, frozen=True):
    """One run of a zone."""

    name: str
    pointer: Annotated[str, Meta(description="JSON Pointer to the run in the `wiring` of this reply.")]
    form: Annotated[
        Word,
        Meta(
            description="chain: from lamp to lamp; tee: it meets the route between its lamps and goes both"
            " ways; hub: a leg to each lamp"
        ),
    ]
    load: Annotated[ShownApparentPower, Meta(description="Of its fixtures, added up.")]
    cable: Annotated[ShownLength, Meta(description="All cable of the run, legs with it.")]
    fixtures: list[RunFixtures]
    tap: ShownVoltage | UnsetType = UNSET
    circuit: str | UnsetType = UNSET
    hub: HubPlace | UnsetType = UNSET


class DividedZone(Struct, frozen=True):
    """One zone of the request, and its runs."""

    pointer: Pointer
    name: Name
    runs: list[DividedRunRow]
    id: CallerId | UnsetType = UNSET


class ComparedPlan(Struct, frozen=True):
    """One way to divide a zone, alone on the supply."""

    pointer: Annotated[Pointer, Meta(description="To the zone.")]
    runs: Annotated[int, Meta(ge=1)]
    hubs: bool
    largest_load: Annotated[ShownApparentPower, Meta(description="Of the run that has most.")]
    cable: ShownLength
    outcome: Annotated[
        Word,
        Meta(
            description="passes; fails; dearer: even with the cheapest cable it costs more than one that"
            " passes, and was not tried; untried: the work of one request did not reach so far"
        ),
    ]
    taken: bool
    price: ShownAmount | UnsetType = UNSET
    metal: Annotated[ShownMetal, Meta(description="Where not every cable has a price.")] | UnsetType = UNSET


Zones = Annotated[list[DividedZone], Meta(description="In the order of the request.")]


Plans = Annotated[
    list[ComparedPlan],
    Meta(description="Every number of runs of every zone, along the route and from hubs; each alone."),
]


Method = Annotated[
    Word,
    Meta(
        description="all-tried, or best-found where the work ended before. It is the cheapest of the"
        " divisions in runs of equal load; a division in unequal runs may be cheaper."
    ),
]


class Divided(RecommendedAnswer, frozen=True, tag_field="status", tag="divided"):
    """Runs of equal load that pass, and the wiring with the cheapest cables for them.

    Pointers of `findings`, `chosen`, `taps` and `purchase` are into `wiring`.
    """

    summary: LoadSummary
    method: Method
    zones: Zones
    wiring: Annotated[
        Wiring, Meta(description="With the judged conditions it posts to voltage-drop as it is.")
    ]
    outcome: Outcome
    chosen: list[ChosenCable]
    purchase: list[PurchaseLine]
    compared: Plans
    findings: list[Finding]


class NotDivided(NonePassesAnswer, frozen=True, tag_field="status", tag="none-found"):
    """No division was found that passes; the one with the least drop, and what would help it.

    Pointers of `findings` and `remedies` are into `wiring`.
    """

    summary: LoadSummary
    method: Method
    zones: Zones
    wiring: Wiring
    compared: Plans
    remedies: list[RemedyRow]
    findings: list[Finding]


RunDivisionReply = Divided | NotDivided
