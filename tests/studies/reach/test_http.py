"""How far, how much, how many: against closed forms and published tables, and back through voltage drop."""

from typing import Any

import pytest

from tests import jobs
from tests.client import Client
from tests.jobs import Json

OHM_PER_M = 2 * 0.005
"""Of the pair in these questions, out and back."""

ARGUED = 1.001
"""Answers have four digits and are cut, never rounded up: at most 0.1 % short."""

COPPER = 0.01724
"""Resistivity of annealed copper at 20 °C, IEC 60028. [ohm·mm²/m]"""


def per_mm2(section_mm2: float) -> Json:
    return jobs.ohms_per_km(1000 * COPPER / section_mm2)


def is_cut(shown: float, exact: float) -> bool:
    """Whether an answer is an exact value cut to its four digits, apart from the last bit of a float."""
    return shown * (1 - 1e-12) <= exact < shown * ARGUED


def length_m(reply: Json) -> float:
    found: float = reply["answer"]["length"]["value"]
    return found


# One lamp of constant power: V = [E + sqrt(E² - 4RP)] / 2, so V is reached at R = V (E - V) / P. Algebra.


@pytest.mark.parametrize("power_w", [5.0, 20.0, 60.0, 150.0])
@pytest.mark.parametrize("minimum_v", [9.0, 10.8, 11.5])
def test_the_longest_run_for_one_lamp_is_that_of_the_closed_form(
    client: Client, power_w: float, minimum_v: float
) -> None:
    exact_m = minimum_v * (12.0 - minimum_v) / power_w / OHM_PER_M
    reply = jobs.reached(
        client, jobs.question(jobs.longest_run(jobs.watts(power_w)), limits=jobs.within(minimum_v))
    )
    assert is_cut(length_m(reply), exact_m)
    assert jobs.binding(reply) == ["fixture-below-window"]
    ohm = OHM_PER_M * length_m(reply)
    assert jobs.end_v(reply["answer"]) == pytest.approx((12 + (144 - 4 * ohm * power_w) ** 0.5) / 2, abs=1e-4)
    assert jobs.end_v(reply["beyond"]) < minimum_v <= jobs.end_v(reply["answer"])


@pytest.mark.parametrize("length", [3.0, 12.5, 100.0])
def test_the_largest_load_for_one_lamp_is_that_of_the_closed_form(client: Client, length: float) -> None:
    exact_w = 10.8 * 1.2 / (OHM_PER_M * length)
    reply = jobs.reached(
        client, jobs.question(jobs.largest_load(jobs.metres(length)), limits=jobs.within(10.8))
    )
    found_w = reply["answer"]["power"]["value"]
    assert is_cut(found_w, exact_w)


def test_the_collapse_binds_at_the_maximum_power_transfer(client: Client) -> None:
    # P = E²/(4R), the maximum power transfer theorem; the window is made so wide that nothing else binds.
    exact_m = 144.0 / (4 * 50.0) / OHM_PER_M
    asks = jobs.question(jobs.longest_run(jobs.watts(50)), limits={"window": jobs.ANY_WINDOW})
    reply = jobs.reached(client, asks | {"accept": ["near-collapse"]})
    assert is_cut(length_m(reply), exact_m)
    assert jobs.binding(reply) == ["no-operating-point"]
    assert reply["beyond"]["end"] == {"outcome": "collapsed"}
    # A warning binds as a fault does: near the collapse is where 1.25 times the load cannot be carried.
    near = jobs.reached(client, asks)
    assert is_cut(length_m(near), exact_m / 1.25)
    assert jobs.binding(near) == ["near-collapse"]


# Loads of constant current: the drop of a uniform load is half that of the lumped one, so it reaches twice as
# far (lever arms 1 and 1/2: Gonen, Electric Power Distribution System Engineering, examples 4.2 to 4.5).


def test_an_even_spread_of_constant_current_reaches_twice_as_far_as_a_lump(client: Client) -> None:
    limits = {"maximum_drop_percent": 5, "window": jobs.ANY_WINDOW}
    lumped = jobs.reached(client, jobs.question(jobs.longest_run(jobs.amperes(3)), limits=limits))
    spread = jobs.reached(
        client, jobs.question(jobs.longest_run(jobs.amperes(3), jobs.EVENLY_SPREAD), limits=limits)
    )
    assert length_m(lumped) == pytest.approx(0.6 / 3 / OHM_PER_M, rel=1e-3)
    assert length_m(spread) == pytest.approx(2 * length_m(lumped), rel=1e-3)


def test_fixtures_reach_as_far_as_the_sum_of_their_currents_says(client: Client) -> None:
    # The drop at the last of n equal currents i, one every s: i r s n (n + 1) / 2. Mehta, Principles of Power
    # System, chapter 13, concentrated loads; here 0.2 A every 2 m, 1.2 V in all.
    reply = jobs.reached(
        client,
        jobs.question(
            jobs.most_fixtures(jobs.amperes(0.2), 2),
            limits={"maximum_drop_percent": 10, "window": jobs.ANY_WINDOW},
        ),
    )
    count = max(n for n in range(1, 100) if 0.2 * OHM_PER_M * 2 * n * (n + 1) / 2 <= 1.2)
    assert reply["answer"]["count"] == count
    assert reply["answer"]["length"] == jobs.metres(2.0 * count)
    assert reply["beyond"]["count"] == count + 1


# Published tables and rules.


def test_one_pair_powers_a_camera_at_40_m(client: Client) -> None:
    # A public question about cameras on twisted pair: 12 V, 150 mA, 10 %, 0.2 ohm/m of loop:
    # 1.2 / (0.15 × 0.2) = 40 m, and four pairs in parallel reach four times as far.
    pair = jobs.ohms_per_km(100.0)
    limits = {"maximum_drop_percent": 10}
    reply = jobs.reached(
        client, jobs.question(jobs.longest_run(jobs.amperes(0.15)), cable=pair, limits=limits)
    )
    assert length_m(reply) == 40.0
    assert jobs.binding(reply) == ["drop-over-limit"]
    four = jobs.reached(
        client,
        jobs.question(
            jobs.longest_run(jobs.amperes(0.15)), cable=pair | {"cables_in_parallel": 4}, limits=limits
        ),
    )
    assert length_m(four) == 160.0


@pytest.mark.parametrize(
    ("ohm_per_kft", "printed", "load_w"),
    [(1.588, 3700, 74), (0.9989, 5800, 50)],
    ids=["12 AWG", "10 AWG"],
)
def test_a_one_volt_budget_reaches_as_far_as_the_constants_of_a_tip_sheet(
    client: Client, ohm_per_kft: float, printed: float, load_w: float
) -> None:
    # A nursery's public tip sheet prints watts × feet for 1 V at 12 V; derived: 12/(2 × 0.001588) = 3778 for
    # a solid 12 AWG conductor at 20 °C (ASTM B258). Its constants are rounded down by 2 and 3 %.
    cable = {
        "kind": "measured",
        "resistance": jobs.quantity(ohm_per_kft, "ohm/kft"),
        "at_temperature": jobs.quantity(20, "degC"),
    }
    budget = {"maximum_drop_percent": 100 / 12, "window": jobs.ANY_WINDOW}
    reply = jobs.reached(
        client,
        jobs.question(jobs.longest_run(jobs.amperes(load_w / 12)), cable=cable, limits=budget, units="us"),
    )
    derived_ft = 12 / (2 * ohm_per_kft / 1000) / load_w
    assert is_cut(length_m(reply), derived_ft)
    assert printed / load_w <= length_m(reply) <= 1.04 * printed / load_w


SECTIONS_MM2 = (1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0)


@pytest.mark.parametrize(
    ("load_va", "length", "printed_mm2"),
    [
        (120, 2.5, 2.5),
        (120, 5.0, 4.0),
        (120, 7.5, 6.0),
        (120, 10.0, 10.0),
        (120, 15.0, 16.0),
        (20, 15.0, 2.5),
        (300, 15.0, 35.0),
    ],
)
def test_a_german_table_gives_the_smallest_section_that_reaches(
    client: Client, load_va: float, length: float, printed_mm2: float
) -> None:
    # A public German table for 12 V halogen lamps, VA by metres to mm². Recomputed with 2 × 0.01724 L I / A
    # its cells lose 0.32 to 0.43 V: the 3 % rule with standard sections taken down to 3.6 %.
    smaller_mm2 = SECTIONS_MM2[SECTIONS_MM2.index(printed_mm2) - 1]
    limits = {"maximum_drop_percent": 3.6, "window": jobs.ANY_WINDOW}
    found_m = [
        length_m(
            jobs.reached(
                client,
                jobs.question(
                    jobs.longest_run(jobs.amperes(load_va / 12)), cable=per_mm2(mm2), limits=limits
                ),
            )
        )
        for mm2 in (smaller_mm2, printed_mm2)
    ]
    assert found_m[0] < length <= found_m[1]


def test_a_distance_chart_is_one_of_resistors_and_too_long_for_drivers(client: Client) -> None:
    # A public vendor's chart: 150 W to 43 ft on 12 AWG down to 10.5 V. It holds for a constant resistance:
    # V = 12 Rl/(Rl + Rw). The same watts of a driver reach less far.
    cable = {
        "kind": "measured",
        "resistance": jobs.quantity(1.588, "ohm/kft"),
        "at_temperature": jobs.quantity(20, "degC"),
    }
    limits = jobs.within(10.5)
    charted = jobs.reached(
        client, jobs.question(jobs.longest_run(jobs.resistor(150)), cable=cable, limits=limits, units="us")
    )
    driven = jobs.reached(
        client, jobs.question(jobs.longest_run(jobs.watts(150)), cable=cable, limits=limits, units="us")
    )
    assert length_m(charted) == pytest.approx(43, rel=0.02)
    assert length_m(driven) == pytest.approx(10.5 * 1.5 / 150 / (2 * 0.001588), rel=1e-3)
    assert length_m(driven) < 0.8 * length_m(charted)


def test_heat_binds_a_short_run_and_drop_a_long_one(client: Client) -> None:
    # Public lists of watts per gauge are thermal ceilings; at them 1 V is spent within 8 to 13 ft.
    supply = jobs.transformer()
    limits = {"maximum_drop_percent": 100 / 12}
    short, long = (
        jobs.reached(
            client,
            jobs.question(jobs.largest_load(jobs.feet(ft)), supply=supply, cable=jobs.awg(12), limits=limits),
        )
        for ft in (3, 60)
    )
    assert jobs.binding(short) == ["span-over-ampacity"]
    assert jobs.binding(long) == ["drop-over-limit"]
    assert long["answer"]["power"]["value"] < short["answer"]["power"]["value"]


# Which limit binds.

WIDE = {"window": jobs.ANY_WINDOW}
PLATE = jobs.winding(60, 5)


@pytest.mark.parametrize(
    ("code", "supply"),
    [
        ("circuit-near-limit", {"circuits": [{"name": "a", "limit": jobs.quantity(5, "A")}]}),
        ("transformer-over-rating", {"winding": PLATE}),
        ("class-2-exceeded", {"class_2": True}),
    ],
)
def test_the_limit_that_binds_is_named(client: Client, code: str, supply: Json) -> None:
    asks = jobs.question(
        jobs.largest_load(jobs.metres(1), power_factor=0.9), supply=jobs.transformer(**supply), limits=WIDE
    )
    assert jobs.binding(jobs.reached(client, asks)) == [code]


def test_the_makers_longest_cable_binds(client: Client) -> None:
    # An electronic supply that allows 2 m of secondary cable, as public German advice for such supplies says.
    supply = jobs.transformer(maximum_cable_length=jobs.metres(2))
    reply = jobs.reached(client, jobs.question(jobs.longest_run(jobs.watts(20)), supply=supply))
    assert length_m(reply) == 2.0
    assert jobs.binding(reply) == ["cable-too-long-for-supply"]


def test_where_nothing_is_possible_the_reply_says_why(client: Client) -> None:
    reply = jobs.asked(client, jobs.question(jobs.longest_run(jobs.watts(20)), limits=jobs.within(12.5)))
    assert reply["status"] == "out-of-reach"
    assert jobs.binding(reply) == ["fixture-below-window"]
    assert "wiring" not in reply
    assert "answer" not in reply


def test_watts_of_all_fixtures_together_are_no_equivalent_of_one(client: Client) -> None:
    reply = jobs.reached(client, jobs.question(jobs.longest_run(jobs.watts(60))))
    assert "watts-like-equivalent" not in jobs.codes(reply)


def test_where_no_limit_binds_the_reply_says_so(client: Client) -> None:
    reply = jobs.asked(client, jobs.question(jobs.longest_run(jobs.watts(0))))
    assert reply["status"] == "no-limit-in-range"
    assert length_m(reply) == 9999.0
    assert "beyond" not in reply


def test_a_resistor_too_hungry_at_the_supply_may_stand_from_some_length_on(client: Client) -> None:
    # I = E / (Rl + r l) is 80 % of 5 A where r l = 12/4 - 1.44 ohm: Ohm's law, and the 80 % of the trade.
    supply = jobs.transformer(circuits=[{"name": "a", "limit": jobs.quantity(5, "A")}])
    reply = jobs.reached(
        client, jobs.question(jobs.longest_run(jobs.resistor(100)), supply=supply, limits=WIDE)
    )
    exact_m = (12 / 4 - 1.44) / OHM_PER_M
    assert reply["below"]["length"]["value"] < exact_m <= reply["from"]["length"]["value"]
    assert reply["from"]["length"]["value"] == pytest.approx(exact_m, rel=1e-3)
    assert [found["code"] for found in reply["binding_below"]] == ["circuit-near-limit"]


# The answer and its corners.

BOX = jobs.transformer(winding=jobs.winding(300, 5))
CORNERS: Json = {
    "mains": {"kind": "named", "range": "outlet"},
    "conductor_temperature_range": {
        "lowest": jobs.quantity(-10, "degC"),
        "highest": jobs.quantity(60, "degC"),
    },
}
QUESTIONS: dict[str, Json] = {
    "lumped": jobs.longest_run(jobs.watts(40, power_factor=0.8)),
    "spread": jobs.longest_run(jobs.watts(40, power_factor=0.8), jobs.EVENLY_SPREAD),
    "spaced": jobs.longest_run(jobs.watts(40, power_factor=0.8), jobs.spacing(3)),
    "halogen": jobs.longest_run(jobs.halogen(50), jobs.EVENLY_SPREAD),
    "load": jobs.largest_load(jobs.metres(20), power_factor=0.7),
    "spread load": jobs.largest_load(jobs.metres(20), jobs.EVENLY_SPREAD),
    "spaced load": jobs.largest_load(jobs.metres(20), jobs.spacing(3, first_at=jobs.metres(4))),
    "fixtures": jobs.most_fixtures(jobs.watts(4), 2.5, first_at=jobs.metres(6)),
}


@pytest.mark.parametrize("name", QUESTIONS)
def test_the_wiring_of_the_answer_is_answered_alike_when_it_is_posted(client: Client, name: str) -> None:
    asks = jobs.question(QUESTIONS[name], supply=BOX, limits=jobs.within(10.6, maximum_drop_percent=12))
    reply = jobs.reached(client, asks)
    posted = {"supply": BOX, "wiring": reply["wiring"], "limits": {"maximum_drop_percent": 12}}
    answer = jobs.solved(client, posted)
    assert answer["runs"][0]["end_voltage"] == reply["answer"]["end"]["end_voltage"]
    assert answer["totals"]["cable_loss"] == reply["answer"]["end"]["cable_loss"]
    # What is posted has all of the load in one fixture, which is a lot for one.
    codes = [row["code"] for row in answer["findings"] if row["code"] != "watts-like-equivalent"]
    assert codes == jobs.codes(reply)
    assert all(row["verdict"] == "inside" for row in answer["fixtures"])


@pytest.mark.parametrize("name", QUESTIONS)
def test_corners_never_let_a_run_reach_farther(client: Client, name: str) -> None:
    asks = jobs.question(QUESTIONS[name], supply=BOX, limits=jobs.within(9.5))
    plain, cornered = jobs.reached(client, asks), jobs.reached(client, asks | {"conditions": CORNERS})
    for member in ("length", "power"):
        if member in plain["answer"]:
            assert cornered["answer"][member]["value"] <= plain["answer"][member]["value"]
    assert cornered["answer"]["lowest"]["voltage"]["value"] >= 9.5
    assert cornered["binding"][0]["code"] == "fixture-below-window"
    assert cornered["beyond"]["lowest"]["voltage"]["value"] < 9.5


def test_the_answer_is_the_same_in_feet_as_in_metres_to_a_step(client: Client) -> None:
    asks = jobs.question(jobs.longest_run(jobs.watts(25)), limits=jobs.within(11))
    in_m, in_ft = (length_m(jobs.reached(client, asks | {"units": units})) for units in ("metric", "us"))
    assert in_ft * 0.3048 == pytest.approx(in_m, rel=1e-3)


def test_the_error_of_lumps_is_stated_for_a_spread_alone(client: Client) -> None:
    spread = jobs.reached(
        client, jobs.question(jobs.longest_run(jobs.watts(25), jobs.EVENLY_SPREAD), limits=jobs.within(10))
    )
    lumped = jobs.reached(
        client, jobs.question(jobs.longest_run(jobs.watts(25), jobs.LUMPED), limits=jobs.within(10))
    )
    assert spread["answer"]["end"]["error_bound"]["value"] < 1e-3
    assert "error_bound" not in lumped["answer"]["end"]
    assert "spread-as-lumps" in [row["code"] for row in spread["assumptions"]]


@pytest.mark.parametrize("metre", [1, 1e-6, 2.2250738585072014e-308, 5e-324])
def test_more_fixtures_than_are_tried_are_refused_where_they_are_asked_for(
    client: Client, metre: float
) -> None:
    reply = client.post(
        "/v1/reach", json=jobs.question(jobs.largest_load(jobs.metres(600), jobs.spacing(metre)))
    )
    assert reply.status_code == 422
    (error,) = reply.json()["errors"]
    assert (error["code"], error["pointer"]) == ("too-many", "/question/layout/spacing")


@pytest.mark.parametrize(
    "asks",
    [
        jobs.most_fixtures(jobs.watts(3), 0),
        jobs.longest_run(jobs.watts(3), jobs.spacing(0)),
        jobs.largest_load(jobs.metres(0), jobs.spacing(0)),
        jobs.largest_load(jobs.metres(0), jobs.EVENLY_SPREAD),
        jobs.largest_load(jobs.metres(5), jobs.spacing(3, first_at=jobs.metres(9))),
        jobs.longest_run(jobs.watts(0), jobs.EVENLY_SPREAD),
    ],
)
def test_questions_at_the_edge_are_answered(client: Client, asks: Json) -> None:
    reply = jobs.asked(client, jobs.question(asks))
    assert reply["status"] in {"reached", "out-of-reach", "no-limit-in-range"}


def test_a_batch_answers_it_as_if_asked_alone(client: Client) -> None:
    asks: Any = jobs.question(jobs.longest_run(jobs.watts(25)), limits=jobs.within(11), id="hedge")
    alone = jobs.asked(client, asks)
    items = [{"study": "reach", "request": asks}]
    (item,) = client.post("/v1/batch", json={"items": items}).json()["items"]
    assert item["outcome"] == "answered"
    assert item["answer"]["answer"] == alone["answer"]
    assert item["answer"]["id"] == "hedge"


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_wiring_of_absurd_lengths_can_be_posted_all_the_same(client: Client, units: str) -> None:
    asks = jobs.most_fixtures(jobs.watts(0), 0) | {
        "spacing": jobs.quantity(100, "km"),
        "first_at": jobs.metres(5),
    }
    reply = jobs.asked(client, jobs.question(asks, units=units))
    posted = {"supply": jobs.DC_12_V, "wiring": reply["wiring"]}
    assert len(jobs.solved(client, posted)["fixtures"]) == reply["answer"]["count"] == 500
