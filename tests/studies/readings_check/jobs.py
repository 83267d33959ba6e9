"""Readings, written as short as an installer would say them."""

from __future__ import annotations

import json
from typing import Any

from service.estimation.job import ReadingsJob
from service.intake import decode
from service.studies.readings_check.request import ReadingsCheckRequest
from service.studies.readings_check.study import CheckAnswer, readings_check
from service.studies.readings_check.translate import job_of
from tests.client import Client
from tests.jobs import Json, answer, quantity

PATH = "/v1/readings-check"

RUN = "/wiring/runs/0"


def fixture(index: int, run: int = 0) -> str:
    return f"/wiring/runs/{run}/fixtures/{index}"


def reading(
    kind: str, value: float, pointer: str | None = None, state: str | Json | None = "all-on", **more: Any
) -> Json:
    """One reading; without a pointer at the terminals. `number` stands beside the pointer."""
    number = {"number": more.pop("number")} if "number" in more else {}
    subject = {"kind": "terminal"} if pointer is None else {"kind": "wired", "pointer": pointer, **number}
    unit = more.pop("unit", {"voltage": "V", "current": "A", "resistance": "ohm"}[kind])
    said: Json = {"subject": subject, "quantity": {"kind": kind, "value": quantity(value, unit)}, **more}
    if state is not None:
        said["state"] = {"on": state} if isinstance(state, str) else state
    return said


def volts_at(
    pointer: str | None, value: float = 12.0, state: str | Json | None = "all-on", **more: Any
) -> Json:
    return reading("voltage", value, pointer, state, **more)


def amps_at(
    pointer: str | None, value: float = 1.0, state: str | Json | None = "all-on", **more: Any
) -> Json:
    return reading("current", value, pointer, state, **more)


def ohms_at(pointer: str | None, value: float, state: str | Json = "disconnected", **more: Any) -> Json:
    return reading("resistance", value, pointer, state, **more)


def lit(*pointers: str) -> Json:
    return {"on": "listed", "lit": [{"pointer": pointer} for pointer in pointers]}


def asked(request: Json) -> ReadingsJob:
    return job_of(decode(json.dumps(request).encode(), ReadingsCheckRequest))


def checked(request: Json) -> CheckAnswer:
    return readings_check(asked(request))


def check(client: Client, request: Json) -> Json:
    return answer(client, request, PATH)


def read_off(request: Json, *, decimals: int | None = None) -> Json:
    """The request with every reading what a faultless meter says of the wiring as described."""
    predicted = [judged.predicted for judged in checked(request).readings]
    readings = []
    for said, value in zip(request["readings"], predicted, strict=True):
        assert value is not None, said
        shown = value if decimals is None else round(value, decimals)
        kept = {**said["quantity"], "value": {**said["quantity"]["value"], "value": shown}}
        readings.append({**said, "quantity": kept})
    return {**request, "readings": readings}


def as_built(described: Json, built: Json) -> Json:
    """Readings taken of one wiring and sent with the description of another."""
    return {
        **described,
        "readings": read_off({**built, "readings": described["readings"]}, decimals=2)["readings"],
    }
