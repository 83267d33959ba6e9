"""The one reading more that tells the explanations apart best.

Of all places where a probe reaches, in the states that are easily switched, the one is chosen at which the
leading explanation and its rivals differ most in units of the reading's own standard deviation, given what is
read already (T-optimality, Atkinson and Fedorov 1975).
"""

from __future__ import annotations

from dataclasses import replace
from math import isfinite, sqrt
from typing import NamedTuple

from service.circuit.work import WorkOverLimitError
from service.estimation.covariance import columns_of, dot
from service.estimation.jacobian import Linearised, linearised, sensitivities_at
from service.estimation.job import CURRENT, LISTED, VOLTAGE, ReadingsJob, Terminal
from service.estimation.measurements import all_on, no_load
from service.estimation.model import Measurement, Model, ReadState, read
from service.estimation.probes import Probe, Probes
from service.estimation.uncertainty import meter_error
from service.studies.readings_check.ranking import Explanation, Ranker

MOST_RUNS_ALONE = 6
"""Runs that are each thought of as alone on."""

MOST_RIVALS = 4
"""Explanations beside the first that are separated."""

MOST_WEIGHED = 12
"""Places whose own uncertainty is worked out; the others differ less to begin with."""

LEAST_SEPARATION = 4.0
"""Two standard deviations of one rival, squared: below that a reading more tells nothing. [-]"""

FAR = 3.0
"""So many standard deviations are as good as any. [-]"""

ROUGH_RATIO = 0.02
"""Uncertainty of a reading before it is worked out, as a share of it, at least of 1 V or 1 A. [-]"""


class SuggestedReading(NamedTuple):
    """The one reading more that would tell the explanations apart, and what each expects. [V], [A]

    `lit` points at the run that alone is on; None: nothing, or everything. `separation` is in standard
    deviations of the reading. [-]
    """

    probe: Probe
    state: ReadState
    lit: str | None
    where: str
    expected: list[tuple[int, float]]
    separation: float


class _Candidate(NamedTuple):
    """A place and a state, with what each explanation expects there. [V], [A]"""

    probe: Probe
    where: str
    state: int
    expected: list[float]

    def separation(self, deviation: float) -> float:
        """Squares of how far each rival is, in standard deviations, the far ones alike. [-]"""
        first, *others = self.expected
        return sum(min(abs(first - other) / deviation, FAR) ** 2 for other in others)


def next_reading(
    job: ReadingsJob, ranker: Ranker, indices: list[int], explanation: list[Explanation]
) -> SuggestedReading | None:
    """The reading to take next; None where none of them would tell the explanations apart."""
    indices = indices[: MOST_RIVALS + 1]
    model = ranker.model
    listed = candidate_states(job, model)
    states = [state for state, _ in listed]
    try:
        candidates = _candidates(model, states, [explanation[index] for index in indices])
        lines: dict[int, Linearised | None] = {}
        weighed = [
            (_separation(job, ranker, states, lines, each), each)
            for each in sorted(candidates, key=_rough, reverse=True)[:MOST_WEIGHED]
        ]
    except WorkOverLimitError:
        return None
    separation, best = max(weighed, key=lambda pair: pair[0], default=(0.0, None))
    if best is None or separation < LEAST_SEPARATION:
        return None
    expected = list(zip(indices, best.expected, strict=True))
    state, lit = listed[best.state]
    return SuggestedReading(best.probe, state, lit, best.where, expected, separation)


def first_reading(job: ReadingsJob) -> SuggestedReading:
    """Where to begin when nothing can be judged: volts at the terminals with everything on."""
    return SuggestedReading(Probe(VOLTAGE), all_on(job), None, "/supply", [], 0.0)


def candidate_states(job: ReadingsJob, model: Model) -> list[tuple[ReadState, str | None]]:
    """Nothing on, everything on, and each run alone where there are a few, with its pointer."""
    places = Probes(model.connected)
    runs = [end.subject.pointer for end in model.connected.layout.run_ends()]
    alone = []
    if 1 < len(runs) <= MOST_RUNS_ALONE and not places.graph:
        alone = [
            (all_on(job)._replace(on=LISTED, shares=dict.fromkeys(places.rows_under(run), 1.0)), run)
            for run in runs
        ]
    return [(no_load(job), None), (all_on(job), None), *alone]


def _candidates(model: Model, states: list[ReadState], explanation: list[Explanation]) -> list[_Candidate]:
    """Every place in every state, with what each explanation expects."""
    found = []
    probes = list(_probes(model))
    for number, state in enumerate(states):
        expected = [_expected(model, state, each, [probe for probe, _ in probes]) for each in explanation]
        for (probe, where), *values in zip(probes, *expected, strict=True):
            if all(map(isfinite, values)):
                found.append(_Candidate(probe, where, number, list(values)))
    return found


def _expected(model: Model, state: ReadState, explanation: Explanation, probes: list[Probe]) -> list[float]:
    """What one explanation expects at each place; not a number where it has no operating point."""
    change = explanation.fit.fault.change(explanation.fit.size)
    solved = model.solved(state, change)
    if solved is None:
        return [float("nan")] * len(probes)
    return [read(solved, change.reads(probe), cut=change.cut) for probe in probes]


def _probes(model: Model) -> list[tuple[Probe, str]]:
    """Volts at the terminals, at every fixture and at every run's end; amperes into every run."""
    places = Probes(model.connected)
    supply = Terminal(None, None, "")
    found = [
        (Probe(VOLTAGE), "/supply"),
        (places.terminal_probe(supply, CURRENT) or Probe(CURRENT), "/supply"),
    ]
    for row, placed in enumerate(model.connected.layout.fixtures):
        found.append((places.fixture_probe(row, VOLTAGE), placed.line.subject.pointer))
    for run in places.runs():
        found.append((places.run_probe(run, VOLTAGE), run))
        found.append((places.run_probe(run, CURRENT), run))
    unlike = {probe._replace(row=None, leaving=None): (probe, where) for probe, where in reversed(found)}
    return list(reversed(unlike.values()))


def _separation(
    job: ReadingsJob,
    ranker: Ranker,
    states: list[ReadState],
    lines: dict[int, Linearised | None],
    candidate: _Candidate,
) -> float:
    """How well a place tells the explanations apart, given the readings that there are. [-]

    `lines` are the states that were linearised so far, by their numbers.
    """
    first = candidate.expected[0]
    error = meter_error(job.instrument, candidate.probe.quantity, first)
    model = ranker.model
    numbered = _state_number(model, states[candidate.state])
    states_too = [*model.states, states[candidate.state]] if numbered is None else model.states
    larger = replace(model, states=states_too)
    number = len(model.states) if numbered is None else numbered
    measurements = [
        *ranker.measurements,
        Measurement(-1, candidate.probe, number, first, error.own, error.gain),
    ]
    if candidate.state not in lines:
        lines[candidate.state] = linearised(model, states[candidate.state], model.near_ideal)
    line = lines[candidate.state]
    if line is None:
        return 0.0
    sensitivities = [*ranker.sensitivities, sensitivities_at(model, line, candidate.probe)]
    columns = columns_of(larger, ranker.uncertainty, measurements, sensitivities)
    new = [column[-1] for column in columns]
    # By reading and not by fault: where nothing may be off there are no faults, and as many readings as ever.
    with_old = [dot(new, [column[index] for column in columns]) for index in range(len(ranker.measurements))]
    known = ranker.covariance.whitened(with_old)
    variance = dot(new, new) + error.own**2 - dot(known, known)
    return candidate.separation(sqrt(max(variance, error.own**2)))


def _rough(candidate: _Candidate) -> float:
    """How well a place tells the explanations apart, by a guess of its uncertainty. [-]"""
    return candidate.separation(max(ROUGH_RATIO * abs(candidate.expected[0]), ROUGH_RATIO))


def _state_number(model: Model, state: ReadState) -> int | None:
    """Which of the states that were read a state is; None: a new one, with a drift of its own."""
    same = (number for number, each in enumerate(model.states) if each == state)
    return next(same, None)
