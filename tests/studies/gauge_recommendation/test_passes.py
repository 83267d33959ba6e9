"""What is recommended passes: re-posted to voltage-drop it shows no fault and no warning not accepted.

By hand: python -m tests.studies.gauge_recommendation.test_passes 2000
"""

import json
import random
import sys
from collections import Counter

import pytest

from service.app import app
from tests import jobs
from tests.client import Client
from tests.jobs import Json

SIZES = ("18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG")

RATES = {"18 AWG": 22, "16 AWG": 31, "14 AWG": 48, "12 AWG": 70, "10 AWG": 118, "8 AWG": 190}
"""Thicker is dearer. [1/100 of the currency a foot]"""

ACCEPTABLE = (
    "fixture-below-window",
    "below-minimum-load",
    "circuit-near-limit",
    "conductor-below-device",
    "short-circuit-below-trip",
    "near-collapse",
    "rating-at-usual-power-factor",
)


class Draw:
    """Draws ordinary gardens from stated ranges, the same for the same seed."""

    def __init__(self, seed: int) -> None:
        self.pick = random.Random(seed)

    def request(self) -> Json:
        """One to four runs of one to six lamps, 10 to 150 ft, on a box of 150 to 600 VA or a DC supply."""
        pick = self.pick
        request: Json = {
            "supply": self.supply(),
            "wiring": {"form": "runs", "runs": [self.run() for _ in range(pick.randint(1, 4))]},
            "scope": pick.choice(("one", "per-run", "per-run")),
            "stock": [
                {
                    "id": size,
                    "conductor": size,
                    "price": {"kind": "per-length", "amount": f"{RATES[size] / 100:.2f}", "per": "ft"},
                }
                for size in SIZES[pick.randrange(3) :]
            ],
        }
        if "taps" in request["supply"] and pick.random() < 0.7:
            request["taps"] = "choose"
        if pick.random() < 0.25:
            request["accept"] = pick.sample(ACCEPTABLE, pick.randint(1, 4))
        if pick.random() < 0.2:
            request["limits"] = {"maximum_drop_percent": pick.choice((5, 10, 15))}
        conditions = self.conditions()
        return request | ({"conditions": conditions} if conditions else {})

    def conditions(self) -> Json:
        pick = self.pick
        stated: Json = {}
        if pick.random() < 0.15:
            stated["range"] = "as-stated"
        if pick.random() < 0.1:
            stated["conductor_temperature"] = jobs.quantity(pick.choice((5, 30, 50)), "degC")
        if pick.random() < 0.1:
            stated["switching"] = pick.choice(("by-run", "individually"))
        if pick.random() < 0.1:
            stated["wet_contact"] = pick.random() < 0.3
        return stated

    def supply(self) -> Json:
        pick = self.pick
        if pick.random() < 0.12:
            rated = jobs.quantity(pick.choice((60, 150, 300)), "W")
            return {"kind": "dc-supply", "output": jobs.volts(12), "rating": rated}
        supply = jobs.transformer(winding=jobs.winding(pick.choice((150, 300, 600)), pick.choice((3, 5))))
        if pick.random() < 0.6:
            supply["taps"] = [jobs.volts(tap_v) for tap_v in (12, 13, 14, 15)]
        if pick.random() < 0.4:
            circuit: Json = {"name": "all", "limit": jobs.quantity(pick.choice((10, 15, 25)), "A")}
            if pick.random() < 0.6:
                circuit["listed_system"] = True
            supply["circuits"] = [circuit]
        if pick.random() < 0.1:
            supply["minimum_load"] = jobs.quantity(pick.choice((10, 40)), "W")
        return supply

    def run(self) -> Json:
        pick = self.pick
        more: Json = {}
        kind = pick.choice(("driver", "driver", "driver", "halogen", "mixed"))
        reach_ft = pick.uniform(10, 150)
        lamps = [self.lamp(reach_ft * pick.random(), kind) for _ in range(pick.randint(1, 6))]
        if pick.random() < 0.15:
            twigs = [self.lamp(pick.uniform(3, 30), kind)]
            more["branches"] = [jobs.branch(pick.uniform(1, reach_ft) * 0.3048, *twigs, cable=jobs.awg(12))]
        return jobs.run(*lamps, cable=jobs.awg(12), **more)

    def lamp(self, at_ft: float, kind: str) -> Json:
        pick = self.pick
        each_w = round(pick.uniform(2, 9), 1)
        lit = pick.choice(("driver", "halogen", "resistor")) if kind == "mixed" else kind
        load = {
            "driver": pick.choice((jobs.watts(each_w), jobs.volt_amperes(each_w, round(1.3 * each_w, 1)))),
            "halogen": jobs.halogen(pick.choice((10, 20))),
            "resistor": jobs.resistor(each_w),
        }[lit]
        more: Json = {"window": jobs.window(9, 15)} if lit == "driver" and pick.random() < 0.5 else {}
        return {**jobs.lamp(1, load, **more), "at": jobs.feet(round(at_ft, 2))}


def posted(client: Client, request: Json, reply: Json, wiring: Json) -> list[Json]:
    """What rules a wiring out under the conditions that the reply was judged by."""
    body = {
        "supply": request["supply"],
        "wiring": wiring,
        "conditions": reply["judged_conditions"],
        **{name: request[name] for name in ("limits",) if name in request},
    }
    again = client.post("/v1/voltage-drop", json=body)
    assert again.status_code == 200, again.text
    accepted = request.get("accept", [])
    return [
        found
        for found in again.json()["findings"]
        if found["severity"] == "fault" or (found["severity"] == "warning" and found["code"] not in accepted)
    ]


def cables_of(wiring: Json) -> list[Json]:
    """Every cable of the wiring that was open."""
    branches = [each for line in wiring["runs"] for each in line.get("branches", [])]
    return [each["cable"] for each in (*wiring["runs"], *branches)]


def thinner(request: Json, wiring: Json) -> list[Json]:
    """The wiring with one cable, or all where they are chosen together, one size thinner."""
    sizes = [each["conductor"] for each in request["stock"]]
    groups = range(len(cables_of(wiring))) if request["scope"] == "per-run" else [None]
    found = []
    for group in groups:
        other = json.loads(json.dumps(wiring))
        chosen = cables_of(other) if group is None else [cables_of(other)[group]]
        place = sizes.index(chosen[0]["conductor"])
        if place:
            for cable in chosen:
                cable["conductor"] = sizes[place - 1]
            found.append(other)
    return found


def lower_taps(request: Json, wiring: Json) -> list[Json]:
    """The wiring with one run a tap lower, where the taps were open."""
    taps = [tap["value"] for tap in request["supply"]["taps"]]
    found = []
    for index, line in enumerate(wiring["runs"]):
        place = taps.index(line["tap"]["value"])
        if place:
            other = json.loads(json.dumps(wiring))
            other["runs"][index]["tap"] = jobs.volts(taps[place - 1])
            found.append(other)
    return found


def check(client: Client, seed: int) -> str:
    """Ask one question, hold its answer against voltage-drop, and say what it was."""
    request = Draw(seed).request()
    asked = client.post("/v1/gauge-recommendation", json=request)
    assert asked.status_code == 200, (seed, asked.text)
    reply = asked.json()
    if reply["status"] != "recommended":
        assert any(row["outcome"]["breaks"] for row in reply["compared"])
        return str(reply["status"])
    broken = posted(client, request, reply, reply["wiring"])
    assert broken == [], (seed, [(each["code"], each["message"]) for each in broken])
    for wiring in thinner(request, reply["wiring"]):
        assert posted(client, request, reply, wiring), (seed, "a thinner cable passes")
    if request.get("taps") == "choose":
        for wiring in lower_taps(request, reply["wiring"]):
            assert posted(client, request, reply, wiring), (seed, "a lower tap passes")
    held = all(each["code"] != "range-not-held" for each in reply["findings"])
    return "recommended" if held else "range not held"


@pytest.mark.parametrize("start", range(0, 150, 25))
def test_what_is_recommended_passes_and_nothing_next_to_it_does(client: Client, start: int) -> None:
    seen = Counter(check(client, seed) for seed in range(start, start + 25))
    assert seen["recommended"] + seen["range not held"] >= 8
    assert seen["none-found"] <= 3


if __name__ == "__main__":
    asked_by_hand = Client(app)
    answers = Counter(check(asked_by_hand, seed) for seed in range(int(sys.argv[1])))
    sys.stdout.write(f"{dict(answers)}\n")
