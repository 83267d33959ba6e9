"""Remedies: each is solved, and solved again here from a request that lays it out by hand."""

import json
from typing import Any

import pytest

from service.circuit.state import FixtureVoltages
from service.intake import decode
from service.studies.gauge_recommendation.remedies import Remedy
from service.studies.gauge_recommendation.request import GaugeRecommendationRequest
from service.studies.gauge_recommendation.study import Recommendation, gauge_recommendation
from service.studies.gauge_recommendation.translate import job_of, none_passes_reply
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.study import DropAnswer, voltage_drop
from service.studies.voltage_drop.translate import job_of as drop_job_of
from tests.jobs import (
    Json,
    amperes,
    awg,
    battery,
    branch,
    halogen,
    job,
    lamp,
    metres,
    quantity,
    run,
    transformer,
    volts,
    watts,
    winding,
    window,
)
from tests.studies.gauge_recommendation.choosing import question

THIN = [{"id": "thin", "conductor": "14 AWG"}]
LAMPS_M = (10.0, 18.0, 24.0, 40.0)
BOX = transformer(winding=winding(300, 4), taps=[volts(12), volts(13), volts(14)])


def garden(watts_each: float = 12.0, **more: Any) -> Json:
    """Four lamps along one run and a short run beside it."""
    lamps = [lamp(at_m, watts(watts_each)) for at_m in LAMPS_M]
    return job(run(*lamps, cable=awg(16), tail=metres(2)), run(lamp(5, watts(5)), cable=awg(16)), **more)


def asked(request: Json, **more: Any) -> Recommendation:
    return gauge_recommendation(question({"supply": BOX, **request, "stock": THIN, **more}))


def solve(*runs: Json, supply: Json = BOX, nominal_v: float | None = None) -> DropAnswer:
    request = json.dumps(job(*runs, supply=supply, nominal_v=nominal_v)).encode()
    return voltage_drop(drop_job_of(decode(request, VoltageDropRequest)))


def lowest_v(*runs: Json, supply: Json = BOX, nominal_v: float | None = None) -> float:
    return min(volts_of(solve(*runs, supply=supply, nominal_v=nominal_v)).judged_v)


def volts_of(answer: DropAnswer) -> FixtureVoltages:
    assert answer.reading is not None
    return answer.reading.volts


def remedy(answer: Recommendation, code: str) -> Remedy:
    (found,) = [each for each in answer.remedies if each.code == code]
    return found


def far(*at_m: float, load: Json | None = None, size: int = 14, **more: Any) -> Json:
    return run(*[lamp(each, load or watts(12)) for each in at_m], cable=awg(size), **more)


NEAR = run(lamp(5, watts(5)), cable=awg(14))
HELD = {"maximum_drop_percent": 8.0}


@pytest.fixture(scope="module")
def answer() -> Recommendation:
    found = asked(garden(supply=BOX), limits=HELD)
    assert found.found is None
    return found


def test_every_remedy_is_tried(answer: Recommendation) -> None:
    assert {each.code for each in answer.remedies} == {
        "tap-up",
        "thicker",
        "split-the-run",
        "feed-from-the-middle",
        "close-the-loop",
        "twice-the-voltage",
        "fewer-watts",
    }


def test_those_that_help_come_first(answer: Recommendation) -> None:
    passes = [each.assessment.passes for each in answer.remedies]
    assert passes == sorted(passes, reverse=True)
    assert set(passes) == {True, False}


def test_a_higher_tap_is_what_the_same_garden_is_on_it(answer: Recommendation) -> None:
    found = remedy(answer, "tap-up")
    tap = {"tap": volts(float(found.parameter.split()[0]))}
    by_hand = lowest_v({**far(*LAMPS_M, tail=metres(2)), **tap}, {**NEAR, **tap})
    assert found.assessment.lowest_v == pytest.approx(by_hand, abs=1e-9)


def test_the_thicker_conductor_is_the_next_that_helps(answer: Recommendation) -> None:
    found = remedy(answer, "thicker")
    size = int(found.parameter.split()[0])
    drops = {
        each: max(
            volts_of(
                solve(far(*LAMPS_M, size=each, tail=metres(2)), run(lamp(5, watts(5)), cable=awg(each)))
            ).drop_ratio
        )
        for each in (size, size + 2)
    }
    assert found.assessment.drop_ratio == pytest.approx(drops[size], abs=1e-12)
    assert drops[size] <= 0.08 < drops[size + 2]


def test_a_run_in_two_is_two_runs_with_half_of_the_lamps(answer: Recommendation) -> None:
    by_hand = lowest_v(far(*LAMPS_M[:2]), far(*LAMPS_M[2:], tail=metres(2)), NEAR)
    assert remedy(answer, "split-the-run").assessment.lowest_v == pytest.approx(by_hand, abs=1e-9)


def test_fed_from_the_middle_is_a_branch_back_and_the_rest_onward(answer: Recommendation) -> None:
    # The middle of 10 and 40 m is 25 m: three lamps lie 1, 7 and 15 m back, one 15 m onward.
    back = branch(25, *[lamp(25 - at_m, watts(12)) for at_m in LAMPS_M[:3]], cable=awg(14))
    by_hand = lowest_v(far(40, tail=metres(2), branches=[back]), NEAR)
    assert remedy(answer, "feed-from-the-middle").assessment.lowest_v == pytest.approx(by_hand, abs=1e-9)


def test_a_closed_loop_has_as_much_cable_again(answer: Recommendation) -> None:
    by_hand = lowest_v(far(*LAMPS_M, tail=metres(2), return_leg={"length": metres(40)}), NEAR)
    assert remedy(answer, "close-the-loop").assessment.lowest_v == pytest.approx(by_hand, abs=1e-9)


def test_twice_the_voltage_is_a_supply_of_24_v_with_the_same_watts(answer: Recommendation) -> None:
    doubled = transformer(24, winding=winding(300, 4))
    by_hand = lowest_v(far(*LAMPS_M, tail=metres(2)), NEAR, supply=doubled, nominal_v=24)
    assert remedy(answer, "twice-the-voltage").assessment.lowest_v == pytest.approx(by_hand, abs=1e-9)


def test_fewer_watts_pass_at_the_share_that_is_told_and_at_no_per_cent_more(answer: Recommendation) -> None:
    found = remedy(answer, "fewer-watts")
    percent = int(found.parameter.split()[0])

    def worst_drop(share: float) -> float:
        runs = (
            far(*LAMPS_M, load=watts(12 * share), tail=metres(2)),
            run(lamp(5, watts(5 * share)), cable=awg(14)),
        )
        return max(volts_of(solve(*runs)).drop_ratio)

    assert found.assessment.drop_ratio == pytest.approx(worst_drop(percent / 100), abs=1e-12)
    assert worst_drop(percent / 100) <= 0.08 < worst_drop((percent + 1) / 100)


def test_cables_that_are_not_open_stay_as_they_are() -> None:
    # The first run collapses on its own 16 AWG, which nobody offered to change.
    request = job(run(lamp(30, watts(60)), cable=awg(16)), run(lamp(5, watts(3)), cable=awg(16)), supply=BOX)
    found = asked(request, open=["/wiring/runs/1/cable"])
    assert found.found is None
    assert not remedy(found, "thicker").assessment.passes
    assert not remedy(found, "close-the-loop").assessment.passes


def test_a_higher_tap_lowers_no_run_that_is_above_it() -> None:
    tapped = [{**far(30, load=watts(25), size=16), "tap": volts(tap_v)} for tap_v in (12, 14)]
    found = remedy(asked(job(*tapped, supply=BOX), limits={"maximum_drop_percent": 1}), "tap-up")
    assert found.parameter == "14 V"
    request = [{**each, "cable": awg(14), "tap": volts(14)} for each in tapped]
    assert found.assessment.lowest_v == pytest.approx(lowest_v(*request), abs=1e-9)


def test_with_open_taps_every_remedy_has_them_open_too() -> None:
    found = asked(garden(25, supply=BOX), taps="choose", limits={"maximum_drop_percent": 6})
    assert found.found is None
    assert "tap-up" not in {each.code for each in found.remedies}
    assert all(len(each.assessment.taps_v) >= 2 for each in found.remedies)


@pytest.mark.parametrize(
    ("supply", "doubled"),
    [
        (
            transformer(winding=winding(300, 4), open_circuit={"voltage": volts(12.6)}),
            transformer(24, winding=winding(300, 4), open_circuit={"voltage": volts(25.2)}),
        ),
        (
            battery(11, 12.4, 14, internal_resistance=quantity(50, "mohm")),
            battery(22, 22, 22, internal_resistance=quantity(200, "mohm")),
        ),
    ],
    ids=["measured no-load voltage", "battery"],
)
# A battery is judged at its lowest, and the lowest lamp is found there.
def test_whatever_was_measured_of_the_supply_is_doubled_with_it(supply: Json, doubled: Json) -> None:
    found = asked(garden(20, supply=supply), limits={"maximum_drop_percent": 2})
    by_hand = lowest_v(far(*LAMPS_M, load=watts(20), tail=metres(2)), NEAR, supply=doubled, nominal_v=24)
    assert remedy(found, "twice-the-voltage").assessment.lowest_v == pytest.approx(by_hand, abs=1e-9)


def test_a_battery_is_doubled_at_both_ends_of_its_range() -> None:
    found = asked(garden(20, supply=battery(11, 12.4, 14)), limits={"maximum_drop_percent": 2})
    flat = lowest_v(
        far(*LAMPS_M, load=watts(20), tail=metres(2)), NEAR, supply=battery(22, 22, 22), nominal_v=24
    )
    assert remedy(found, "twice-the-voltage").assessment.lowest_v == pytest.approx(flat, abs=1e-9)


def test_no_remedy_goes_beyond_low_voltage() -> None:
    found = asked(garden(20, supply=transformer(16)), limits={"maximum_drop_percent": 2})
    assert "twice-the-voltage" not in {each.code for each in found.remedies}


def test_remedies_point_at_nothing_that_the_request_does_not_have(answer: Recommendation) -> None:
    thin = asked(garden(60, supply=transformer()), limits=HELD)
    for each in [*answer.remedies, *thin.remedies]:
        pointers = [each.subject.pointer, *(breach.subject.pointer for breach in each.assessment.breaches)]
        assert not any(pointer.endswith(("/back", "/return_leg")) for pointer in pointers)


def test_a_remedy_too_large_for_one_request_is_left_out() -> None:
    # 2,000 points already: the branch to the middle would be one more.
    line = lamp(10, watts(3), count=2_000, spacing=metres(1))
    found = asked(job(run(line, cable=awg(12)), supply=transformer()))
    assert found.found is None
    assert "feed-from-the-middle" not in {each.code for each in found.remedies}


def test_lamps_that_stand_on_a_graph_or_a_branch_have_no_other_layout() -> None:
    branched = job(
        run(lamp(30, halogen(50)), cable=awg(16), branches=[branch(10, lamp(5, halogen(50)), cable=awg(16))]),
        supply=transformer(),
    )
    codes = {each.code for each in asked(branched, limits={"maximum_drop_percent": 1}).remedies}
    assert not codes & {"split-the-run", "feed-from-the-middle"}


def test_own_windows_are_doubled_with_the_voltage() -> None:
    lights = lamp(30, watts(40), window=window(11, 13))
    found = asked(job(run(lights, cable=awg(16)), supply=transformer()))
    doubled = remedy(found, "twice-the-voltage")
    by_hand = lowest_v(run(lamp(30, watts(40)), cable=awg(14)), supply=transformer(24), nominal_v=24)
    assert doubled.assessment.lowest_v == pytest.approx(by_hand, abs=1e-9)
    assert doubled.assessment.passes is (22 <= by_hand <= 26)


@pytest.mark.parametrize("scope", ["one", "per-run", "per-span"])
@pytest.mark.parametrize("load", [amperes(10), halogen(120), watts(120)], ids=["amperes", "halogen", "watts"])
def test_a_graph_for_which_no_choice_passes_is_told_what_would_help(scope: str, load: Json) -> None:
    request = {
        "supply": {"kind": "dc-supply", "output": volts(12)},
        "wiring": {
            "form": "spans",
            "spans": [{"from": "supply", "to": "a", "length": metres(100), "cable": awg(12)}],
            "fixtures": [{"point": "a", "load": load}],
        },
        "scope": scope,
    }
    message = decode(json.dumps(request).encode(), GaugeRecommendationRequest)
    put = job_of(message)
    answer = gauge_recommendation(put)
    assert answer.found is None
    reply = none_passes_reply(message, put, answer, voltage_drop(put.job), "")
    assert reply.remedies
    (fewer,) = [each for each in answer.remedies if each.code == "fewer-watts"]
    assert fewer.assessment.passes
    assert {each.code for each in answer.remedies}.isdisjoint({"split-the-run", "twice-the-voltage"})
