"""`POST /v1/run-division`: what is asked."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.conditions import Conditions
from service.wire.fixture import FixtureLine
from service.wire.job import Accept, LengthUnits, Limits, OwnDetail, OwnSheet
from service.wire.money import Currency
from service.wire.quantities import CallerId, Length, Name
from service.wire.stock import CableStock, OwnCutting, StockFamily
from service.wire.supply import Supply
from service.wire.wiring import FixtureTypes, FixtureVoltage

MOST_ZONES = 10

MOST_LAMPS = 200
"""Of all zones together."""

MOST_RUNS = 20

USUAL_RUNS = 4


class FixtureZone(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Fixtures along one route, as the cable to them may lie: a path, a wall, a bed."""

    name: Name
    distance: Annotated[Length, Meta(description="Of cable, from the supply to where it meets the route.")]
    fixtures: Annotated[
        list[FixtureLine],
        Meta(
            min_length=1,
            max_length=MOST_LAMPS,
            description="`at` is along the route, from where the route begins. A line without `spacing` stays"
            " at one point and on one run.",
        ),
    ]
    id: CallerId | UnsetType = UNSET
    arrives_at: (
        Annotated[
            Length,
            Meta(
                description="How far along the route the cable from the supply meets it. Left out: where it"
                " begins."
            ),
        ]
        | UnsetType
    ) = UNSET


class RunDivisionRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """A supply and zones of fixtures, which are to be divided into runs."""

    supply: Supply
    zones: Annotated[
        list[FixtureZone],
        Meta(min_length=1, max_length=MOST_ZONES, description=f"At most {MOST_LAMPS} fixtures in all."),
    ]
    fixture_types: FixtureTypes | UnsetType = UNSET
    nominal_voltage: FixtureVoltage | UnsetType = UNSET
    runs_at_most: (
        Annotated[
            float,
            Meta(
                ge=1,
                le=MOST_RUNS,
                multiple_of=1,
                description=f"For each zone. Left out: {USUAL_RUNS}.",
                extra_json_schema={"type": "integer"},
            ),
        ]
        | UnsetType
    ) = UNSET
    hubs: (
        Annotated[
            bool,
            Meta(
                description="Whether fixtures may be fed from a hub, each over a leg of its own and all legs"
                " of one length. Left out: yes."
            ),
        ]
        | UnsetType
    ) = UNSET
    stock: CableStock | UnsetType = UNSET
    family: StockFamily | UnsetType = UNSET
    cutting: OwnCutting | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET
    limits: Limits | UnsetType = UNSET
    conditions: Conditions | UnsetType = UNSET
    accept: Accept | UnsetType = UNSET
    currency: Currency | UnsetType = UNSET
    units: LengthUnits | UnsetType = UNSET
    sheet: OwnSheet | UnsetType = UNSET
    detail: OwnDetail | UnsetType = UNSET
