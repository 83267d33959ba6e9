"""Worked examples of straight distributors: tapped or uniformly loaded, fed from one end or from both.

Sources, tolerances and what is left out stand at the head of test_published_examples.py. How a uniform load
becomes lumps, and why the voltages lose nothing by it, stands with `along` in published.py.
"""

from __future__ import annotations

import pytest

from service.physics.conductor import cable_resistance
from service.physics.load import constant_current
from tests.physics.published import (
    along,
    amperes,
    both_conductors,
    fed_at,
    fed_at_unequal_ends,
    lettered,
    printed,
)


@pytest.mark.parametrize(
    ("ends_v", "length_m", "ohm_per_m", "taps_a", "lowest", "printed_a"),
    [
        pytest.param(
            (220.0, 220.0),
            600.0,
            both_conductors(1.7e-8 / 1e-4),
            {100.0: 20.0, 250.0: 40.0, 400.0: 50.0, 500.0: 30.0},
            (400.0, "215.69"),
            {(0.0, 100.0): "61.7", (100.0, 250.0): "41.7", (250.0, 400.0): "1.7"},
            id="Mehta 13.10",
        ),
        pytest.param(
            (230.0, 235.0),
            200.0,
            both_conductors(0.3e-3),
            {50.0: 25.0, 75.0: 50.0, 100.0: 30.0, 150.0: 40.0},
            (75.0, "228.875"),
            {
                (0.0, 50.0): "33.33",
                (50.0, 75.0): "8.33",
                (75.0, 100.0): "-41.67",
                (100.0, 150.0): "-71.67",
                (150.0, 200.0): "-111.67",
            },
            id="Mehta 13.11",
        ),
        pytest.param(
            (440.0, 430.0),
            600.0,
            both_conductors(0.01e-2),
            {150.0: 100.0, 300.0: 200.0, 350.0: 250.0, 450.0: 300.0},
            (350.0, "415.375"),  # not printed: 440 V less the drops of the printed currents
            {(0.0, 150.0): "437.5", (450.0, 600.0): "-412.5"},
            id="Mehta 13.12",
        ),
        pytest.param(
            (248.0, 245.0),
            800.0,
            0.1 / 800.0,
            {100.0: 20.0, 250.0: 80.0, 500.0: 50.0, 600.0: 70.0, 700.0: 40.0},
            (500.0, "242.5156"),  # not printed: 248 V less the drops of the printed currents
            {(0.0, 100.0): "143.75", (700.0, 800.0): "-116.25"},
            id="Theraja 40.12",
        ),
        pytest.param(
            (600.0, 590.0),
            6000.0,
            0.04e-3,
            {3420.0: 300.0},
            # Not printed: 600 - (341.7 - 50 x) 0.04 x at x = 3.42 km, the equation of the book.
            (3420.0, "576.65"),
            {(0.0, 3420.0): "170.7", (3420.0, 6000.0): "-129.3"},
            id="Mehta 13.13, one tram of 300 A at the 3.42 km where it sees the least",
        ),
    ],
)
def test_distributor_fed_from_both_ends_shares_its_taps_as_the_book_prints(  # noqa: PLR0913  # columns of the table
    *,
    ends_v: tuple[float, float],
    length_m: float,
    ohm_per_m: float,
    taps_a: dict[float, float],
    lowest: tuple[float, str],
    printed_a: dict[tuple[float, float], str],
) -> None:
    answer = fed_at_unequal_ends(*ends_v, *along(length_m, ohm_per_m, taps_a=taps_a))
    assert answer.lowest() == lowest[0]
    assert answer.voltage_v[lowest[0]] == printed(lowest[1])
    for (start_m, end_m), value in printed_a.items():
        assert answer.current_a(start_m, end_m) == printed(value), (start_m, end_m)


def test_heat_of_a_distributor_fed_from_both_ends_is_what_the_book_prints() -> None:
    # Mehta 13.12: 14.706 kW. Theraja 40.12: 847.34 W.
    taps_a = {150.0: 100.0, 300.0: 200.0, 350.0: 250.0, 450.0: 300.0}
    mehta = fed_at_unequal_ends(440.0, 430.0, *along(600.0, both_conductors(0.01e-2), taps_a=taps_a))
    assert mehta.loss_w() / 1000.0 == printed("14.706")
    taps_a = {100.0: 20.0, 250.0: 80.0, 500.0: 50.0, 600.0: 70.0, 700.0: 40.0}
    theraja = fed_at_unequal_ends(248.0, 245.0, *along(800.0, 0.1 / 800.0, taps_a=taps_a))
    assert theraja.loss_w() == printed("847.34")


def test_tram_between_two_substations_sees_the_least_where_the_book_says() -> None:
    # Mehta 13.13: 3.42 km from A, to 0.01 km; so much either side the tram already sees more.
    def seen_v(at_m: float) -> float:
        circuit = along(6000.0, 0.04e-3, taps_a={at_m: 300.0})
        return fed_at_unequal_ends(600.0, 590.0, *circuit).voltage_v[at_m]

    assert seen_v(3410.0) > seen_v(3420.0) < seen_v(3430.0)


def test_point_held_at_the_voltage_of_the_feed_takes_the_rest_from_the_other_feed() -> None:
    # Theraja 40.11: A at 240 V, F to be held at 240 V too; printed IA 46.29, IB 109.71 A, B 240.55, C 239.63,
    # D 239.42, E 239.38 V. A and F at one voltage are one source; F's own 48 A and what it feeds back come
    # from B.
    sections = lettered({"AC": 0.008, "CD": 0.006, "DE": 0.004, "EF": 0.010})
    loads = amperes({"C": 12.0, "D": 24.0, "E": 72.0})
    held = fed_at(["A", "F"], 240.0, sections, loads)
    from_b_a = 48.0 + held.current_a("F", "E")
    b_v = 240.0 + 0.005 * from_b_a
    assert held.current_a("A", "C") == printed("46.29")
    assert from_b_a == printed("109.71")
    assert b_v == printed("240.55")
    for point, value in {"C": "239.63", "D": "239.42", "E": "239.38"}.items():
        assert held.voltage_v[point] == printed(value), point
    loads.append(("F", constant_current(48.0)))
    fed = fed_at_unequal_ends(240.0, b_v, [*sections, ("F", "B", 0.005)], loads)
    assert fed.voltage_v["F"] == pytest.approx(240.0, abs=1e-9)


WHOLE_13_5 = [(0.0, 200.0, 2.0)]


@pytest.mark.parametrize(
    ("other_ohm_per_m", "one_end_v", "both_ends_v"),
    [(0.3e-3, "24.0", "6.0"), (0.0, "12.0", "3.0")],
    ids=["Mehta 13.5, both conductors", "Theraja 40.2 as printed, without the return"],
)
def test_forgetting_the_return_conductor_halves_the_drop(
    other_ohm_per_m: float, one_end_v: str, both_ends_v: str
) -> None:
    # 2 A/m over 200 m at 0.3 ohm/km a conductor. The two books differ by the factor of two that this service
    # must never lose: Theraja's companion prints 12.0 and 3.0 V, which are the drops in one conductor alone.
    ohm_per_m = cable_resistance(0.3e-3, other_ohm_per_m=other_ohm_per_m, cables_in_parallel=1)
    sections, loads = along(200.0, ohm_per_m, uniform=WHOLE_13_5, step_m=10.0)
    assert 240.0 - fed_at([0.0], 240.0, sections, loads).voltage_v[200.0] == printed(one_end_v)
    assert 240.0 - fed_at([0.0, 200.0], 240.0, sections, loads).voltage_v[100.0] == printed(both_ends_v)


@pytest.mark.parametrize("step_m", [50.0, 10.0, 1.0])
def test_lumping_a_uniform_load_costs_no_voltage_at_the_ends_of_the_steps(step_m: float) -> None:
    # Mehta 13.5: 22.5 V as far as 150 m, 24.0 V at the end, exact; 1e-9 V is rounding of 240 V over 400
    # sections.
    sections, loads = along(200.0, both_conductors(0.3e-3), uniform=WHOLE_13_5, step_m=step_m)
    answer = fed_at([0.0], 240.0, sections, loads)
    assert 240.0 - answer.voltage_v[150.0] == pytest.approx(22.5, abs=1e-9)
    assert 240.0 - answer.voltage_v[200.0] == pytest.approx(24.0, abs=1e-9)


@pytest.mark.parametrize(("feed_v", "at_m"), [(270.0, 250.0), (265.0, 125.0)], ids=["far end", "middle"])
def test_feed_that_the_book_asks_for_holds_the_wanted_voltage(feed_v: float, at_m: float) -> None:
    # Mehta 13.7: 1.6 A/m over 250 m, 0.0002 ohm/m a conductor; 250 V wanted at the far end or in the middle.
    circuit = along(250.0, both_conductors(0.0002), uniform=[(0.0, 250.0, 1.6)], step_m=5.0)
    assert fed_at([0.0], feed_v, *circuit).voltage_v[at_m] == printed("250.0")


@pytest.mark.parametrize("steps", [30, 300])
def test_uniform_load_heats_the_distributor_as_the_book_prints(steps: int) -> None:
    # Mehta 13.9: 0.75 A/m over 300 m, 0.00018 ohm/m go and return; 244.6 V at 200 m, i²rL³/3 = 911.25 W.
    # Lumps are the trapezoid rule for the heat, too much by 1/(2 N²) of it; with that taken off the print is
    # met to its last digit.
    circuit = along(300.0, 0.00018, uniform=[(0.0, 300.0, 0.75)], step_m=300.0 / steps)
    answer = fed_at([0.0], 250.0, *circuit)
    assert answer.voltage_v[200.0] == printed("244.6")
    assert answer.loss_w() / (1.0 + 0.5 / steps**2) == printed("911.25")


@pytest.mark.parametrize(
    ("ampere_per_m", "drop_v"), [(0.5, "6.25"), (1.25, "15.63")], ids=["Mehta 13.14", "Mehta 13.17"]
)
def test_uniform_load_fed_from_both_ends_drops_an_eighth_of_current_times_resistance(
    ampere_per_m: float, drop_v: str
) -> None:
    # 1000 m at 0.05 ohm/km a conductor; 13.14 starts from 220 V and prints 213.75 V in the middle.
    circuit = along(1000.0, both_conductors(0.05e-3), uniform=[(0.0, 1000.0, ampere_per_m)], step_m=20.0)
    answer = fed_at([0.0, 1000.0], 220.0, *circuit)
    assert 220.0 - answer.voltage_v[500.0] == printed(drop_v)
    # Between the two lumps nearest to the middle no current flows.
    assert answer.voltage_v[500.0] == pytest.approx(min(answer.voltage_v.values()), abs=1e-9)


@pytest.mark.parametrize(
    ("ends_v", "length_m", "ohm_per_m", "ampere_per_m", "lowest_m", "lowest_v"),
    [
        pytest.param((255.0, 250.0), 500.0, both_conductors(0.1e-3), 1.0, 300.0, "246.0", id="Mehta 13.15"),
        # Both feeds are asked for and printed to 0.01 V; they are put in here.
        pytest.param(
            (232.66, 227.66), 800.0, both_conductors(0.05e-3), 1.25, 450.0, "220.00", id="Mehta 13.16"
        ),
    ],
)
def test_uniform_load_between_unequal_ends_is_lowest_where_the_book_prints(  # noqa: PLR0913  # columns of the table
    *,
    ends_v: tuple[float, float],
    length_m: float,
    ohm_per_m: float,
    ampere_per_m: float,
    lowest_m: float,
    lowest_v: str,
) -> None:
    circuit = along(length_m, ohm_per_m, uniform=[(0.0, length_m, ampere_per_m)], step_m=10.0)
    answer = fed_at_unequal_ends(*ends_v, *circuit)
    assert answer.current_a(0.0, 5.0) / ampere_per_m == pytest.approx(lowest_m, abs=1e-6)
    assert answer.voltage_v[lowest_m] == printed(lowest_v)


def test_tapped_and_uniform_loads_add_their_drops() -> None:
    # Mehta 13.19: 400 V, 0.0001 ohm/m go and return, 0.5 A/m over 900 m and three taps; 370.25 V at D, 361.75
    # V at B.
    taps_a = {200.0: 50.0, 500.0: 100.0, 800.0: 150.0}
    circuit = along(900.0, 0.0001, taps_a=taps_a, uniform=[(0.0, 900.0, 0.5)], step_m=50.0)
    answer = fed_at([0.0], 400.0, *circuit)
    assert answer.voltage_v[500.0] == printed("370.25")
    assert answer.voltage_v[900.0] == printed("361.75")


def test_corrected_minimum_of_the_mixed_distributor_closes_the_voltage_law() -> None:
    # Mehta 13.20 = Theraja 40.13: 240 V at both ends, 0.1 ohm over 1000 m. Both print 231.76 V at 400 m, 366
    # A from A and 454 A from B: they split the uniform load at 400 m, but loaded alone it splits in halves,
    # 250 A each. Corrected by superposition: 166 + 250 = 416 A, 154 + 250 = 404 A, 229.63 V at 400 + (416 -
    # 180 - 200)/0.5 = 472 m.
    taps_a = {200.0: 120.0, 400.0: 60.0, 700.0: 100.0, 900.0: 40.0}
    circuit = along(1000.0, 0.1e-3, taps_a=taps_a, uniform=[(0.0, 1000.0, 0.5)])
    answer = fed_at([0.0, 1000.0], 240.0, *circuit)
    assert answer.current_a(0.0, 0.5) == printed("416")
    assert answer.current_a(1000.0, 999.5) == printed("404")
    assert 400.0 + answer.current_a(400.0, 400.5) / 0.5 == printed("472")
    assert answer.voltage_v[472.0] == printed("229.63")
    # Kirchhoff's voltage law from A to B; the printed 366 A leaves the ends 5 V apart.
    taps_v = 1e-4 * sum(current_a * (1000.0 - at_m) for at_m, current_a in taps_a.items())
    uniform_v = 0.5 * 1e-4 * 1000.0**2 / 2.0
    assert 0.1 * answer.current_a(0.0, 0.5) - taps_v - uniform_v == pytest.approx(0.0, abs=1e-6)


def test_uniform_load_at_one_end_moves_the_minimum_to_a_tap() -> None:
    # Mehta 13.21: 240 V at both ends of 500 m, 0.001 ohm/m; 100 A at 100 m, 60 A at D, 250 m, 1 A/m over the
    # last 200 m. Printed: least at D, 217.5 V, with 150 A from A and 210 A from B.
    circuit = along(
        500.0, 0.001, taps_a={100.0: 100.0, 250.0: 60.0}, uniform=[(300.0, 500.0, 1.0)], step_m=10.0
    )
    answer = fed_at([0.0, 500.0], 240.0, *circuit)
    assert answer.lowest() == 250.0
    assert answer.voltage_v[250.0] == printed("217.5")
    assert answer.current_a(0.0, 100.0) == printed("150")
    assert answer.current_a(500.0, 495.0) == printed("210")


def test_partly_uniform_distributor_is_lowest_where_the_book_prints() -> None:
    # Theraja 40.15: 450 m at 0.05 ohm/km a conductor, 250 V at both ends, 20 A at 60 m, 40 A at 100 m, 1.5
    # A/m from 200 to 450 m. Printed: 247.34 V at 261.74 m. Steps of 0.5 m leave 1.5 A/m × 0.0001 ohm/m × 0.25
    # m²/8, 5e-6 V.
    taps_a = {60.0: 20.0, 100.0: 40.0}
    circuit = along(450.0, both_conductors(0.05e-3), taps_a=taps_a, uniform=[(200.0, 450.0, 1.5)], step_m=0.5)
    answer = fed_at([0.0, 450.0], 250.0, *circuit)
    assert 200.0 + answer.current_a(200.0, 200.25) / 1.5 == printed("261.74")
    assert min(answer.voltage_v.values()) == printed("247.34")


@pytest.mark.parametrize("steps", [10, 100])
def test_lever_arms_of_lumped_uniform_and_triangular_loads_are_one_half_and_two_thirds(steps: int) -> None:
    # Gonen 4.2 to 4.5: the same load lumped at the end, uniform, or growing from nought at the feed drops 5,
    # 2.5 and 3.333 %. Lumps in the middle of N steps take 1/(6 N²) from the last arm and nothing from the
    # others.
    def drop_ratio(shares: dict[float, float]) -> float:
        sections, _ = along(1.0, 0.05, taps_a=shares)
        return 1.0 - fed_at([0.0], 1.0, sections, amperes(shares)).voltage_v[1.0]

    middles = [(step + 0.5) / steps for step in range(steps)]
    assert drop_ratio({1.0: 1.0}) == pytest.approx(0.05, rel=1e-9)
    assert drop_ratio(dict.fromkeys(middles, 1.0 / steps)) == pytest.approx(0.025, rel=1e-9)
    triangular = drop_ratio({middle: 2.0 * middle / steps for middle in middles})
    assert triangular + 0.05 / (6.0 * steps**2) == pytest.approx(0.05 * 2.0 / 3.0, rel=1e-9)
