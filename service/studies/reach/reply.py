"""`POST /v1/reach`: what is answered."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType, field

from service.wire.conditions import Conditions
from service.wire.quantities import ShownLength, ShownRealPower
from service.wire.reply import EndState, ExtremeVoltage, Finding, JudgedAnswer
from service.wire.summary import LoadSummary
from service.wire.wiring import RunsWiring


class ReachPoint(Struct, frozen=True):
    """One run that was tried, solved in the state that the request describes."""

    length: Annotated[ShownLength, Meta(description="From the supply to the end of the cable.")]
    end: EndState
    power: (
        Annotated[ShownRealPower, Meta(description="Of all fixtures together, where the power is asked for.")]
        | UnsetType
    ) = UNSET
    count: (
        Annotated[int, Meta(ge=1, description="How many fixtures, where they stand one by one.")] | UnsetType
    ) = UNSET
    lowest: (
        Annotated[ExtremeVoltage, Meta(description="The lowest voltage in the corners that were asked for.")]
        | UnsetType
    ) = UNSET


Binding = Annotated[
    list[Finding],
    Meta(
        description="What rules the run of `beyond` out: its faults and the warnings that were not accepted,"
        " of each code the one farthest beyond its limit."
    ),
]


JudgedConditions = Annotated[
    Conditions,
    Meta(
        description="Over which the answer was judged, complete: beside `supply` and `wiring` they can be"
        " posted to `/v1/voltage-drop` as they are."
    ),
]


Smallest = Annotated[
    ReachPoint,
    Meta(
        description="The smallest run that keeps every limit, where smaller ones do not: the range is from"
        " here to `answer`. Absent: the smallest that is tried keeps every limit too."
    ),
]


Below = Annotated[
    ReachPoint, Meta(description="The next smaller value than `from`, with which some limit is broken.")
]


BindingBelow = Annotated[list[Finding], Meta(description="What rules the run of `below` out.")]


Postable = Annotated[
    RunsWiring, Meta(description="The answer as a wiring, ready to be posted to `/v1/voltage-drop`.")
]


class Searched(Struct, frozen=True):
    """What an answer knows of the values that were not tried."""

    every_value: Annotated[
        bool,
        Meta(
            description="true: no other value, of four digits or whole, keeps every limit, and all in between"
            " do. It is known of those that were not tried because a limit that is broken there is broken by"
            " all larger or by all smaller ones. false: for some limit neither is so, and the answer is one"
            " of the values that were tried."
        ),
    ]
    tried: Annotated[int, Meta(ge=1, description="How many values were tried.")]


class Reached(JudgedAnswer, frozen=True, tag_field="status", tag="reached"):
    """The largest value of four digits, or the largest number, with which every limit is kept."""

    summary: LoadSummary
    answer: ReachPoint
    beyond: Annotated[ReachPoint, Meta(description="The next value, with which some limit is broken.")]
    binding: Binding
    wiring: Postable
    findings: Annotated[list[Finding], Meta(description="About the run of the answer.")]
    judged_conditions: JudgedConditions
    searched: Searched
    from_: Smallest | UnsetType = field(name="from", default=UNSET)
    below: Below | UnsetType = UNSET
    binding_below: BindingBelow | UnsetType = UNSET


class OutOfReach(JudgedAnswer, frozen=True, tag_field="status", tag="out-of-reach"):
    """Every run breaks a limit, or every one that was tried: `searched` says which.

    Each message of `binding` begins with the run that it speaks of, and names its corner or that it is as
    stated; `parameters` have both as `tried` and `corner`.
    """

    summary: LoadSummary
    beyond: Annotated[
        ReachPoint,
        Meta(description="Of the runs that were tried the one that comes nearest to keeping every limit."),
    ]
    binding: Binding
    judged_conditions: JudgedConditions
    searched: Searched


class Unlimited(JudgedAnswer, frozen=True, tag_field="status", tag="no-limit-in-range"):
    """Even the largest run that is tried keeps every limit."""

    summary: LoadSummary
    answer: Annotated[ReachPoint, Meta(description="The largest run that was tried.")]
    wiring: Postable
    findings: Annotated[list[Finding], Meta(description="About the run of the answer.")]
    judged_conditions: JudgedConditions
    searched: Searched
    from_: Smallest | UnsetType = field(name="from", default=UNSET)
    below: Below | UnsetType = UNSET
    binding_below: BindingBelow | UnsetType = UNSET


ReachReply = Reached | OutOfReach | Unlimited
