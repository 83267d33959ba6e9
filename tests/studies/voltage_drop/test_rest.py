"""One run that the wiring cannot carry does not hide what the others get."""

import pytest

from tests.client import Client
from tests.jobs import (
    Json,
    answer,
    awg,
    codes,
    job,
    lamp,
    metres,
    run,
    solved,
    transformer,
    volts,
    watts,
    winding,
)

COLLAPSING = run(lamp(150, watts(100)), cable=awg(18), name="far end")
DIM = run(lamp(60, watts(30)), cable=awg(14), name="hedge")
SOUND = run(lamp(10, watts(5)), cable=awg(12), name="gate")
SUPPLY = transformer(winding=winding(300, 4))


def test_the_others_are_answered_with_the_collapsed_run_switched_off(client: Client) -> None:
    reply = answer(client, job(COLLAPSING, DIM, SOUND, supply=SUPPLY))
    assert reply["status"] == "no-operating-point"
    assert reply["fixtures"] == []
    rest = reply["rest"]
    assert rest["off"] == [{"pointer": "/wiring/runs/0"}]
    alone = solved(client, job(DIM, SOUND, supply=SUPPLY))
    assert [row["voltage"] for row in rest["fixtures"]] == [row["voltage"] for row in alone["fixtures"]]
    assert [row["pointer"] for row in rest["runs"]] == ["/wiring/runs/1", "/wiring/runs/2"]
    assert codes(rest) == codes(alone)
    assert rest["supply"]["apparent_power"] == alone["supply"]["apparent_power"]


def test_every_run_that_collapses_is_off(client: Client) -> None:
    reply = answer(client, job(COLLAPSING, SOUND, COLLAPSING, supply=SUPPLY))
    assert {each["pointer"] for each in reply["rest"]["off"]} == {"/wiring/runs/0", "/wiring/runs/2"}


def test_one_run_alone_has_no_rest(client: Client) -> None:
    assert "rest" not in answer(client, job(COLLAPSING, supply=SUPPLY))


def test_parts_of_a_graph_are_switched_off_as_a_whole(client: Client) -> None:
    def span(end: str, length_m: float, size: int) -> Json:
        return {"from": "supply", "to": end, "length": metres(length_m), "cable": awg(size)}

    fixtures = [{"point": "a", "load": watts(100)}, {"point": "b", "load": watts(5)}]
    spans = [span("a", 150, 18), span("b", 10, 12)]
    wiring = {"form": "spans", "spans": spans, "fixtures": fixtures}
    rest = answer(client, {"supply": SUPPLY, "wiring": wiring})["rest"]
    assert [row["pointer"] for row in rest["fixtures"]] == ["/wiring/fixtures/1"]
    assert rest["fixtures"][0]["voltage"]["value"] == pytest.approx(12.45, abs=0.05)


def test_a_winding_too_weak_for_all_carries_some(client: Client) -> None:
    # 24 V open behind 7.2 ohm give 20 W at most: two of three runs of 8 W.
    weak = transformer(12, winding=winding(20, 100))
    runs = [run(lamp(0.1, watts(8)), tap=volts(12)) for _ in range(3)]
    rest = answer(client, job(*runs, supply=weak))["rest"]
    assert len(rest["off"]) == 1
    assert len(rest["fixtures"]) == 2


def test_the_sheet_prints_the_others_too(client: Client) -> None:
    page = client.post(
        "/v1/voltage-drop",
        json=job(COLLAPSING, DIM, SOUND, supply=SUPPLY),
        headers={"accept": "text/html"},
    ).text
    assert "What the others get" in page
    assert "hedge" in page
