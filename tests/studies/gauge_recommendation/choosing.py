"""Random gardens whose cables are to be chosen: as a request, and for the oracle."""

from __future__ import annotations

import json
import random
from itertools import count

from service.circuit.work import Budget
from service.intake import decode
from service.studies.gauge_recommendation.assessment import Assessor, slots_of
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.study import GaugeJob, Recommendation
from service.studies.gauge_recommendation.translate import job_of
from tests.circuit.oracle import Garden, Hung, Piece
from tests.jobs import (
    Json,
    amperes,
    awg,
    branch,
    halogen,
    lamp,
    metres,
    quantity,
    resistor,
    run,
    transformer,
    volt_amperes,
    watts,
    winding,
    window,
)


def as_stated(request: Json) -> Json:
    """The request, judged in the state that it says unless it names a range itself."""
    return {**request, "conditions": {"range": "as-stated", **request.get("conditions", {})}}


def question(request: Json) -> GaugeJob:
    """A request as the study gets it, for an optimum of the stated state and of the corners asked for."""
    return job_of(decode(json.dumps(as_stated(request)).encode(), GaugeRecommendationRequest))


def assessor_of(request: Json, budget: Budget | None = None) -> Assessor:
    """An assessor with every cable open."""
    put = question(request)
    made = Assessor(put.job, put.candidates, budget or Budget(), put.offered_taps_v)
    everywhere = frozenset(span.cable_at for span in made.layout_spans if span.cable_at)
    made.slots = slots_of(made.layout_spans, everywhere, put.scope)
    return made


class Planter:
    """Plants one random garden, the same for the same seed."""

    def __init__(self, seed: int, *, steady: bool, scope: str, loops: bool = False) -> None:
        self.pick = random.Random(seed)
        self.steady, self.scope, self.loops = steady, scope, loops
        self.number = count(1)
        self.default_window = self.pick.random() < 0.3

    def garden(self) -> Garden:
        """One garden: a transformer, one to six runs, some with a branch, a lead or a return leg."""
        pick = self.pick
        sizes = sorted(pick.sample([18, 16, 14, 12, 10, 8], pick.choice((3, 3, 4, 5))))
        pick.shuffle(sizes)
        runs_at_most = {"one": 6, "per-run": 3 if len(sizes) > 4 else 4, "per-span": 2}[self.scope]
        regulation, rating = pick.choice(((0.0, 1.0), (0.04, 300.0), (0.06, 150.0)))
        garden = Garden(
            {}, sizes, 12.0 * (1.0 + regulation), regulation * 144.0 / rating,
            pick.choice((None, None, 0.05, 0.1)), pick.choice((None, None, None, 10.0, 15.0)),
        )  # fmt: skip
        runs = [self.run(garden, index) for index in range(pick.randint(1, runs_at_most))]
        supply = transformer(winding=winding(rating, 100.0 * regulation)) if regulation else transformer()
        if garden.device_a is not None:
            supply["circuits"] = [{"name": "all", "limit": quantity(garden.device_a, "A")}]
        garden.request = {
            "supply": supply,
            "wiring": {"form": "runs", "runs": runs},
            "scope": self.scope,
            "stock": self.stock(sizes),
        }
        if garden.limit_ratio is not None:
            garden.request["limits"] = {"maximum_drop_percent": 100.0 * garden.limit_ratio}
        if self.pick.random() < 0.25:
            garden.request["cutting"] = {"joints": "anywhere"}
        garden.rating_va = rating if regulation else None
        # The oracle knows faults alone of what stands behind the terminals.
        garden.request["accept"] = ["circuit-near-limit", "near-collapse", "short-circuit-below-trip"]
        return garden

    def stock(self, sizes: list[int]) -> list[Json]:
        """Thicker is mostly dearer; some are sold in spools, some cost the same, some have no price."""
        unpriced = self.pick.random() < 0.25
        rate = {18: 30, 16: 45, 14: 70, 12: 70, 10: 160, 8: 250}
        cables = []
        for size in sizes:
            cable: Json = {"id": f"awg-{size}", "conductor": f"{size} AWG"}
            if self.pick.random() < 0.3:
                lengths = self.pick.sample([10, 25, 50, 75], self.pick.randint(1, 3))
                spools = [
                    {
                        "length": metres(each),
                        "amount": f"{rate[size] * each * self.pick.uniform(0.8, 1) / 100:.2f}",
                    }
                    for each in lengths
                ]
                cable["price"] = {"kind": "per-spool", "spools": spools}
            else:
                cable["price"] = {"kind": "per-length", "amount": f"{rate[size] / 100:.2f}", "per": "m"}
            cables.append(cable)
        if unpriced:
            del cables[0]["price"]
        return cables

    def run(self, garden: Garden, index: int) -> Json:
        """One run from the terminal."""
        pick, pointer = self.pick, f"/wiring/runs/{index}"
        lamps, points = self.stretch(garden, 0, f"{pointer}/cable", index, pick.randint(1, 3))
        more: Json = {}
        end_m, end = points[-1]
        if self.loops and pick.random() < 0.6:
            back_m = pick.randint(2, end_m + 5)
            more["return_leg"] = {"length": metres(back_m)}
            garden.pieces.append(Piece(0, end, back_m, f"{pointer}/cable", 0.0, leg=True))
        if pick.random() < 0.4 and self.scope != "per-span":
            at_m, at = pick.choice(points)
            twigs, _ = self.stretch(garden, at, f"{pointer}/branches/0/cable", index, pick.randint(1, 2))
            more["branches"] = [branch(at_m, *twigs, cable=awg(12))]
        return run(*lamps, cable=awg(12), **more)

    def stretch(
        self, garden: Garden, start: int, cable_at: str, index: int, lamps: int
    ) -> tuple[list[Json], list[tuple[int, int]]]:
        """Lamps along one cable, the leads after it as the request has them. [m]"""
        at_m, at, laid, points = 0, start, [], []
        for _ in range(lamps):
            gap_m = self.pick.randint(2, 18)
            point = next(self.number)
            garden.pieces.append(Piece(at, point, gap_m, cable_at, float(at_m)))
            at_m, at = at_m + gap_m, point
            points.append((at_m, at))
        for place_m, point in points:
            laid.append(self.lamp(garden, place_m, point, index, cable_at))
        return laid, points

    def lamp(self, garden: Garden, place_m: int, point: int, index: int, cable_at: str) -> Json:
        """A lamp, sometimes behind a splice of some ohms."""
        load, kind, real, other = self.load()
        low_v, high_v = (10.5, 12.5) if kind == "filament" else (10.0, 15.0)
        more: Json = {}
        if not self.default_window:
            low_v, high_v = self.pick.uniform(8.5, 11.3), self.pick.uniform(11.9, 13.0)
            more["window"] = window(low_v, high_v)
        if self.pick.random() < 0.2:
            ohm = self.pick.uniform(0.01, 0.1)
            more["splice_resistance"] = quantity(ohm, "ohm")
            behind = next(self.number)
            garden.pieces.append(Piece(point, behind, 0, cable_at, 0.0, ohm))
            point = behind
        garden.lamps.append(Hung(point, kind, real, other, low_v, high_v, index))
        return lamp(place_m, load, **more)

    def load(self) -> tuple[Json, str, float, float]:
        """How a lamp draws: for the request, and for the oracle."""
        watts_, pick = self.pick.uniform(2.0, 45.0), self.pick
        kinds = ["power", "power", "va", "current"]
        kinds += [] if self.steady else ["filament", "filament", "resistor", "lagging current"]
        kind = pick.choice(kinds)
        amps = watts_ / 12.0
        return {
            "power": (watts(watts_, power_factor=1), "power", watts_, 0.0),
            "va": (volt_amperes(watts_, 1.5 * watts_), "power", watts_, watts_ * 1.25**0.5),
            "current": (amperes(amps, power_factor=1), "current", amps, 0.0),
            "lagging current": (amperes(amps, power_factor=0.8), "current", 0.8 * amps, 0.6 * amps),
            "filament": (halogen(watts_), "filament", watts_, 0.0),
            "resistor": (resistor(watts_), "resistor", watts_, 0.0),
        }[kind]


def chosen(garden: Garden, answer: Recommendation) -> tuple[int, ...] | None:
    """The choice of the service, in the order of the oracle's places."""
    if answer.found is None:
        return None
    by_span = {
        index: candidate
        for slot, candidate in zip(answer.slots, answer.found.choice, strict=True)
        for index in slot.spans
    }
    at = {
        (span.cable_at, round(span.from_m, 6), span.subject.pointer.endswith("return_leg")): by_span[index]
        for index, span in enumerate(answer.spans)
        if index in by_span
    }
    places = [group[0] for _, group in garden.places(garden.request["scope"])]
    return tuple(at[piece.cable_at, piece.from_m, piece.leg] for piece in places)
