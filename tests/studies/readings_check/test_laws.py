"""What must hold of every check of readings, whatever the wiring."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from service.studies.readings_check.study import AGREES, CheckAnswer
from tests import jobs
from tests.circuit.gardens import ALL
from tests.estimation.test_jacobian import GARDENS, read_everywhere
from tests.jobs import Json
from tests.studies.readings_check.jobs import (
    amps_at,
    as_built,
    asked,
    checked,
    fixture,
    lit,
    read_off,
    volts_at,
)

STEPS = jobs.job(
    jobs.run(
        *(jobs.lamp(10.0 * number, jobs.watts(7)) for number in range(1, 5)), cable=jobs.ohms_per_km(8.0)
    ),
    supply=jobs.transformer(open_circuit={"voltage": jobs.volts(12.6)}, winding=jobs.winding(150, 5)),
)
EACH = [volts_at(None), *(volts_at(fixture(index)) for index in range(4)), amps_at("/wiring/runs/0")]


def spliced(request: Json, ohm: float, at_m: float = 20.0) -> Json:
    """The same wiring with so many ohms more in the ten metres from there on."""
    built = copy.deepcopy(request)
    (line,) = built["wiring"]["runs"]
    extra = jobs.ohms_per_km(8.0 + 1000.0 * ohm / 2.0 / 10.0)
    line["cable_changes"] = [
        {"at": jobs.metres(at_m), "cable": extra},
        {"at": jobs.metres(at_m + 10.0), "cable": line["cable"]},
    ]
    return built


def figures(answer: CheckAnswer) -> list[tuple[Any, ...]]:
    return [
        (each.fit.fault.kind.code, each.fit.fault.spans, each.fit.fault.rows, each.fit.fault.point)
        for each in answer.explanations
    ]


@pytest.mark.parametrize("name", GARDENS)
def test_what_the_solver_itself_says_agrees_to_the_last_digit(name: str) -> None:
    answer = checked(read_off(read_everywhere(ALL[name])))
    assert answer.verdict == AGREES
    assert answer.statistics.value == pytest.approx(0.0, abs=1e-12)
    assert answer.statistics.probability == 1.0
    assert all(judged.discrepancy == pytest.approx(0.0, abs=1e-12) for judged in answer.readings)


def test_the_order_of_the_readings_changes_nothing() -> None:
    sent = as_built({**STEPS, "readings": EACH}, spliced(STEPS, 0.3))
    there = checked(sent)
    back = checked({**sent, "readings": sent["readings"][::-1]})
    assert back.statistics.value == pytest.approx(there.statistics.value, rel=1e-9)
    assert figures(back)[:2] == figures(there)[:2]
    sizes = [[each.fit.size for each in answer.explanations[:2]] for answer in (there, back)]
    assert sizes[1] == pytest.approx(sizes[0], rel=2e-3)
    assert [judged.normalised for judged in back.readings[::-1]] == pytest.approx(
        [judged.normalised for judged in there.readings], rel=1e-9
    )


def test_twice_the_volts_and_four_times_the_watts_are_as_far_off() -> None:
    sent = as_built({**STEPS, "readings": EACH}, spliced(STEPS, 0.3))
    double = copy.deepcopy(sent)
    supply = double["supply"]
    supply["secondary"], supply["open_circuit"]["voltage"] = jobs.volts(24), jobs.volts(25.2)
    supply["winding"]["rating"] = jobs.quantity(600, "VA")
    for line in double["wiring"]["runs"][0]["fixtures"]:
        line["load"]["power"]["value"] *= 4
    for said in double["readings"]:
        said["quantity"]["value"]["value"] *= 2
    double["instrument"] = {
        "voltage_resolution": jobs.volts(0.02),
        "current_resolution": jobs.quantity(0.02, "A"),
    }
    once, twice = checked(sent), checked(double)
    assert twice.statistics.value == pytest.approx(once.statistics.value, rel=1e-6)
    assert figures(twice)[0] == figures(once)[0]
    assert twice.explanations[0].fit.size == pytest.approx(once.explanations[0].fit.size, rel=1e-3)


def test_a_state_listed_in_full_is_the_state_with_everything_on() -> None:
    lines = [fixture(index) for index in range(4)]
    readings = [
        *EACH,
        volts_at(fixture(3), state=lit(*lines)),
        volts_at(fixture(3), state=lit("/wiring/runs/0")),
    ]
    answer = checked({**STEPS, "readings": readings})
    assert len(answer.model.states) == 1
    predicted = [judged.predicted for judged in answer.readings]
    assert predicted[-1] == predicted[-2] == predicted[4]


def test_fixtures_that_are_not_lit_draw_nothing() -> None:
    answer = checked({**STEPS, "readings": [amps_at(fixture(0), 0.0, state=lit(fixture(1)))]})
    assert answer.readings[0].predicted == 0.0


def test_nothing_on_is_the_open_circuit_everywhere() -> None:
    readings = [volts_at(pointer, state="no-load") for pointer in (None, "/wiring/runs/0", fixture(2))]
    answer = checked({**STEPS, "readings": readings})
    assert [judged.predicted for judged in answer.readings] == [12.6] * 3


def test_measured_mains_move_the_supply_in_proportion() -> None:
    supply = jobs.transformer(primary={"rated": jobs.volts(120), "actual": jobs.volts(120)})
    at = [{"on": "no-load", "mains": jobs.volts(mains)} for mains in (120, 114)]
    answer = checked({**STEPS, "supply": supply, "readings": [volts_at(None, state=state) for state in at]})
    high_v, low_v = (judged.predicted for judged in answer.readings)
    assert high_v == 12.0
    assert low_v == pytest.approx(12.0 * 114 / 120)


def test_a_better_meter_makes_the_same_discrepancy_count_for_more() -> None:
    sent = as_built({**STEPS, "readings": EACH}, spliced(STEPS, 0.1))
    coarse = {"accuracy_percent": 3, "current_accuracy_percent": 5}
    fine = {"accuracy_percent": 0.1, "counts": 1, "current_accuracy_percent": 1, "current_counts": 1}
    values = [checked({**sent, "instrument": meter}).statistics.value for meter in (coarse, fine)]
    assert values[0] < values[1]


def test_the_prediction_stands_at_the_middle_of_a_stated_span_of_temperatures() -> None:
    span = {"lowest": jobs.quantity(40, "degC"), "highest": jobs.quantity(60, "degC")}
    hot = checked({**STEPS, "readings": EACH, "priors": {"temperature_span": span}})
    said = {"conductor_temperature": jobs.quantity(50, "degC")}
    same = checked({**STEPS, "conditions": said, "readings": EACH})
    assert hot.readings[4].predicted == same.readings[4].predicted


def test_wiring_that_is_known_better_is_judged_more_strictly() -> None:
    loose, tight = ({**STEPS, "readings": EACH, "priors": {"power_percent": each}} for each in (20, 0))
    uncertainties = [checked(each).readings[4].uncertainty or 0.0 for each in (loose, tight)]
    assert uncertainties[0] > uncertainties[1] > 0.0


def test_readings_of_one_state_share_it_whatever_the_order_of_what_is_lit() -> None:
    one, other = lit(fixture(0), fixture(2)), lit(fixture(2), fixture(0))
    answer = checked({**STEPS, "readings": [volts_at(None, state=one), volts_at(fixture(0), state=other)]})
    assert len(answer.model.states) == 1
    assert len(asked({**STEPS, "readings": EACH}).readings) == 6
