"""Reading a fixture's label: what it draws, and what the label left open or said twice."""

from __future__ import annotations

from typing import NamedTuple

from service.circuit.job import Remark
from service.circuit.layout import NO_RAIL_OHM
from service.physics.load import Load, constant_current, constant_power


class ReadLoad(NamedTuple):
    """A load and what reading it gave rise to; of a strip its own resistance and length.

    [ohm], [m]
    """

    load: Load
    remarks: tuple[Remark, ...] = ()
    rail_ohm: float = 0.0
    strip_m: float = 0.0


def read_constant_power(
    power_w: float, *, apparent_va: float | None, power_factor: float | None, direct_current: bool
) -> ReadLoad:
    """Watts with volt-amperes or a power factor; volt-amperes win where both are given.

    On direct current there is no non-active current: volt-amperes and power factor are set aside, with a
    note.

    Parameters
    ----------
    power_w : float
        [W]
    apparent_va : float or None
        [VA]
    power_factor : float or None
        [-]
    direct_current : bool
        Whether the supply gives direct current.
    """
    if direct_current:
        stated_twice = apparent_va is not None or power_factor is not None
        return ReadLoad(
            constant_power(power_w), (Remark.POWER_FACTOR_ON_DIRECT_CURRENT,) if stated_twice else ()
        )
    if apparent_va is not None:
        remarks: tuple[Remark, ...] = (
            (Remark.POWER_FACTOR_BESIDE_APPARENT_POWER,) if power_factor is not None else ()
        )
        if apparent_va < power_w:
            remarks += (Remark.APPARENT_BELOW_REAL,)
        return ReadLoad(constant_power(power_w, apparent_va=apparent_va), remarks)
    if power_factor is not None:
        return ReadLoad(constant_power(power_w, apparent_va=power_w / power_factor))
    return ReadLoad(constant_power(power_w), (Remark.POWER_FACTOR_UNSTATED,))


def read_strip(length_m: float, *, w_per_m: float, ohm_per_m: float | None, direct_current: bool) -> ReadLoad:
    """The watts of a whole strip and its own resistance, both rails together. [m], [W/m], [ohm/m]"""
    rail_ohm = 0.0 if ohm_per_m is None else ohm_per_m * length_m
    remarks: tuple[Remark, ...] = (Remark.STRIP_CONSTANT_POWER,)
    if ohm_per_m is None:
        remarks += (Remark.STRIP_WITHOUT_RAIL,)
    if rail_ohm >= NO_RAIL_OHM:
        remarks += (Remark.STRIP_AS_LUMPS,)
    if not direct_current:
        remarks += (Remark.POWER_FACTOR_UNSTATED,)
    return ReadLoad(constant_power(w_per_m * length_m), remarks, rail_ohm, length_m)


def read_constant_current(current_a: float, *, power_factor: float | None, direct_current: bool) -> ReadLoad:
    """Rms current [A] with a power factor [-], which is set aside on direct current, with a note."""
    if direct_current:
        remarks = (Remark.POWER_FACTOR_ON_DIRECT_CURRENT,) if power_factor is not None else ()
        return ReadLoad(constant_current(current_a), remarks)
    if power_factor is None:
        return ReadLoad(constant_current(current_a), (Remark.POWER_FACTOR_UNSTATED,))
    return ReadLoad(constant_current(current_a, power_factor=power_factor))
