"""One job, described in several ways, has one answer."""

import copy
import itertools
from typing import Any

import pytest

from tests.circuit.gardens import ALL, BOX, LEAD, POND, RING, WALK
from tests.client import Client
from tests.contract.rewriting import LENGTHS, rewritten
from tests.jobs import (
    Json,
    amperes,
    awg,
    branch,
    even,
    job,
    lamp,
    metres,
    ohms_per_km,
    quantity,
    resistor,
    run,
    solved,
    transformer,
    voltages,
    volts,
    watts,
    winding,
    window,
)

SAME_V = 0.0001


def in_unit(request: Json, unit: str) -> Any:
    """The same request with every length in another unit."""
    return rewritten(
        request,
        lambda value, old: (value * LENGTHS[old] / LENGTHS[unit], unit) if old in LENGTHS else (value, old),
    )


@pytest.mark.parametrize("unit", LENGTHS)
@pytest.mark.parametrize("name", ["pond", "ring", "cluster", "led two taps"])
def test_lengths_in_any_unit_give_the_same_volts(client: Client, name: str, unit: str) -> None:
    there = solved(client, in_unit(ALL[name], unit))
    assert voltages(there) == pytest.approx(voltages(solved(client, ALL[name])), abs=SAME_V)


def test_the_order_of_runs_does_not_matter(client: Client) -> None:
    runs = [WALK, POND, RING]
    first = [row["lowest_voltage"]["value"] for row in solved(client, job(*runs, supply=BOX))["runs"]]
    for order in itertools.permutations(range(3)):
        again = solved(client, job(*(runs[index] for index in order), supply=BOX))["runs"]
        lowest = [row["lowest_voltage"]["value"] for row in again]
        assert lowest == pytest.approx([first[index] for index in order], abs=SAME_V)


def test_the_order_of_fixtures_and_branches_does_not_matter(client: Client) -> None:
    turned = copy.deepcopy(POND)
    turned["branches"].reverse()
    for stretch in turned["branches"]:
        stretch["fixtures"].reverse()
    there = sorted(voltages(solved(client, job(turned, supply=BOX))))
    assert there == pytest.approx(sorted(voltages(solved(client, job(POND, supply=BOX)))), abs=SAME_V)


def test_the_order_of_cable_changes_does_not_matter(client: Client) -> None:
    changes = [
        {"at": metres(10), "cable": ohms_per_km(9)},
        {"at": metres(20), "cable": ohms_per_km(3)},
        {"at": metres(5), "cable": ohms_per_km(7)},
    ]
    answers = [
        voltages(solved(client, job(run(lamp(30, watts(30)), cable_changes=list(order)))))
        for order in itertools.permutations(changes)
    ]
    assert all(answer == answers[0] for answer in answers)


def test_a_cable_change_is_the_sum_of_its_parts(client: Client) -> None:
    changed = run(lamp(30, amperes(2)), cable_changes=[{"at": metres(10), "cable": ohms_per_km(9)}])
    # 10 m of 5 ohm/km and 20 m of 9 ohm/km, out and back.
    (volts_here,) = voltages(solved(client, job(changed)))
    assert volts_here == pytest.approx(12.0 - 2.0 * 2.0 * (10 * 0.005 + 20 * 0.009), abs=SAME_V)


def test_splitting_a_run_into_run_and_branch_changes_nothing(client: Client) -> None:
    whole = job(run(lamp(10, watts(5)), lamp(25, watts(8))))
    split = job(run(lamp(10, watts(5)), branches=[branch(10, lamp(15, watts(8)))]))
    assert voltages(solved(client, split)) == pytest.approx(voltages(solved(client, whole)), abs=SAME_V)


def test_a_spur_of_a_branch_is_as_far_as_the_route_to_it(client: Client) -> None:
    deep = job(run(branches=[branch(10, spurs=[branch(7, lamp(5, watts(20)))])]))
    assert voltages(solved(client, deep)) == voltages(solved(client, job(run(lamp(22, watts(20))))))


def test_a_count_at_one_point_is_as_many_fixtures(client: Client) -> None:
    lead: Json = {"lead": LEAD, "splice_resistance": quantity(20, "mohm")}
    one_line = solved(client, job(run(lamp(15, watts(9), count=4, **lead))))
    four_lines = solved(client, job(run(*[lamp(15, watts(9), **lead) for _ in range(4)])))
    (together,) = one_line["fixtures"]
    assert together["count"] == 4
    for apart in four_lines["fixtures"]:
        for member in ("voltage", "current", "real_power", "splice_voltage"):
            assert apart[member]["value"] == pytest.approx(together[member]["value"], abs=SAME_V)


def test_a_count_with_spacing_is_as_many_lines(client: Client) -> None:
    one_line = solved(client, job(run(lamp(3, watts(5), count=4, spacing=metres(2)))))
    four_lines = solved(client, job(run(*[lamp(3 + 2 * index, watts(5)) for index in range(4)])))
    assert voltages(one_line) == voltages(four_lines)
    assert [row["number"] for row in one_line["fixtures"]] == [1, 2, 3, 4]


@pytest.mark.parametrize(("first_m", "more"), [(6.0, {}), (2.0, {"first_at": metres(2)})])
def test_the_even_form_is_the_runs_form_written_out(client: Client, first_m: float, more: Json) -> None:
    gap_m = (30.0 - first_m) / 4
    written_out = job(run(*[lamp(first_m + gap_m * index, watts(7)) for index in range(5)]))
    short, long = solved(client, even(5, watts(7), 30, **more)), solved(client, written_out)
    assert voltages(short) == pytest.approx(voltages(long), abs=SAME_V)
    assert short["supply"] == long["supply"]
    assert short["totals"] == long["totals"]


def test_a_single_even_fixture_stands_at_the_end(client: Client) -> None:
    assert voltages(solved(client, even(1, watts(7), 30))) == voltages(
        solved(client, job(run(lamp(30, watts(7)))))
    )


def test_cables_in_parallel_are_a_thinner_resistance(client: Client) -> None:
    three = job(run(lamp(30, watts(30)), cable=ohms_per_km(6.0, cables_in_parallel=3)))
    assert voltages(solved(client, three)) == voltages(
        solved(client, job(run(lamp(30, watts(30)), cable=ohms_per_km(2.0))))
    )


def test_an_unequal_pair_is_the_mean_of_its_conductors(client: Client) -> None:
    other = {"kind": "measured", "resistance": quantity(9, "ohm/km"), "at_temperature": quantity(20, "degC")}
    pair = job(run(lamp(30, watts(30)), cable=ohms_per_km(3.0, other_conductor=other)))
    assert voltages(solved(client, pair)) == voltages(
        solved(client, job(run(lamp(30, watts(30)), cable=ohms_per_km(6.0))))
    )


def test_a_reading_taken_warm_is_brought_back_to_20_degrees(client: Client) -> None:
    # IEC 60287-1-1: 0.00393 per kelvin at 20 °C; 104 °F are 40 °C.
    warm = ohms_per_km(5.0 * (1 + 0.00393 * 20)) | {"at_temperature": quantity(104, "degF")}
    assert voltages(solved(client, job(run(lamp(30, watts(30)), cable=warm)))) == pytest.approx(
        voltages(solved(client, job(run(lamp(30, watts(30)))))), abs=SAME_V
    )


def test_scaling_volts_and_watts_scales_every_voltage(client: Client) -> None:
    # (E, R, P) -> (2E, R, 4P): the circuit equations of constant power are homogeneous.
    far = window(1, 30)
    small = job(run(lamp(20, watts(6), window=far), lamp(35, watts(9), window=far)))
    large = job(run(lamp(20, watts(24), window=far), lamp(35, watts(36), window=far)), supply=transformer(24))
    doubled = [2.0 * value for value in voltages(solved(client, small))]
    assert voltages(solved(client, large)) == pytest.approx(doubled, abs=2 * SAME_V)


def test_a_tap_alone_is_a_transformer_of_its_voltage(client: Client) -> None:
    # 13 V of a 12 V, 150 VA, 4 % box: the winding's resistance goes with the square of the voltage.
    on_tap = job(run(lamp(20, watts(40)), tap=volts(13)), supply=transformer(winding=winding(150, 4)))
    alone = job(run(lamp(20, watts(40))), supply=transformer(13, winding=winding(150, 4)))
    assert voltages(solved(client, on_tap)) == pytest.approx(voltages(solved(client, alone)), abs=SAME_V)


@pytest.mark.parametrize("tap_v", [11.0, 12.0, 15.0])
def test_at_rated_current_and_rated_mains_the_terminal_has_the_rated_voltage(
    client: Client, tap_v: float
) -> None:
    load = amperes(150.0 / tap_v)
    supply = transformer(winding=winding(150, 4), taps=[volts(11), volts(12), volts(15)])
    reply = solved(client, job(run(lamp(0, load), tap=volts(tap_v)), supply=supply))
    used = next(tap for tap in reply["supply"]["taps"] if tap["rated"]["value"] == tap_v)
    assert used["terminal"]["value"] == tap_v
    assert reply["supply"]["loading_ratio"] == 1.0


def test_a_load_on_one_tap_lowers_the_others(client: Client) -> None:
    supply = transformer(winding=winding(300, 5))
    busy = run(lamp(5, resistor(200), window=window(1, 30)), tap=volts(14))
    alone = solved(client, job(run(lamp(10, watts(5))), supply=supply))
    beside = solved(client, job(run(lamp(10, watts(5))), busy, supply=supply))
    assert voltages(beside)[0] < voltages(alone)[0] - 0.2


def test_two_cables_to_one_place_in_different_gauges_share_by_conductance(client: Client) -> None:
    ring = job(
        run(lamp(20, amperes(6)), cable=ohms_per_km(4), return_leg={"length": metres(20), "cable": awg(12)})
    )
    spans = solved(client, ring)["spans"]
    shares = [abs(span["current"]["value"]) * span["resistance"]["value"] for span in spans]
    assert shares[0] == pytest.approx(shares[1], abs=SAME_V)
    assert sum(abs(span["current"]["value"]) for span in spans) == pytest.approx(6.0, abs=1e-4)
