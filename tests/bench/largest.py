"""Requests as large as the limits allow, as a caller with a very large garden might send them."""

import random
from collections.abc import Callable
from itertools import pairwise
from typing import Any, Final

from service.circuit.job import MAXIMUM_LOOPS, MAXIMUM_POINTS
from tests import jobs
from tests.jobs import Json
from tests.studies.least_cost_layout.requests import fed_by, garden
from tests.studies.readings_check.jobs import amps_at, read_off, volts_at

POINTS: Final = 2_000
LOOPS: Final = 100
MOST_POINTS: Final = MAXIMUM_POINTS
MOST_LOOPS: Final = MAXIMUM_LOOPS
ITEMS: Final = 200

SUPPLY: Final = jobs.transformer(24.0, winding=jobs.winding(2_000, 4))
CORNERS: Final[Json] = {
    "mains": {"kind": "named", "range": "outlet"},
    "conductor_temperature_range": {
        "lowest": jobs.quantity(-10, "degC"),
        "highest": jobs.quantity(60, "degC"),
    },
}


def faint(power_w: float = 0.05) -> Json:
    """A lamp of which two thousand hang on one cable."""
    return jobs.watts(power_w, power_factor=0.9)


def chain(count: int, power_w: float = 0.05, **more: Any) -> Json:
    """One cable with lamps one after another."""
    lamps = jobs.lamp(0.1, faint(power_w), count=count, spacing=jobs.metres(0.1))
    return jobs.run(lamps, cable=jobs.awg(4), **more)


def long_chain() -> Json:
    """Every point on one cable, power factor and margin."""
    return jobs.job(chain(POINTS - 1), supply=SUPPLY, nominal_v=24, margin=True)


def longest_chain(**more: Any) -> Json:
    """As many points on one cable as there may be."""
    return jobs.job(chain(MOST_POINTS - 2, 0.002), supply=SUPPLY, nominal_v=24, **more)


def many_rings() -> Json:
    """As many loops as there may be, and as many points."""
    ring = chain(MOST_POINTS // MOST_LOOPS - 2, 0.05, return_leg={"length": jobs.metres(3)})
    return jobs.job(*[ring] * MOST_LOOPS, supply=SUPPLY, nominal_v=24)


def park() -> Json:
    """A park: two hundred boxes of fifty lamps, a line each, on five paths; each box a job of one batch."""
    return {
        "items": [
            {"id": f"box {number}", "study": "voltage-drop", "request": box_of_a_park(number)}
            for number in range(1, ITEMS + 1)
        ]
    }


def box_of_a_park(number: int) -> Json:
    """One box, which stands a little farther from its lamps than the one before."""
    first_m = 6 + number * 0.02
    paths = [
        jobs.run(
            *(jobs.lamp(first_m + 4 * place, jobs.watts(4, power_factor=0.9)) for place in range(10)),
            cable=jobs.awg(10),
            name=f"path {path}",
        )
        for path in range(1, 6)
    ]
    return jobs.job(*paths, supply=jobs.transformer(13.0, winding=jobs.winding(300, 4)))


def hundred_runs() -> Json:
    """Runs side by side."""
    return jobs.job(*[chain(POINTS // LOOPS - 1)] * LOOPS, supply=SUPPLY, nominal_v=24, margin=True)


def hundred_rings() -> Json:
    """Runs that each close to a loop."""
    ring = chain(POINTS // LOOPS - 2, return_leg={"length": jobs.metres(3)})
    return jobs.job(*[ring] * LOOPS, supply=SUPPLY, nominal_v=24, margin=True)


def tangle(power_w: float = 0.05, **more: Any) -> Json:
    """A chain of spans, and a hundred more between points far apart: the loops that fill in most."""
    pick = random.Random(3)  # repeatable, not secret
    names = ["supply", *(f"p{number}" for number in range(1, POINTS))]
    ends = [*pairwise(names), *(tuple(pick.sample(names[1:], 2)) for _ in range(LOOPS))]
    spans = [{"from": a, "to": b, "length": jobs.metres(0.1), "cable": jobs.awg(4)} for a, b in ends]
    fixtures = [{"point": name, "load": faint(power_w)} for name in names[1:]]
    wiring = {"form": "spans", "spans": spans, "fixtures": fixtures, "nominal_voltage": jobs.volts(24)}
    return {"supply": SUPPLY, "wiring": wiring, **more}


def deep_branches() -> Json:
    """Runs with branches with spurs."""
    spurs = [jobs.branch(number, jobs.lamp(1, faint()), cable=jobs.awg(12)) for number in range(1, 9)]
    branches = [
        jobs.branch(number, jobs.lamp(9, faint()), cable=jobs.awg(10), spurs=spurs) for number in range(1, 10)
    ]
    runs = [jobs.run(jobs.lamp(12, faint()), cable=jobs.awg(4), branches=branches)] * 12
    return jobs.job(*runs, supply=SUPPLY, nominal_v=24, margin=True)


def cornered(count: int, switching: str) -> Callable[[], Json]:
    """Corners and light loads, as many as the work that is published allows."""

    def build() -> Json:
        runs = [chain(count // 10)] * 10
        conditions = {**CORNERS, "switching": switching}
        return jobs.job(*runs, supply=SUPPLY, nominal_v=24, margin=True, conditions=conditions)

    return build


def loaded() -> Json:
    """A transformer under many lamps in four corners."""
    return jobs.job(chain(1_900), supply=SUPPLY, nominal_v=24, conditions=CORNERS)


def choice(runs: int, lamps: int, power_w: float, **more: Any) -> Json:
    """A choice of cables, each run for itself."""
    line = jobs.lamp(2, jobs.watts(power_w, power_factor=0.9), count=lamps, spacing=jobs.metres(2))
    asked = jobs.job(*[jobs.run(line, cable=jobs.awg(12))] * runs, supply=SUPPLY, nominal_v=24)
    return asked | {"scope": "per-run", "family": "awg", "conditions": CORNERS, **more}


def spooled(**more: Any) -> Json:
    """Ninety runs of as many lengths, twenty cables side by side, from the spools of forty cables."""
    cable = {**jobs.awg(12), "cables_in_parallel": 20}
    runs = [
        jobs.run(jobs.lamp(10 + 0.37 * (place * 53 % 211), jobs.watts(0.1)), cable=cable, tail=jobs.metres(1))
        for place in range(90)
    ]
    stock = [
        {
            "id": f"reel {place}",
            "conductor": f"{(10, 8, 6, 4)[place % 4]} AWG",
            "price": {
                "kind": "per-spool",
                "spools": [
                    {"length": jobs.metres(length), "amount": f"{length * 0.6 + place + 30 / length:.2f}"}
                    for length in (100, 150, 250, 400)
                ],
            },
        }
        for place in range(40)
    ]
    return jobs.job(*runs, supply=SUPPLY, nominal_v=24) | {"stock": stock, **more}


def reach(question: Json) -> Json:
    """A question about one cable in every corner."""
    return {
        "supply": SUPPLY,
        "cable": jobs.awg(18),
        "question": question,
        "nominal_voltage": jobs.volts(24),
    } | {"conditions": CORNERS}


def longest() -> Json:
    """How far a load may be spread over fixtures close together."""
    return reach(jobs.longest_run(faint(60), jobs.spacing(0.5)))


def most(load: Json) -> Json:
    """How many small lamps may stand close together."""
    return reach(jobs.most_fixtures(load, 0.1))


def heaviest() -> Json:
    """How much the most fixtures that are tried may draw together."""
    return reach(jobs.largest_load(jobs.metres(100), jobs.spacing(100 / 499), power_factor=0.9))


def chart(lengths: int) -> Json:
    """Loads times lengths for a dozen cables."""
    sizes = (18, 16, 14, 12, 10, 8, 6, 4, 18, 16, 14, 12)
    return {
        "cables": [{"cable": jobs.awg(size)} for size in sizes],
        "powers": [jobs.quantity(3.0 * number, "W") for number in range(1, 41)],
        "lengths": [jobs.metres(7.0 * number) for number in range(1, lengths + 1)],
        "open_circuit": jobs.volts(12),
        "power_factor": 0.9,
    }


def sheet(lamps: int) -> Json:
    """Every one of many lamps on one cable, as it should be read."""
    return jobs.even(lamps, jobs.watts(0.02), 200, cable=jobs.awg(4), nominal_voltage=jobs.volts(24)) | {
        "supply": {"kind": "dc-supply", "output": jobs.volts(24)},
        "points": "every",
    }


def sheet_of_runs(runs: int, lamps: int, points: str) -> Json:
    """Runs of lamps with a power factor, in five columns of mains."""
    return jobs.job(*[chain(lamps)] * runs, supply=SUPPLY, nominal_v=24, points=points)


def checked(runs: int, lamps: int, *, wrong: bool) -> Json:
    """Readings of a garden, a hundred of them, that agree or do not."""
    line = jobs.lamp(1, faint(), count=lamps, spacing=jobs.metres(0.5))
    plain = jobs.job(*[jobs.run(line, cable=jobs.awg(10))] * runs, supply=SUPPLY, nominal_v=24)
    each = max(1, 100 // runs)
    taken = [volts_at(None, 24.0)]
    for number in range(runs):
        pointer = f"/wiring/runs/{number}"
        taken.append(amps_at(pointer))
        places = (1 + place * lamps // each for place in range(each))
        taken += [volts_at(f"{pointer}/fixtures/0", 24.0, number=place) for place in places]
    sound = read_off({**plain, "readings": taken[:200]})
    if wrong:
        for said in sound["readings"][2 : 2 + each]:
            said["quantity"]["value"]["value"] -= 1.0
    return sound


def batch(study: str, request: Json) -> Json:
    """As many of one question as a batch may hold."""
    return {"items": [{"study": study, "request": request}] * ITEMS}


def large_site() -> Json:
    """As many fixtures, routes, mounting points, cables and transformers as a site may have."""
    boxes = [fed_by(va, f"{60 + va / 2:.2f}") for va in (75, 100, 150, 200, 250, 300, 400, 500, 600, 900)]
    return garden(50, 1, mounts=3, side=4.0, transformers=boxes, effort=60_000)


LARGEST: Final[dict[str, tuple[str, Callable[[], Json]]]] = {
    "2,000 points on one cable, power factor, margin": ("/v1/voltage-drop", long_chain),
    "as many points on one cable as there may be": ("/v1/voltage-drop", longest_chain),
    "the same in four corners": ("/v1/voltage-drop", lambda: longest_chain(conditions=CORNERS)),
    "as many rings and points as there may be": ("/v1/voltage-drop", many_rings),
    "park of 200 boxes of 50 lamps": ("/v1/batch", park),
    "100 runs of 20 points, power factor, margin": ("/v1/voltage-drop", hundred_runs),
    "100 rings of 20 points, power factor, margin": ("/v1/voltage-drop", hundred_rings),
    "2,000 points, 100 loops between any, margin": ("/v1/voltage-drop", lambda: tangle(margin=True)),
    "the same, more load than can be carried": ("/v1/voltage-drop", lambda: tangle(5, margin=True)),
    "the same in four corners, individually": (
        "/v1/voltage-drop",
        lambda: tangle(margin=True, conditions={**CORNERS, "switching": "individually"}),
    ),
    "the same in four corners, together": (
        "/v1/voltage-drop",
        lambda: tangle(margin=True, conditions=CORNERS),
    ),
    "12 runs of 9 branches of 8 spurs, margin": ("/v1/voltage-drop", deep_branches),
    "four corners, 1,990 points together": ("/v1/voltage-drop", cornered(1_990, "together")),
    "four corners, 900 points by run": ("/v1/voltage-drop", cornered(900, "by-run")),
    "four corners, 900 points individually": ("/v1/voltage-drop", cornered(900, "individually")),
    "layout of 50 fixtures on 100 routes, 3 mounting points": ("/v1/least-cost-layout", large_site),
    "choice for 8 runs of 10 lamps that pass": (
        "/v1/gauge-recommendation",
        lambda: choice(8, 10, 3),
    ),
    "choice for 8 runs of 20 lamps, none passes": (
        "/v1/gauge-recommendation",
        lambda: choice(8, 20, 40),
    ),
    "choice for 20 runs, tight limit": (
        "/v1/gauge-recommendation",
        lambda: choice(20, 5, 6, limits={"maximum_drop_percent": 3}),
    ),
    "choice for 2,000 points, 100 loops between any": (
        "/v1/gauge-recommendation",
        lambda: tangle(0.05, family="awg"),
    ),
    "choice for the same, none passes": (
        "/v1/gauge-recommendation",
        lambda: tangle(2, family="awg", scope="per-span"),
    ),
    "choice of 40 cables in spools for 90 runs": ("/v1/gauge-recommendation", spooled),
    "choice of the same, joints allowed": (
        "/v1/gauge-recommendation",
        lambda: spooled(cutting={"joints": "anywhere"}),
    ),
    "loading of 1,900 lamps in four corners": ("/v1/transformer-loading", loaded),
    "loading of 50 runs, to be shared over circuits": (
        "/v1/transformer-loading",
        lambda: jobs.job(
            *[jobs.run(jobs.lamp(5, jobs.watts(30)), cable=jobs.awg(12))] * 50, supply=SUPPLY, nominal_v=24
        ),
    ),
    "loading of 2,000 points, 100 loops, four corners": (
        "/v1/transformer-loading",
        lambda: tangle(conditions=CORNERS),
    ),
    "longest run shared by fixtures, four corners": ("/v1/reach", longest),
    "most fixtures, four corners": ("/v1/reach", lambda: most(faint(0.1))),
    "most filaments, four corners": ("/v1/reach", lambda: most(jobs.halogen(0.1, 24.0))),
    "largest load along 500 fixtures, four corners": ("/v1/reach", heaviest),
    "sheet of every one of 1,998 lamps on one cable": ("/v1/commissioning-sheet", lambda: sheet(1_998)),
    "sheet of every one of 900 lamps on 10 runs, power factor": (
        "/v1/commissioning-sheet",
        lambda: sheet_of_runs(10, 90, "every"),
    ),
    "sheet of key places of 100 runs of 19 lamps": (
        "/v1/commissioning-sheet",
        lambda: sheet_of_runs(100, 19, "key"),
    ),
    "100 readings of 1,000 lamps that agree": (
        "/v1/readings-check",
        lambda: checked(10, 100, wrong=False),
    ),
    "100 readings of 1,000 lamps, a cause sought": (
        "/v1/readings-check",
        lambda: checked(10, 100, wrong=True),
    ),
    "chart of 12 cables, 40 loads, 5 lengths": ("/v1/drop-chart", lambda: chart(5)),
    "batch of 200 jobs of 2,000 points": (
        "/v1/batch",
        lambda: batch("voltage-drop", jobs.even(POINTS - 2, jobs.watts(0.02), 200, cable=jobs.awg(4))),
    ),
    "batch of 200 jobs of 2,000 points, power factor, margin": (
        "/v1/batch",
        lambda: batch(
            "voltage-drop", jobs.even(POINTS - 2, faint(0.02), 200, cable=jobs.awg(4)) | {"margin": True}
        ),
    ),
    "batch of 200 choices, none passes": (
        "/v1/batch",
        lambda: batch("gauge-recommendation", choice(8, 20, 40)),
    ),
    "batch of 200 largest loads along 500 fixtures": ("/v1/batch", lambda: batch("reach", heaviest())),
    "batch of 200 loadings in four corners": (
        "/v1/batch",
        lambda: batch("transformer-loading", loaded()),
    ),
    "batch of 200 charts of 500 cells": ("/v1/batch", lambda: batch("drop-chart", chart(1))),
}
"""What is sent where, by name."""
