"""On one run a longer cable, a larger load or one more fixture never raises a voltage; checked, not supposed.

That is what makes halving sound. And at the answer power-grid-model finds the same end voltage.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.circuit.reading import built
from service.circuit.state import connect_job
from service.findings.limits import unaccepted
from service.physics.network import Span
from service.studies.reach.request import ReachRequest
from service.studies.reach.study import broken_as_stated, broken_in_corners, reach
from service.studies.reach.translate import job_of as asked_of
from service.studies.reach.trial import ReachJob, job_of, rung, trial_of
from tests import jobs
from tests.jobs import Json
from tests.physics.networks import Circuit
from tests.physics.power_grid import arrays_of, flow

BOX = jobs.transformer(winding=jobs.winding(300, 5))
CORNERS: Json = {
    "mains": {"kind": "named", "range": "outlet"},
    "conductor_temperature_range": {
        "lowest": jobs.quantity(-20, "degC"),
        "highest": jobs.quantity(70, "degC"),
    },
}

LOADS = st.one_of(
    st.builds(
        lambda power_w, ratio: jobs.watts(power_w, power_factor=ratio), st.floats(1, 80), st.floats(0.5, 1)
    ),
    st.builds(jobs.amperes, st.floats(0.1, 8)),
    st.builds(jobs.resistor, st.floats(1, 80)),
    st.builds(jobs.halogen, st.floats(1, 80)),
)
LAYOUTS = st.sampled_from(
    [jobs.LUMPED, jobs.EVENLY_SPREAD, jobs.spacing(2), jobs.spacing(4, first_at=jobs.metres(9))]
)
QUESTIONS = st.one_of(
    st.builds(jobs.longest_run, LOADS, LAYOUTS),
    st.builds(lambda far_m, layout: jobs.largest_load(jobs.metres(far_m), layout), st.floats(1, 60), LAYOUTS),
    st.builds(jobs.most_fixtures, LOADS, st.floats(0.5, 8)),
)


def studied(request: Json) -> ReachJob:
    return asked_of(msgspec.convert(request, ReachRequest))


def keeps_limits(asked: ReachJob, index: int) -> bool:
    return not broken_as_stated(asked, index) and not broken_in_corners(asked, index)


def lowest_v(asked: ReachJob, index: int) -> float:
    """The lowest voltage on a run that is tried; minus one where there is no operating point. [V]"""
    state = built(job_of(asked, trial_of(asked, index))).solved()
    return -1.0 if state is None else min(state.voltages())


def places(asked: ReachJob, shares: tuple[float, float]) -> list[int]:
    """Two places in the row of runs, up to 300 m or watts, or 60 fixtures."""
    top = 60 if asked.counted else 30_000
    return sorted(round(share * top) for share in shares)


@settings(max_examples=60)
@given(asks=QUESTIONS, shares=st.tuples(st.floats(0, 1), st.floats(0, 1)))
def test_the_next_run_never_stands_higher(asks: Json, shares: tuple[float, float]) -> None:
    asked = studied(jobs.question(asks, supply=BOX))
    low, high = places(asked, shares)
    assert lowest_v(asked, high) <= lowest_v(asked, low) + 1e-9


@settings(max_examples=60)
@given(asks=QUESTIONS, shares=st.tuples(st.floats(0, 1), st.floats(0, 1)))
def test_a_run_that_keeps_the_limits_in_all_corners_does_so_when_it_is_shorter(
    asks: Json, shares: tuple[float, float]
) -> None:
    asked = studied(jobs.question(asks, supply=BOX, limits=jobs.within(9.5), conditions=CORNERS))
    low, high = places(asked, shares)
    if keeps_limits(asked, 0) and keeps_limits(asked, high):
        assert keeps_limits(asked, low)


@settings(max_examples=25)
@given(asks=QUESTIONS)
def test_the_answer_keeps_every_limit_and_the_next_run_breaks_one(asks: Json) -> None:
    asked = studied(jobs.question(asks, supply=BOX, limits=jobs.within(9.5, maximum_drop_percent=8)))
    found = reach(asked)
    if found.kept is not None:
        assert not unaccepted(found.kept.answer.findings, asked.accepted)
    if found.beyond is not None:
        assert found.binding == unaccepted(found.binding, asked.accepted) != []


@settings(max_examples=25)
@given(asks=QUESTIONS)
def test_a_run_is_as_long_as_it_is_said_to_be(asks: Json) -> None:
    asked = studied(jobs.question(asks))
    for index in (0, 17, 59):
        trial = trial_of(asked, index)
        (end,) = [found.end_m for found in connect_job(job_of(asked, trial)).layout.ends]
        assert end == pytest.approx(trial.length_m, abs=2e-3)


# power-grid-model, a power-flow library of the distribution companies, as the oracle at the answer.

E_V, WINDING_OHM, OHM_PER_M = 12.6, 0.05 * 144 / 300, 0.01


def bench_v(asked: ReachJob, found: Any) -> float:
    """The end voltage that power-grid-model finds; the circuit is put together here by hand. [V]"""
    loads, at_m = [], [0.0]
    for each in found.trial.placements:
        for piece in range(each.pieces):
            place_m = each.at_m + piece * (each.spacing_m or 0.0)
            if place_m > at_m[-1]:
                at_m.append(place_m)
            scale = each.share_ratio * (found.trial.power_w or 1.0)
            loads.append((len(at_m) - 1, asked.line.load.scaled(scale)))
    spans = tuple(
        Span(index, index + 1, (far - near) * OHM_PER_M) for index, (near, far) in enumerate(pairwise(at_m))
    )
    circuit = Circuit(len(at_m), spans, tuple(loads), source_v=E_V, winding_ohm=WINDING_OHM)
    voltage_v, _ = flow(arrays_of(circuit))
    return float(abs(voltage_v[-1]))


@pytest.mark.parametrize(
    "asks",
    [
        jobs.longest_run(jobs.watts(40, power_factor=0.8)),
        jobs.longest_run(jobs.watts(40, power_factor=0.8), jobs.EVENLY_SPREAD),
        jobs.longest_run(jobs.amperes(4), jobs.spacing(3)),
        jobs.largest_load(jobs.metres(25), jobs.EVENLY_SPREAD, power_factor=0.7),
        jobs.most_fixtures(jobs.watts(4), 2.5, first_at=jobs.metres(6)),
        jobs.most_fixtures(jobs.resistor(4), 2.5),
    ],
)
def test_power_grid_model_agrees_at_the_answer_and_just_beyond(asks: Json) -> None:
    asked = studied(jobs.question(asks, supply=BOX, cable=jobs.ohms_per_km(5.0), limits=jobs.within(10.5)))
    found = reach(asked)
    assert found.kept is not None
    assert found.beyond is not None
    for tried in (found.kept, found.beyond):
        assert tried.end is not None
        assert tried.end.end_v == pytest.approx(bench_v(asked, tried), abs=1e-6)
    assert bench_v(asked, found.beyond) < 10.5 <= bench_v(asked, found.kept)


def test_a_step_is_a_value_of_four_digits() -> None:
    asked = studied(jobs.question(jobs.longest_run(jobs.watts(40)), limits=jobs.within(10.5), units="us"))
    found = reach(asked)
    assert found.kept is not None
    assert any(rung(index) * 0.3048 == found.kept.trial.length_m for index in range(45_000))
