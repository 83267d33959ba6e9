"""Which transformer: the smallest that carries the job, and what each of the others lacks."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from service.studies.division import QUICK_STEPS, Division, divide
from service.studies.finding import Amount
from service.studies.loading import PLATE_DECIMALS, Loaded, every_state, worst_of
from service.studies.stock import used_taps, with_unit

if TYPE_CHECKING:
    from service.studies.job import Job, Subject
    from service.studies.loading import ConnectedLoad
    from service.studies.stock import Unit
    from service.studies.work import Budget

RUN_OVER_CIRCUIT, CIRCUITS_TOO_FEW = "run-over-circuit", "circuits-too-few"
CIRCUIT_REASONS = frozenset({RUN_OVER_CIRCUIT, CIRCUITS_TOO_FEW})
"""Reasons that a transformer with other circuits would not have."""

WITHOUT_PRICE = Decimal("Infinity")
"""Of two units alike the one without a price comes last."""


class Reason(NamedTuple):
    """Why a unit is not recommended: value beside limit, and the run that it is about if it is about one."""

    code: str
    measured: Amount | None = None
    limit: Amount | None = None
    subject: Subject | None = None


class Rejected(NamedTuple):
    """A unit that is not recommended, and why."""

    unit: Unit
    reasons: tuple[Reason, ...]


class RunCurrent(NamedTuple):
    """What is divided: a run, or all that meets behind it, at its highest current in any state. [A]"""

    subject: Subject
    current_a: float


class Recommended(NamedTuple):
    """The unit that carries the job, its worst state, and the runs over its circuits."""

    unit: Unit
    worst: Loaded
    runs: tuple[RunCurrent, ...]
    division: Division


class Selection(NamedTuple):
    """The answer to which transformer; none is recommended where none carries the job."""

    recommended: Recommended | None
    rejected: tuple[Rejected, ...]


class Demand(NamedTuple):
    """What a unit must carry.

    Parameters
    ----------
    job : Job
    connected : ConnectedLoad
        [W], [VA]
    spare_ratio : float
        To be left above the connected apparent power. [-]
    maximum_ratio : float
        Largest share of its rating that a unit may be loaded to. [-]
    runs : tuple of (Subject, tuple of int)
        What is divided over the circuits, and the feeders of each.
    """

    job: Job
    connected: ConnectedLoad
    spare_ratio: float
    maximum_ratio: float
    runs: tuple[tuple[Subject, tuple[int, ...]], ...]

    @property
    def wanted_va(self) -> float:
        """The connected apparent power and the spare, without the last digits of the product. [VA]"""
        return round(self.connected.apparent_va * (1.0 + self.spare_ratio), PLATE_DECIMALS)

    def limit_va(self, unit: Unit) -> float:
        """What a unit may be loaded to, without the last digits of the product. [VA]"""
        return round(self.maximum_ratio * unit.rating_va, PLATE_DECIMALS)


def select(units: tuple[Unit, ...], demand: Demand, budget: Budget) -> Selection:
    """The smallest unit that carries the job; of equals the cheapest, then the first.

    Raises
    ------
    WorkOverLimitError
        Too many units had to be solved, each with its own winding.
    """
    trial = _Trial(demand, budget)
    rejected: dict[int, Rejected] = {}
    chosen: Recommended | None = None
    for index in sorted(range(len(units)), key=lambda index: _rank(units[index])):
        unit = units[index]
        reasons = trial.plate_reasons(unit)
        if chosen is not None:
            rejected[index] = Rejected(unit, reasons or (_behind(unit, chosen.unit),))
            continue
        if not reasons:
            reasons, chosen = trial.solved(unit)
        if chosen is None:
            rejected[index] = Rejected(unit, reasons)
    return Selection(chosen, tuple(rejected[index] for index in sorted(rejected)))


def _rank(unit: Unit) -> tuple[float, Decimal]:
    return unit.rating_va, WITHOUT_PRICE if unit.price is None else unit.price


def _behind(unit: Unit, chosen: Unit) -> Reason:
    """Why a unit that may well carry the job stands behind the chosen one."""
    if unit.rating_va > chosen.rating_va:
        rating, enough = Amount(unit.rating_va, "VA"), Amount(chosen.rating_va, "VA")
        return Reason("larger-than-needed", rating, enough)
    if _rank(unit) == _rank(chosen):
        return Reason("listed-later")
    return Reason("without-price" if unit.price is None else "costs-more")


class _Trial:
    """Tries units against one demand; units whose voltage sags alike are solved once."""

    def __init__(self, demand: Demand, budget: Budget) -> None:
        self._demand, self._budget = demand, budget
        self._states: dict[tuple[float, float], list[Loaded] | None] = {}

    def plate_reasons(self, unit: Unit) -> tuple[Reason, ...]:
        """What the plates of lamps and unit show before anything is solved."""
        demand, found = self._demand, []
        if demand.wanted_va > unit.rating_va:
            wanted, rating = Amount(demand.wanted_va, "VA", 1), Amount(unit.rating_va, "VA")
            found.append(Reason("rating-below-connected", wanted, rating))
        else:
            found += self._loading_reasons(unit, demand.connected.apparent_va)
        missing = [tap_v for tap_v in used_taps(demand.job) if tap_v not in unit.taps_v]
        found += [Reason("tap-not-offered", Amount(tap_v, "V")) for tap_v in missing]
        return tuple(found)

    def solved(self, unit: Unit) -> tuple[tuple[Reason, ...], Recommended | None]:
        """What the solved states show with this unit; nothing where it carries the job."""
        states = self._solve(unit)
        if states is None:
            return (Reason("no-operating-point"),), None
        worst = worst_of(states)
        reasons = self._loading_reasons(unit, worst.supply.apparent_va)
        lowest_w = min(loaded.supply.real_w for loaded in states)
        if unit.minimum_load_w is not None and lowest_w < unit.minimum_load_w:
            drawn, least = Amount(lowest_w, "W", -1), Amount(unit.minimum_load_w, "W")
            reasons.append(Reason("below-minimum-load", drawn, least))
        runs = run_currents(self._demand.runs, states)
        division = divide([run.current_a for run in runs], unit.limits_a(), steps=QUICK_STEPS)
        if division.largest_ratio > 1.0:
            reasons.append(circuit_reason(unit, runs, division))
        if reasons:
            return tuple(reasons), None
        # Good enough to choose by; the one that is shown is searched for longer.
        division = divide([run.current_a for run in runs], unit.limits_a())
        return (), Recommended(unit, worst, runs, division)

    def _loading_reasons(self, unit: Unit, drawn_va: float) -> list[Reason]:
        limit_va = self._demand.limit_va(unit)
        if round(drawn_va, PLATE_DECIMALS) <= limit_va:
            return []
        return [Reason("loading-over-maximum", Amount(drawn_va, "VA", 1), Amount(limit_va, "VA"))]

    def _solve(self, unit: Unit) -> list[Loaded] | None:
        if unit.sag not in self._states:
            self._states[unit.sag] = every_state(with_unit(self._demand.job, unit), self._budget)
        return self._states[unit.sag]


def run_currents(
    runs: tuple[tuple[Subject, tuple[int, ...]], ...], states: list[Loaded]
) -> tuple[RunCurrent, ...]:
    """Each run at its highest current in any state; feeders that meet count as one. [A]"""
    return tuple(
        RunCurrent(
            subject,
            max(abs(sum(loaded.feeder_a[feeder] for feeder in feeders)) for loaded in states),
        )
        for subject, feeders in runs
    )


def circuit_reason(unit: Unit, runs: tuple[RunCurrent, ...], division: Division) -> Reason:
    """Which run does not fit: one that no circuit holds, else the largest on the fullest circuit."""
    limits_a = unit.limits_a()
    largest = max(runs, key=lambda run: run.current_a)
    if largest.current_a > max(limits_a):
        alone, widest = Amount(largest.current_a, "A", 1), Amount(max(limits_a), "A")
        return Reason(RUN_OVER_CIRCUIT, alone, widest, largest.subject)
    held = held_a(runs, division, len(limits_a))
    fullest = max(range(len(limits_a)), key=lambda circuit: held[circuit] / limits_a[circuit])
    on_it = [run for run, circuit in zip(runs, division.circuit_of, strict=True) if circuit == fullest]
    subject = max(on_it, key=lambda run: run.current_a).subject
    current, limit = Amount(held[fullest], "A", 1), Amount(limits_a[fullest], "A")
    return Reason(CIRCUITS_TOO_FEW, current, limit, subject)


def held_a(runs: tuple[RunCurrent, ...], division: Division, circuits: int) -> list[float]:
    """Sum of the currents on each circuit. [A], one per circuit"""
    held = [0.0] * circuits
    for run, circuit in zip(runs, division.circuit_of, strict=True):
        held[circuit] += run.current_a
    return held
