"""The voltage window of a fixture: the maker's where it is known, else what the trade goes by."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from service import tables
from service.circuit.job import FixtureSpec

REFERENCE_NOMINAL_V = 12.0
"""The default windows are stated for fixtures of this nominal voltage and scale with it. [V]"""


class WindowBounds(NamedTuple):
    """A window: outside `lowest_v`..`highest_v` lies a fault, outside `low_v`..`high_v` a warning. [V]"""

    lowest_v: float
    low_v: float
    high_v: float
    highest_v: float
    source: str
    high_source: str
    stated: bool

    def source_of(self, verdict: str) -> str:
        """Id of the source of the bound that a verdict is about."""
        return self.high_source if verdict == "high" else self.source

    def limit_of(self, verdict: str) -> float:
        """The bound that a verdict is about. [V]"""
        bounds = {"below": self.lowest_v, "low": self.low_v, "high": self.high_v, "above": self.highest_v}
        return bounds[verdict]

    def is_low(self, voltage_v: float) -> bool:
        """Whether a voltage is below what is recommended: a warning at least. [V]"""
        return voltage_v < self.low_v

    def is_above(self, voltage_v: float) -> bool:
        """Whether a voltage is above what the fixture stands: a fault. [V]"""
        return voltage_v > self.highest_v

    def judged_v(self, start_v: float, far_v: float) -> float:
        """What a strip is judged by: the voltage of its far end, unless only its start is too high. [V]"""
        return start_v if start_v > self.high_v and not self.is_low(far_v) else far_v

    def verdict(self, voltage_v: float) -> str:
        """Where a voltage lies: below, low, inside, high or above; never rounded before it is judged."""
        if voltage_v < self.lowest_v:
            return "below"
        if self.is_above(voltage_v):
            return "above"
        if self.is_low(voltage_v):
            return "low"
        return "high" if voltage_v > self.high_v else "inside"


def bounds_of(line: FixtureSpec, *, nominal_v: float, several_taps: bool) -> WindowBounds:
    """The window of a fixture line.

    Parameters
    ----------
    line : FixtureLine
    nominal_v : float
        Of the fixtures; a default window follows it, never the tap. [V]
    several_taps : bool
        Whether the supply has several taps: then a fixture without its own window is warned above 12.5 V.
    """
    if line.window is not None:
        lowest_v, highest_v = line.window
        return WindowBounds(lowest_v, lowest_v, highest_v, highest_v, "caller", "caller", stated=True)
    return _default_bounds(line.filament, nominal_v, several_taps)


def led_bounds(nominal_v: float) -> WindowBounds:
    """What the trade goes by for an LED fixture of this nominal voltage behind a supply of one tap. [V]"""
    return _default_bounds(False, nominal_v, False)  # noqa: FBT003  # the cache takes no names


@cache
def _default_bounds(filament: bool, nominal_v: float, several_taps: bool) -> WindowBounds:  # noqa: FBT001  cached
    scale = nominal_v / REFERENCE_NOMINAL_V
    if filament:
        lowest, highest = tables.constant("filament_fault_below"), tables.constant("filament_fault_above")
        return WindowBounds(
            lowest.value * scale,
            lowest.value * scale,
            highest.value * scale,
            highest.value * scale,
            lowest.source,
            lowest.source,
            stated=False,
        )
    below, above = tables.constant("led_fault_below"), tables.constant("led_fault_above")
    caution = tables.constant("multi_tap_caution_above") if several_taps else above
    return WindowBounds(
        below.value * scale,
        tables.constant("led_warning_below").value * scale,
        caution.value * scale,
        above.value * scale,
        below.source,
        caution.source,
        stated=False,
    )
