"""One run that the wiring cannot carry does not hide what the others get."""

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json

COLLAPSING = jobs.run(jobs.lamp(150, jobs.watts(100)), cable=jobs.awg(18), name="far end")
DIM = jobs.run(jobs.lamp(60, jobs.watts(30)), cable=jobs.awg(14), name="hedge")
SOUND = jobs.run(jobs.lamp(10, jobs.watts(5)), cable=jobs.awg(12), name="gate")
SUPPLY = jobs.transformer(winding=jobs.winding(300, 4))


def test_the_others_are_answered_with_the_collapsed_run_switched_off(client: Client) -> None:
    reply = jobs.answer(client, jobs.job(COLLAPSING, DIM, SOUND, supply=SUPPLY))
    assert reply["status"] == "no-operating-point"
    assert reply["fixtures"] == []
    rest = reply["rest"]
    assert rest["off"] == [{"pointer": "/wiring/runs/0"}]
    alone = jobs.solved(client, jobs.job(DIM, SOUND, supply=SUPPLY))
    assert [row["voltage"] for row in rest["fixtures"]] == [row["voltage"] for row in alone["fixtures"]]
    assert [row["pointer"] for row in rest["runs"]] == ["/wiring/runs/1", "/wiring/runs/2"]
    assert jobs.codes(rest) == jobs.codes(alone)
    assert rest["supply"]["apparent_power"] == alone["supply"]["apparent_power"]


def test_every_run_that_collapses_is_off(client: Client) -> None:
    reply = jobs.answer(client, jobs.job(COLLAPSING, SOUND, COLLAPSING, supply=SUPPLY))
    assert {each["pointer"] for each in reply["rest"]["off"]} == {"/wiring/runs/0", "/wiring/runs/2"}


def test_one_run_alone_has_no_rest(client: Client) -> None:
    assert "rest" not in jobs.answer(client, jobs.job(COLLAPSING, supply=SUPPLY))


def test_parts_of_a_graph_are_switched_off_as_a_whole(client: Client) -> None:
    def span(end: str, length_m: float, size: int) -> Json:
        return {"from": "supply", "to": end, "length": jobs.metres(length_m), "cable": jobs.awg(size)}

    fixtures = [{"point": "a", "load": jobs.watts(100)}, {"point": "b", "load": jobs.watts(5)}]
    spans = [span("a", 150, 18), span("b", 10, 12)]
    wiring = {"form": "spans", "spans": spans, "fixtures": fixtures}
    reply = jobs.answer(client, {"supply": SUPPLY, "wiring": wiring})
    rest = reply["rest"]
    assert reply["summary"]["text"].endswith("With the part that ends at a switched off the rest passes.")
    assert [row["pointer"] for row in rest["fixtures"]] == ["/wiring/fixtures/1"]
    assert rest["fixtures"][0]["voltage"]["value"] == pytest.approx(12.45, abs=0.05)


def test_a_winding_too_weak_for_all_carries_some(client: Client) -> None:
    # 24 V open behind 7.2 ohm give 20 W at most: two of three runs of 8 W.
    weak = jobs.transformer(12, winding=jobs.winding(20, 100))
    runs = [jobs.run(jobs.lamp(0.1, jobs.watts(8)), tap=jobs.volts(12)) for _ in range(3)]
    rest = jobs.answer(client, jobs.job(*runs, supply=weak))["rest"]
    assert len(rest["off"]) == 1
    assert len(rest["fixtures"]) == 2


def test_the_sheet_prints_the_others_too(client: Client) -> None:
    page = client.post(
        "/v1/voltage-drop",
        json=jobs.job(COLLAPSING, DIM, SOUND, supply=SUPPLY),
        headers={"accept": "text/html"},
    ).text
    assert "What the others get" in page
    assert "hedge" in page


def in_short(client: Client, request: Json) -> str:
    text: str = jobs.answer(client, request)["summary"]["text"]
    return text


def test_what_the_others_are_warned_of_is_told(client: Client) -> None:
    rest = jobs.job(DIM, SOUND, supply=SUPPLY)
    (group, *_) = jobs.solved(client, rest)["summary"]["findings"]
    text = in_short(client, jobs.job(COLLAPSING, DIM, SOUND, supply=SUPPLY))
    assert group["severity"] != "note"
    assert text.endswith(group["message"])
    assert "With far end switched off the rest " in text


def test_where_the_others_pass_nothing_more_is_told(client: Client) -> None:
    text = in_short(client, jobs.job(COLLAPSING, SOUND, supply=SUPPLY))
    assert text.endswith("With far end switched off the rest passes.")


def test_a_circuit_over_its_device_is_told_beside_a_collapse(client: Client) -> None:
    # 12.48 V at most: 400 W of lamps take 32 A or more, wherever they are.
    circuits = [{"name": name, "limit": jobs.quantity(25, "A")} for name in "AB"]
    supply = jobs.transformer(winding=jobs.winding(900, 4), circuits=circuits)
    far = {**COLLAPSING, "circuit": "A"}
    heavy = jobs.run(jobs.lamp(1, jobs.watts(400)), cable=jobs.awg(8), circuit="B")
    reply = jobs.answer(client, jobs.job(far, heavy, supply=supply))
    (over,) = jobs.findings(reply, "circuit-over-current")
    assert over["subject"]["pointer"] == "/supply/circuits/1"
    assert over["measured"]["value"] == pytest.approx(400 / 12.48, abs=0.001)
    assert over["message"].startswith('Circuit "B" would carry at least 32.05 A; its device is rated 25 A')
    assert over["message"] in reply["summary"]["text"]


def test_a_cable_too_thin_for_its_device_is_told_beside_a_collapse(client: Client) -> None:
    circuits = [{"name": "A", "limit": jobs.quantity(25, "A")}]
    supply = jobs.transformer(winding=jobs.winding(300, 4), circuits=circuits)
    reply = jobs.answer(client, jobs.job(COLLAPSING, SOUND, supply=supply))
    (thin,) = jobs.findings(reply, "conductor-below-device")
    assert thin["subject"]["pointer"] == "/wiring/runs/0"


@pytest.mark.parametrize("load_w", [1.0, 4.0, 9.0])
def test_the_least_that_a_circuit_carries_is_never_more_than_what_it_does_carry(
    client: Client, load_w: float
) -> None:
    # The same lamps on cable that carries them: at least as much is solved as was said without a solution.
    circuits = [{"name": "A", "limit": jobs.quantity(1, "A")}]
    supply = jobs.transformer(winding=jobs.winding(300, 4), circuits=circuits)
    loads = [jobs.volt_amperes(5 * load_w, 7 * load_w), jobs.resistor(5), jobs.watts(3 * load_w)]

    def measured(size: int, *more: Json) -> float:
        lamps = jobs.run(
            *(jobs.lamp(2 + place, load) for place, load in enumerate(loads)), cable=jobs.awg(size)
        )
        reply = jobs.answer(client, jobs.job(lamps, *more, supply=supply))
        (found,) = [each for each in reply["findings"] if each["code"].startswith("circuit-")]
        value: float = found["measured"]["value"]
        return value

    at_least = measured(12, COLLAPSING) - 100 / 12.48
    assert at_least <= measured(12) + 1e-5
