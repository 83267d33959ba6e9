"""What a choice of cables breaks, held against what the same wiring shows when it is solved and judged."""

import json
from typing import Any

import pytest

from service.circuit.job import JobPart
from service.circuit.reading import built, span_columns
from service.circuit.state import SolvedState
from service.findings.violation import Violation, conductor_violations, worst_of_each
from service.findings.voltage import FIXTURE_ABOVE_WINDOW, FIXTURE_BELOW_WINDOW
from service.intake import decode
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.translate import job_of
from tests import jobs
from tests.jobs import Json, amperes, awg, job, lamp, run, transformer


def state_of(request: Json) -> SolvedState:
    state = built(job_of(decode(json.dumps(request).encode(), VoltageDropRequest))).solved()
    assert state is not None
    return state


def carried(state: SolvedState) -> list[float]:
    """Current in each span. [A]"""
    return [abs(each) for each in span_columns(state, state.voltages()).current_a]


def test_of_each_kind_the_violation_farthest_out_is_kept_in_the_order_of_the_kinds() -> None:
    def violation(measured: float, limit: float, at: int) -> Violation:
        kind = FIXTURE_BELOW_WINDOW if measured < limit else FIXTURE_ABOVE_WINDOW
        return Violation(kind, JobPart(f"/{at}"), measured, limit, "V")

    # 16 V is 1 V above 15 V, 15.5 V half; 9 V is 2 V below 11 V, 9.5 V 1 V below 10.5 V.
    found = worst_of_each(
        [violation(15.5, 15, 0), violation(9.5, 10.5, 1), violation(9, 11, 2), violation(16, 15, 3)]
    )
    assert [each.subject.pointer for each in found] == ["/3", "/2"]
    assert [each.excess for each in found] == [1.0, 2.0]


@pytest.mark.parametrize("towards_supply", [False, True])
@pytest.mark.parametrize("tap_v", [12, 15])
def test_a_span_carries_what_its_lamp_draws_whichever_way_it_was_written_and_on_any_tap(
    tap_v: float, *, towards_supply: bool
) -> None:
    """A driver of constant current takes its 4 A from every tap."""
    ends = ("gate", "supply") if towards_supply else ("supply", "gate")
    spans = [
        {
            "from": ends[0],
            "to": ends[1],
            "length": jobs.metres(10),
            "cable": awg(12),
            "tap": jobs.volts(tap_v),
        },
        {"from": "supply", "to": "pond", "length": jobs.metres(10), "cable": awg(12), "tap": jobs.volts(12)},
    ]
    fixtures = [{"point": "gate", "load": amperes(4)}, {"point": "pond", "load": amperes(1)}]
    wiring = {"form": "spans", "spans": spans, "fixtures": fixtures}
    supply = transformer(taps=[jobs.volts(12), jobs.volts(15)])
    assert carried(state_of({"supply": supply, "wiring": wiring})) == pytest.approx([4.0, 1.0], rel=1e-9)


def leads(count: int, each_a: float, limit_a: float | None = None, **more: Any) -> Json:
    """Lamps at one point, each on a lead of its own of 18 AWG."""
    lead = {"length": jobs.metres(1), "cable": awg(18)}
    line = lamp(5, amperes(each_a), count=count, lead=lead)
    if limit_a is not None:
        more["circuits"] = [{"name": "a", "limit": jobs.quantity(limit_a, "A")}]
    return job(run(line, cable=awg(8)), supply=transformer(**more))


def broken(request: Json, accepted: frozenset[str] = frozenset()) -> list[tuple[str, float]]:
    state = state_of(request)
    found = conductor_violations(state, carried(state), accepted)
    return [(each.code, round(each.measured, 6)) for each in found]


def test_leads_side_by_side_carry_each_what_its_own_lamp_draws() -> None:
    # The ampacity of 18 AWG is 7 A here: lamps of 6 A keep it though four draw 24 A; lamps of 8 A do not.
    assert broken(leads(4, 6.0)) == []
    assert broken(leads(4, 8.0)) == [("span-over-ampacity", 8.0)]


def test_a_lead_that_is_thinner_than_its_device_asks_for_is_named_where_one_is_stated() -> None:
    code = "conductor-below-device"
    assert broken(leads(1, 1.0)) == []
    assert (code, 25.0) in broken(leads(1, 1.0, 25.0))
    assert broken(leads(1, 1.0, 25.0), frozenset({code})) == []
    assert broken(leads(1, 1.0, 25.0, class_2=True)) == []
