"""Runs on a tap that the drawing does not have, read with a good meter, on boxes whose taps are not exact.

The volts are those of voltage-drop for the wiring as it is. Taps of a box hold their ratio within 1 per cent:
common practice, no published source.
"""

import copy
import random
from collections import Counter
from typing import NamedTuple

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.readings_check.jobs import check

TAPS_V = (12, 13, 14, 15)
METER = {"kind": "true-rms", "accuracy_percent": 0.5, "counts": 2, "voltage_resolution": jobs.volts(0.01)}


class Garden(NamedTuple):
    """A drawing, which run stands on which tap really, and the readings. [V]"""

    request: Json
    run: int
    tap_v: float


def garden(client: Client, seed: int, *, moved: bool) -> Garden:
    """Two or three runs; three lamps of each are read, all on, with a meter of 0.5 per cent."""
    pick = random.Random(seed)
    runs = [
        jobs.run(
            {
                "at": jobs.feet(pick.randint(10, 40)),
                "count": pick.randint(3, 8),
                "spacing": jobs.feet(pick.randint(5, 15)),
                "load": jobs.watts(pick.choice([3, 4, 5, 6])),
            },
            cable=jobs.awg(pick.choice([14, 12, 10])),
            tap=jobs.volts(pick.choice(TAPS_V)),
            name=f"run {number}",
        )
        for number in range(pick.randint(2, 3))
    ]
    supply = jobs.transformer(taps=[jobs.volts(tap) for tap in TAPS_V], winding=jobs.winding(300, 4))
    drawn = jobs.job(*runs, supply=supply, nominal_v=12)
    run = pick.randrange(len(runs))
    built = copy.deepcopy(drawn)
    if moved:
        others = [tap for tap in TAPS_V if tap != runs[run]["tap"]["value"]]
        built["wiring"]["runs"][run]["tap"] = jobs.volts(pick.choice(others))
    gain, turns = 1.0 + pick.uniform(-0.005, 0.005), 1.0 + pick.uniform(-0.01, 0.01)
    taps_v = [each["tap"]["value"] for each in built["wiring"]["runs"]]
    lamps: dict[str, list[float]] = {}
    for row in jobs.answer(client, built)["fixtures"]:
        lamps.setdefault(row["pointer"], []).append(row["voltage"]["value"])
    readings = []
    for number, (pointer, volts) in enumerate(lamps.items()):
        for place in sorted({0, len(volts) // 2, len(volts) - 1}):
            shown_v = volts[place] * gain * (turns if taps_v[number] == taps_v[run] else 1.0) + pick.uniform(
                -0.02, 0.02
            )
            readings.append(
                {
                    "subject": {"kind": "wired", "pointer": pointer, "number": place + 1},
                    "quantity": {"kind": "voltage", "value": jobs.volts(round(shown_v, 2))},
                    "state": {"on": "all-on"},
                }
            )
    return Garden({**drawn, "instrument": METER, "readings": readings}, run, taps_v[run])


def test_a_run_on_another_tap_is_named_or_is_among_those_that_the_readings_cannot_tell(
    client: Client,
) -> None:
    # On a lower tap a run has few volts, as behind a bad joint at the supply: volts with all on are alike.
    seen: Counter[str] = Counter()
    for seed in range(40):
        case = garden(client, seed, moved=True)
        reply = check(client, case.request)
        assert reply["verdict"] == "disagrees", seed
        explanations = reply["explanations"]
        places = [
            index
            for index, each in enumerate(explanations)
            if each["code"] == "other-tap"
            and each["tap"] == jobs.volts(case.tap_v)
            and each["located_at"]["pointer"] == f"/wiring/runs/{case.run}"
        ]
        assert places, seed
        seen["first"] += places[0] == 0
        seen["told"] += f"is on the {case.tap_v:g} V tap" in reply["summary"]["text"]
    assert seen["first"] >= 34
    assert seen["told"] >= 36


def test_taps_within_1_percent_of_their_ratio_raise_no_alarm(client: Client) -> None:
    verdicts = Counter(
        check(client, garden(client, seed, moved=False).request)["verdict"] for seed in range(40)
    )
    assert verdicts["agrees"] >= 38
