"""A job connected to its supply, solved, and read off: volts, currents, watts."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import NamedTuple

from service.circuit.graph import lay_graph
from service.circuit.job import FixtureSpec, Graph, Job, JobPart, refuse_too_large
from service.circuit.layout import (
    LaidSpan,
    Layout,
    PlacedFixture,
    loads_at,
)
from service.circuit.limits import below_minimum_load, over_drop
from service.circuit.runs import count_loops, count_points, lay_runs
from service.circuit.supply import Feed, connect
from service.circuit.windows import REFERENCE_NOMINAL_V, WindowBounds, bounds_of
from service.circuit.work import JOINED, LAID, READ_OFF, charged, count, work_of
from service.physics.network import TERMINAL, Network, build_network, magnitude
from service.physics.solve import OperatingPoint, solve


def with_strips_joined(spans: list[SpanResult], fixtures: list[FixtureResult]) -> list[SpanResult]:
    """The rows of spans, the stretches of each strip in one: from its start to its far end."""
    into_a = {row.placed.far_point: row.current_a * row.placed.pieces for row in fixtures if row.placed.rail}
    joined: list[SpanResult] = []
    for span in spans:
        last = joined[-1] if joined else None
        if span.laid.rail and last is not None and last.laid.rail and last.laid.end == span.laid.start:
            joined[-1] = _joined(last, span)
        else:
            joined.append(span)
    return [row._replace(current_a=into_a[row.laid.end]) if row.laid.rail else row for row in joined]


def _joined(first: SpanResult, second: SpanResult) -> SpanResult:
    """Two stretches of one strip in a row."""
    laid = first.laid._replace(
        end=second.laid.end,
        resistance_ohm=first.laid.resistance_ohm + second.laid.resistance_ohm,
        length_m=first.laid.length_m + second.laid.length_m,
    )
    return SpanResult(laid, first.current_a, first.drop_v + second.drop_v, first.loss_w + second.loss_w)


def run_states(reading: StateReading) -> list[RunResult]:
    """One row per run that leaves the supply; its lowest voltage is that of its lowest fixture or its end."""
    state, voltage_v, taken = reading.state, reading.voltage_v, reading.feeder_a
    leaders = state.layout.leaders
    lowest: dict[int, FixtureResult] = {}
    loss_w, current = [0.0] * len(taken), [0j] * len(taken)
    for row in reading.fixtures:
        leader = leaders[row.placed.feeder]
        if leader not in lowest or row.far_v < lowest[leader].far_v:
            lowest[leader] = row
    for span in reading.spans:
        loss_w[leaders[span.laid.feeder]] += span.loss_w
    for feeder, amps in enumerate(taken):
        current[leaders[feeder]] += amps
    rows = []
    for end in state.layout.run_ends():
        feeder = end.feeder
        end_v = voltage_v[end.point] if end.point else abs(state.terminal) * state.tap_open_circuit_v(feeder)
        low = lowest.get(feeder)
        lowest_v = end_v if low is None else low.far_v
        rows.append(RunResult(end.subject, abs(current[feeder]), lowest_v, low, end_v, loss_w[feeder]))
    return rows


DEFAULT_TEMPERATURE_C = 20.0


@dataclass(slots=True)
class Connected:
    """A job, what feeds it, and where everything stands."""

    job: Job
    feed: Feed
    layout: Layout
    windows: list[WindowBounds]
    """What each fixture row is judged by, in the order of the layout; the same in every state."""

    def tap_open_circuit_v(self, feeder: int) -> float:
        """Open-circuit voltage of the tap of a feeder. [V]"""
        return self.feed.open_circuit_v[self.feed.tap_of[feeder]]

    def bounds(self, line: FixtureSpec) -> WindowBounds:
        """The window that a fixture line is judged by."""
        return _window_of(line, self.job)


class FixtureVoltages(NamedTuple):
    """Columns with one entry per fixture row: what a limit on voltage is held against. [V], [-]

    A strip has a voltage at its start and one at its far end, of which one is judged; drops are those of the
    start, of the rated tap voltage.
    """

    start_v: list[float]
    far_v: list[float]
    judged_v: list[float]
    drop_ratio: list[float]


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
        return [
            volts * magnitude(drop, across)
            for volts, drop, across in zip(
                self.layout.open_circuit_v, self.point.drop, self.point.quadrature, strict=True
            )
        ]

    def spans(self, voltage_v: list[float]) -> list[SpanResult]:
        """Every span under load; `voltage_v` is that of each point. [V]"""
        drop, across = self.point.drop, self.point.quadrature
        level = abs(self.terminal)
        rows = []
        for laid in self.layout.spans:
            start, end, ohm = laid.start, laid.end, laid.resistance_ohm
            tap_v = self.layout.open_circuit_v[end or start]
            fall, turn = drop[end] - drop[start], across[end] - across[start]
            current_a = tap_v * (sqrt(fall * fall + turn * turn) if turn else abs(fall)) / ohm
            start_v = voltage_v[start] if start else level * tap_v
            end_v = voltage_v[end] if end else level * tap_v
            signed_a = current_a if fall >= 0.0 else -current_a
            loss_w = current_a * current_a * ohm
            rows.append(SpanResult(laid, signed_a, start_v - end_v, loss_w))
        return rows

    def fixture_voltages(self, voltage_v: list[float]) -> FixtureVoltages:
        """The voltages of every fixture row and nothing else; `voltage_v` is that of each point. [V]"""
        level, feed = abs(self.terminal), self.feed
        count(READ_OFF * len(self.layout.fixtures))
        columns = FixtureVoltages([], [], [], [])
        for placed, window in zip(self.layout.fixtures, self.windows, strict=True):
            tap = feed.tap_of[placed.feeder]
            terminal_v = feed.open_circuit_v[tap] * level
            start_v = voltage_v[placed.lamp_point] if placed.lamp_point else terminal_v
            far_v = voltage_v[placed.far_point] if placed.rail else start_v
            columns.start_v.append(start_v)
            columns.far_v.append(far_v)
            columns.judged_v.append(window.judged_v(start_v, far_v))
            columns.drop_ratio.append((terminal_v - start_v) / feed.taps_v[tap])
        return columns

    def fixtures(self, voltage_v: list[float]) -> list[FixtureResult]:
        """Every fixture row under load; `voltage_v` is that of each point. [V]"""
        level, limit_ratio = abs(self.terminal), self.job.maximum_drop_ratio
        rows = []
        columns = self.fixture_voltages(voltage_v)
        facts = zip(self.layout.fixtures, self.windows, *columns, strict=True)
        for placed, bounds, lamp_v, far_v, judged_v, drop_ratio in facts:
            line, tap = placed.line, self.feed.tap_of[placed.feeder]
            open_circuit_v = self.feed.open_circuit_v[tap]
            terminal_v = open_circuit_v * level
            rows.append(
                FixtureResult(
                    placed=placed,
                    subject=placed.subject,
                    voltage_v=judged_v,
                    splice_v=voltage_v[placed.cable_point] if placed.cable_point else terminal_v,
                    cable_drop_v=terminal_v - lamp_v,
                    total_drop_v=open_circuit_v - lamp_v,
                    drop_ratio=drop_ratio,
                    current_a=self._strip_current(placed) if placed.rail else line.load.rms_current(lamp_v),
                    real_w=line.load.real_power(lamp_v),
                    verdict=bounds.verdict(judged_v),
                    drop_over=over_drop(drop_ratio, limit_ratio),
                    start_v=lamp_v,
                    far_v=far_v,
                    bounds=bounds,
                )
            )
        return rows

    def _strip_current(self, placed: PlacedFixture) -> float:
        """Current into one strip: what all of its lumps draw. [A]"""
        lumps = loads_at(placed, all_in_phase=self.job.all_in_phase)
        phasors = [
            load.phasor(complex(1.0 - self.point.drop[at], self.point.quadrature[at]) * placed.open_circuit_v)
            for at, load in lumps
        ]
        return abs(sum(phasors)) / placed.pieces

    def feeder_currents(self) -> list[complex]:
        """Current that each feeder takes, in phase and in quadrature. [A], one per feeder"""
        drop, across = self.point.drop, self.point.quadrature
        taken = [0j] * len(self.feed.tap_of)
        for laid in self.layout.spans:
            if TERMINAL in {laid.start, laid.end}:
                far = laid.end or laid.start
                flow = complex(drop[far] - drop[TERMINAL], across[TERMINAL] - across[far])
                taken[laid.feeder] += flow * self.layout.open_circuit_v[far] / laid.resistance_ohm
        for placed in self.layout.fixtures:
            if placed.lamp_point == TERMINAL:
                _, load = loads_at(placed, all_in_phase=self.job.all_in_phase)[0]
                taken[placed.feeder] += load.phasor(self.terminal * self.tap_open_circuit_v(placed.feeder))
        return taken

    def supply(self, taken: list[complex], *, delivered_w: float) -> SupplyResult:
        """The supply at its terminals.

        Parameters
        ----------
        taken : list of complex
            [A], one per feeder
        delivered_w : float
            What fixtures and cable turn into light and heat. [W]
        """
        feed, level, minimum_w = self.feed, abs(self.terminal), self.job.supply.minimum_load_w
        by_tap, by_circuit = [0j] * len(feed.taps_v), [0j] * len(feed.circuits)
        for feeder, current in enumerate(taken):
            by_tap[feed.tap_of[feeder]] += current
            by_circuit[feed.circuit_of[feeder]] += current
        drawn_w = sum(volts * current for volts, current in zip(feed.open_circuit_v, by_tap, strict=True))
        apparent_va = level * abs(drawn_w)
        taps = zip(feed.taps_v, feed.open_circuit_v, by_tap, strict=True)
        circuits = zip(feed.circuits, by_circuit, strict=True)
        return SupplyResult(
            open_circuit_v=feed.open_circuit_v[0],
            terminal_v=feed.open_circuit_v[0] * level,
            current_a=abs(sum(by_tap)),
            real_w=delivered_w,
            apparent_va=apparent_va,
            loading_ratio=self._loading(apparent_va),
            below_minimum=below_minimum_load(delivered_w, minimum_w),
            taps=tuple(TapResult(rated, volts, volts * level, abs(amps)) for rated, volts, amps in taps),
            circuits=tuple(CircuitResult(fed.name, abs(amps), fed.limit_a) for fed, amps in circuits),
        )

    def _loading(self, apparent_va: float) -> float | None:
        """Share of the rating that is drawn, where the rating is known. [-]"""
        supply = self.job.supply
        if supply.winding is not None:
            return apparent_va / supply.winding.rating_va
        return apparent_va / supply.rating_w if supply.rating_w else None

    def winding_loss_w(self) -> float:
        """Heat in the winding or in the internal resistance. [W]"""
        resistance = self.network.source_resistance
        if not resistance:
            return 0.0
        fall, turn = self.point.drop[TERMINAL], self.point.quadrature[TERMINAL]
        return (fall * fall + turn * turn) / resistance


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
    temperature_c = DEFAULT_TEMPERATURE_C if job.temperature_c is None else job.temperature_c
    if isinstance(job.wiring, Graph):
        return _connected(job, feed, lay_graph(job.wiring, feed, temperature_c))
    refuse_too_large(
        points=sum(count_points(run) for run in job.wiring),
        loops=sum(count_loops(run) for run in job.wiring),
    )
    return _connected(job, feed, lay_runs(job.wiring, feed, temperature_c))


def _connected(job: Job, feed: Feed, layout: Layout) -> Connected:
    return Connected(job, feed, layout, [_window_of(placed.line, job) for placed in layout.fixtures])


def _window_of(line: FixtureSpec, job: Job) -> WindowBounds:
    """The window that a fixture line is judged by."""
    nominal_v = REFERENCE_NOMINAL_V if job.nominal_v is None else job.nominal_v
    return bounds_of(line, nominal_v=nominal_v)


def network_of(connected: Connected) -> Network:
    """The circuit of a connected job, all on."""
    layout = connected.layout
    network = build_network(
        layout.open_circuit_v,
        layout.network_spans(),
        layout.loads(all_in_phase=connected.job.all_in_phase),
        source_resistance=connected.feed.source_resistance,
    )
    count(LAID * network.points + JOINED * (network.effort - network.points))
    return network


def solve_connected(connected: Connected, network: Network) -> SolvedState:
    """Solve a connected job.

    Raises
    ------
    NoOperatingPointError
        The wiring cannot carry the load.
    WorkOverLimitError
        The request has spent the work that it may ask for.
    """
    with charged(work_of(network.effort)):
        point = solve(network)
    return SolvedState(connected.job, connected.feed, connected.layout, connected.windows, network, point)


def solve_job(job: Job) -> SolvedState:
    """Connect, lay and solve a job, all on.

    Raises
    ------
    NoOperatingPointError
        The wiring cannot carry the load.
    JobTooLargeError, WiringContradictoryError
        It cannot be laid.
    """
    connected = connect_job(job)
    return solve_connected(connected, network_of(connected))


class StateReading(NamedTuple):
    """Everything that one solved state says, worked out once.

    Parameters
    ----------
    state : SolvedState
    voltage_v : list of float
        At each point; that of the terminal depends on the tap. [V]
    fixtures : list of FixtureResult
    spans : list of SpanResult
        As laid, each stretch of a strip by itself.
    feeder_a : list of complex
        In phase and in quadrature. [A], one per feeder
    fixture_w, cable_loss_w : float
        What fixtures turn into light and heat, and what cables turn into heat. [W]
    supply : SupplyResult
        At the terminals.
    """

    state: SolvedState
    voltage_v: list[float]
    fixtures: list[FixtureResult]
    spans: list[SpanResult]
    feeder_a: list[complex]
    fixture_w: float
    cable_loss_w: float
    supply: SupplyResult


def read_off(state: SolvedState) -> StateReading:
    """Read a solved state off; its network must be that of the spans that were laid."""
    voltage_v = state.voltages()
    fixtures, spans, feeder_a = state.fixtures(voltage_v), state.spans(voltage_v), state.feeder_currents()
    fixture_w = sum(row.real_w * row.placed.pieces for row in fixtures)
    cable_loss_w = sum(span.loss_w for span in spans)
    supply = state.supply(feeder_a, delivered_w=fixture_w + cable_loss_w)
    return StateReading(state, voltage_v, fixtures, spans, feeder_a, fixture_w, cable_loss_w, supply)


class FixtureResult(NamedTuple):
    """One fixture row under load. [V], [A] and [W] of one fixture; the ratio is of the rated tap voltage.

    A strip has a voltage at its start and one at its far end; `voltage_v` is the one that is judged, and
    drops are those of the start. `bounds` are what it is judged by.
    """

    placed: PlacedFixture
    subject: JobPart
    voltage_v: float
    splice_v: float
    cable_drop_v: float
    total_drop_v: float
    drop_ratio: float
    current_a: float
    real_w: float
    verdict: str
    drop_over: bool
    start_v: float
    far_v: float
    bounds: WindowBounds


class SpanResult(NamedTuple):
    """One span under load; positive from its start to its end. [A], [V], [W]"""

    laid: LaidSpan
    current_a: float
    drop_v: float
    loss_w: float


class RunResult(NamedTuple):
    """One run that leaves the supply, branches included; `lowest` is its lowest fixture. [A], [V], [W]"""

    subject: JobPart
    current_a: float
    lowest_v: float
    lowest: FixtureResult | None
    end_v: float
    cable_loss_w: float


class TapResult(NamedTuple):
    """One tap in use. [V], [A]"""

    rated_v: float
    open_circuit_v: float
    terminal_v: float
    current_a: float


class CircuitResult(NamedTuple):
    """One circuit, and the limit of its device where that is known. [A]"""

    name: str
    current_a: float
    limit_a: float | None


class SupplyResult(NamedTuple):
    """The supply at its terminals. [V], [A], [W], [VA]; loading is None where no rating is known."""

    open_circuit_v: float
    terminal_v: float
    current_a: float
    real_w: float
    apparent_va: float
    loading_ratio: float | None
    below_minimum: bool
    taps: tuple[TapResult, ...]
    circuits: tuple[CircuitResult, ...]


class Margin(NamedTuple):
    """By what common factor the loads could grow. [-]"""

    at_least: float | None = None
    exact: float | None = None
    first_out: tuple[float, JobPart] | None = None
    absent_because: str | None = None


class Proof(NamedTuple):
    """Why the answer may be believed. [A]"""

    iterations: int
    residual_a: float
    method: str


class EndResult(NamedTuple):
    """The far end of a run. [V], [-], [A], [W]; `error_v` is what lumps may be wrong by. [V]"""

    end_v: float
    verdict: str
    terminal_v: float
    drop_ratio: float
    current_a: float
    cable_loss_w: float
    error_v: float | None = None
