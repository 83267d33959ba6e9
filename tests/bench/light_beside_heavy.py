"""Light requests beside a stream of heavy ones, with a worker and without, and alone.

    python -m tests.bench.light_beside_heavy [FOLDER ...]

Prints a Markdown table. Each FOLDER is another copy of the project, such as the commit before, measured in
turn with this one: a figure of a shared machine is worth something beside others of the same minutes.
"""

import asyncio
import json
import sys
import time
from pathlib import Path
from statistics import median
from typing import Final, NamedTuple

from tests import jobs
from tests.bench.requests_per_second import (
    CONNECTIONS,
    ROOT,
    SECONDS,
    ask,
    keep_asking,
    serving,
    twenty_lamps,
)
from tests.load.asking import Seen, load, post

PORT: Final = 8393
ROUNDS: Final = 5
LIGHT_PAUSE_S: Final = 0.005
HEAVY: Final = "Accept: application/pdf"


class Figures(NamedTuple):
    """Requests a second of light ones alone [1/s]; median and 99th percentile beside heavy ones. [s]"""

    alone: float
    median_s: float
    late_s: float


async def alone() -> float:
    """Light requests a second, as many as there can be."""
    until = time.perf_counter() + SECONDS
    asked = [keep_asking(PORT, post(twenty_lamps()), until) for _ in range(CONNECTIONS)]
    return sum(map(len, await asyncio.gather(*asked))) / SECONDS


async def beside_heavy() -> Seen:
    """Light requests now and then, while two callers ask for large sheets one after the other."""
    large = post(json.dumps(jobs.even(500, jobs.watts(0.02), 24)).encode(), "/v1/voltage-drop", HEAVY)
    light, _ = await asyncio.gather(
        load(PORT, 2, SECONDS, pause=LIGHT_PAUSE_S), load(PORT, 2, SECONDS, message=large)
    )
    return light


def measured(folder: Path, **settings: str) -> Figures:
    """Measure one service once."""
    with serving(["service", "serve"], PORT, folder, **settings):
        ask(PORT, twenty_lamps())
        time.sleep(4.0)  # until its worker is up
        seen = asyncio.run(beside_heavy())
        return Figures(asyncio.run(alone()), seen.quantile_s(0.5), seen.quantile_s(0.99))


def main(folders: list[str]) -> None:
    """Measure all in turn, and print the medians."""
    ways = {
        "with a worker": (ROOT, {}),
        "all in one process": (ROOT, {"LASTLAMP_WORKERS": "0"}),
        **{name: (Path(name), {}) for name in folders},
    }
    rounds = [{way: measured(folder, **more) for way, (folder, more) in ways.items()} for _ in range(ROUNDS)]
    print("| | light alone, requests/s | light beside heavy: median, ms | 99th percentile, ms |")
    print("|---|---:|---:|---:|")
    for way in ways:
        rate, half, late = (median(one[way][index] for one in rounds) for index in range(3))
        print(f"| {way} | {rate:.0f} | {1000 * half:.1f} | {1000 * late:.0f} |")


if __name__ == "__main__":
    main(sys.argv[1:])
