"""How long a check of readings takes beside one voltage drop of the same wiring; a Markdown table.

``python -m tests.bench.readings``. Each figure is the median of repeated runs in one process, from the bytes
of the request to the reply. `agrees` only compares; `disagrees` looks for the fault as well, as far as the
work of one request reaches.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import partial
from statistics import median
from time import perf_counter

from service.circuit.work import begin_request
from service.studies.readings_check import READINGS_CHECK
from service.studies.voltage_drop import VOLTAGE_DROP
from tests import jobs
from tests.jobs import Json, reply_to
from tests.studies.readings_check.jobs import amps_at, fixture, lit, read_off, volts_at

SIZES = ((1, 5, 2), (1, 20, 2), (4, 10, 4), (10, 20, 2), (10, 20, 10))
"""(runs, lamps of each, states)"""

LOW_V = 0.6
"""What is wrong with half the readings of the wiring that disagrees: one joint in the first run. [V]"""

HEADING = """\
| lamps | states | readings | voltage drop, ms | agrees, ms | times | disagrees, ms | times |
|------:|-------:|---------:|-----------------:|-----------:|------:|--------------:|------:|"""


def garden(runs: int, lamps: int) -> Json:
    """Runs of lamps alike, a metre apart, on one transformer."""
    load = jobs.watts(120.0 / runs / lamps, power_factor=0.9)
    lines = [jobs.lamp(30.0 / lamps * (index + 1), load) for index in range(lamps)]
    each = jobs.run(*lines, cable=jobs.awg(12))
    measured = {"voltage": jobs.volts(12.6)}
    return jobs.job(
        *[each] * runs, supply=jobs.transformer(winding=jobs.winding(300, 5), open_circuit=measured)
    )


def readings(runs: int, lamps: int, states: int) -> list[Json]:
    """Volts in the middle and at the end of each run, amperes into it; volts of the supply in each state."""
    on: list[str | Json] = ["all-on", "no-load", *(lit(f"/wiring/runs/{index}") for index in range(runs))]
    taken = [volts_at(None, state=state) for state in on[:states]]
    for index in range(runs):
        places = fixture(lamps // 2, index), fixture(lamps - 1, index)
        taken += [volts_at(place, state=on[0]) for place in places]
        taken.append(amps_at(f"/wiring/runs/{index}", state=on[0]))
    return taken


def with_a_bad_joint(request: Json) -> Json:
    """The same readings, but for the volts of the first run's end."""
    lowered = json.loads(json.dumps(request))
    first = next(said for said in lowered["readings"] if said["subject"]["kind"] == "wired")
    first["quantity"]["value"]["value"] -= LOW_V
    end = lowered["readings"][lowered["readings"].index(first) + 1]
    end["quantity"]["value"]["value"] -= LOW_V
    return dict(lowered)


def median_ms(answer: Callable[[bytes], object], body: bytes, repeats: int) -> float:
    """Median time of answering. [ms]"""
    times = []
    for _ in range(repeats):
        begin_request()
        start = perf_counter()
        answer(body)
        times.append(1e3 * (perf_counter() - start))
    return median(times)


def row(runs: int, lamps: int, states: int) -> str:
    """One line of the table."""
    begin_request()
    plain = garden(runs, lamps)
    sound = read_off({**plain, "readings": readings(runs, lamps, states)})
    count = len(sound["readings"])
    bodies = [json.dumps(each).encode() for each in (plain, sound, with_a_bad_joint(sound))]
    drop_ms = median_ms(partial(reply_to, VOLTAGE_DROP), bodies[0], 15)
    sound_ms = median_ms(partial(reply_to, READINGS_CHECK), bodies[1], 15)
    wrong_ms = median_ms(partial(reply_to, READINGS_CHECK), bodies[2], 5)
    sound_text = f"{sound_ms:.2f} | {sound_ms / drop_ms:.1f}"
    wrong_text = f"{wrong_ms:.1f} | {wrong_ms / drop_ms:.0f}"
    return f"| {runs * lamps} | {states} | {count} | {drop_ms:.2f} | {sound_text} | {wrong_text} |"


def main() -> None:
    """Print the table."""
    print(HEADING)
    for runs, lamps, states in SIZES:
        print(row(runs, lamps, states), flush=True)


if __name__ == "__main__":
    main()
