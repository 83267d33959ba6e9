"""Ordinary sound jobs by number, as installers lay them; the same seed and number give the same job.

Ranges and shares are ours (common practice, no published source). They, the seed, and what makes a job
sound were fixed before the rules that are judged on them; a job that is not sound is drawn again.
"""

from __future__ import annotations

import random
from typing import Any, Final, NamedTuple

Json = dict[str, Any]

SEED: Final = 20_261_128
JOBS: Final = 500

RATINGS_VA: Final = (75, 150, 300, 600)
REGULATION_PERCENT: Final = (3.0, 6.0)
TAPS_V: Final = ((12, 0.6), (13, 0.2), (14, 0.1), (15, 0.1))
"""Tap of a run, and how often."""
MAINS_V: Final = (114, 124)
RUNS_BY_RATING: Final = {75: (1, 1), 150: (1, 3), 300: (2, 4), 600: (3, 6)}
FIXTURES: Final = (3, 8)
WATTS: Final = (2, 3, 4, 5, 6, 8)
POWER_FACTOR: Final = (0.7, 1.0)
FIRST_FT: Final = (10, 60)
SPACING_FT: Final = (5, 15)
CABLES: Final = (("10 AWG", 0.2), ("12 AWG", 0.6), ("14 AWG", 0.2))
LEAD_FT: Final = (2, 4)
LEADS: Final = ("18 AWG", "16 AWG")
DEVICE_A: Final = 25
LOWEST_V: Final = 10.0
HIGHEST_V: Final = 15.0
MOST_LOADING: Final = 0.8
"""What makes a job sound: every lamp between these volts, and less than this share of the rating drawn."""


class Ordinary(NamedTuple):
    """One job, and in a line what it is."""

    request: Json
    line: str


def ordinary(number: int, attempt: int) -> Ordinary:
    """The job of a number, drawn anew for each attempt."""
    pick = random.Random(f"{SEED}:{number}:{attempt}")  # noqa: S311  repeatable, not secret
    rating_va = pick.choice(RATINGS_VA)
    runs = [_run(pick, index) for index in range(pick.randint(*RUNS_BY_RATING[rating_va]))]
    supply: Json = {
        "kind": "transformer",
        "secondary": _of(12, "V"),
        "winding": {
            "rating": _of(rating_va, "VA"),
            "regulation_percent": round(pick.uniform(*REGULATION_PERCENT), 1),
        },
        "primary": {"rated": _of(120, "V"), "actual": _of(round(pick.uniform(*MAINS_V), 1), "V")},
        "taps": [_of(tap_v, "V") for tap_v, _ in TAPS_V],
    }
    stated = number % 2 == 0
    if stated:
        circuit = {"name": "1", "limit": _of(DEVICE_A, "A"), "listed_system": True}
        supply["circuits"] = [circuit]
    request = {"supply": supply, "wiring": {"form": "runs", "runs": runs}}
    device = f"a listed system with a {DEVICE_A} A device" if stated else "no device stated"
    return Ordinary(request, f"{rating_va} VA, {device}: " + "; ".join(map(_described, runs)))


def is_sound(reply: Json) -> bool:
    """Whether a voltage drop of the job shows every lamp inside and the transformer with room to spare."""
    if reply["status"] != "solved":
        return False
    volts = [row["voltage"]["value"] for row in reply["fixtures"]]
    inside = min(volts) >= LOWEST_V and max(volts) <= HIGHEST_V
    return inside and bool(reply["supply"]["loading_ratio"] < MOST_LOADING)


def _run(pick: random.Random, index: int) -> Json:
    count, watts = pick.randint(*FIXTURES), pick.choice(WATTS)
    power_factor = round(pick.uniform(*POWER_FACTOR), 2)
    fixture = {
        "at": _of(pick.randint(*FIRST_FT), "ft"),
        "count": count,
        "spacing": _of(pick.randint(*SPACING_FT), "ft"),
        "load": {"kind": "constant-power", "power": _of(watts, "W"), "power_factor": power_factor},
        "lead": {
            "length": _of(pick.randint(*LEAD_FT), "ft"),
            "cable": {"kind": "listed", "conductor": pick.choice(LEADS)},
        },
    }
    return {
        "name": f"run {index + 1}",
        "tap": _of(_weighted(pick, TAPS_V), "V"),
        "cable": {"kind": "listed", "conductor": _weighted(pick, CABLES)},
        "fixtures": [fixture],
    }


def _weighted(pick: random.Random, choices: tuple[tuple[Any, float], ...]) -> Any:
    values, weights = zip(*choices, strict=True)
    return pick.choices(values, weights)[0]


def _described(run: Json) -> str:
    (fixture,) = run["fixtures"]
    far = fixture["at"]["value"] + (fixture["count"] - 1) * fixture["spacing"]["value"]
    watts = fixture["load"]["power"]["value"]
    return (
        f"{fixture['count']} x {watts} W to {far} ft of {run['cable']['conductor']}"
        f" on the {run['tap']['value']} V tap"
    )


def _of(value: float, unit: str) -> Json:
    return {"value": value, "unit": unit}
