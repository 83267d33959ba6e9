"""Random trees and meshes: seeded generators, hypothesis strategies, and what the circuits say of themselves.

The circuits are kept in ohms, volts and loads, so that each test can write Kirchhoff's law down for itself.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import sqrt
from typing import TypedDict, Unpack

import numpy as np
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy
from numpy.typing import NDArray

from service.physics.load import Load
from service.physics.network import Network, Span, build_network
from service.physics.solve import OperatingPoint

RERATING_EXPONENT = 0.55
"""Current of a tungsten lamp over its voltage: 0.5 to 0.55, Fink and Beaty, Standard Handbook for Electrical
Engineers, 1978, as cited in lamp rerating tables."""

Loads = tuple[tuple[int, Load], ...]
Pairs = list[tuple[int, int]]
Shape = Callable[[int, random.Random], Pairs]
"""Joins a number of points, the terminal (0) among them."""


@dataclass(frozen=True)
class Circuit:
    """A supply, its spans and its loads; point 0 is the terminal."""

    points: int
    spans: tuple[Span, ...]
    loads: Loads
    source_v: float = 12.0
    winding_ohm: float = 0.0

    def network(self) -> Network:
        """The circuit as the solver takes it."""
        per_unit = self.winding_ohm / self.source_v**2
        return build_network(
            [self.source_v] * self.points, self.spans, self.loads, source_resistance=per_unit
        )

    def scaled(self, factor: float) -> Circuit:
        """Every load `factor` times as large."""
        return replace(self, loads=tuple((point, load.scaled(factor)) for point, load in self.loads))

    def voltages(self, solved: OperatingPoint) -> list[complex]:
        """Voltage at each point. [V]"""
        pairs = zip(solved.drop, solved.quadrature, strict=True)
        return [self.source_v * complex(1.0 - drop, quadrature) for drop, quadrature in pairs]

    def magnitudes(self, solved: OperatingPoint) -> list[float]:
        """What a voltmeter reads at each point. [V]"""
        return [abs(voltage) for voltage in self.voltages(solved)]

    def transfer_ohm(self) -> NDArray[np.float64]:
        """Dense transfer resistances between points, winding included, by numpy. [ohm]"""
        conductance = np.zeros((self.points, self.points))
        for start, end, resistance_ohm in self.spans:
            conductance[[start, end], [start, end]] += 1.0 / resistance_ohm
            conductance[[start, end], [end, start]] -= 1.0 / resistance_ohm
        if self.winding_ohm:
            conductance[0, 0] += 1.0 / self.winding_ohm
            return np.asarray(np.linalg.inv(conductance))
        transfer = np.zeros_like(conductance)
        transfer[1:, 1:] = np.linalg.inv(conductance[1:, 1:])
        return transfer

    def worst_open_circuit_drop(self) -> float:
        """The certificate's xi, written down a second time with a dense inverse. [-]"""
        drawn_a = np.zeros(self.points)
        for point in range(self.points):
            at_point = [load for where, load in self.loads if where == point]
            drawn_a[point] = abs(sum(current_a(load, complex(self.source_v)) for load in at_point))
        return float((self.transfer_ohm() @ drawn_a).max() / self.source_v)

    def loaded_to(self, xi: float) -> Circuit:
        """The loads scaled so that the worst open-circuit drop is `xi`. [-]"""
        return self.scaled(xi / self.worst_open_circuit_drop())

    def loaded_to_at_most(self, xi: float) -> Circuit:
        """The same, but no heavier than it was."""
        return self.scaled(min(1.0, xi / self.worst_open_circuit_drop()))


def current_a(load: Load, voltage: complex) -> complex:
    """What a load draws, its non-active part lagging its voltage by a right angle. [A]"""
    volts = abs(voltage)
    active_a = load.power_w / volts + load.current_a + load.conductance_s * volts
    active_a += load.filament_a * volts**RERATING_EXPONENT
    return complex(active_a, -(load.non_active_var / volts + load.non_active_a)) * voltage / volts


def chain(points: int, _rng: random.Random) -> Pairs:
    """One run."""
    return [(point - 1, point) for point in range(1, points)]


def star(points: int, _rng: random.Random) -> Pairs:
    """Every point on a cable of its own."""
    return [(0, point) for point in range(1, points)]


def tree(points: int, rng: random.Random) -> Pairs:
    """Each point hung on an earlier one."""
    return [(rng.randrange(point), point) for point in range(1, points)]


def mesh(points: int, rng: random.Random) -> Pairs:
    """A tree with some more spans, parallel ones among them."""
    pairs = tree(points, rng)
    for _ in range(rng.randint(1, 1 + points // 2)):
        first, second = rng.sample(range(points), 2) if rng.random() < 0.9 else pairs[0]
        pairs.append((first, second))
    return pairs


def ring(points: int, rng: random.Random) -> Pairs:
    """One run brought back to the terminal."""
    return [*chain(points, rng), (points - 1, 0)]


TREES: tuple[Shape, ...] = (chain, star, tree)
MESHES: tuple[Shape, ...] = (mesh, ring)
KINDS = ("power", "current", "resistance", "filament", "zip", "mixture")
PARTS = {"zip": (1.0, 1.0, 1.0, 0.0), "mixture": (1.0, 1.0, 1.0, 1.0)}
"""Which of power, current, resistance and filament take part, where more than one does."""


def random_load(rng: random.Random, kinds: tuple[str, ...], lag: float) -> Load:
    """A load of 1 to 60 W at 12 V, `lag` var for each watt of its power and current parts."""
    kind, power_w = rng.choice(kinds), rng.uniform(1.0, 60.0)
    parts = PARTS.get(kind, tuple(float(kind == other) for other in KINDS[:4]))
    shares = [part * rng.uniform(0.1, 1.0) for part in parts]
    power, current, resistance, filament = (power_w * share / sum(shares) for share in shares)
    return Load(
        power_w=power,
        current_a=current / 12.0,
        conductance_s=resistance / 144.0,
        filament_a=filament / 12.0 ** (1.0 + RERATING_EXPONENT),
        non_active_var=power * lag,
        non_active_a=current / 12.0 * lag,
    )


class Choices(TypedDict, total=False):
    """Ways in which random circuits may differ."""

    shapes: tuple[Shape, ...]
    kinds: tuple[str, ...]
    non_active: bool
    largest: int
    winding: bool


def random_circuit(rng: random.Random, **choices: Unpack[Choices]) -> Circuit:
    """One circuit of 2 to `largest` points, its terminal included; spans of 5 milliohm to 0.5 ohm."""
    points = rng.randint(2, choices.get("largest", 25))
    pairs = rng.choice(choices.get("shapes", TREES + MESHES))(points, rng)
    spans = tuple(Span(*pair, 10.0 ** rng.uniform(-2.3, -0.3)) for pair in pairs)
    loaded = sorted(rng.sample(range(1, points), rng.randint(1, points - 1)))
    lags = (0.0, 0.3, 0.75, 1.33) if choices.get("non_active") else (0.0,)
    kinds = choices.get("kinds", KINDS)
    loads = tuple((point, random_load(rng, kinds, rng.choice(lags))) for point in loaded)
    has_winding = choices.get("winding", rng.random() < 0.5)
    winding_ohm = 10.0 ** rng.uniform(-2.5, -0.7) if has_winding else 0.0
    return Circuit(points, spans, loads, rng.choice((11.7, 12.0, 12.48, 15.6, 24.0)), winding_ohm)


def random_circuits(seed: int, count: int, **choices: Unpack[Choices]) -> list[Circuit]:
    """`count` circuits, the same at each call."""
    rng = random.Random(seed)
    return [random_circuit(rng, **choices) for _ in range(count)]


RESISTANCES = st.floats(1e-4, 1.0)
POWERS = st.floats(0.0, 60.0)


@st.composite
def loads_of_any_kind(draw: DrawFn, *, non_active: bool = True) -> Load:
    """A load with any mixture of parts, none of them negative."""
    power, current, resistance, filament = (draw(st.one_of(st.just(0.0), POWERS)) for _ in range(4))
    lag = draw(st.sampled_from((0.0, 0.5, 1.33))) if non_active else 0.0
    return Load(
        power + 0.01,
        current / 12.0,
        resistance / 144.0,
        filament / 12.0**1.55,
        power * lag,
        current / 12.0 * lag,
    )


def lowest_voltage_certified(xi: float) -> float:
    """Lower bound of every voltage for ξ < 1/4, by the theorem that the certificate is. [per-unit]"""
    return 0.5 * (1.0 + sqrt(1.0 - 4.0 * xi))


@st.composite
def circuits(
    draw: DrawFn, *, meshed: bool | None = None, non_active: bool = True, highest_xi: float = 0.24
) -> Circuit:
    """A circuit of 2 to 40 points whose worst open-circuit drop is at most `highest_xi`."""
    points = draw(st.integers(2, 40))
    rng = draw(st.randoms(use_true_random=False))
    shapes = TREES + MESHES if meshed is None else MESHES if meshed else TREES
    pairs = draw(st.sampled_from(shapes))(points, rng)
    spans = tuple(Span(*pair, draw(RESISTANCES)) for pair in pairs)
    loaded = draw(st.lists(st.integers(0, points - 1), min_size=1, max_size=12, unique=True))
    if loaded == [0]:
        loaded = [0, points - 1]
    loads = tuple((point, draw(loads_of_any_kind(non_active=non_active))) for point in loaded)
    winding_ohm = draw(st.one_of(st.just(0.0), st.floats(1e-3, 0.3)))
    unscaled = Circuit(points, spans, loads, draw(st.sampled_from((12.0, 12.48, 15.0, 24.0))), winding_ohm)
    return unscaled.loaded_to(draw(st.floats(1e-4, highest_xi)))


def circuits_in_phase(*, meshed: bool | None = None) -> SearchStrategy[Circuit]:
    """Circuits whose loads draw no non-active current."""
    return circuits(meshed=meshed, non_active=False)
