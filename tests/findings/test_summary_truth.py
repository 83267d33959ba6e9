"""What the first sentences of a reply say is so: lamps are counted, limits named for what they are."""

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import (
    Json,
    amperes,
    answer,
    awg,
    feet,
    job,
    lamp,
    quantity,
    run,
    transformer,
    volts,
    watts,
    winding,
    window,
)

GAUGE, REACH, LOADING = "/v1/gauge-recommendation", "/v1/reach", "/v1/transformer-loading"
AS_STATED = {"range": "as-stated"}


def said(client: Client, request: Json, path: str = "/v1/voltage-drop") -> str:
    text: str = answer(client, request, path)["summary"]["text"]
    return text


def test_lamps_at_one_point_are_counted_one_by_one(client: Client) -> None:
    clusters = [lamp(at_m, amperes(0.5), count=5) for at_m in (60, 70)]
    assert " 10 lamps get less than " in said(client, job(run(*clusters, cable=awg(14))))


def test_runs_alike_have_lamps_and_not_the_lamp(client: Client) -> None:
    runs = [run(lamp(30, amperes(2)), cable=awg(14)) for _ in range(2)]
    assert "The lamps all get " in said(client, job(*runs))


def test_of_lamps_with_unlike_windows_the_worst_is_no_lowest(client: Client) -> None:
    first = lamp(30, amperes(2.5), window=window(10.9, 15), name="A")
    second = lamp(20, amperes(2.5), window=window(11.8, 15), name="B")
    request = job(run(first, second, cable=awg(12)))
    assert answer(client, request)["summary"]["weakest"]["name"] == "A"
    assert "2 lamps get less than they need; the worst is B with " in said(client, request)


def test_a_graver_group_is_not_counted_twice(client: Client) -> None:
    line = lamp(3, watts(4), count=24, spacing=jobs.metres(2))
    reply = answer(client, job(run(line, cable=awg(14)), supply=transformer(winding=winding(300, 4))))
    groups = [each for each in reply["summary"]["findings"] if each["code"] == "fixture-below-window"]
    assert [each["severity"] for each in groups] == ["fault", "warning"]
    fault, warning = groups
    assert fault["message"].startswith(f"{fault['count']} lamps get less than 8 V")
    assert warning["message"].startswith(f"{warning['count']} more lamps get less than 10 V")


def test_no_cable_helps_where_the_supply_itself_gives_no_more(client: Client) -> None:
    row = lamp(5, watts(3), count=6, spacing=jobs.metres(5))
    text = said(client, job(run(row), supply=jobs.battery(10, 12.8, 14.4)))
    assert "The supply itself gives 10.00 V then, so no cable helps" in text
    assert "thicker" not in text


def test_a_run_is_moved_to_another_circuit_only_where_there_is_one(client: Client) -> None:
    circuits = [{"name": name, "limit": quantity(5, "A")} for name in ("a", "b")]

    def advice(number: int, runs: int) -> str:
        supply = transformer(winding=winding(300, 4), circuits=circuits[:number])
        row = run(lamp(2, amperes(6 / runs)), cable=awg(10), circuit="a")
        return said(client, job(*[row] * runs, supply=supply))

    assert "Move a run to another circuit." in advice(2, 2)
    assert 'Move part of its run to circuit "b", which has 4 A to spare.' in advice(2, 1)
    assert "Use fewer watts on it, or a supply with more circuits." in advice(1, 1)


def box(limit_a: float, **more: object) -> Json:
    return transformer(
        winding=winding(300, 4), circuits=[{"name": "c", "limit": quantity(limit_a, "A"), **more}]
    )


def stock(*sizes: int) -> list[Json]:
    return [{"id": f"{size}", "conductor": f"{size} AWG"} for size in sizes]


def test_a_short_is_not_told_as_what_a_run_carries(client: Client) -> None:
    far = lamp(60, watts(10), name="far")
    request = job(run(far, cable=awg(12)), supply=box(25, listed_system=True), conditions=AS_STATED)
    text = said(client, {**request, "stock": stock(18, 14)}, GAUGE)
    assert "A bolted short at the far end does not reach the rating of the device (" in text
    near = job(run(lamp(31, watts(10)), cable=awg(12)), supply=box(20, listed_system=True))
    text = said(client, {**near, "stock": stock(14)}, GAUGE)
    assert "breaks a limit at lowest mains, hot cable: a bolted short" in text


def test_a_device_that_alone_rules_thinner_cable_out_is_named(client: Client) -> None:
    row = lamp(6, watts(5), count=3, spacing=jobs.metres(3))
    request = job(run(row, cable=awg(12)), supply=box(25))
    text = said(client, {**request, "stock": stock(16, 10)}, GAUGE)
    assert text.endswith(
        "Cable: 10 AWG. 16 AWG would do with a device of 10 A or less; the circuit has 25 A."
    )


def test_a_short_that_alone_rules_thinner_cable_out_is_named(client: Client) -> None:
    # 19 m of 16 AWG, there and back, let about 20 A through: too little for a device of 25 A.
    row = lamp(5, watts(3), count=5, spacing=jobs.metres(3.5))
    request = job(run(row, cable=awg(12), name="east"), supply=box(25, listed_system=True))
    text = said(client, {**request, "stock": stock(16, 14)}, GAUGE)
    (short,) = jobs.findings(
        answer(
            client,
            job(
                run(row, cable=awg(16), name="east"),
                supply=box(25, listed_system=True),
                conditions={"range": "usual"},
            ),
        ),
        "short-circuit-below-trip",
    )
    assert text.endswith(
        f"Cable: 14 AWG. Not 16 AWG: a dead short at the far end of east would draw only"
        f" {short['measured']['value']:.2f} A, so the 25 A device may not trip."
    )


def test_an_ampacity_that_alone_rules_thinner_cable_out_is_named(client: Client) -> None:
    request = job(run(lamp(1, watts(150)), cable=awg(8), name="east"))
    text = said(client, {**request, "stock": stock(16, 12)}, GAUGE)
    assert ". Cable: 12 AWG. Not 16 AWG: on east it would carry 1" in text
    assert text.endswith(" A, over its ampacity, 10 A.")


def test_volts_that_rule_thinner_cable_out_are_told(client: Client) -> None:
    request = job(run(lamp(30, watts(30), name="far"), cable=awg(8)), nominal_v=12)
    text = said(client, {**request, "stock": stock(16, 10)}, GAUGE)
    assert ". Cable: 10 AWG. Not 16 AWG: far would get " in text
    assert text.endswith(" V (lowest mains, hot cable), below 10 V.")


def test_a_supply_that_is_too_high_says_what_it_gives_without_load(client: Client) -> None:
    # 15 V and 5 % regulation: 15.75 V unloaded, at 126 V of 120 V mains 16.54 V.
    question = {**jobs.largest_load(feet(200), {"kind": "evenly-spread"}), "power_factor": 0.9}
    request = {
        "question": question,
        "supply": transformer(15, winding=winding(300, 5)),
        "nominal_voltage": volts(12),
        "cable": awg(10),
        "limits": {"window": window(10, 15)},
    }
    text = said(client, request, REACH)
    assert text == (
        "Does not pass. No load from 0.1 to 9999 W keeps every limit. The supply gives up to 16.54 V without"
        " load (highest mains), 15.75 V as stated; the limit is 15 V. Use a supply of lower voltage."
    )


def test_that_remedies_pass_as_stated_alone_is_told_once(client: Client) -> None:
    flood = lamp(76, jobs.halogen(50), count=3, spacing=jobs.metres(1))
    supply = transformer(winding=winding(150, 4))
    request = job(run(flood, cable=awg(12), name="barn"), supply=supply, nominal_v=12)
    text = said(client, {**request, "stock": stock(12, 10)}, GAUGE)
    assert text.count("as stated") == 1
    assert " What would help as stated, but not over the usual range: Use 4 AWG in barn" in text
    assert " Or: Use a 24 V supply" in text


def test_the_tap_that_a_run_is_to_change_to_is_told(client: Client) -> None:
    supply = transformer(taps=[volts(tap_v) for tap_v in (12, 13, 14, 15)], winding=winding(300, 4))
    row = {"at": feet(140), "load": watts(7), "count": 5, "spacing": feet(10)}
    request = job(run(row, cable=awg(12), name="gate"), supply=supply)
    reply = answer(client, {**request, "stock": stock(14), "taps": "choose"}, GAUGE)
    (tap,) = reply["taps"]
    assert reply["summary"]["text"].endswith(f" Put gate on the {tap['tap']['value']:g} V tap.")


def test_what_rules_every_number_out_comes_before_what_rules_out_many(client: Client) -> None:
    question = jobs.most_fixtures(watts(2.2), 2)
    limits = {"window": window(10.5, 13), "maximum_drop_percent": 5}
    request = {
        "question": question,
        "supply": jobs.battery(11.4, 12.4, 14.2),
        "cable": awg(12),
        "limits": limits,
    }
    reply = answer(client, request, REACH)
    assert reply["status"] == "out-of-reach"
    assert reply["binding"][0]["code"] == "fixture-above-window"
    assert "up to 14.20 V without load (battery at its highest)" in reply["summary"]["text"]


def test_what_ends_a_reach_below_is_told_as_well(client: Client) -> None:
    request = {
        "question": jobs.longest_run(watts(25)),
        "supply": transformer(15.0, winding=winding(150, 4)),
        "cable": awg(12),
        "limits": {"window": window(10, 15)},
    }
    text = said(client, request, REACH)
    assert text.startswith("From ")
    assert " Below it: The far end at " in text


def test_a_transformer_that_will_do_is_not_told_to_be_exchanged(client: Client) -> None:
    line = lamp(2, jobs.volt_amperes(5, 6), count=10, spacing=jobs.metres(2))
    text = said(client, job(run(line, cable=awg(12)), supply=transformer(winding=winding(150, 4))), LOADING)
    assert "The 150 VA that is stated will do." in text
    assert "Recommended" not in text


def test_a_commissioning_sheet_that_does_not_pass_says_why(client: Client) -> None:
    weak = lamp(60, watts(9), name="a", window=window(11, 13))
    request = job(run(weak, cable=awg(18)), supply=transformer(winding=winding(8, 4)))
    text = said(client, request, "/v1/commissioning-sheet")
    assert text.startswith("Does not pass. Expected outside their voltage range: a. ")


@pytest.mark.parametrize("name", ["iris bed", "ß-Weg", "mR16"])
def test_a_name_stands_at_the_start_of_a_sentence_as_it_came(client: Client, name: str) -> None:
    reply = answer(client, job(run(lamp(90, watts(60)), name=name)))
    (found,) = jobs.findings(reply, "no-operating-point")
    assert found["message"].startswith(f"{name} has too much load")


def test_a_strip_has_most_volts_where_it_is_fed_and_fewest_at_its_end(client: Client) -> None:
    # 14 W/m of 24 V are 2.9 A; they lose half of 5 m of 0.05 ohm/m along the strip, 0.36 V.
    strip = {
        "kind": "strip",
        "length": jobs.metres(5),
        "power_per_length": quantity(14, "W/m"),
        "resistance_per_length": quantity(0.05, "ohm/m"),
    }
    wired = job(run(lamp(10, strip), cable=awg(12)), supply=jobs.dc_supply(24), nominal_v=24)
    summary = answer(client, wired)["summary"]
    lost_v = summary["highest"]["voltage"]["value"] - summary["weakest"]["voltage"]["value"]
    assert lost_v == pytest.approx(14 * 5 / 24 * 5 * 0.05 / 2, rel=0.05)


def test_the_run_of_an_even_wiring_is_told_as_a_run_and_not_as_a_lamp(client: Client) -> None:
    wiring = {
        "form": "even",
        "count": 3,
        "length": jobs.metres(3000),
        "cable": awg(12),
        "load": watts(5),
    }
    text = said(client, {"supply": transformer(winding=winding(60, 8)), "wiring": wiring})
    assert text.startswith("Does not pass. The run has too much load for its cable")


def test_a_low_lamp_is_told_with_the_study_that_names_the_cable(client: Client) -> None:
    request = job(run(lamp(30, amperes(4)), cable=awg(14)))
    assert said(client, request).endswith(
        "split run. `gauge-recommendation` names the cable that would do, or says what else would."
    )
    assert answer(client, request, GAUGE)["status"] == "recommended"


def test_several_sizes_are_told_with_the_run_that_each_is_for(client: Client) -> None:
    near, far = run(lamp(5, watts(5)), name="gate"), run(lamp(60, watts(30)), name="pond")
    request = job(near, far, supply=transformer(winding=winding(150, 4)), scope="per-run")
    chosen = {each["pointer"]: each["conductor"] for each in answer(client, request, GAUGE)["chosen"]}
    gate, pond = (chosen[f"/wiring/runs/{index}/cable"] for index in (0, 1))
    assert gate != pond
    assert f" Cable: {gate} for gate and {pond} for pond." in said(client, request, GAUGE)


def test_a_reach_that_names_no_length_is_told_in_the_unit_that_its_cable_goes_with(client: Client) -> None:
    for cable, unit in ((awg(14), "ft"), (jobs.ohms_per_km(5.0), "m")):
        question = jobs.question(jobs.longest_run(watts(20)), cable=cable)
        assert f" {unit}. Beyond that: " in said(client, question, REACH)
