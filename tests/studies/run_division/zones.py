"""Zones to divide, written short, and random ones."""

import random
from typing import Any

from service.circuit.job import JobPart
from service.studies.run_division.division import Lamp, Zone
from tests import jobs
from tests.jobs import Json

PATH = "/v1/run-division"

PRICES = {"16 AWG": "0.31", "14 AWG": "0.46", "12 AWG": "0.74", "10 AWG": "1.18", "8 AWG": "1.95"}


def stock(*sizes: str) -> list[Json]:
    return [
        {"id": size, "conductor": size, "price": {"kind": "per-length", "amount": PRICES[size], "per": "ft"}}
        for size in sizes or PRICES
    ]


def lamps(at_m: float, count: int = 1, spacing_m: float = 3.0, real_w: float = 4.0, **more: Any) -> Json:
    line = jobs.lamp(at_m, jobs.volt_amperes(real_w, 1.4 * real_w), window=jobs.window(9, 15), **more)
    return line | ({"count": count, "spacing": jobs.metres(spacing_m)} if count > 1 else {})


def zone(name: str, distance_m: float, *fixtures: Json, **more: Any) -> Json:
    return {"name": name, "distance": jobs.metres(distance_m), "fixtures": list(fixtures), **more}


def asked(*zones: Json, supply: Json | None = None, **more: Any) -> Json:
    return {"supply": supply or jobs.transformer(winding=jobs.winding(300, 4)), "zones": list(zones), **more}


def drawn_zone(draw: random.Random, lamps_at_most: int) -> Zone:
    """A route with lamps of a few sizes, the cable from the supply meeting it somewhere."""
    places = sorted(round(draw.uniform(0, 60), 1) for _ in range(draw.randint(1, lamps_at_most)))
    found = tuple(Lamp(at_m, draw.choice([3.0, 5.6, 7.0, 10.0])) for at_m in places)
    return Zone(JobPart("/zones/0"), draw.uniform(0, 50), draw.choice([0.0, draw.uniform(0, 60)]), found)


def drawn_request(draw: random.Random) -> Json:
    """An ordinary question of one to three zones."""
    zones = []
    for number in range(draw.randint(1, 3)):
        lines = [
            lamps(
                round(draw.uniform(0, 20), 1),
                draw.randint(1, 8),
                round(draw.uniform(1.5, 6), 1),
                draw.choice([3.0, 5.0, 8.0]),
                name=f"lamp {number} {line}",
            )
            for line in range(draw.randint(1, 2))
        ]
        arrives = {"arrives_at": jobs.metres(round(draw.uniform(0, 30), 1))} if draw.random() < 0.4 else {}
        zones.append(zone(f"zone {number}", round(draw.uniform(2, 60), 1), *lines, **arrives))
    supply = jobs.transformer(winding=jobs.winding(draw.choice([150, 300, 600]), draw.choice([3, 5])))
    if draw.random() < 0.5:
        supply["taps"] = [jobs.volts(each) for each in (12, 13, 14, 15)]
    more: Json = {"stock": stock(), "currency": "USD"} if draw.random() < 0.7 else {}
    return asked(*zones, supply=supply, runs_at_most=draw.randint(1, 4), **more)
