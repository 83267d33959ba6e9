"""The lowest taps, against trying every combination of them on the dense oracle."""

import random
from itertools import product
from typing import Any

import numpy as np
import pytest

from service.circuit.work import Budget
from service.studies.gauge_recommendation.assessment import Assessment, Assessor, TapLadder, slots_of
from service.studies.gauge_recommendation.study import gauge_recommendation
from tests import jobs
from tests.circuit.oracle import Garden, Hung, Piece
from tests.jobs import Json
from tests.studies.gauge_recommendation.choosing import question

OFFERED_V = (12.0, 13.0, 14.0, 15.0)
REGULATION_RATIO, RATING_VA = 0.06, 150.0


def box(**more: Any) -> Json:
    plate = jobs.winding(RATING_VA, 100 * REGULATION_RATIO)
    return jobs.transformer(winding=plate, taps=[jobs.volts(tap_v) for tap_v in OFFERED_V], **more)


def planted(seed: int, kinds: tuple[str, ...]) -> Garden:
    """Two or three runs on one winding, with windows that mostly need a higher tap for some of them."""
    pick = random.Random(seed)
    source_ohm = REGULATION_RATIO * 144 / RATING_VA
    garden = Garden({}, [12], 12 * (1 + REGULATION_RATIO), source_ohm, None, None)
    runs, point = [], 0
    for index in range(pick.choice((2, 3))):
        at_m, at, lamps = 0, 0, []
        for _ in range(pick.randint(1, 2)):
            gap_m, point = pick.randint(5, 30), point + 1
            garden.pieces.append(Piece(at, point, gap_m, f"/wiring/runs/{index}/cable", float(at_m)))
            at_m, at = at_m + gap_m, point
            size_w, kind = pick.uniform(5, 60), pick.choice(kinds)
            low_v = pick.uniform(10.5, 12)
            high_v = low_v + pick.uniform(0.9, 3)
            garden.lamps.append(Hung(point, kind, size_w, 0.0, low_v, high_v, index))
            load = jobs.watts(size_w, power_factor=1) if kind == "power" else jobs.halogen(size_w)
            lamps.append(jobs.lamp(at_m, load, window=jobs.window(low_v, high_v)))
        runs.append(jobs.run(*lamps, cable=jobs.awg(12)))
    stock = [{"id": "a", "conductor": "12 AWG"}]
    garden.request = {**jobs.job(*runs, supply=box()), "stock": stock, "taps": "choose"}
    garden.request["accept"] = ["near-collapse"]
    return garden


def every_vector(garden: Garden) -> tuple[list[tuple[float, ...]], list[bool], list[bool]]:
    """Every combination of taps; where no lamp is too low, and where none is too high nor the load."""
    runs = 1 + max(hung.run for hung in garden.lamps)
    vectors = list(product(OFFERED_V, repeat=runs))
    choices = np.zeros((len(vectors), 1), dtype=np.int64)
    ratio = np.array(vectors) / 12.0
    settled = garden.voltages(garden.ohms(choices, "one"), ratio)
    level = np.nan_to_num(np.abs(settled), nan=0.0)
    high_enough = [all(row[hung.point] >= hung.low_v for hung in garden.lamps) for row in level]
    # Everything but the lamps is told of the rated secondary, also what the winding delivers.
    terminal_v = np.nan_to_num(settled[:, 0] / ratio[:, 0], nan=0.0)
    drawn_va = np.abs(terminal_v) * np.abs(garden.open_circuit_v - terminal_v) / garden.source_ohm
    carried = drawn_va <= RATING_VA
    low_enough = [
        bool(able) and all(row[hung.point] <= hung.high_v for hung in garden.lamps)
        for row, able in zip(level, carried, strict=True)
    ]
    return vectors, high_enough, low_enough


def chosen_taps(garden: Garden) -> tuple[tuple[float, ...], Assessment]:
    answer = gauge_recommendation(question(garden.request))
    assessment = answer.compared[0].assessment if answer.found is None else answer.found.assessment
    assert assessment is not None
    return assessment.taps_v, assessment


def is_above(taps_v: tuple[float, ...], other_v: tuple[float, ...]) -> bool:
    """Whether no tap is lower than in another combination, and one is higher."""
    return taps_v != other_v and all(a >= b for a, b in zip(taps_v, other_v, strict=True))


@pytest.mark.parametrize("kinds", [("power",), ("filament",), ("power", "filament")], ids="-".join)
def test_no_other_taps_that_pass_are_lower(kinds: tuple[str, ...]) -> None:
    """With filaments a higher tap may pass where the lowest is too high, only because the winding sags more:
    that hangs on a neighbour's load, and is not proposed. With drivers there is no such thing.
    """
    found = 0
    for seed in range(60):
        garden = planted(seed, kinds)
        taps_v, assessment = chosen_taps(garden)
        vectors, high_enough, low_enough = every_vector(garden)
        passing = [
            vector for vector, high, low in zip(vectors, high_enough, low_enough, strict=True) if high and low
        ]
        if assessment.passes:
            found += 1
            assert taps_v in passing
            assert not any(is_above(taps_v, other) for other in passing)
        else:
            assert kinds != ("power",) or not passing
            assert all(is_above(other, taps_v) for other in passing)
            assert {violation.code for violation in assessment.violations} & {
                "fixture-below-window",
                "fixture-above-window",
                "no-operating-point",
                "transformer-over-rating",
            }
    assert found >= 10


def test_with_filaments_the_taps_are_lower_than_any_that_pass_run_by_run() -> None:
    # Raising any filament costs the others volts: there is one lowest combination, below all others.
    for seed in range(60, 100):
        garden = planted(seed, ("filament",))
        taps_v, assessment = chosen_taps(garden)
        vectors, high_enough, _ = every_vector(garden)
        if not assessment.low_feeders:
            enough = [vector for vector, high in zip(vectors, high_enough, strict=True) if high]
            assert taps_v == tuple(min(column) for column in zip(*enough, strict=True))


def test_a_driver_raised_beside_another_is_lowered_again_where_the_other_alone_helps() -> None:
    # Both are just too low on 12 V; one tap up, either draws so much less that the other has enough.
    far = jobs.lamp(60, jobs.watts(50, power_factor=1), window=jobs.window(9.0, 15))
    request = jobs.job(jobs.run(far, cable=jobs.awg(10)), jobs.run(far, cable=jobs.awg(10)), supply=box())
    stock = [{"id": "a", "conductor": "10 AWG"}]

    def lowest(*taps_v: float) -> float:
        runs = [
            {**each, "tap": jobs.volts(tap_v)}
            for each, tap_v in zip(request["wiring"]["runs"], taps_v, strict=True)
        ]
        put = question({**jobs.job(*runs, supply=box()), "stock": stock})
        assessor = Assessor(put.job, put.candidates, Budget())
        assessor.slots = slots_of(assessor.layout_spans, frozenset(), "one")
        return assessor.assess(()).lowest_v or 0.0

    alone_v, neither_v = lowest(12, 13), lowest(12, 12)
    assert neither_v < alone_v
    tight = jobs.lamp(60, jobs.watts(50, power_factor=1), window=jobs.window((neither_v + alone_v) / 2, 15))
    request = jobs.job(jobs.run(tight, cable=jobs.awg(10)), jobs.run(tight, cable=jobs.awg(10)), supply=box())
    answer = gauge_recommendation(question({**request, "stock": stock, "taps": "choose"}))
    assert answer.found is not None
    assert sorted(answer.found.assessment.taps_v) == [12.0, 13.0]


def test_runs_that_meet_in_a_mesh_move_to_a_tap_together() -> None:
    spans = [
        {"from": "supply", "to": "a", "length": jobs.metres(40), "cable": jobs.awg(12)},
        {"from": "supply", "to": "a", "length": jobs.metres(50), "cable": jobs.awg(12)},
        {"from": "supply", "to": "b", "length": jobs.metres(5), "cable": jobs.awg(12)},
    ]
    fixtures = [
        {"point": name, "load": jobs.watts(50), "window": jobs.window(11.5, 15)} for name in ("a", "b")
    ]
    fixtures = [
        {"point": name, "load": jobs.watts(50, power_factor=1), "window": jobs.window(11.5, 15)}
        for name in ("a", "b")
    ]
    request = {"supply": box(), "wiring": {"form": "spans", "spans": spans, "fixtures": fixtures}}
    answer = gauge_recommendation(
        question({**request, "stock": [{"id": "a", "conductor": "12 AWG"}], "taps": "choose"})
    )
    assert answer.found is not None
    taps_v = answer.found.assessment.taps_v
    assert taps_v[0] == taps_v[1] > taps_v[2] == 12.0


def test_a_lamp_too_low_on_one_tap_and_its_neighbour_too_high_on_the_next_is_a_conflict() -> None:
    # A tap chosen at the first lamp alone says nothing of the last.
    lamps = (jobs.lamp(2, jobs.halogen(20)), jobs.lamp(60, jobs.halogen(50)))
    request = {
        **jobs.job(jobs.run(*lamps, cable=jobs.awg(14)), supply=box()),
        "stock": [{"id": "a", "conductor": "14 AWG"}],
    }
    answer = gauge_recommendation(question({**request, "taps": "choose"}))
    assert answer.found is None
    assert answer.compared[0].assessment is not None
    assert {violation.code for violation in answer.compared[0].assessment.violations} <= {
        "fixture-above-window",
        "fixture-below-window",
    }


def test_taps_are_judged_at_low_and_at_high_mains() -> None:
    mains = {"mains": {"kind": "measured", "lowest": jobs.volts(108), "highest": jobs.volts(132)}}
    lights = jobs.lamp(20, jobs.watts(30), window=jobs.window(11, 13.2))
    request = {
        **jobs.job(
            jobs.run(lights, cable=jobs.awg(12)),
            supply=box(primary={"rated": jobs.volts(120), "actual": jobs.volts(120)}),
        ),
        "stock": [{"id": "a", "conductor": "12 AWG"}],
        "taps": "choose",
    }
    assert gauge_recommendation(question(request)).found is not None
    between = gauge_recommendation(question({**request, "conditions": mains}))
    assert between.found is None
    assert between.compared[0].assessment is not None
    assert "fixture-above-window" in {
        violation.code for violation in between.compared[0].assessment.violations
    }


def test_taps_stay_where_the_request_does_not_open_them() -> None:
    request = {**jobs.job(jobs.run(jobs.lamp(60, jobs.halogen(50)), cable=jobs.awg(12)), supply=box())}
    answer = gauge_recommendation(question({**request, "stock": [{"id": "a", "conductor": "12 AWG"}]}))
    assert answer.found is None
    assert answer.compared[0].assessment is not None
    assert answer.compared[0].assessment.taps_v == ()


def test_a_box_that_says_no_taps_leaves_the_runs_on_theirs() -> None:
    tapped = {**jobs.run(jobs.lamp(5, jobs.watts(5)), cable=jobs.awg(12)), "tap": jobs.volts(13)}
    request = {**jobs.job(tapped, supply=jobs.transformer()), "stock": [{"id": "a", "conductor": "12 AWG"}]}
    answer = gauge_recommendation(question({**request, "taps": "choose"}))
    assert answer.found is not None
    assert answer.found.assessment.taps_v == ()
    assert answer.found.assessment.highest_v == pytest.approx(13, abs=0.1)


def test_the_ladder_asks_for_no_taps_beyond_those_offered() -> None:
    asked: list[tuple[float, ...]] = []

    def never_enough(taps_v: tuple[float, ...]) -> Assessment:
        asked.append(taps_v)
        return Assessment(None, None, None, None, (), taps_v, frozenset({0, 1}))

    ladder = TapLadder((12.0, 13.0), [0, 1], never_enough)
    assert ladder.climbed().taps_v == (13.0, 13.0)
    assert asked == [(12.0, 12.0), (13.0, 13.0)]


def test_the_tap_of_a_published_hub_is_found() -> None:
    # A trade answer: five 35 W spots 120 ft off, 10 AWG to the hub, equal legs; the 15 V tap brings all into
    # 11.3 to 11.9 V (with legs of 15 ft of 12 AWG, which it does not state).
    legs = [
        {"from": "hub", "to": f"spot {n}", "length": jobs.quantity(15, "ft"), "cable": jobs.awg(12)}
        for n in range(5)
    ]
    trunk = {"from": "supply", "to": "hub", "length": jobs.quantity(120, "ft"), "cable": jobs.awg(10)}
    spots = [
        {"point": f"spot {n}", "load": jobs.halogen(35), "window": jobs.window(11.3, 11.9)} for n in range(5)
    ]
    taps = [jobs.volts(tap_v) for tap_v in (12, 13, 14, 15, 16)]
    request = {
        "supply": jobs.transformer(taps=taps),
        "wiring": {"form": "spans", "spans": [trunk, *legs], "fixtures": spots},
        "open": [],
        "taps": "choose",
    }
    answer = gauge_recommendation(question(request))
    assert answer.found is not None
    assert answer.found.assessment.taps_v == (15.0,)
