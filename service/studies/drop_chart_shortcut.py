"""The trade's shortcut: watts times feet over a constant of the cable is the drop on 12 V."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service import tables
from service.studies.job import Listed
from service.studies.window import REFERENCE_NOMINAL_V

if TYPE_CHECKING:
    from service.studies.job import CableSpec

FOOT_M = 0.3048
"""International foot, exact. [m]"""


def constant_of(cable: CableSpec, nominal_v: float) -> tables.CableConstant | None:
    """The constant of a cable; only for fixtures of 12 V and a plain pair of listed copper. [V]"""
    conductor = cable.conductor
    plain = cable.other is None and cable.in_parallel == 1
    if nominal_v != REFERENCE_NOMINAL_V or not plain or not isinstance(conductor, Listed):
        return None
    return tables.cable_constant(conductor.name) if conductor.material in {None, "copper"} else None


def shortcut_end_v(
    open_circuit_v: float, constant: tables.CableConstant, *, power_w: float, length_m: float
) -> float:
    """What the shortcut leaves at the end, which may be less than nothing. [V]

    Examples
    --------
    60 W at 75 ft of 14 AWG (common practice, no published source):

    >>> constant = tables.CableConstant("14 AWG", 3500.0, "cable-constants")
    >>> round(shortcut_end_v(12.0, constant, power_w=60.0, length_m=22.86), 2)
    10.71
    """
    return open_circuit_v - power_w * (length_m / FOOT_M) / constant.watt_feet_per_volt
