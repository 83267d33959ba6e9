"""Distributors as textbooks draw them, put to the solver: named points, ohms, loads in amperes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Generic, TypeVar

import pytest

from service.physics.conductor import cable_resistance
from service.physics.load import Load, constant_current
from service.physics.network import Network, Span, build_network, magnitude
from service.physics.solve import solve

Name = TypeVar("Name", str, float)
"""A point is a letter of the book's figure, or its distance from the feed in metres."""


def volts(network: Network) -> list[float]:
    """Solve a network. [V], one per point"""
    at = solve(network)
    return [
        open_circuit_v * magnitude(drop, quadrature)
        for open_circuit_v, drop, quadrature in zip(
            network.open_circuit_v, at.drop, at.quadrature, strict=True
        )
    ]


def printed(value: str, *, book_rounding: float = 0.0) -> object:
    """Compare equal to whatever rounds to a printed value.

    Parameters
    ----------
    value : str
        As the source prints it; half of its last digit is the tolerance.
    book_rounding : float
        What the source lost by rounding on the way, argued for where it is used. [unit of the value]
    """
    digits_after_point = len(value.partition(".")[2])
    half_a_digit = 0.5 * 10.0**-digits_after_point
    # A value exactly half-way, such as 15.625 printed as 15.63, must not hang on the last bit.
    return pytest.approx(float(value), rel=0.0, abs=half_a_digit * (1.0 + 1e-9) + book_rounding)


def both_conductors(conductor_ohm_per_m: float) -> float:
    """Out and back on two equal conductors. [ohm/m]"""
    return cable_resistance(conductor_ohm_per_m, other_ohm_per_m=conductor_ohm_per_m, cables_in_parallel=1)


def amperes(currents_a: Mapping[Name, float]) -> list[tuple[Name, Load]]:
    """Constant-current loads, the textbooks' own, one per named point. [A]"""
    return [(name, constant_current(current_a)) for name, current_a in currents_a.items()]


@dataclass(frozen=True, slots=True)
class Answer(Generic[Name]):
    """Voltages at the named points [V] of sections (start, end, ohms of both conductors)."""

    voltage_v: dict[Name, float]
    sections: list[tuple[Name, Name, float]]

    def current_a(self, start: Name, end: Name) -> float:
        """Current from one point to the next. [A]"""
        for a, b, ohms in self.sections:
            if {a, b} == {start, end}:
                return (self.voltage_v[start] - self.voltage_v[end]) / ohms
        raise KeyError((start, end))

    def loss_w(self) -> float:
        """Heat of all sections. [W]"""
        return sum((self.voltage_v[a] - self.voltage_v[b]) ** 2 / ohms for a, b, ohms in self.sections)

    def lowest(self) -> Name:
        """The point of minimum potential."""
        return min(self.voltage_v, key=self.voltage_v.__getitem__)


def fed_at(
    feeds: Sequence[Name],
    feed_v: float,
    sections: Sequence[tuple[Name, Name, float]],
    loads: Sequence[tuple[Name, Load]],
) -> Answer[Name]:
    """Solve a distributor whose feeding points are all held at one voltage. [V]

    Points held at one voltage are one point, so a distributor fed from both ends is a loop on one source.
    """
    number = dict.fromkeys(feeds, 0)
    for start, end, _ in sections:
        for name in (start, end):
            number.setdefault(name, 1 + len(number) - len(feeds))
    spans = [Span(number[start], number[end], ohms) for start, end, ohms in sections]
    points = 1 + max(number.values())
    voltages = volts(build_network([feed_v] * points, spans, [(number[name], load) for name, load in loads]))
    return Answer({name: voltages[at] for name, at in number.items()}, list(sections))


def fed_at_unequal_ends(
    start_v: float,
    end_v: float,
    sections: Sequence[tuple[Name, Name, float]],
    loads: Sequence[tuple[Name, Load]],
) -> Answer[Name]:
    """Superpose on the equal-ended solution the current that the difference of the ends drives through. [V]

    Loads of constant current make the circuit linear, so the superposition is exact; `sections` are a chain.
    """
    equal = fed_at([sections[0][0], sections[-1][1]], start_v, sections, loads)
    through_a = (start_v - end_v) / sum(ohms for _, _, ohms in sections)
    voltage_v, passed_ohm = dict(equal.voltage_v), 0.0
    for _, end, ohms in sections:
        passed_ohm += ohms
        voltage_v[end] -= through_a * passed_ohm
    return Answer(voltage_v, equal.sections)


def lettered(sections: Mapping[str, float]) -> list[tuple[str, str, float]]:
    """Sections named by the two letters of their ends, as in ``{"AB": 0.1}``. [ohm, both conductors]"""
    return [(ends[0], ends[1], ohms) for ends, ohms in sections.items()]


def along(
    length_m: float,
    ohm_per_m: float,
    *,
    taps_a: Mapping[float, float] | None = None,
    uniform: Sequence[tuple[float, float, float]] = (),
    step_m: float = 1.0,
) -> tuple[list[tuple[float, float, float]], list[tuple[float, Load]]]:
    """Sections and loads of a straight distributor with tapped and uniformly distributed loads.

    A uniform load (from, to [m], A/m) becomes one lump in the middle of each step. The drop as far as x is
    the integral of i r min(s, x) over s, and the midpoint rule is exact for a function that is linear within
    each step: lumping costs nothing at the ends of steps, and at most i r step²/8 between them.
    """
    taps = dict(taps_a or {})
    places = {0.0, length_m, *taps}
    loads = amperes(taps)
    for start_m, end_m, ampere_per_m in uniform:
        for step in range(round((end_m - start_m) / step_m)):
            middle_m = start_m + (step + 0.5) * step_m
            places |= {middle_m - 0.5 * step_m, middle_m, middle_m + 0.5 * step_m}
            loads.append((middle_m, constant_current(ampere_per_m * step_m)))
    sections = [(a, b, ohm_per_m * (b - a)) for a, b in pairwise(sorted(places))]
    return sections, loads
