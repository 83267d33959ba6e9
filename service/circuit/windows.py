"""The voltage window of a fixture: the maker's where it is known, else what the trade goes by."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from service import tables
from service.circuit.job import FixtureSpec
from service.circuit.limits import EXACTLY, beyond, short_of

REFERENCE_NOMINAL_V = 12.0
"""The default windows are stated for fixtures of this nominal voltage and scale with it. [V]"""


INSIDE = "inside"
"""The verdict on a voltage that needs no word."""


class WindowBounds(NamedTuple):
    """A window: outside `lowest_v`..`highest_v` lies a fault, below `low_v` a warning. [V]"""

    lowest_v: float
    low_v: float
    highest_v: float
    source: str
    stated: bool

    def limit_of(self, verdict: str) -> float:
        """The bound that a verdict is about. [V]"""
        return {"below": self.lowest_v, "low": self.low_v, "above": self.highest_v}[verdict]

    def least_v(self, *, dim: bool = False) -> float:
        """What the fixture should get, or where it may be `dim` what it must: below that lies a fault. [V]"""
        return self.lowest_v if dim else self.low_v

    def is_low(self, voltage_v: float, *, dim: bool = False) -> bool:
        """Whether a voltage is below what is recommended, or where it may be `dim` below the window. [V]"""
        return short_of(voltage_v, self.lowest_v if dim else self.low_v, EXACTLY)

    def is_above(self, voltage_v: float) -> bool:
        """Whether a voltage is above what the fixture stands: a fault. [V]"""
        return beyond(voltage_v, self.highest_v, EXACTLY)

    def judged_v(self, start_v: float, far_v: float) -> float:
        """What a strip is judged by: the voltage of its far end, unless only its start is too high. [V]"""
        return start_v if self.is_above(start_v) and not self.is_low(far_v) else far_v

    def verdict(self, voltage_v: float) -> str:
        """Where a voltage lies: below, low, inside or above; never rounded before it is judged."""
        if self.low_v <= voltage_v <= self.highest_v:
            return INSIDE
        if self.is_low(voltage_v, dim=True):
            return "below"
        if self.is_above(voltage_v):
            return "above"
        return "low"


def farthest_below(
    windows: Sequence[WindowBounds], judged_v: Sequence[float], *, dim: bool = False
) -> int | None:
    """Which fixture is farthest below what it should get, or where they may be `dim` must; None: none is.

    Voltages are one per window. [V]
    """
    rows = enumerate(zip(windows, judged_v, strict=True))
    low = [
        (at_v - window.least_v(dim=dim), row) for row, (window, at_v) in rows if window.is_low(at_v, dim=dim)
    ]
    return min(low)[1] if low else None


def farthest_above(windows: Sequence[WindowBounds], judged_v: Sequence[float]) -> int | None:
    """Which fixture is farthest above its window; None: none is. Voltages are one per window. [V]"""
    rows = enumerate(zip(windows, judged_v, strict=True))
    high = [(window.highest_v - at_v, row) for row, (window, at_v) in rows if window.is_above(at_v)]
    return min(high)[1] if high else None


def verdicts_of(windows: Sequence[WindowBounds], judged_v: Sequence[float]) -> list[str]:
    """Where each fixture stands. Voltages are one per window. [V]"""
    return [
        INSIDE if window.low_v <= at_v <= window.highest_v else window.verdict(at_v)
        for window, at_v in zip(windows, judged_v, strict=True)
    ]


def bounds_of(line: FixtureSpec, *, nominal_v: float) -> WindowBounds:
    """The window of a fixture line: its own, else that of its kind, which follows the nominal voltage. [V]"""
    if line.window is not None:
        lowest_v, highest_v = line.window
        return WindowBounds(lowest_v, lowest_v, highest_v, "caller", stated=True)
    return usual_bounds("filament" if line.filament else "strip" if line.strip_m else "led", nominal_v)


@cache
def usual_bounds(kind: str, nominal_v: float) -> WindowBounds:
    """What the trade goes by for an LED fixture, a filament lamp or a strip of this nominal voltage. [V]

    Parameters
    ----------
    kind : str
        led, filament or strip.
    nominal_v : float
        Of the fixtures; the window follows it, never the tap. [V]
    """
    scale = nominal_v / REFERENCE_NOMINAL_V
    below, above = tables.constant(f"{kind}_fault_below"), tables.constant(f"{kind}_fault_above")
    low_v = tables.constant("led_warning_below").value if kind == "led" else below.value
    return WindowBounds(below.value * scale, low_v * scale, above.value * scale, below.source, stated=False)
