"""How long a check of readings takes beside a voltage drop, whole answers from bytes to bytes in one process.

    python -m tests.bench.readings [--json] [--before FOLDER]

Prints a Markdown table. `agrees` only compares; `disagrees` looks for the fault as well, as far as the work
of one request reaches. "Times" are voltage drops of the same wiring; "in drops" are those of 20 lamps as
stated, of the tree in FOLDER where one is named.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from typing import Any

from service.circuit.work import begin_request
from tests import jobs
from tests.bench.choices import DROP, DROP_OF_20
from tests.bench.trees import BEFORE, Asked, Process, answering, answers, by_form, options
from tests.jobs import Json
from tests.studies.readings_check.jobs import amps_at, fixture, lit, read_off, volts_at

CHECK = "/v1/readings-check"

SIZES = ((1, 5, 2), (1, 20, 2), (4, 10, 4), (10, 20, 2), (10, 20, 10))
"""(runs, lamps of each, states)"""

LOW_V = 0.6
"""What is wrong with half the readings of the wiring that disagrees: one joint in the first run. [V]"""

HEADING = """\
| lamps | states | readings | form | drop, ms | agrees, ms | times | disagrees, ms | times | in drops |
|------:|-------:|---------:|:-----|---------:|-----------:|------:|--------------:|------:|---------:|"""


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


def rows(trees: dict[str, Process]) -> Iterator[dict[str, Any]]:
    """One row for each size and form."""
    drops = answers(trees, DROP_OF_20)
    for runs, lamps, states in SIZES:
        begin_request()
        plain = garden(runs, lamps)
        sound = read_off({**plain, "readings": readings(runs, lamps, states)})
        asked = [
            Asked("drop", DROP, json.dumps(plain), 9),
            Asked("agrees", CHECK, json.dumps(sound), 5),
            Asked("disagrees", CHECK, json.dumps(with_a_bad_joint(sound)), 1),
        ]
        found = {each.what: answers(trees, each) for each in asked}
        for form in trees:
            drop_ms, agrees_ms, disagrees_ms = (found[what][form].ms for what in found)
            yield {
                "lamps": runs * lamps,
                "states": states,
                "readings": len(sound["readings"]),
                "form": form,
                "drop_ms": drop_ms,
                "agrees_ms": agrees_ms,
                "disagrees_ms": disagrees_ms,
                "drops": disagrees_ms / drops[BEFORE if BEFORE in drops else form].ms,
            }


def line(row: dict[str, Any]) -> str:
    """One line of the table."""
    drop_ms, agrees_ms, disagrees_ms = row["drop_ms"], row["agrees_ms"], row["disagrees_ms"]
    named = f"{row['lamps']} | {row['states']} | {row['readings']} | {row['form']} | {drop_ms:.2f}"
    times = f"{disagrees_ms:.1f} | {disagrees_ms / drop_ms:.0f} | {row['drops']:.0f}"
    return f"| {named} | {agrees_ms:.2f} | {agrees_ms / drop_ms:.1f} | {times} |"


def main(arguments: list[str]) -> None:
    """Print the table, or the figures."""
    asked = options("readings", arguments)
    with answering(asked.before) as trees:
        found = []
        if not asked.json:
            print(HEADING)
        for row in rows(trees):
            found.append(row)
            if not asked.json:
                print(line(row), flush=True)
    if asked.json:
        print(json.dumps(by_form(found)))


if __name__ == "__main__":
    main(sys.argv[1:])
