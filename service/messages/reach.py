"""`POST /v1/reach`: how far, how much, how many, within the limits."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from service.messages.bracket import EndState
from service.messages.cable import Cable
from service.messages.conditions import Conditions
from service.messages.envelope import ExtremeVoltage
from service.messages.fixture import Load, Window
from service.messages.job import DropPercent
from service.messages.quantities import Length
from service.messages.reply import Assumption, Caution, Finding, SourceNote
from service.messages.sheet import OwnSheet
from service.messages.shown import ShownLength, ShownRealPower
from service.messages.supply import Supply
from service.messages.wiring import FixtureVoltage, RunsWiring
from service.messages.words import CallerId, PowerFactor

FirstAt = Annotated[Length, Meta(description="From the supply to the first. Left out: one spacing.")]


class LumpedLayout(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="lumped"):
    """All of the load at the far end."""


class EvenlySpreadLayout(
    Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="evenly-spread"
):
    """The load spread evenly and without gaps from the supply to the far end."""


class SpacingLayout(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="spacing"):
    """The load shared by fixtures alike, one every `spacing`."""

    spacing: Length
    first_at: FirstAt | UnsetType = UNSET


Layout = LumpedLayout | EvenlySpreadLayout | SpacingLayout


class LongestRun(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="longest-run"):
    """How far may this load be? With `spacing` it is shared by as many fixtures as the run is long for."""

    load: Annotated[Load, Meta(description="Of all fixtures together.")]
    layout: Layout


class LargestLoad(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="largest-load"):
    """How many watts of constant power may a run of this length carry?"""

    length: Length
    layout: Layout
    power_factor: PowerFactor | UnsetType = UNSET


class MostFixtures(Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="most-fixtures"):
    """How many fixtures alike may stand one every `spacing`?"""

    load: Annotated[Load, Meta(description="Of one fixture.")]
    spacing: Length
    first_at: FirstAt | UnsetType = UNSET


Question = LongestRun | LargestLoad | MostFixtures


class ReachLimits(Struct, frozen=True, forbid_unknown_fields=True):
    """The caller's own policy; ampacity, devices and ratings hold beside it."""

    window: (
        Annotated[Window, Meta(description="Of the fixtures. Left out: common practice (`window-default`).")]
        | UnsetType
    ) = UNSET
    maximum_drop_percent: DropPercent | UnsetType = UNSET


class ReachRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """A supply, one cable, and a question about the run that it may feed."""

    supply: Supply
    cable: Cable
    question: Question
    id: CallerId | UnsetType = UNSET
    nominal_voltage: FixtureVoltage | UnsetType = UNSET
    limits: ReachLimits | UnsetType = UNSET
    conditions: (
        Annotated[
            Conditions,
            Meta(
                description="With `mains` or temperatures to stand, the answer holds in every corner of them."
            ),
        ]
        | UnsetType
    ) = UNSET
    units: (
        Annotated[
            Literal["us", "metric"],
            Meta(description="Of lengths in the reply. Left out: as the first length in the request."),
        ]
        | UnsetType
    ) = UNSET
    sheet: OwnSheet | UnsetType = UNSET


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


class Reached(Struct, frozen=True, tag_field="status", tag="reached"):
    """The largest value of four digits, or the largest number, with which every limit is kept."""

    answer: ReachPoint
    beyond: Annotated[ReachPoint, Meta(description="The next value, with which some limit is broken.")]
    binding: Binding
    wiring: Postable
    findings: Annotated[list[Finding], Meta(description="About the run of the answer.")]
    assumptions: list[Assumption]
    sources: list[SourceNote]
    cautions: list[Caution]
    calculation_version: str
    tables_version: str
    request_sha256: str
    id: CallerId | UnsetType = UNSET


class OutOfReach(Struct, frozen=True, tag_field="status", tag="out-of-reach"):
    """Even the smallest run breaks a limit."""

    beyond: Annotated[ReachPoint, Meta(description="The smallest run that was tried.")]
    binding: Binding
    assumptions: list[Assumption]
    sources: list[SourceNote]
    cautions: list[Caution]
    calculation_version: str
    tables_version: str
    request_sha256: str
    id: CallerId | UnsetType = UNSET


class Unlimited(Struct, frozen=True, tag_field="status", tag="no-limit-in-range"):
    """Even the largest run that is tried keeps every limit."""

    answer: Annotated[ReachPoint, Meta(description="The largest run that was tried.")]
    wiring: Postable
    findings: Annotated[list[Finding], Meta(description="About the run of the answer.")]
    assumptions: list[Assumption]
    sources: list[SourceNote]
    cautions: list[Caution]
    calculation_version: str
    tables_version: str
    request_sha256: str
    id: CallerId | UnsetType = UNSET


ReachReply = Reached | OutOfReach | Unlimited
