"""Which transformer: the smallest that carries the job, and what each of the others lacks."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from decimal import Decimal
from math import ceil, inf
from typing import Final, NamedTuple

from service import tables
from service.circuit.corners import AS_STATED, TOGETHER, Corner
from service.circuit.job import CircuitSpec, Job, JobPart, Supply, WindingPlate
from service.circuit.limits import (
    EXACTLY,
    below_minimum_load,
    continuous_limit,
    device_too_large,
    near_circuit_limit,
    over_circuit,
    over_rating,
    over_share,
    rated_too_low,
)
from service.circuit.reading import read_off
from service.circuit.supply import FedCircuit
from service.circuit.work import Budget, WorkOverLimitError, work_of
from service.findings.connection import TAP_NOT_OFFERED
from service.findings.finding import FAULT, GRAVEST_FIRST, NOTE, WARNING, Amount, FindingFacts, FindingKind
from service.findings.limits import excess, unaccepted
from service.findings.loading import (
    BELOW_MINIMUM_LOAD,
    CIRCUIT_NEAR_LIMIT,
    CIRCUIT_OVER_CURRENT,
    CONTINUOUS_SHARE,
    RATING_AT_USUAL_POWER_FACTOR,
    TRANSFORMER_OVER_RATING,
    WINDING_OVER_CURRENT,
    over_rating_finding,
    usual_apparent_va,
    usual_power_factor_finding,
)
from service.findings.protection import (
    CONDUCTOR_BELOW_DEVICE,
    SHORT_CIRCUIT_BELOW_TRIP,
    WeakestEnd,
    device_findings,
    weakest_ends,
)
from service.studies.transformer_loading.division import (
    QUICK_STEPS,
    Division,
    divide_where_known,
    divide_where_suited,
)
from service.studies.transformer_loading.loading import (
    PLATE_DECIMALS,
    FoundBehind,
    LoadSum,
    StateLoading,
    every_state,
    found_behind,
    worst_of,
)
from service.studies.transformer_loading.reasons import (
    BEHIND_IT,
    CANNOT_BE_CARRIED,
    CIRCUITS_TOO_FEW,
    COSTS_MORE,
    FULL_AT_USUAL_POWER_FACTOR,
    LARGER_THAN_NEEDED,
    LISTED_LATER,
    LOADING_OVER_MAXIMUM,
    MAY_NOT_TRIP,
    NOT_TRIED,
    RATED_TOO_LOW,
    RUN_OVER_CIRCUIT,
    TAP_MISSING,
    TOO_LITTLE_LOAD,
    TOO_MUCH_CURRENT,
    TOO_THIN_FOR_DEVICE,
    WITHOUT_PRICE,
    ReasonKind,
)

SPANS_A_WORK = 20
"""Spans held against a device with one unit of work."""


SEVERAL: Final = 2
"""Circuits from which on it matters on which of them a run is."""


OF_DEVICES: Final = frozenset({CONDUCTOR_BELOW_DEVICE.code, SHORT_CIRCUIT_BELOW_TRIP.code})
"""What hangs on the device of the circuit on which a run is."""


UNPRICED = Decimal("Infinity")
"""Of two units alike the one without a price comes last."""


class Reason(NamedTuple):
    """Why a unit is not recommended: value beside limit, and what it is about but for the unit itself.

    `finding` is what voltage-drop finds with the unit, where that is the reason.
    """

    kind: ReasonKind
    measured: Amount | None = None
    limit: Amount | None = None
    subject: JobPart | None = None
    finding: FindingFacts | None = None


class RunCurrent(NamedTuple):
    """What is divided: a run, or all that meets behind it, at its highest current in any state. [A]"""

    subject: JobPart
    current_a: float


class Demand(NamedTuple):
    """What a unit must carry.

    Parameters
    ----------
    job : Job
    connected : LoadSum
        [W], [VA]
    spare_ratio : float
        To be left above the connected apparent power. [-]
    maximum_ratio : float
        Largest share of its rating that a unit may be loaded to. [-]
    runs : tuple of (JobPart, tuple of int)
        What is divided over the circuits, and the feeders of each.
    of_any : frozenset of (str, Subject)
        Code and subject of what is found of the job whatever feeds it, which is no matter of a unit.
    accepted : frozenset of str
        Codes of warnings with which a unit passes all the same.
    """

    job: Job
    connected: LoadSum
    spare_ratio: float
    maximum_ratio: float
    runs: tuple[tuple[JobPart, tuple[int, ...]], ...]
    of_any: frozenset[tuple[str, JobPart]] = frozenset()
    accepted: frozenset[str] = frozenset()

    @property
    def spared_va(self) -> float:
        """The connected apparent power and the spare, without the last digits of the product. [VA]"""
        return round(self.connected.apparent_va * (1.0 + self.spare_ratio), PLATE_DECIMALS)

    @property
    def least_va(self) -> float:
        """What a unit must be rated at least, for the spare and for the share that may be used. [VA]"""
        shared_va = round(self.connected.apparent_va / self.maximum_ratio, PLATE_DECIMALS)
        return max(self.spared_va, shared_va)

    def limit_va(self, unit: TransformerUnit) -> float:
        """What a unit may be loaded to, without the last digits of the product. [VA]"""
        return round(self.maximum_ratio * unit.rating_va, PLATE_DECIMALS)


def select(units: tuple[TransformerUnit, ...], demand: Demand, budget: Budget) -> Selection:
    """The smallest unit that carries the job and passes; of equals the cheapest, then the first.

    Where none of those that carry it passes, none is recommended. The nearest is then the one with the fewest
    codes of faults, of those with the fewest of warnings, then the smallest. So it is where the work ends
    before one that passes is found.

    Raises
    ------
    WorkOverLimitError
        Too many units had to be solved, each with its own winding, and none carried the job so far.
    """
    trial = _Trial(demand, budget)
    found: dict[int, tuple[tuple[Reason, ...], ChosenTransformer | None]] = {}
    ranked = sorted(range(len(units)), key=lambda index: _rank(units[index]))
    place, ended, broken = None, False, Broken()
    for index in ranked:
        reasons = trial.plate_reasons(units[index])
        if reasons or ended:
            found[index] = reasons, None
            continue
        try:
            reasons, carrying = found[index] = trial.solved(units[index])
        except WorkOverLimitError:
            if place is None:
                raise
            found[index], ended = ((), None), True
            continue
        if carrying is not None:
            breaks = broken_by(carrying, demand.accepted)
            if place is None or breaks.numbers < broken.numbers:
                place, broken = index, breaks
                ended = breaks == Broken()
    taken = None if place is None else found[place][1]
    if taken is None or not passes(taken, demand.accepted):
        always = () if taken is None else _unmended(taken, demand.accepted)
        others = [
            Rejected(units[index], (*reasons, *(always if carrying or not reasons else ())) or NOT_TRIED_YET)
            for index, (reasons, carrying) in sorted(found.items())
        ]
        return Selection(None, tuple(others), nearest=taken)
    rejected = [
        Rejected(units[index], reasons or (_behind(units[index], taken.unit),))
        for index, (reasons, _) in sorted(found.items())
        if index != place
    ]
    return Selection(taken, tuple(rejected))


class Broken(NamedTuple):
    """Codes of the faults and of the warnings, unless they are accepted, that are found with a unit."""

    faults: frozenset[str] = frozenset()
    warnings: frozenset[str] = frozenset()

    @property
    def numbers(self) -> tuple[int, int]:
        """How many of each: fewer is better, faults first."""
        return len(self.faults), len(self.warnings)


NOT_TRIED_YET: Final = (Reason(NOT_TRIED),)
"""Of a unit of which nothing is known when the work ends."""


def passes(chosen: ChosenTransformer, accepted: frozenset[str]) -> bool:
    """Whether nothing that is found with a unit rules it out, whatever else would show it as well."""
    return not unaccepted([*chosen.warnings, *chosen.everywhere], accepted)


def broken_by(chosen: ChosenTransformer, accepted: frozenset[str]) -> Broken:
    """What is found with a unit that carries the job, and might not be with another."""
    found = unaccepted(chosen.warnings, accepted)
    faults = frozenset(each.code for each in found if each.severity == FAULT)
    return Broken(faults, frozenset(each.code for each in found if each.severity != FAULT))


def _unmended(chosen: ChosenTransformer, accepted: frozenset[str]) -> tuple[Reason, ...]:
    """What no unit mends, as what keeps each of them from being recommended."""
    broken = worst_of_codes(unaccepted(chosen.everywhere, accepted))
    return tuple(_as_reason(each, chosen.unit) for each in broken)


def _rank(unit: TransformerUnit) -> tuple[float, Decimal]:
    return unit.rating_va, UNPRICED if unit.price is None else unit.price


def _behind(unit: TransformerUnit, chosen: TransformerUnit) -> Reason:
    """Why a unit that may well carry the job stands behind the chosen one."""
    if unit.rating_va > chosen.rating_va:
        rating, enough = Amount(unit.rating_va, "VA"), Amount(chosen.rating_va, "VA")
        return Reason(LARGER_THAN_NEEDED, rating, enough)
    if _rank(unit) == _rank(chosen):
        return Reason(LISTED_LATER)
    return Reason(WITHOUT_PRICE if unit.price is None else COSTS_MORE)


class _Trial:
    """Tries units against one demand; units whose voltage sags alike are solved once."""

    def __init__(self, demand: Demand, budget: Budget) -> None:
        self._demand, self._budget = demand, budget
        self._states: dict[tuple[float, float], list[StateLoading] | None] = {}
        self._found: dict[tuple[float, float], FoundBehind] = {}
        self._ends: dict[tuple[float, float], dict[int, tuple[WeakestEnd, Corner | None]]] = {}

    def plate_reasons(self, unit: TransformerUnit) -> tuple[Reason, ...]:
        """What the plates of lamps and unit show before anything is solved."""
        demand, found = self._demand, []
        if rated_too_low(unit.rating_va, demand.spared_va):
            wanted, rating = Amount(demand.spared_va, "VA", 1), Amount(unit.rating_va, "VA")
            found.append(Reason(RATED_TOO_LOW, wanted, rating))
        else:
            found += self._loading_reasons(unit, demand.connected.apparent_va)
        missing = [tap_v for tap_v in used_taps(demand.job) if tap_v not in unit.taps_v]
        found += [Reason(TAP_MISSING, Amount(tap_v, "V")) for tap_v in missing]
        return tuple(found)

    def solved(self, unit: TransformerUnit) -> tuple[tuple[Reason, ...], ChosenTransformer | None]:
        """What the solved states show with this unit, and the unit where it carries the job.

        Reasons beside a unit that carries it are warnings that are not accepted.
        """
        states = self._solve(unit)
        if states is None:
            return (Reason(CANNOT_BE_CARRIED),), None
        worst = worst_of(states)
        reasons = self._loading_reasons(unit, max(loaded.supply.apparent_va for loaded in states))
        if not reasons:
            reasons = self._current_reasons(unit, worst)
        lowest_w = min(loaded.supply.real_w for loaded in states)
        if unit.minimum_load_w is not None and below_minimum_load(lowest_w, unit.minimum_load_w):
            drawn, least = Amount(lowest_w, "W", -1), Amount(unit.minimum_load_w, "W")
            reasons.append(Reason(TOO_LITTLE_LOAD, drawn, least))
        runs = run_currents(self._demand.runs, states)
        amps = [run.current_a for run in runs]
        division = divide_where_known(amps, unit.limits_a(), steps=QUICK_STEPS)
        reasons += circuit_reasons(unit, runs, division)
        if reasons:
            return tuple(reasons), None
        # Good enough to choose by; the one that is shown is searched for longer.
        division = divide_where_known(amps, unit.limits_a())
        chosen = ChosenTransformer(unit, _own(worst, unit), runs, division)
        found = self._found_with(unit, states)
        behind, everywhere = list[FindingFacts](), list[FindingFacts]()
        for each in found.findings:
            (everywhere if (each.code, each.subject) in self._demand.of_any else behind).append(each)
        warnings = (*behind, *self._warnings(chosen, states))
        chosen = chosen._replace(warnings=warnings, everywhere=tuple(everywhere), judged=found.complete)
        chosen = self._where_devices_suit(chosen, behind, states)
        broken = worst_of_codes(unaccepted(chosen.warnings, self._demand.accepted))
        return tuple(_as_reason(each, unit) for each in broken), chosen

    def _where_devices_suit(
        self, chosen: ChosenTransformer, behind: list[FindingFacts], states: list[StateLoading]
    ) -> ChosenTransformer:
        """The runs on circuits whose devices suit their cable, where that breaks less than even shares do.

        Without the work to find that out they stay where they are.
        """
        unit, accepted = chosen.unit, self._demand.accepted
        broken = broken_by(chosen, accepted)
        if len(unit.circuits) < SEVERAL or not OF_DEVICES & broken.warnings:
            return chosen
        amps = [run.current_a for run in chosen.runs]
        with suppress(WorkOverLimitError):
            division = divide_where_suited(amps, unit.limits_a(), self._suited(unit, states))
            moved = chosen._replace(division=division)
            moved = moved._replace(warnings=(*behind, *self._warnings(moved, states)))
            fits = not circuit_reasons(unit, chosen.runs, division)
            if fits and broken_by(moved, accepted).numbers < broken.numbers:
                return moved
        return chosen

    def _suited(self, unit: TransformerUnit, states: list[StateLoading]) -> list[list[int]]:
        """Of each run the circuits whose device suits its thinnest cable and trips on a short at its end.

        All of them where there is none.
        """
        layout, ends = states[0].state.layout, self._weakest_ends(unit, states)
        self._budget.spend(1 + len(layout.spans) // SPANS_A_WORK)
        thinnest: dict[int, float] = {}
        for span in layout.spans:
            if span.cable is not None and span.cable.device_a is not None:
                thinnest[span.feeder] = min(span.cable.device_a, thinnest.get(span.feeder, inf))
        accepted = self._demand.accepted

        def suits(feeder: int, circuit: FedCircuit) -> bool:
            if circuit.limit_a is None:
                return True
            judged = CONDUCTOR_BELOW_DEVICE.code not in accepted and not circuit.listed_system
            if judged and feeder in thinnest and device_too_large(circuit.limit_a, thinnest[feeder]):
                return False
            trips = feeder not in ends or ends[feeder][0].behind(circuit) is None
            return trips or SHORT_CIRCUIT_BELOW_TRIP.code in accepted

        circuits = unit.fed()
        return [
            [place for place, each in enumerate(circuits) if all(suits(feeder, each) for feeder in feeders)]
            or list(range(len(circuits)))
            for _, feeders in self._demand.runs
        ]

    def _found_with(self, unit: TransformerUnit, states: list[StateLoading]) -> FoundBehind:
        """The faults and warnings that voltage-drop finds with this unit, its own plate apart.

        Units that sag alike share it: what is about the one that was solved is about this one.
        """
        demand, tried = self._demand, states[0].state.job.supply.subject
        if demand.job.layout_unknown:
            return FoundBehind([], complete=True)
        if unit.sag not in self._found:
            switching = TOGETHER if demand.job.corners is None else demand.job.corners.switching
            self._found[unit.sag] = found_behind(states, switching, self._budget)
        found = self._found[unit.sag]
        own = [
            each._replace(subject=unit.subject) if each.subject == tried else each
            for each in found.findings
            if each.severity != NOTE and each.kind not in OF_A_PLATE
        ]
        return FoundBehind(own, found.complete)

    def _warnings(self, chosen: ChosenTransformer, states: list[StateLoading]) -> tuple[FindingFacts, ...]:
        """What the states show of this unit and of its stated devices that another might not show."""
        unit, found = chosen.unit, list[FindingFacts]()
        usual = max(states, key=lambda loaded: usual_apparent_va(loaded.reading) or 0.0)
        usual_va = usual_apparent_va(usual.reading)
        if usual_va is not None and over_rating(usual_va / unit.rating_va):
            finding = usual_power_factor_finding(unit.subject, usual_va, unit.rating_va)
            found.append(finding._replace(corner=corner_of(usual)))
        found += division_near_limit(chosen, unit.called)
        if not (unit.circuits and unit.of_stock):
            return tuple(found)
        state = states[0].state
        self._budget.spend(1 + state.network.points // SPANS_A_WORK)
        feed = state.feed._replace(circuits=unit.fed(), circuit_of=circuit_of(self._demand, chosen))
        devices = device_findings(replace(state, feed=feed))
        shorts = [
            short._replace(corner=corner)
            for feeder, (end, corner) in self._weakest_ends(unit, states).items()
            if (short := end.behind(feed.circuits[feed.circuit_of[feeder]])) is not None
        ]
        return (*found, *devices, *shorts)

    def _weakest_ends(
        self, unit: TransformerUnit, states: list[StateLoading]
    ) -> dict[int, tuple[WeakestEnd, Corner | None]]:
        """Of each feeder the far end where a short draws least in any state; alike for all that sag alike."""
        if unit.sag not in self._ends:
            weakest: dict[int, tuple[WeakestEnd, Corner | None]] = {}
            for loaded in states:
                self._budget.spend(work_of(loaded.state.network.points))
                for feeder, end in weakest_ends(loaded.state).items():
                    if feeder not in weakest or end.short_a < weakest[feeder][0].short_a:
                        weakest[feeder] = end, corner_of(loaded)
            self._ends[unit.sag] = weakest
        return self._ends[unit.sag]

    def _loading_reasons(self, unit: TransformerUnit, drawn_va: float) -> list[Reason]:
        limit_va = self._demand.limit_va(unit)
        if not over_share(drawn_va, unit.rating_va, self._demand.maximum_ratio):
            return []
        return [Reason(LOADING_OVER_MAXIMUM, Amount(drawn_va, "VA", 1), Amount(limit_va, "VA"))]

    def _current_reasons(self, unit: TransformerUnit, worst: StateLoading) -> list[Reason]:
        """Its current against its rating, and against the share of that which is allowed; heat goes by it."""
        demand = self._demand
        if over_rating(worst.supply.used_va / unit.rating_va):
            winding = over_rating_finding(_own(worst, unit).reading)
            return [Reason(TOO_MUCH_CURRENT, winding.measured, winding.limit)]
        if not over_share(worst.supply.used_va, unit.rating_va, demand.maximum_ratio):
            return []
        tap_v = next(tap.rated_v for tap in worst.supply.taps if tap.current_a > 0.0)
        current, most = worst.supply.used_va / tap_v, demand.limit_va(unit) / tap_v
        return [Reason(LOADING_OVER_MAXIMUM, Amount(current, "A", 1), Amount(most, "A"))]

    def _solve(self, unit: TransformerUnit) -> list[StateLoading] | None:
        if unit.sag not in self._states:
            self._states[unit.sag] = every_state(with_unit(self._demand.job, unit), self._budget)
        return self._states[unit.sag]


def circuit_of(demand: Demand, chosen: ChosenTransformer) -> tuple[int, ...]:
    """The circuit of the chosen unit for each feeder."""
    of_feeder = {
        feeder: circuit
        for (_, feeders), circuit in zip(demand.runs, chosen.division.circuit_of, strict=True)
        for feeder in feeders
    }
    return tuple(of_feeder.get(feeder, 0) for feeder in range(len(demand.job.feeders())))


def corner_of(loaded: StateLoading) -> Corner | None:
    """The corner of a state; None of the stated one."""
    return None if loaded.corner == AS_STATED else loaded.corner


def _own(loaded: StateLoading, unit: TransformerUnit) -> StateLoading:
    """The same solved state with the plate of a unit that sags like the one that was solved."""
    return StateLoading(loaded.corner, read_off(replace(loaded.state, job=with_unit(loaded.state.job, unit))))


def _as_reason(warning: FindingFacts, unit: TransformerUnit) -> Reason:
    """A finding as what keeps a unit from being recommended, and what it is about but for the unit."""
    subject = None if warning.subject == unit.subject else warning.subject
    kind = OF_WARNING.get(warning.kind) or ReasonKind(warning.code, BEHIND_IT)
    return Reason(kind, warning.measured, warning.limit, subject, warning)


def worst_of_codes(findings: list[FindingFacts]) -> list[FindingFacts]:
    """Of each code the gravest finding, and of those the one farthest beyond its limit."""
    worst: dict[str, FindingFacts] = {}
    for each in findings:
        known = worst.get(each.code)
        if known is None or _gravity(each) < _gravity(known):
            worst[each.code] = each
    return list(worst.values())


def _gravity(finding: FindingFacts) -> tuple[int, float]:
    return GRAVEST_FIRST[finding.severity], -excess(finding)


def run_currents(
    runs: tuple[tuple[JobPart, tuple[int, ...]], ...], states: list[StateLoading]
) -> tuple[RunCurrent, ...]:
    """Each run at its highest current in any state; feeders that meet count as one. [A]"""
    return tuple(
        RunCurrent(
            subject,
            max(abs(sum(loaded.reading.feeder_a[feeder] for feeder in feeders)) for loaded in states),
        )
        for subject, feeders in runs
    )


def circuit_reasons(unit: TransformerUnit, runs: tuple[RunCurrent, ...], division: Division) -> list[Reason]:
    """Which run does not fit: one that no circuit holds, else the largest on the fullest circuit.

    None where all fit; and a circuit of which no limit is known holds whatever the others do not.
    """
    fullest = fullest_circuit(unit, runs, division)
    if fullest is None or not over_circuit(fullest.current_a, fullest.limit_a):
        return []
    largest = max(runs, key=lambda run: run.current_a)
    widest_a = max(limit_a for limit_a in unit.limits_a() if limit_a is not None)
    if over_circuit(largest.current_a, widest_a, EXACTLY):
        alone, widest = Amount(largest.current_a, "A", 1), Amount(widest_a, "A")
        return [Reason(RUN_OVER_CIRCUIT, alone, widest, largest.subject)]
    on_it = [run for run, of in zip(runs, division.circuit_of, strict=True) if of == fullest.circuit]
    subject = max(on_it, key=lambda run: run.current_a).subject
    current, limit = Amount(fullest.current_a, "A", 1), Amount(fullest.limit_a, "A")
    return [Reason(CIRCUITS_TOO_FEW, current, limit, subject)]


class FullestCircuit(NamedTuple):
    """Of the circuits whose limit is known the one that is nearest to it. [A]"""

    circuit: int
    current_a: float
    limit_a: float

    @property
    def ratio(self) -> float:
        """Current over limit. [-]"""
        return self.current_a / self.limit_a


def fullest_circuit(
    unit: TransformerUnit, runs: tuple[RunCurrent, ...], division: Division
) -> FullestCircuit | None:
    """The circuit that is nearest to its limit; None where no limit is known."""
    limits_a = unit.limits_a()
    known = [
        FullestCircuit(circuit, current_a, limit_a)
        for circuit, (current_a, limit_a) in enumerate(
            zip(held_a(runs, division, len(limits_a)), limits_a, strict=True)
        )
        if limit_a is not None
    ]
    return max(known, key=lambda each: each.ratio, default=None)


def held_a(runs: tuple[RunCurrent, ...], division: Division, circuits: int) -> list[float]:
    """Sum of the currents on each circuit. [A], one per circuit"""
    held = [0.0] * circuits
    for run, circuit in zip(runs, division.circuit_of, strict=True):
        held[circuit] += run.current_a
    return held


MOST_CIRCUITS = 50
"""Circuits of one transformer."""


class TransformerUnit(NamedTuple):
    """One transformer that may be chosen.

    Parameters
    ----------
    subject : JobPart
        Where it stands in the request; the caller's id names it.
    rating_va : float
        [VA]
    taps_v : tuple of float
        Voltages that it offers. [V]
    regulation_ratio : float or None
        Referred to full load; None where it is not stated, and then its voltage does not sag. [-]
    circuits : tuple of CircuitSpec
        Empty where they are not stated, and then there is one.
    minimum_load_w : float or None
        [W]
    price : Decimal or None
        [currency]
    """

    subject: JobPart
    name: str | None
    rating_va: float
    taps_v: tuple[float, ...]
    regulation_ratio: float | None = None
    circuits: tuple[CircuitSpec, ...] = ()
    minimum_load_w: float | None = None
    price: Decimal | None = None

    @property
    def sag(self) -> tuple[float, float]:
        """What decides how its voltage follows the load: units alike in this solve alike. [-], [VA]"""
        return (self.regulation_ratio, self.rating_va) if self.regulation_ratio else (0.0, 0.0)

    @property
    def winding(self) -> WindingPlate:
        """Rating and regulation."""
        return WindingPlate(self.rating_va, self.regulation_ratio or 0.0)

    def fed(self) -> tuple[FedCircuit, ...]:
        """Its circuits, as feeders are put on them."""
        return tuple(
            FedCircuit(each.name, each.limit_a, listed_system=each.listed_system) for each in self.circuits
        )

    @property
    def called(self) -> str:
        """Its name or its id, else its rating."""
        name = self.name or self.subject.id
        return f'"{name}"' if name else f"{self.rating_va:g} VA transformer"

    @property
    def of_stock(self) -> bool:
        """Whether the caller offers it; else it is one of the usual ratings, of which no device is known."""
        return bool(self.subject.pointer)

    def limits_a(self) -> tuple[float | None, ...]:
        """Limit of each circuit, None where it is not stated. [A]

        That of a usual rating is the largest that a circuit of low-voltage lighting may have.
        """
        return tuple(circuit.limit_a for circuit in self.circuits) or (None,)

    def circuit_names(self) -> tuple[str, ...]:
        """Name of each circuit."""
        return tuple(circuit.name for circuit in self.circuits) or ("1",)


DIVISION_NEAR_LIMIT: Final = FindingKind(
    "division-near-limit",
    (WARNING,),
    f'Circuit "{{name}}" of {{box}} would carry {{measured}}, over {{limit}},'
    f" {CONTINUOUS_SHARE} of {{of}}: lighting is a continuous load.",
    f"With the runs divided as well as can be a circuit is over {CONTINUOUS_SHARE} of its device, or of the"
    " largest.",
)


NO_ROOM: Final = ReasonKind(
    DIVISION_NEAR_LIMIT.code,
    f"A circuit would carry {{measured}}, over {{limit}}, {CONTINUOUS_SHARE} of its limit.",
)

OF_WARNING: Final = {
    RATING_AT_USUAL_POWER_FACTOR: FULL_AT_USUAL_POWER_FACTOR,
    CONDUCTOR_BELOW_DEVICE: TOO_THIN_FOR_DEVICE,
    SHORT_CIRCUIT_BELOW_TRIP: MAY_NOT_TRIP,
    DIVISION_NEAR_LIMIT: NO_ROOM,
}
"""The reason that a warning is, where it is not accepted."""

OF_A_PLATE: Final = frozenset(
    {
        *OF_WARNING,
        BELOW_MINIMUM_LOAD,
        CIRCUIT_NEAR_LIMIT,
        CIRCUIT_OVER_CURRENT,
        TAP_NOT_OFFERED,
        TRANSFORMER_OVER_RATING,
        WINDING_OVER_CURRENT,
    }
)
"""What hangs on the rating, the taps and the circuits of a unit: judged for each by itself."""


def division_near_limit(chosen: ChosenTransformer, box: str) -> list[FindingFacts]:
    """The fullest circuit of a unit, in words `box`, against the share of its limit for a continuous load."""
    fullest = chosen.fullest
    if fullest is None or not near_circuit_limit(fullest.current_a, fullest.limit_a):
        return []
    largest = f"{fullest.limit_a:g} A, the largest device that low-voltage lighting may have"
    return [
        DIVISION_NEAR_LIMIT.found(
            JobPart(chosen.unit.subject.pointer or "/supply", chosen.unit.subject.id),
            tables.constant("continuous_load_ratio").source,
            measured=Amount(fullest.current_a, "A", 1),
            limit=Amount(continuous_limit(fullest.limit_a), "A"),
            parameters=(
                ("name", chosen.unit.circuit_names()[fullest.circuit]),
                ("box", box),
                ("of", "its device" if chosen.unit.of_stock else largest),
            ),
        )
    ]


class Rejected(NamedTuple):
    """A unit that is not recommended, and why."""

    unit: TransformerUnit
    reasons: tuple[Reason, ...]


class ChosenTransformer(NamedTuple):
    """The unit that carries the job, its worst state, the runs over its circuits, and what it is warned of.

    `warnings` are faults and warnings that another unit might not have, `everywhere` those that any would.
    `judged`: the work was enough to look at every state that is asked for.
    """

    unit: TransformerUnit
    worst: StateLoading
    runs: tuple[RunCurrent, ...]
    division: Division
    warnings: tuple[FindingFacts, ...] = ()
    everywhere: tuple[FindingFacts, ...] = ()
    judged: bool = True

    @property
    def fullest(self) -> FullestCircuit | None:
        """Its circuit that is nearest to its limit; None where no limit is known."""
        return fullest_circuit(self.unit, self.runs, self.division)

    @property
    def unstated(self) -> tuple[int, ...]:
        """The circuits in use of which no device is known; of a usual rating all of them."""
        limits_a = self.unit.limits_a()
        used = sorted(set(self.division.circuit_of))
        return tuple(each for each in used if limits_a[each] is None or not self.unit.of_stock)


class Selection(NamedTuple):
    """The answer to which transformer: the one that passes, or the nearest of those that carry the job.

    Where none is recommended all of them are rejected, the nearest as well.
    """

    recommended: ChosenTransformer | None
    rejected: tuple[Rejected, ...]
    nearest: ChosenTransformer | None = None

    @property
    def offered(self) -> ChosenTransformer | None:
        """The one that is shown, with its circuits; none where none carries the job."""
        return self.recommended or self.nearest

    @property
    def box(self) -> str:
        """The one that is shown, in words."""
        if self.recommended is not None:
            return f"the recommended {self.recommended.unit.called}"
        if self.nearest is None:
            return ""
        unit = self.nearest.unit
        return f"the best on offer ({unit.called if unit.of_stock else f'{unit.rating_va:g} VA'})"


class LoadingJob(NamedTuple):
    """A job, and how its transformer is to be chosen.

    Parameters
    ----------
    job : Job
    spare_ratio : float or None
        To be left above the connected apparent power; None where it was left open. [-]
    maximum_ratio : float or None
        Largest share of its rating that a unit may be loaded to; None for all of it. [-]
    stock : tuple of Unit
        Empty for the usual ratings.
    currency : str or None
        Of every price.
    accepted : frozenset of str
        Codes of warnings with which a transformer passes all the same.
    """

    job: Job
    spare_ratio: float | None = None
    maximum_ratio: float | None = None
    stock: tuple[TransformerUnit, ...] = ()
    currency: str | None = None
    accepted: frozenset[str] = frozenset()

    @property
    def spare(self) -> float:
        """The spare as asked, else what is common practice. [-]"""
        if self.spare_ratio is None:
            return tables.constant("spare_capacity_ratio").value
        return self.spare_ratio


def usual_units(taps_v: tuple[float, ...], circuits: int = 1) -> tuple[TransformerUnit, ...]:
    """The usual ratings, each with the taps in use [V] and as many circuits as fill it at the lowest.

    None has fewer circuits than it is compared with. A circuit has the most that one of low-voltage lighting
    may have. Which device stands before it is not known, so no cable is held against one.

    No box has more of them than a request may state; below 1 V even the largest would need thousands.
    """
    limit_a = tables.constant("secondary_circuit_limit").value
    lowest_v = min(taps_v)
    units = []
    for usual in tables.usual_ratings():
        count = min(max(ceil(usual.rating_va / (limit_a * lowest_v)), circuits), MOST_CIRCUITS)
        own = tuple(CircuitSpec(JobPart(""), str(number), limit_a) for number in range(1, count + 1))
        units.append(TransformerUnit(JobPart(""), None, usual.rating_va, taps_v, circuits=own))
    return tuple(units)


def used_taps(job: Job) -> tuple[float, ...]:
    """Taps that something hangs on, in the order of the request. [V]"""
    rated_v = job.supply.rated_v
    return tuple(
        dict.fromkeys(rated_v if feeder.tap_v is None else feeder.tap_v for feeder in job.feeders())
    ) or (rated_v,)


def with_unit(job: Job, unit: TransformerUnit) -> Job:
    """The job fed by another transformer; the mains stay, what belongs to the old box goes."""
    supply = Supply(
        subject=unit.subject,
        kind=job.supply.kind,
        rated_v=job.supply.rated_v,
        winding=unit.winding,
        mains=job.supply.mains,
        taps_v=unit.taps_v,
        minimum_load_w=unit.minimum_load_w,
    )
    return job._replace(supply=supply)
