"""`POST /v1/transformer-loading` as a client sees it."""

from collections import Counter

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import (
    Json,
    amperes,
    assumed,
    awg,
    codes,
    dc_supply,
    findings,
    halogen,
    job,
    lamp,
    metres,
    quantity,
    resistor,
    run,
    solved,
    transformer,
    volt_amperes,
    volts,
    watts,
    winding,
)
from tests.studies.transformer_loading.transformers import (
    COLD_TO_HOT,
    MAINS_120,
    OUTLET,
    PATH,
    TWO_COMMONS,
    as_stated,
    ask,
    at_terminals,
    reasons,
    runs_of,
    unit,
)


def post(client: Client, request: Json) -> tuple[int, Json]:
    reply = client.post(PATH, json=request)
    return reply.status_code, reply.json()


# What is connected.


def test_connected_volt_amperes_are_the_sum_of_the_labels(client: Client) -> None:
    request = job(run(lamp(5, volt_amperes(6, 9), count=4), lamp(9, resistor(10)), lamp(9, halogen(20))))
    connected = ask(client, request)["connected"]
    # Addition: 4 x 6 + 10 + 20 W and 4 x 9 + 10 + 20 VA.
    assert connected["real_power"] == quantity(54.0, "W")
    assert connected["apparent_power"] == quantity(66.0, "VA")


def test_a_label_counts_at_its_own_voltage_and_a_current_at_that_of_its_tap(client: Client) -> None:
    request = job(run(lamp(0, resistor(10, 24.0)), lamp(0, amperes(2, power_factor=0.5)), tap=volts(13)))
    connected = ask(client, request)["connected"]
    assert connected["real_power"] == quantity(10.0 + 13.0, "W")
    assert connected["apparent_power"] == quantity(10.0 + 26.0, "VA")


def test_the_sum_of_labels_is_never_below_what_unlike_lamps_draw(client: Client) -> None:
    reply = ask(client, job(run(lamp(0, watts(30)), lamp(0, volt_amperes(20, 50)))))
    # Phasors by hand: 50 W, and sqrt(50² - 20²) var on top.
    assert reply["loading"]["apparent_power"]["value"] == pytest.approx((50**2 + 2100) ** 0.5, abs=1e-3)
    assert reply["connected"]["apparent_power"]["value"] == 80.0


# How far the supply is loaded.


def test_at_rated_current_and_mains_the_terminal_is_the_rated_voltage(client: Client) -> None:
    # The definition of regulation that toroid makers print: 300 VA, 12 V, 4 % is 12.48 V behind 0.0192 ohm.
    supply = transformer(12, winding=winding(300, 4), primary=MAINS_120)
    reply = ask(client, at_terminals(amperes(25, power_factor=1), supply))
    loading = reply["loading"]
    assert loading["taps"][0]["open_circuit"] == volts(12.48)
    assert loading["taps"][0]["terminal"] == volts(12.0)
    assert loading["loading_ratio"] == 1.0
    assert loading["spare"] == quantity(0.0, "VA")
    assert loading["winding_loss"] == quantity(12.0, "W")  # 25² x 0.0192
    assert reply["primary"]["current"] == quantity(2.6, "A")  # 12.48 x 25 over 120


def test_the_primary_current_is_that_of_an_ideal_core(client: Client) -> None:
    # Ampere-turns balance: the primary current is the secondary one times open-circuit over mains voltage.
    supply = transformer(12, winding=winding(150, 8), primary={"rated": volts(120), "actual": volts(113)})
    reply = ask(client, job(run(lamp(12, volt_amperes(50, 80))), supply=supply))
    tap = reply["loading"]["taps"][0]
    by_turns = tap["current"]["value"] * tap["open_circuit"]["value"] / 113.0
    assert reply["primary"]["current"]["value"] == pytest.approx(by_turns, abs=2e-5)
    assert "core-ideal" in assumed(reply)


def test_without_mains_there_is_no_primary_current(client: Client) -> None:
    reply = ask(client, at_terminals(watts(5)))
    assert "primary" not in reply
    assert "core-ideal" not in assumed(reply)


def test_the_loading_is_the_one_that_voltage_drop_gives(client: Client) -> None:
    request = job(
        run(lamp(10, volt_amperes(6, 9), count=6, spacing=metres(3)), cable=awg(12)),
        run(lamp(20, halogen(20)), cable=awg(14)),
        supply=transformer(12, winding=winding(150, 6)),
    )
    here, there = ask(client, request), solved(client, request)
    assert here["loading"]["apparent_power"] == there["supply"]["apparent_power"]
    assert here["loading"]["loading_ratio"] == there["supply"]["loading_ratio"]
    assert here["loading"]["cable_loss"] == there["totals"]["cable_loss"]
    assert here["loading"]["winding_loss"] == there["totals"]["winding_loss"]
    assert here["circuits"] == there["supply"]["circuits"]
    assert set(codes(there)) == set(codes(here))


def test_power_factor_and_losses_fit_together(client: Client) -> None:
    reply = ask(
        client, job(run(lamp(15, volt_amperes(40, 64))), supply=transformer(12, winding=winding(90, 9)))
    )
    loading = reply["loading"]
    real_w = 40.0 + loading["cable_loss"]["value"]
    assert loading["real_power"]["value"] == pytest.approx(real_w, abs=2e-3)
    assert loading["power_factor"] == pytest.approx(real_w / loading["apparent_power"]["value"], abs=1e-4)


def test_what_is_left_of_an_overloaded_rating_is_negative(client: Client) -> None:
    loading = ask(client, at_terminals(watts(60.0001), transformer(winding=winding(60, 0))))["loading"]
    assert loading["spare"]["value"] == -0.001
    assert loading["spare_ratio"] < 0.0


def test_direct_current_has_no_power_factor_and_no_transformer(client: Client) -> None:
    reply = ask(client, at_terminals(watts(30), dc_supply(rating=quantity(60, "W"))))
    assert "power_factor" not in reply["loading"]
    assert reply["loading"]["loading_ratio"] == 0.5
    assert "recommended" not in reply
    assert reply["rejected"] == []


# The worst corner.


def test_drivers_load_the_supply_most_at_low_mains_in_a_hot_cable(client: Client) -> None:
    request = job(run(lamp(20, watts(60)), cable=awg(12)), conditions=OUTLET | COLD_TO_HOT)
    corner = ask(client, request)["loading"]["corner"]
    assert corner == {"mains": "lowest", "conductor_temperature": "hot"}


def test_filaments_load_the_supply_most_at_high_mains_in_a_cold_cable(client: Client) -> None:
    request = job(run(lamp(20, halogen(60)), cable=awg(12)), conditions=OUTLET | COLD_TO_HOT)
    corner = ask(client, request)["loading"]["corner"]
    assert corner == {"mains": "highest", "conductor_temperature": "cold"}


def test_high_mains_load_a_resistor_by_their_square(client: Client) -> None:
    # 126 of 120 V (ANSI C84.1): 1.05² of the label.
    loading = ask(client, at_terminals(resistor(100), conditions=OUTLET))["loading"]
    assert loading["apparent_power"] == quantity(110.25, "VA")


def test_each_circuit_stands_at_its_own_highest_current(client: Client) -> None:
    named = [{"name": "drivers"}, {"name": "resistors"}]
    runs = run(lamp(0, watts(100)), circuit="drivers"), run(lamp(0, resistor(100)), circuit="resistors")
    circuits = ask(client, job(*runs, supply=transformer(circuits=named), conditions=OUTLET))["circuits"]
    # 100 W at 11 V, and 100/12 A at 126 of 120 V.
    assert [row["current"]["value"] for row in circuits] == pytest.approx([100.0 / 11.0, 8.75], abs=1e-5)


def test_without_corners_the_stated_state_is_the_one(client: Client) -> None:
    reply = ask(client, at_terminals(watts(5)))
    assert reply["loading"]["corner"] == {"mains": "as stated", "conductor_temperature": "as stated"}
    assert "stated-state-only" in assumed(reply)
    assert "stated-state-only" not in assumed(ask(client, at_terminals(watts(5), conditions=OUTLET)))


@pytest.mark.parametrize("switching", ["together", "by-run", "individually"])
def test_switching_something_off_never_loads_the_supply_more(client: Client, switching: str) -> None:
    request = job(run(lamp(9, watts(30))), run(lamp(9, halogen(20))), conditions={"switching": switching})
    loading = ask(client, request)["loading"]
    assert loading["apparent_power"] == ask(client, request | {"conditions": {}})["loading"]["apparent_power"]


def test_a_corner_that_collapses_is_a_fault_and_rules_a_transformer_out(client: Client) -> None:
    # 0.1 ohm carries 360 W from 12 V and 302.5 W from 11 V (E²/4R).
    request = job(run(lamp(10, watts(320))), supply=transformer(circuits=[
        {"name": "a", "limit": quantity(100, "A")}]), conditions=OUTLET,
        stock=[unit("only", 900, circuits=[{"name": "a", "limit": quantity(100, "A")}])])  # fmt: skip
    reply = ask(client, request)
    assert reply["status"] == "solved"
    assert "no-operating-point" in codes(reply)
    assert reasons(reply) == {"only": ["no-operating-point"]}


def test_a_supply_that_collapses_may_still_be_replaced(client: Client) -> None:
    # 24 V behind 7.2 ohm gives 20 W at most; a stiff transformer gives the 60 W that the lamp asks for.
    reply = ask(client, at_terminals(watts(60, power_factor=1), transformer(12, winding=winding(20, 100))))
    assert reply["status"] == "no-operating-point"
    assert reply["load_margin"]["exact"] == pytest.approx(1 / 3, rel=0.011)
    assert "loading" not in reply
    assert reply["recommended"]["rating"] == quantity(75.0, "VA")


def test_the_size_that_a_job_asks_for_is_said_though_its_cable_carries_nothing(client: Client) -> None:
    reply = ask(client, job(run(lamp(400, watts(100)))))
    assert reply["status"] == "no-operating-point"
    assert reply["connected"]["least_rating"] == quantity(110.0, "VA")
    (finding,) = findings(reply, "no-transformer-fits")
    assert "It is not the rating: the cable cannot carry the load. Change that first." in finding["message"]


# The usual range.


def test_a_loading_is_judged_over_the_usual_mains_unless_it_says_otherwise(client: Client) -> None:
    request = at_terminals(resistor(100))
    usual = jobs.answer(client, request, PATH)
    assert usual["loading"]["apparent_power"]["value"] == pytest.approx(100 * 1.05**2)
    assert "usual-range" in assumed(usual)
    assert ask(client, request)["loading"]["apparent_power"]["value"] == pytest.approx(100.0)


def test_what_was_judged_can_be_posted_and_means_the_same(client: Client) -> None:
    request = at_terminals(resistor(100))
    judged = jobs.answer(client, request, PATH)
    stated = {**request, "conditions": judged["judged_conditions"]}
    assert jobs.answer(client, stated, PATH)["loading"] == judged["loading"]
    drop = jobs.answer(client, stated)
    assert drop["envelope"]["supply"]["highest_apparent_power"]["apparent_power"]["value"] == pytest.approx(
        judged["loading"]["apparent_power"]["value"]
    )


@pytest.mark.parametrize("range_", [{}, {"range": "usual"}, {"range": "as-stated"}])
def test_conditions_that_were_judged_say_no_more_of_the_range_than_the_request(
    client: Client, range_: Json
) -> None:
    judged = jobs.answer(client, at_terminals(resistor(100), conditions=range_), PATH)["judged_conditions"]
    assert {name: value for name, value in judged.items() if name == "range"} == range_
    assert ("mains" in judged) is (range_ != {"range": "as-stated"})


def test_nobody_is_left_without_a_transformer_because_of_a_range_that_he_did_not_ask_for(
    client: Client,
) -> None:
    stock = [unit("only", 105)]
    free = {**at_terminals(resistor(100), stock=stock), "spare_percent": 0}
    reply = jobs.answer(client, free, PATH)
    assert reply["recommended"]["id"] == "only"
    (finding,) = findings(reply, "range-not-held")
    assert "A transformer of 105 VA would be loaded to 110." in finding["message"]  # 110.25
    asked = {**free, "conditions": OUTLET}
    assert "recommended" not in jobs.answer(client, asked, PATH)


STATED: list[Json] = [{}, {"conductor_temperature": quantity(30, "degC")}, {"wet_contact": False}]


@pytest.mark.parametrize("conditions", STATED)
def test_what_does_not_hold_the_range_is_judged_as_stated_and_says_so(
    client: Client, conditions: Json
) -> None:
    free = at_terminals(resistor(100), stock=[unit("only", 105)], conditions=conditions)
    reply = jobs.answer(client, {**free, "spare_percent": 0}, PATH)
    assert "range-not-held" in codes(reply)
    assert reply["judged_conditions"] == {**conditions, "range": "as-stated"}
    supply = transformer(12, winding=winding(105, 0))
    again = jobs.answer(client, {"supply": supply, "wiring": free["wiring"],
                                 "conditions": reply["judged_conditions"]})  # fmt: skip
    assert not [each for each in again["findings"] if each["severity"] != "note"]


def test_the_stated_supply_is_judged_as_stated_where_the_recommended_one_is(client: Client) -> None:
    supply = transformer(12, winding=winding(105, 0))
    free = {**at_terminals(resistor(100), supply, stock=[unit("only", 105)]), "spare_percent": 0}
    reply = jobs.answer(client, free, PATH)
    assert reply["stated"] == {"verdict": "passes", "broken": []}
    assert reply["loading"]["corner"]["mains"] == "as stated"
    assert "will do in the stated state, but not over the usual range." in reply["summary"]["text"]
    over_range = jobs.answer(client, {**free, "conditions": OUTLET}, PATH)
    assert over_range["stated"] == {"verdict": "fails", "broken": ["transformer-over-rating"]}


def test_a_stated_supply_that_holds_a_range_which_no_box_holds_is_said_to(client: Client) -> None:
    supply = transformer(12, winding=winding(150, 0))
    free = at_terminals(resistor(100), supply, stock=[unit("only", 105)])
    reply = jobs.answer(client, {**free, "spare_percent": 0}, PATH)
    said = "The 150 VA that is stated will do in the stated state, and over the usual range."
    assert f"{said} 105 VA would be enough in the stated state alone." in reply["summary"]["text"]


# Wiring that cannot carry its load.


def test_the_share_that_can_be_carried_is_that_of_the_worst_state(client: Client) -> None:
    # E²/4R: 360 W from 12 V as stated; at 110 of 120 V and 40 °C (110/120)² of it in warmer copper.
    reply = jobs.answer(client, job(run(lamp(10, watts(400)))), PATH)
    lowest = 360.0 / 400.0 * (110 / 120) ** 2 / (1.0 + 0.00393 * 20.0)
    assert 0.985 * lowest <= reply["load_margin"]["exact"] <= lowest
    assert jobs.answer(client, as_stated(job(run(lamp(10, watts(400))))), PATH)["load_margin"][
        "exact"
    ] == pytest.approx(0.9, rel=0.011)
    (found,) = findings(reply, "no-operating-point")
    assert found["limit"]["value"] == pytest.approx(100.0 * reply["load_margin"]["exact"], abs=0.02)
    assert "in its worst state (lowest mains, " in found["message"]
    assert "the lamps get too little well before that" in found["message"]


@pytest.mark.parametrize(("rating_va", "over"), [(99.9, True), (100, False)])
def test_plates_over_the_rating_are_said_though_the_wiring_carries_nothing(
    client: Client, rating_va: float, *, over: bool
) -> None:
    far = job(run(lamp(400, watts(100))), supply=transformer(winding=winding(rating_va, 0)))
    reply = ask(client, far)
    assert reply["status"] == "no-operating-point"
    assert ("connected-over-rating" in codes(reply)) is over


def test_plates_are_held_against_the_share_that_the_request_allows_and_against_watts(client: Client) -> None:
    far = job(run(lamp(400, watts(100))), supply=transformer(winding=winding(110, 0)))
    (found,) = findings(ask(client, far | {"maximum_loading_percent": 80}), "connected-over-rating")
    assert (found["measured"], found["limit"]) == (quantity(100.0, "VA"), quantity(88.0, "VA"))
    direct = job(run(lamp(400, watts(100))), supply=dc_supply(rating=quantity(60, "W")))
    (found,) = findings(ask(client, direct), "connected-over-rating")
    assert (found["measured"], found["limit"]) == (quantity(100.0, "W"), quantity(60.0, "W"))


# Circuits of the stated supply.


def test_runs_that_name_no_circuit_are_spread_over_those_of_the_supply(client: Client) -> None:
    three = [{"name": name, "limit": quantity(25, "A")} for name in ("left", "middle", "right")]
    reply = ask(client, runs_of(9, 8, 7, 6, 5, 4, 3, 3, supply=transformer(circuits=three)))
    # 45 A over three circuits: 15 A each is the most even there is.
    assert [row["current"]["value"] for row in reply["circuits"]] == pytest.approx([15.0, 15.0, 15.0])
    assert "circuit-over-current" not in codes(reply)
    held = Counter(row["circuit"] for row in reply["placement"])
    assert held.total() == 8
    assert set(held) == {"left", "middle", "right"}


def test_a_run_that_names_its_circuit_is_left_there_and_the_others_go_beside_it(client: Client) -> None:
    three = [{"name": name, "limit": quantity(25, "A")} for name in ("left", "middle", "right")]
    named = [run(lamp(0, amperes(6)), circuit="left"), run(lamp(0, amperes(1)), circuit="right")]
    request = job(
        *named, run(lamp(0, amperes(5))), run(lamp(0, amperes(7))), supply=transformer(circuits=three)
    )
    reply = ask(client, request)
    # Beside 6 A on the left and 1 A on the right: with 5 A on the right and 7 A between none has over 7 A.
    assert [row["current"]["value"] for row in reply["circuits"]] == pytest.approx([6.0, 7.0, 6.0])
    placed = [(row["pointer"], row["circuit"]) for row in reply["placement"]]
    assert placed == [("/wiring/runs/2", "right"), ("/wiring/runs/3", "middle")]
    assert "runs-placed" in assumed(reply)
    assert "first-circuit-taken" not in assumed(reply)


def test_no_run_is_placed_where_all_name_their_circuit(client: Client) -> None:
    runs = [run(lamp(0, amperes(5)), circuit="right"), run(lamp(0, amperes(5)), circuit="right")]
    reply = ask(client, job(*runs, supply=transformer(circuits=TWO_COMMONS)))
    assert "placement" not in reply
    assert "runs-placed" not in assumed(reply)


def test_spans_that_meet_go_where_one_of_them_is_said_to_be(client: Client) -> None:
    ends = {"a": {"circuit": "right"}, "b": {}, "c": {}}
    spans = [
        {"from": "supply", "to": end, "length": metres(1), "cable": awg(10), **more}
        for end, more in ends.items()
    ]
    spans.append({"from": "a", "to": "b", "length": metres(1), "cable": awg(10)})
    wiring = {
        "form": "spans",
        "spans": spans,
        "fixtures": [{"point": point, "load": amperes(6, power_factor=1)} for point in ends],
    }
    reply = ask(client, {"supply": transformer(circuits=TWO_COMMONS), "wiring": wiring})
    assert [row["current"]["value"] for row in reply["circuits"]] == pytest.approx([6.0, 12.0])


@pytest.mark.parametrize(
    ("maximum", "spare", "least_va"), [(80, 0, 125.0), (80, 50, 150.0), (100, 10, 110.0), (50, 100, 200.0)]
)
def test_the_least_rating_is_that_of_the_larger_demand(
    client: Client, maximum: float, spare: float, least_va: float
) -> None:
    # 100 VA of lamps: over the share of the rating that may be used, or with the spare.
    request = at_terminals(watts(100), maximum_loading_percent=maximum, spare_percent=spare)
    assert ask(client, request)["connected"]["least_rating"] == quantity(least_va, "VA")


def test_spans_that_leave_the_supply_are_placed_as_well(client: Client) -> None:
    spans = [{"from": "supply", "to": point, "length": metres(1), "cable": awg(10)} for point in ("a", "b")]
    fixtures = [{"point": point, "load": amperes(6)} for point in ("a", "b")]
    wiring = {"form": "spans", "spans": spans, "fixtures": fixtures}
    reply = ask(client, {"supply": transformer(circuits=TWO_COMMONS), "wiring": wiring})
    assert {row["circuit"] for row in reply["placement"]} == {"left", "right"}


# What is said beside the numbers.


def many_alone(lamps: int) -> Json:
    """Ten runs of lamps, of which each may be on alone, behind one of two transformers."""
    each = lamp(1, watts(0.05, power_factor=1), count=lamps // 10, spacing=metres(0.1))
    stock = [unit("a", 150, regulation_percent=4), unit("b", 200, regulation_percent=3)]
    return job(*[run(each) for _ in range(10)], stock=stock, conditions={
        **OUTLET, **COLD_TO_HOT, "switching": "individually"})  # fmt: skip


@pytest.mark.parametrize("lamps", [100, 1900])
def test_a_job_of_many_lamps_is_answered_though_they_may_be_on_alone(client: Client, lamps: int) -> None:
    reply = ask(client, many_alone(lamps))
    assert reply["recommended"]["id"] == "a"
    assert ("recommended-partly-judged" in assumed(reply)) is (lamps == 1900)


ASSUMED: list[tuple[str, Json]] = [
    ("connected-added-up", at_terminals(watts(5))),
    ("stated-state-only", at_terminals(watts(5))),
    ("core-ideal", at_terminals(watts(5), transformer(primary=MAINS_120))),
    ("spare-10-percent", at_terminals(watts(5))),
    ("usual-ratings", at_terminals(watts(5))),
    ("usual-circuits", at_terminals(watts(5), transformer(circuits=TWO_COMMONS))),
    ("runs-added-up", at_terminals(watts(5))),
    ("runs-placed", runs_of(5, 4, supply=transformer(circuits=TWO_COMMONS))),
    ("recommended-partly-judged", many_alone(900)),
    ("stock-without-regulation", at_terminals(watts(5), stock=[unit("bare", 60)])),
    ("stock-without-circuits", at_terminals(watts(5), stock=[unit("bare", 60)])),
    ("prices-without-currency", at_terminals(watts(5), stock=[unit("priced", 60, price="9.90")])),
]


@pytest.mark.parametrize(("code", "request_body"), ASSUMED, ids=[code for code, _ in ASSUMED])
def test_what_the_choice_takes_for_granted_is_said(client: Client, code: str, request_body: Json) -> None:
    assert code in assumed(ask(client, request_body))


def test_a_choice_that_leaves_nothing_open_takes_little_for_granted(client: Client) -> None:
    whole = unit("whole", 60, regulation_percent=5, price="9.90",
                 circuits=[{"name": "a", "limit": quantity(25, "A")}])  # fmt: skip
    more = {"spare_percent": 10, "currency": "EUR", "conditions": OUTLET, "stock": [whole]}
    said = set(assumed(ask(client, at_terminals(watts(5)) | more)))
    assert said & {code for code, _ in ASSUMED} == {"connected-added-up", "runs-added-up"}


# What is refused.


def test_more_transformers_to_solve_than_one_request_may_ask_for_are_refused(client: Client) -> None:
    stock = [
        unit(f"T{each}", 600, regulation_percent=1 + each / 100, minimum_load=quantity(500, "W"))
        for each in range(100)
    ]
    request = job(run(lamp(1, watts(0.2), count=900, spacing=metres(0.1)), cable=awg(8)), stock=stock)
    status, problem = post(client, request)
    assert (status, problem["code"]) == (422, "work-over-limit")


def test_units_that_sag_alike_are_solved_once(client: Client) -> None:
    stock = [unit(f"T{each}", 600, minimum_load=quantity(500, "W")) for each in range(100)]
    request = job(run(lamp(1, watts(0.2), count=900, spacing=metres(0.1)), cable=awg(8)), stock=stock)
    assert post(client, request)[0] == 200
