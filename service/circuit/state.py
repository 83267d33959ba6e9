"""A job connected to its supply, laid out, and solved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from service.circuit.graph import build_graph
from service.circuit.job import FixtureSpec, Graph, Job, refuse_too_large
from service.circuit.layout import LaidSpan, Layout
from service.circuit.runs import build_runs, count_loops, count_points
from service.circuit.supply import Feed, connect
from service.circuit.windows import REFERENCE_NOMINAL_V, WindowBounds, bounds_of, verdicts_of
from service.circuit.work import JOINED, LAID, LAID_AGAIN, READ_OFF, charged, count, work_of
from service.physics.kernel.columns import voltages
from service.physics.kernel.plan import Plan
from service.physics.network import Network, build_network
from service.physics.solve import OperatingPoint, operating_point

DEFAULT_TEMPERATURE_C = 20.0


@dataclass(slots=True)
class Connected:
    """A job, what feeds it, and where everything stands."""

    job: Job
    feed: Feed
    layout: Layout
    windows: list[WindowBounds]
    """What each fixture row is judged by, in the order of the layout; the same in every state."""

    def with_spans(self, spans: list[LaidSpan]) -> Connected:
        """The same wiring with other cables in the same places."""
        return Connected(self.job, self.feed, self.layout.with_spans(spans), self.windows)

    def tap_open_circuit_v(self, feeder: int) -> float:
        """Open-circuit voltage of the tap of a feeder. [V]"""
        return self.feed.open_circuit_v[self.feed.tap_of[feeder]]

    def bounds(self, line: FixtureSpec) -> WindowBounds:
        """The window that a fixture line is judged by."""
        return _window_of(line, self.job)


class FixtureVoltages(NamedTuple):
    """Columns with one entry per fixture row: what a limit on voltage is held against. [V], [-]

    A strip has a voltage at its start and one at its far end, of which one is judged; drops are those of the
    start, of the rated tap voltage. The verdict is where the judged one stands against its window.
    """

    start_v: list[float]
    far_v: list[float]
    judged_v: list[float]
    drop_ratio: list[float]
    verdict: list[str]


class Proof(NamedTuple):
    """Why the answer may be believed. [A]"""

    iterations: int
    residual_a: float
    method: str


@dataclass(slots=True)
class SolvedState(Connected):
    """A connected job and the operating point that solves it."""

    network: Network
    point: OperatingPoint

    @property
    def terminal(self) -> complex:
        """Voltage at the terminal. [per-unit]"""
        return complex(1.0 - self.point.drop[0], self.point.quadrature[0])

    @property
    def proof(self) -> Proof:
        """Why the state may be believed."""
        return Proof(self.point.iterations, self.point.residual_a, self.point.method)

    def voltages(self) -> list[float]:
        """Magnitude of the voltage at each point; that of the terminal depends on the tap. [V]"""
        return voltages(self.layout.open_circuit_v, self.point.drop, self.point.quadrature)

    def fixture_voltages(self, voltage_v: list[float]) -> FixtureVoltages:
        """The voltages of every fixture row and nothing else; `voltage_v` is that of each point. [V]"""
        level, feed, fixtures = abs(self.terminal), self.feed, self.layout.fixtures
        count(READ_OFF * len(fixtures))
        terminals_v, taps_v, tap_of = (
            [volts * level for volts in feed.open_circuit_v],
            feed.taps_v,
            feed.tap_of,
        )
        taps = [tap_of[placed.feeder] for placed in fixtures]
        start_v = [
            voltage_v[placed.lamp_point] if placed.lamp_point else terminals_v[tap]
            for placed, tap in zip(fixtures, taps, strict=True)
        ]
        far_v, judged_v = start_v, start_v
        rails = [(row, placed.far_point) for row, placed in enumerate(fixtures) if placed.rail]
        if rails:
            far_v, judged_v = list(start_v), list(start_v)
            for row, far_point in rails:
                far_v[row] = voltage_v[far_point]
                judged_v[row] = self.windows[row].judged_v(start_v[row], far_v[row])
        drop_ratio = [
            (terminals_v[tap] - volts) / taps_v[tap] for volts, tap in zip(start_v, taps, strict=True)
        ]
        return FixtureVoltages(start_v, far_v, judged_v, drop_ratio, verdicts_of(self.windows, judged_v))


def conductor_temperature(job: Job) -> float:
    """Temperature of the cables of a job. [°C]"""
    return DEFAULT_TEMPERATURE_C if job.temperature_c is None else job.temperature_c


def connect_job(job: Job) -> Connected:
    """Connect what leaves the supply to its taps and circuits and lay it from the terminal on.

    Raises
    ------
    JobTooLargeError
        More points or loops than one request may ask for.
    WiringContradictoryError
        A graph that cannot be wired as it is described.
    """
    feed = connect(job.supply, job.feeders())
    temperature_c = conductor_temperature(job)
    if isinstance(job.wiring, Graph):
        return _connected(job, feed, build_graph(job.wiring, feed, temperature_c))
    refuse_too_large(
        points=sum(count_points(run) for run in job.wiring),
        loops=sum(count_loops(run) for run in job.wiring),
    )
    return _connected(job, feed, build_runs(job.wiring, feed, temperature_c))


def standing_as(connected: Connected, job: Job) -> Connected:
    """A connected job as it stands with another supply voltage or warmth: the same wiring in the same places.

    Parameters
    ----------
    connected : Connected
    job : Job
        The same but for what its supply gives and the temperature of its conductors.
    """
    if connected.layout.has_joints:
        return connect_job(job)
    feed = connect(job.supply, job.feeders())
    volts_of = dict(zip(connected.feed.open_circuit_v, feed.open_circuit_v, strict=True))
    layout = connected.layout.standing_at(volts_of, conductor_temperature(job))
    return Connected(job, feed, layout, connected.windows)


def _connected(job: Job, feed: Feed, layout: Layout) -> Connected:
    windows = {id(line): _window_of(line, job) for line in layout.lines}
    return Connected(job, feed, layout, [windows[id(placed.line)] for placed in layout.fixtures])


def _window_of(line: FixtureSpec, job: Job) -> WindowBounds:
    """The window that a fixture line is judged by."""
    nominal_v = REFERENCE_NOMINAL_V if job.nominal_v is None else job.nominal_v
    return bounds_of(line, nominal_v=nominal_v)


def network_of(connected: Connected, plan: Plan | None = None) -> Network:
    """The circuit of a connected job, all on; `plan` is that of the same wiring in another state."""
    layout = connected.layout
    network = build_network(
        layout.open_circuit_v,
        layout.network_spans(),
        layout.loads(all_in_phase=connected.job.all_in_phase),
        source_resistance=connected.feed.source_resistance,
        plan=plan,
    )
    if plan is None:
        count(LAID * network.points + JOINED * (network.effort - network.points))
    else:
        count(LAID_AGAIN * network.points)
    return network


def solve_connected(connected: Connected, network: Network, *, work: int | None = None) -> SolvedState | None:
    """Solve a connected job; None where the wiring cannot carry its load.

    Parameters
    ----------
    connected : Connected
    network : Network
    work : int, optional
        What it is expected to take; left out, that of connecting it with it.

    Raises
    ------
    WorkOverLimitError
        The request has spent the work that it may ask for.
    """
    with charged(work_of(network.effort) if work is None else work):
        point = operating_point(network)
    return None if point is None else solved_state(connected, network, point)


def solved_state(connected: Connected, network: Network, point: OperatingPoint) -> SolvedState:
    """A connected job at an operating point of its network, or of its network with other loads."""
    return SolvedState(connected.job, connected.feed, connected.layout, connected.windows, network, point)
