"""How the numbers of a choice are shown: what fails never as if it passed, money in whole cents."""

import json
from decimal import ROUND_FLOOR, Decimal

import pytest

from service.circuit.job import JobPart
from service.circuit.state import connect_job
from service.findings.loading import TRANSFORMER_OVER_RATING
from service.findings.violation import Violation
from service.findings.voltage import (
    DROP_OVER_LIMIT,
    FIXTURE_ABOVE_WINDOW,
    FIXTURE_BELOW_WINDOW,
    NO_OPERATING_POINT,
)
from service.intake import decode
from service.studies.gauge_recommendation.assessment import Assessment
from service.studies.gauge_recommendation.translate import money, outcome_row
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.translate import job_of
from service.translate.naming import PlaceNames
from tests.jobs import Json, job, lamp, run, watts

LAMP = JobPart("/wiring/runs/0/fixtures/0")
LOW = Violation(FIXTURE_BELOW_WINDOW, LAMP, 10.49999, 10.5, "V")
HIGH = Violation(FIXTURE_ABOVE_WINDOW, LAMP, 15.00001, 15.0, "V")
DROP = Violation(DROP_OVER_LIMIT, LAMP, 10.0001, 10.0, "%")
NOSE = Violation(NO_OPERATING_POINT, LAMP, 0.0, 0.0, "")
FULL = Violation(TRANSFORMER_OVER_RATING, LAMP, 150.0001, 150.0, "VA")


def shown(*violations: Violation, loading_ratio: float = 0.5) -> Json:
    request = json.dumps(job(run(lamp(5, watts(4))))).encode()
    naming = PlaceNames(connect_job(job_of(decode(request, VoltageDropRequest))).layout, "m")
    row = outcome_row(
        Assessment(10.49999, 15.00001, 0.100001, 1.0, violations, loading_ratio=loading_ratio), naming
    )
    return {name: getattr(getattr(row, name), "value", getattr(row, name)) for name in row.__struct_fields__}


def test_what_breaks_nothing_is_shown_to_the_nearest() -> None:
    row = shown()
    assert row["passes"]
    assert (row["lowest_voltage"], row["highest_voltage"]) == (10.5, 15.0)
    assert (row["drop_percent"], row["loading_ratio"]) == (10.0, 0.5)


def test_what_breaks_a_limit_is_shown_beyond_it() -> None:
    """10.49999 V of 10.5 V, 15.00001 V of 15 V and 10.0001 % of 10 % are not what the limit is."""
    row = shown(LOW, HIGH, DROP)
    assert not row["passes"]
    assert (row["lowest_voltage"], row["highest_voltage"]) == (10.4999, 15.0001)
    assert row["drop_percent"] == 10.001
    measured = [(broken.measured.value, broken.limit.value) for broken in row["breaks"]]
    assert measured == [(10.4999, 10.5), (15.0001, 15.0), (10.001, 10.0)]


def test_each_number_is_rounded_for_its_own_limit() -> None:
    row = shown(LOW)
    assert (row["lowest_voltage"], row["highest_voltage"], row["drop_percent"]) == (10.4999, 15.0, 10.0)
    row = shown(HIGH)
    assert (row["lowest_voltage"], row["highest_voltage"], row["drop_percent"]) == (10.5, 15.0001, 10.0)


def test_a_supply_a_little_over_its_rating_is_shown_over_it() -> None:
    # 150.0001 VA of 150 VA are 1.00000067 of it.
    assert shown(FULL, loading_ratio=150.0001 / 150.0)["loading_ratio"] == 1.0001
    assert shown(loading_ratio=1.0 + 1e-12)["loading_ratio"] == 1.0
    assert shown(loading_ratio=0.99999)["loading_ratio"] == 1.0


def test_of_what_cannot_be_carried_no_voltage_is_shown() -> None:
    row = shown(LOW, NOSE)
    assert not row["passes"]
    assert str(row["lowest_voltage"]) == str(row["drop_percent"]) == "UNSET"


@pytest.mark.parametrize(
    ("amount", "nearest", "at_least"),
    [
        ("12.349", "12.35", "12.34"),
        ("12.345", "12.34", "12.34"),
        ("12.355", "12.36", "12.35"),
        ("7", "7.00", "7.00"),
    ],
)
def test_money_is_in_cents_and_a_least_price_is_never_more_than_what_was_proven(
    amount: str, nearest: str, at_least: str
) -> None:
    # Half a cent goes to the even one (IEEE 754 roundTiesToEven), so that many lines add up to no drift.
    assert money(Decimal(amount)) == nearest
    assert money(Decimal(amount), ROUND_FLOOR) == at_least
