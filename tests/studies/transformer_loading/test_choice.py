"""Which transformer is recommended, why the others are not, and which run goes on which circuit."""

import json

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json
from tests.studies.transformer_loading.transformers import (
    COLD_TO_HOT,
    FREE,
    OUTLET,
    PATH,
    TWO_OF_25_A,
    ask,
    at_terminals,
    chosen_of,
    reasons,
    runs_of,
    unit,
)

# Which transformer.


def test_every_transformer_is_either_recommended_or_rejected_with_a_reason(client: Client) -> None:
    stock = [unit(f"T{rating}", rating) for rating in (900, 60, 150, 100)]
    reply = ask(client, at_terminals(jobs.volt_amperes(60, 80), stock=stock))
    assert reply["recommended"]["id"] == "T100"
    assert reasons(reply) == {
        "T900": ["larger-than-needed"], "T60": ["rating-below-connected"], "T150": ["larger-than-needed"],
    }  # fmt: skip
    assert reply["rejected"][0]["pointer"] == "/stock/0"


def test_a_tenth_to_spare_is_met_to_the_last_digit(client: Client) -> None:
    # 100 VA and a tenth are 110 VA, not 110.00000000000001.
    def asked(load_va: float) -> Json:
        return at_terminals(jobs.volt_amperes(load_va, load_va), stock=[unit("even", 110)])

    exact = ask(client, asked(100))
    assert exact["recommended"]["id"] == "even"
    assert "usual-spare-not-met" not in jobs.codes(exact)
    assert "usual-spare-not-met" in jobs.codes(ask(client, asked(100.0001)))
    assert "recommended" not in ask(client, asked(100.0001) | {"spare_percent": 10})


def test_a_spare_that_nobody_asked_for_keeps_no_box_from_being_recommended(client: Client) -> None:
    # 95 VA and a tenth are 104.5 VA.
    request = at_terminals(jobs.volt_amperes(95, 95), stock=[unit("small", 75), unit("S100", 100)])
    reply = ask(client, request)
    assert (reply["recommended"]["id"], reply["recommended"]["verdict"]) == ("S100", "passes")
    assert reply["connected"]["least_rating"] == jobs.quantity(104.5, "VA")
    (note,) = jobs.findings(reply, "usual-spare-not-met")
    assert (note["severity"], note["measured"]) == ("note", jobs.quantity(104.5, "VA"))
    assert note["message"] == (
        "No transformer on offer passes with the usual spare: the fixtures, spare included, need 104.5 VA."
        ' Without it 100 VA ("S100") passes.'
    )
    assert "spare-10-percent" not in jobs.assumed(reply)
    assert reply["summary"]["text"].endswith(
        'Recommended without the usual spare: 100 VA ("S100"). 75 VA: The fixtures need 95 VA; it is rated'
        " 75 VA."
    )
    asked = ask(client, request | {"spare_percent": 10})
    assert jobs.codes(asked)[:1] == ["no-transformer-fits"]


def test_one_with_the_usual_spare_that_passes_goes_before_a_smaller_one_without(client: Client) -> None:
    stock = [unit("S100", 100), unit("S150", 150)]
    reply = ask(client, at_terminals(jobs.volt_amperes(95, 95), stock=stock))
    assert reply["recommended"]["id"] == "S150"
    assert "usual-spare-not-met" not in jobs.codes(reply)


def test_without_the_usual_spare_the_range_is_not_given_up_as_well(client: Client) -> None:
    # 95 VA at 110 of 120 V are 8.64 A of the 8.33 A that 100 VA allow on 12 V.
    request = at_terminals(jobs.volt_amperes(95, 95), stock=[unit("S100", 100)])
    reply = jobs.answer(client, request, PATH)
    assert "recommended" not in reply
    assert "no-transformer-fits" in jobs.codes(reply)


def test_the_maximum_loading_counts_only_when_it_is_sent(client: Client) -> None:
    request = at_terminals(jobs.volt_amperes(90, 90), stock=[unit("hundred", 100)]) | FREE
    assert chosen_of(client, request)["loading"]["loading_ratio"] == 0.9
    held = ask(client, request | {"maximum_loading_percent": 80})
    assert reasons(held) == {"hundred": ["loading-over-maximum"]}
    (reason,) = held["rejected"][0]["reasons"]
    assert (reason["measured"], reason["limit"]) == (jobs.quantity(90.0, "VA"), jobs.quantity(80.0, "VA"))


def test_cable_loss_can_ask_for_more_than_the_labels(client: Client) -> None:
    # By hand: 60 W through 0.2 ohm from 12 V take 6 - sqrt(36 - 12) over 0.2, 5.505 A, and 66.06 VA.
    stock = [unit("labels", 60), unit("cable too", 75)]
    request = jobs.job(jobs.run(jobs.lamp(20, jobs.volt_amperes(60, 60))), stock=stock) | FREE
    reply = ask(client, request)
    assert reply["recommended"]["id"] == "cable too"
    assert reply["recommended"]["loading"]["apparent_power"]["value"] == pytest.approx(66.061, abs=1e-3)
    assert reasons(reply) == {"labels": ["loading-over-maximum"]}


def test_a_transformer_without_a_tap_in_use_is_ruled_out(client: Client) -> None:
    request = jobs.job(
        jobs.run(jobs.lamp(0, jobs.watts(9))), jobs.run(jobs.lamp(0, jobs.watts(9)), tap=jobs.volts(14))
    )
    reply = ask(
        client, request | {"stock": [unit("one", 60, 12), unit("other", 60, 14), unit("both", 60, 12, 14)]}
    )
    assert reply["recommended"]["id"] == "both"
    assert reasons(reply) == {"one": ["tap-not-offered"], "other": ["tap-not-offered"]}


def test_a_tap_that_nothing_hangs_on_is_not_asked_for(client: Client) -> None:
    request = jobs.job(
        jobs.run(jobs.lamp(0, jobs.watts(9)), tap=jobs.volts(14)), stock=[unit("high", 60, 14)]
    )
    assert chosen_of(client, request)["id"] == "high"


def test_a_minimum_load_is_judged_in_watts_in_the_lightest_state(client: Client) -> None:
    # 100 W of resistor at 110 of 120 V: 84.03 W.
    request = at_terminals(jobs.resistor(100), conditions=OUTLET)
    fits = unit("fits", 150, minimum_load=jobs.quantity(84, "W"))
    fails = unit("fails", 150, minimum_load=jobs.quantity(84.1, "W"))
    reply = ask(client, request | {"stock": [fails, fits]})
    assert reply["recommended"]["id"] == "fits"
    assert reasons(reply) == {"fails": ["below-minimum-load"]}
    (reason,) = reply["rejected"][0]["reasons"]
    assert reason["message"] == "The wiring draws 84.03 W at its lightest; it asks for at least 84.1 W."


def test_a_minimum_load_that_is_accepted_keeps_no_box_from_being_recommended(client: Client) -> None:
    needs = unit("S60", 60, minimum_load=jobs.quantity(20, "W"))
    request = at_terminals(jobs.volt_amperes(5, 6), stock=[needs, unit("S75", 75)])
    assert chosen_of(client, request)["id"] == "S75"
    reply = ask(client, request | {"accept": ["below-minimum-load"]})
    assert (reply["recommended"]["id"], reply["recommended"]["verdict"]) == ("S60", "passes")
    (found,) = jobs.findings(reply, "below-minimum-load")
    assert found["message"] == (
        'The wiring draws 5 W; the recommended "S60" needs at least 20 W connected, or it may flicker or not'
        " start."
    )
    assert found["subject"] == {"pointer": "/stock/0", "id": "S60"}


def test_a_box_that_asks_for_more_load_is_nearest_where_none_passes(client: Client) -> None:
    needs = unit("S60", 60, minimum_load=jobs.quantity(20, "W"))
    reply = ask(client, at_terminals(jobs.volt_amperes(5, 6), stock=[needs]))
    assert "recommended" not in reply
    assert (reply["nearest"]["id"], reply["nearest"]["broken"]) == ("S60", ["below-minimum-load"])
    assert reply["summary"]["verdict"] == "passes-with-warnings"


def test_a_full_circuit_is_accepted_by_the_code_that_voltage_drop_has_for_it(client: Client) -> None:
    # 21 A are over 20 A, 80 % of 25 A.
    circuits = [{"name": "a", "limit": jobs.quantity(25, "A"), "listed_system": True}]
    request = at_terminals(
        jobs.amperes(21, power_factor=1), stock=[unit("S300", 300, circuits=circuits), unit("S600", 600)]
    )
    assert chosen_of(client, request)["id"] == "S600"
    for code in ("circuit-near-limit", "division-near-limit"):
        assert chosen_of(client, request | {"accept": [code]})["id"] == "S300"


def test_of_one_rating_the_cheapest_is_taken_and_of_one_price_the_first(client: Client) -> None:
    prices = {"dear": "90.00", "first": "12.5", "second": "12.50"}
    stock = [unit(name, 60, price=price) for name, price in prices.items()]
    stock += [unit("unpriced", 60), unit("cheap but large", 75, price="1")]
    reply = ask(client, at_terminals(jobs.watts(9), stock=stock, currency="EUR"))
    assert (reply["recommended"]["id"], reply["recommended"]["price"]) == ("first", "12.5")
    assert reply["recommended"]["currency"] == "EUR"
    assert reply["summary"]["text"].endswith('Recommended: 60 VA ("first", 12.5 EUR).')
    unstated = ask(client, at_terminals(jobs.watts(9), stock=stock))
    assert unstated["summary"]["text"].endswith('Recommended: 60 VA ("first", price 12.5).')
    assert reasons(reply) == {
        "dear": ["costs-more"], "second": ["listed-later"], "unpriced": ["without-price"],
        "cheap but large": ["larger-than-needed"],
    }  # fmt: skip


def test_the_mains_stay_when_the_transformer_is_changed(client: Client) -> None:
    supply = jobs.transformer(
        12, winding=jobs.winding(60, 8), primary={"rated": jobs.volts(120), "actual": jobs.volts(113)}
    )
    taken = chosen_of(
        client, at_terminals(jobs.watts(9), supply, stock=[unit("new", 60, regulation_percent=5)])
    )
    assert taken["loading"]["taps"][0]["open_circuit"] == jobs.volts(11.865)  # 12 x 1.05 x 113/120


def test_the_usual_ratings_stand_for_a_stock_that_is_not_sent(client: Client) -> None:
    reply = ask(client, at_terminals(jobs.volt_amperes(100, 130)))
    assert reply["recommended"]["rating"] == jobs.quantity(150.0, "VA")
    assert "id" not in reply["recommended"]
    assert "usual-ratings" in jobs.assumed(reply)
    assert {"usual-ratings", "spare-capacity"} <= {row["code"] for row in reply["sources"]}


def test_a_usual_rating_has_as_many_circuits_as_fill_it(client: Client) -> None:
    # 500 VA at 12 V are 41.7 A: two circuits of 25 A.
    reply = ask(client, runs_of(18, 18))
    division = reply["division"]
    assert reply["recommended"]["rating"] == jobs.quantity(500.0, "VA")
    assert [circuit["limit"] for circuit in division["circuits"]] == [jobs.quantity(25.0, "A")] * 2


def test_a_load_beyond_every_usual_rating_is_said(client: Client) -> None:
    (finding,) = jobs.findings(ask(client, runs_of(*[20] * 6)), "no-transformer-fits")
    assert (finding["subject"], finding["source"]) == ({"pointer": "/supply"}, "usual-ratings")
    assert finding["measured"] == jobs.quantity(1584.0, "VA")
    assert finding["limit"] == jobs.quantity(1200.0, "VA")
    assert "and the largest is rated 1200 VA." in finding["message"]


CARRIED: dict[str, Json] = {
    "two taps": jobs.job(
        jobs.run(jobs.lamp(12, jobs.volt_amperes(6, 9), count=8, spacing=jobs.metres(3)),
                 cable=jobs.awg(12), tap=jobs.volts(13)),
        jobs.run(jobs.lamp(8, jobs.halogen(20), count=3), cable=jobs.awg(12)),
        jobs.run(jobs.lamp(9, jobs.volt_amperes(7, 10), count=9, spacing=jobs.metres(2)), cable=jobs.awg(10)),
        conditions=OUTLET | COLD_TO_HOT,
        stock=[
            unit("small", 150, 12, 13, regulation_percent=6),
            unit("right", 300, 12, 13, regulation_percent=5, circuits=[
                {"name": "a", "limit": jobs.quantity(15, "A")},
                {"name": "b", "limit": jobs.quantity(15, "A")}]),
        ],
    ),
    "many runs": jobs.job(
        *[jobs.run(jobs.lamp(6, jobs.volt_amperes(5 + k, 8 + k), count=4), cable=jobs.awg(12))
          for k in range(9)],
        stock=[unit("three", 600, regulation_percent=3, circuits=[
            {"name": name, "limit": jobs.quantity(20, "A")} for name in "abc"])],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CARRIED)
def test_the_recommended_transformer_carries_the_job_as_voltage_drop_solves_it(
    client: Client, name: str
) -> None:
    request = CARRIED[name]
    reply = ask(client, request)
    taken = request["stock"][int(reply["recommended"]["pointer"].rpartition("/")[2])]
    wiring = json.loads(json.dumps(request["wiring"]))
    for circuit in reply["division"]["circuits"]:
        for each in circuit["runs"]:
            wiring["runs"][int(each["pointer"].rpartition("/")[2])]["circuit"] = circuit["name"]
    supply = jobs.transformer(
        12, winding={"rating": taken["rating"], "regulation_percent": taken["regulation_percent"]},
        taps=taken["taps"], circuits=taken["circuits"],
    )  # fmt: skip
    conditions = {"conditions": request["conditions"]} if "conditions" in request else {}
    again = jobs.answer(client, {"supply": supply, "wiring": wiring, **conditions})
    assert again["status"] == "solved"
    never = {"circuit-over-current", "circuit-near-limit", "transformer-over-rating",
             "winding-over-current", "no-operating-point",
             "tap-not-offered", "circuit-not-declared"}  # fmt: skip
    assert not never & set(jobs.codes(again))
    loading, ratings = reply["recommended"]["loading"], taken["rating"]["value"]
    if conditions:
        # The worst state is the one of low mains: there the winding carries most current.
        assert loading["corner"]["mains"] == "lowest"
        highest = again["envelope"]["supply"]["highest_apparent_power"]["apparent_power"]["value"]
        assert loading["apparent_power"]["value"] <= highest <= ratings
    else:
        assert loading["apparent_power"] == again["supply"]["apparent_power"]
    assert max(loading["loading_ratio"], loading["current_ratio"]) <= 1.0
    assert loading["spare_ratio"] == pytest.approx(
        1.0 - max(loading["loading_ratio"], loading["current_ratio"]), abs=2e-5
    )


# Which run on which circuit.


def test_runs_are_divided_so_that_the_fullest_circuit_is_as_empty_as_can_be(client: Client) -> None:
    reply = ask(client, runs_of(9, 8, 7, 6, 5, stock=[unit("two", 600, circuits=TWO_OF_25_A)]))
    division = reply["division"]
    # 35 A: 17 and 18 is the most even that whole amperes allow.
    assert sorted(circuit["current"]["value"] for circuit in division["circuits"]) == [17.0, 18.0]
    assert (division["largest_ratio"], division["method"]) == (0.72, "exact")
    assert division["within_continuous_share"] is True
    assert sum(len(circuit["runs"]) for circuit in division["circuits"]) == 5


def test_a_run_is_divided_by_its_highest_current_in_any_state(client: Client) -> None:
    # At 126 of 120 V a resistor of 100 W takes 8.75 A; at 110 of 120 V a driver of 100 W takes 100/11 A.
    runs = jobs.run(jobs.lamp(0, jobs.resistor(100))), jobs.run(jobs.lamp(0, jobs.watts(100)))
    stock = [unit("two", 600, circuits=TWO_OF_25_A)]
    division = ask(client, jobs.job(*runs, conditions=OUTLET, stock=stock))["division"]
    currents = [circuit["runs"][0]["current"]["value"] for circuit in division["circuits"]]
    assert sorted(currents) == pytest.approx([8.75, 100.0 / 11.0], abs=1e-5)


def test_a_division_above_80_percent_says_so(client: Client) -> None:
    division = ask(client, runs_of(21, 18, stock=[unit("two", 600, circuits=TWO_OF_25_A)]))["division"]
    assert (division["largest_ratio"], division["within_continuous_share"]) == (0.84, False)


def test_the_run_that_no_circuit_holds_is_named(client: Client) -> None:
    reply = ask(client, runs_of(5, 26, stock=[unit("two", 600, circuits=TWO_OF_25_A)]))
    (finding,) = jobs.findings(reply, "division-impossible")
    assert finding["subject"] == {"pointer": "/wiring/runs/1"}
    assert finding["message"].startswith("bed 26 ")
    assert reasons(reply) == {"two": ["run-over-circuit"]}
    assert "division" not in reply


def test_runs_that_do_not_fit_together_are_named_too(client: Client) -> None:
    reply = ask(client, runs_of(15, 14, 13, stock=[unit("two", 600, circuits=TWO_OF_25_A)]))
    assert reasons(reply) == {"two": ["circuits-too-few"]}
    (finding,) = jobs.findings(reply, "division-impossible")
    # 42 A would fit two circuits of 25 A, but any two of the runs are more than 25 A.
    assert finding["measured"] == jobs.quantity(27.0, "A")
    assert finding["limit"] == jobs.quantity(25.0, "A")


def test_a_transformer_with_circuits_enough_is_taken_before_a_larger_one(client: Client) -> None:
    stock = [
        unit("two", 600, circuits=TWO_OF_25_A),
        unit("three", 600, circuits=[*TWO_OF_25_A, {"name": "top", "limit": jobs.quantity(25, "A")}]),
    ]
    assert chosen_of(client, runs_of(15, 14, 13, stock=stock))["id"] == "three"


def test_spans_that_meet_behind_the_supply_go_on_one_circuit(client: Client) -> None:
    def span(start: str, end: str) -> Json:
        return {"from": start, "to": end, "length": jobs.metres(5), "cable": jobs.awg(10)}

    ring = [span("supply", "a"), span("a", "b"), span("b", "supply"), span("supply", "c")]
    fixtures = [{"point": point, "load": jobs.amperes(6, power_factor=1)} for point in "abc"]
    wiring = {"form": "spans", "spans": ring, "fixtures": fixtures}
    request = {
        "supply": jobs.transformer(),
        "wiring": wiring,
        "stock": [unit("two", 600, circuits=TWO_OF_25_A)],
    }
    circuits = ask(client, request)["division"]["circuits"]
    assert sorted(circuit["current"]["value"] for circuit in circuits) == [6.0, 12.0]


# Devices that nobody stated.


UNSTATED: list[Json] = [
    {},
    {"circuits": [{"name": "a"}]},
    {"circuits": [{"name": "a"}, {"name": "b", "limit": jobs.quantity(4, "A")}]},
]


@pytest.mark.parametrize("more", UNSTATED, ids=["none", "one", "beside one of 4 A"])
def test_a_circuit_of_no_stated_device_rules_out_and_warns_of_nothing(client: Client, more: Json) -> None:
    reply = ask(client, runs_of(5, 26, stock=[unit("box", 600, **more)]))
    assert reply["recommended"]["id"] == "box"
    told = {"division-near-limit", "division-impossible", "circuit-near-limit"}
    assert not told & set(jobs.codes(reply))
    (open_circuit, *stated) = reply["division"]["circuits"]
    assert open_circuit["current"] == jobs.quantity(31.0, "A")
    assert not {"limit", "loading_ratio"} & set(open_circuit)
    assert ("largest_ratio" in reply["division"]) is bool(stated)
    assert "within_continuous_share" not in reply["division"]


def test_a_note_says_which_device_to_state_and_what_the_cable_allows(client: Client) -> None:
    stated = jobs.transformer(circuits=[{"name": "old", "limit": jobs.quantity(20, "A")}])
    thin = jobs.job(jobs.run(jobs.lamp(5, jobs.watts(30)), cable=jobs.awg(12)), supply=stated)
    for stock, named in (
        ([unit("box", 60)], 'transformer "box"'),
        ([unit("box", 60, circuits=[{"name": "a"}])], 'circuit "a" of transformer "box"'),
    ):
        (note,) = jobs.findings(ask(client, thin | {"stock": stock}), "device-not-stated")
        assert note["severity"] == "note"
        assert note["subject"] == {"pointer": "/stock/0", "id": "box"}
        assert note["message"].startswith(f"No overcurrent device is stated for {named}, so none was checked")
        assert note["limit"] == jobs.quantity(20.0, "A")  # NEC 240.4(D): 12 AWG copper


def test_a_device_that_is_stated_needs_no_note(client: Client) -> None:
    stated = jobs.transformer(circuits=[{"name": "old", "limit": jobs.quantity(20, "A")}])
    stock = [unit("box", 60, circuits=[{"name": "a", "limit": jobs.quantity(20, "A")}, {"name": "unused"}])]
    lamp = jobs.run(jobs.lamp(5, jobs.watts(30)), cable=jobs.awg(12))
    reply = ask(client, jobs.job(lamp, supply=stated, stock=stock))
    assert "device-not-stated" not in jobs.codes(reply)
    assert reply["division"]["within_continuous_share"] is True


def test_runs_go_evenly_over_circuits_of_which_nothing_is_known(client: Client) -> None:
    commons = [{"name": "left"}, {"name": "right"}]
    division = ask(client, runs_of(9, 8, 7, 6, 5, stock=[unit("two", 600, circuits=commons)]))["division"]
    assert sorted(circuit["current"]["value"] for circuit in division["circuits"]) == [17.0, 18.0]


def test_what_a_stated_device_cannot_carry_goes_where_none_is_stated(client: Client) -> None:
    circuits = [{"name": "small", "limit": jobs.quantity(10, "A")}, {"name": "open"}]
    reply = ask(client, runs_of(8, 8, 8, stock=[unit("two", 600, circuits=circuits)]))
    small, open_circuit = reply["division"]["circuits"]
    assert (small["current"]["value"], open_circuit["current"]["value"]) == (8.0, 16.0)
    assert reply["division"]["largest_ratio"] == 0.8


def test_a_usual_rating_claims_no_device_before_a_cable(client: Client) -> None:
    # Two runs of 9 A in 12 AWG on one circuit of up to 25 A; behind 12 AWG stand 20 A at most.
    stated = jobs.transformer(circuits=[{"name": "old", "limit": jobs.quantity(20, "A")}])
    runs = [jobs.run(jobs.lamp(1, jobs.amperes(9, power_factor=1)), cable=jobs.awg(12)) for _ in range(2)]
    reply = ask(client, jobs.job(*runs, supply=stated, conditions={"range": "as-stated"}))
    (circuit,) = reply["division"]["circuits"]
    assert circuit["limit"] == jobs.quantity(25.0, "A")
    assert "conductor-below-device" not in jobs.codes(reply)
    (note,) = jobs.findings(reply, "device-not-stated")
    assert "the recommended one of the usual ratings" in note["message"]
    assert note["limit"] == jobs.quantity(20.0, "A")


def test_a_usual_rating_says_that_a_circuit_is_near_the_most_that_one_may_have(client: Client) -> None:
    (found,) = jobs.findings(ask(client, runs_of(21)), "division-near-limit")
    assert "80 % of 25 A, the largest device that low-voltage lighting may have" in found["message"]


def test_a_part_of_a_graph_that_no_circuit_holds_is_named_by_its_end(client: Client) -> None:
    spans = [
        {"from": start, "to": end, "length": jobs.metres(1), "cable": jobs.awg(8)}
        for start, end in (("supply", "a"), ("a", "b"))
    ]
    fixtures = [{"point": point, "load": jobs.watts(150)} for point in "ab"]
    wiring = {"form": "spans", "spans": spans, "fixtures": fixtures}
    stock = [unit("two", 600, circuits=[{"name": name, "limit": jobs.quantity(10, "A")} for name in "ab"])]
    reply = ask(client, {"supply": jobs.transformer(), "wiring": wiring, "stock": stock})
    (finding,) = jobs.findings(reply, "division-impossible")
    assert finding["message"].startswith("The part that ends at b does not fit on the circuits ")
    assert reply["rejected"][0]["reasons"][0]["message"].startswith("The part that ends at b draws ")
