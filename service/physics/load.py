"""How a fixture draws current as its voltage changes."""

from __future__ import annotations

import math
from math import hypot, sqrt
from typing import NamedTuple

FILAMENT_EXPONENT = 0.55
"""Current of a tungsten filament goes with this power of its voltage (lamp rerating, 0.5 to 0.55)."""


class Load(NamedTuple):
    """A sum of ways to draw; loads at one point simply add.

    Parameters
    ----------
    power_w : float
        Part that draws the same watts at any voltage. [W]
    current_a : float
        Part that draws the same active current at any voltage. [A]
    conductance_s : float
        Part that behaves as a fixed resistance. [S]
    filament_a : float
        Current that the filament part would draw at 1 V, if the power law held down to there. [A]
    non_active_var : float
        Non-active power of the constant-power part. [var]
    non_active_a : float
        Non-active current of the constant-current part. [A]
    """

    power_w: float = 0.0
    current_a: float = 0.0
    conductance_s: float = 0.0
    filament_a: float = 0.0
    non_active_var: float = 0.0
    non_active_a: float = 0.0

    def active_current(self, voltage_v: float) -> float:
        """Active current at a voltage. [A]"""
        steady: float = self.power_w / voltage_v + self.current_a + self.conductance_s * voltage_v
        if self.filament_a:
            return steady + self.filament_a * math.pow(voltage_v, FILAMENT_EXPONENT)
        return steady

    def rms_current(self, voltage_v: float) -> float:
        """Rms current at a voltage, active and non-active in quadrature. [A]"""
        return hypot(self.active_current(voltage_v), self.non_active_var / voltage_v + self.non_active_a)

    def phasor(self, voltage_v: complex) -> complex:
        """Current at a voltage a + jb, its non-active part lagging by a quarter turn. [A]"""
        volts = abs(voltage_v)
        lagging_a = self.non_active_var / volts + self.non_active_a
        return complex(self.active_current(volts), -lagging_a) * voltage_v / volts

    def real_power(self, voltage_v: float) -> float:
        """Real power at a voltage. [W]"""
        return self.active_current(voltage_v) * voltage_v

    def scaled(self, factor: float) -> Load:
        """As much of this load as `factor` says. [-]"""
        return Load(
            self.power_w * factor,
            self.current_a * factor,
            self.conductance_s * factor,
            self.filament_a * factor,
            self.non_active_var * factor,
            self.non_active_a * factor,
        )

    def referred(self, ratio: float) -> Load:
        """The same load through an ideal transformer, seen from a side with `ratio` times less voltage. [-]

        Its power at the same share of the voltage stays what it was.
        """
        return Load(
            self.power_w,
            self.current_a * ratio,
            self.conductance_s * ratio * ratio,
            self.filament_a * math.pow(ratio, 1.0 + FILAMENT_EXPONENT),
            self.non_active_var,
            self.non_active_a * ratio,
        )

    def all_in_phase(self) -> Load:
        """The cautious habit: every volt-ampere counted as if it were a watt."""
        return Load(
            hypot(self.power_w, self.non_active_var),
            hypot(self.current_a, self.non_active_a),
            self.conductance_s,
            self.filament_a,
        )

    @property
    def has_a_nose(self) -> bool:
        """Whether more of this load can ever be more than a cable carries."""
        steady = self.power_w + self.current_a + self.non_active_var + self.non_active_a
        return steady > 0.0


def constant_power(power_w: float, *, apparent_va: float | None = None) -> Load:
    """An electronic driver inside its window: the same watts at any voltage.

    Parameters
    ----------
    power_w : float
        Watts drawn. [W]
    apparent_va : float, optional
        Volt-amperes drawn; at least `power_w`. [VA]
    """
    if apparent_va is None or apparent_va <= power_w:
        return Load(power_w=power_w)
    return Load(power_w=power_w, non_active_var=_other_leg(apparent_va, power_w))


def constant_current(current_a: float, *, power_factor: float = 1.0) -> Load:
    """A linear regulator: the same rms current at any voltage. [A]"""
    active_a = current_a * power_factor
    return Load(current_a=active_a, non_active_a=_other_leg(current_a, active_a))


def constant_resistance(power_w: float, *, rated_v: float) -> Load:
    """A resistor that draws `power_w` [W] at `rated_v` [V]."""
    return Load(conductance_s=power_w / (rated_v * rated_v))


def filament(power_w: float, *, rated_v: float) -> Load:
    """A tungsten filament that draws `power_w` [W] at `rated_v` [V].

    The current goes with V^0.55 (exponents 0.5 to 0.55, lamp rerating), so the power goes with V^1.55.
    """
    return Load(filament_a=power_w / rated_v ** (1.0 + FILAMENT_EXPONENT))


def zip_load(
    *, constant_power_w: float, constant_current_w: float, constant_resistance_w: float, rated_v: float
) -> Load:
    """A mixture of three parts, each given in watts at the rated voltage; every part is at least zero.

    The three-part form is the polynomial load model of the power-systems literature, P = P0 (Zp v² + Ip v +
    Pp).
    """
    return Load(
        power_w=constant_power_w,
        current_a=constant_current_w / rated_v,
        conductance_s=constant_resistance_w / (rated_v * rated_v),
    )


def _other_leg(hypotenuse: float, leg: float) -> float:
    """Third side of a right triangle, without cancelling when the two given are close."""
    return sqrt(max(0.0, (hypotenuse - leg) * (hypotenuse + leg)))
