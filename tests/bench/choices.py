"""Whole answers beside one voltage drop of 20 lamps in the same run: choices of cables, and a long chain.

    python -m tests.bench.choices [--json] [--before FOLDER]

Prints a Markdown table, from bytes to bytes in one process. A "drop" is the time of a voltage drop of 20
lamps as stated: that of the tree in FOLDER where one is named, else that of the same form. The chain of 2,000
lamps is read beside the same chain there.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from typing import Any

from tests import jobs
from tests.bench.requests_per_second import twenty_lamps
from tests.bench.trees import BEFORE, Answer, Asked, Process, answering, answers, by_form, options
from tests.jobs import Json

DROP, GAUGE = "/v1/voltage-drop", "/v1/gauge-recommendation"

CORNERS: Json = {
    "mains": {"kind": "named", "range": "service"},
    "conductor_temperature_range": {
        "lowest": {"value": 0, "unit": "degC"},
        "highest": {"value": 50, "unit": "degC"},
    },
}
"""Mains and cable temperature between their ends: four corners."""

HEADING = """\
| what | form | outcome | ms | in drops | beside the same there |
|:-----|:-----|:--------|---:|---------:|----------------------:|"""


def eight_cables() -> str:
    """Twenty lamps with a power factor in four corners; eight AWG sizes."""
    return json.dumps(json.loads(twenty_lamps()) | {"conditions": CORNERS, "family": "awg"})


def ten_runs() -> str:
    """Ten runs of five lamps, each with its own size and its own tap, over a range of mains."""
    runs = [
        jobs.run(
            *(
                {
                    "name": f"lamp {run}-{lamp}",
                    "at": jobs.feet(20 + (6 + run) * lamp),
                    "load": jobs.watts(4, power_factor=0.9),
                }
                for lamp in range(5)
            ),
            cable=jobs.awg(12),
            name=f"run {run}",
        )
        for run in range(10)
    ]
    taps = [jobs.volts(tap_v) for tap_v in (12, 13, 14, 15)]
    job = jobs.job(*runs, supply=jobs.transformer(winding=jobs.winding(300, 4), taps=taps))
    conditions = {"mains": CORNERS["mains"]}
    return json.dumps(job | {"conditions": conditions, "family": "awg", "scope": "per-run", "taps": "choose"})


def chain() -> str:
    """Two thousand lamps with a power factor on one cable, less the terminal."""
    line = jobs.lamp(0.015, jobs.watts(0.02, power_factor=0.9), count=1_999, spacing=jobs.metres(0.015))
    supply = jobs.transformer(24.0, winding=jobs.winding(2_000, 4))
    return json.dumps(jobs.job(jobs.run(line, cable=jobs.awg(4)), supply=supply, nominal_v=24))


DROP_OF_20 = Asked("voltage drop of 20 lamps", DROP, twenty_lamps().decode(), 100)

ASKED = (
    DROP_OF_20,
    Asked(
        "the same over four corners",
        DROP,
        json.dumps(json.loads(twenty_lamps()) | {"conditions": CORNERS}),
        30,
    ),
    Asked("8 cables in 4 corners", GAUGE, eight_cables(), 5),
    Asked("10 runs, each its cable and tap, a range of mains", GAUGE, ten_runs(), 3),
    Asked("chain of 2,000 with a power factor", DROP, chain(), 2),
)


def outcome_of(answer: Answer) -> str:
    """How a request was answered."""
    reply = answer.reply
    shown = [
        str(reply[name])
        for name in ("status", "code", "method", "choice")
        if isinstance(reply.get(name), str)
    ]
    return shown[-1] if answer.status != OK else " ".join(dict.fromkeys(shown[:2]))


OK = 200


def rows(trees: dict[str, Process]) -> Iterator[dict[str, Any]]:
    """One row for each request and form."""
    drops: dict[str, Answer] = {}
    for asked in ASKED:
        found = answers(trees, asked)
        if asked is DROP_OF_20:
            drops = found
        for form, answer in found.items():
            drop = drops[BEFORE if BEFORE in drops else form]
            there = found.get(BEFORE)
            yield {
                "what": asked.what,
                "form": form,
                "outcome": outcome_of(answer),
                "ms": answer.ms,
                "drops": answer.ms / drop.ms,
                "beside_before": answer.ms / there.ms if there and there.status == answer.status else None,
            }


def line(row: dict[str, Any]) -> str:
    """One line of the table."""
    beside = "–" if row["beside_before"] is None else f"{row['beside_before']:.2f}"
    figures = f"{row['ms']:.3f} | {row['drops']:.1f} | {beside}"
    return f"| {row['what']} | {row['form']} | {row['outcome']} | {figures} |"


def main(arguments: list[str]) -> None:
    """Print the table, or the figures."""
    asked = options("choices", arguments)
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
