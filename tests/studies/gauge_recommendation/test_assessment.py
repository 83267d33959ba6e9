"""What one choice of cables is judged by: every state, every limit, the worst of each."""

from decimal import Decimal

import pytest

from service.findings.violation import Violation
from service.studies.gauge_recommendation.study import gauge_recommendation
from tests import jobs
from tests.jobs import Json
from tests.studies.gauge_recommendation.choosing import assessor_of, question

STOCK = [
    {
        "id": f"awg-{size}",
        "conductor": f"{size} AWG",
        "price": {"kind": "per-length", "amount": amount, "per": "m"},
    }
    for size, amount in ((16, "0.50"), (14, "0.80"), (12, "1.20"), (10, "2.00"))
]


def asked(request: Json, stock: list[Json] | None = None, scope: str = "per-run") -> Json:
    return {**request, "stock": STOCK if stock is None else stock, "scope": scope}


def test_the_worst_violation_of_each_kind_is_told_over_all_corners() -> None:
    conditions = {
        "mains": {"kind": "named", "range": "outlet"},
        "conductor_temperature_range": {
            "lowest": jobs.quantity(-20, "degC"),
            "highest": jobs.quantity(60, "degC"),
        },
    }
    request = {
        **asked(jobs.job(jobs.run(jobs.lamp(40, jobs.watts(20)), cable=jobs.awg(12)))),
        "conditions": conditions,
    }
    found = assessor_of({**request, "limits": {"maximum_drop_percent": 1}}).assess((1,))
    by_code: dict[str, Violation] = {violation.code: violation for violation in found.violations}
    assert by_code["fixture-below-window"].measured == found.lowest_v
    assert by_code["drop-over-limit"].measured == pytest.approx(100 * (found.drop_ratio or 0))


def test_the_state_that_was_said_is_judged_beside_the_corners() -> None:
    # The mains stand at 90 V of 120 V, below the range that was asked for.
    low = jobs.transformer(primary={"rated": jobs.volts(120), "actual": jobs.volts(90)})
    request = asked(jobs.job(jobs.run(jobs.lamp(5, jobs.watts(5)), cable=jobs.awg(12)), supply=low))
    request["conditions"] = {"mains": {"kind": "named", "range": "outlet"}}
    found = assessor_of(request).assess((0,))
    assert found.lowest_v is not None
    assert found.lowest_v < 9.0
    assert not found.passes


def test_a_lamp_that_is_too_high_only_when_alone_is_no_recommendation() -> None:
    lamps = (
        jobs.lamp(10, jobs.watts(5), window=jobs.window(9, 12.3)),
        jobs.lamp(20, jobs.watts(90), window=jobs.window(7, 15)),
    )
    request = asked(
        jobs.job(jobs.run(*lamps, cable=jobs.awg(12)), supply=jobs.transformer(winding=jobs.winding(150, 5))),
        scope="one",
    )
    together = gauge_recommendation(question(request))
    assert together.found is not None
    for switching, passes in (("together", True), ("individually", False)):
        alone = gauge_recommendation(question({**request, "conditions": {"switching": switching}}))
        assert (alone.found is not None) is passes


def test_a_class_2_source_has_no_device_before_its_conductors() -> None:
    circuits = [{"name": "all", "limit": jobs.quantity(20, "A")}]
    for class_2, passes in ((True, True), (False, False)):
        box = jobs.transformer(circuits=circuits, class_2=class_2)
        found = assessor_of(
            asked(jobs.job(jobs.run(jobs.lamp(2, jobs.watts(5)), cable=jobs.awg(12)), supply=box))
        ).assess((0,))
        assert found.passes is passes


def test_prices_are_exact_decimals() -> None:
    answer = gauge_recommendation(
        question(asked(jobs.job(jobs.run(jobs.lamp(30, jobs.watts(5)), cable=jobs.awg(12))), STOCK[:1]))
    )
    assert answer.compared[0].price == Decimal("15.0")


def test_a_hundred_feet_priced_by_the_foot_cost_a_hundred_times_the_foot() -> None:
    by_foot = {"kind": "per-length", "amount": "0.37", "per": "ft"}
    stock = [{"id": "a", "conductor": "12 AWG", "price": by_foot}]
    lights = {"at": jobs.feet(100), "load": jobs.watts(5)}
    answer = gauge_recommendation(question(asked(jobs.job(jobs.run(lights, cable=jobs.awg(12))), stock)))
    assert float(answer.compared[0].price or 0) == pytest.approx(37.0, abs=1e-12)
