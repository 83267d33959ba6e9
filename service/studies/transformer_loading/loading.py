"""What one state asks of the supply, and which of several states asks most."""

from __future__ import annotations

from contextlib import suppress
from typing import NamedTuple

from service.circuit.corners import TOGETHER, Corner, corners_of
from service.circuit.envelope import EnvelopeResult, light_work, take_light_loads
from service.circuit.growth import certain_growth
from service.circuit.job import Job
from service.circuit.limits import beyond
from service.circuit.reading import CircuitResult, StateReading, SupplyResult, built
from service.circuit.state import Connected, SolvedState
from service.circuit.work import Budget, WorkOverLimitError, work_of, work_of_judging
from service.findings.finding import FindingFacts
from service.findings.judge import judged, with_corners
from service.findings.loading import usual_loading_ratio
from service.findings.voltage import growth_findings

PLATE_DECIMALS = 9
"""Of sums and products of figures on plates: 100 VA and a tenth are 110 VA and not the next float above."""


class LoadSum(NamedTuple):
    """What all fixtures are made to draw, added up number by number. [W], [VA]"""

    real_w: float
    apparent_va: float


class StateLoading(NamedTuple):
    """One solved state with all on: which it is, and what it shows."""

    corner: Corner
    reading: StateReading

    @property
    def state(self) -> SolvedState:
        """The operating point."""
        return self.reading.state

    @property
    def supply(self) -> SupplyResult:
        """The supply at its terminals."""
        return self.reading.supply

    @property
    def usual_ratio(self) -> float | None:
        """Share of the rating at a usual power factor, where that is another. [-]"""
        return usual_loading_ratio(self.reading)

    @property
    def rating_va(self) -> float | None:
        """Rating of the supply, where it is known. [VA]"""
        return self.supply.rating_va

    @property
    def power_factor(self) -> float | None:
        """Real over apparent power at the terminals; none on direct current or where nothing is on. [-]"""
        if self.state.job.supply.direct_current or self.supply.apparent_va <= 0.0:
            return None
        return min(1.0, self.supply.real_w / self.supply.apparent_va)

    @property
    def primary_va(self) -> float:
        """Apparent power that an ideal core takes from the mains: the winding's heat is all active. [VA]"""
        active_w = self.supply.real_w + self.reading.winding_loss_w
        non_active = max(0.0, self.supply.apparent_va**2 - self.supply.real_w**2)
        return float((active_w * active_w + non_active) ** 0.5)


def connected_load(connected: Connected) -> LoadSum:
    """The fixtures at the voltage of their label, else at that of their tap; plain sums.

    Volt-amperes of unlike power factor add up to less than their sum, so the sum is the cautious habit.
    """
    feed = connected.feed
    real_w = apparent_va = 0.0
    for placed in connected.layout.fixtures:
        line = placed.line
        volts = feed.taps_v[feed.tap_of[placed.feeder]] if line.rated_v is None else line.rated_v
        real_w += placed.pieces * line.load.real_power(volts)
        apparent_va += placed.pieces * volts * line.load.rms_current(volts)
    return LoadSum(round(real_w, PLATE_DECIMALS), round(apparent_va, PLATE_DECIMALS))


def every_state(job: Job, budget: Budget) -> list[StateLoading] | None:
    """The stated state and every corner asked for; None where one of them has no operating point.

    Raises
    ------
    WorkOverLimitError
        The budget is spent.
    """
    found = []
    stated = built(job)
    for state in [stated, *map(stated.at, corners_of(job.corners))]:
        budget.spend(work_of(len(state.connected.layout.places)))
        reading = state.read()
        if reading is None:
            return None
        found.append(StateLoading(state.corner, reading))
    return found


class FoundBehind(NamedTuple):
    """What voltage-drop finds in every state, and whether the work was enough for all of it."""

    findings: list[FindingFacts]
    complete: bool


def found_behind(states: list[StateLoading], switching: str, budget: Budget) -> FoundBehind:
    """Judge every state, the stated one first, and what the switching allows alone in each corner.

    Raises
    ------
    WorkOverLimitError
        The budget does not last for all on.
    """
    stated, *corners = states
    envelope = EnvelopeResult(states=[(each.corner, each.reading) for each in corners])
    budget.spend(len(states) * work_of_judging(stated.state.network.points))
    found, complete = found_in(stated.reading, envelope), False
    with suppress(WorkOverLimitError):
        if switching != TOGETHER:
            _take_alone(envelope, corners, switching, budget)
            found = found_in(stated.reading, envelope)
        complete = True
    return FoundBehind(found, complete)


def _take_alone(
    envelope: EnvelopeResult, corners: list[StateLoading], switching: str, budget: Budget
) -> None:
    """Take what may be on alone in each corner, beside all on.

    Raises
    ------
    WorkOverLimitError
        The budget is spent.
    """
    for corner, reading in corners:
        state, volts = reading.state, reading.volts
        for placed, start_v, far_v in zip(state.layout.fixtures, volts.start_v, volts.far_v, strict=True):
            envelope.take_fixture(placed.subject, start_v, far_v, corner)
    for corner, reading in corners:
        state = reading.state
        budget.spend(light_work(state, state.network, corner, switching))
        take_light_loads(envelope, state, state.network, corner, switching)


def found_in(stated: StateReading, envelope: EnvelopeResult) -> list[FindingFacts]:
    """What voltage-drop finds in a job that was solved as stated and in every corner asked for."""
    near = growth_findings(stated.state, certain=certain_growth(stated.state.network))
    return [*with_corners(judged(stated), envelope), *near]


def worst_of(states: list[StateLoading]) -> StateLoading:
    """The state that loads the supply most; of equals, last digits apart, the first."""
    most_va = max(loaded.supply.used_va for loaded in states)
    return next(loaded for loaded in states if not beyond(most_va, loaded.supply.used_va))


def highest_circuits(states: list[StateLoading]) -> tuple[CircuitResult, ...]:
    """Each circuit at its highest current, whichever state gives it."""
    rows = zip(*(loaded.supply.circuits for loaded in states), strict=True)
    return tuple(max(row, key=lambda circuit: circuit.current_a) for row in rows)
