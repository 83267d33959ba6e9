"""What must hold of every commissioning sheet, whatever the wiring and the meter."""

from __future__ import annotations

import json
from itertools import pairwise
from math import sqrt

import msgspec
import pytest
from hypothesis import given
from hypothesis import settings as tried
from hypothesis import strategies as st

from service.estimation.uncertainty import COVERAGE
from service.intake import decode
from service.studies.commissioning_sheet.reply import CommissioningSheetReply
from service.studies.commissioning_sheet.request import CommissioningSheetRequest
from service.studies.commissioning_sheet.stages import RUN_ALONE
from service.studies.commissioning_sheet.study import commissioning_sheet
from service.studies.commissioning_sheet.translate import job_of, reply_of
from service.studies.readings_check.study import AGREES
from tests.circuit.gardens import ALL
from tests.jobs import Json, awg, job, lamp, quantity, run, transformer, volts, watts, winding
from tests.studies.commissioning_sheet.test_http import JOBS, checkable, places, readings
from tests.studies.readings_check.jobs import checked

TWO_RUNS = job(
    run(lamp(10, watts(9)), lamp(30, watts(5)), cable=awg(12)),
    run(lamp(25, watts(12)), cable=awg(14)),
    supply=transformer(winding=winding(150, 5)),
)

LAST = {"V": 5.1e-5, "A": 5.1e-6}
"""Half of the last figure that a reply shows."""


def reply_to(request: Json) -> CommissioningSheetReply:
    message = decode(json.dumps(request).encode(), CommissioningSheetRequest)
    return reply_of(message, commissioning_sheet(job_of(message)), "")


def sheet(request: Json) -> Json:
    read: Json = msgspec.to_builtins(reply_to(request))
    return read


SHEETS = {name: request for name, request in (ALL | JOBS).items() if name != "battery"}


@pytest.mark.parametrize("points", ["key", "every"])
@pytest.mark.parametrize("request_body", SHEETS.values(), ids=SHEETS)
def test_values_and_tolerances_are_those_by_which_readings_are_judged(
    request_body: Json, points: str
) -> None:
    reply = sheet({**request_body, "points": points})
    for column in reply["mains"]:
        answer = checked({**checkable(request_body), "readings": readings(reply, column)})
        judged = answer.readings
        assert {one.verdict for one in judged} | {answer.verdict} <= {AGREES, "nothing-to-judge"}
        shown = [
            (each["value"], each["tolerance"])
            for _, point in places(reply)
            for each in point["expected"]
            if each["mains_number"] == column["number"]
        ]
        for (value, tolerance), one in zip(shown, judged, strict=True):
            assert one.predicted == pytest.approx(value["value"], abs=LAST[value["unit"]])
            assert one.uncertainty is not None
            assert COVERAGE * one.uncertainty == pytest.approx(
                tolerance["value"], abs=2 * LAST[value["unit"]]
            )


percent = st.floats(0.0, 10.0)
METERS = st.fixed_dictionaries(
    {},
    optional={
        "accuracy_percent": percent,
        "counts": st.floats(0, 20),
        "voltage_resolution": st.sampled_from([volts(0.01), volts(0.1), quantity(1, "mV")]),
        "current_accuracy_percent": percent,
        "current_counts": st.floats(0, 20),
    },
)
PRIORS = st.fixed_dictionaries(
    {},
    optional=dict.fromkeys(
        ("length_percent", "power_percent", "winding_percent", "mains_percent", "resistance_percent"), percent
    ),
)


@given(meter=METERS, priors=PRIORS, mains=st.integers(105, 130))
@tried(max_examples=40)
def test_within_its_tolerance_a_reading_agrees_and_half_as_far_again_it_does_not(
    meter: Json, priors: Json, mains: int
) -> None:
    request = {**TWO_RUNS, "instrument": meter, "priors": priors, "mains": [volts(mains)]}
    reply = sheet(request)
    (column,) = reply["mains"]
    for away, words in ((0.0, {"agrees"}), (0.9, {"agrees"}), (1.5, {"high", "not-used"})):
        judged = checked({**checkable(request), "readings": readings(reply, column, away)}).readings
        assert {one.verdict for one in judged} <= words


def test_more_mains_give_more_volts_at_every_place() -> None:
    for _, point in places(sheet(TWO_RUNS)):
        if point["quantity"] == "voltage":
            values = [each["value"]["value"] for each in point["expected"]]
            assert all(low < high for low, high in pairwise(values))


def test_a_run_alone_stands_higher_than_with_everything_on() -> None:
    stages = sheet(TWO_RUNS)["stages"]
    everything = {json.dumps(each["subject"]): each for each in stages[-1]["test_points"]}
    for stage in stages:
        if stage["code"] != RUN_ALONE:
            continue
        for point in stage["test_points"]:
            among_all = everything[json.dumps(point["subject"])]
            if point["quantity"] == "voltage" == among_all["quantity"]:
                alone, with_all = point["expected"][0]["value"], among_all["expected"][0]["value"]
                assert alone["value"] > with_all["value"]


def test_bare_terminals_within_what_meter_and_mains_may_be_off_by() -> None:
    # By hand: √((0.8 % x 12.6)² + (3 x 0.01)² + (1 %)² x 12.6² + (0.5 %)² x 12.6²), each limit over √3, twice
    # (GUM, JCGM 100:2008, 4.3.7 and 6.3.3).
    reply = sheet({**TWO_RUNS, "mains": [volts(120)]})
    tolerance = reply["stages"][0]["test_points"][0]["expected"][0]["tolerance"]["value"]
    limits = (0.008 * 12.6, 0.03, 0.01 * 12.6, 0.005 * 12.6)
    assert tolerance == pytest.approx(2.0 * sqrt(sum(each * each for each in limits) / 3.0), abs=1e-4)
