"""Draws the gardens and faults of `mix.toml`."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from tests.studies.readings_truth.circuit import Floats, NothingSettlesError
from tests.studies.readings_truth.garden import RATED_MAINS_V, Cable, Garden, Lamp, Place, Span
from tests.studies.readings_truth.mix import MIX
from tests.studies.readings_truth.plan import Plan, Reading, State, draw_plan
from tests.studies.readings_truth.world import SOUND, Fault, Truth, World

THINNER: dict[str, list[float]] = {"AWG": [10, 12, 14, 16, 18], "mm2": [6.0, 4.0, 2.5, 1.5]}
"""Sizes from thick to thin, of which one or two steps are taken."""


ONE_OF_THREE = 1.0 / 3.0
"""Of faults on each of two runs: a splice, a dark lamp, a stronger lamp."""

ON_ANOTHER = 0.5
"""Share of the runs of a supply with several taps that draw theirs from all of them."""


class Case(NamedTuple):
    """One job: what is declared and measured, how it really is, and the kind of fault drawn for it."""

    number: int
    kind: str
    truth: Truth
    world: World
    read: Floats
    """What the meter shows. [V] or [A]"""
    mains_read_v: tuple[float, ...] | None


def draw_case(number: int) -> Case:
    """Draw job `number`; each has a generator of its own, so that any can be drawn alone."""
    pick = np.random.default_rng([MIX["jobs"]["seed"], number])
    truth = draw_truth(pick)
    kind = _kind_of(number, pick)
    while not _has_room(truth, kind):
        truth = draw_truth(pick)
    while True:
        fault, also = draw_faults(truth, kind, pick)
        world = replace(draw_world(truth, pick), fault=fault, also=also)
        try:
            exact = truth.readings(world)
            truth.readings(World(fault=fault, also=also))
        except NothingSettlesError:
            continue
        read, mains_read_v = measured(truth.plan, exact, world, pick)
        return Case(number, kind, truth, world, read, mains_read_v)


def _kind_of(number: int, pick: np.random.Generator) -> str:
    if number % 5 < MIX["jobs"]["sound_of_five"]:
        return "sound"
    shares = np.array([fault["share"] for fault in MIX["fault"]], dtype=float)
    return str(MIX["fault"][pick.choice(len(shares), p=shares / shares.sum())]["kind"])


def _has_room(truth: Truth, kind: str) -> bool:
    """Whether a garden can have a kind of fault, and its readings could show it."""
    garden = truth.garden
    if kind == "other-tap":
        return bool(garden.taps_v)
    if kind == "two-runs":
        return len(garden.runs) > 1
    if kind != "exchanged-runs":
        return True
    amperes = any(reading.quantity == "current" and reading.kind == "leg" for reading in truth.plan.readings)
    several = len({garden.tap_v(run) for run in garden.runs}) > 1
    return len(garden.runs) > 1 and (amperes or several)


def draw_truth(pick: np.random.Generator) -> Truth:
    """A garden that is sound on paper, and what is measured in it."""
    lowest_v = MIX["garden"]["lowest_sound_v"]
    everything = State("all-on", frozenset(range(MIX["garden"]["fixtures"][1])))
    while True:
        garden = _Planter(pick).garden()
        if garden is None:
            continue
        lit = everything._replace(lit=frozenset(range(len(garden.lamps))))
        ends = tuple(Reading(0, "voltage", "leg", leg) for leg in garden.ends)
        try:
            volts_at = Truth(garden, Plan((lit,), ends, mains_measured=False)).readings(World())
        except NothingSettlesError:
            continue
        if volts_at.min() >= lowest_v:
            return Truth(garden, draw_plan(garden, pick))


class _Planter:
    """Lays one garden."""

    def __init__(self, pick: np.random.Generator) -> None:
        self.pick = pick
        self.says = MIX["garden"]
        self.spans: dict[int, Span] = {}
        self.lamps: list[Lamp] = []
        self.ends: dict[str, int] = {}
        self.hung_on: dict[str, str] = {}

    def garden(self) -> Garden | None:
        """A garden, or nothing where its size is outside of the bounds."""
        for index in range(self._whole(*self.says["runs"])):
            pointer = f"/wiring/runs/{index}"
            self._leg(pointer, 0, self._whole(*self.says["fixtures_per_run"]))
            if self.pick.random() < self.says["branch_share"]:
                start = int(self.pick.choice([lamp.point for lamp in self.lamps if lamp.leg == pointer]))
                branch = f"{pointer}/branches/0"
                self.hung_on[branch] = pointer
                self._leg(branch, start, self._whole(*self.says["fixtures_per_branch"]))
        fewest, most = self.says["fixtures"]
        apparent_va = sum(lamp.watts / lamp.power_factor for lamp in self.lamps)
        ratings = [one for one in self.says["ratings_va"] if one >= self.says["rating_margin"] * apparent_va]
        if not ratings or not fewest <= len(self.lamps) <= most:
            return None
        regulation = round(float(self.pick.uniform(*self.says["regulation_percent"])), 1)
        taps_v: tuple[float, ...] = ()
        tap_of = {}
        if self.pick.random() < self.says["several_taps_share"]:
            taps_v = tuple(self.says["taps_v"])
            runs = [leg for leg in self.ends if leg not in self.hung_on]
            tap_of = {run: self._one("taps_v") for run in runs if self.pick.random() < ON_ANOTHER}
        return Garden(
            ratings[0], regulation, self.spans, tuple(self.lamps), self.ends, self.hung_on, taps_v, tap_of
        )

    def _leg(self, pointer: str, start: int, lamps: int) -> None:
        metric = self.pick.random() < self.says["metric_share"]
        cable = Cable(*(("mm2", self._one("mm2")) if metric else ("AWG", self._one("awg"))))
        here, line = start, 0
        while lamps:
            several = self.pick.random() < self.says["line_of_several_share"]
            count = min(lamps, self._whole(2, 4)) if several else 1
            gap_m, load = self._length(self.says["gap_m"]), self._load()
            for number in range(1, count + 1):
                here = self._span(here, gap_m, cable, pointer)
                self.lamps.append(Lamp(here, *load, Place(f"{pointer}/fixtures/{line}", number), pointer))
            lamps, line = lamps - count, line + 1
        if self.pick.random() < self.says["tail_share"]:
            here = self._span(here, self._length(self.says["tail_m"]), cable, pointer)
        self.ends[pointer] = here

    def _load(self) -> tuple[str, float, float]:
        """Kind, watts at rated voltage, power factor."""
        watts, statistics = float(self._one("watts")), self.pick.random()
        if statistics < self.says["constant_current_share"]:
            return "current", watts, 1.0
        if statistics < self.says["constant_current_share"] + self.says["constant_resistance_share"]:
            return "resistance", watts, 1.0
        if self.pick.random() < self.says["unity_share"]:
            return "power", watts, 1.0
        return "power", watts, round(float(self.pick.uniform(*self.says["power_factor"])), 2)

    def _span(self, parent: int, length_m: float, cable: Cable, leg: str) -> int:
        point = len(self.spans) + 1
        self.spans[point] = Span(parent, length_m, cable, leg)
        return point

    def _whole(self, low: int, high: int) -> int:
        return int(self.pick.integers(low, high + 1))

    def _length(self, bounds: list[float]) -> float:
        return round(float(self.pick.uniform(bounds[0], bounds[1])), 2)

    def _one(self, of: str) -> float:
        return float(self.pick.choice(self.says[of]))


def draw_world(truth: Truth, pick: np.random.Generator) -> World:
    """Everything that no request knows."""
    says, garden = MIX["nuisance"], truth.garden
    visit = pick.normal(0.0, says["mains_percent"] / 100.0)
    drift = pick.normal(0.0, says["mains_drift_percent"] / 100.0, len(truth.plan.states))
    lengths = pick.normal(0.0, says["length_percent"] / 100.0, len(garden.spans))
    powers = pick.normal(0.0, says["power_percent"] / 100.0, len(garden.lamps))
    return World(
        temperature_c=float(pick.uniform(*says["temperature_c"])),
        length_error=dict(zip(garden.spans, map(float, lengths), strict=True)),
        power_error=dict(enumerate(map(float, powers))),
        winding_error=float(pick.normal(0.0, says["winding_percent"] / 100.0)),
        mains_ratio=tuple(float(1.0 + visit + each) for each in drift),
    )


def draw_faults(truth: Truth, kind: str, pick: np.random.Generator) -> tuple[Fault, Fault]:
    """None, one, or one on each of two runs."""
    if kind == "two-runs":
        return draw_two(truth, pick)
    return (SOUND if kind == "sound" else draw_fault(truth, kind, pick)), SOUND


def draw_fault(truth: Truth, kind: str, pick: np.random.Generator) -> Fault:
    """A fault of a kind, of a size in the mix."""
    garden = truth.garden
    says: dict[str, Any] = next((fault for fault in MIX["fault"] if fault["kind"] == kind), {})
    lamp = int(pick.integers(len(garden.lamps)))
    live = [point for point in garden.spans if any(one.point in garden.beyond(point) for one in garden.lamps)]
    span = int(pick.choice(live))
    if kind == "splice":
        return Fault("span", span, float(np.exp(pick.uniform(*np.log(says["ohm"])))))
    if kind == "thinner":
        return Fault(
            "span", span, garden.spans[span].ohm * (_thinner(garden.spans[span].cable, says, pick) - 1)
        )
    if kind == "dark":
        return Fault("power", lamp, 0.0)
    if kind in {"other-tap", "exchanged-runs"}:
        return _of_runs(garden, kind, pick)
    if kind == "exchanged":
        return _exchange(garden, says["unlike"], pick)
    size = float(pick.uniform(*(says["watts"] if kind == "undeclared" else says["ratio"])))
    return Fault(kind, lamp if kind in ("power", "undeclared") else -1, size)


def _of_runs(garden: Garden, kind: str, pick: np.random.Generator) -> Fault:
    """A run on another tap, or two on each other's terminals."""
    if kind == "exchanged-runs":
        one, other = sorted(int(each) for each in pick.choice(len(garden.runs), 2, replace=False))
        return Fault(kind, one, other=other)
    run = int(pick.integers(len(garden.runs)))
    others = [tap_v for tap_v in garden.taps_v if tap_v != garden.tap_v(garden.runs[run])]
    return Fault(kind, run, float(pick.choice(others)))


def draw_two(truth: Truth, pick: np.random.Generator) -> tuple[Fault, Fault]:
    """A fault on each of two runs."""
    garden = truth.garden
    says: dict[str, Any] = next(fault for fault in MIX["fault"] if fault["kind"] == "two-runs")
    runs = [garden.runs[each] for each in sorted(pick.choice(len(garden.runs), 2, replace=False))]
    first, second = (_on_run(garden, run, says, pick) for run in runs)
    return first, second


def _on_run(garden: Garden, run: str, says: dict[str, Any], pick: np.random.Generator) -> Fault:
    lamps = garden.lamps_on(run)
    lamp = int(pick.choice(lamps))
    live = [
        point
        for point, span in garden.spans.items()
        if garden.run_of(span.leg) == run
        and any(garden.lamps[each].point in garden.beyond(point) for each in lamps)
    ]
    statistics = pick.random()
    if statistics < ONE_OF_THREE:
        return Fault("span", int(pick.choice(live)), float(np.exp(pick.uniform(*np.log(says["ohm"])))))
    return Fault("power", lamp, 0.0 if statistics < 2 * ONE_OF_THREE else float(pick.uniform(*says["ratio"])))


def _thinner(cable: Cable, says: Any, pick: np.random.Generator) -> float:
    """Resistance of what lies there over that of what was declared."""
    sizes = THINNER[cable.family]
    at = sizes.index(cable.size)
    thinner = [Cable(cable.family, size) for size in sizes[at + 1 : at + 3]]
    ratios = [says["clad_ratio"], *(one.ohm_per_m() / cable.ohm_per_m() for one in thinner)]
    return float(pick.choice(ratios))


def _exchange(garden: Garden, unlike: float, pick: np.random.Generator) -> Fault:
    watts = [lamp.watts for lamp in garden.lamps]
    pairs = [
        (one, other)
        for one in range(len(watts))
        for other in range(one + 1, len(watts))
        if max(watts[one], watts[other]) >= unlike * min(watts[one], watts[other])
    ]
    # A garden of like lamps has nothing to exchange; a dark lamp stands in for it.
    if not pairs:
        return Fault("power", int(pick.integers(len(watts))), 0.0)
    one, other = pairs[int(pick.integers(len(pairs)))]
    return Fault("exchanged", one, other=other)


def measured(
    plan: Plan, exact: Floats, world: World, pick: np.random.Generator
) -> tuple[Floats, tuple[float, ...] | None]:
    """What the meter shows of the readings, and of the mains in each state if it was put there."""
    meter = MIX["meter"]
    gain, clamp_gain, mains_gain = pick.uniform(-1.0, 1.0, 3) / 100.0
    off = pick.uniform(-1.0, 1.0, len(exact))
    amperes = np.array([reading.quantity == "current" for reading in plan.readings])
    step = np.where(amperes, meter["current_resolution_a"], meter["voltage_resolution_v"])
    counts = np.where(amperes, meter["current_counts"], meter["counts"])
    share = np.where(
        amperes, clamp_gain * meter["current_accuracy_percent"], gain * meter["accuracy_percent"]
    )
    shown = np.round((exact * (1.0 + share) + off * counts * step) / step) * step
    shown = np.maximum(np.round(shown, 6), 0.0)
    if not plan.mains_measured:
        return shown, None
    step_v = meter["mains_resolution_v"]
    mains_v = RATED_MAINS_V * np.array(world.mains_ratio) * (1.0 + mains_gain * meter["accuracy_percent"])
    mains_v += pick.uniform(-1.0, 1.0, len(mains_v)) * meter["counts"] * step_v
    return shown, tuple(float(round(round(each / step_v) * step_v, 6)) for each in mains_v)
