"""Requests for a layout, made from a seed: a house, beds round it, routes between."""

from __future__ import annotations

from math import hypot
from random import Random
from typing import Any

from tests import jobs
from tests.jobs import Json

CABLES = {"16 AWG": "0.31", "14 AWG": "0.46", "12 AWG": "0.74", "10 AWG": "1.18", "8 AWG": "1.95"}
"""Per foot, made up."""

BOXES = {75: "92.00", 150: "149.00", 300: "236.00", 600: "398.00"}

WATTS = (3, 5, 7, 12)


def fed_by(va: float, price: str, **more: Any) -> Json:
    """A transformer of the stock."""
    return {
        "id": f"b{va}",
        "rating": jobs.quantity(va, "VA"),
        "taps": [jobs.volts(each) for each in (12, 13, 14)],
        "regulation_percent": 4,
        "price": price,
        **more,
    }


def garden(
    fixtures: int, seed: int, mounts: int = 1, trench: float = 1.2, side: float = 9.0, **more: Any
) -> Json:
    """So many fixtures beside a net of paths [ft], every place reached; trenches cost by the ground."""
    random = Random(seed)  # repeatable, not secret
    reach = side * fixtures**0.5 + 20
    spots = [(0.0, 1.3 * reach * at) for at in range(mounts)]
    while len(spots) < mounts + fixtures + fixtures // 3:
        spot = (random.uniform(4, 3 * reach), random.uniform(-reach, 2 * reach))
        if all(hypot(spot[0] - x, spot[1] - y) > 4 for x, y in spots):
            spots.append(spot)
    spots = [(round(x, 1), round(y, 1)) for x, y in spots]

    def far(pair: tuple[int, int]) -> float:
        (x, y), (u, v) = spots[pair[0]], spots[pair[1]]
        return hypot(x - u, y - v)

    joined, pairs = [0], []
    while len(joined) < len(spots):
        rest = [place for place in range(len(spots)) if place not in joined]
        pairs.append(min(((a, b) for a in joined for b in rest), key=far))
        joined.append(pairs[-1][1])
    others = [
        (a, b) for b in range(len(spots)) for a in range(b) if (a, b) not in pairs and (b, a) not in pairs
    ]
    pairs += sorted(others, key=far)[: min(100 - len(pairs), len(spots) // 2)]
    lit = random.sample(range(mounts, len(spots)), fixtures)
    return {
        "places": {
            "frame": "local",
            "points": [
                {"name": f"p{n}", "x": jobs.feet(x), "y": jobs.feet(y)} for n, (x, y) in enumerate(spots)
            ],
        },
        "routes": [
            {
                "from": f"p{a}",
                "to": f"p{b}",
                "trench": {"amount": f"{trench * random.choice((0.3, 1.0, 1.6)):.2f}", "per": "ft"},
            }
            for a, b in pairs
        ],
        "fixtures": [
            {"place": f"p{place}", "load": jobs.watts(random.choice(WATTS), power_factor=0.9)}
            for place in lit
        ],
        "mounting_points": [
            {"place": f"p{at}", "price": f"{60 * at}.00", "transformers_at_most": 2} for at in range(mounts)
        ],
        "transformers": [fed_by(va, price) for va, price in BOXES.items()],
        "stock": [
            {"id": size, "conductor": size, "price": {"kind": "per-length", "amount": price, "per": "ft"}}
            for size, price in CABLES.items()
        ],
        "joints": {"fixture": "2.40", "tee": "3.10", "splice": "2.80", "cable_end": "4.00"},
        **more,
    }


def two_gardens(fixtures: int, seed: int, **more: Any) -> Json:
    """Two gardens that no route joins, each with a mounting point of its own."""
    one, other = garden(fixtures, seed, **more), garden(fixtures, seed + 1)
    for point in other["places"]["points"]:
        point["name"] += "-back"
        point["x"]["value"] += 400.0
    for route in other["routes"]:
        route["from"] += "-back"
        route["to"] += "-back"
    for each in (*other["fixtures"], *other["mounting_points"]):
        each["place"] += "-back"
    one["places"]["points"] += other["places"]["points"]
    for kind in ("routes", "fixtures", "mounting_points"):
        one[kind] += other[kind]
    return one


def scarce(fixtures: int, seed: int, side_ft: float) -> Json:
    """One box that carries little more than the fixtures draw, by their power factor of 0.9, on long ways."""
    request = garden(fixtures, seed, effort=3_000)
    watts = sum(fixture["load"]["power"]["value"] for fixture in request["fixtures"])
    request["transformers"] = [fed_by(round(1.1 * watts / 0.9), "90.00")]
    request["mounting_points"][0]["transformers_at_most"] = 1
    request["routes"] = [each | {"length": jobs.feet(side_ft)} for each in request["routes"]]
    return request
