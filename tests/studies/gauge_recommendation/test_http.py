"""Which cable, over HTTP."""

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json

PATH = "/v1/gauge-recommendation"


def stock(*sizes: int, price: str | None = None) -> list[Json]:
    priced = {} if price is None else {"price": {"kind": "per-length", "amount": price, "per": "m"}}
    return [{"id": f"cable-{size}", "conductor": f"{size} AWG", **priced} for size in sizes]


def ask(client: Client, request: Json) -> Json:
    reply = client.post(PATH, json=request)
    assert reply.status_code == 200, reply.text
    return dict(reply.json())


ASSUMED: list[tuple[str, Json]] = [
    (
        "cable-price-missing",
        jobs.job(jobs.run(jobs.lamp(10, jobs.watts(5)))) | {"stock": [*stock(12, price="1.20"), *stock(10)]},
    ),
]


@pytest.mark.parametrize(("code", "request_body"), ASSUMED, ids=[code for code, _ in ASSUMED])
def test_what_is_left_open_is_said(client: Client, code: str, request_body: Json) -> None:
    assert code in {entry["code"] for entry in ask(client, request_body)["assumptions"]}


def test_the_filled_wiring_can_be_posted_and_gives_what_was_promised(client: Client) -> None:
    request = jobs.job(
        jobs.run(jobs.lamp(40, jobs.watts(10)), jobs.lamp(60, jobs.watts(10)), cable=jobs.awg(18))
    )
    reply = ask(client, request | {"stock": stock(16, 12, 8)})
    again = client.post("/v1/voltage-drop", json=request | {"wiring": reply["wiring"]}).json()
    lowest = min(row["voltage"]["value"] for row in again["fixtures"])
    assert reply["status"] == "recommended"
    assert reply["outcome"]["lowest_voltage"]["value"] == lowest


def test_nothing_that_passes_names_what_would_help(client: Client) -> None:
    request = jobs.job(jobs.run(jobs.lamp(200, jobs.watts(40)))) | {"stock": stock(18, 16)}
    reply = ask(client, request)
    assert reply["status"] == "none-passes"
    assert [row["outcome"]["passes"] for row in reply["compared"]] == [False, False]
    assert any(row["outcome"]["passes"] for row in reply["remedies"])


def test_the_lowest_tap_that_lights_the_last_lamp_is_chosen(client: Client) -> None:
    supply = jobs.transformer(taps=[jobs.volts(tap_v) for tap_v in (12, 13, 14, 15)])
    request = jobs.job(jobs.run(jobs.lamp(60, jobs.watts(30))), supply=supply) | {
        "stock": stock(12),
        "taps": "choose",
    }
    reply = ask(client, request)
    (chosen,) = reply["taps"]
    low = next(tap_v for tap_v in (12, 13, 14, 15) if lamp_v(client, supply, tap_v) >= 10.0)
    assert chosen["tap"]["value"] == low


def lamp_v(client: Client, supply: Json, tap_v: float) -> float:
    request = jobs.job(
        jobs.run(jobs.lamp(60, jobs.watts(30)), cable=jobs.awg(12), tap=jobs.volts(tap_v)), supply=supply
    )
    rows = client.post("/v1/voltage-drop", json=request).json()["fixtures"]
    return float(rows[0]["voltage"]["value"]) if rows else 0.0


def test_a_choice_for_each_of_many_spans_ends_within_its_work(client: Client) -> None:
    lamps = [jobs.lamp(index, jobs.watts(0.1)) for index in range(1, 150)]
    reply = ask(client, jobs.job(jobs.run(*lamps)) | {"scope": "per-span"})
    assert reply["method"] in {"exact", "best-found"}


@pytest.mark.parametrize("pointer", ["/wiring/runs/1/cable", "/wiring/runs/0", "/supply/cable", "/x"])
def test_a_pointer_at_no_cable_is_refused_where_it_stands(client: Client, pointer: str) -> None:
    reply = client.post(
        PATH,
        json=jobs.job(jobs.run(jobs.lamp(10, jobs.watts(5)))) | {"open": ["/wiring/runs/0/cable", pointer]},
    )
    assert reply.status_code == 422
    assert [(error["code"], error["pointer"]) for error in reply.json()["errors"]] == [
        ("unknown-cable", "/open/1")
    ]
