"""Readings that no wiring of this kind can give, whatever is wrong with it: named, and not fitted."""

from __future__ import annotations

from math import hypot
from typing import Final, NamedTuple

from service.estimation.job import NO_LOAD, ReadingsJob
from service.estimation.model import AS_THOUGHT, Measurement, Model, ReadState
from service.estimation.probes import Routes
from service.findings.finding import FAULT, WARNING, Amount, FindingFacts, FindingKind
from service.physics.elimination import PivotNotPositiveError
from service.physics.sensitivity import Tangent
from service.physics.solve import NoOperatingPointError
from service.studies.readings_check.faults import HIGHEST_SUPPLY

COVERAGE = 2.0
"""A difference beyond twice its standard uncertainty is more than the meter's error. [-]"""


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


def stateless(asked: ReadingsJob) -> list[Unused]:
    """Readings of which nobody said what was on."""
    return [
        Unused(index, READING_WITHOUT_STATE.found(reading.subject, "own-calculation"))
        for index, reading in enumerate(asked.readings)
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


def unusable(asked: ReadingsJob, model: Model, routes: Routes, taken: list[Measurement]) -> list[Unused]:
    """Readings with a state that cannot be; each is named once, for the first reason."""
    found: dict[int, Unused] = {}
    carried = [_is_carried(model, state) for state in model.states]
    for one in taken:
        finding = _alone(asked, model, routes, one)
        if finding is None and not carried[one.state]:
            finding = STATE_CANNOT_BE_CARRIED.found(asked.readings[one.position].subject, "own-calculation")
        if finding is not None:
            found[one.position] = Unused(one.position, finding)
    rest = [one for one in taken if one.position not in found]
    for index, finding in _above_upstream(asked, routes, rest):
        found[index] = Unused(index, finding)
    idle = [one for one in rest if one.position not in found and model.states[one.state].on == NO_LOAD]
    for index, finding in _dropped_without_load(asked, model, routes, idle):
        found[index] = Unused(index, finding)
    return [found[index] for index in sorted(found)]


def _is_carried(model: Model, state: ReadState) -> bool:
    """Whether the wiring as it is thought to be has an operating point in a state, and not at the nose."""
    try:
        solved = model.solved(state)
        Tangent(solved.network, solved.point)
    except (NoOperatingPointError, PivotNotPositiveError):
        return False
    return True


METER_AVERAGES: Final = FindingKind(
    "meter-averages",
    (WARNING,),
    "{where} comes from an averaging meter, and the lamps that were on draw a current that is no sine."
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


def _alone(asked: ReadingsJob, model: Model, routes: Routes, one: Measurement) -> FindingFacts | None:
    """What is wrong with a reading by itself."""
    subject, state = asked.readings[one.position].subject, model.states[one.state]
    if asked.instrument.averaging and any(
        load.non_active_var or load.non_active_a for row in model.lit(state, AS_THOUGHT) for _, load in row
    ):
        return METER_AVERAGES.found(subject, "own-calculation")
    unit, error = ("V" if one.probe.is_voltage else "A"), _error(one)
    measured = Amount(one.value, unit)
    if not one.probe.is_voltage:
        if state.on == NO_LOAD and one.value > error:
            return CURRENT_WITHOUT_LOAD.found(subject, "own-calculation", measured, Amount(0.0, "A"))
        return None
    highest_v = _supply_v(model, one)
    if one.value - error > HIGHEST_SUPPLY * highest_v:
        limit = Amount(highest_v, "V")
        return READING_ABOVE_SUPPLY.found(subject, "own-calculation", measured, limit)
    return _beyond_cable(asked, model, routes, one)


DROP_BEYOND_CABLE: Final = FindingKind(
    "drop-beyond-cable",
    (FAULT,),
    "{where} shows {measured}. The cable would lose so much only at {limit}: no cable explains it. Look"
    " for a short, two conductors joined or a burnt joint; read the volts at the terminals and the amperes"
    " first.",
    "A drop for which the cable would have to carry far more than anything here draws.",
)


def _beyond_cable(asked: ReadingsJob, model: Model, routes: Routes, one: Measurement) -> FindingFacts | None:
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
        subject = asked.readings[one.position].subject
        measured = Amount(one.value, "V")
        return DROP_BEYOND_CABLE.found(subject, "own-calculation", measured, length)
    return None


READING_ABOVE_UPSTREAM: Final = FindingKind(
    "reading-above-upstream",
    (FAULT,),
    "{where} is one of two in the same state that cannot both be right: {measured} downstream and {limit}"
    " upstream, where a voltage can only fall on the way out. Take both again.",
    "A voltage that is higher than where it comes from, by more than the meter's error.",
)


def _above_upstream(
    asked: ReadingsJob, routes: Routes, taken: list[Measurement]
) -> list[tuple[int, FindingFacts]]:
    """Volts higher than where they come from; of those that contradict each other the one in most pairs."""
    volts = [one for one in taken if one.probe.is_voltage]
    pairs = [
        (up, down)
        for up in volts
        for down in volts
        if up.state == down.state
        and down.value - up.value > _difference_error(up, down)
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
            found.append((index, _upstream_finding(asked, up, down, index)))
        pairs = [pair for pair in pairs if not out & {pair[0].position, pair[1].position}]
    return found


DROP_WITHOUT_LOAD: Final = FindingKind(
    "drop-without-load",
    (FAULT,),
    "{where} shows {measured} where nothing was on, and {limit} stood upstream. Cable without current"
    " loses nothing, so something draws there. Find it, or say what was on.",
    "A voltage that falls along the cable in a state in which nothing is to draw.",
)


def _dropped_without_load(
    asked: ReadingsJob, model: Model, routes: Routes, idle: list[Measurement]
) -> list[tuple[int, FindingFacts]]:
    """Volts lower than where they come from while nothing is on: cable without current loses none.

    What shows next to nothing is behind a break, and not behind a drop.
    """
    volts = [one for one in idle if one.probe.is_voltage]
    found = {}
    for up in volts:
        for down in volts:
            if (
                up.state == down.state
                and up.value - down.value > _difference_error(up, down)
                and down.value > HALF_DEAD[0] * _supply_v(model, down)
                and _same_tap(up, down)
                and routes.is_behind(down.probe.point, up.probe.point)
            ):
                subject = asked.readings[down.position].subject
                amounts = Amount(down.value, "V"), Amount(up.value, "V")
                found[down.position] = DROP_WITHOUT_LOAD.found(subject, "own-calculation", *amounts)
    return list(found.items())


def _upstream_finding(asked: ReadingsJob, up: Measurement, down: Measurement, index: int) -> FindingFacts:
    return READING_ABOVE_UPSTREAM.found(
        asked.readings[index].subject,
        "own-calculation",
        Amount(down.value, "V"),
        Amount(up.value, "V"),
        (("upstream", f"/readings/{up.position}"), ("downstream", f"/readings/{down.position}")),
    )


def _same_tap(up: Measurement, down: Measurement) -> bool:
    """Whether two places are on one tap: the terminal belongs to all of them."""
    return up.probe.tap_ratio == down.probe.tap_ratio


def _error(one: Measurement) -> float:
    """Expanded uncertainty of one reading. [V], [A]"""
    return COVERAGE * hypot(one.own, one.gain * one.value)


def _difference_error(up: Measurement, down: Measurement) -> float:
    """Expanded uncertainty of a difference; a gain that both share cancels. [V]"""
    return COVERAGE * hypot(up.own, down.own, up.gain * (down.value - up.value))


def _supply_v(model: Model, one: Measurement) -> float:
    """Open-circuit voltage in a reading's state where it was taken. [V]"""
    volts = model.network.open_circuit_v[one.probe.point] * model.states[one.state].supply_ratio
    return volts * one.probe.tap_ratio if not one.probe.point else volts
