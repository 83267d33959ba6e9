"""A solved state read off: volts, currents and watts as columns, the supply at its terminals.

One list for each quantity with one entry for each fixture row or span, in the order of the layout; what they
are stands in the layout, and what they are judged by in the windows of the connected job.
"""

from __future__ import annotations

from typing import NamedTuple

from service.circuit.corners import AS_STATED, Corner, at_corner
from service.circuit.job import Job, JobPart
from service.circuit.layout import LaidSpan, PlacedFixture, loads_at
from service.circuit.limits import below_minimum_load
from service.circuit.state import (
    Connected,
    FixtureVoltages,
    SolvedState,
    connect_job,
    network_of,
    solve_connected,
    standing_as,
)
from service.circuit.work import work_of, work_of_again
from service.physics.kernel.columns import drawn, flows
from service.physics.load import FILAMENT_EXPONENT
from service.physics.network import TERMINAL, Network


class SpanColumns(NamedTuple):
    """Of each span as it was laid; positive from its start to its end. [A], [V], [W]"""

    current_a: list[float]
    drop_v: list[float]
    loss_w: list[float]


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
    """The supply at its terminals. [V], [A], [W], [VA]; a share is None where no rating is known.

    A rated output is a rated voltage times a rated current (IEC 61558-1, definitions), and the heat of a
    winding follows its current: `rated_va` is the current of each tap times its rated voltage, in sum.
    `loading_ratio` is the share of the rating that the volt-amperes take, `current_ratio` that of the
    current; `used_ratio` is the larger, by which a supply is judged, and `used_va` that share in VA.
    """

    open_circuit_v: float
    terminal_v: float
    current_a: float
    real_w: float
    apparent_va: float
    rated_va: float | None
    rating_va: float | None
    below_minimum: bool
    taps: tuple[TapResult, ...]
    circuits: tuple[CircuitResult, ...]

    @property
    def loading_ratio(self) -> float | None:
        """Volt-amperes over the rating. [-]"""
        return None if self.rating_va is None else self.apparent_va / self.rating_va

    @property
    def current_ratio(self) -> float | None:
        """Current of the winding over what its rating allows at rated voltage. [-]"""
        return None if self.rated_va is None or self.rating_va is None else self.rated_va / self.rating_va

    @property
    def used_va(self) -> float:
        """What counts against the rating. [VA]"""
        return self.apparent_va if self.rated_va is None else max(self.apparent_va, self.rated_va)

    @property
    def used_ratio(self) -> float | None:
        """What counts against the rating, over it. [-]"""
        return None if self.rating_va is None else self.used_va / self.rating_va


class StateReading(NamedTuple):
    """Everything that one solved state says, worked out once.

    Parameters
    ----------
    state : SolvedState
    voltage_v : list of float
        At each point; that of the terminal depends on the tap. [V]
    volts : FixtureVoltages
        Of each fixture row. [V]
    current_a, real_w : list of float
        Of one fixture of each row. [A], [W]
    spans : SpanColumns
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
    volts: FixtureVoltages
    current_a: list[float]
    real_w: list[float]
    spans: SpanColumns
    feeder_a: list[complex]
    fixture_w: float
    cable_loss_w: float
    supply: SupplyResult

    @property
    def winding_loss_w(self) -> float:
        """Heat in the winding or in the internal resistance. [W]"""
        state = self.state
        resistance = state.network.source_resistance
        if not resistance:
            return 0.0
        fall, turn = state.point.drop[TERMINAL], state.point.quadrature[TERMINAL]
        return (fall * fall + turn * turn) / resistance


def read_off(
    state: SolvedState,
    voltage_v: list[float] | None = None,
    volts: FixtureVoltages | None = None,
    spans: SpanColumns | None = None,
) -> StateReading:
    """Read a solved state off; its network must be that of the spans that were laid.

    The voltages of its points [V] and of its fixtures, and its spans, are read only where they are not known
    yet.
    """
    if voltage_v is None:
        voltage_v = state.voltages()
    if volts is None:
        volts = state.fixture_voltages(voltage_v)
    if spans is None:
        spans = span_columns(state, voltage_v)
    fixtures, feeder_a = state.layout.fixtures, feeder_currents(state)
    current_a, real_w = drawn([placed.line.load for placed in fixtures], volts.start_v, FILAMENT_EXPONENT)
    fixture_w = 0.0
    for row, placed in enumerate(fixtures):
        fixture_w += real_w[row] * placed.pieces
        if placed.rail:
            current_a[row] = _strip_current(state, placed)
    cable_loss_w = sum(spans.loss_w)
    supply = supply_at(state, feeder_a, delivered_w=fixture_w + cable_loss_w)
    return StateReading(
        state, voltage_v, volts, current_a, real_w, spans, feeder_a, fixture_w, cable_loss_w, supply
    )


class BuiltState(NamedTuple):
    """A job as it stands in a corner: connected, and not yet solved, which is charged `work`."""

    corner: Corner
    connected: Connected
    network: Network
    work: int

    def solved(self) -> SolvedState | None:
        """Its operating point; None where the wiring cannot carry its load.

        Raises
        ------
        WorkOverLimitError
            The request has spent the work that it may ask for.
        """
        return solve_connected(self.connected, self.network, work=self.work)

    def read(self) -> StateReading | None:
        """Everything that it says, solved; None where the wiring cannot carry its load.

        Raises
        ------
        WorkOverLimitError
            The request has spent the work that it may ask for.
        """
        state = self.solved()
        return None if state is None else read_off(state)

    def at(self, corner: Corner) -> BuiltState:
        """The same job as it stands in another corner, in the same places and by the same plan."""
        connected = standing_as(self.connected, at_corner(self.connected.job, corner))
        network = network_of(connected, self.network.plan)
        return BuiltState(corner, connected, network, work_of_again(network.effort))


def built(job: Job) -> BuiltState:
    """A job connected as it is stated, all on.

    Raises
    ------
    JobTooLargeError, WiringContradictoryError
        It cannot be laid.
    """
    return built_on(connect_job(job))


def built_on(connected: Connected, corner: Corner = AS_STATED) -> BuiltState:
    """A connected job with all on."""
    network = network_of(connected)
    return BuiltState(corner, connected, network, work_of(network.effort))


def span_columns(state: SolvedState, voltage_v: list[float]) -> SpanColumns:
    """Every span under load; `voltage_v` is that of each point. [V]"""
    layout, point = state.layout, state.point
    return SpanColumns(*flows(layout.spans, layout.open_circuit_v, point.drop, point.quadrature, voltage_v))


def _strip_current(state: SolvedState, placed: PlacedFixture) -> float:
    """Current into one strip: what all of its lumps draw. [A]"""
    drop, across = state.point.drop, state.point.quadrature
    phasors = [
        load.phasor(complex(1.0 - drop[at], across[at]) * placed.open_circuit_v)
        for at, load in loads_at(placed, all_in_phase=state.job.all_in_phase)
    ]
    return abs(sum(phasors)) / placed.pieces


def feeder_currents(state: SolvedState) -> list[complex]:
    """Current that each feeder takes, in phase and in quadrature. [A], one per feeder"""
    drop, across, layout = state.point.drop, state.point.quadrature, state.layout
    taken = [0j] * len(state.feed.tap_of)
    for span in layout.spans:
        if not (span.start and span.end):
            far = span.end or span.start
            flow = complex(drop[far] - drop[TERMINAL], across[TERMINAL] - across[far])
            taken[span.feeder] += flow * layout.open_circuit_v[far] / span.resistance_ohm
    for placed in layout.fixtures:
        if placed.lamp_point == TERMINAL:
            _, load = loads_at(placed, all_in_phase=state.job.all_in_phase)[0]
            taken[placed.feeder] += load.phasor(state.terminal * state.tap_open_circuit_v(placed.feeder))
    return taken


def supply_at(state: SolvedState, taken: list[complex], *, delivered_w: float) -> SupplyResult:
    """The supply at its terminals.

    Parameters
    ----------
    state : SolvedState
    taken : list of complex
        [A], one per feeder
    delivered_w : float
        What fixtures and cable turn into light and heat. [W]
    """
    feed, level, minimum_w = state.feed, abs(state.terminal), state.job.supply.minimum_load_w
    by_tap, by_circuit = [0j] * len(feed.taps_v), [0j] * len(feed.circuits)
    for feeder, current in enumerate(taken):
        by_tap[feed.tap_of[feeder]] += current
        by_circuit[feed.circuit_of[feeder]] += current
    drawn_w = sum(volts * current for volts, current in zip(feed.open_circuit_v, by_tap, strict=True))
    apparent_va = level * abs(drawn_w)
    winding, rated_va = state.job.supply.winding, None
    if winding is not None:
        rated_va = abs(sum(volts * current for volts, current in zip(feed.taps_v, by_tap, strict=True)))
    taps = zip(feed.taps_v, feed.open_circuit_v, by_tap, strict=True)
    circuits = zip(feed.circuits, by_circuit, strict=True)
    return SupplyResult(
        open_circuit_v=feed.open_circuit_v[0],
        terminal_v=feed.open_circuit_v[0] * level,
        current_a=abs(sum(by_tap)),
        real_w=delivered_w,
        apparent_va=apparent_va,
        rated_va=rated_va,
        rating_va=(state.job.supply.rating_w or None) if winding is None else winding.rating_va,
        below_minimum=below_minimum_load(delivered_w, minimum_w),
        taps=tuple(TapResult(rated, volts, volts * level, abs(amps)) for rated, volts, amps in taps),
        circuits=tuple(CircuitResult(fed.name, abs(amps), fed.limit_a) for fed, amps in circuits),
    )


class RunResult(NamedTuple):
    """One run that leaves the supply, branches included. [A], [V], [W]

    `lowest` is its lowest fixture, by its place among the rows.
    """

    subject: JobPart
    current_a: float
    lowest_v: float
    lowest: int | None
    end_v: float
    cable_loss_w: float


def run_states(reading: StateReading) -> list[RunResult]:
    """One row per run that leaves the supply; its lowest voltage is that of its lowest fixture or its end."""
    state, voltage_v, taken, far_v = reading.state, reading.voltage_v, reading.feeder_a, reading.volts.far_v
    leaders = state.layout.leaders
    lowest: dict[int, int] = {}
    loss_w, current = [0.0] * len(taken), [0j] * len(taken)
    for index, placed in enumerate(state.layout.fixtures):
        leader = leaders[placed.feeder]
        if leader not in lowest or far_v[index] < far_v[lowest[leader]]:
            lowest[leader] = index
    for span, loss in zip(state.layout.spans, reading.spans.loss_w, strict=True):
        loss_w[leaders[span.feeder]] += loss
    for feeder, amps in enumerate(taken):
        current[leaders[feeder]] += amps
    rows = []
    for end in state.layout.run_ends():
        feeder = end.feeder
        end_v = voltage_v[end.point] if end.point else abs(state.terminal) * state.tap_open_circuit_v(feeder)
        low = lowest.get(feeder)
        lowest_v = end_v if low is None else far_v[low]
        rows.append(RunResult(end.subject, abs(current[feeder]), lowest_v, low, end_v, loss_w[feeder]))
    return rows


def whole_spans(reading: StateReading) -> tuple[list[LaidSpan], SpanColumns]:
    """Every span under load, the stretches of each strip in one: from its start to its far end."""
    laid, columns = reading.state.layout.spans, reading.spans
    if not any(span.rail for span in laid):
        return laid, columns
    fixtures = zip(reading.state.layout.fixtures, reading.current_a, strict=True)
    into_a = {placed.far_point: amps * placed.pieces for placed, amps in fixtures if placed.rail}
    spans, whole = list[LaidSpan](), SpanColumns([], [], [])
    for span, current_a, drop_v, loss_w in zip(laid, *columns, strict=True):
        last = spans[-1] if spans else None
        if span.rail and last is not None and last.rail and last.end == span.start:
            spans[-1] = last.joined_with(span)
            whole.drop_v[-1] += drop_v
            whole.loss_w[-1] += loss_w
        else:
            spans.append(span)
            whole.current_a.append(current_a)
            whole.drop_v.append(drop_v)
            whole.loss_w.append(loss_w)
    for row, span in enumerate(spans):
        if span.rail:
            whole.current_a[row] = into_a[span.end]
    return spans, whole


class Margin(NamedTuple):
    """By what common factor the loads could grow. [-]"""

    at_least: float | None = None
    exact: float | None = None
    first_out: tuple[float, JobPart] | None = None
    absent_because: str | None = None


class EndResult(NamedTuple):
    """The far end of a run. [V], [-], [A], [W]; `error_v` is what lumps may be wrong by. [V]"""

    end_v: float
    verdict: str
    terminal_v: float
    drop_ratio: float
    current_a: float
    cable_loss_w: float
    error_v: float | None = None
