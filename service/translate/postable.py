"""A run that was found, as a wiring that can be posted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from service.messages.fixture import (
    ConstantCurrent,
    ConstantPower,
    ConstantResistance,
    Filament,
    FixtureLine,
    Zip,
)
from service.messages.quantities import Length
from service.messages.wiring import Run, RunsWiring
from service.units import from_inside

if TYPE_CHECKING:
    from typing import TypeVar

    from service.messages.fixture import Load
    from service.messages.quantities import ApparentPower, Current, RealPower
    from service.messages.reach import ReachRequest
    from service.studies.trial import Trial

    _Scalable = TypeVar("_Scalable", ApparentPower, Current, RealPower)


def postable(request: ReachRequest, load: Load, found: Trial, unit: str) -> RunsWiring:
    """The run as a wiring in the form `runs`.

    Parameters
    ----------
    request : ReachRequest
        Whose cable, window and nominal voltage it has.
    load : Load
        Of which each fixture has its share.
    found : Trial
    unit : str
        Of its lengths, m or ft.
    """
    limits = request.limits
    window = UNSET if isinstance(limits, UnsetType) else limits.window
    lines = [
        FixtureLine(
            at=_length(each.at_m, unit),
            load=scaled(load, each.share_ratio),
            count=UNSET if each.spacing_m is None else each.pieces,
            spacing=UNSET if each.spacing_m is None else _length(each.spacing_m, unit),
            window=window,
        )
        for each in found.placements
    ]
    tail = _length(found.tail_m, unit) if found.tail_m > 0.0 else UNSET
    return RunsWiring([Run(request.cable, lines, tail=tail)], request.nominal_voltage)


def scaled(load: Load, share_ratio: float) -> Load:
    """A share of a load. [-]"""
    if isinstance(load, ConstantPower):
        apparent = load.apparent_power
        return replace(
            load,
            power=_part(load.power, share_ratio),
            apparent_power=apparent if isinstance(apparent, UnsetType) else _part(apparent, share_ratio),
        )
    if isinstance(load, ConstantCurrent):
        return replace(load, current=_part(load.current, share_ratio))
    if isinstance(load, ConstantResistance | Filament):
        return replace(load, power=_part(load.power, share_ratio))
    return Zip(
        _part(load.constant_power_part, share_ratio),
        _part(load.constant_current_part, share_ratio),
        _part(load.constant_resistance_part, share_ratio),
        load.rated_voltage,
    )


def _part(quantity: _Scalable, share_ratio: float) -> _Scalable:
    return replace(quantity, value=quantity.value * share_ratio)


def _length(length_m: float, unit: str) -> Length:
    """A length as it would be written: twelve digits, so that 40 m is not 39.99999999999999 m."""
    return Length(float(f"{from_inside(length_m, unit):.12g}"), unit)  # type: ignore[arg-type]
