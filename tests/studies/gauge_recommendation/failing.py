"""Draws ordinary gardens that the stock on the van is often too thin for, the same for the same seed."""

import random

from tests import jobs
from tests.jobs import Json

STOCK = [
    {"id": "thin", "conductor": "16 AWG", "price": {"kind": "per-length", "amount": "0.31", "per": "ft"}},
    {"id": "thick", "conductor": "14 AWG", "price": {"kind": "per-length", "amount": "0.48", "per": "ft"}},
]


class FailingDraw:
    """One to three runs of two to nine LED lamps, 60 to 200 ft, on a box of 75 to 600 VA or a DC supply."""

    def __init__(self, seed: int) -> None:
        self.pick = random.Random(seed)

    def request(self) -> Json:
        """One request, whether it fails or not."""
        pick = self.pick
        request: Json = {
            "supply": self.supply(),
            "wiring": {"form": "runs", "runs": [self.run() for _ in range(pick.randint(1, 3))]},
            "scope": pick.choice(("one", "per-run", "per-run", "per-span")),
            "stock": STOCK,
        }
        if pick.random() < 0.3:
            request["conditions"] = {"range": "as-stated"}
        if pick.random() < 0.2:
            request["limits"] = {"maximum_drop_percent": 10}
        if pick.random() < 0.2:
            request["open"] = ["/wiring/runs/0/cable"]
        return request

    def supply(self) -> Json:
        """A box or a DC supply, with or without taps."""
        pick = self.pick
        if pick.random() < 0.15:
            return {"kind": "dc-supply", "output": jobs.volts(12), "rating": jobs.quantity(300, "W")}
        supply = jobs.transformer(winding=jobs.winding(pick.choice((75, 150, 300, 600)), pick.choice((3, 5))))
        if pick.random() < 0.4:
            supply["taps"] = [jobs.volts(tap_v) for tap_v in (12, 13, 14, 15)]
        return supply

    def run(self) -> Json:
        """Lamps one by one or in an even row, now and then a branch or a tail."""
        pick = self.pick
        reach_ft, each_w = pick.uniform(60, 200), round(pick.uniform(4, 14), 1)
        load = pick.choice((jobs.watts(each_w), jobs.volt_amperes(each_w, round(1.2 * each_w, 1))))
        lamps = [
            {**jobs.lamp(1, load), "at": jobs.feet(round(reach_ft * pick.random(), 2))}
            for _ in range(pick.randint(2, 9))
        ]
        if pick.random() < 0.3:
            row = {**jobs.lamp(1, load, count=pick.randint(3, 8)), "at": jobs.feet(round(reach_ft / 3, 2))}
            lamps = [{**row, "spacing": jobs.feet(12.5), "id": "row"}]
        more: Json = {"tail": jobs.feet(4)} if pick.random() < 0.2 else {}
        if pick.random() < 0.15:
            twig = jobs.branch(0.2 * reach_ft, jobs.lamp(3, load), cable=jobs.awg(12))
            more["branches"] = [twig]
        return jobs.run(*lamps, cable=jobs.awg(12), **more)
