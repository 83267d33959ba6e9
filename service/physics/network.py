"""The circuit as the solver sees it: everything in per-unit of its tap's open-circuit voltage.

All taps of one winding then share one source point, and the winding is one first span of r = R/E² between
that point and the terminal (point 0). A conductance in per-unit has the unit of power, E²/R, and so has a
current, E·I.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot, sqrt
from typing import NamedTuple

from service.physics.elimination import Plan, plan_elimination
from service.physics.load import FILAMENT_EXPONENT, Load

TERMINAL = 0
"""The point that every tap shares in per-unit."""


class Span(NamedTuple):
    """One stretch of cable, lead or splice between two points.

    Parameters
    ----------
    start, end : int
        Points; the current counts as positive from start to end.
    resistance_ohm : float
        Both conductors, out and back; positive. [ohm]
    """

    start: int
    end: int
    resistance_ohm: float


class Draw(NamedTuple):
    """What is drawn at one point, in per-unit of its open-circuit voltage; `Load` has the meaning of each."""

    point: int
    power: float
    current: float
    conductance: float
    filament: float
    non_active_power: float
    non_active_current: float


@dataclass(frozen=True, slots=True)
class Network:
    """A supply, its spans and what is drawn.

    Parameters
    ----------
    open_circuit_v : sequence of float
        Open-circuit voltage of the tap that feeds each point. [V], one per point, point 0 the terminal
    spans : sequence of Span
        Every point must be reachable from point 0.
    source_resistance : float
        The winding, R/E²; zero for an ideal supply. [1/W]
    draws : tuple of Draw
        One per loaded point.
    plan : Plan
        Order of elimination.
    links : tuple of (int, int, float)
        Pairs of points and the conductance between them, parallel spans added up, in slot order. [W]
    conductance : list of float
        The same conductances alone. [W]
    """

    open_circuit_v: Sequence[float]
    spans: Sequence[Span]
    source_resistance: float
    draws: tuple[Draw, ...]
    plan: Plan
    links: tuple[tuple[int, int, float], ...]
    conductance: list[float]

    @property
    def supply_conductance(self) -> float:
        """Conductance of the winding, seen from the terminal; zero where the terminal is held. [W]"""
        return 1.0 / self.source_resistance if self.source_resistance else 0.0

    @property
    def points(self) -> int:
        """Number of points, the terminal included."""
        return len(self.open_circuit_v)

    @property
    def effort(self) -> int:
        """How much one elimination takes: its points, those of loops several times."""
        return self.plan.effort

    @property
    def has_non_active(self) -> bool:
        """Whether any load draws current out of phase with its voltage."""
        return any(draw.non_active_power or draw.non_active_current for draw in self.draws)

    def scaled(self, factor: float) -> Network:
        """The same wiring with every load `factor` times as large. [-]"""
        draws = tuple(Draw(draw.point, *(part * factor for part in draw[1:])) for draw in self.draws)
        return replace(self, draws=draws)

    def open_circuit_draw(self) -> list[float]:
        """Apparent power that each point would draw at no drop. [W], one per point"""
        drawn = [0.0] * self.points
        for point, power, current, conductance, filament, var, var_current in self.draws:
            drawn[point] = hypot(power + current + conductance + filament, var + var_current)
        return drawn


def with_resistances(network: Network, spans: Sequence[Span]) -> Network:
    """The same topology with other resistances; the spans must join the same points in the same order."""
    links = _links(network.open_circuit_v, spans)
    return replace(network, spans=spans, links=links, conductance=[each for _, _, each in links])


def with_loads(network: Network, loads: Sequence[tuple[int, Load]]) -> Network:
    """The same wiring with other loads hanging on it."""
    return replace(network, draws=_draws(network.open_circuit_v, loads))


def build_network(
    open_circuit_v: Sequence[float],
    spans: Sequence[Span],
    loads: Sequence[tuple[int, Load]],
    *,
    source_resistance: float = 0.0,
) -> Network:
    """Put a network together from ohms, volts and loads.

    Parameters
    ----------
    open_circuit_v : sequence of float
        [V], one per point
    spans : sequence of Span
        Resistances positive; points numbered from the terminal (0).
    loads : sequence of (int, Load)
        Loads of one point add.
    source_resistance : float
        Winding or internal resistance over the square of its own open-circuit voltage. [1/W]
    """
    plan = plan_elimination(len(open_circuit_v), [(span.start, span.end) for span in spans])
    links = _links(open_circuit_v, spans)
    draws = _draws(open_circuit_v, loads)
    return Network(
        open_circuit_v, spans, source_resistance, draws, plan, links, [each for _, _, each in links]
    )


def _links(open_circuit_v: Sequence[float], spans: Sequence[Span]) -> tuple[tuple[int, int, float], ...]:
    """Conductance between each pair of joined points, in the order in which the pairs first appear. [W]"""
    conductance: dict[tuple[int, int], float] = {}
    for start, end, resistance_ohm in spans:
        volts = open_circuit_v[end or start]
        pair = (start, end) if start < end else (end, start)
        conductance[pair] = conductance.get(pair, 0.0) + volts * volts / resistance_ohm
    return tuple((a, b, each) for (a, b), each in conductance.items())


def _draws(open_circuit_v: Sequence[float], loads: Sequence[tuple[int, Load]]) -> tuple[Draw, ...]:
    """Add up what is drawn at each point, in per-unit of its open-circuit voltage."""
    drawn: dict[int, list[float]] = {}
    for point, load in loads:
        _add(drawn.setdefault(point, [0.0] * 6), load, open_circuit_v[point])
    return tuple(Draw(point, *parts) for point, parts in drawn.items())


def _add(parts: list[float], load: Load, volts: float) -> None:
    """Add a load to what a point draws, in per-unit of `volts`. [V]"""
    parts[0] += load.power_w
    if load.current_a:
        parts[1] += load.current_a * volts
    if load.conductance_s:
        parts[2] += load.conductance_s * volts * volts
    if load.filament_a:
        parts[3] += load.filament_a * volts ** (1.0 + FILAMENT_EXPONENT)
    parts[4] += load.non_active_var
    if load.non_active_a:
        parts[5] += load.non_active_a * volts


def magnitude(drop: float, quadrature: float) -> float:
    """Voltage at a point from its drop and its quadrature part. [per-unit]"""
    upright = 1.0 - drop
    return sqrt(upright * upright + quadrature * quadrature) if quadrature else upright
