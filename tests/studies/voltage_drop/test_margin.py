"""How much more the wiring carries, and what is said when it cannot carry what it has."""

import math
import re

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json

NUMBERS = {"supply", "spans", "runs", "totals", "solution"}


def margin(client: Client, *fixtures: Json, supply: Json | None = None) -> Json:
    return dict(
        jobs.solved(client, jobs.job(jobs.run(*fixtures), supply=supply) | {"margin": True})["load_margin"]
    )


def within_1_percent_below(found: float, exact: float) -> bool:
    return exact * 0.99 <= found <= exact


@pytest.mark.parametrize("power_w", [5.0, 60.0, 200.0, 340.0])
def test_the_margin_of_one_lamp_is_e_squared_over_4_r(client: Client, power_w: float) -> None:
    # Maximum power transfer: E²/4R = 144/0.4 = 360 W through 10 m of 0.01 ohm/m.
    assert within_1_percent_below(
        margin(client, jobs.lamp(10, jobs.watts(power_w)))["exact"], 360.0 / power_w
    )


def test_the_margin_counts_the_winding(client: Client) -> None:
    # 12.6 V behind 0.072 ohm of a 100 VA, 5 % box, and 0.1 ohm of cable: 12.6²/(4 x 0.172) W.
    found = margin(
        client, jobs.lamp(10, jobs.watts(20)), supply=jobs.transformer(winding=jobs.winding(100, 5))
    )
    assert within_1_percent_below(found["exact"], 12.6**2 / (4 * 0.172) / 20)


def test_the_margin_of_a_lagging_lamp_is_the_nose_of_its_phasor_form(client: Client) -> None:
    # E² = 2 R (P + S) at the nose: 144 = 0.2 (P + S).
    found = margin(client, jobs.lamp(10, jobs.volt_amperes(60, 100)))
    assert within_1_percent_below(found["exact"], 720.0 / 160.0)


def test_the_margin_of_a_constant_current_ends_where_nothing_is_left(client: Client) -> None:
    assert within_1_percent_below(margin(client, jobs.lamp(10, jobs.amperes(30)))["exact"], 120.0 / 30.0)


@pytest.mark.parametrize("power_w", [5.0, 60.0, 300.0])
def test_what_is_certain_is_never_more_than_what_is_exact(client: Client, power_w: float) -> None:
    request = jobs.job(jobs.run(jobs.lamp(4, jobs.watts(power_w)), jobs.lamp(10, jobs.watts(20))))
    certain = jobs.solved(client, request)["load_margin"]["at_least"]
    assert 1.0 <= certain <= jobs.solved(client, request | {"margin": True})["load_margin"]["exact"] * 1.01


def test_the_first_to_leave_its_window_is_named_with_the_factor(client: Client) -> None:
    # The window ends at 9 V: P = V (E - V)/R = 9 x 3/0.1 = 270 W.
    found = margin(client, jobs.lamp(10, jobs.watts(60), window=jobs.window(9, 15)))
    assert found["first_out_of_window"]["pointer"] == "/wiring/runs/0/fixtures/0"
    assert within_1_percent_below(found["first_out_of_window"]["factor"], 270.0 / 60.0)


def test_the_first_to_leave_carries_its_number(client: Client) -> None:
    found = margin(client, jobs.lamp(4, jobs.watts(5), count=3, spacing=jobs.metres(5)))
    assert found["first_out_of_window"]["number"] == 3


def test_a_fixture_already_below_its_window_has_a_factor_below_one(client: Client) -> None:
    found = margin(client, jobs.lamp(10, jobs.watts(300), window=jobs.window(9, 15)))
    assert within_1_percent_below(found["first_out_of_window"]["factor"], 270.0 / 300.0)


@pytest.mark.parametrize("load", [jobs.resistor(50), jobs.halogen(50)])
def test_lamps_that_cannot_collapse_have_no_margin_and_say_so(client: Client, load: Json) -> None:
    found = margin(client, jobs.lamp(10, load))
    assert found["absent_because"] == "no-load-that-can-collapse"
    assert "exact" not in found


def test_volt_amperes_without_watts_can_collapse_as_well(client: Client) -> None:
    # Without watts the nose is at E²/2R = 720 VA.
    found = margin(client, jobs.lamp(10, jobs.volt_amperes(0, 100)))
    assert within_1_percent_below(found["exact"], 7.2)


@pytest.mark.parametrize("share", [1.0001, 1.01, 2.0, 50.0])
@pytest.mark.parametrize("metres_away", [10.0, 33.3, 91.44, 7.77])
def test_a_load_past_the_nose_gets_no_number_and_a_share(
    client: Client, share: float, metres_away: float
) -> None:
    largest_w = 144.0 / (4 * 0.01 * metres_away)
    reply = jobs.answer(client, jobs.job(jobs.run(jobs.lamp(metres_away, jobs.watts(share * largest_w)))))
    assert reply["status"] == "no-operating-point"
    assert reply["fixtures"] == []
    assert not NUMBERS & set(reply)
    assert within_1_percent_below(reply["load_margin"]["exact"], 1.0 / share)
    assert reply["load_margin"]["exact"] < 1.0


@pytest.mark.parametrize("share", [0.5, 0.9, 0.99, 0.9999])
def test_a_load_before_the_nose_is_solved(client: Client, share: float) -> None:
    (found_v,) = jobs.voltages(
        jobs.solved(client, jobs.job(jobs.run(jobs.lamp(10, jobs.watts(360 * share)))))
    )
    assert found_v == pytest.approx(6.0 + 6.0 * (1.0 - share) ** 0.5, abs=0.0002)


def test_the_run_that_gives_way_is_named(client: Client) -> None:
    good, bad = (
        jobs.run(jobs.lamp(10, jobs.watts(30)), name="hedge"),
        jobs.run(jobs.lamp(90, jobs.watts(60)), name="far gate", id="R-2"),
    )
    (found,) = jobs.findings(jobs.answer(client, jobs.job(good, bad)), "no-operating-point")
    assert found["subject"] == {"pointer": "/wiring/runs/1", "id": "R-2"}
    assert found["message"].startswith("far gate has too much load for its cable")


def test_of_two_runs_the_one_that_gives_way_alone_is_named_and_not_the_one_with_more_moment(
    client: Client,
) -> None:
    # Watts times ohms are larger on the even run, which is carried all the same: its load is spread.
    even = jobs.run(jobs.lamp(5, jobs.watts(250)), jobs.lamp(10, jobs.watts(250)), name="even")
    end = jobs.run(jobs.lamp(10, jobs.watts(366)), name="end")
    assert jobs.answer(client, jobs.job(even))["status"] == "solved"
    (found,) = jobs.findings(jobs.answer(client, jobs.job(even, end)), "no-operating-point")
    assert found["subject"]["pointer"] == "/wiring/runs/1"


def test_the_branch_on_which_most_is_lost_is_named(client: Client) -> None:
    long = jobs.branch(5, jobs.lamp(90, jobs.watts(60)), name="far gate")
    (found,) = jobs.findings(
        jobs.answer(client, jobs.job(jobs.run(jobs.lamp(6, jobs.watts(5)), branches=[long]))),
        "no-operating-point",
    )
    assert found["message"].startswith("far gate has too much load for its cable")


def chain(*lengths_m: float) -> Json:
    """Points one behind the other, a lamp at each."""
    points = ["supply", *"abcdefgh"[: len(lengths_m)]]
    spans = [
        {"from": start, "to": end, "length": jobs.metres(length_m), "cable": jobs.awg(12)}
        for start, end, length_m in zip(points, points[1:], lengths_m, strict=False)
    ]
    fixtures = [{"point": point, "load": jobs.watts(60)} for point in points[1:]]
    return {"supply": jobs.transformer(), "wiring": {"form": "spans", "spans": spans, "fixtures": fixtures}}


@pytest.mark.parametrize(
    ("lengths_m", "pointer", "words"),
    [
        ((2, 30, 20, 20), "/wiring/spans/1", "The stretch from a to b"),
        ((60, 3, 3), "/wiring/spans/0", "The stretch from supply to a"),
        ((2, 3, 150), "/wiring/spans/2", "The stretch from b to c"),
    ],
)
def test_of_a_chain_the_stretch_on_which_most_is_lost_is_named(
    client: Client, lengths_m: tuple[float, ...], pointer: str, words: str
) -> None:
    (found,) = jobs.findings(jobs.answer(client, chain(*lengths_m)), "no-operating-point")
    assert found["subject"]["pointer"] == pointer
    assert found["message"].startswith(f"{words} has too much load for its cable")


def test_of_a_ring_that_collapses_a_stretch_on_the_way_to_the_weakest_lamp_is_named(client: Client) -> None:
    ring = chain(5, 40, 40)
    back = {"from": "c", "to": "a", "length": jobs.metres(200), "cable": jobs.awg(12)}
    ring["wiring"]["spans"].append(back)
    for fixture in ring["wiring"]["fixtures"]:
        fixture["load"] = jobs.watts(150)
    (found,) = jobs.findings(jobs.answer(client, ring), "no-operating-point")
    assert found["message"].startswith("The stretch from a to b has too much load for its cable")


def test_a_supply_that_gives_way_itself_is_named(client: Client) -> None:
    # 24 V open behind 7.2 ohm give 20 W at most, whatever the cable.
    weak = jobs.transformer(12, winding=jobs.winding(20, 100))
    request = jobs.job(jobs.run(jobs.lamp(1, jobs.watts(30)), cable=jobs.awg(10)), supply=weak)
    (found,) = jobs.findings(jobs.answer(client, request), "no-operating-point")
    assert found["subject"]["pointer"] == "/supply"
    assert found["message"] == (
        "The supply has too much load for its winding: it can deliver at most 66 % of it, and the lamps get"
        " too little well before that. Use a larger supply, one that sags less, or fewer watts."
    )


@pytest.mark.parametrize(("size", "load_w", "enough"), [(12, 720, True), (12, 3000, False), (8, 2000, False)])
def test_thicker_cable_is_advised_only_where_it_can_be_enough(
    client: Client,
    size: int,
    load_w: float,
    enough: bool,  # noqa: FBT001  # a parameter of the test
) -> None:
    # A cable delivers V squared over four times its ohms at most: 8 AWG 2.5 times what 12 does.
    run = jobs.run(jobs.lamp(10, jobs.watts(load_w)), cable=jobs.awg(size))
    (found,) = jobs.findings(jobs.answer(client, jobs.job(run)), "no-operating-point")
    thicker = jobs.job(jobs.run(jobs.lamp(10, jobs.watts(load_w)), cable=jobs.awg(8)))
    carried = jobs.findings(jobs.answer(client, thicker), "no-operating-point") == []
    assert carried is enough
    assert ("Thicker cable alone, even 8 AWG, is not enough" in found["message"]) is not enough


def test_the_share_in_words_is_the_share_in_numbers(client: Client) -> None:
    reply = jobs.answer(client, jobs.job(jobs.run(jobs.lamp(10, jobs.watts(720)))))
    (found,) = jobs.findings(reply, "no-operating-point")
    assert found["limit"]["unit"] == "percent"
    assert found["limit"]["value"] == pytest.approx(100 * reply["load_margin"]["exact"], abs=0.02)
    words = jobs.parameters(found)["limit"]
    assert f"at most {words} of it" in found["message"]
    assert words == f"{math.floor(found['limit']['value'])} %"


@pytest.mark.parametrize(("load_w", "words"), [(769, "46 %"), (80_000, "1 %")])
def test_a_share_is_told_in_whole_per_cent_and_never_as_more_than_was_found(
    client: Client, load_w: float, words: str
) -> None:
    # 360 W is the most: 46.8 % of 769 W.
    (found,) = jobs.findings(
        jobs.answer(client, jobs.job(jobs.run(jobs.lamp(10, jobs.watts(load_w))))), "no-operating-point"
    )
    assert f"at most {words} of it" in found["message"]


def test_the_words_have_the_digits_that_a_search_to_1_percent_knows(client: Client) -> None:
    # The largest load on this run is 360 W; of 366 W it is 98.36 %.
    reply = jobs.answer(client, jobs.job(jobs.run(jobs.lamp(10, jobs.watts(366)))))
    (found,) = jobs.findings(reply, "no-operating-point")
    assert "at most 98 % of it" in found["message"] or "at most 97 % of it" in found["message"]
    page = client.post(
        "/v1/voltage-drop",
        json=jobs.job(jobs.run(jobs.lamp(10, jobs.watts(80)))) | {"margin": True},
        headers={"Accept": "text/html"},
    ).text
    assert re.search(r"about 4\.\d{1,2} times what they are", page)


def test_what_the_request_itself_shows_is_said_without_an_operating_point(client: Client) -> None:
    faulty = jobs.run(jobs.lamp(10, jobs.watts(720), window=jobs.window(13, 9)), name="walk")
    reply = jobs.answer(
        client, jobs.job(faulty, jobs.run(name="walk"), supply=jobs.transformer(16, taps=[jobs.volts(16)]))
    )
    assert {"window-empty", "duplicate-name", "wet-contact-voltage"} <= set(jobs.codes(reply))


def test_a_load_of_nothing_never_comes_near_collapse(client: Client) -> None:
    reply = jobs.solved(client, jobs.job(jobs.run(jobs.lamp(10, jobs.watts(0)), cable=jobs.ohms_per_km(500))))
    assert reply["load_margin"] == {"at_least": 100.0}
    assert "near-collapse" not in jobs.codes(reply)
