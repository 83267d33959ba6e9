"""Which cable, over HTTP."""

import pytest

from service.tables import LEAD_SIZES
from tests import jobs
from tests.client import Client
from tests.jobs import Json, awg, job, lamp, metres, run, transformer, volts, watts

PATH = "/v1/gauge-recommendation"


def stock(*sizes: int, price: str | None = None) -> list[Json]:
    priced = {} if price is None else {"price": {"kind": "per-length", "amount": price, "per": "m"}}
    return [{"id": f"cable-{size}", "conductor": f"{size} AWG", **priced} for size in sizes]


def ask(client: Client, request: Json) -> Json:
    reply = client.post(PATH, json=request)
    assert reply.status_code == 200, reply.text
    return dict(reply.json())


IN_SPOOLS: list[Json] = [
    {
        "id": "a",
        "conductor": "12 AWG",
        "price": {"kind": "per-spool", "spools": [{"length": metres(30), "amount": "20"}]},
    }
]

ASSUMED: list[tuple[str, Json]] = [
    (
        "cable-price-missing",
        job(run(lamp(10, watts(5)))) | {"stock": [*stock(12, price="1.20"), *stock(10)]},
    ),
    ("cut-in-one-piece", job(run(lamp(10, watts(5)))) | {"stock": IN_SPOOLS}),
]


@pytest.mark.parametrize(("code", "request_body"), ASSUMED, ids=[code for code, _ in ASSUMED])
def test_what_is_left_open_is_said(client: Client, code: str, request_body: Json) -> None:
    assert code in {entry["code"] for entry in ask(client, request_body)["assumptions"]}


def test_nothing_is_assumed_of_joints_where_they_are_stated_or_nothing_is_sold_in_spools(
    client: Client,
) -> None:
    request = job(run(lamp(10, watts(5))))
    stated: Json = {"stock": IN_SPOOLS, "cutting": {"joints": "nowhere"}}
    for more in (stated, {"stock": stock(12, price="1.20")}):
        codes = {entry["code"] for entry in ask(client, request | more)["assumptions"]}
        assert "cut-in-one-piece" not in codes


def test_the_filled_wiring_can_be_posted_and_gives_what_was_promised(client: Client) -> None:
    request = job(run(lamp(40, watts(10)), lamp(60, watts(10)), cable=awg(18)))
    reply = ask(client, request | {"stock": stock(16, 12, 8)})
    judged = {"wiring": reply["wiring"], "conditions": reply["judged_conditions"]}
    again = client.post("/v1/voltage-drop", json=request | judged).json()
    lowest = min(row["lowest"]["voltage"]["value"] for row in again["envelope"]["fixtures"])
    assert reply["status"] == "recommended"
    assert reply["outcome"]["lowest_voltage"]["value"] == lowest


def test_nothing_that_passes_names_what_would_help(client: Client) -> None:
    request = job(run(lamp(60, watts(40)))) | {"stock": stock(18, 16)}
    reply = ask(client, request)
    assert reply["status"] == "none-passes"
    assert [row["outcome"]["passes"] for row in reply["compared"]] == [False, False]
    assert any(row["outcome"]["passes"] for row in reply["remedies"])


@pytest.mark.parametrize("family", ["awg", "metric"])
def test_no_size_of_leads_is_a_candidate_where_no_stock_is_offered(client: Client, family: str) -> None:
    reply = ask(client, job(run(lamp(3, watts(1)))) | {"family": family})
    names = [row["conductor"] for row in reply["compared"]]
    assert len(names) == 8
    assert not set(names) & set(LEAD_SIZES)


def broken(row: Json) -> list[str]:
    return [limit["code"] for limit in row["outcome"]["breaks"]]


@pytest.mark.parametrize(
    ("conductor", "material"),
    [
        ("20 AWG", "copper"),
        ("24 AWG", "copper"),
        ("18 AWG", "aluminium"),
        ("1.5 mm2", "copper-clad-aluminium"),
    ],
)
def test_a_cable_without_an_ampacity_fails_whatever_else_it_holds(
    client: Client, conductor: str, material: str
) -> None:
    cheap: Json = {"id": "cheap", "conductor": conductor, "material": material}
    request = job(run(lamp(3, watts(1)))) | {"stock": [cheap, *stock(12)]}
    reply = ask(client, request)
    assert [broken(row) for row in reply["compared"]] == [["ampacity-unknown"], []]
    assert [row["conductor"] for row in reply["chosen"]] == ["12 AWG"]


def test_a_stock_of_nothing_but_unknown_ampacity_is_told_so_and_helped_by_a_listed_size(
    client: Client,
) -> None:
    for length in (3, 500):
        thin: list[Json] = [{"id": "a", "conductor": "22 AWG"}, {"id": "b", "conductor": "20 AWG"}]
        reply = ask(client, job(run(lamp(length, watts(5)))) | {"stock": thin, "scope": "per-span"})
        assert reply["status"] == "none-passes"
        assert all("ampacity-unknown" in broken(row) for row in reply["compared"])
        said = [
            found["subject"]["pointer"] for found in reply["findings"] if found["code"] == "ampacity-unknown"
        ]
        assert said == ["/stock/0", "/stock/1"]
        assert reply["findings"][0]["message"].startswith(
            'Cable "a" of the stock: no table lists an ampacity'
        )
    reply = ask(client, job(run(lamp(3, watts(5)))) | {"stock": thin})
    helping = [row["changes"][0]["parameter"] for row in reply["remedies"] if row["outcome"]["passes"]]
    assert helping == ["18 AWG"]


def test_a_size_of_leads_with_an_ampacity_is_chosen_where_the_stock_has_it(client: Client) -> None:
    # BS 7671 table 4F3A: 0.5 mm2 carries 3 A.
    cord: Json = {"id": "cord", "conductor": "0.5 mm2", "stranding": "flexible"}
    for power, chosen in ((12, "0.5 mm2"), (40, "2.5 mm2")):
        request = job(run(lamp(2, watts(power)))) | {"stock": [cord, {"id": "cable", "conductor": "2.5 mm2"}]}
        reply = ask(client, request)
        assert [row["conductor"] for row in reply["chosen"]] == [chosen]


def test_the_lowest_tap_that_lights_the_last_lamp_is_chosen(client: Client) -> None:
    supply = transformer(taps=[volts(tap_v) for tap_v in (12, 13, 14, 15)])
    request = job(run(lamp(60, watts(30))), supply=supply) | {"stock": stock(12), "taps": "choose"}
    request["conditions"] = {"range": "as-stated"}
    reply = ask(client, request)
    (chosen,) = reply["taps"]
    low = next(tap_v for tap_v in (12, 13, 14, 15) if lamp_v(client, supply, tap_v) >= 10.0)
    assert chosen["tap"]["value"] == low


def lamp_v(client: Client, supply: Json, tap_v: float) -> float:
    request = job(run(lamp(60, watts(30)), cable=awg(12), tap=volts(tap_v)), supply=supply)
    rows = client.post("/v1/voltage-drop", json=request).json()["fixtures"]
    return float(rows[0]["voltage"]["value"]) if rows else 0.0


def test_a_choice_for_each_of_many_spans_ends_within_its_work(client: Client) -> None:
    lamps = [lamp(index, watts(0.1)) for index in range(1, 150)]
    reply = ask(client, job(run(*lamps)) | {"scope": "per-span"})
    assert reply["method"] in {"exact", "best-found"}


@pytest.mark.parametrize("pointer", ["/wiring/runs/1/cable", "/wiring/runs/0", "/supply/cable", "/x"])
def test_a_pointer_at_no_cable_is_refused_where_it_stands(client: Client, pointer: str) -> None:
    reply = client.post(PATH, json=job(run(lamp(10, watts(5)))) | {"open": ["/wiring/runs/0/cable", pointer]})
    assert reply.status_code == 422
    assert [(error["code"], error["pointer"]) for error in reply.json()["errors"]] == [
        ("unknown-cable", "/open/1")
    ]


def test_a_strip_has_its_highest_voltage_where_it_is_fed_and_its_lowest_at_its_far_end(
    client: Client,
) -> None:
    # 5 m of 0.1 ohm/m fed with 24 V: about 2 A, half of which pass 0.5 ohm on the whole, 0.5 V.
    strip = jobs.strip(5, 9.6, 0.1)
    request = jobs.job(
        jobs.run(jobs.lamp(0.3, strip), cable=jobs.awg(12)), supply=jobs.dc_supply(24), nominal_v=24,
        stock=[{"id": "12", "conductor": "12 AWG"}], conditions=jobs.AS_STATED,
    )  # fmt: skip
    reply = ask(client, request)
    (row,) = jobs.answer(client, {name: request[name] for name in ("supply", "wiring")})["fixtures"]
    shown = reply["compared"][0]["outcome"]
    assert shown["highest_voltage"] == row["voltage"]
    assert shown["lowest_voltage"] == row["far_voltage"]
    assert row["voltage"]["value"] - row["far_voltage"]["value"] == pytest.approx(0.51, abs=0.01)
