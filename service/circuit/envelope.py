"""The extremes of each quantity over the corners, and the corner that gives each."""

from __future__ import annotations

from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import NamedTuple

from service.circuit.corners import BY_RUN, INDIVIDUALLY, Corner, corners_of
from service.circuit.job import Corners, FixtureSpec, JobPart
from service.circuit.layout import PlacedFixture, loads_at
from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.circuit.reading import BuiltState, StateReading, SupplyResult, feeder_currents
from service.circuit.state import Connected, SolvedState, solve_connected
from service.circuit.work import LAMP_ALONE, WORK_ALONE, Budget, charge, count, work_of, work_of_again
from service.physics.certificate import short_circuit_resistances
from service.physics.network import Network, Span, build_network, magnitude, with_loads
from service.physics.solve import operating_point


class Extreme(NamedTuple):
    """A value in its SI unit and the corner that gives it."""

    value: float
    corner: Corner


@dataclass(slots=True)
class Range:
    """The lowest and the highest of one quantity so far; None before the first value."""

    lowest: Extreme | None = None
    highest: Extreme | None = None

    def add(self, value: float, corner: Corner) -> None:
        """Take one more value into the range."""
        if self.lowest is None or value < self.lowest.value:
            self.lowest = Extreme(value, corner)
        if self.highest is None or value > self.highest.value:
            self.highest = Extreme(value, corner)


@dataclass(slots=True)
class EnvelopeResult:
    """Extremes over every corner.

    Parameters
    ----------
    fixtures : dict
        Voltage of each fixture row. [V], by its subject
    circuits : dict
        Current of each circuit. [A], by its name
    open_circuit_v, terminal_v, apparent_va : Range
        Of the supply, on the rated secondary. [V], [V], [VA]
    collapsed : list of (Corner, Connected)
        Corners without an operating point; they give no values.
    states : list of (Corner, StateReading)
        The solved corners with all on, for whoever judges them.
    lightest : list of Connected
        Where light loads were looked at.
    """

    fixtures: dict[JobPart, Range] = field(default_factory=dict)
    circuits: dict[str, Range] = field(default_factory=dict)
    open_circuit_v: Range = field(default_factory=Range)
    terminal_v: Range = field(default_factory=Range)
    apparent_va: Range = field(default_factory=Range)
    collapsed: list[tuple[Corner, Connected]] = field(default_factory=list)
    states: list[tuple[Corner, StateReading]] = field(default_factory=list)
    lightest: list[Connected] = field(default_factory=list)

    def take_fixture(self, subject: JobPart, start_v: float, far_v: float, corner: Corner) -> None:
        """Take the voltages of a fixture that is on. [V]"""
        extremes = self.fixtures.setdefault(subject, Range())
        extremes.add(start_v, corner)
        extremes.add(far_v, corner)

    def light_loads(self) -> Iterator[tuple[Connected, FixtureSpec, JobPart, Extreme]]:
        """Fixtures whose highest voltage comes with little else on."""
        if not self.lightest:
            return
        connected = self.lightest[-1]
        for placed in connected.layout.fixtures:
            subject = placed.subject
            highest = self.fixtures[subject].highest if subject in self.fixtures else None
            if highest is not None and highest.corner.on is not None:
                yield connected, placed.line, subject, highest

    def take_supply(self, supply: SupplyResult, corner: Corner) -> None:
        """Take the state of the supply."""
        self.terminal_v.add(supply.terminal_v, corner)
        self.apparent_va.add(supply.apparent_va, corner)
        for circuit in supply.circuits:
            self.circuits.setdefault(circuit.name, Range()).add(circuit.current_a, corner)


def envelope_of(stated: BuiltState, corners: Corners) -> EnvelopeResult:
    """Solve every corner of a job that is built as it is stated.

    Raises
    ------
    WorkOverLimitError
        The corners need more work than one request may ask for.
    """
    envelope, budget = EnvelopeResult(), Budget(MAXIMUM_REQUEST_WORK)
    for built in map(stated.at, corners_of(corners)):
        corner, connected, network = built.corner, built.connected, built.network
        budget.spend(work_of(network.points) + light_work(connected, network, corner, corners.switching))
        envelope.open_circuit_v.add(connected.feed.open_circuit_v[0], corner)
        _take_all_on(envelope, built)
        take_light_loads(envelope, connected, network, corner, corners.switching)
    return envelope


def take_light_loads(
    envelope: EnvelopeResult, connected: Connected, network: Network, corner: Corner, switching: str
) -> None:
    """Take what the switching allows alone, in a corner where that may give the highest voltage."""
    if corner.is_light(switching):
        take_alone(envelope, connected, network, (corner, switching), set(connected.layout.leaders))
        _take_circuits(envelope, connected, network, corner)


def take_alone(
    envelope: EnvelopeResult,
    connected: Connected,
    network: Network,
    switched: tuple[Corner, str],
    leaders: AbstractSet[int],
) -> None:
    """Take what the switching allows alone in some of the parts that are fed by themselves.

    With nothing else on such a part knows of the others neither their cables nor their taps.
    """
    corner, switching = switched
    envelope.lightest.append(connected)
    take = _take_by_run if switching == BY_RUN else _take_individually
    take(envelope, connected, network, corner, leaders)


def light_work(connected: Connected, network: Network, corner: Corner, switching: str) -> int:
    """Work of every light load that is looked at in a corner."""
    if not corner.is_light(switching):
        return 0
    circuits = len(_circuits_alone(connected)) * work_of(network.points)
    return circuits + alone_work(connected, network, switching, set(connected.layout.leaders))


def alone_work(connected: Connected, network: Network, switching: str, leaders: AbstractSet[int]) -> int:
    """Work of what is looked at alone in some parts."""
    if switching == INDIVIDUALLY:
        return work_of(network.points) + work_alone(connected, leaders)
    return len(leaders) * work_of(network.points)


def work_alone(connected: Connected, leaders: AbstractSet[int]) -> int:
    """Work of each fixture of some parts alone on."""
    own = connected.layout.leaders
    return sum(
        WORK_ALONE + len(placed.rail) for placed in connected.layout.fixtures if own[placed.feeder] in leaders
    )


def _take_all_on(envelope: EnvelopeResult, built: BuiltState) -> None:
    corner, connected, reading = built.corner, built.connected, built.read()
    if reading is None:
        envelope.collapsed.append((corner, connected))
        return
    envelope.states.append((corner, reading))
    fixtures, volts = connected.layout.fixtures, reading.volts
    for placed, start_v, far_v in zip(fixtures, volts.start_v, volts.far_v, strict=True):
        envelope.take_fixture(placed.subject, start_v, far_v, corner)
    envelope.take_supply(reading.supply, corner)


def _take_by_run(
    envelope: EnvelopeResult,
    connected: Connected,
    network: Network,
    corner: Corner,
    leaders: AbstractSet[int],
) -> None:
    """Each of some parts of the wiring that are fed by themselves, alone on."""
    layout = connected.layout
    subjects = {end.feeder: end.subject for end in layout.run_ends() if end.feeder in leaders}
    for leader, subject in subjects.items():
        on = [layout.leaders[placed.feeder] == leader for placed in layout.fixtures]
        state = _lit(connected, network, on) if any(on) else None
        if state is not None:
            alone = corner._replace(on=subject)
            volts = state.fixture_voltages(state.voltages())
            for placed, lit, start_v, far_v in zip(
                layout.fixtures, on, volts.start_v, volts.far_v, strict=True
            ):
                if lit:
                    envelope.take_fixture(placed.subject, start_v, far_v, alone)
            envelope.terminal_v.add(connected.feed.open_circuit_v[0] * abs(state.terminal), alone)


def _take_circuits(envelope: EnvelopeResult, connected: Connected, network: Network, corner: Corner) -> None:
    """Each circuit alone on: a filament on it draws most with nothing else on the winding."""
    feed, layout = connected.feed, connected.layout
    for circuit in _circuits_alone(connected):
        on = [feed.circuit_of[placed.feeder] == circuit for placed in layout.fixtures]
        state = _lit(connected, network, on)
        if state is not None:
            subject = connected.job.feeders()[feed.circuit_of.index(circuit)].subject
            taken = zip(feed.circuit_of, feeder_currents(state), strict=True)
            current_a = abs(sum(amps for own, amps in taken if own == circuit))
            extremes = envelope.circuits.setdefault(feed.circuits[circuit].name, Range())
            extremes.add(current_a, corner._replace(on=subject))


def _circuits_alone(connected: Connected) -> list[int]:
    """The circuits that the winding couples, by index; none where there is one, or no winding."""
    feed = connected.feed
    used = {feed.circuit_of[placed.feeder] for placed in connected.layout.fixtures}
    return sorted(used) if len(used) > 1 and feed.source_resistance else []


def _lit(connected: Connected, network: Network, on: list[bool]) -> SolvedState | None:
    """The state with only some fixtures on; None where even that cannot be carried."""
    loads = connected.layout.loads_by_fixture(all_in_phase=connected.job.all_in_phase)
    lit = [load for each, lit in zip(loads, on, strict=True) if lit for load in each]
    return solve_connected(connected, with_loads(network, lit), work=work_of_again(network.effort))


def _take_individually(
    envelope: EnvelopeResult,
    connected: Connected,
    network: Network,
    corner: Corner,
    leaders: AbstractSet[int],
) -> None:
    """Each fixture row of some parts alone on: its load behind the resistance from the source to its lamp."""
    charge(work_alone(connected, leaders))
    resistance = short_circuit_resistances(network)
    for placed in connected.layout.fixtures:
        if connected.layout.leaders[placed.feeder] not in leaders:
            continue
        count(LAMP_ALONE)
        subject, volts = placed.subject, placed.open_circuit_v
        ohm = resistance[placed.lamp_point] * volts * volts
        extremes, alone = envelope.fixtures.setdefault(subject, Range()), corner._replace(on=subject)
        # The drop of one lamp lies along one way, and the winding has its share of it as of the ohms.
        share = network.source_resistance / resistance[placed.lamp_point] if ohm > 0.0 else 0.0
        found = _alone(placed, ohm, share, all_in_phase=connected.job.all_in_phase)
        if found is not None:
            start, far, terminal = found
            extremes.add(volts * start, alone)
            extremes.add(volts * far, alone)
            envelope.terminal_v.add(connected.feed.open_circuit_v[0] * terminal, alone)


def _alone(
    placed: PlacedFixture, ohm: float, share: float, *, all_in_phase: bool
) -> tuple[float, float, float] | None:
    """Voltage at the lamp, at the far end of a strip, and at the terminal, with nothing else on. [per-unit]

    None where what lies before it [ohm], of which the winding is a share [-], cannot carry even this.
    """
    volts, rail = placed.open_circuit_v, len(placed.rail)
    if ohm <= 0.0 and not rail:
        return 1.0, 1.0, 1.0
    lumps = loads_at(placed, all_in_phase=all_in_phase)
    stretch_ohm = placed.line.rail_ohm / placed.pieces / rail if rail else 0.0
    first = 1 if ohm > 0.0 else 0
    spans = [Span(0, 1, ohm)] if first else []
    spans += [Span(first + index, first + index + 1, stretch_ohm) for index in range(rail)]
    loads = [(first + index, load) for index, (_, load) in enumerate(lumps)]
    point = operating_point(build_network([volts] * (first + rail + 1), spans, loads))
    if point is None:
        return None
    drop, across = point.drop, point.quadrature
    return (
        magnitude(drop[first], across[first]),
        magnitude(drop[first + rail], across[first + rail]),
        magnitude(share * drop[first], share * across[first]),
    )
