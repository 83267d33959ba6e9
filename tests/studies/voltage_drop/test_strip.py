"""Light strips with resistance of their own, against the closed form of a load without gaps."""

from math import exp, log, sqrt

import pytest

from service.circuit.job import MAXIMUM_POINTS
from service.circuit.layout import STRIP_LUMPS, along
from service.physics.load import constant_power
from service.physics.network import Span, build_network
from service.physics.solve import solve
from tests.client import Client
from tests.jobs import (
    Json,
    answer,
    assumed,
    awg,
    codes,
    dc_supply,
    findings,
    job,
    lamp,
    metres,
    ohms_per_km,
    quantity,
    run,
    solved,
    strip,
    totals,
    transformer,
    volts,
    watts,
    window,
)

DC_24_V = dc_supply(24.0)


def lumped_far_v(start_v: float, ohm: float, power_w: float, lumps: int) -> float:
    """Far end of a strip of so many lumps, fed at a voltage that holds. [V]"""
    spans = [Span(index, index + 1, ohm / lumps) for index in range(lumps)]
    loads = along(tuple(range(lumps + 1)), constant_power(power_w))
    return start_v * (1.0 - solve(build_network([start_v] * (lumps + 1), spans, loads)).drop[lumps])


def ohm_watts(start_v: float, far_v: float) -> float:
    """Resistance times power of a strip without gaps that has these ends. [ohm·W]

    V V'' = r p with V' = 0 at the far end has the first integral V'² = 2 r p ln(V / Vf). With V = Vf exp(u²)
    the length becomes Vf sqrt(2 / (r p)) ∫ exp(u²) du from 0 to sqrt(ln(Vs / Vf)); here by Simpson's rule.
    """
    top, steps = sqrt(log(start_v / far_v)), 2000
    weights = [1 if index in {0, steps} else 4 if index % 2 else 2 for index in range(steps + 1)]
    area = sum(weight * exp((index * top / steps) ** 2) for index, weight in enumerate(weights))
    return 2.0 * (far_v * area * top / steps / 3.0) ** 2


@pytest.mark.parametrize("start_v", [12.0, 24.0])
@pytest.mark.parametrize("drop_ratio", [0.02, 0.1, 0.2, 0.3, 0.333])
def test_lumps_read_low_by_less_than_a_millivolt(start_v: float, drop_ratio: float) -> None:
    far_v = start_v * (1.0 - drop_ratio)
    found_v = lumped_far_v(start_v, 1.0, ohm_watts(start_v, far_v), STRIP_LUMPS)
    assert far_v - 1e-3 < found_v <= far_v + 1e-9
    assert far_v - found_v < 5e-5 * start_v


@pytest.mark.parametrize("drop_ratio", [0.05, 0.2, 0.333])
def test_the_error_falls_to_a_quarter_when_the_lumps_are_doubled(drop_ratio: float) -> None:
    far_v = 12.0 * (1.0 - drop_ratio)
    power_w = ohm_watts(12.0, far_v)
    errors = [far_v - lumped_far_v(12.0, 1.0, power_w, lumps) for lumps in (STRIP_LUMPS, 2 * STRIP_LUMPS)]
    assert errors[1] == pytest.approx(errors[0] / 4, rel=0.02)
    assert errors[0] - errors[1] < 1e-3


def test_a_strip_shows_both_of_its_ends(client: Client) -> None:
    start_v, far_v = 24.0, 21.0
    own_ohm = 0.8
    power_w = ohm_watts(start_v, far_v) / own_ohm
    (row,) = solved(client, job(run(lamp(0, strip(10, power_w / 10, own_ohm / 10))), supply=DC_24_V))[
        "fixtures"
    ]
    assert row["voltage"] == volts(24.0)
    assert row["far_voltage"]["value"] == pytest.approx(far_v, abs=1e-3)
    assert row["cable_drop"] == volts(0.0)


def test_the_window_is_judged_at_the_far_end(client: Client) -> None:
    light = strip(10, 10, 0.08)
    fed = job(run(lamp(2, light, window=window(22.5, 26))), supply=DC_24_V)
    reply = solved(client, fed)
    (row,) = reply["fixtures"]
    assert row["voltage"]["value"] > 22.5 > row["far_voltage"]["value"]
    assert row["verdict"] == "below"
    (found,) = findings(reply, "fixture-below-window")
    assert found["measured"] == row["far_voltage"]


def test_too_high_a_voltage_is_judged_where_the_strip_is_fed(client: Client) -> None:
    reply = solved(client, job(run(lamp(2, strip(10, 10, 0.08), window=window(9, 23))), supply=DC_24_V))
    (row,) = reply["fixtures"]
    assert row["verdict"] == "above"
    (found,) = findings(reply, "fixture-above-window")
    assert found["measured"] == row["voltage"]


def test_a_strip_without_resistance_is_a_lamp_of_its_watts(client: Client) -> None:
    wide = window(9, 30)
    plain = solved(client, job(run(lamp(5, strip(5, 9.6), window=wide)), supply=DC_24_V))
    assert "far_voltage" not in plain["fixtures"][0]
    as_lamp = solved(client, job(run(lamp(5, watts(48), window=wide)), supply=DC_24_V))
    assert plain["fixtures"] == as_lamp["fixtures"]


def test_a_strip_is_the_even_spread_of_a_cable_like_it(client: Client) -> None:
    own = solved(client, job(run(lamp(0, strip(20, 3, 0.01)))))
    spread = solved(client, totals(watts(60), 20, supply=transformer()))["bracket"]["evenly_spread"]
    far_v = own["fixtures"][0]["far_voltage"]["value"]
    assert far_v == pytest.approx(spread["end_voltage"]["value"], abs=1e-3)


def test_three_pieces_on_one_lead_lose_what_the_asker_computed(client: Client) -> None:
    # A public question: three times 3 × 0.45 m of 19.2 W/m on 5 m of 14 AWG at 8.286 mohm/m from 12 V: 6.5 A
    # and 0.539 V where the current is taken at 12 V; constant power draws a little more.
    request = job(run(lamp(5, strip(1.35, 19.2), count=3), cable=ohms_per_km(8.286)), supply=dc_supply(12.0))
    (row,) = solved(client, request)["fixtures"]
    closed_v = (12 + sqrt(144 - 4 * 0.08286 * 3 * 1.35 * 19.2)) / 2
    assert row["voltage"]["value"] == pytest.approx(closed_v, abs=1e-4)
    assert row["cable_drop"]["value"] == pytest.approx(0.539, rel=0.06)


def test_watts_per_foot_are_watts_per_metre_of_a_foot(client: Client) -> None:
    in_ft = strip(10, 0) | {"power_per_length": quantity(3, "W/ft")}
    per_m = strip(10, 3 / 0.3048)
    rows = [solved(client, job(run(lamp(5, light)), supply=DC_24_V))["fixtures"] for light in (in_ft, per_m)]
    assert rows[0] == rows[1]


def _balance(reply: Json) -> float:
    drawn = reply["totals"]
    return float(
        reply["supply"]["real_power"]["value"]
        - drawn["fixture_power"]["value"]
        - drawn["cable_loss"]["value"]
    )


@pytest.mark.parametrize("at_m", [0, 4])
@pytest.mark.parametrize("count", [1, 3])
def test_the_supply_gives_what_strips_and_cable_take(client: Client, at_m: float, count: int) -> None:
    light = lamp(at_m, strip(10, 8, 0.05), count=count, lead={"length": metres(1), "cable": awg(16)})
    reply = solved(client, job(run(light), supply=DC_24_V))
    assert _balance(reply) == pytest.approx(0.0, abs=2e-3)
    current_a = reply["fixtures"][0]["current"]["value"]
    assert reply["supply"]["current"]["value"] == pytest.approx(count * current_a, abs=1e-4)
    assert reply["fixtures"][0]["real_power"]["value"] == pytest.approx(80.0)


def test_the_supply_current_counts_a_strip_at_its_terminals(client: Client) -> None:
    reply = solved(client, job(run(lamp(0, strip(10, 8, 0.05))), supply=DC_24_V))
    assert reply["supply"]["current"] == reply["fixtures"][0]["current"]


def test_a_strip_is_one_row_among_the_spans(client: Client) -> None:
    reply = solved(client, job(run(lamp(4, strip(5, 9.6, 0.09), name="beam")), supply=DC_24_V))
    cable, own = reply["spans"]
    assert own["to"] == "far end of beam"
    assert own["resistance"] == quantity(0.45, "ohm")
    assert own["length"] == metres(5)
    assert own["current"] == cable["current"] == reply["fixtures"][0]["current"]
    row = reply["fixtures"][0]
    assert own["drop"]["value"] == pytest.approx(
        row["voltage"]["value"] - row["far_voltage"]["value"], abs=2e-4
    )


def test_strips_hang_on_graphs_and_even_wiring_too(client: Client) -> None:
    light = strip(5, 9.6, 0.09)
    graph = {
        "supply": DC_24_V,
        "wiring": {
            "form": "spans",
            "spans": [{"from": "supply", "to": "post", "length": metres(4), "cable": ohms_per_km(5)}],
            "fixtures": [{"point": "post", "load": light}],
        },
    }
    even = {
        "supply": DC_24_V,
        "wiring": {"form": "even", "count": 1, "load": light, "cable": ohms_per_km(5), "length": metres(4)},
    }
    found = [solved(client, request)["fixtures"][0]["far_voltage"] for request in (graph, even)]
    assert (
        found[0]
        == found[1]
        == solved(client, job(run(lamp(4, light)), supply=DC_24_V))["fixtures"][0]["far_voltage"]
    )


@pytest.mark.parametrize("switching", ["together", "by-run", "individually"])
def test_the_envelope_spans_a_strip_from_end_to_end(client: Client, switching: str) -> None:
    lights = run(lamp(4, strip(5, 9.6, 0.09)), lamp(8, strip(5, 9.6, 0.09)))
    garden = job(lights, lights, supply=DC_24_V, nominal_v=24, conditions={"switching": switching})
    reply = solved(client, garden)
    for row, extremes in zip(reply["fixtures"], reply["envelope"]["fixtures"], strict=True):
        assert extremes["lowest"]["voltage"] == row["far_voltage"]
        assert extremes["highest"]["voltage"]["value"] >= row["voltage"]["value"]


def test_a_strip_alone_on_stands_where_a_job_of_its_own_says(client: Client) -> None:
    lights = run(lamp(4, strip(5, 9.6, 0.09)), lamp(8, watts(40)))
    reply = solved(client, job(lights, supply=DC_24_V, conditions={"switching": "individually"}))
    alone = solved(client, job(run(lamp(4, strip(5, 9.6, 0.09))), supply=DC_24_V))
    assert reply["envelope"]["fixtures"][0]["highest"]["voltage"] == alone["fixtures"][0]["voltage"]


def test_more_strip_than_can_be_fed_is_no_operating_point(client: Client) -> None:
    assert (
        answer(client, job(run(lamp(4, strip(100, 20, 0.09))), supply=DC_24_V))["status"]
        == "no-operating-point"
    )


def test_how_a_strip_is_read_is_said(client: Client) -> None:
    said = assumed(solved(client, job(run(lamp(4, strip(5, 9.6, 0.09))), supply=DC_24_V)))
    assert {"strip-constant-power", "strip-as-lumps"} <= set(said)
    assert "power-factor-one" not in said
    assert "strip-as-lumps" not in assumed(solved(client, job(run(lamp(4, strip(5, 9.6))), supply=DC_24_V)))


def test_strips_count_as_the_points_that_they_are(client: Client) -> None:
    light = strip(1, 0.001, 0.09)
    many = job(run(lamp(1, light, count=MAXIMUM_POINTS // 33 + 1, spacing=metres(1))), supply=DC_24_V)
    assert client.post("/v1/voltage-drop", json=many).json()["code"] == "job-too-large"
    fewer = job(run(lamp(1, light, count=MAXIMUM_POINTS // 33 - 1, spacing=metres(1))), supply=DC_24_V)
    assert "no-operating-point" not in codes(solved(client, fewer))
