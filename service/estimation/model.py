"""The wiring in each state in which it was read, as it is thought to be or with one thing different."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import NamedTuple

from service.circuit.job import Graph
from service.circuit.state import Connected, network_of
from service.circuit.work import charge, charged, count
from service.estimation.job import DISCONNECTED, NO_LOAD
from service.estimation.probes import NOTHING, Behind, Connection, Probe
from service.physics.load import Load
from service.physics.loop import loop_resistance
from service.physics.network import (
    TERMINAL,
    Network,
    magnitude,
    with_loads,
    with_resistances,
    with_some_resistances,
)
from service.physics.solve import OperatingPoint, nothing_drawn, operating_point

Loads = list[tuple[int, "Load"]]
"""Loads, each with its point."""

WORK_OF_A_SOLVE, POINTS_OF_WORK = 2, 2
"""Work of solving one state again where no load lags: nothing is built and nothing judged."""

RECONNECTED = 10
"""Operations of connecting other loads to a point."""

NEARLY_NONE = 1e-7
"""Resistance taken for that of an ideal supply, as a share of the load's own. [-]"""


class ReadState(NamedTuple):
    """One state in which something was read.

    `shares` of the rows that are lit, None: all; `supply_ratio`: of the open-circuit voltage that the job
    has by itself; common and own standard uncertainty of it. [-]
    """

    on: str
    shares: Mapping[int, float] | None
    supply_ratio: float
    common: float
    drift: float
    mains_v: float | None = None


class Measurement(NamedTuple):
    """One reading that can be judged: its place in the request, its state, and what the meter read."""

    position: int
    probe: Probe
    state: int
    value: float
    own: float
    gain: float


class Moved(NamedTuple):
    """A feeder that leaves the supply elsewhere than thought; `inflow` is what flows into it."""

    inflow: Probe
    thought: Connection
    really: Connection

    def shifts(self, leaving: Connection) -> int:
        """1 where a clamp at the supply is round the feeder after all, -1 where it is not, else 0."""
        return leaving.encloses(self.really) - leaving.encloses(self.thought)


class Change(NamedTuple):
    """What is different from the wiring as it is thought to be; by default nothing.

    Ohms by span, the ohms of the supply itself, loads by row, one load more, all rows behind a break dark;
    open-circuit volts by point, over what they were thought to be [-]; probes that others were read for;
    feeders that leave the supply elsewhere.
    """

    supply_ratio: float = 1.0
    source_ohm: float | None = None
    span_ohm: Mapping[int, float] = {}
    rows: Mapping[int, Loads] = {}
    more: tuple[tuple[int, Load], ...] = ()
    cut: Behind = NOTHING
    volts: Mapping[int, float] = {}
    probes: Mapping[Probe, Probe] = {}
    moved: Mapping[int, Moved] = {}

    def reads(self, probe: Probe) -> Probe:
        """What a meter really reads where it is said to read something."""
        found = self.probes.get(probe, probe)
        if probe.leaving is None:
            return found
        for each in self.moved.values():
            found = _shifted(found, each.inflow, each.shifts(probe.leaving))
        return found


def _shifted(probe: Probe, inflow: Probe, shift: int) -> Probe:
    """A clamp that is round a feeder more (1) or less (-1)."""
    if shift > 0:
        return probe._replace(spans=probe.spans + inflow.spans, rows=probe.rows + inflow.rows)
    if shift < 0:
        spans = tuple(each for each in probe.spans if each not in inflow.spans)
        return probe._replace(spans=spans, rows=tuple(each for each in probe.rows if each not in inflow.rows))
    return probe


AS_THOUGHT = Change()


def together(changes: Iterable[Change]) -> Change:
    """Several changes of different runs at once."""
    both = AS_THOUGHT
    for each in changes:
        both = Change(
            both.supply_ratio * each.supply_ratio,
            each.source_ohm if both.source_ohm is None else both.source_ohm,
            {**both.span_ohm, **each.span_ohm},
            {**both.rows, **each.rows},
            (*both.more, *each.more),
            each.cut._replace(other=both.cut) if each.cut else both.cut,
            {**both.volts, **each.volts},
            {**both.probes, **each.probes},
            {**both.moved, **each.moved},
        )
    return both


class SolvedModel(NamedTuple):
    """One state, solved with a change."""

    network: Network
    point: OperatingPoint
    rows: list[Loads]


@dataclass(slots=True)
class Model:
    """A job, the states in which it was read, its network with everything on, and the work spent on it.

    `kept` are the networks of states as they are thought to be.
    """

    connected: Connected
    states: list[ReadState]
    network: Network
    rows: list[Loads]
    source_ohm: float
    spent: int = 0
    kept: dict[int, tuple[ReadState, Network, list[Loads]]] = field(default_factory=dict)

    def spend(self, work: int) -> None:
        """Charge the request, and remember what was charged.

        Raises
        ------
        WorkOverLimitError
            The request has spent the work that it may ask for.
        """
        charge(work)
        self.spent += work

    def _remembered(self, work: int) -> int:
        self.spent += work
        return work

    @property
    def graph(self) -> bool:
        """Whether the wiring is a graph of spans."""
        return isinstance(self.connected.job.wiring, Graph)

    @property
    def full_load_ohm(self) -> float:
        """Volts without load, squared, over everything that is drawn. [ohm]"""
        volts = self.network.open_circuit_v[TERMINAL]
        return volts * volts / max(sum(self.network.open_circuit_draw()), 1.0)

    @property
    def near_ideal(self) -> Change:
        """Nothing different, but for so little resistance in an ideal supply that its effect has a slope."""
        return AS_THOUGHT if self.source_ohm else Change(source_ohm=NEARLY_NONE * self.full_load_ohm)

    def solved(self, state: ReadState, change: Change = AS_THOUGHT) -> SolvedModel | None:
        """Solve one state; None where the wiring cannot carry its load.

        Raises
        ------
        WorkOverLimitError
            The request has spent the work that it may ask for.
        """
        network, rows = self._with(state, change)
        with charged(self._remembered(work_of_solve(network.effort, turned=network.has_non_active))):
            count(RECONNECTED * network.points)
            point = operating_point(network) if network.demand.count else nothing_drawn(network)
        return None if point is None else SolvedModel(network, point, rows)

    def lit(self, state: ReadState, change: Change) -> list[Loads]:
        """The loads of each row in a state; none where it is not lit."""
        if state.shares is None and not change.rows and not change.cut:
            return self.rows
        return [
            self._share(index, change.rows.get(index, loads), state, change.cut)
            for index, loads in enumerate(self.rows)
        ]

    def _share(self, index: int, loads: Loads, state: ReadState, cut: Behind) -> Loads:
        share = 1.0 if state.shares is None else state.shares.get(index, 0.0)
        if not share or (cut and loads[0][0] in cut):
            return []
        return loads if share == 1.0 else [(point, load.scaled(share)) for point, load in loads]

    def _thought(self, state: ReadState) -> tuple[Network, list[Loads]]:
        """The network of a state as it is thought to be, and what is lit in it; kept."""
        known = self.kept.get(id(state))
        if known is None:
            rows = self.lit(state, AS_THOUGHT)
            network = self._fed(state.supply_ratio, AS_THOUGHT)
            if rows is not self.rows or network is not self.network:
                network = with_loads(network, [each for row in rows for each in row])
            # With the state itself, so that no other one gets its number.
            known = self.kept[id(state)] = state, network, rows
        return known[1:]

    def _fed(self, ratio: float, change: Change) -> Network:
        """The network at a share of its open-circuit voltage [-], with the supply and the spans of a change.

        What is drawn is still that of the network with everything on.
        """
        network, known_v = self.network, self.network.open_circuit_v
        if ratio != 1.0 or change.volts:
            volts = [each * ratio * change.volts.get(point, 1.0) for point, each in enumerate(known_v)]
            network = with_resistances(network._replace(open_circuit_v=volts), network.spans)
            network = network._replace(source_resistance=per_unit(self.source_ohm, network))
        return network

    def _with(self, state: ReadState, change: Change) -> tuple[Network, list[Loads]]:
        """The network of a state with a change, and what is lit in it."""
        network, rows = self._thought(state)
        fed = bool(change.supply_ratio != 1.0 or change.volts)
        if fed:
            network = self._fed(state.supply_ratio * change.supply_ratio, change)
        if change.source_ohm is not None:
            network = network._replace(source_resistance=per_unit(change.source_ohm, network))
        if change.span_ohm:
            network = with_some_resistances(network, change.span_ohm)
        if change.rows or change.cut:
            rows, fed = self.lit(state, change), True
        more = change.more if state.on not in {NO_LOAD, DISCONNECTED} else ()
        if fed or more:
            network = with_loads(network, [*(each for row in rows for each in row), *more])
        return network, rows

    def predicted(self, measurements: list[Measurement], change: Change = AS_THOUGHT) -> list[float]:
        """What the meter should have read; not a number where a state has no operating point. [V], [A]"""
        found = [nan] * len(measurements)
        for number, state in enumerate(self.states):
            wanted = [index for index, each in enumerate(measurements) if each.state == number]
            if not wanted:
                continue
            solved = self.solved(state, change)
            if solved is None:
                return [nan] * len(measurements)
            loops = sum(measurements[index].probe.is_resistance for index in wanted)
            self.spend(loops * work_of_solve(solved.network.effort, turned=False))
            for index in wanted:
                found[index] = read(solved, change.reads(measurements[index].probe), cut=change.cut)
        return found


def per_unit(ohm: float, network: Network) -> float:
    """A resistance of the supply [ohm] in per-unit of its open-circuit voltage. [1/W]"""
    secondary_v = network.open_circuit_v[TERMINAL]
    return ohm / (secondary_v * secondary_v)


def work_of_solve(effort: int, *, turned: bool) -> int:
    """Work of solving one state again on wiring of so much effort."""
    return WORK_OF_A_SOLVE + effort // (1 if turned else POINTS_OF_WORK)


def model_of(connected: Connected, states: list[ReadState]) -> Model:
    """A model of a job, everything on as it is thought to be."""
    network = network_of(connected)
    secondary_v = network.open_circuit_v[TERMINAL]
    rows = connected.layout.loads_by_fixture(all_in_phase=connected.job.all_in_phase)
    return Model(connected, states, network, rows, network.source_resistance * secondary_v * secondary_v)


def read(solved: SolvedModel, probe: Probe, *, cut: Behind = NOTHING) -> float:
    """What a faultless meter says. [V], [A], [ohm]"""
    network, point = solved.network, solved.point
    if probe.is_resistance:
        return probe.lead_ohm + loop_resistance(network, probe.point).ohm
    if not probe.is_voltage:
        return abs(current_at(solved, probe))
    if cut is not NOTHING and probe.point in cut:
        return 0.0
    return tap_v(network, probe) * magnitude(point.drop[probe.point], point.quadrature[probe.point])


def tap_v(network: Network, probe: Probe) -> float:
    """Open-circuit voltage where volts are read; the terminal has as many as it has taps. [V]"""
    volts = network.open_circuit_v[probe.point]
    return volts if probe.point != TERMINAL else volts * probe.tap_ratio


def current_at(solved: SolvedModel, probe: Probe) -> complex:
    """Current that a clamp encloses, in phase and in quadrature. [A]"""
    network, point = solved.network, solved.point
    total = 0j
    for index, sign in probe.spans:
        start, end, ohm = network.spans[index]
        fall = point.drop[end] - point.drop[start]
        turn = point.quadrature[start] - point.quadrature[end]
        total += sign * complex(fall, turn) * network.open_circuit_v[end or start] / ohm
    for row, ratio in probe.rows:
        for at, load in solved.rows[row]:
            total += drawn(solved, at, load) * ratio
    current = total / probe.shared_by
    return current if isfinite(abs(current)) else 0j


def drawn(solved: SolvedModel, at: int, load: Load) -> complex:
    """What a load at a point draws. [A]"""
    volts = solved.network.open_circuit_v[at]
    return load.phasor(complex(1.0 - solved.point.drop[at], solved.point.quadrature[at]) * volts)
