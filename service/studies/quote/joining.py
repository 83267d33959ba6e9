"""Joints alike are one group, with the connector that costs least for exactly what meets there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

from service.studies.quote.connectors import Conductors, Connector, Meeting, cheapest, conductors_of
from service.studies.quote.job import ConnectorGood
from service.studies.quote.ledger import LineAsked, Terms, unit_price
from service.studies.quote.pieces import AT_RUN, Splice, Spot

BOTH = 2
"""Poles of a circuit."""


class MetJoint(NamedTuple):
    """One joint: in which part, where, and what in the request it is about."""

    part: int
    spot: Spot
    pointer: str


@dataclass(slots=True)
class JointGroup:
    """Joints alike: what meets there of one pole, and at how many poles.

    `connector` is a place in the catalogue, of which each joint takes `each`; `bare`: some lamp there has no
    lead, so that it is not known what is joined.
    """

    kind: str
    conductors: Conductors
    poles: int
    bare: bool
    connector: int | None
    each: int
    joints: list[MetJoint] = field(default_factory=list)


class Joiner:
    """Chooses connectors, and keeps joints in groups.

    Parameters
    ----------
    goods : sequence of ConnectorGood
    terms : Terms
        Prices are compared as the bill has them.
    """

    def __init__(self, goods: Sequence[ConnectorGood], terms: Terms) -> None:
        self._connectors = [
            Connector(
                each.good.id,
                each.poles,
                each.accepts,
                unit_price(
                    LineAsked("joints", Decimal(1), each.good.amount, each.good.base_quantity, each.good.tax),
                    terms,
                ),
                each.good.base_quantity,
            )
            for each in goods
        ]
        self._chosen: dict[tuple[tuple[tuple[Meeting, int], ...], int], int | None] = {}
        self._groups: dict[tuple[str, tuple[tuple[Meeting, int], ...], int, bool], JointGroup] = {}

    @property
    def groups(self) -> list[JointGroup]:
        """In the order in which they were met."""
        return list(self._groups.values())

    def connector_for(self, conductors: Conductors, poles: int = BOTH) -> int | None:
        """The place of the cheapest connector for these; for one pole alone of those with one pole."""
        key = tuple(conductors.items()), poles
        if key not in self._chosen:
            offered = [each for each in self._connectors if poles == BOTH or each.poles == 1]
            found = cheapest(offered, conductors)
            self._chosen[key] = None if found is None else self._connectors.index(found)
        return self._chosen[key]

    def price_of(self, connector: int) -> Connector:
        """A connector with its net price."""
        return self._connectors[connector]

    def join(self, splices: Iterable[tuple[int, Splice]]) -> None:
        """Take up the joints of some parts."""
        for part, splice in splices:
            first, second = (
                conductors_of((Meeting(name, uncut), number) for name, uncut, number in pole)
                for pole in splice.poles
            )
            met = MetJoint(part, splice.spot, splice.pointer)
            alike = first == second
            for conductors in (first,) if alike else (first, second):
                self._put(splice.kind, conductors, BOTH if alike else 1, met, bare=bool(splice.bare))

    def join_in_run(self, conductor: str, met: Iterable[MetJoint]) -> None:
        """Take up joints within pieces of one cable."""
        conductors = {Meeting(conductor): BOTH}
        for each in met:
            self._put(AT_RUN, conductors, BOTH, each, bare=False)

    def _put(self, kind: str, conductors: Conductors, poles: int, met: MetJoint, *, bare: bool) -> None:
        key = kind, tuple(conductors.items()), poles, bare
        if key not in self._groups:
            connector = None if bare else self.connector_for(conductors, poles)
            each = 0 if connector is None else self._connectors[connector].number if poles == BOTH else 1
            self._groups[key] = JointGroup(kind, conductors, poles, bare, connector, each)
        self._groups[key].joints.append(met)

    def used(self) -> dict[int, int]:
        """How many of each connector."""
        counts: dict[int, int] = {}
        for group in self._groups.values():
            if group.connector is not None:
                counts[group.connector] = counts.get(group.connector, 0) + group.each * len(group.joints)
        return counts
