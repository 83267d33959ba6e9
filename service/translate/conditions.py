"""Conditions and corners: from the wire to the studies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType

from service import tables
from service.messages.conditions import NamedMains
from service.studies.corners import TOGETHER
from service.studies.job import Corners
from service.translate.cable import celsius
from service.translate.fixture import amount

if TYPE_CHECKING:
    from service.messages.conditions import Conditions, Mains
    from service.studies.job import Supply

USUAL_RATED_V = (120.0, 230.0)
"""Rated mains that are taken where a request gives mains in volts but no rated primary. [V]"""

BETWEEN_V = 180.0
"""Mains up to here are taken for 120 V mains. [V]"""


def temperature_of(conditions: Conditions | UnsetType) -> float | None:
    """Conductor temperature of the state that is answered; None where it was left open. [°C]"""
    if isinstance(conditions, UnsetType) or conditions.conductor_temperature is UNSET:
        return None
    return celsius(conditions.conductor_temperature)


def in_phase(conditions: Conditions | UnsetType) -> bool:
    """Whether every volt-ampere counts as if it were a watt."""
    return not isinstance(conditions, UnsetType) and conditions.non_active_current == "in-phase"


def corners_of(conditions: Conditions | UnsetType, supply: Supply) -> Corners | None:
    """The corners that a request asks for; None where it asks for one state only."""
    if isinstance(conditions, UnsetType):
        return None
    mains, warmth = conditions.mains, conditions.conductor_temperature_range
    if mains is UNSET and warmth is UNSET and conditions.switching is UNSET:
        return None
    temperatures_c = None
    if not isinstance(warmth, UnsetType):
        both = celsius(warmth.lowest), celsius(warmth.highest)
        temperatures_c = min(both), max(both)
    return Corners(
        mains_ratios=None if isinstance(mains, UnsetType) else _ratios(mains, supply),
        temperatures_c=temperatures_c,
        switching=TOGETHER if conditions.switching is UNSET else conditions.switching,
    )


def _ratios(mains: Mains, supply: Supply) -> tuple[float, float]:
    """Lowest and highest mains over the rated mains. [-]"""
    if isinstance(mains, NamedMains):
        named = tables.mains_range(mains.range)
        return named.lowest_ratio, named.highest_ratio
    both = amount(mains.lowest), amount(mains.highest)
    rated_v = supply.mains.rated_v if supply.mains else USUAL_RATED_V[max(both) > BETWEEN_V]
    return min(both) / rated_v, max(both) / rated_v
