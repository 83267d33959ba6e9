"""Slips of the pen and of the clamp: what a reading may be that fits in no other way.

None of it is left out of the judgement for that; it is said beside it, so that somebody looks.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import hypot, isfinite
from typing import Final, NamedTuple

from service.estimation.job import NO_LOAD, ReadingsJob
from service.estimation.model import Measurement, Model
from service.findings.finding import NOTE, Amount, FindingFacts, FindingKind

COVERAGE = 2.0
"""An error beyond twice its standard uncertainty is no error of the meter. [-]"""


POWERS_OF_TEN = (0.001, 0.01, 0.1, 10.0, 100.0, 1000.0)


NEAR_RATIO = 0.05
"""Ten times as much fits where it is within this share of what is expected. [-]"""


CLEARLY = 10.0
"""A current is missed where so many times the meter's error were to flow. [-]"""


MUCH_BETTER = 0.25
"""Two readings are exchanged where that leaves at most this share of how far they are off. [-]"""


class _Off(NamedTuple):
    """One reading beside what the wiring as described would show, and the meter's expanded error."""

    one: Measurement
    predicted: float
    error: float


def recording_errors(asked: ReadingsJob, model: Model, taken: list[Measurement]) -> list[FindingFacts]:
    """What looks like a slip, in the order of the readings that it is about."""
    predicted = model.predicted(taken)
    offs = [
        _Off(one, each, COVERAGE * hypot(one.own, one.gain * one.value))
        for one, each in zip(taken, predicted, strict=True)
        if isfinite(each)
    ]
    found = [(off.one.position, _alone(asked, model, off)) for off in offs]
    named = [(position, finding) for position, finding in found if finding is not None]
    named += [(b.one.position, _exchanged(asked, a, b)) for a, b in _pairs(offs)]
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


def _alone(asked: ReadingsJob, model: Model, off: _Off) -> FindingFacts | None:
    """A clamp round both conductors, or a decimal point in the wrong place."""
    one, subject = off.one, asked.readings[off.one.position].subject
    lit = not one.probe.is_voltage and model.states[one.state].on != NO_LOAD
    if lit and one.value <= off.error and off.predicted > CLEARLY * off.error:
        flows = Amount(off.predicted, "A")
        return CLAMP_READS_NOTHING.found(subject, "own-calculation", Amount(one.value, "A"), flows)
    unit = "V" if one.probe.is_voltage else "A"
    for power in POWERS_OF_TEN:
        if off.predicted and abs(one.value * power / off.predicted - 1.0) < NEAR_RATIO:
            meant = Amount(one.value * power, unit)
            return READING_DECIMAL.found(subject, "own-calculation", Amount(one.value, unit), meant)
    return None


READINGS_EXCHANGED: Final = FindingKind(
    "readings-exchanged",
    (NOTE,),
    "{where} and {name} fit if they were written down for each other: {measured} and {limit}.",
    "Two readings of one state that are both off and would both fit at the other's place.",
)


def _pairs(offs: list[_Off]) -> Iterator[tuple[_Off, _Off]]:
    """Pairs of volts in one state that are both off, and both fit at the other's place."""
    volts = [off for off in offs if off.one.probe.is_voltage and _is_off(off)]
    for a, b in combinations(volts, 2):
        if a.one.state == b.one.state:
            here = abs(a.one.value - a.predicted) + abs(b.one.value - b.predicted)
            there = abs(a.one.value - b.predicted) + abs(b.one.value - a.predicted)
            if there < MUCH_BETTER * here:
                yield a, b


def _is_off(off: _Off) -> bool:
    return abs(off.one.value - off.predicted) > off.error


def _exchanged(asked: ReadingsJob, a: _Off, b: _Off) -> FindingFacts:
    other = f"reading {a.one.position + 1}"
    return READINGS_EXCHANGED.found(
        asked.readings[b.one.position].subject,
        "own-calculation",
        Amount(b.one.value, "V"),
        Amount(a.one.value, "V"),
        (("name", other),),
    )
