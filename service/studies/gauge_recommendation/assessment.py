"""Whether a choice of cables keeps every limit, in every state; quick enough to be asked many times."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from itertools import product
from typing import NamedTuple

from service.circuit.cables import Cable, resolve_cable
from service.circuit.corners import AS_STATED, TOGETHER, Corner, at_corner, corners_of, states_of
from service.circuit.envelope import EnvelopeResult, alone_work, take_alone
from service.circuit.growth import certain_growth
from service.circuit.job import CableSpec, Job, JobPart
from service.circuit.layout import LaidSpan, loads_at
from service.circuit.limits import near_circuit_limit, over_circuit, over_rating
from service.circuit.reading import (
    BuiltState,
    SpanColumns,
    built,
    feeder_currents,
    read_off,
    span_columns,
    supply_at,
)
from service.circuit.state import (
    Connected,
    FixtureVoltages,
    SolvedState,
    conductor_temperature,
    solve_connected,
)
from service.circuit.work import (
    FILLED,
    JUDGED,
    WORK_OF_A_STATE,
    Budget,
    WorkOverLimitError,
    charge,
    count,
    work_of_judging,
)
from service.findings.finding import Amount, FindingFacts
from service.findings.judge import solved_findings, unsolved_findings
from service.findings.limits import unaccepted
from service.findings.loading import (
    CIRCUIT_NEAR_LIMIT,
    DC_SUPPLY_OVER_RATING,
    LAMPS_DRAW,
    TRANSFORMER_OVER_RATING,
)
from service.findings.protection import (
    CONDUCTOR_BELOW_DEVICE,
    SHORT_CIRCUIT_BELOW_TRIP,
    device_findings,
    too_large_device,
)
from service.findings.violation import (
    Violation,
    as_violations,
    conductor_violations,
    count_and_excess,
    drop_violations,
    least_v,
    light_load_violations,
    low_feeders,
    window_violations,
    worst_of_each,
)
from service.findings.voltage import FIXTURE_ABOVE_WINDOW, NEAR_COLLAPSE, NO_OPERATING_POINT, growth_findings
from service.physics.load import FILAMENT_EXPONENT, Load
from service.physics.network import Network, Span, with_loads, with_resistances
from service.studies.gauge_recommendation.candidates import Candidate

MOST_TAPS_TRIED = 64
"""Ways to put the runs on taps that are all tried where others do not tell: three runs on four taps."""

ONE, PER_RUN, PER_SPAN = "one", "per-run", "per-span"
"""How far each cable is chosen for itself."""


def work_of_connecting(points: int) -> int:
    """Work of connecting one state anew, on other taps."""
    return WORK_OF_A_STATE + 3 * points // 5


def work_of_solving(points: int) -> int:
    """Work of solving a state that is connected with other cables, and of reading its voltages."""
    return WORK_OF_A_STATE + points // 3


Choice = tuple[int, ...]
"""For each slot the index of the candidate that fills it."""


class Assessment(NamedTuple):
    """The extremes over the states [V], [W], and of each limit that a choice breaks the worst violation.

    `highest_v` knows what little else on gives only where that could be too high, or where all is told.
    `taps_v` is the tap of each feeder, where the taps were open; `low_feeders` those that a higher tap may
    help. `parts` is all that some limit is broken at, not only the worst. `loading_ratio` is of the supply's
    rating, known where everything was judged. [-]
    """

    lowest_v: float | None
    highest_v: float | None
    drop_ratio: float | None
    cable_loss_w: float | None
    violations: tuple[Violation, ...]
    taps_v: tuple[float, ...] = ()
    low_feeders: frozenset[int] = frozenset()
    loading_ratio: float | None = None
    parts: frozenset[JobPart] = frozenset()

    @property
    def passes(self) -> bool:
        """Whether every limit is kept."""
        return not self.violations


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
    findings: list[FindingFacts]
    """What is broken before anything is solved, whatever cable is chosen."""
    violations: list[Violation]
    """The same as limits."""
    may_be_high: bool
    """Whether a fixture could be too high with little else on: none is above the open circuit."""


class Filled(NamedTuple):
    """The wiring at one temperature with the cables of a choice: as it is laid, and as it is solved."""

    laid: list[LaidSpan]
    spans: list[Span]


class StateResult(NamedTuple):
    """One state of a choice: fixtures, the highest voltage with little on [V], loss [W], violations."""

    volts: FixtureVoltages
    alone_v: float | None
    loss_w: float
    violations: list[Violation]
    low_feeders: frozenset[int]
    loading_ratio: float | None = None


class AloneResult(NamedTuple):
    """The highest voltage with little on, and the fixtures above their window then. [V]"""

    highest_v: float | None
    violations: list[Violation]


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
    accepted : frozenset of str
        Codes of warnings with which a choice passes all the same.
    """

    def __init__(
        self,
        job: Job,
        candidates: tuple[Candidate, ...],
        budget: Budget,
        offered_taps_v: tuple[float, ...] = (),
        accepted: frozenset[str] = frozenset(),
    ) -> None:
        self.job, self.candidates, self.offered_taps_v, self.budget = job, candidates, offered_taps_v, budget
        self.accepted = accepted
        self._built: dict[Taps, BuiltState] = {}
        self._states: dict[tuple[Taps, int], PreparedState] = {}
        self._corners = states_of(job)
        self._base = self._state_at(offered_taps_v[:1] * len(job.feeders()), 0)
        self.slots: tuple[Slot, ...] = ()
        self._ruled_out = [as_violations(candidate.ruled_out()) for candidate in candidates]
        self._seen: dict[Choice, Assessment] = {}
        self._hopeless: dict[Choice, bool] = {}
        self._least: dict[int, Network] = {}
        self._filled: dict[float, Filled] = {}
        self._filled_with: Choice = ()
        self._parts: dict[tuple[Corner, float, int, Choice], AloneResult] = {}
        self._slots_of_part: dict[int, list[int]] = {}
        self._lowest = 0
        draws = self._base.network.draws
        tree = len(self.layout_spans) == self._base.network.points - 1
        self.bounded = tree and not any(draw.non_active_current for draw in draws)
        """Whether `is_hopeless` can tell anything: on a tree, where no constant current has another phase."""
        self.eased_by_taps = not any(draw.current for draw in draws)
        """Whether what is too much load on some taps is so on any lower ones, where `monotone` holds."""
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
        temperatures_c = [conductor_temperature(at_corner(self.job, corner)) for corner in self._corners]
        return tuple(resolve_cable(spec, each_c).ohm_per_m for each_c in temperatures_c)

    def beyond_choice(self) -> list[FindingFacts]:
        """What rules every choice out: faults and warnings that no cable and no tap removes.

        The lowest taps have the lowest no-load voltage. A lamp that must stay above its lowest voltage draws
        what it draws there at least.
        """
        found: dict[tuple[str, JobPart], FindingFacts] = {}
        chosen = {index for slot in self.slots for index in slot.spans}
        for prepared in self._states_at(self.offered_taps_v[:1] * len(self.job.feeders())):
            connected = prepared.connected
            count(JUDGED * prepared.network.points)
            spans = connected.layout.spans
            fixed = connected.with_spans([span for index, span in enumerate(spans) if index not in chosen])
            corner = None if prepared.corner == AS_STATED else prepared.corner
            more = unaccepted([*device_findings(fixed), *self._over_rating(connected)], self.accepted)
            for finding in [*prepared.findings, *more]:
                key = finding.code, finding.subject
                if key not in found or corner is None:
                    found[key] = finding._replace(corner=corner)
        return list(found.values())

    def _over_rating(self, connected: Connected) -> list[FindingFacts]:
        """The rating of the supply, where even the least that the lamps can draw is over it."""
        supply = connected.job.supply
        rating = supply.rating_w if supply.winding is None else supply.winding.rating_va
        if rating is None:
            return []
        drawn = 0j
        for placed, window in zip(connected.layout.fixtures, connected.windows, strict=True):
            low_v = least_v(window, self.accepted)
            for _, load in loads_at(placed, all_in_phase=connected.job.all_in_phase):
                real_w = load.power_w + held(load, low_v).current_a * low_v
                drawn += complex(real_w, load.non_active_var + load.non_active_a * low_v)
        least_va = abs(drawn)
        if not over_rating(least_va / rating):
            return []
        kind = DC_SUPPLY_OVER_RATING if supply.direct_current else TRANSFORMER_OVER_RATING
        unit = "W" if supply.winding is None else "VA"
        return [
            kind.found(supply.subject, "caller", Amount(least_va, unit, 1), Amount(rating, unit), LAMPS_DRAW)
        ]

    def compared(self, choice: Choice) -> Assessment:
        """A choice with all that it breaks, as far as there is work left to find it.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        found = self._seen.get(choice) or self.near(choice, ())
        if found.violations:
            with suppress(WorkOverLimitError):
                return self._assess_at(choice, found.taps_v, wholly=True)
        return found

    def on_each_tap(self, choice: Choice, slots: Iterable[int], taps_v: Taps) -> Iterator[Assessment]:
        """A choice on given taps [V], those of some slots on each that is offered, with all that it breaks.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        leaders = self._base.connected.layout.leaders
        moved = {leaders[feeder] for slot in slots for feeder in self.feeders_of(slot)}
        for tried_v in self.offered_taps_v:
            on = zip(leaders, taps_v, strict=True)
            tried = tuple(tried_v if leader in moved else tap_v for leader, tap_v in on)
            yield self._assess_at(choice, tried, wholly=True)

    def rule_out(self, choice: Choice, violations: tuple[Violation, ...]) -> None:
        """Take a choice for one that fails, whatever was found of it."""
        self._seen[choice] = self.remembered(choice)._replace(violations=violations)

    def remembered(self, choice: Choice) -> Assessment:
        """Assess a choice, once."""
        if choice not in self._seen:
            self._seen[choice] = self.assess(choice, quickly=True)
        return self._seen[choice]

    def assess(self, choice: Choice, *, quickly: bool = False) -> Assessment:
        """Solve a choice in every state and hold it against every limit, on the lowest taps if they are open.

        `quickly` looks at no other state once a lamp is too low in one.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        if not self.offered_taps_v:
            return self._assess_at(choice, (), quickly=quickly)
        ladder = self._ladder(choice, quickly=quickly)
        found = ladder.relieved(ladder.climbed())
        # Lower taps may still save what is too high, and higher ones what is too low; else any will do.
        return ladder.settled(found) if found.violations and ladder.several_raised(found) else found

    def settled(self, choice: Choice) -> Assessment:
        """A choice that passes, on taps of which none can be lowered.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        found = self.remembered(choice)
        if any(tap_v > self.offered_taps_v[0] for tap_v in found.taps_v):
            lower = self._ladder(choice, quickly=True).settled(found)
            if lower.passes:
                found = self._seen[choice] = lower
        return found

    def near(self, choice: Choice, taps_v: Taps) -> Assessment:
        """Assess a choice, its taps sought from given ones or the lowest; one that passes is remembered.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        known = self._seen.get(choice)
        if not self.offered_taps_v or (known is not None and known.passes):
            return self.remembered(choice)
        ladder = self._ladder(choice, quickly=True)
        found = ladder.climbed(taps_v)
        while not found.low_feeders and (lower := ladder.lowered(found, self._high_feeders(found))):
            found = lower
        if found.passes:
            self._seen[choice] = found
        return found

    def is_surely_low(self, choice: Choice) -> bool:
        """Whether no taps help a choice: the least that lamps can draw is too much on the highest."""
        return self.bounded and self.is_hopeless(choice)

    def on_any_taps(self, choice: Choice) -> Assessment | None:
        """A choice on the first taps on which it passes, or on the last; None where they are too many.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        leaders = self._base.connected.layout.leaders
        moving = list(dict.fromkeys(leaders))
        if len(self.offered_taps_v) ** len(moving) > MOST_TAPS_TRIED:
            return None
        found = self.remembered(choice)
        for tried_v in product(self.offered_taps_v, repeat=len(moving)):
            of_leader = dict(zip(moving, tried_v, strict=True))
            found = self._assess_at(choice, tuple(of_leader[leader] for leader in leaders), quickly=True)
            if found.passes:
                self._seen[choice] = found
                break
        return found

    def _high_feeders(self, found: Assessment) -> frozenset[int]:
        """The feeders with a lamp that is too high, as far as its violation names them."""
        high = {violation.subject for violation in found.violations if violation.kind is FIXTURE_ABOVE_WINDOW}
        return frozenset(one.feeder for one in self._base.connected.layout.fixtures if one.subject in high)

    def is_hopeless_in_one(self, choice: Choice) -> bool:
        """The same as `is_hopeless`, by the one state in which a lamp was too low last: quicker."""
        if choice in self._hopeless:
            return self._hopeless[choice]
        return self._is_low(self._lowest, choice)

    def is_hopeless(self, choice: Choice) -> bool:
        """Whether neither this choice nor any with less copper can pass, by the least that lamps can draw.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        if choice not in self._hopeless:
            self._hopeless[choice] = any(self._is_low(index, choice) for index in self._lowest_first())
        return self._hopeless[choice]

    def _lowest_first(self) -> list[int]:
        """The states in their order, that first in which a lamp was too low last."""
        states = list(range(len(self._corners)))
        return [*states[self._lowest :], *states[: self._lowest]]

    def _is_low(self, index: int, choice: Choice) -> bool:
        """Whether some lamp is too low on the highest taps even if every lamp draws the least that it can."""
        prepared = self._state_at(self.offered_taps_v[-1:] * len(self.job.feeders()), index)
        if index not in self._least:
            self._least[index] = with_loads(prepared.network, least_loads(prepared.connected))
        self.budget.spend(work_of_solving(prepared.network.points))
        state = self._solved(prepared, choice, self._least[index])
        if state is None:
            return True
        if low_feeders(state, state.fixture_voltages(state.voltages()), self.accepted):
            return True
        return self._is_overloaded(state)

    def _solved(self, prepared: PreparedState, choice: Choice, network: Network) -> SolvedState | None:
        """One state of a choice, with the loads of a network; None where it cannot be carried."""
        filled = self._fill(prepared, choice)
        connected = prepared.connected.with_spans(filled.laid)
        solving = with_resistances(network, filled.spans)
        return solve_connected(connected, solving, work=work_of_solving(solving.effort))

    def _is_overloaded(self, state: SolvedState) -> bool:
        """Whether the least that can be drawn is too much for the supply or for a device.

        On the highest taps every current is the least, but what keeps its current delivers more there than on
        a lower tap.
        """
        delivered = not self.offered_taps_v or (self.monotone and self.eased_by_taps)
        count(FILLED * len(state.layout.spans))
        supply = supply_at(state, feeder_currents(state), delivered_w=0.0)
        near = CIRCUIT_NEAR_LIMIT.code not in self.accepted
        return (delivered and over_rating(supply.used_ratio)) or any(
            over_circuit(fed.current_a, fed.limit_a)
            or (near and fed.limit_a is not None and near_circuit_limit(fed.current_a, fed.limit_a))
            for fed in supply.circuits
        )

    def feeders_of(self, slot: int) -> frozenset[int]:
        """The feeders that a slot lies in."""
        return frozenset(self.layout_spans[index].feeder for index in self.slots[slot].spans)

    def to_be_helped(self, found: Assessment) -> tuple[frozenset[int], frozenset[int]]:
        """The feeders and the slots in which less resistance may help a choice that fails.

        A lamp may be too high because a tap was raised for another: with less resistance it need not be.
        """
        parts = {violation.subject for violation in found.violations if violation.side == "thin"}
        slots = frozenset(
            slot
            for slot, each in enumerate(self.slots)
            if any(self.layout_spans[index].subject in parts for index in each.spans)
        )
        high = self._high_feeders(found) if self.offered_taps_v else frozenset[int]()
        return found.low_feeders | high, slots

    def is_too_thin(self, slot: int, candidate: int) -> bool:
        """Whether a candidate cannot stand anywhere, or not in a slot behind the device that is stated."""
        if self._ruled_out[candidate]:
            return True
        connected, spans = self._base.connected, self.slots[slot].spans
        if CONDUCTOR_BELOW_DEVICE.code in self.accepted:
            return False
        spec = self.candidates[candidate].spec(CableSpec(self.candidates[candidate].conductor, None, 1))
        cable = resolve_cable(spec, connected.layout.temperature_c)
        # Cables in parallel stand behind a device together; what they may is only known where they lie.
        alone = all(_parallel(self.layout_spans[index]) == 1 for index in spans)
        feeders = {self.layout_spans[index].feeder for index in spans}
        return alone and any(too_large_device(connected, feeder, cable) is not None for feeder in feeders)

    def _ladder(self, choice: Choice, *, quickly: bool) -> TapLadder:
        leaders = self._base.connected.layout.leaders
        return TapLadder(
            self.offered_taps_v, leaders, lambda taps_v: self._assess_at(choice, taps_v, quickly=quickly)
        )

    def _assess_at(
        self, choice: Choice, taps_v: Taps, *, wholly: bool = False, quickly: bool = False
    ) -> Assessment:
        """Assess a choice on given taps; `wholly` looks for every violation, else the first kinds are enough.

        `quickly` ends with the first state in which a lamp is too low, and begins with the one that was so
        last.
        """
        readings = []
        violations = list[Violation]()
        for index in self._lowest_first() if quickly else range(len(self._corners)):
            corner = None if self._corners[index] == AS_STATED else self._corners[index]
            readings.append(self._read(self._state_at(taps_v, index), choice, wholly=wholly))
            violations += [
                each._replace(corner=corner) if each.corner is None else each
                for each in readings[-1].violations
            ]
            if quickly and readings[-1].low_feeders:
                self._lowest = index
                break
        lowest_v = [volts for reading in readings for volts in reading.volts.far_v]
        highest_v = [volts for reading in readings for volts in reading.volts.start_v]
        highest_v += [reading.alone_v for reading in readings if reading.alone_v is not None]
        return Assessment(
            lowest_v=min(lowest_v, default=None),
            highest_v=max(highest_v, default=None),
            drop_ratio=max(
                (ratio for reading in readings for ratio in reading.volts.drop_ratio), default=None
            ),
            cable_loss_w=max((reading.loss_w for reading in readings), default=None),
            violations=worst_of_each(violations),
            taps_v=taps_v,
            low_feeders=frozenset().union(*(reading.low_feeders for reading in readings)),
            loading_ratio=max(
                (each.loading_ratio for each in readings if each.loading_ratio is not None), default=None
            ),
            parts=frozenset(violation.subject for violation in violations),
        )

    def _states_at(self, taps_v: Taps) -> list[PreparedState]:
        """The job on given taps, connected in every state; remembered."""
        return [self._state_at(taps_v, index) for index in range(len(self._corners))]

    def _state_at(self, taps_v: Taps, index: int) -> PreparedState:
        """The job on given taps, connected in one state; remembered."""
        key = taps_v, index
        if key not in self._states:
            corner = self._corners[index]
            if taps_v not in self._built:
                self._built[taps_v] = built(with_taps(self.job, taps_v))
            corners = self.job.corners
            light = {} if corners is None else dict.fromkeys(corners_of(corners), corners.switching)
            _, connected, network, _ = self._built[taps_v].at(corner)
            self.budget.spend(work_of_connecting(network.points))
            charge(work_of_connecting(network.points))
            before = unaccepted(unsolved_findings(connected), self.accepted)
            switching = light.get(corner, TOGETHER)
            high = corner.is_light(switching) and any(
                window.is_above(placed.open_circuit_v)
                for placed, window in zip(connected.layout.fixtures, connected.windows, strict=True)
            )
            self._states[key] = PreparedState(
                corner, switching, connected, network, before, as_violations(before), high
            )
        return self._states[key]

    def _read(self, prepared: PreparedState, choice: Choice, *, wholly: bool) -> StateResult:
        """Solve one state and hold it against every limit: first those that are quickly told."""
        connected = prepared.connected
        self.budget.spend(work_of_solving(prepared.network.points))
        ruled_out = [violation for chosen in sorted(set(choice)) for violation in self._ruled_out[chosen]]
        state = self._solved(prepared, choice, prepared.network)
        if state is None:
            violation = Violation(NO_OPERATING_POINT, connected.job.supply.subject, 0.0, 0.0, "1")
            nothing = FixtureVoltages([], [], [], [], [])
            broken = [violation, *ruled_out, *prepared.violations]
            return StateResult(nothing, None, 0.0, broken, frozenset(range(len(connected.feed.tap_of))))
        voltage_v = state.voltages()
        volts, spans = state.fixture_voltages(voltage_v), span_columns(state, voltage_v)
        count(FILLED * len(spans.loss_w))
        loss_w = sum(spans.loss_w)
        found = [
            *window_violations(state, volts, self.accepted),
            *drop_violations(state, volts),
            *conductor_violations(state, spans.current_a, self.accepted),
        ]
        kept = [*ruled_out, *prepared.violations]
        light = AloneResult(None, [])
        if wholly or (prepared.may_be_high and not found and not kept):
            light = self._alone(prepared, state.network, choice)
        found += [*light.violations, *kept]
        low, alone_v = low_feeders(state, volts, self.accepted), light.highest_v
        if found and not wholly:
            return StateResult(volts, alone_v, loss_w, found, low)
        loading_ratio, judged_too = self._judge(prepared, state, voltage_v, volts, spans)
        low |= _too_weak(state, judged_too)
        return StateResult(volts, alone_v, loss_w, [*found, *judged_too], low, loading_ratio)

    def _judge(
        self,
        prepared: PreparedState,
        state: SolvedState,
        voltage_v: list[float],
        volts: FixtureVoltages,
        spans: SpanColumns,
    ) -> tuple[float | None, list[Violation]]:
        """The loading of a state [-], and all that it shows solved which rules it out."""
        self.budget.spend(work_of_judging(prepared.network.points))
        count(FILLED * len(spans.loss_w))
        reading = read_off(state, voltage_v, volts, spans)
        found = as_violations(unaccepted(solved_findings(reading), self.accepted))
        if prepared.corner == AS_STATED and NEAR_COLLAPSE.code not in self.accepted:
            found += as_violations(growth_findings(state, certain=certain_growth(state.network)))
        return reading.supply.used_ratio, found

    def _alone(self, prepared: PreparedState, network: Network, choice: Choice) -> AloneResult:
        """The highest voltages with little on, where the switching allows that.

        What is alone on in one part of the wiring knows nothing of the cables and taps of another, so a part
        is solved once for each choice of its own cables.
        """
        corner, connected = prepared.corner, prepared.connected
        if not corner.is_light(prepared.switching):
            return AloneResult(None, [])
        layout, feed = connected.layout, connected.feed
        keys = {
            leader: (corner, feed.taps_v[feed.tap_of[leader]], leader, self._of_part(choice, leader))
            for leader in dict.fromkeys(layout.leaders)
        }
        new = {leader for leader, key in keys.items() if key not in self._parts}
        if new:
            self.budget.spend(alone_work(connected, network, prepared.switching, new))
            light = EnvelopeResult()
            take_alone(light, connected, network, (corner, prepared.switching), new)
            leader_of = {placed.subject: layout.leaders[placed.feeder] for placed in layout.fixtures}
            highest_v, violations = dict[int, float](), light_load_violations(light)
            for _, _, subject, highest in light.light_loads():
                leader = leader_of[subject]
                highest_v[leader] = max(highest.value, highest_v.get(leader, 0.0))
            for leader in new:
                own = [violation for violation in violations if leader_of[violation.subject] == leader]
                self._parts[keys[leader]] = AloneResult(highest_v.get(leader), own)
        parts = [self._parts[key] for key in keys.values()]
        return AloneResult(
            max((part.highest_v for part in parts if part.highest_v is not None), default=None),
            [violation for part in parts for violation in part.violations],
        )

    def _of_part(self, choice: Choice, leader: int) -> Choice:
        """What is chosen in the slots that lie in one part of the wiring."""
        if not self._slots_of_part:
            leaders = self._base.connected.layout.leaders
            for slot in range(len(self.slots)):
                for of in {leaders[feeder] for feeder in self.feeders_of(slot)}:
                    self._slots_of_part.setdefault(of, []).append(slot)
        return tuple(choice[slot] for slot in self._slots_of_part.get(leader, ()))

    def _fill(self, prepared: PreparedState, choice: Choice) -> Filled:
        """The chosen cables in the open places at the temperature of a state; kept for the last choice."""
        if choice != self._filled_with:
            self._filled, self._filled_with = {}, choice
        layout = prepared.connected.layout
        if layout.temperature_c not in self._filled:
            laid = list(layout.spans)
            for slot, chosen in zip(self.slots, choice, strict=True):
                filled: dict[CableSpec, Cable] = {}
                for index in slot.spans:
                    span = laid[index]
                    if span.cable is None:
                        continue
                    cable = filled.get(span.cable.spec)
                    if cable is None:
                        spec = self.candidates[chosen].spec(span.cable.spec)
                        cable = filled[span.cable.spec] = resolve_cable(spec, layout.temperature_c)
                    laid[index] = span.of(cable)
            self._filled[layout.temperature_c] = Filled(laid, layout.with_spans(laid).network_spans())
        return self._filled[layout.temperature_c]


def _too_weak(state: SolvedState, violations: list[Violation]) -> frozenset[int]:
    """The feeders at whose end a short draws too little: on a higher tap it draws more."""
    ends = {each.subject for each in violations if each.kind is SHORT_CIRCUIT_BELOW_TRIP}
    return frozenset(end.feeder for end in state.layout.ends if end.subject in ends)


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
    return span.length_m * _parallel(span)


def _parallel(span: LaidSpan) -> int:
    """Cables side by side."""
    return 1 if span.cable is None else span.cable.spec.in_parallel


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

    def climbed(self, taps_v: Taps = ()) -> Assessment:
        """From the lowest taps up, or from given ones: every feeder with a lamp too low is raised.

        The winding couples the feeders, so all are solved anew after each step. Where nothing draws less at a
        higher voltage these are the lowest taps there are, because each step was needed.
        """
        taps_v = taps_v or self._offered_v[:1] * len(self._leaders)
        found = self._assess(taps_v)
        while (raised := self._moved(taps_v, found.low_feeders, 1)) != taps_v:
            taps_v, found = raised, self._assess(raised)
        return found

    def lowered(self, found: Assessment, feeders: frozenset[int]) -> Assessment | None:
        """Some feeders a tap lower; None where that is too low for a lamp, or there is no lower tap."""
        taps_v = self._moved(found.taps_v, feeders, -1)
        if taps_v == found.taps_v:
            return None
        lower = self._assess(taps_v)
        return None if lower.low_feeders else lower

    def relieved(self, found: Assessment) -> Assessment:
        """From given taps up, one feeder at a time, while nothing but the load is too much and that helps.

        The same watts take less current on a higher tap. What was given comes back where that is not enough.
        """
        raised = found
        while _is_only_loaded(raised):
            higher = [
                self._assess(taps_v)
                for leader in dict.fromkeys(self._leaders)
                if (taps_v := self._moved(raised.taps_v, frozenset({leader}), 1)) != raised.taps_v
            ]
            eased = [each for each in higher if each.passes or _is_only_loaded(each)]
            best = min(eased, key=lambda each: count_and_excess(each.violations), default=raised)
            if count_and_excess(best.violations) >= count_and_excess(raised.violations):
                return found
            raised = best
        return raised

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
        """One feeder a tap lower; None where that is too low, breaks what was kept, or is no tap."""
        lower = self.lowered(found, frozenset({leader}))
        return None if lower is not None and found.passes and not lower.passes else lower

    def _moved(self, taps_v: Taps, feeders: frozenset[int], steps: int) -> Taps:
        """The taps with some feeders so many steps higher, as far as there are taps."""
        lifted, last = {self._leaders[feeder] for feeder in feeders}, len(self._offered_v) - 1
        return tuple(
            self._offered_v[min(max(self._offered_v.index(tap_v) + steps, 0), last)]
            if leader in lifted
            else tap_v
            for leader, tap_v in zip(self._leaders, taps_v, strict=True)
        )


def _is_only_loaded(found: Assessment) -> bool:
    """Whether the load breaks a limit, and nothing else does."""
    return bool(found.violations) and all(
        violation.kind.limited.higher_tap_helps for violation in found.violations
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
    for placed, window, loads_there in zip(layout.fixtures, connected.windows, by_fixture, strict=True):
        # A lamp at the terminal itself is referred to another voltage than its own: zero is less as well.
        low_v = window.low_v if placed.lamp_point else 0.0
        loads += [(point, held(load, low_v)) for point, load in loads_there]
    return loads


def held(load: Load, voltage_v: float) -> Load:
    """A load whose resistor and filament keep the current that they draw at a voltage. [V]"""
    held_a = load.conductance_s * voltage_v + load.filament_a * voltage_v**FILAMENT_EXPONENT
    return load._replace(current_a=load.current_a + held_a, conductance_s=0.0, filament_a=0.0)
