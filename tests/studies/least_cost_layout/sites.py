"""Sites made from a seed: a house, beds round it, routes between; nothing in them is anybody's garden."""

from __future__ import annotations

from decimal import Decimal
from math import hypot
from random import Random
from typing import Any

from service.circuit.cables import resolve_cable
from service.circuit.job import CableSpec, JobPart, Listed
from service.physics.load import constant_power
from service.studies.least_cost_layout.site import (
    BoxOffer,
    CableOffer,
    Feeding,
    JointPrices,
    LayoutRules,
    MountingPlace,
    Position,
    Route,
    Site,
    SiteLamp,
)

HOT_C, COLD_C = 40.0, -10.0
LOW_MAINS, HIGH_MAINS = 110 / 120, 126 / 120

PRICES = {"14 AWG": "0.95", "12 AWG": "1.40", "10 AWG": "2.20", "8 AWG": "3.60"}
"""Per metre, made up."""


def cable(name: str, price: str) -> CableOffer:
    """A cable of a stock by its size in the tables."""
    spec = CableSpec(Listed(name, "copper", "stranded"), None, 1)
    hot, cold = resolve_cable(spec, HOT_C), resolve_cable(spec, COLD_C)
    return CableOffer(
        JobPart("", name), Decimal(price), hot.ohm_per_m, cold.ohm_per_m, hot.ampacity_a, hot.device_a
    )


def box(
    va: float, price: str, taps: tuple[float, ...] = (12, 13, 14), regulation: float = 0.04, mounts: int = 1
) -> BoxOffer:
    """A transformer with its voltage at the ends of the range of mains."""

    def at(mains: float) -> tuple[float, float]:
        ratio = (1 + regulation) * mains
        return ratio, regulation / (va * ratio * ratio)

    low, high = at(LOW_MAINS), at(HIGH_MAINS)
    feeding = Feeding(*low, *high)
    return BoxOffer(
        JobPart("", f"{va:g}"),
        va,
        taps,
        (None,),
        listed=False,
        price=Decimal(price),
        feedings=(feeding,) * mounts,
    )


def site(
    lamps: int, seed: int, mounts: int = 1, trench: float = 6.0, extra: float = 0.4, **rules: Any
) -> Site:
    """Lamps beside a net of paths; every place can be reached."""
    random = Random(seed)  # repeatable, not secret
    side = 12.0 * lamps**0.5 + 10
    positions = [Position(0.0, side * at / max(1, mounts)) for at in range(mounts)]
    while len(positions) < mounts + lamps + lamps // 3:
        spot = Position(random.uniform(2, side), random.uniform(-side / 2, side / 2))
        if all(hypot(spot.east_m - p.east_m, spot.north_m - p.north_m) > 1.5 for p in positions):
            positions.append(spot)

    def far(a: int, b: int) -> float:
        return hypot(positions[a].east_m - positions[b].east_m, positions[a].north_m - positions[b].north_m)

    pairs = []
    joined = {0}
    while len(joined) < len(positions):
        a, b = min(
            ((a, b) for a in sorted(joined) for b in range(len(positions)) if b not in joined),
            key=lambda ab: far(*ab),
        )
        joined.add(b)
        pairs.append((a, b))
    near = sorted(
        (
            (a, b)
            for a in range(len(positions))
            for b in range(a)
            if (b, a) not in pairs and (a, b) not in pairs
        ),
        key=lambda ab: far(*ab),
    )
    pairs += near[: int(extra * len(positions))]
    routes = tuple(
        Route(
            JobPart(f"/routes/{i}"),
            a,
            b,
            far(a, b) * random.uniform(1.0, 1.15),
            Decimal(str(round(far(a, b) * trench * random.choice([0.4, 1.0, 1.6]), 2))),
        )
        for i, (a, b) in enumerate(pairs)
    )
    places = random.sample(range(mounts, len(positions)), lamps)
    lit = tuple(
        SiteLamp(
            JobPart(f"/fixtures/{i}"), place, constant_power(random.choice([3.0, 5.0, 7.0, 12.0])), 10.0, 15.0
        )
        for i, place in enumerate(places)
    )
    watts = sum(each.load.power_w for each in lit)
    sizes = [(75, "95"), (150, "150"), (300, "235"), (600, "390")]
    boxes = tuple(box(va, price, mounts=mounts) for va, price in sizes)
    assert watts < 600 * mounts
    return Site(
        tuple(positions),
        routes,
        lit,
        tuple(MountingPlace(JobPart(f"/mounting_points/{i}"), i, Decimal(40 * i), 2) for i in range(mounts)),
        boxes,
        tuple(cable(name, price) for name, price in PRICES.items()),
        JointPrices(Decimal("2.50"), Decimal("3.00"), Decimal("4.00"), Decimal("6.00")),
        LayoutRules(**rules),
    )
