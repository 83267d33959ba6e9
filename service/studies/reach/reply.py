"""`POST /v1/reach`: what is answered."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import ShownLength, ShownRealPower
from service.wire.reply import Answer, EndState, ExtremeVoltage, Finding
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
    Meta(description="Every limit that breaks just beyond the answer; about the run tried there."),
]


Postable = Annotated[
    RunsWiring, Meta(description="The answer as a wiring, ready to be posted to `/v1/voltage-drop`.")
]


class Reached(Answer, frozen=True, tag_field="status", tag="reached"):
    """The largest value of four digits, or the largest number, with which every limit is kept."""

    answer: ReachPoint
    beyond: Annotated[ReachPoint, Meta(description="The next value, with which some limit is broken.")]
    binding: Binding
    wiring: Postable
    findings: Annotated[list[Finding], Meta(description="About the run of the answer.")]


class OutOfReach(Answer, frozen=True, tag_field="status", tag="out-of-reach"):
    """Even the smallest run breaks a limit."""

    beyond: Annotated[ReachPoint, Meta(description="The smallest run that was tried.")]
    binding: Binding


class Unlimited(Answer, frozen=True, tag_field="status", tag="no-limit-in-range"):
    """Even the largest run that is tried keeps every limit."""

    answer: Annotated[ReachPoint, Meta(description="The largest run that was tried.")]
    wiring: Postable
    findings: Annotated[list[Finding], Meta(description="About the run of the answer.")]


ReachReply = Reached | OutOfReach | Unlimited
