"""The circuit as the solver sees it: everything in per-unit of its tap's open-circuit voltage.

All taps of one winding then share one source point, and the winding is one first span of r = R/E² between
that point and the terminal (point 0). A conductance in per-unit has the unit of power, E²/R, and so has a
current, E·I.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import sqrt
from typing import NamedTuple

from service.physics.elimination import effort_of
from service.physics.kernel.draws import Draws
from service.physics.kernel.plan import Plan
from service.physics.kernel.vectors import Reals
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


class Network(NamedTuple):
    """A supply, its spans and what is drawn.

    Parameters
    ----------
    open_circuit_v : sequence of float
        Open-circuit voltage of the tap that feeds each point. [V], one per point, point 0 the terminal
    spans : sequence of Span
        Every point must be reachable from point 0.
    source_resistance : float
        The winding, R/E²; zero for an ideal supply. [1/W]
    demand : Draws
        What is drawn at each loaded point.
    plan : Plan
        Order of elimination.
    conductance : vector
        Conductance between each pair of joined points, parallel spans added up. [W], one per link of the plan
    """

    open_circuit_v: Sequence[float]
    spans: Sequence[Span]
    source_resistance: float
    demand: Draws
    plan: Plan
    conductance: Reals

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
        return effort_of(self.plan)

    @property
    def draws(self) -> list[Draw]:
        """What is drawn, one per loaded point, in the order in which they were first named."""
        return [Draw(point, *parts) for point, parts in self.demand.rows()]

    @property
    def links(self) -> list[tuple[int, int, float]]:
        """Pairs of points and the conductance between them, in the order of links. [W]"""
        pairs = zip(self.plan.joined(), self.conductance, strict=True)
        return [(a, b, conductance) for (a, b), conductance in pairs]

    @property
    def has_non_active(self) -> bool:
        """Whether any load draws current out of phase with its voltage."""
        return self.demand.turned

    def scaled(self, factor: float) -> Network:
        """The same wiring with every load `factor` times as large. [-]"""
        return self._replace(demand=self.demand.scaled(factor))

    def open_circuit_draw(self) -> list[float]:
        """Apparent power that each point would draw at no drop. [W], one per point"""
        return self.demand.undropped()


def with_resistances(network: Network, spans: Sequence[Span]) -> Network:
    """The same topology with other resistances; the spans must join the same points in the same order."""
    conductance = network.plan.conductances(network.open_circuit_v, spans)
    return network._replace(spans=spans, conductance=conductance)


def with_some_resistances(network: Network, ohms: Mapping[int, float]) -> Network:
    """The same with other resistances in some spans, by index. [ohm]"""
    spans = list(network.spans)
    for index, ohm in ohms.items():
        start, end, _ = spans[index]
        spans[index] = Span(start, end, ohm)
    conductance = network.plan.changed(network.conductance, network.open_circuit_v, spans, list(ohms))
    return network._replace(spans=spans, conductance=conductance)


def with_loads(network: Network, loads: Sequence[tuple[int, Load]]) -> Network:
    """The same wiring with other loads hanging on it."""
    return network._replace(demand=_demand(network.plan, network.open_circuit_v, loads))


def build_network(
    open_circuit_v: Sequence[float],
    spans: Sequence[Span],
    loads: Sequence[tuple[int, Load]],
    *,
    source_resistance: float = 0.0,
    plan: Plan | None = None,
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
    plan : Plan, optional
        That of spans that join the same points in the same order.
    """
    if plan is None:
        plan = Plan(len(open_circuit_v), spans)
    conductance = plan.conductances(open_circuit_v, spans)
    demand = _demand(plan, open_circuit_v, loads)
    return Network(open_circuit_v, spans, source_resistance, demand, plan, conductance)


def _demand(plan: Plan, open_circuit_v: Sequence[float], loads: Sequence[tuple[int, Load]]) -> Draws:
    """Add up what is drawn at each point, in per-unit of its open-circuit voltage."""
    demand = Draws(plan, FILAMENT_EXPONENT, len(loads))
    demand.add_up(open_circuit_v, loads)
    return demand


def magnitude(drop: float, quadrature: float) -> float:
    """Voltage at a point from its drop and its quadrature part. [per-unit]"""
    upright = 1.0 - drop
    return sqrt(upright * upright + quadrature * quadrature) if quadrature else upright
