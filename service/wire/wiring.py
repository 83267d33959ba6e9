"""All cable and fixtures behind one supply, in the forms in which a caller may give them."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.cable import Cable
from service.wire.fixture import FixtureLine, FixtureLoad, FixtureType, Load, PointFixture
from service.wire.quantities import CallerId, Count, Length, Name, NominalVoltage, SecondaryVoltage

Fixtures = Annotated[list[FixtureLine], Meta(max_length=10_000)]


class CableChange(Struct, frozen=True, forbid_unknown_fields=True):
    """From `at` on the run is made of another cable."""

    at: Length
    cable: Cable


CableChanges = Annotated[
    list[CableChange], Meta(max_length=100, description="In any order; from each on, the cable is another.")
]


Tail = Annotated[Length, Meta(description="Bare cable after the farthest point. Left out: none.")]


Start = Annotated[Length, Meta(description="Where it starts, along the run or branch that feeds it.")]


Tap = Annotated[
    SecondaryVoltage, Meta(description="The terminal it is wired to. Left out: the rated secondary voltage.")
]


CircuitName = Annotated[Name, Meta(description="One of the supply's circuits. Left out: the first.")]


FixtureVoltage = Annotated[
    NominalVoltage,
    Meta(
        description="What the fixtures are made for; windows follow it. Left out: 12 V (`fixtures-12-volt`)."
    ),
]


OwnCable = Annotated[Cable, Meta(description="Left out: that of `wiring.cable`.")]


CommonCable = Annotated[
    Cable, Meta(description="Of every run, branch, spur and span that has no `cable` of its own.")
]


FixtureTypes = Annotated[
    list[FixtureType],
    Meta(max_length=200, description="What fixtures may name as their `type`, each with an id of its own."),
]


class ReturnLeg(Struct, frozen=True, forbid_unknown_fields=True):
    """A cable that brings the farthest point back to the run's start; of the run's cable unless stated."""

    length: Length
    cable: Cable | UnsetType = UNSET


class Spur(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A run that starts at a point of a branch."""

    at: Start
    cable: OwnCable | UnsetType = UNSET
    fixtures: Fixtures
    id: CallerId | UnsetType = UNSET
    name: Name | UnsetType = UNSET
    cable_changes: CableChanges | UnsetType = UNSET
    tail: Tail | UnsetType = UNSET
    return_leg: ReturnLeg | UnsetType = UNSET


class Branch(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A run that starts at a point of a run."""

    at: Start
    cable: OwnCable | UnsetType = UNSET
    fixtures: Fixtures
    id: CallerId | UnsetType = UNSET
    name: Name | UnsetType = UNSET
    cable_changes: CableChanges | UnsetType = UNSET
    tail: Tail | UnsetType = UNSET
    return_leg: ReturnLeg | UnsetType = UNSET
    spurs: Annotated[list[Spur], Meta(max_length=200)] | UnsetType = UNSET


class Run(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A cable that leaves the supply with fixtures along it; it ends at its farthest point."""

    cable: OwnCable | UnsetType = UNSET
    fixtures: Fixtures
    id: CallerId | UnsetType = UNSET
    name: Name | UnsetType = UNSET
    tap: Tap | UnsetType = UNSET
    circuit: CircuitName | UnsetType = UNSET
    cable_changes: CableChanges | UnsetType = UNSET
    tail: Tail | UnsetType = UNSET
    return_leg: ReturnLeg | UnsetType = UNSET
    branches: Annotated[list[Branch], Meta(max_length=200)] | UnsetType = UNSET


class RunsWiring(Struct, frozen=True, forbid_unknown_fields=True, tag_field="form", tag="runs"):
    """Cables that leave the supply, each with fixtures, branches and spurs."""

    runs: Annotated[list[Run], Meta(min_length=1, max_length=1_000)]
    nominal_voltage: FixtureVoltage | UnsetType = UNSET
    cable: CommonCable | UnsetType = UNSET
    fixture_types: FixtureTypes | UnsetType = UNSET


class EvenWiring(Struct, frozen=True, forbid_unknown_fields=True, tag_field="form", tag="even"):
    """The shop's short form: `count` fixtures alike, evenly from `first_at` to `length`."""

    count: Count
    load: FixtureLoad
    cable: Cable
    length: Annotated[Length, Meta(description="From the supply to the last fixture.")]
    first_at: (
        Annotated[Length, Meta(description="From the supply to the first. Left out: length over count.")]
        | UnsetType
    ) = UNSET
    nominal_voltage: FixtureVoltage | UnsetType = UNSET


class GraphSpan(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"start": "from", "end": "to"}
):
    """One span between two named points; one that leaves the point "supply" may name its tap and circuit."""

    start: Name
    end: Name
    length: Length
    cable: OwnCable | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET
    tap: Tap | UnsetType = UNSET
    circuit: CircuitName | UnsetType = UNSET


class SpansWiring(Struct, frozen=True, forbid_unknown_fields=True, tag_field="form", tag="spans"):
    """Spans between named points, loops and parallel spans welcome; the supply is the point "supply"."""

    spans: Annotated[list[GraphSpan], Meta(min_length=1, max_length=11_000)]
    fixtures: Annotated[list[PointFixture], Meta(max_length=10_000)]
    nominal_voltage: FixtureVoltage | UnsetType = UNSET
    cable: CommonCable | UnsetType = UNSET
    fixture_types: FixtureTypes | UnsetType = UNSET


class TotalsWiring(Struct, frozen=True, forbid_unknown_fields=True, tag_field="form", tag="totals"):
    """All that is known is the total load and the length: taken at the far end, beside an even spread."""

    load: Annotated[Load, Meta(description="Of all fixtures together.")]
    cable: Cable
    length: Annotated[Length, Meta(description="From the supply to the last fixture.")]
    nominal_voltage: FixtureVoltage | UnsetType = UNSET


Wiring = RunsWiring | EvenWiring | SpansWiring | TotalsWiring
