"""A garden on paper: what the request declares, in points and spans of our own.

Point 0 is the terminal; every other point hangs on its parent by one span, which carries the point's number.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import sqrt
from typing import Final, NamedTuple

from tests.cases.derivation import (
    COPPER_PER_K_AT_20,
    IEC_CLASS_2_OHM_PER_KM,
    M_PER_FT,
    nec_awg,
)

RATED_V: Final = 12.0
RATED_MAINS_V: Final = 120.0
NOMINAL_C: Final = 20.0

IEC_OHM_PER_KM: Final = IEC_CLASS_2_OHM_PER_KM | {2.5: 7.41}
"""IEC 60228:2004 table 2, class 2 plain copper at 20 °C."""


class Place(NamedTuple):
    """A pointer into the request and, of a line that stands for several, which of them."""

    pointer: str
    number: int = 1


class Cable(NamedTuple):
    """A listed copper pair."""

    family: str
    size: float

    @property
    def label(self) -> str:
        return f"{self.size:g} {self.family}"

    def ohm_per_m(self, temperature_c: float = NOMINAL_C) -> float:
        """Both conductors. [ohm/m]"""
        if self.family == "AWG":
            return nec_awg(int(self.size), 1.0 / M_PER_FT, temperature_c)
        warm = 1.0 + COPPER_PER_K_AT_20 * (temperature_c - NOMINAL_C)
        return 2.0 * IEC_OHM_PER_KM[self.size] / 1000.0 * warm

    def warmth(self, temperature_c: float) -> float:
        """Resistance at a temperature over that at the nominal one. [-]"""
        return self.ohm_per_m(temperature_c) / self.ohm_per_m()


class Span(NamedTuple):
    """The cable that feeds a point."""

    parent: int
    length_m: float
    cable: Cable
    leg: str
    """Pointer of the run or branch that it is part of."""

    @property
    def ohm(self) -> float:
        return self.length_m * self.cable.ohm_per_m()


class Lamp(NamedTuple):
    """One fixture, alone at its point; `kind` says what it holds constant."""

    point: int
    kind: str
    watts: float
    power_factor: float
    place: Place
    leg: str

    @property
    def non_active_var(self) -> float:
        return self.watts * sqrt(1.0 / self.power_factor**2 - 1.0)


@dataclass(frozen=True)
class Garden:
    """Supply, spans and lamps."""

    rating_va: float
    regulation_percent: float
    spans: dict[int, Span]
    lamps: tuple[Lamp, ...]
    ends: dict[str, int]
    """The far-end point of each run and branch."""
    hung_on: dict[str, str]
    """The run of each branch."""
    taps_v: tuple[float, ...] = ()
    """What the supply offers; nothing: the secondary alone. [V]"""
    tap_of: dict[str, float] = field(default_factory=dict)
    """The tap of each run; one that is not named is on the secondary. [V]"""

    @property
    def open_circuit_v(self) -> float:
        return RATED_V * (1.0 + self.regulation_percent / 100.0)

    @property
    def winding_ohm(self) -> float:
        return self.regulation_percent / 100.0 * RATED_V**2 / self.rating_va

    @property
    def runs(self) -> list[str]:
        return [leg for leg in self.ends if leg not in self.hung_on]

    @property
    def points(self) -> int:
        """The terminal counted."""
        return len(self.spans) + 1

    def run_of(self, leg: str) -> str:
        """The run that a leg is, or hangs on."""
        return self.hung_on.get(leg, leg)

    def tap_v(self, run: str) -> float:
        """The tap of a run. [V]"""
        return self.tap_of.get(run, RATED_V)

    def lamps_on(self, leg: str) -> list[int]:
        """Indices of the lamps on a run or branch and on what hangs from it."""
        return [i for i, lamp in enumerate(self.lamps) if leg in (lamp.leg, self.hung_on.get(lamp.leg))]

    def beyond(self, point: int) -> set[int]:
        """A point and all that it feeds."""
        found = {point}
        for other in sorted(self.spans):
            if self.spans[other].parent in found:
                found.add(other)
        return found

    def place_of(self, point: int) -> Place:
        """How a request names a point: by the fixture there, else by the leg that ends there."""
        for lamp in self.lamps:
            if lamp.point == point:
                return lamp.place
        return Place(next(leg for leg, end in self.ends.items() if end == point))
