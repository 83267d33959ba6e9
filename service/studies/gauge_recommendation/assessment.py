"""Whether a choice of cables keeps every limit, in every state; quick enough to be asked many times."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from service.circuit.cables import Cable, resolve_cable
from service.circuit.corners import TOGETHER, Corner, at_corner, corners_of, states_of
from service.circuit.envelope import EnvelopeResult, light_work, take_light_loads
from service.circuit.job import CableSpec, Job
from service.circuit.layout import LaidSpan
from service.circuit.state import Connected, FixtureVoltages, connect_job, network_of, solve_connected
from service.circuit.work import FILLED, Budget, count, work_of
from service.findings.violation import (
    Violation,
    conductor_violations,
    currents,
    drop_violations,
    light_load_violations,
    low_feeders,
    window_violations,
    worst_of_each,
)
from service.findings.voltage import NO_OPERATING_POINT
from service.physics.load import FILAMENT_EXPONENT, Load
from service.physics.network import Network, Span, with_loads, with_resistances
from service.physics.solve import NoOperatingPointError
from service.studies.gauge_recommendation.candidates import Candidate

ONE, PER_RUN, PER_SPAN = "one", "per-run", "per-span"
"""How far each cable is chosen for itself."""


Choice = tuple[int, ...]
"""For each slot the index of the candidate that fills it."""


class Assessment(NamedTuple):
    """The extremes over the states [V], [W], and of each limit that a choice breaks the worst breach.

    `taps_v` is the tap of each feeder, where the taps were open; `low_feeders` those with a lamp too low.
    """

    lowest_v: float | None
    highest_v: float | None
    drop_ratio: float | None
    cable_loss_w: float | None
    breaches: tuple[Violation, ...]
    taps_v: tuple[float, ...] = ()
    low_feeders: frozenset[int] = frozenset()

    @property
    def passes(self) -> bool:
        """Whether every limit is kept."""
        return not self.breaches


class Slot(NamedTuple):
    """What is chosen together: laid spans by index, and their length, cables in parallel counted. [m]"""

    spans: tuple[int, ...]
    length_m: float


class PreparedState(NamedTuple):
    """One state of the job, ready to be solved; `switching` is what may be on alone in it."""

    corner: Corner
    switching: str
    connected: Connected
    network: Network


class StateResult(NamedTuple):
    """One state of a choice: its fixtures, the highest voltage with little on [V], loss [W], and breaches."""

    volts: FixtureVoltages
    alone_v: float | None
    loss_w: float
    breaches: list[Violation]
    low_feeders: frozenset[int]


class Assessor:
    """Assesses choices for one job.

    Parameters
    ----------
    job : Job
        With any cable in the open places.
    candidates : sequence of Candidate
        What may fill them.
    budget : Budget
        Work that may be spent.
    offered_taps_v : tuple of float
        Taps among which each feeder may choose, lowest first; empty where they stay as they are. [V]
    """

    def __init__(
        self,
        job: Job,
        candidates: tuple[Candidate, ...],
        budget: Budget,
        offered_taps_v: tuple[float, ...] = (),
    ) -> None:
        self.job, self.candidates, self.offered_taps_v, self.budget = job, candidates, offered_taps_v, budget
        self._states: dict[Taps, list[PreparedState]] = {}
        self._base = self._states_at(offered_taps_v[:1] * len(job.feeders()))[0]
        self.slots: tuple[Slot, ...] = ()
        self._seen: dict[Choice, Assessment] = {}
        self._hopeless: dict[Choice, bool] = {}
        draws = self._base.network.draws
        tree = len(self.layout_spans) == self._base.network.points - 1
        self.bounded = tree and not any(draw.non_active_current for draw in draws)
        """Whether `is_hopeless` can tell anything: on a tree, where no constant current has another phase."""
        self.monotone = self.bounded and not any(draw.conductance or draw.filament for draw in draws)
        """Whether more copper can never lower a voltage.

        So it is on a tree whose loads draw no more at a higher voltage. A filament or a resistor does draw
        more: the copper that lifts it costs its neighbours volts in what they share. So does the non-active
        part of a constant current.
        """

    @property
    def layout_spans(self) -> list[LaidSpan]:
        """The spans of the job, in the order of the slots' indices."""
        return self._base.connected.layout.spans

    def resistances_of(self, candidate: int) -> tuple[float, ...]:
        """Resistance of a candidate in each state, by which thicker is told from thinner. [ohm/m]"""
        spec = self.candidates[candidate].spec(CableSpec(self.candidates[candidate].conductor, None, 1))
        standings = next(iter(self._states.values()))
        return tuple(resolve_cable(spec, one.connected.layout.temperature_c).ohm_per_m for one in standings)

    def remembered(self, choice: Choice) -> Assessment:
        """Assess a choice, once."""
        if choice not in self._seen:
            self._seen[choice] = self.assess(choice)
        return self._seen[choice]

    def assess(self, choice: Choice) -> Assessment:
        """Solve a choice in every state and hold it against every limit, on the lowest taps if they are open.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        if not self.offered_taps_v:
            return self._assess_at(choice, ())
        ladder = self._ladder(choice)
        found = ladder.climbed()
        # Lower taps may still save what is too high, and higher ones what is too low; else any will do.
        return ladder.settled(found) if found.breaches and ladder.several_raised(found) else found

    def settled(self, choice: Choice) -> Assessment:
        """A choice that passes, on taps of which none can be lowered.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        found = self.remembered(choice)
        if self.offered_taps_v and self._ladder(choice).several_raised(found):
            found = self._seen[choice] = self._ladder(choice).settled(found)
        return found

    def is_hopeless(self, choice: Choice) -> bool:
        """Whether neither this choice nor any with less copper can pass, by the least that lamps can draw.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        if choice not in self._hopeless:
            highest_v = self.offered_taps_v[-1:] * len(self.job.feeders())
            states = self._states_at(highest_v)
            self._hopeless[choice] = any(self._is_low(standing, choice) for standing in states)
        return self._hopeless[choice]

    def _is_low(self, standing: PreparedState, choice: Choice) -> bool:
        """Whether some lamp is too low in a state even if every lamp draws the least that it can."""
        connected = standing.connected
        self.budget.spend(work_of(standing.network.points))
        spans, _ = self._fill(connected, choice)
        network = with_loads(with_resistances(standing.network, spans), least_loads(connected))
        try:
            state = solve_connected(connected, network)
        except NoOperatingPointError:
            return True
        return bool(low_feeders(state, state.fixture_voltages(state.voltages())))

    def _ladder(self, choice: Choice) -> TapLadder:
        leaders = self._base.connected.layout.leaders
        return TapLadder(self.offered_taps_v, leaders, lambda taps_v: self._assess_at(choice, taps_v))

    def _assess_at(self, choice: Choice, taps_v: Taps) -> Assessment:
        """Assess a choice on given taps."""
        readings = [self._read(standing, choice) for standing in self._states_at(taps_v)]
        judged_v = [volts for reading in readings for volts in reading.volts.judged_v]
        highest_v = judged_v + [reading.alone_v for reading in readings if reading.alone_v is not None]
        return Assessment(
            lowest_v=min(judged_v, default=None),
            highest_v=max(highest_v, default=None),
            drop_ratio=max(
                (ratio for reading in readings for ratio in reading.volts.drop_ratio), default=None
            ),
            cable_loss_w=max((reading.loss_w for reading in readings), default=None),
            breaches=worst_of_each(breach for reading in readings for breach in reading.breaches),
            taps_v=taps_v,
            low_feeders=frozenset().union(*(reading.low_feeders for reading in readings)),
        )

    def _states_at(self, taps_v: Taps) -> list[PreparedState]:
        """The job on given taps, connected in every state; remembered."""
        if taps_v not in self._states:
            job, corners = with_taps(self.job, taps_v), self.job.corners
            light = {} if corners is None else dict.fromkeys(corners_of(corners), corners.switching)
            standings = []
            for corner in states_of(job):
                connected = connect_job(at_corner(job, corner))
                network = network_of(connected)
                self.budget.spend(work_of(network.points))
                standings.append(PreparedState(corner, light.get(corner, TOGETHER), connected, network))
            self._states[taps_v] = standings
        return self._states[taps_v]

    def _read(self, standing: PreparedState, choice: Choice) -> StateResult:
        """Solve one state and hold it against every limit."""
        connected = standing.connected
        self.budget.spend(work_of(standing.network.points))
        spans, cables = self._fill(connected, choice)
        network = with_resistances(standing.network, spans)
        try:
            state = solve_connected(connected, network)
        except NoOperatingPointError:
            breach = Violation(NO_OPERATING_POINT, connected.job.supply.subject, 0.0, 0.0, "1", "low")
            nothing = FixtureVoltages([], [], [], [])
            return StateResult(nothing, None, 0.0, [breach], frozenset(range(len(connected.feed.tap_of))))
        volts = state.fixture_voltages(state.voltages())
        ohms = [span.resistance_ohm for span in spans]
        currents_a = currents(state, ohms)
        count(FILLED * len(spans))
        loss_w = sum(amps * amps * ohm for amps, ohm in zip(currents_a, ohms, strict=True))
        light = self._light(standing, network)
        found = [
            *window_violations(state, volts),
            *drop_violations(state, volts),
            *conductor_violations(state, currents_a, cables),
        ]
        low = low_feeders(state, volts)
        alone_v = max((highest.value for _, _, _, highest in light.light_loads()), default=None)
        return StateResult(volts, alone_v, loss_w, [*found, *light_load_violations(light)], low)

    def _light(self, standing: PreparedState, network: Network) -> EnvelopeResult:
        """The highest voltages with little on, where the switching allows that."""
        corner, switching, connected = standing.corner, standing.switching, standing.connected
        self.budget.spend(light_work(connected, network, corner, switching))
        light = EnvelopeResult()
        take_light_loads(light, connected, network, corner, switching)
        return light

    def _fill(self, connected: Connected, choice: Choice) -> tuple[list[Span], list[Cable | None]]:
        """The spans with the chosen cables in the open places."""
        laid = connected.layout.spans
        cables: list[Cable | None] = [span.cable for span in laid]
        ohms = [span.resistance_ohm for span in laid]
        for slot, chosen in zip(self.slots, choice, strict=True):
            for index in slot.spans:
                kept = laid[index].cable
                if kept is not None:
                    spec = self.candidates[chosen].spec(kept.spec)
                    cable = cables[index] = resolve_cable(spec, connected.layout.temperature_c)
                    ohms[index] = laid[index].length_m * cable.ohm_per_m
        spans = [Span(one.start, one.end, ohm) for one, ohm in zip(laid, ohms, strict=True)]
        return spans, cables


def slots_of(spans: list[LaidSpan], open_cables: frozenset[str], scope: str) -> tuple[Slot, ...]:
    """The places to choose for: all together, each cable of the request, or each span for itself."""
    groups: dict[object, list[int]] = {}
    for index, span in enumerate(spans):
        if span.cable_at in open_cables:
            key = {ONE: ONE, PER_RUN: span.cable_at, PER_SPAN: index}[scope]
            groups.setdefault(key, []).append(index)
    return tuple(
        Slot(tuple(group), sum(_bought_m(spans[index]) for index in group)) for group in groups.values()
    )


def _bought_m(span: LaidSpan) -> float:
    """Length of cable in a span, every cable in parallel counted. [m]"""
    return span.length_m * (1 if span.cable is None else span.cable.spec.in_parallel)


Taps = tuple[float, ...]
"""Rated voltage of the tap of each feeder. [V]"""


class TapLadder:
    """Moves feeders between the taps that are offered; those that meet behind them move together.

    Parameters
    ----------
    offered_v : tuple of float
        Lowest first. [V]
    leaders : list of int
        For each feeder the one that stands for all that meet behind it.
    assess : callable
        What a choice of cables does on given taps.
    """

    def __init__(self, offered_v: Taps, leaders: list[int], assess: Callable[[Taps], Assessment]) -> None:
        self._offered_v, self._leaders, self._assess = offered_v, leaders, assess

    def climbed(self) -> Assessment:
        """From the lowest taps up: every feeder with a lamp too low is raised until no lamp is.

        The winding couples the feeders, so all are solved anew after each step. Where nothing draws less at a
        higher voltage these are the lowest taps there are, because each step was needed.
        """
        taps_v = self._offered_v[:1] * len(self._leaders)
        found = self._assess(taps_v)
        while (raised := self._moved(taps_v, found.low_feeders, 1)) != taps_v:
            taps_v, found = raised, self._assess(raised)
        return found

    def settled(self, found: Assessment) -> Assessment:
        """From given taps down: each feeder is lowered as long as no lamp on any becomes too low.

        A driver draws less at a higher voltage, so that a feeder which was raised together with another may
        have been helped enough by the other alone. A lamp that is too low on its highest tap is given what
        help the highest taps of the others can give before it is given up.
        """
        if found.low_feeders:
            found = self._assess(self._offered_v[-1:] * len(self._leaders))
        moved = not found.low_feeders
        while moved:
            moved = False
            for leader in dict.fromkeys(self._leaders):
                lower = self._assess_lower(found, leader)
                while lower is not None:
                    found, moved = lower, True
                    lower = self._assess_lower(found, leader)
        return found

    def several_raised(self, found: Assessment) -> bool:
        """Whether more than one feeder is above the lowest tap, so that one may have helped another."""
        raised = {
            leader
            for leader, tap_v in zip(self._leaders, found.taps_v, strict=True)
            if tap_v > self._offered_v[0]
        }
        return len(raised) > 1

    def _assess_lower(self, found: Assessment, leader: int) -> Assessment | None:
        """One feeder a tap lower; None where that is too low or where there is none."""
        taps_v = self._moved(found.taps_v, frozenset({leader}), -1)
        if taps_v == found.taps_v:
            return None
        lower = self._assess(taps_v)
        return None if lower.low_feeders else lower

    def _moved(self, taps_v: Taps, feeders: frozenset[int], steps: int) -> Taps:
        """The taps with some feeders so many steps higher, as far as there are taps."""
        lifted, last = {self._leaders[feeder] for feeder in feeders}, len(self._offered_v) - 1
        return tuple(
            self._offered_v[min(max(self._offered_v.index(tap_v) + steps, 0), last)]
            if leader in lifted
            else tap_v
            for leader, tap_v in zip(self._leaders, taps_v, strict=True)
        )


def with_taps(job: Job, taps_v: Taps) -> Job:
    """The job with the tap of each feeder; none given leaves them as they are. [V]"""
    if not taps_v:
        return job
    feeders = zip(job.feeders(), taps_v, strict=True)
    return job.with_feeders([feeder._replace(tap_v=tap_v) for feeder, tap_v in feeders])


def least_loads(connected: Connected) -> list[tuple[int, Load]]:
    """What hangs at each point, no part of it drawing more at a higher voltage."""
    layout = connected.layout
    by_fixture = layout.loads_by_fixture(all_in_phase=connected.job.all_in_phase)
    loads = []
    for placed, window, hung in zip(layout.fixtures, connected.windows, by_fixture, strict=True):
        # A lamp at the terminal itself is referred to another voltage than its own: zero is less as well.
        low_v = window.low_v if placed.lamp_point else 0.0
        loads += [(point, held(load, low_v)) for point, load in hung]
    return loads


def held(load: Load, voltage_v: float) -> Load:
    """A load whose resistor and filament keep the current that they draw at a voltage. [V]"""
    held_a = load.conductance_s * voltage_v + load.filament_a * voltage_v**FILAMENT_EXPONENT
    return load._replace(current_a=load.current_a + held_a, conductance_s=0.0, filament_a=0.0)
