"""How a garden really is, and what a perfect meter would read in it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from tests.studies.readings_truth.circuit import OPEN_OHM, Circuit, Complex, Floats, voltages
from tests.studies.readings_truth.garden import NOMINAL_C, RATED_V, Garden, Lamp
from tests.studies.readings_truth.plan import Plan, Reading


class Fault(NamedTuple):
    """One thing that is wrong, in the terms of the circuit.

    `kind`: "span" (`size` ohm more in the span of point `at`), "open" (that span), "power" (lamp `at` draws
    `size` times), "undeclared" (`size` watts at the point of lamp `at`), "supply" (`size` times the voltage),
    "winding" (`size` times its resistance), "exchanged" (lamps `at` and `other`), "other-tap" (run `at` is on
    the tap of `size` V), "exchanged-runs" (runs `at` and `other`, each on the terminals of the other, where
    amperes are read by label), "none".
    """

    kind: str = "none"
    at: int = -1
    size: float = 0.0
    other: int = -1


SOUND = Fault()

POWER_OF_VOLTS = {"power": 0, "current": 1, "resistance": 2}
"""A load's power follows the volts to this power."""


@dataclass(frozen=True)
class World:
    """Nuisances, as shares of what is declared, and a fault."""

    temperature_c: float = NOMINAL_C
    length_error: dict[int, float] = field(default_factory=dict)
    power_error: dict[int, float] = field(default_factory=dict)
    winding_error: float = 0.0
    mains_ratio: tuple[float, ...] = ()
    """Of each state; nothing: rated."""
    fault: Fault = SOUND
    also: Fault = SOUND
    """A second fault, of ohms in a span or of a lamp's power, on another run."""

    def with_fault(self, fault: Fault) -> World:
        return replace(self, fault=fault)


@dataclass(frozen=True)
class Truth:
    """A garden and what is measured in it."""

    garden: Garden
    plan: Plan

    def readings(self, world: World) -> Floats:
        """What a perfect meter reads, in the order of the plan. [V] or [A]

        Raises
        ------
        NothingSettlesError
            The garden has no operating point in one of the states.
        """
        garden, fault = self.garden, world.fault
        spans = [garden.spans[point] for point in range(1, garden.points)]
        ohms = self._ohms(world)
        winding_ohm = garden.winding_ohm * (1.0 + world.winding_error)
        winding_ohm *= fault.size if fault.kind == "winding" else 1.0
        lamps = self._lamps(fault)
        powers = self._powers(world, lamps)
        # One winding: what a tap feeds is referred to the secondary, ohms by the square of the turns' ratio.
        ratios = self._tap_ratios(fault)
        circuit = Circuit(
            [span.parent for span in spans],
            ohms / ratios[1:] ** 2,
            max(winding_ohm, 1e-9),
            [(lamp.point, lamp.kind) for lamp in lamps],
        )
        referred = powers * [ratios[lamp.point] ** POWER_OF_VOLTS[lamp.kind] for lamp in lamps]
        volts_at = voltages(circuit, referred, self._sources(world)) * ratios
        return np.array(
            [
                self._read(self._really(reading, fault), volts_at, ohms, lamps, powers, ratios)
                for reading in self.plan.readings
            ]
        )

    def _tap_ratios(self, fault: Fault) -> Floats:
        """Volts of the tap that really feeds each point over those of the secondary."""
        garden = self.garden
        runs = garden.runs
        tap_v = {run: garden.tap_v(run) for run in runs}
        if fault.kind == "other-tap":
            tap_v[runs[fault.at]] = fault.size
        if fault.kind == "exchanged-runs":
            one, other = runs[fault.at], runs[fault.other]
            tap_v[one], tap_v[other] = tap_v[other], tap_v[one]
        legs = [garden.run_of(garden.spans[point].leg) for point in range(1, garden.points)]
        return np.array([1.0, *(tap_v[leg] / RATED_V for leg in legs)])

    def _really(self, reading: Reading, fault: Fault) -> Reading:
        """What is read: amperes at the supply by the label of the cable there."""
        if fault.kind == "exchanged-runs" and reading.kind == "leg" and reading.quantity == "current":
            pair = [self.garden.runs[fault.at], self.garden.runs[fault.other]]
            if reading.at in pair:
                return reading._replace(at=pair[1 - pair.index(reading.at)])
        return reading

    def _ohms(self, world: World) -> Floats:
        ohms = []
        for point in range(1, self.garden.points):
            span = self.garden.spans[point]
            ohm = (
                span.ohm * span.cable.warmth(world.temperature_c) * (1.0 + world.length_error.get(point, 0.0))
            )
            for fault in (world.fault, world.also):
                if fault.at == point and fault.kind in ("span", "open"):
                    ohm = OPEN_OHM if fault.kind == "open" else ohm + fault.size
            ohms.append(ohm)
        return np.array(ohms)

    def _lamps(self, fault: Fault) -> list[Lamp]:
        lamps = list(self.garden.lamps)
        if fault.kind == "exchanged":
            one, other = lamps[fault.at], lamps[fault.other]
            lamps[fault.at] = one._replace(
                kind=other.kind, watts=other.watts, power_factor=other.power_factor
            )
            lamps[fault.other] = other._replace(kind=one.kind, watts=one.watts, power_factor=one.power_factor)
        if fault.kind == "undeclared":
            lamps.append(lamps[fault.at]._replace(kind="power", watts=fault.size, power_factor=1.0))
        return lamps

    def _powers(self, world: World, lamps: list[Lamp]) -> Complex:
        """Drawn at rated voltage; an undeclared load is lit whenever anything is. [VA], (states, lamps)"""
        fault = world.fault
        drawn = np.array([complex(lamp.watts, lamp.non_active_var) for lamp in lamps])
        for lamp, error in world.power_error.items():
            drawn[lamp] *= 1.0 + error
        for each in (fault, world.also):
            if each.kind == "power":
                drawn[each.at] *= each.size
        if fault.kind == "open":
            dead = self.garden.beyond(fault.at)
            drawn *= [lamp.point not in dead for lamp in lamps]
        lit = np.zeros((len(self.plan.states), len(lamps)))
        for row, state in enumerate(self.plan.states):
            lit[row, list(state.lit)] = 1.0
        if fault.kind == "undeclared":
            lit[:, -1] = self._undeclared_lit(fault.at)
        return np.asarray(lit * drawn)

    def _undeclared_lit(self, lamp: int) -> list[float]:
        """It is alive while the run that feeds it is: a run with no lamp lit counts as disconnected."""
        garden = self.garden
        leg = garden.lamps[lamp].leg
        on_run = set(garden.lamps_on(garden.hung_on.get(leg, leg)))
        return [1.0 if state.lit & on_run else 0.0 for state in self.plan.states]

    def _sources(self, world: World) -> Floats:
        ratio = np.array(world.mains_ratio or [1.0] * len(self.plan.states))
        fault = world.fault.size if world.fault.kind == "supply" else 1.0
        return np.asarray(self.garden.open_circuit_v * ratio * fault)

    def _read(  # noqa: PLR0913, PLR0917  # the circuit as it was solved
        self,
        reading: Reading,
        volts_at: Complex,
        ohms: Floats,
        lamps: list[Lamp],
        powers: Complex,
        ratios: Floats,
    ) -> float:
        at = volts_at[reading.state]
        if reading.kind == "terminal":
            return float(abs(at[0]))
        if reading.quantity == "voltage":
            point = self.garden.ends[reading.at] if reading.kind == "leg" else lamps[reading.at].point
            return float(abs(at[point]))
        if reading.kind == "lamp":
            return _drawn_a(lamps[reading.at], at, powers[reading.state, reading.at])
        first = min(point for point, span in self.garden.spans.items() if span.leg == reading.at)
        parent = self.garden.spans[first].parent
        # At the supply the volts are those of the secondary: the run's own tap has so many times as many.
        fed = at[parent] * (1.0 if parent else ratios[first])
        return float(abs(fed - at[first]) / ohms[first - 1])


def _drawn_a(lamp: Lamp, at: Complex, power_va: complex) -> float:
    """Current of a lamp that is lit. [A]"""
    level = float(abs(at[lamp.point]))
    if not level:
        return 0.0
    by_kind = {"power": 1.0 / level, "current": 1.0 / RATED_V, "resistance": level / RATED_V**2}
    return abs(power_va) * by_kind[lamp.kind]
