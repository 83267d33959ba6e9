"""What is measured: states of the garden, and readings in them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from tests.studies.readings_truth.garden import Garden
from tests.studies.readings_truth.mix import MIX


class State(NamedTuple):
    """Which lamps are lit, and how a request says so."""

    on: str
    lit: frozenset[int]
    legs: tuple[str, ...] = ()
    lamps: tuple[int, ...] = ()
    """Listed one by one."""


class Reading(NamedTuple):
    """A quantity at the terminal, at a lamp's point, or at a leg's far end (volts) or start (amperes)."""

    state: int
    quantity: str
    kind: str
    at: Any = None


@dataclass(frozen=True)
class Plan:
    """States and readings, in the order of the request."""

    states: tuple[State, ...]
    readings: tuple[Reading, ...]
    mains_measured: bool


def draw_plan(garden: Garden, pick: np.random.Generator) -> Plan:
    """Decide what the installer measures."""
    says = MIX["readings"]
    everything = frozenset(range(len(garden.lamps)))
    states = [State("no-load", frozenset()), State("all-on", everything), *_alone(garden)]
    readings = [Reading(0, "voltage", "terminal"), Reading(1, "voltage", "terminal")]
    readings += [Reading(1, "voltage", "leg", leg) for leg in garden.ends]
    readings += _some_lamps(garden, 1, sorted(everything), says["fixture_share_all_on"], pick)
    for index, state in enumerate(states[2:], start=2):
        leg = state.legs[0] if state.legs else next(iter(garden.ends))
        readings += [Reading(index, "voltage", "terminal"), Reading(index, "voltage", "leg", leg)]
        readings += _some_lamps(garden, index, sorted(state.lit), says["fixture_share_alone"], pick)
    if pick.random() < says["run_amperes_share"]:
        readings += [Reading(1, "current", "leg", run) for run in garden.runs]
    if pick.random() < says["fixture_amperes_share"]:
        chosen = pick.choice(len(garden.lamps), says["fixture_amperes"], replace=False)
        readings += [Reading(1, "current", "lamp", int(lamp)) for lamp in sorted(chosen)]
    return Plan(tuple(states), tuple(readings), bool(pick.random() < says["mains_measured_share"]))


def _alone(garden: Garden) -> list[State]:
    """Each run alone and each branch alone; of a single bare run its far half."""
    legs = [leg for leg in garden.ends if len(garden.runs) > 1 or leg in garden.hung_on]
    if legs:
        return [State("listed", frozenset(garden.lamps_on(leg)), legs=(leg,)) for leg in legs]
    far = range(len(garden.lamps) // 2, len(garden.lamps))
    return [State("listed", frozenset(far), lamps=tuple(far))]


def _some_lamps(
    garden: Garden, state: int, lamps: list[int], share: float, pick: np.random.Generator
) -> list[Reading]:
    """Volts at some of the lamps; a lamp at the far end of its leg is not measured twice."""
    ends = set(garden.ends.values())
    return [
        Reading(state, "voltage", "lamp", lamp)
        for lamp in lamps
        if garden.lamps[lamp].point not in ends and pick.random() < share
    ]
