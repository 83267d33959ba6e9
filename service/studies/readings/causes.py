"""Every single thing that could be wrong with a job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.studies.readings.load_causes import (
    exchange_causes,
    power_causes,
    power_factor_causes,
    undeclared_causes,
)
from service.studies.readings.wire_causes import (
    break_causes,
    cable_causes,
    span_causes,
    splice_causes,
    supply_causes,
)
from service.studies.work import OPERATIONS_OF_WORK, count

if TYPE_CHECKING:
    from service.studies.readings.basis import Basis
    from service.studies.readings.cause import Cause

CAUSES_OF_POINT = 6
"""Causes for each point: a joint, a stretch, a break; a fixture, its power factor, one more."""

CONCEIVED, FOLLOWED = 60, 2
"""Operations of one cause, and for each reading of what it does to that."""


def causes_of(basis: Basis) -> list[Cause]:
    """Every cause, in the order in which equals are told: the supply first, then joints, then the rest."""
    basis.model.spend(work_of_causes(basis.model.network.points, len(basis.taken)))
    # Volts hardly follow a power factor: it is asked about where amperes were read.
    currents = any(not one.probe.is_voltage for one in basis.taken)
    found = [
        *supply_causes(basis),
        *splice_causes(basis),
        *span_causes(basis),
        *cable_causes(basis),
        *break_causes(basis),
        *power_causes(basis),
        *(power_factor_causes(basis) if currents else ()),
        *undeclared_causes(basis),
        *exchange_causes(basis),
    ]
    count(len(found) * (CONCEIVED + FOLLOWED * len(basis.taken)))
    return found


def work_of_causes(points: int, readings: int) -> int:
    """Work of finding what each cause would do to each reading."""
    return 1 + points * CAUSES_OF_POINT * (CONCEIVED + FOLLOWED * readings) // OPERATIONS_OF_WORK
