"""Changes of a supply as a request has them: each comes back as a request can have it."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil
from typing import Any

from msgspec import UNSET, UnsetType, convert, to_builtins
from msgspec.structs import replace

from service import tables
from service.translate.wiring import amount
from service.wire.quantities import DeviceCurrent, SecondaryVoltage
from service.wire.supply import Battery, DcSupply, Supply, Transformer


def circuits_of(supply: Supply) -> tuple[str, ...]:
    """The names of the circuits that a supply states."""
    return () if isinstance(supply.circuits, UnsetType) else tuple(each.name for each in supply.circuits)


def with_devices(supply: Supply, device_a: float) -> tuple[Supply, list[int]]:
    """A supply whose stated overcurrent devices are of so many amperes at most, and which are changed. [A]"""
    if isinstance(supply.circuits, UnsetType):
        return supply, []
    larger_ones = [
        place
        for place, each in enumerate(supply.circuits)
        if not isinstance(each.limit, UnsetType) and amount(each.limit) > device_a
    ]
    circuits = [
        replace(each, limit=DeviceCurrent(device_a, "A")) if place in larger_ones else each
        for place, each in enumerate(supply.circuits)
    ]
    return replace(supply, circuits=circuits), larger_ones


TWELVE_V, RATIO_24_OVER_12 = 12.0, 2.0


MOST_AC_V, MOST_DC_V = 30.0, 60.0
"""Low voltage in the wet ends here; no remedy goes beyond. [V]"""


SUPPLY_DOUBLED = {
    "secondary": RATIO_24_OVER_12,
    "voltage": RATIO_24_OVER_12,
    "output": RATIO_24_OVER_12,
    "lowest": RATIO_24_OVER_12,
    "nominal": RATIO_24_OVER_12,
    "highest": RATIO_24_OVER_12,
    "internal_resistance": RATIO_24_OVER_12**2,
}


def doubled_supply(supply: Supply) -> Supply | None:
    """A supply of twice the voltage that sags as much in per cent; None beyond low voltage."""
    tree: dict[str, Any] = to_builtins(supply)
    scale(tree, lambda name: SUPPLY_DOUBLED.get(name, 1.0))
    for tap in tree.get("taps", ()):
        tap["value"] *= RATIO_24_OVER_12
    new: Supply = convert(tree, Supply)
    if isinstance(new, Transformer):
        taps_v = [] if isinstance(new.taps, UnsetType) else [amount(tap) for tap in new.taps]
        return new if max(amount(new.secondary), *taps_v, 0.0) <= MOST_AC_V else None
    highest = new.highest if isinstance(new, Battery) else new.output
    return new if amount(highest) <= MOST_DC_V else None


USUAL_V, FARTHEST_FROM_USUAL = (12.0, 24.0), 1.3
"""Usual voltages of lamps [V], and how far above one of them a supply may be meant for them [-]."""


def of_usual_voltage(supply: Supply) -> Supply | None:
    """A supply at the usual voltage below its own; None where it is a usual one, has taps or is a battery."""
    own_v = rated_v(supply)
    below = [each for each in USUAL_V if each < own_v <= FARTHEST_FROM_USUAL * each]
    if not below or taps_of(supply):
        return None
    if isinstance(supply, Transformer):
        return replace(supply, secondary=SecondaryVoltage(below[0], "V"), open_circuit=UNSET)
    if isinstance(supply, DcSupply):
        return replace(supply, output=replace(supply.output, value=below[0], unit="V"))
    return None


USUAL_STEP_W = 10.0
"""A needed rating of a DC supply is told in steps of this; no table of usual ones is known here. [W]"""


MOST_RATED_W = 100_000.0
"""The largest rating of a DC supply that can be asked for. [W]"""


MORE_THAN_NEEDED = (1.0, 1.1, 1.25, 1.5, 2.0, 3.0)
"""What a larger DC supply lets the lamps draw may be more than was drawn before. [-]"""


def larger(supply: Supply, need: float) -> list[tuple[Supply, str]]:
    """The same box with a larger rating, smallest first: a usual one, of a DC supply what is needed.

    Parameters
    ----------
    supply : Supply
    need : float
        What is drawn now, of its rating. [-]
    """
    if isinstance(supply, Transformer) and not isinstance(supply.winding, UnsetType):
        own, winding = amount(supply.winding.rating), supply.winding
        return [
            (
                replace(
                    supply, winding=replace(winding, rating=replace(winding.rating, value=va, unit="VA"))
                ),
                f"{va:g} VA",
            )
            for va in sorted(row.rating_va for row in tables.usual_ratings())
            if va > own and va > LESS_WITH_LESS_SAG * need * own
        ]
    if isinstance(supply, DcSupply) and not isinstance(supply.rating, UnsetType):
        needed_w = max(need, 1.0) * amount(supply.rating)
        rated_w = [USUAL_STEP_W * ceil(share * needed_w / USUAL_STEP_W) for share in MORE_THAN_NEEDED]
        return [
            (replace(supply, rating=replace(supply.rating, value=each_w, unit="W")), f"{each_w:g} W")
            for each_w in dict.fromkeys(rated_w)
            if each_w <= MOST_RATED_W
        ]
    return []


LESS_WITH_LESS_SAG = 0.9
"""A larger box sags less, and its cables take less of the watts; no rating below this share is tried. [-]"""


USUAL_TAPS_V = (12.0, 13.0, 14.0, 15.0)
"""Taps of a box for 12 V lamps that has several: common practice, no published source. [V]"""


def taps_of(supply: Supply) -> tuple[float, ...]:
    """The taps that a box says, lowest first. [V]"""
    if not isinstance(supply, Transformer) or isinstance(supply.taps, UnsetType):
        return ()
    return tuple(sorted({amount(supply.secondary), *(amount(tap) for tap in supply.taps)}))


def with_usual_taps(supply: Supply) -> Supply | None:
    """A box of 12 V that says no other taps, as one that has the usual."""
    lowest_v = USUAL_TAPS_V[0]
    if not isinstance(supply, Transformer) or {*taps_of(supply), amount(supply.secondary)} != {lowest_v}:
        return None
    return replace(supply, taps=[SecondaryVoltage(tap_v, "V") for tap_v in USUAL_TAPS_V])


def rated_v(supply: Supply) -> float:
    """What a run without a tap stands on. [V]"""
    if isinstance(supply, Transformer):
        return amount(supply.secondary)
    return amount(supply.output if isinstance(supply, DcSupply) else supply.nominal)


def scale(tree: Any, factor_of: Callable[[str], float]) -> None:  # noqa: ANN401  # a tree of JSON
    """Multiply quantities by what their name asks for; cables and leads stay as they are."""
    if isinstance(tree, list):
        for each in tree:
            scale(each, factor_of)
    elif isinstance(tree, dict):
        for name, each in tree.items():
            factor = factor_of(name)
            if factor != 1.0 and isinstance(each, dict) and "value" in each:
                each["value"] *= factor
            elif name not in {"cable", "lead"}:
                scale(each, factor_of)
