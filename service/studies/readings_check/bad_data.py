"""Bad data: readings that no wiring of this kind can give, and what looks like an error of recording."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import hypot, isfinite
from typing import Final, NamedTuple

from service.estimation.jacobian import tangent_at
from service.estimation.job import CURRENT, DISCONNECTED, NO_LOAD, UNITS, ReadingsJob
from service.estimation.model import AS_THOUGHT, Measurement, Model, ReadState
from service.estimation.probes import Routes
from service.estimation.uncertainty import COVERAGE
from service.findings.finding import FAULT, NOTE, WARNING, Amount, FindingFacts, FindingKind
from service.physics.network import TERMINAL
from service.studies.readings_check.plausible import HIGHEST_SUPPLY

ABSURD_A = 60.0
"""More than the largest circuits of low-voltage lighting, 25 A, could carry for long. [A]"""

ABSURD_LOAD = 10.0
"""And so many times what is declared. [-]"""

HALF_DEAD = (0.1, 0.6)
"""Volts between these shares of the supply under such a current are neither a break nor a drop. [-]"""


class Unused(NamedTuple):
    """A reading that is judged against nothing, and why."""

    position: int
    finding: FindingFacts

    @property
    def reason(self) -> str:
        """The code."""
        return self.finding.code

    @property
    def is_impossible(self) -> bool:
        """Whether it speaks against the wiring or against another reading, and not only says too little."""
        return self.finding.severity == FAULT or self.finding.kind is CURRENT_WITHOUT_LOAD


READING_WITHOUT_STATE: Final = FindingKind(
    "reading-without-state",
    (WARNING,),
    "{where} does not say what was on when it was taken: a voltage without its load tells nothing of the"
    " cable. Say the state and send it again.",
    "A reading without a state is judged against nothing and fitted to nothing.",
)


def stateless(job: ReadingsJob) -> list[Unused]:
    """Readings without a stated state."""
    return [
        Unused(index, READING_WITHOUT_STATE.found(reading.subject, "own-calculation"))
        for index, reading in enumerate(job.readings)
        if reading.state is None
    ]


STATE_CANNOT_BE_CARRIED: Final = FindingKind(
    "state-cannot-be-carried",
    (FAULT,),
    "{where} was taken in a state that the wiring as described cannot carry: no voltage would satisfy it."
    " Whatever the meter shows there, the wiring is other than described. Check lengths, sizes and watts"
    " first.",
    "The wiring as described has no operating point in a state in which it was read.",
)


def unusable(job: ReadingsJob, model: Model, routes: Routes, measurements: list[Measurement]) -> list[Unused]:
    """Readings with a state that cannot be; each is named once, for the first reason."""
    found: dict[int, Unused] = {}
    carried = [_is_carried(model, state) for state in model.states]
    for one in measurements:
        finding = _alone(job, model, routes, one)
        if finding is None and not carried[one.state]:
            finding = STATE_CANNOT_BE_CARRIED.found(job.readings[one.position].subject, "own-calculation")
        if finding is not None:
            found[one.position] = Unused(one.position, finding)
    rest = [one for one in measurements if one.position not in found]
    for index, finding in _above_upstream(job, routes, rest):
        found[index] = Unused(index, finding)
    idle = [one for one in rest if one.position not in found and model.states[one.state].on == NO_LOAD]
    for index, finding in _dropped_without_load(job, model, routes, idle):
        found[index] = Unused(index, finding)
    return [found[index] for index in sorted(found)]


def _is_carried(model: Model, state: ReadState) -> bool:
    """Whether the wiring as it is thought to be has an operating point in a state, and not at the nose."""
    solved = model.solved(state)
    return solved is not None and tangent_at(solved) is not None


READING_STATE_UNFIT: Final = FindingKind(
    "reading-state-unfit",
    (WARNING,),
    "{where} says nothing in the state in which it was taken: an ohmmeter needs the supply off and the run"
    " disconnected, volts and amperes need it on.",
    "Ohms that were read with the supply on, or volts or amperes without it.",
)

RESISTANCE_LAMPS_IN: Final = FindingKind(
    "resistance-lamps-in",
    (WARNING,),
    "{where} was read with filament lamps or resistors still in: cold, they are nearly a short for a"
    " meter. Take them out and read again. Electronic loads may stay.",
    "Ohms of a run on which loads that conduct at an ohmmeter's volts were left in.",
)

METER_AVERAGES: Final = FindingKind(
    "meter-averages",
    (WARNING,),
    "{where} comes from an averaging meter, and the lamps that were on draw a distorted current."
    " What such a meter shows then cannot be predicted: use a true-RMS meter.",
    "An averaging meter on alternating current with loads of a low power factor.",
)

CURRENT_WITHOUT_LOAD: Final = FindingKind(
    "current-without-load",
    (WARNING,),
    "{where} shows {measured} where nothing was on, so not everything was off. Find what draws it, or say"
    " what was on.",
    "A current in a state in which nothing is to draw any.",
)

READING_ABOVE_SUPPLY: Final = FindingKind(
    "reading-above-supply",
    (FAULT,),
    "{where} shows {measured}, and the supply gives {limit} without load. No mains and no tap of this box"
    " makes up for that: check the meter's range and where its probes were.",
    "A voltage of more than 1.4 times what the supply gives without load.",
)


def _alone(job: ReadingsJob, model: Model, routes: Routes, one: Measurement) -> FindingFacts | None:
    """What is wrong with a reading by itself."""
    subject, state = job.readings[one.position].subject, model.states[one.state]
    if one.probe.is_resistance or state.on == DISCONNECTED:
        return _of_state(job, model, one)
    if job.instrument.averaging and any(
        load.non_active_var or load.non_active_a for row in model.lit(state, AS_THOUGHT) for _, load in row
    ):
        return METER_AVERAGES.found(subject, "own-calculation")
    unit, error = UNITS[one.probe.quantity], _error(one)
    measured = Amount(one.value, unit)
    if not one.probe.is_voltage:
        if state.on == NO_LOAD and one.value > error:
            return CURRENT_WITHOUT_LOAD.found(subject, "own-calculation", measured, Amount(0.0, "A"))
        return None
    highest_v = _supply_v(model, one)
    if one.value - error > HIGHEST_SUPPLY * highest_v:
        limit = Amount(highest_v, "V")
        return READING_ABOVE_SUPPLY.found(subject, "own-calculation", measured, limit)
    return _beyond_cable(job, model, routes, one)


def _of_state(job: ReadingsJob, model: Model, one: Measurement) -> FindingFacts | None:
    """What is wrong with ohms, or with anything else that was read without the supply."""
    reading = job.readings[one.position]
    if not one.probe.is_resistance or model.states[one.state].on != DISCONNECTED:
        return READING_STATE_UNFIT.found(reading.subject, "own-calculation")
    left_in = reading.state is None or not reading.state.lamps_out
    if left_in and _conducts(model, one.probe.point):
        return RESISTANCE_LAMPS_IN.found(reading.subject, "own-calculation")
    return None


def _conducts(model: Model, point: int) -> bool:
    """Whether a filament or a resistor hangs on what is joined to a point without the supply."""
    layout = model.connected.layout
    feeders = {layout.leaders[span.feeder] for span in layout.spans if point in {span.start, span.end}}
    return any(
        load.filament_a or load.conductance_s
        for placed, row in zip(layout.fixtures, model.rows, strict=True)
        if layout.leaders[placed.feeder] in feeders
        for _, load in row
    )


DROP_BEYOND_CABLE: Final = FindingKind(
    "drop-beyond-cable",
    (FAULT,),
    "{where} shows {measured}. The cable would lose so much only at {limit}: no cable explains it. Look"
    " for a short, two conductors joined or a burnt joint; read the volts at the terminals and the amperes"
    " first.",
    "A drop for which the cable would have to carry far more than anything here draws.",
)


def _beyond_cable(job: ReadingsJob, model: Model, routes: Routes, one: Measurement) -> FindingFacts | None:
    """A drop for which the cable would have to carry what nothing here draws."""
    supply_v, state = _supply_v(model, one), model.states[one.state]
    ohm = routes.path_ohm(one.probe.point)
    if state.on == NO_LOAD or not ohm:
        return None
    low, high = HALF_DEAD
    needed_a = (supply_v - one.value) / ohm
    drawn_a = sum(load.rms_current(supply_v) for row in model.lit(state, AS_THOUGHT) for _, load in row)
    if low < one.value / supply_v < high and needed_a > max(ABSURD_A, ABSURD_LOAD * drawn_a):
        length = Amount(needed_a, "A")
        subject = job.readings[one.position].subject
        measured = Amount(one.value, "V")
        return DROP_BEYOND_CABLE.found(subject, "own-calculation", measured, length)
    return None


READING_ABOVE_UPSTREAM: Final = FindingKind(
    "reading-above-upstream",
    (FAULT,),
    "{where} is one of two in the same state that cannot both be right: {measured} downstream and {limit}"
    " upstream, where a voltage can only fall on the way out. Take both again.",
    "A voltage that is higher than where it comes from, by more than the meter may be off in both.",
)


def _above_upstream(
    job: ReadingsJob, routes: Routes, measurements: list[Measurement]
) -> list[tuple[int, FindingFacts]]:
    """Volts higher than where they come from; of those that contradict each other the one in most pairs."""
    volts = [one for one in measurements if one.probe.is_voltage]
    pairs = [
        (up, down)
        for up in volts
        for down in volts
        if up.state == down.state
        and all(
            down.value - up.value * ratio > _difference_error(up, down, ratio)
            for ratio in _ratios_upstream(job, up)
        )
        and _same_tap(up, down)
        and routes.is_behind(down.probe.point, up.probe.point)
    ]
    found = []
    while pairs:
        counts: dict[int, int] = {}
        for pair in pairs:
            for one in pair:
                counts[one.position] = counts.get(one.position, 0) + 1
        most = max(counts.values())
        out = {index for index, count in counts.items() if count == most}
        for index in sorted(out):
            up, down = next(pair for pair in pairs if index in {pair[0].position, pair[1].position})
            found.append((index, _upstream_finding(job, up, down, index)))
        pairs = [pair for pair in pairs if not out & {pair[0].position, pair[1].position}]
    return found


DROP_WITHOUT_LOAD: Final = FindingKind(
    "drop-without-load",
    (FAULT,),
    "{where} shows {measured} with nothing on, and nearer the supply it was {limit}. There should be no drop"
    " then, so something is drawing current. Find it, or say what was on.",
    "A voltage that falls along the cable in a state in which nothing is to draw.",
)


def _dropped_without_load(
    job: ReadingsJob, model: Model, routes: Routes, idle: list[Measurement]
) -> list[tuple[int, FindingFacts]]:
    """Volts lower than where they come from while nothing is on: there should be no drop then.

    What shows next to nothing is behind a break, and not behind a drop.
    """
    volts = [one for one in idle if one.probe.is_voltage]
    found = {}
    for up in volts:
        for down in volts:
            if (
                up.state == down.state
                and all(
                    abs(up.value * ratio - down.value) > _difference_error(up, down, ratio)
                    for ratio in _ratios_upstream(job, up)
                )
                and up.value > down.value
                and down.value > HALF_DEAD[0] * _supply_v(model, down)
                and _same_tap(up, down)
                and routes.is_behind(down.probe.point, up.probe.point)
            ):
                subject = job.readings[down.position].subject
                amounts = Amount(down.value, "V"), Amount(up.value, "V")
                found[down.position] = DROP_WITHOUT_LOAD.found(subject, "own-calculation", *amounts)
    return list(found.items())


def _upstream_finding(job: ReadingsJob, up: Measurement, down: Measurement, index: int) -> FindingFacts:
    return READING_ABOVE_UPSTREAM.found(
        job.readings[index].subject,
        "own-calculation",
        Amount(down.value, "V"),
        Amount(up.value, "V"),
        (("upstream", _pointer(job, up)), ("downstream", _pointer(job, down))),
    )


def _pointer(job: ReadingsJob, one: Measurement) -> str:
    return job.readings[one.position].subject.pointer


def _ratios_upstream(job: ReadingsJob, up: Measurement) -> list[float]:
    """What a place may have of what was read upstream: a run at the terminals may be on another tap. [-]"""
    supply = job.circuit.supply
    if up.probe.point != TERMINAL or supply.direct_current:
        return [1.0]
    own_v = up.probe.tap_ratio * supply.rated_v
    return [1.0, *(tap_v / own_v for tap_v in supply.taps_v)]


def _same_tap(up: Measurement, down: Measurement) -> bool:
    """Whether two places are on one tap: the terminal belongs to all of them."""
    return up.probe.tap_ratio == down.probe.tap_ratio


def _error(one: Measurement) -> float:
    """Expanded uncertainty of one reading. [V], [A]"""
    return COVERAGE * hypot(one.own, one.gain * one.value)


def _difference_error(up: Measurement, down: Measurement, ratio: float) -> float:
    """By how much one may differ from `ratio` times the other and be the same: what both may be off by. [V]

    Of many pairs some differ by more than the uncertainty of a difference, and each would be a fault; what
    is less than this is judged with all other readings by their covariance.
    """
    return ratio * _error(up) + _error(down)


def _supply_v(model: Model, one: Measurement) -> float:
    """Open-circuit voltage in a reading's state where it was taken. [V]"""
    volts = model.network.open_circuit_v[one.probe.point] * model.states[one.state].supply_ratio
    return volts * one.probe.tap_ratio if not one.probe.point else volts


POWERS_OF_TEN = (0.001, 0.01, 0.1, 10.0, 100.0, 1000.0)

NEAR_RATIO = 0.05
"""Ten times as much fits where it is within this share of what is expected. [-]"""

CLEARLY = 10.0
"""A current is missed where so many times the meter's error were to flow. [-]"""

MUCH_BETTER = 0.25
"""Two readings are exchanged where that leaves at most this share of how far they are off. [-]"""


class _Residual(NamedTuple):
    """One reading beside what the wiring as described would show, and the meter's expanded error."""

    one: Measurement
    predicted: float
    error: float


def recording_errors(job: ReadingsJob, model: Model, measurements: list[Measurement]) -> list[FindingFacts]:
    """What looks like a slip, in the order of the readings that it is about."""
    predicted = model.predicted(measurements)
    residuals = [
        _Residual(one, each, _error(one))
        for one, each in zip(measurements, predicted, strict=True)
        if isfinite(each)
    ]
    found = [(residual.one.position, _recorded(job, model, residual)) for residual in residuals]
    named = [(position, finding) for position, finding in found if finding is not None]
    named += [(b.one.position, _exchanged(job, a, b)) for a, b in _pairs(residuals)]
    return [finding for _, finding in sorted(named, key=lambda pair: pair[0])]


CLAMP_READS_NOTHING: Final = FindingKind(
    "clamp-reads-nothing",
    (NOTE,),
    "{where} shows {measured} where about {limit} are to flow. A clamp round both conductors shows"
    " nothing: put it round one of them. If it was, nothing behind it was on.",
    "A clamp that shows next to nothing where a current is expected.",
)

READING_DECIMAL: Final = FindingKind(
    "reading-decimal",
    (NOTE,),
    "{where} says {measured}, and {limit} would fit: look at the decimal point, the unit and the meter's"
    " range.",
    "A reading that would fit if it were ten, a hundred or a thousand times as large or as small.",
)


def _recorded(job: ReadingsJob, model: Model, residual: _Residual) -> FindingFacts | None:
    """A clamp round both conductors, or a decimal point in the wrong place."""
    one, subject = residual.one, job.readings[residual.one.position].subject
    lit = one.probe.quantity == CURRENT and model.states[one.state].on != NO_LOAD
    if lit and one.value <= residual.error and residual.predicted > CLEARLY * residual.error:
        flows = Amount(residual.predicted, "A")
        return CLAMP_READS_NOTHING.found(subject, "own-calculation", Amount(one.value, "A"), flows)
    unit = UNITS[one.probe.quantity]
    for power in POWERS_OF_TEN:
        if residual.predicted and abs(one.value * power / residual.predicted - 1.0) < NEAR_RATIO:
            meant = Amount(one.value * power, unit)
            return READING_DECIMAL.found(subject, "own-calculation", Amount(one.value, unit), meant)
    return None


READINGS_EXCHANGED: Final = FindingKind(
    "readings-exchanged",
    (NOTE,),
    "{where} and {name} fit if they were written down for each other: {measured} and {limit}.",
    "Two readings of one state that are both off and would both fit at the other's place.",
)


def _pairs(residuals: list[_Residual]) -> Iterator[tuple[_Residual, _Residual]]:
    """Pairs of volts in one state that are both off, and both fit at the other's place."""
    volts = [residual for residual in residuals if residual.one.probe.is_voltage and _is_off(residual)]
    for a, b in combinations(volts, 2):
        if a.one.state == b.one.state:
            here = abs(a.one.value - a.predicted) + abs(b.one.value - b.predicted)
            there = abs(a.one.value - b.predicted) + abs(b.one.value - a.predicted)
            if there < MUCH_BETTER * here:
                yield a, b


def _is_off(residual: _Residual) -> bool:
    return abs(residual.one.value - residual.predicted) > residual.error


def _exchanged(job: ReadingsJob, a: _Residual, b: _Residual) -> FindingFacts:
    other = job.readings[a.one.position].name
    return READINGS_EXCHANGED.found(
        job.readings[b.one.position].subject,
        "own-calculation",
        Amount(b.one.value, "V"),
        Amount(a.one.value, "V"),
        (("name", other),),
    )
