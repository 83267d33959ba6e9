"""What a list of lit places may point at: everything, a line, one of it, a run; anything else is refused."""

from __future__ import annotations

import json

import pytest

from service.circuit.job import ReadingsContradictoryError
from service.estimation.job import Pointed
from service.estimation.probes import Probes
from service.intake import decode
from service.studies.readings_check.reply import ReadingsCheckReply
from service.studies.readings_check.request import ReadingsCheckRequest
from service.studies.readings_check.study import readings_check
from service.studies.readings_check.translate import job_of, reply_of
from tests import jobs
from tests.jobs import Json
from tests.studies.readings_check.jobs import amps_at, lit

SUPPLY = jobs.transformer(winding=jobs.winding(300, 5))

RING = jobs.run(
    jobs.lamp(5, jobs.watts(20)),
    jobs.lamp(9, jobs.watts(10), count=3, spacing=jobs.metres(1)),
    cable=jobs.awg(12),
    branches=[jobs.branch(4, jobs.lamp(3, jobs.watts(5)), cable=jobs.awg(14))],
    return_leg={"length": jobs.metres(8)},
)

WIRINGS: dict[str, Json] = {
    "runs": jobs.job(RING, jobs.run(jobs.lamp(2, jobs.watts(20)), cable=jobs.awg(12))),
    "even": jobs.even(10, jobs.watts(5), 20, cable=jobs.awg(12)),
    "spans": {
        "wiring": {
            "form": "spans",
            "spans": [
                {"from": "supply", "to": "gate", "length": jobs.metres(9), "cable": jobs.awg(12)},
                {"from": "gate", "to": "pond", "length": jobs.metres(9), "cable": jobs.awg(12)},
                {"from": "pond", "to": "shed", "length": jobs.metres(9), "cable": jobs.awg(12)},
            ],
            "fixtures": [
                {"point": "pond", "load": jobs.watts(20)},
                {"point": "shed", "load": jobs.watts(10)},
            ],
        }
    },
    "totals": {
        "wiring": {
            "form": "totals",
            "load": jobs.watts(100),
            "cable": jobs.awg(12),
            "length": jobs.metres(20),
        }
    },
}

LIT = {
    "runs": {
        "/wiring",
        "/wiring/runs/0",
        "/wiring/runs/1",
        "/wiring/runs/0/branches/0",
        "/wiring/runs/0/fixtures/0",
        "/wiring/runs/0/fixtures/1",
    },
    "even": {"/wiring"},
    "spans": {"/wiring", "/wiring/fixtures/0", "/wiring/fixtures/1"},
    "totals": {"/wiring"},
}
"""What can be lit in each form."""

POINTERS = sorted(
    {
        *(pointer for pointers in LIT.values() for pointer in pointers),
        "/",
        "/id",
        "/supply",
        "/supply/winding",
        "/readings/0",
        "/wiring/",
        "/wiring/form",
        "/wiring/load",
        "/wiring/cable",
        "/wiring/runs",
        "/wiring/runs/",
        "/wiring/runs/-",
        "/wiring/runs/2",
        "/wiring/runs/00",
        "/wiring/runs/0/",
        "/wiring/runs/0/fixtures",
        "/wiring/runs/0/fixtures/-",
        "/wiring/runs/0/fixtures/2",
        "/wiring/runs/0/fixtures/0/load",
        "/wiring/runs/0/branches",
        "/wiring/runs/0/branches/1",
        "/wiring/runs/0/branches/0/spurs/0",
        "/wiring/runs/0/return_leg",
        "/wiring/runs/0/cable",
        "/wiring/spans",
        "/wiring/spans/0",
        "/wiring/spans/2",
        "/wiring/spans/3",
        "/wiring/fixtures",
        "/wiring/fixtures/2",
        "/wiring/fixtures/-",
        "/wiring/~0",
        "/wiring/~1runs",
        "/wiring~1runs/0",
        "/WIRING",
    }
)


def answered(form: str, state: Json) -> ReadingsCheckReply:
    """The reply to one reading of the supply's amperes in a state."""
    return _asked_of(WIRINGS[form], state)


def _asked_of(wiring: Json, state: Json) -> ReadingsCheckReply:
    asked = {**wiring, "supply": SUPPLY, "readings": [amps_at(None, 5.0, state)]}
    message = decode(json.dumps(asked).encode(), ReadingsCheckRequest)
    return reply_of(message, readings_check(job_of(message)), "")


@pytest.mark.parametrize("form", WIRINGS)
@pytest.mark.parametrize("pointer", POINTERS)
def test_what_can_be_lit_is_answered_and_anything_else_refused_at_its_place(form: str, pointer: str) -> None:
    if pointer in LIT[form]:
        assert answered(form, lit(pointer)).readings
        return
    with pytest.raises(ReadingsContradictoryError) as refused:
        answered(form, lit(pointer))
    (mistake,) = refused.value.mistakes
    assert (mistake.code, mistake.pointer) == ("reading-unknown-place", "/readings/0/state/lit/0/pointer")


@pytest.mark.parametrize("form", WIRINGS)
def test_all_wiring_lit_is_everything_on(form: str) -> None:
    (listed,) = answered(form, lit("/wiring")).readings
    (all_on,) = answered(form, {"on": "all-on"}).readings
    assert listed == all_on


def test_one_of_several_at_a_point_named_twice_is_one_of_them() -> None:
    pointed = {"pointer": "/wiring/runs/0/fixtures/0", "number": 1}
    wiring = jobs.job(jobs.run(jobs.lamp(5, jobs.watts(20), count=3), cable=jobs.awg(12)))
    replies = [_asked_of(wiring, {"on": "listed", "lit": [pointed] * times}) for times in (1, 2)]
    once, twice = (reply.readings[0].predicted for reply in replies)
    assert once == twice


@pytest.mark.parametrize("pointer", ["/wiring", "/wiring/runs/0", "/wiring/runs/0/fixtures/1"])
def test_what_is_named_again_is_not_gone_through_again(pointer: str, monkeypatch: pytest.MonkeyPatch) -> None:
    gone_through: list[str] = []
    lit_by = Probes.lit

    def counted(places: Probes, pointed: Pointed) -> dict[int, float]:
        gone_through.append(pointed.pointer)
        return lit_by(places, pointed)

    monkeypatch.setattr(Probes, "lit", counted)
    answered("runs", {"on": "listed", "lit": [{"pointer": pointer}] * 50})
    assert gone_through == [pointer]
