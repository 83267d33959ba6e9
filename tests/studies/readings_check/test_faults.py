"""Faults made by hand: found where they are, with the size they have, and no more concluded than can be."""

from __future__ import annotations

import copy
from collections.abc import Callable

import pytest

from service.studies.readings_check.study import CONTRADICTS, DISAGREES, CheckAnswer
from tests import jobs
from tests.jobs import Json
from tests.studies.readings_check.jobs import amps_at, as_built, checked, fixture, lit, volts_at

SUPPLY = jobs.transformer(open_circuit={"voltage": jobs.volts(12.6)}, winding=jobs.winding(150, 5))
GAP_M = 10.0
WATTS = (7, 5, 10, 7, 3)
PATH_WALK = jobs.job(
    jobs.run(
        *(jobs.lamp(GAP_M * (index + 1), jobs.watts(power)) for index, power in enumerate(WATTS)),
        cable=jobs.awg(14),
    ),
    supply=SUPPLY,
)
EVERYWHERE = [
    volts_at(None, state="no-load"),
    volts_at(None),
    *(volts_at(fixture(index)) for index in range(len(WATTS))),
    amps_at("/wiring/runs/0"),
]
DESCRIBED: Json = {**PATH_WALK, "readings": EVERYWHERE}

Fault = Callable[[Json], None]


def line(built: Json) -> Json:
    run_of: Json = built["wiring"]["runs"][0]
    return run_of


def built_with(*faults: Fault) -> CheckAnswer:
    built = copy.deepcopy(PATH_WALK)
    for fault in faults:
        fault(built)
    return checked(as_built(DESCRIBED, built))


def cable_between(index: int, cable: Json) -> Fault:
    """Another cable in front of one fixture."""

    def change(built: Json) -> None:
        end = {"at": jobs.metres(GAP_M * (index + 1)), "cable": line(built)["cable"]}
        line(built)["cable_changes"] = [{"at": jobs.metres(GAP_M * index), "cable": cable}, end]

    return change


def power(index: int, watts_w: float) -> Fault:
    def change(built: Json) -> None:
        line(built)["fixtures"][index]["load"] = jobs.watts(watts_w)

    return change


def best(answer: CheckAnswer) -> str:
    assert answer.verdict == DISAGREES, answer.statistics
    return answer.explanations[0].fit.fault.kind.code


def size_holds(answer: CheckAnswer, true: float, rank: int = 0) -> bool:
    """Whether the true size lies within the expanded uncertainty."""
    told = answer.explanations[rank]
    assert told.uncertainty is not None
    return abs(told.fit.size - true) <= 2.0 * told.uncertainty


@pytest.mark.parametrize("index", [0, 1, 2, 3])
def test_a_bad_splice_is_found_on_its_span_with_its_ohms(index: int) -> None:
    # 14 AWG is 16.94 ohm/km out and back at 20 °C (NEC chapter 9 table 8); 0.35 ohm more over ten metres.
    answer = built_with(cable_between(index, jobs.ohms_per_km((16.94 + 35.0) / 2.0)))
    assert best(answer) == "splice-resistance"
    assert answer.explanations[0].fit.fault.spans == (index,)
    assert size_holds(answer, 0.35)
    assert answer.place_settled


def test_a_splice_and_a_thinner_cable_on_one_span_are_told_as_one_place() -> None:
    answer = built_with(cable_between(1, jobs.awg(18)))
    codes = {each.fit.fault.kind.code for each in answer.explanations[:2]}
    assert codes == {"splice-resistance", "span-resistance"}
    assert {each.fit.fault.spans for each in answer.explanations[:2]} == {(1,)}
    assert 1 in answer.alternatives
    assert answer.place_settled
    rank = [each.fit.fault.kind.code for each in answer.explanations].index("span-resistance")
    # 18 AWG over 14 AWG by the same table: 7.95 / 3.14.
    assert size_holds(answer, 7.95 / 3.14, rank)


def test_copper_clad_aluminium_sold_as_copper_is_found_along_the_whole_cable() -> None:
    def change(built: Json) -> None:
        line(built)["cable"] = jobs.awg(14, material="copper-clad-aluminium")

    answer = built_with(change)
    assert best(answer) == "cable-resistance"
    # 1.59 is the lowest conductivity of the 10 % class (ASTM B566), 62.9 % IACS.
    assert size_holds(answer, 1.59)


def test_the_wrong_cable_thickness_is_found_along_the_whole_cable() -> None:
    def change(built: Json) -> None:
        line(built)["cable"] = jobs.awg(12)

    answer = built_with(change)
    assert best(answer) == "cable-resistance"
    assert size_holds(answer, 1.98 / 3.14)


def test_low_mains_are_found_with_their_share() -> None:
    def change(built: Json) -> None:
        built["supply"]["open_circuit"]["voltage"] = jobs.volts(12.6 * 0.94)

    answer = built_with(change)
    assert best(answer) == "supply-voltage"
    assert size_holds(answer, 0.94)


def test_a_weak_transformer_is_told_from_low_mains_by_the_reading_without_load() -> None:
    def change(built: Json) -> None:
        built["supply"]["winding"] = jobs.winding(150, 20)

    answer = built_with(change)
    assert best(answer) == "winding-resistance"
    assert size_holds(answer, 0.20 * 144.0 / 150.0)


def test_a_dark_fixture_is_found() -> None:
    answer = built_with(power(2, 0.0))
    assert best(answer) == "fixture-power"
    assert answer.explanations[0].fit.fault.rows == (2,)
    assert size_holds(answer, 0.0)


def test_a_stronger_lamp_is_found_with_its_watts() -> None:
    answer = built_with(power(3, 21.0))
    assert best(answer) in {"fixture-power", "undeclared-load"}
    assert answer.explanations[0].fit.fault.point == 4
    assert answer.place_settled


def test_a_load_nobody_declared_is_found_where_it_hangs() -> None:
    def change(built: Json) -> None:
        line(built)["branches"] = [jobs.branch(20, jobs.lamp(0, jobs.watts(18)), cable=jobs.awg(14))]

    answer = built_with(change)
    told = answer.explanations[0]
    assert told.fit.fault.point == 2
    watts_w = 18.0 if told.fit.fault.kind.code == "undeclared-load" else 23.0 / 5.0
    assert size_holds(answer, watts_w)


def test_two_fixtures_exchanged_are_found() -> None:
    strong: Json = {**DESCRIBED, "wiring": copy.deepcopy(DESCRIBED["wiring"])}
    line(strong)["fixtures"][4]["load"] = jobs.watts(30)
    built = copy.deepcopy(strong)
    lamps = line(built)["fixtures"]
    lamps[0]["load"], lamps[4]["load"] = lamps[4]["load"], lamps[0]["load"]
    answer = checked(as_built(strong, built))
    assert best(answer) == "fixtures-exchanged"
    assert answer.explanations[0].fit.fault.rows == (0, 4)


def test_a_broken_cable_leaves_everything_behind_it_dark() -> None:
    # To what is in front of it a break looks as if the lamps behind were off.
    built = copy.deepcopy(PATH_WALK)
    for index in (3, 4):
        line(built)["fixtures"][index]["load"] = jobs.watts(0)
    dark = {fixture(3), fixture(4)}
    ahead = [said for said in EVERYWHERE if said["subject"].get("pointer") not in dark]
    sent = as_built({**PATH_WALK, "readings": ahead}, built)
    answer = checked(
        {**sent, "readings": [*sent["readings"], *(volts_at(each, 0.0) for each in sorted(dark))]}
    )
    assert best(answer) == "open-circuit"
    assert answer.explanations[0].fit.fault.spans == (3,)
    assert answer.place_settled


def test_one_reading_alone_settles_nothing_and_the_next_one_is_named() -> None:
    built = copy.deepcopy(PATH_WALK)
    cable_between(2, jobs.awg(18))(built)
    answer = checked(as_built({**PATH_WALK, "readings": [volts_at(fixture(4))]}, built))
    assert answer.verdict == DISAGREES
    assert len(answer.alternatives) > 3
    assert not answer.place_settled
    assert answer.next_reading is not None


def test_following_the_advice_settles_the_place() -> None:
    built = copy.deepcopy(PATH_WALK)
    cable_between(2, jobs.ohms_per_km((16.94 + 60.0) / 2.0))(built)
    readings = [volts_at(fixture(4))]
    for _ in range(6):
        answer = checked(as_built({**PATH_WALK, "readings": readings}, built))
        following = answer.next_reading
        if following is None:
            break
        readings.append(advised(following.probe.is_voltage, following.where, following.state.on))
    assert answer.place_settled
    assert answer.explanations[0].fit.fault.spans == (2,)
    assert len(readings) <= 6


def advised(voltage: bool, where: str, on: str) -> Json:  # noqa: FBT001  # volts or amperes
    pointer = None if where == "/supply" else where
    return volts_at(pointer, state=on) if voltage else amps_at(pointer, state=on)


def test_two_faults_that_pull_apart_contradict_under_every_single_fault() -> None:
    sent = as_built(DESCRIBED, PATH_WALK)
    sent["readings"][3]["quantity"]["value"] = jobs.volts(11.2)
    sent["readings"].append(volts_at(fixture(1), 12.55, state=lit(fixture(1))))
    sent["readings"].append(volts_at(fixture(0), 11.6, state=lit(fixture(0))))
    answer = checked(sent)
    assert answer.verdict == CONTRADICTS
    assert not answer.place_settled
    assert answer.next_reading is None
