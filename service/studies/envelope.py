"""The extremes of each quantity over the corners, and the corner that gives each."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from service.physics.certificate import short_circuit_resistances
from service.physics.network import Span, build_network, with_loads
from service.physics.solve import NoOperatingPointError, solve
from service.studies.connected import connect_job
from service.studies.corners import BY_RUN, TOGETHER, at_corner, corners_of
from service.studies.layout import drawn
from service.studies.solving import network_of, solve_connected
from service.studies.state import SolvedState

if TYPE_CHECKING:
    from collections.abc import Iterator

    from service.physics.network import Network
    from service.studies.connected import Connected
    from service.studies.corners import Corner
    from service.studies.job import Corners, FixtureLine, Job, Subject
    from service.studies.outcome import FixtureState, SupplyState


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
class Envelope:
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
    states : list of (Corner, SolvedState)
        The solved corners with all on, for whoever judges them.
    lightest : list of Connected
        Where light loads were looked at.
    """

    fixtures: dict[Subject, Range] = field(default_factory=dict)
    circuits: dict[str, Range] = field(default_factory=dict)
    open_circuit_v: Range = field(default_factory=Range)
    terminal_v: Range = field(default_factory=Range)
    apparent_va: Range = field(default_factory=Range)
    collapsed: list[tuple[Corner, Connected]] = field(default_factory=list)
    states: list[tuple[Corner, SolvedState]] = field(default_factory=list)
    lightest: list[Connected] = field(default_factory=list)

    def take_fixtures(self, rows: list[FixtureState], corner: Corner) -> None:
        """Take the voltages of fixtures that are on."""
        for row in rows:
            self.fixtures.setdefault(row.subject, Range()).add(row.voltage_v, corner)

    def light_loads(self) -> Iterator[tuple[Connected, FixtureLine, Subject, Extreme]]:
        """Fixtures whose highest voltage comes with little else on."""
        if not self.lightest:
            return
        connected = self.lightest[-1]
        for placed in connected.layout.fixtures:
            subject = placed.subject
            highest = self.fixtures[subject].highest if subject in self.fixtures else None
            if highest is not None and highest.corner.on is not None:
                yield connected, placed.line, subject, highest

    def take_supply(self, supply: SupplyState, corner: Corner) -> None:
        """Take the state of the supply."""
        self.terminal_v.add(supply.terminal_v, corner)
        self.apparent_va.add(supply.apparent_va, corner)
        for circuit in supply.circuits:
            self.circuits.setdefault(circuit.name, Range()).add(circuit.current_a, corner)


def envelope_of(job: Job, corners: Corners) -> Envelope:
    """Solve every corner of a job.

    Raises
    ------
    JobTooLargeError, WiringContradictoryError
        It cannot be laid.
    """
    envelope = Envelope()
    for corner in corners_of(corners):
        connected = connect_job(at_corner(job, corner))
        network = network_of(connected)
        envelope.open_circuit_v.add(connected.feed.open_circuit_v[0], corner)
        _take_all_on(envelope, connected, network, corner)
        if corner.lightest and corners.switching != TOGETHER:
            envelope.lightest.append(connected)
            take = _take_by_run if corners.switching == BY_RUN else _take_individually
            take(envelope, connected, network, corner)
    return envelope


def _take_all_on(envelope: Envelope, connected: Connected, network: Network, corner: Corner) -> None:
    try:
        state = solve_connected(connected, network)
    except NoOperatingPointError:
        envelope.collapsed.append((corner, connected))
        return
    fixtures = state.fixtures(state.voltages())
    envelope.states.append((corner, state))
    envelope.take_fixtures(fixtures, corner)
    envelope.take_supply(state.supply(state.feeder_currents(), delivered_w=0.0), corner)


def _take_by_run(envelope: Envelope, connected: Connected, network: Network, corner: Corner) -> None:
    """Each part of the wiring that is fed by itself, alone on."""
    layout, job = connected.layout, connected.job
    loads = layout.loads(all_in_phase=job.all_in_phase)
    subjects = {end.feeder: end.subject for end in layout.run_ends()}
    for leader, subject in subjects.items():
        on = [layout.leaders[placed.feeder] == leader for placed in layout.fixtures]
        alone = with_loads(network, [load for load, lit in zip(loads, on, strict=True) if lit])
        try:
            state = solve_connected(connected, alone)
        except NoOperatingPointError:
            continue
        rows = state.fixtures(state.voltages())
        lit_rows = [row for row, lit in zip(rows, on, strict=True) if lit]
        envelope.take_fixtures(lit_rows, corner._replace(on=subject))


def _take_individually(envelope: Envelope, connected: Connected, network: Network, corner: Corner) -> None:
    """Each fixture row alone on: one load behind the resistance from the source to its lamp."""
    resistance = short_circuit_resistances(network)
    for placed in connected.layout.fixtures:
        subject, volts = placed.subject, placed.open_circuit_v
        ohm = resistance[placed.lamp_point] * volts * volts
        load = drawn(placed, all_in_phase=connected.job.all_in_phase)
        lamp_v = volts
        if ohm > 0.0:
            try:
                drop = solve(build_network([volts, volts], [Span(0, 1, ohm)], [(1, load)]))
            except NoOperatingPointError:
                continue
            lamp_v = volts * abs(complex(1.0 - drop.drop[1], drop.quadrature[1]))
        envelope.fixtures.setdefault(subject, Range()).add(lamp_v, corner._replace(on=subject))
