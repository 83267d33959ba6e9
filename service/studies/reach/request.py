"""`POST /v1/reach`: what is asked."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.cable import Cable
from service.wire.conditions import Conditions
from service.wire.fixture import Load, Window
from service.wire.job import Accept, DropPercent, LengthUnits, OwnDetail, OwnSheet
from service.wire.quantities import CallerId, Length, PowerFactor
from service.wire.supply import Supply
from service.wire.wiring import FixtureVoltage

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
    accept: Accept | UnsetType = UNSET
    conditions: (
        Annotated[
            Conditions,
            Meta(
                description="The answer holds in every corner of `mains` and temperatures; where those are"
                " left out, in the usual ones, unless `range` is `as-stated`."
            ),
        ]
        | UnsetType
    ) = UNSET
    units: LengthUnits | UnsetType = UNSET
    sheet: OwnSheet | UnsetType = UNSET
    detail: OwnDetail | UnsetType = UNSET
