"""What findings look at, beyond the smallest example of each."""

import pytest

from service import tables
from tests.client import Client
from tests.jobs import (
    Json,
    amperes,
    answer,
    assumed,
    awg,
    battery,
    branch,
    codes,
    dc_supply,
    findings,
    halogen,
    job,
    lamp,
    metres,
    quantity,
    run,
    solved,
    transformer,
    volt_amperes,
    volts,
    watts,
    winding,
    window,
)

LEAD_18: Json = {"length": metres(1), "cable": awg(18)}
BEHIND_25_A: list[Json] = [{"name": "a", "limit": quantity(25, "A")}]


def subjects(reply: Json, code: str) -> list[str]:
    return [found["subject"]["pointer"] for found in findings(reply, code)]


# Windows.


@pytest.mark.parametrize(("nominal_v", "floor_v"), [(12, 8.0), (15, 10.0), (24, 16.0)])
def test_default_windows_follow_the_nominal_voltage(client: Client, nominal_v: float, floor_v: float) -> None:
    for level_v, faulty in ((floor_v - 0.01, True), (floor_v + 0.01, False)):
        request = job(run(lamp(0, watts(3))), supply=transformer(level_v), nominal_v=nominal_v)
        found = findings(solved(client, request), "fixture-below-window")
        assert [entry["severity"] == "fault" for entry in found] == [faulty]


def test_default_windows_do_not_follow_the_tap(client: Client) -> None:
    request = job(run(lamp(0, watts(3)), tap=volts(16)), supply=transformer(taps=[volts(12), volts(16)]))
    assert [found["severity"] for found in findings(solved(client, request), "fixture-above-window")] == [
        "fault"
    ]


def test_several_taps_change_no_window(client: Client) -> None:
    supply = transformer(13, taps=[volts(12), volts(13)])
    assert "fixture-above-window" not in codes(solved(client, job(run(lamp(0, watts(3))), supply=supply)))


def test_the_verdict_of_a_row_is_that_of_its_finding(client: Client) -> None:
    request = job(run(*[lamp(4 * index, amperes(3)) for index in range(1, 12)]))
    reply = solved(client, request)
    told = {"below": "fault", "low": "warning"}
    expected = sorted(told[row["verdict"]] for row in reply["fixtures"] if row["verdict"] in told)
    assert [found["severity"] for found in findings(reply, "fixture-below-window")] == expected
    assert {"below", "low", "inside"} <= {row["verdict"] for row in reply["fixtures"]}


def test_a_window_is_judged_at_the_lamp_and_not_at_the_splice(client: Client) -> None:
    thin: Json = {"length": metres(5), "cable": awg(18)}
    reply = solved(client, job(run(lamp(10, amperes(10), lead=thin, window=window(10.5, 13)))))
    (row,) = reply["fixtures"]
    assert row["splice_voltage"]["value"] > 10.5 > row["voltage"]["value"]
    assert subjects(reply, "fixture-below-window") == ["/wiring/runs/0/fixtures/0"]


def test_every_fixture_of_a_line_is_judged_by_itself(client: Client) -> None:
    line = lamp(4, amperes(3), count=11, spacing=metres(4))
    found = findings(solved(client, job(run(line))), "fixture-below-window")
    assert sorted(entry["subject"]["number"] for entry in found) == list(range(12 - len(found), 12))


# A fail must not look like a pass anywhere in the reply.


def test_a_drop_over_the_limit_is_over_it_in_the_row_as_well(client: Client) -> None:
    request = job(run(lamp(10, amperes(12.00001)))) | {"limits": {"maximum_drop_percent": 10}}
    assert solved(client, request)["fixtures"][0]["drop_percent"] > 10.0


def test_a_circuit_over_its_limit_is_over_it_in_the_row_as_well(client: Client) -> None:
    supply = transformer(circuits=[{"name": "a", "limit": quantity(10, "A")}])
    (circuit,) = solved(client, job(run(lamp(0, amperes(10.000001))), supply=supply))["supply"]["circuits"]
    assert circuit["current"]["value"] > circuit["limit"]["value"]


def test_a_transformer_over_its_rating_is_over_it_in_the_row_as_well(client: Client) -> None:
    supply = transformer(winding=winding(100, 0))
    shown = solved(client, job(run(lamp(0, watts(100.0001))), supply=supply))["supply"]
    assert shown["apparent_power"]["value"] > 100.0
    assert shown["loading_ratio"] > 1.0


def test_a_load_below_the_minimum_is_below_it_in_the_row_as_well(client: Client) -> None:
    supply = transformer(minimum_load=quantity(20, "W"))
    shown = solved(client, job(run(lamp(0, watts(19.9999))), supply=supply))["supply"]
    assert shown["real_power"]["value"] < 20.0


def test_a_lamp_below_its_window_is_below_it_wherever_it_is_shown(client: Client) -> None:
    reply = solved(client, job(run(lamp(10, amperes(30.00001), window=window(9, 13)))))
    assert reply["fixtures"][0]["voltage"]["value"] < 9.0
    assert reply["runs"][0]["lowest_voltage"]["value"] < 9.0


# The supply.


def test_loading_counts_volt_amperes_and_cable_loss(client: Client) -> None:
    supply = transformer(winding=winding(100, 0))
    light = solved(client, job(run(lamp(0, volt_amperes(60, 99))), supply=supply))
    heavy = solved(client, job(run(lamp(10, volt_amperes(60, 99))), supply=supply))
    assert "transformer-over-rating" not in codes(light)
    assert light["supply"]["apparent_power"]["value"] == pytest.approx(99.0, abs=0.001)
    assert heavy["supply"]["apparent_power"]["value"] > 100.0
    assert "transformer-over-rating" in codes(heavy)


def test_amperes_that_add_up_to_a_limit_keep_it(client: Client) -> None:
    """25 lamps of 0.2 A add up to 5.000000000000001 A; a circuit of 5 A carries them."""
    supply = transformer(circuits=[{"name": "a", "limit": quantity(5, "A")}])
    reply = solved(client, job(run(*(lamp(0, amperes(0.2)) for _ in range(25))), supply=supply))
    assert "circuit-over-current" not in codes(reply)
    assert reply["supply"]["circuits"][0]["current"]["value"] == 5.0


def test_a_load_at_the_share_that_is_allowed_is_judged_alike_as_stated_and_as_stock(client: Client) -> None:
    """45 W on 60 VA are 75 % to the last digits of the solver."""
    stock = [{"id": "same", "rating": quantity(60, "VA"), "taps": [volts(12)], "regulation_percent": 3}]
    request = job(run(lamp(0, watts(45))), supply=transformer(winding=winding(60, 3))) | {"spare_percent": 0}
    reply = answer(
        client,
        request | {"stock": stock, "maximum_loading_percent": 75, "accept": ["rating-at-usual-power-factor"]},
        "/v1/transformer-loading",
    )
    assert "loading-over-share" not in codes(reply)
    assert reply["recommended"]["id"] == "same"


def test_a_class_2_circuit_may_carry_what_its_highest_tap_allows(client: Client) -> None:
    """NEC table 11(A), from memory: 5 A up to 20 V, above that 100 VA over the highest voltage."""
    low = transformer(class_2=True)
    assert "class-2-exceeded" not in codes(solved(client, job(run(lamp(0, amperes(5))), supply=low)))
    assert "class-2-exceeded" in codes(solved(client, job(run(lamp(0, amperes(5.001))), supply=low)))
    high = transformer(class_2=True, taps=[volts(12), volts(24)])
    runs = run(lamp(0, amperes(4.5))), run(lamp(0, amperes(0.1)), tap=volts(24))
    (found,) = findings(solved(client, job(*runs, supply=high)), "class-2-exceeded")
    assert found["limit"]["value"] == pytest.approx(100.0 / 24.0, abs=1e-5)


@pytest.mark.parametrize("code", ["span-over-ampacity", "ampacity-not-listed"])
def test_of_one_cable_the_stretch_that_carries_most_is_told(client: Client, code: str) -> None:
    """In a loop the first stretch carries less than another: 10 A come from the far side."""
    size = awg(18) if code == "span-over-ampacity" else awg(22)
    lamps = [lamp(at, amperes(20 if at == 5 else 2)) for at in (2, 5, 9)]
    reply = solved(client, job(run(*lamps, cable=size, return_leg={"length": metres(1), "cable": awg(4)})))
    most = max(
        abs(span["current"]["value"]) for span in reply["spans"] if span.get("conductor") == size["conductor"]
    )
    assert findings(reply, code)[0]["measured"]["value"] == pytest.approx(most, abs=2e-5)


LOW_MAINS: Json = {"rated": volts(120), "actual": volts(110)}


def test_low_mains_load_a_winding_by_its_current(client: Client) -> None:
    """A rated output is a rated voltage times a rated current (IEC 61558-1): 200 VA at 12 V is 16.67 A."""
    supply = transformer(winding=winding(200, 0), primary=LOW_MAINS)
    reply = solved(client, job(run(lamp(0, watts(190))), supply=supply))
    assert reply["supply"]["apparent_power"]["value"] == pytest.approx(190.0, abs=0.001)
    assert reply["supply"]["current"]["value"] == pytest.approx(190.0 / 11.0, abs=0.001)
    assert reply["supply"]["loading_ratio"] == pytest.approx(190.0 / 200.0, abs=1e-5)
    assert reply["supply"]["current_ratio"] == pytest.approx(190.0 / 11.0 / (200.0 / 12.0), abs=1e-5)
    (found,) = findings(reply, "winding-over-current")
    assert "12 V tap" in found["message"]
    assert "transformer-over-rating" not in codes(reply)


def test_taps_share_one_winding_by_current_times_rated_voltage(client: Client) -> None:
    """Two taps of 12 and 15 V at 110 of 120 V: 95 W on each are 190 W and 207 VA at rated volts."""
    supply = transformer(taps=[volts(15)], winding=winding(200, 0), primary=LOW_MAINS)
    lamps = run(lamp(0, watts(95))), run(lamp(0, watts(95)), tap=volts(15))
    reply = solved(client, job(*lamps, supply=supply))
    assert reply["supply"]["current_ratio"] == pytest.approx(190.0 / 200.0 * 120.0 / 110.0, abs=1e-5)
    (found,) = findings(reply, "winding-over-current")
    assert found["measured"]["value"] == pytest.approx(190.0 * 120.0 / 110.0 / 12.0, abs=2e-3)


def test_at_and_above_rated_voltage_a_winding_is_loaded_by_its_volt_amperes(client: Client) -> None:
    supply = transformer(winding=winding(100, 6))
    reply = solved(client, job(run(lamp(0, watts(100))), supply=supply))
    assert reply["supply"]["loading_ratio"] == reply["supply"]["current_ratio"] == 1.0
    assert set(codes(reply)).isdisjoint({"winding-over-current", "transformer-over-rating"})


def test_wet_contact_counts_the_mains_and_every_tap_in_use(client: Client) -> None:
    supply = transformer(14, primary={"rated": volts(120), "actual": volts(126)})
    on_two_taps = job(run(lamp(1, watts(3))), run(lamp(1, watts(3)), tap=volts(14.5)), supply=supply)
    (found,) = findings(solved(client, on_two_taps), "wet-contact-voltage")
    assert found["measured"] == volts(15.225)


def test_wet_contact_of_a_battery_counts_its_highest_voltage(client: Client) -> None:
    reply = solved(client, job(run(lamp(1, watts(3))), supply=battery(22, 28, 31), nominal_v=24))
    assert [found["measured"] for found in findings(reply, "wet-contact-voltage")] == [volts(31.0)]


def test_a_peak_is_that_of_the_tap_on_which_the_lamp_hangs(client: Client) -> None:
    request = job(run(lamp(1, watts(3), input="dc"), tap=volts(15)), supply=transformer())
    (found,) = findings(solved(client, request), "dc-lamp-on-ac")
    assert found["measured"]["value"] == pytest.approx(15.0 * 2**0.5, abs=0.001)


@pytest.mark.parametrize(("kind", "fits"), [("dc", True), ("either", True), ("ac", False)])
def test_a_lamp_for_the_current_that_it_gets_is_no_finding(client: Client, kind: str, *, fits: bool) -> None:
    reply = solved(client, job(run(lamp(1, watts(3), input=kind)), supply=dc_supply()))
    assert ("ac-lamp-on-dc" not in codes(reply)) == fits


def test_the_secondary_is_offered_even_where_the_list_of_taps_lacks_it(client: Client) -> None:
    request = job(run(lamp(1, watts(3)), tap=volts(12)), supply=transformer(taps=[volts(13)]))
    assert "tap-not-offered" not in codes(solved(client, request))


def test_a_supply_that_names_no_taps_offers_any(client: Client) -> None:
    assert "tap-not-offered" not in codes(solved(client, job(run(lamp(1, watts(3)), tap=volts(13.3)))))


def test_the_length_to_the_end_of_a_spur_counts_for_the_supply(client: Client) -> None:
    deep = run(branches=[branch(4, spurs=[branch(4, lamp(3, watts(3)))])])
    reply = solved(client, job(deep, supply=transformer(maximum_cable_length=metres(10))))
    assert subjects(reply, "cable-too-long-for-supply") == ["/wiring/runs/0/branches/0/spurs/0"]


def test_a_tail_counts_as_cable_of_the_supply(client: Client) -> None:
    supply = transformer(maximum_cable_length=metres(10))
    reply = solved(client, job(run(lamp(5, watts(3)), tail=metres(6)), supply=supply))
    assert subjects(reply, "cable-too-long-for-supply") == ["/wiring/runs/0"]


# Circuits and conductors.


def test_runs_of_one_circuit_are_added_up(client: Client) -> None:
    supply = transformer(circuits=[{"name": "a", "limit": quantity(10, "A")}, {"name": "b"}])
    six = lamp(0, amperes(6))
    apart = job(run(six, circuit="a"), run(six, circuit="b"), supply=supply)
    together = job(run(six, circuit="a"), run(six), supply=supply)
    assert "circuit-over-current" not in codes(solved(client, apart))
    assert subjects(solved(client, together), "circuit-over-current") == ["/supply/circuits/0"]


def test_over_the_limit_is_not_also_near_the_limit(client: Client) -> None:
    supply = transformer(circuits=BEHIND_25_A)
    reply = solved(client, job(run(lamp(0, amperes(26))), supply=supply))
    assert "circuit-over-current" in codes(reply)
    assert "circuit-near-limit" not in codes(reply)


def test_the_thinnest_conductor_behind_a_device_is_named_leads_included(client: Client) -> None:
    fixture = lamp(5, watts(3), lead=LEAD_18)
    supply = transformer(circuits=BEHIND_25_A)
    runs = run(fixture, cable=awg(10), branches=[branch(5, cable=awg(16))])
    reply = solved(client, job(runs, supply=supply))
    (found,) = findings(reply, "conductor-below-device")
    assert found["subject"]["pointer"] == "/wiring/runs/0/fixtures/0"
    assert (found["measured"], found["limit"]) == (quantity(25.0, "A"), quantity(7.0, "A"))


def test_a_class_2_supply_needs_no_device_for_thin_conductors(client: Client) -> None:
    # NEC 725 limits the source itself to 5 A here; there is no 25 A device to protect 18 AWG from.
    thin = job(run(lamp(5, watts(3)), cable=awg(18)), supply=dc_supply(class_2=True))
    assert "conductor-below-device" not in codes(solved(client, thin))


def test_several_lamps_in_one_spot_have_a_lead_each(client: Client) -> None:
    # Five leads of 18 AWG with 2 A each; 7 A is the limit of one.
    five = lamp(5, amperes(2), count=5, lead=LEAD_18)
    assert "span-over-ampacity" not in codes(solved(client, job(run(five, cable=awg(8)))))


def test_cables_in_parallel_carry_their_ampacity_together(client: Client) -> None:
    for count, over in ((1, True), (2, False)):
        cable = awg(18, cables_in_parallel=count)
        reply = solved(client, job(run(lamp(1, amperes(10)), cable=cable)))
        assert ("span-over-ampacity" in codes(reply)) == over


def test_the_weaker_conductor_of_an_unequal_pair_decides(client: Client) -> None:
    cable = awg(10, other_conductor=awg(18))
    assert "span-over-ampacity" in codes(solved(client, job(run(lamp(1, amperes(8)), cable=cable))))


def test_a_short_is_reckoned_through_winding_and_cable(client: Client) -> None:
    # 12.48 V over 0.0192 ohm of a 300 VA, 4 % box and 0.5 ohm of 50 m.
    supply = transformer(winding=winding(300, 4), circuits=BEHIND_25_A)
    reply = solved(client, job(run(lamp(50, watts(3))), supply=supply))
    (found,) = findings(reply, "short-circuit-below-trip")
    assert found["measured"]["value"] == pytest.approx(12.48 / 0.5192, abs=0.0001)


@pytest.mark.parametrize("lamps", [1, 7, 28, 29])
@pytest.mark.parametrize(("metres_out", "limit_a"), [(48, 25), (80, 15), (120, 10)])
def test_splitting_a_run_changes_no_short(
    client: Client, lamps: int, metres_out: float, limit_a: float
) -> None:
    """12 V over 10 ohm a kilometre out and back draw the rating to a digit, however many pieces it is of."""
    fixtures = [lamp(metres_out * (place + 1) / lamps, watts(0.1)) for place in range(lamps)]
    supply = transformer(circuits=[{"name": "a", "limit": quantity(limit_a, "A")}])
    assert "short-circuit-below-trip" not in codes(solved(client, job(run(*fixtures), supply=supply)))
    fixtures.append(lamp(metres_out + 0.1, watts(0.1)))
    assert "short-circuit-below-trip" in codes(solved(client, job(run(*fixtures), supply=supply)))


def test_the_weakest_far_end_of_a_run_is_named_for_a_short(client: Client) -> None:
    far = run(lamp(60, watts(1)), branches=[branch(10, lamp(70, watts(1)))])
    reply = solved(client, job(far, supply=transformer(circuits=BEHIND_25_A)))
    assert subjects(reply, "short-circuit-below-trip") == ["/wiring/runs/0/branches/0"]


# What the request says.


def test_a_finding_carries_the_id_of_what_it_is_about(client: Client) -> None:
    named = lamp(1, volt_amperes(3, 2), id="F-9")
    (found,) = findings(solved(client, job(run(named))), "apparent-below-real")
    assert found["subject"] == {"pointer": "/wiring/runs/0/fixtures/0", "id": "F-9"}


def test_a_remark_on_a_line_of_several_does_not_blame_the_first_alone(client: Client) -> None:
    several = lamp(1, volt_amperes(3, 2), count=3, spacing=metres(1), name="step")
    (found,) = findings(solved(client, job(run(several))), "apparent-below-real")
    assert not found["message"].startswith("Step 1")


def test_lamps_of_one_name_are_told_and_a_run_may_be_called_as_they_are(client: Client) -> None:
    pond = [lamp(place, watts(3), name="pond") for place in (1, 2)]
    reply = solved(client, job(run(*pond, name="pond")))
    assert subjects(reply, "duplicate-name") == ["/wiring/runs/0/fixtures/1"]
    assert subjects(solved(client, job(run(pond[0], name="pond"))), "duplicate-name") == []


def test_all_names_given_twice_are_one_note(client: Client) -> None:
    twice = [lamp(place, watts(3), name=name) for place, name in enumerate("abcde", 1)] * 2
    circuits = [{"name": "x", "limit": quantity(5, "A")}] * 2
    request = job(run(*twice), supply=transformer(circuits=circuits))
    (found,) = [each for each in solved(client, request)["findings"] if each["code"] == "duplicate-name"]
    assert found["subject"]["pointer"] == "/supply/circuits/1"
    assert found["message"] == (
        'Used more than once as a name: "x", "a", "b" and 3 more. Answers are told apart by pointer.'
    )


def test_two_circuits_of_one_name_are_told(client: Client) -> None:
    twice = [{"name": "a", "limit": quantity(5, "A")}, {"name": "a", "limit": quantity(10, "A")}]
    reply = solved(client, job(run(lamp(1, watts(3)), circuit="a"), supply=transformer(circuits=twice)))
    assert subjects(reply, "duplicate-name") == ["/supply/circuits/1"]


def test_a_stretch_of_a_graph_is_named_by_its_two_ends(client: Client) -> None:
    spans = [
        {"from": start, "to": end, "length": metres(1), "cable": awg(18)}
        for start, end in (("supply", "a"), ("a", "b"))
    ]
    fixtures = [{"point": point, "load": watts(70)} for point in "ab"]
    wiring = {"form": "spans", "spans": spans, "fixtures": fixtures}
    reply = solved(client, {"supply": transformer(), "wiring": wiring})
    (over,) = [each for each in reply["findings"] if each["code"] == "span-over-ampacity"]
    assert over["message"].startswith("The stretch from supply to a carries ")


def test_a_change_just_before_the_end_is_no_finding(client: Client) -> None:
    change = {"at": metres(9.99), "cable": awg(18)}
    reply = solved(client, job(run(lamp(10, watts(3)), cable_changes=[change])))
    assert "cable-change-past-end" not in codes(reply)


# Devices: what nobody stated is not judged, and what to state is said.


def test_a_listed_system_covers_its_thin_conductors(client: Client) -> None:
    thin = run(lamp(5, watts(3), lead=LEAD_18), cable=awg(14))
    listed = [{**BEHIND_25_A[0], "listed_system": True}]
    bare, covered = (
        codes(solved(client, job(thin, supply=transformer(circuits=circuits))))
        for circuits in (BEHIND_25_A, listed)
    )
    assert "conductor-below-device" in bare
    assert "conductor-below-device" not in covered


def test_without_a_stated_device_one_note_says_what_to_state(client: Client) -> None:
    runs = [run(lamp(5, watts(3), lead=LEAD_18), cable=awg(size)) for size in (14, 10, 12)]
    reply = solved(client, job(*runs))
    (found,) = findings(reply, "device-not-stated")
    assert found["limit"] == quantity(15.0, "A")
    assert [row["largest_device"]["value"] for row in reply["runs"]] == [15.0, 30.0, 20.0]
    assert "limit" not in reply["supply"]["circuits"][0]
    protection = {"conductor-below-device", "short-circuit-below-trip", "circuit-over-current"}
    assert not protection & set(codes(reply))


@pytest.mark.parametrize("path", ["/v1/voltage-drop", "/v1/transformer-loading", "/v1/gauge-recommendation"])
def test_the_note_on_an_unstated_device_speaks_of_nothing_that_the_reply_has_not(
    client: Client, path: str
) -> None:
    reply = answer(client, job(run(lamp(5, watts(3)), cable=awg(14)), supply=transformer()), path)
    (found,) = findings(reply, "device-not-stated")
    assert "row" not in found["message"]


def test_a_class_2_supply_needs_no_device(client: Client) -> None:
    reply = solved(client, job(run(lamp(5, watts(3)), cable=awg(14)), supply=transformer(class_2=True)))
    assert "device-not-stated" not in codes(reply)


def test_a_cable_that_no_table_lists_allows_no_device_that_could_be_told(client: Client) -> None:
    (row,) = solved(client, job(run(lamp(5, watts(3)))))["runs"]
    assert "largest_device" not in row


# Lamps whose label may say something else than what they draw.


def test_a_power_factor_that_is_stated_raises_no_doubt(client: Client) -> None:
    supply = transformer(winding=winding(100, 0))
    stated = lamp(0, watts(90, power_factor=0.95))
    assert "rating-at-usual-power-factor" not in codes(solved(client, job(run(stated), supply=supply)))


def test_the_load_at_a_usual_power_factor_is_that_of_a_job_that_states_it(client: Client) -> None:
    supply = transformer(winding=winding(150, 4))
    lamps = [lamp(2 * index, watts(6)) for index in range(1, 23)]
    stated = [lamp(2 * index, watts(6, power_factor=0.7)) for index in range(1, 23)]
    (found,) = findings(
        solved(client, job(run(*lamps, cable=awg(8)), supply=supply)), "rating-at-usual-power-factor"
    )
    solved_va = solved(client, job(run(*stated, cable=awg(8)), supply=supply))["supply"]["apparent_power"]
    assert found["measured"]["value"] == pytest.approx(solved_va["value"], rel=0.01)


def test_the_loading_at_a_usual_power_factor_stands_beside_the_loading(client: Client) -> None:
    supply = transformer(winding=winding(150, 4))
    lamps = job(run(*(lamp(2 * index, watts(6)) for index in range(1, 23)), cable=awg(8)), supply=supply)
    stated = [lamp(2 * index, watts(6, power_factor=0.7)) for index in range(1, 23)]
    there = solved(client, job(run(*stated, cable=awg(8)), supply=supply))["supply"]
    reply = solved(client, lamps)
    (warned,) = findings(reply, "rating-at-usual-power-factor")
    usual = reply["supply"]["loading_ratio_at_usual_power_factor"]
    assert usual == pytest.approx(there["loading_ratio"], rel=0.01)
    assert usual == pytest.approx(warned["measured"]["value"] / 150.0, abs=1e-5)
    assert "loading_ratio_at_usual_power_factor" not in there
    loading = answer(client, lamps | {"conditions": {"range": "as-stated"}}, "/v1/transformer-loading")
    assert loading["loading"]["loading_ratio_at_usual_power_factor"] == usual
    outlet = {"conditions": {"mains": {"kind": "named", "range": "outlet"}}}
    usually = answer(client, lamps | outlet, "/v1/transformer-loading")
    (worst,) = findings(usually, "rating-at-usual-power-factor")
    at_worst = usually["loading"]["loading_ratio_at_usual_power_factor"]
    assert at_worst == pytest.approx(worst["measured"]["value"] / 150.0, abs=1e-5)
    assert at_worst > usual


@pytest.mark.parametrize("supply", [dc_supply(rating=quantity(60, "W")), battery(11, 12, 14), transformer()])
def test_no_loading_at_a_usual_power_factor_on_direct_current_or_without_a_rating(
    client: Client, supply: Json
) -> None:
    reply = solved(client, job(run(lamp(2, watts(6))), supply=supply))
    assert "loading_ratio_at_usual_power_factor" not in reply["supply"]


def test_the_loading_at_a_usual_power_factor_counts_stated_ones_as_they_are(client: Client) -> None:
    supply = transformer(winding=winding(150, 0))
    lamps = [lamp(0, watts(30)), lamp(0, watts(30, power_factor=0.9))]
    reply = solved(client, job(run(*lamps), supply=supply))["supply"]
    # By hand: 60 W, and non-active power of 30 tan(acos 0.7) + 30 tan(acos 0.9).
    non_active = 30.0 * (0.51**0.5 / 0.7 + 0.19**0.5 / 0.9)
    at_usual = reply["loading_ratio_at_usual_power_factor"]
    assert at_usual == pytest.approx((60.0**2 + non_active**2) ** 0.5 / 150.0, rel=1e-4)
    assert at_usual > reply["loading_ratio"]


def test_the_usual_power_factor_is_the_one_that_the_document_tells(client: Client) -> None:
    supply = client.get("/openapi.json").json()["components"]["schemas"]["SupplyState"]
    words = supply["properties"]["loading_ratio_at_usual_power_factor"]["description"]
    assert f"a power factor of {tables.constant('usual_power_factor').value:g}," in words


def test_a_transformer_that_a_usual_power_factor_overloads_is_recommended_only_where_that_is_accepted(
    client: Client,
) -> None:
    lamps = [lamp(2 * index, watts(6)) for index in range(1, 22)]
    question = job(run(*lamps, cable=awg(8)), supply=transformer(winding=winding(300, 4)))
    cautious = answer(client, question, "/v1/transformer-loading")
    assert cautious["recommended"]["rating"]["value"] == 200.0
    assert not findings(cautious, "rating-at-usual-power-factor")
    question["accept"] = ["rating-at-usual-power-factor"]
    reply = answer(client, question, "/v1/transformer-loading")
    assert reply["recommended"]["rating"]["value"] == 150.0
    (found,) = findings(reply, "rating-at-usual-power-factor")
    share = reply["recommended"]["loading"]["loading_ratio_at_usual_power_factor"]
    assert found["limit"]["value"] == 150.0
    assert found["measured"]["value"] == pytest.approx(150.0 * share, abs=0.01)
    like_stated = question | {"supply": transformer(winding=winding(150, 4))}
    assert len(findings(answer(client, like_stated, "/v1/transformer-loading"), found["code"])) == 1


def test_equal_watts_are_asked_about_once(client: Client) -> None:
    lamps = [lamp(index, watts(power_w)) for index, power_w in enumerate((50, 50, 20, 36, 50))]
    first, second = findings(solved(client, job(run(*lamps))), "watts-like-equivalent")
    assert first["message"].startswith("Fixture at 0 m and 2 more: 50 W is a lot for one LED fixture.")
    assert second["message"].startswith("Fixture at 3 m: 36 W ")


def test_halogen_watts_are_no_equivalent(client: Client) -> None:
    assert "watts-like-equivalent" not in codes(solved(client, job(run(lamp(0, halogen(50))))))


# A battery stands anywhere in its own range.


def test_a_battery_is_judged_over_its_own_range_without_being_asked(client: Client) -> None:
    reply = solved(client, job(run(lamp(30, watts(40))), supply=battery(11, 12.8, 14.4)))
    (low,) = findings(reply, "fixture-below-window")
    assert "battery at its lowest" in low["message"]
    assert low["measured"]["value"] < reply["fixtures"][0]["voltage"]["value"] - 1.0
    assert reply["envelope"]["fixtures"][0]["lowest"]["corner"]["battery"] == "lowest"


# Wet contact.


@pytest.mark.parametrize(("wet", "severities"), [(None, ["note"]), (True, ["fault"]), (False, [])])
def test_wet_contact_is_a_fault_where_it_is_likely(
    client: Client, *, wet: bool | None, severities: list[str]
) -> None:
    conditions: Json = {} if wet is None else {"conditions": {"wet_contact": wet}}
    reply = solved(client, job(run(lamp(1, watts(3))), supply=transformer(15.5), **conditions))
    assert [found["severity"] for found in findings(reply, "wet-contact-voltage")] == severities


# Words that an installer reads.


@pytest.mark.parametrize(
    "supply", [dc_supply(7), dc_supply(16), battery(6, 7, 8)], ids=["low", "high", "battery"]
)
def test_nobody_is_told_to_change_a_tap_that_does_not_exist(client: Client, supply: Json) -> None:
    reply = solved(client, job(run(lamp(1, watts(3))), supply=supply))
    told = [found["message"] for found in reply["findings"] if found["code"].startswith("fixture-")]
    assert told
    assert not any(" tap" in words for words in told)


def test_two_lamps_without_names_are_told_apart_by_their_run(client: Client) -> None:
    alike = lamp(3, watts(3), window=window(13, 15))
    first, second = findings(solved(client, job(run(alike), run(alike))), "fixture-below-window")
    assert first["message"] != second["message"]


def test_a_single_fixture_of_the_even_form_is_called_a_fixture(client: Client) -> None:
    request = job(run(lamp(10, watts(6))))
    request["wiring"] = {
        "form": "even", "count": 1, "load": halogen(20), "cable": awg(18), "length": metres(30),
    }  # fmt: skip
    (row,) = solved(client, request)["fixtures"]
    assert row["name"].startswith("fixture")


def test_sources_read_as_sentences(client: Client) -> None:
    reply = solved(client, job(run(lamp(0, halogen(20)), lamp(30, watts(60))), supply=transformer(10)))
    for row in reply["sources"]:
        assert ", :" not in row["message"]
        assert ",," not in row["message"]


# The usual range.


def test_the_usual_range_is_that_of_an_outlet_and_of_the_weather(client: Client) -> None:
    usual = solved(client, job(run(lamp(10, watts(40))), conditions={"range": "usual"}))
    written: Json = {
        "mains": {"kind": "named", "range": "outlet"},
        "conductor_temperature_range": {"lowest": quantity(-10, "degC"), "highest": quantity(40, "degC")},
    }
    stated = solved(client, job(run(lamp(10, watts(40))), conditions=written))
    assert usual["envelope"] == stated["envelope"]
    assert "usual-range" not in assumed(stated)


def test_mains_from_108_volt_are_a_range_of_their_own_and_move_no_other_answer(client: Client) -> None:
    # Light on a lossless feed follows the mains: 12 V times 110 or 108 over 120.
    lowest = {}
    for name in ("outlet", "outlet-108"):
        conditions: Json = {"mains": {"kind": "named", "range": name}}
        reply = solved(client, job(run(lamp(0, watts(5))), supply=transformer(), conditions=conditions))
        (row,) = reply["envelope"]["fixtures"]
        lowest[name] = row["lowest"]["voltage"]["value"]
    assert lowest == {"outlet": 11.0, "outlet-108": 10.8}


def test_a_range_that_is_stated_is_kept_and_only_the_open_one_is_filled(client: Client) -> None:
    mains: Json = {"mains": {"kind": "named", "range": "en-50160"}, "range": "usual"}
    (row,) = solved(client, job(run(lamp(10, watts(40))), conditions=mains))["envelope"]["fixtures"]
    plain = solved(client, job(run(lamp(10, watts(40)))))
    assert plain.get("envelope") is None
    assert row["lowest"]["corner"] == {"mains": "lowest", "conductor_temperature": "hot"}
    assert row["lowest"]["voltage"]["value"] < 10.5
