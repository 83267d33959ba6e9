"""Requests to `POST /v1/readings-check`: one small garden, and what a meter reads in it."""

from typing import Any

from tests import jobs
from tests.client import Client
from tests.fuzz.asking import assert_sound
from tests.jobs import Json
from tests.studies.readings_check.jobs import PATH, amps_at, volts_at

LAMP = "/wiring/runs/0/fixtures/0"
LINE = "/wiring/runs/0/fixtures/1"
ALL_ON: Json = {"on": "all-on"}
NO_LOAD: Json = {"on": "no-load"}
BOX = jobs.transformer(winding=jobs.winding(150, 4))
GARDEN = jobs.job(
    jobs.run(
        jobs.lamp(5, jobs.watts(10)),
        jobs.lamp(10, jobs.watts(5), count=3, spacing=jobs.metres(5)),
        cable=jobs.awg(12),
        tail=jobs.metres(4),
        branches=[jobs.branch(10, jobs.lamp(4, jobs.watts(7, power_factor=0.8)), cable=jobs.awg(14))],
    ),
    supply=BOX,
)


def wired(pointer: str, **more: Any) -> Json:
    return {"kind": "wired", "pointer": pointer, **more}


def read_volts(subject: Json, value: float, state: Json | None = ALL_ON, unit: str = "V") -> Json:
    return {**volts_at(None, value, state, unit=unit), "subject": subject}


def read_amperes(subject: Json, value: float, state: Json = ALL_ON) -> Json:
    return {**amps_at(None, value, state), "subject": subject}


TERMINAL: Json = {"kind": "terminal"}
SOUND = [
    read_volts(TERMINAL, 12.48, NO_LOAD),
    read_volts(TERMINAL, 12.37),
    read_volts(wired(LAMP), 12.23),
    read_volts(wired(LINE, number=3), 12.0),
    read_volts(wired("/wiring/runs/0"), 12.0),
]


def ask(client: Client, garden: Json, *readings: Json, status: int = 200, **more: Any) -> Json:
    """The reply, which is sound in itself whatever it says."""
    reply = client.post(PATH, json={**garden, "readings": list(readings), **more})
    assert_sound(PATH, reply)
    assert reply.status_code == status, reply.text
    told: Json = reply.json()
    return told


def codes(reply: Json) -> set[str]:
    return {found["code"] for found in reply["findings"]}


def verdicts(reply: Json) -> list[str]:
    return [row["verdict"] for row in reply["readings"]]
