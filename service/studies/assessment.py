"""Whether a choice of cables keeps every limit, in every corner; quick enough to be asked many times."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from service.physics.network import Span, with_resistances
from service.physics.solve import NoOperatingPointError
from service.studies.breach import Breach, currents, is_low, outside, over_drop, too_thin
from service.studies.cables import resolve_cable
from service.studies.connected import connect_job
from service.studies.corners import Corner, at_corner, corners_of
from service.studies.graph import leaves_supply
from service.studies.job import CableSpec, Graph
from service.studies.solving import network_of, solve_connected
from service.studies.work import Budget, work_of

if TYPE_CHECKING:
    from service.physics.network import Network
    from service.studies.cables import Cable
    from service.studies.candidates import Candidate
    from service.studies.connected import Connected
    from service.studies.job import Job
    from service.studies.layout import LaidSpan
    from service.studies.outcome import FixtureState

ONE, PER_RUN, PER_SPAN = "one", "per-run", "per-span"
"""How far each cable is chosen for itself."""

AS_STATED = Corner("as stated", None, "as stated", None)

Choice = tuple[int, ...]
"""For each slot the index of the candidate that fills it."""


class Assessment(NamedTuple):
    """The extremes over the corners [V], [W], and the first limit of each kind that a choice breaks.

    `taps_v` is the tap of each feeder, where the taps were open; `low_feeders` those with a lamp too low.
    """

    lowest_v: float | None
    highest_v: float | None
    drop_ratio: float | None
    cable_loss_w: float | None
    breaches: tuple[Breach, ...]
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


class Reading(NamedTuple):
    """One corner of a choice: its fixtures, the loss in its cables [W], and what is broken."""

    rows: list[FixtureState]
    loss_w: float
    breaches: list[Breach]
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
        self.job, self.candidates, self.offered_taps_v = job, candidates, offered_taps_v
        self._budget = budget
        self._states: dict[tuple[float, ...], list[tuple[Connected, Network]]] = {}
        self._feeders = len(job.feeders())
        self._base, network = self._states_at(offered_taps_v[:1] * self._feeders)[0]
        self.slots: tuple[Slot, ...] = ()
        self._seen: dict[Choice, Assessment] = {}
        steady = all(not draw.conductance and not draw.filament for draw in network.draws)
        self.monotone = steady and len(self.layout_spans) == len(self._base.layout.places) - 1
        """Whether more copper can never lower a voltage.

        So it is on a tree whose loads draw no more at a higher voltage. A filament or a resistor does draw
        more: the copper that lifts it costs its neighbours volts in what they share.
        """

    @property
    def layout_spans(self) -> list[LaidSpan]:
        """The spans of the job, in the order of the slots' indices."""
        return self._base.layout.spans

    def resistance_of(self, candidate: int) -> float:
        """Resistance of a candidate, by which the candidates are told thicker from thinner. [ohm/m]"""
        spec = self.candidates[candidate].spec(CableSpec(self.candidates[candidate].conductor, None, 1))
        return resolve_cable(spec, self._base.layout.temperature_c).ohm_per_m

    def remembered(self, choice: Choice) -> Assessment:
        """Assess a choice, once."""
        if choice not in self._seen:
            self._seen[choice] = self.assess(choice)
        return self._seen[choice]

    def assess(self, choice: Choice) -> Assessment:
        """Solve a choice in every corner and hold it against every limit.

        Where the taps are open, every feeder starts on the lowest and is raised while a lamp on it is too
        low; the winding couples them, so all are solved anew after each step.

        Raises
        ------
        WorkOverLimitError
            The budget is spent.
        """
        taps_v = self.offered_taps_v[:1] * self._feeders
        while True:
            found = self._assess_at(choice, taps_v)
            raised = self._raised(taps_v, found.low_feeders)
            if raised == taps_v:
                return found
            taps_v = raised

    def _raised(self, taps_v: tuple[float, ...], low: frozenset[int]) -> tuple[float, ...]:
        """Each feeder with a lamp too low on its next higher tap, with all that meet behind it."""
        if not taps_v:
            return taps_v
        leaders, offered = self._base.layout.leaders, self.offered_taps_v
        lifted = {leaders[feeder] for feeder in low}
        return tuple(
            offered[min(offered.index(tap_v) + 1, len(offered) - 1)] if leaders[feeder] in lifted else tap_v
            for feeder, tap_v in enumerate(taps_v)
        )

    def _assess_at(self, choice: Choice, taps_v: tuple[float, ...]) -> Assessment:
        """Assess a choice on given taps."""
        readings = [self._read(connected, network, choice) for connected, network in self._states_at(taps_v)]
        breaches: dict[str, Breach] = {}
        for reading in readings:
            for breach in reading.breaches:
                breaches.setdefault(breach.code, breach)
        rows = [row for reading in readings for row in reading.rows]
        return Assessment(
            lowest_v=min((row.voltage_v for row in rows), default=None),
            highest_v=max((row.voltage_v for row in rows), default=None),
            drop_ratio=max((row.drop_ratio for row in rows), default=None),
            cable_loss_w=max((reading.loss_w for reading in readings), default=None),
            breaches=tuple(breaches.values()),
            taps_v=taps_v,
            low_feeders=frozenset().union(*(reading.low_feeders for reading in readings)),
        )

    def _states_at(self, taps_v: tuple[float, ...]) -> list[tuple[Connected, Network]]:
        """The job on given taps, connected in every corner; remembered."""
        if taps_v not in self._states:
            job = with_taps(self.job, taps_v)
            corners = [AS_STATED] if job.corners is None else corners_of(job.corners)
            connected = [connect_job(at_corner(job, corner)) for corner in corners]
            self._states[taps_v] = [(one, network_of(one)) for one in connected]
        return self._states[taps_v]

    def _read(self, connected: Connected, network: Network, choice: Choice) -> Reading:
        """Solve one corner and hold it against every limit."""
        self._budget.spend(work_of(network.points))
        spans, cables = self._fill(connected, choice)
        try:
            state = solve_connected(connected, with_resistances(network, spans))
        except NoOperatingPointError:
            breach = Breach("no-operating-point", connected.job.supply.subject, 0.0, 0.0, "1", "low")
            return Reading([], 0.0, [breach], frozenset(range(self._feeders)))
        rows = state.fixtures(state.voltages())
        ohms = [span.resistance_ohm for span in spans]
        currents_a = currents(state, ohms)
        loss_w = sum(amps * amps * ohm for amps, ohm in zip(currents_a, ohms, strict=True))
        found = [*outside(state, rows), *over_drop(state, rows), *too_thin(state, currents_a, cables)]
        low = frozenset(row.placed.feeder for row in rows if row.drop_over or is_low(state, row))
        return Reading(rows, loss_w, found, low)

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


def with_taps(job: Job, taps_v: tuple[float, ...]) -> Job:
    """The job with the tap of each feeder; none given leaves them as they are. [V]"""
    if not taps_v:
        return job
    if isinstance(job.wiring, Graph):
        taps = iter(taps_v)
        spans = tuple(
            span._replace(tap_v=next(taps)) if leaves_supply(span) else span for span in job.wiring.spans
        )
        return job._replace(wiring=job.wiring._replace(spans=spans))
    runs = tuple(run._replace(tap_v=tap_v) for run, tap_v in zip(job.wiring, taps_v, strict=True))
    return job._replace(wiring=runs)
