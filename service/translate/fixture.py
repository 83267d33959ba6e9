"""Fixtures: from the wire to the studies."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from msgspec import UNSET, UnsetType

from service.messages import fixture as wire
from service.messages.fixture import ConstantCurrent, ConstantPower, ConstantResistance, Filament, Strip
from service.physics.load import constant_resistance, filament, zip_load
from service.studies.job import FixtureLine, Lead, Subject, Window
from service.studies.loads import ReadLoad, read_constant_current, read_constant_power, read_strip
from service.translate.cable import cable_spec
from service.units import inside

if TYPE_CHECKING:
    from service.messages.quantities import (
        ApparentPower,
        Current,
        DeviceCurrent,
        DirectVoltage,
        LampVoltage,
        Length,
        LoopResistancePerLength,
        MainsVoltage,
        PowerPerLength,
        Rating,
        RealPower,
        Resistance,
        SecondaryVoltage,
    )

    Scaled = (
        ApparentPower
        | Current
        | DeviceCurrent
        | DirectVoltage
        | LampVoltage
        | Length
        | LoopResistancePerLength
        | MainsVoltage
        | PowerPerLength
        | Rating
        | RealPower
        | Resistance
        | SecondaryVoltage
    )

_T = TypeVar("_T")


def amount(quantity: Scaled) -> float:
    """A quantity in the unit used inside."""
    return inside(quantity.value, quantity.unit)


def said(member: _T | UnsetType) -> _T | None:
    """An optional member, None where it was left out."""
    return None if isinstance(member, UnsetType) else member


def fixture_line(
    line: wire.FixtureLine | wire.PointFixture, pointer: str, *, direct_current: bool
) -> FixtureLine:
    """A fixture line as the studies know it.

    Parameters
    ----------
    line : FixtureLine
        From the request.
    pointer : str
        Where it stands there.
    direct_current : bool
        Whether its supply gives direct current.
    """
    read = read_load(line.load, direct_current=direct_current)
    window, lead = line.window, line.lead
    return FixtureLine(
        subject=Subject(pointer, said(line.id)),
        name=said(line.name),
        at_m=amount(line.at) if isinstance(line, wire.FixtureLine) else 0.0,
        pieces=1 if line.count is UNSET else int(line.count),
        spacing_m=_spacing(line),
        load=read.load,
        filament=isinstance(line.load, Filament),
        window=None if window is UNSET else window_of(window),
        lead=None if lead is UNSET else Lead(amount(lead.length), cable_spec(lead.cable)),
        splice_ohm=0.0 if line.splice_resistance is UNSET else amount(line.splice_resistance),
        input="either" if line.input is UNSET else line.input,
        remarks=read.remarks,
        rail_ohm=read.rail_ohm,
        strip_m=read.strip_m,
        rated_v=rated_voltage(line.load),
    )


def rated_voltage(load: wire.FixtureLoad) -> float | None:
    """The voltage for which a label states the watts; None where they hold at any voltage. [V]"""
    if isinstance(load, ConstantResistance | Filament | wire.Zip):
        return amount(load.rated_voltage)
    return None


def window_of(window: wire.Window) -> Window:
    """A window that the maker states."""
    return Window(amount(window.minimum), amount(window.maximum))


def _spacing(line: wire.FixtureLine | wire.PointFixture) -> float | None:
    """Distance between fixtures of a line [m]; None where they all stand at one point."""
    if isinstance(line, wire.PointFixture) or line.spacing is UNSET:
        return None
    return amount(line.spacing)


def read_load(load: wire.FixtureLoad, *, direct_current: bool) -> ReadLoad:
    """How a fixture draws, and what its label left open."""
    if isinstance(load, ConstantPower):
        return read_constant_power(
            inside(load.power.value, load.power.unit),
            apparent_va=None if load.apparent_power is UNSET else amount(load.apparent_power),
            power_factor=said(load.power_factor),
            direct_current=direct_current,
        )
    if isinstance(load, ConstantCurrent):
        return read_constant_current(
            amount(load.current), power_factor=said(load.power_factor), direct_current=direct_current
        )
    if isinstance(load, ConstantResistance):
        return ReadLoad(constant_resistance(amount(load.power), rated_v=amount(load.rated_voltage)))
    if isinstance(load, Strip):
        return _read_strip(load, direct_current=direct_current)
    if isinstance(load, Filament):
        return ReadLoad(filament(amount(load.power), rated_v=amount(load.rated_voltage)))
    return ReadLoad(
        zip_load(
            constant_power_w=amount(load.constant_power_part),
            constant_current_w=amount(load.constant_current_part),
            constant_resistance_w=amount(load.constant_resistance_part),
            rated_v=amount(load.rated_voltage),
        )
    )


def _read_strip(load: Strip, *, direct_current: bool) -> ReadLoad:
    own = load.resistance_per_length
    return read_strip(
        amount(load.length),
        w_per_m=amount(load.power_per_length),
        ohm_per_m=None if own is UNSET else amount(own),
        direct_current=direct_current,
    )
