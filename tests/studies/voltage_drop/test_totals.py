"""Wiring of which only the total load and the length are known: two bounds, against textbooks."""

import pytest

from service.circuit.reading import EndResult
from service.studies.voltage_drop.study import closer
from tests import jobs
from tests.client import Client
from tests.jobs import Json


def bracket(reply: Json, side: str) -> Json:
    found: Json = reply["bracket"][side]
    return found


def test_a_uniform_current_loses_what_the_textbook_says(client: Client) -> None:
    # Mehta, Principles of Power System, example 13.5: 2 A/m over 200 m, 0.3 ohm/km a conductor: 24.0 V at the
    # end, here from 60 V. All of it at the end loses twice as much (Gonen, examples 4.2 to 4.5).
    supply = jobs.dc_supply(60, circuits=jobs.ANY_DEVICE)
    reply = jobs.solved(
        client, jobs.totals(jobs.amperes(400), 200, supply=supply, cable=jobs.ohms_per_km(0.3))
    )
    spread, lumped = bracket(reply, "evenly_spread"), bracket(reply, "lumped")
    assert spread["cable_drop"]["value"] == pytest.approx(24.0, abs=1e-4)
    assert lumped["cable_drop"]["value"] == pytest.approx(48.0, abs=1e-4)
    assert spread["error_bound"]["value"] <= 1e-4


def test_a_uniform_current_heats_the_cable_as_the_textbook_says(client: Client) -> None:
    # Mehta, example 13.9: 0.75 A/m over 300 m, 0.00018 ohm/m go and return: loss i² r L³/3 = 911.25 W. 64
    # lumps fall short by 1/(4 × 64²) of it.
    supply = jobs.dc_supply(60, circuits=jobs.ANY_DEVICE)
    reply = jobs.solved(
        client, jobs.totals(jobs.amperes(225), 300, supply=supply, cable=jobs.ohms_per_km(0.09))
    )
    assert bracket(reply, "evenly_spread")["cable_loss"]["value"] == pytest.approx(911.25, rel=1e-4)


def test_the_solved_state_is_the_lumped_one_in_one_row(client: Client) -> None:
    request = jobs.totals(
        jobs.watts(60, power_factor=0.9), 20, supply=jobs.transformer(winding=jobs.winding(150, 6))
    )
    reply = jobs.solved(client, request)
    (row,) = reply["fixtures"]
    assert row["pointer"] == "/wiring"
    assert row["at"] == jobs.metres(20)
    assert row["voltage"]["value"] == jobs.end_v({"end": bracket(reply, "lumped")})
    one = jobs.even(1, jobs.watts(60, power_factor=0.9), 20) | {"supply": request["supply"]}
    assert row["voltage"] == jobs.solved(client, one)["fixtures"][0]["voltage"]


@pytest.mark.parametrize(
    "load", [jobs.watts(50, power_factor=0.8), jobs.amperes(4), jobs.resistor(50), jobs.halogen(50)]
)
def test_what_is_spread_ends_higher_than_what_is_lumped(client: Client, load: Json) -> None:
    reply = jobs.solved(client, jobs.totals(load, 20, supply=jobs.transformer(winding=jobs.winding(150, 6))))
    lumped, spread = bracket(reply, "lumped"), bracket(reply, "evenly_spread")
    assert lumped["end_voltage"]["value"] < spread["end_voltage"]["value"] < 12.72


@pytest.mark.parametrize("load", [jobs.watts(50), jobs.resistor(50), jobs.halogen(50)])
def test_many_even_fixtures_come_near_the_spread(client: Client, load: Json) -> None:
    # N equal lamps, the last at the end, lose (N + 1)/N of what the spread loses: algebra, equal currents.
    reply = jobs.solved(client, jobs.totals(load, 10))
    shared = load | {"power": {"value": load["power"]["value"] / 500, "unit": "W"}}
    lamps = jobs.solved(client, jobs.even(500, shared, 10))
    drop = bracket(reply, "evenly_spread")["cable_drop"]["value"]
    assert lamps["fixtures"][-1]["cable_drop"]["value"] == pytest.approx(drop * 501 / 500, abs=1.5e-4)


def test_what_collapses_lumped_may_be_carried_when_it_is_spread(client: Client) -> None:
    # Lumped: P ≤ E²/(4R) = 144/(4 × 0.3) = 120 W (maximum power transfer).
    reply = jobs.answer(client, jobs.totals(jobs.watts(150), 30))
    assert reply["status"] == "no-operating-point"
    assert bracket(reply, "lumped") == {"outcome": "collapsed"}
    assert bracket(reply, "evenly_spread")["outcome"] == "carried"
    both = jobs.answer(client, jobs.totals(jobs.watts(400), 30))
    assert bracket(both, "evenly_spread") == {"outcome": "collapsed"}


def test_a_lamp_next_to_the_supply_may_get_too_much(client: Client) -> None:
    # 16 V at the terminals: too much for a lamp there, though the end of the cable is inside the window.
    reply = jobs.solved(client, jobs.totals(jobs.amperes(15), 20, supply=jobs.transformer(16.0)))
    assert bracket(reply, "lumped")["verdict"] == "inside"
    assert "fixture-above-window" in jobs.codes(reply)


def test_that_the_layout_is_unknown_is_said(client: Client) -> None:
    assert "layout-unknown" in jobs.assumed(jobs.solved(client, jobs.totals(jobs.watts(20), 10)))
    assert "layout-unknown" not in jobs.assumed(jobs.solved(client, jobs.even(4, jobs.watts(5), 10)))


def test_a_length_of_nought_is_no_drop(client: Client) -> None:
    reply = jobs.solved(client, jobs.totals(jobs.watts(20), 0))
    assert {bracket(reply, side)["end_voltage"]["value"] for side in reply["bracket"]} == {
        jobs.volts(12)["value"]
    }


@pytest.mark.parametrize(
    ("load", "status"), [(jobs.watts(60), "recommended"), (jobs.watts(2000), "none-passes")]
)
def test_a_gauge_is_recommended_for_the_lumped_layout(client: Client, load: Json, status: str) -> None:
    # 2,000 W at 12 V is more than any single size of the tables carries.
    reply = client.post("/v1/gauge-recommendation", json=jobs.totals(load, 20)).json()
    assert reply["status"] == status
    assert "layout-unknown" in jobs.assumed(reply)
    if status == "recommended":
        assert jobs.solved(client, {"supply": jobs.transformer(), "wiring": reply["wiring"]})["bracket"]


def test_volts_of_a_bound_are_told_as_those_of_the_bound(client: Client) -> None:
    """14.2 V at the far end and 15.5 V beside the supply are two layouts, not one run."""
    reply = jobs.solved(client, jobs.totals(jobs.watts(60), 30, supply=jobs.transformer(15.5)))
    (row,) = reply["fixtures"]
    (found,) = jobs.findings(reply, "fixture-above-window")
    assert row["verdict"] == "inside"
    assert found["measured"]["value"] > row["voltage"]["value"] + 1.0
    assert found["message"].startswith("With the load spread evenly, the fixture next to the supply gets 15.")


def test_volts_at_the_far_end_are_told_as_those_of_all_load_there(client: Client) -> None:
    (found,) = jobs.findings(jobs.solved(client, jobs.totals(jobs.watts(60), 55)), "fixture-below-window")
    assert found["message"].startswith("With all of the load at the far end, a fixture there gets ")


def test_a_collapse_with_all_load_at_the_far_end_is_told_as_that(client: Client) -> None:
    reply = jobs.answer(client, jobs.totals(jobs.watts(150), 30))
    assert reply["bracket"]["evenly_spread"]["outcome"] == "carried"
    (found,) = jobs.findings(reply, "no-operating-point")
    assert found["message"].startswith("With all of the load at its far end the run has too much load for ")


@pytest.mark.parametrize("coarse_v", [10.91, 10.97])
def test_lumps_are_said_to_be_off_by_all_that_half_as_many_change(coarse_v: float) -> None:
    """A third of that is what Richardson's rule leaves of an error that falls with the square."""
    fine = EndResult(10.94, "inside", 12.0, 0.09, 5.0, 1.0)
    found = closer(fine, fine._replace(end_v=coarse_v))
    assert found is not None
    assert found.error_v == pytest.approx(0.03)
    assert found.end_v == 10.94
