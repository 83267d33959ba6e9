"""Every number that the voltage-drop cases expect, derived once more from the figures of the standards.

One function per case folder, named after it; it gives the value at each JSON Pointer into the reply. Closed
forms where there is one, else `derivation.Bench`.
"""

from collections.abc import Iterable
from math import sqrt

from tests.cases.derivation import (
    SUPPLY,
    Bench,
    Draw,
    current,
    ideal_awg,
    ideal_mm2,
    iec_mm2,
    largest_share,
    nec_awg,
    power,
    resistance,
)

Derived = dict[str, float]


def _fixtures(volts: Iterable[float]) -> Derived:
    return {f"/fixtures/{index}/voltage/value": value for index, value in enumerate(volts)}


def _one_lamp(volts: float, ohm: float, lamp: Draw) -> float:
    bench = Bench(volts)
    bench.chain(["lamp"], [ohm])
    bench.lamps.append(("lamp", lamp))
    return bench.voltages()["lamp"]


def _chain(volts: float, ohms: list[float], lamps: list[Draw]) -> list[float]:
    names = [f"lamp {index}" for index in range(len(lamps))]
    bench = Bench(volts)
    bench.chain(names, ohms)
    bench.lamps.extend(zip(names, lamps, strict=True))
    settled = bench.voltages()
    return [settled[name] for name in names]


def _ends_of_25(volts: float, gap_ohm: float, lamp: Draw) -> Derived:
    row = _chain(volts, [gap_ohm] * 25, [lamp] * 25)
    return {"/fixtures/0/voltage/value": row[0], "/fixtures/24/voltage/value": row[-1]}


# Twenty-five lamps over 30 m.


def lamps_over_30_m_constant_current() -> Derived:
    # Kirchhoff by hand: gap k from the supply carries 26 - k lamps, so the end loses r (1 + 2 + ... + 25) I.
    amps, gap_ohm = 5.0 / 12.0, ideal_mm2(2.5, 1.2)
    return {
        "/fixtures/0/voltage/value": 12.0 - gap_ohm * amps * 25,
        "/fixtures/24/voltage/value": 12.0 - gap_ohm * amps * 25 * 26 / 2,
        "/supply/current/value": 25 * amps,
    }


def lamps_over_30_m_constant_resistance() -> Derived:
    return _ends_of_25(12.0, ideal_mm2(2.5, 1.2), resistance(5.0))


def lamps_over_30_m_constant_power() -> Derived:
    return _ends_of_25(12.0, iec_mm2(2.5, 1.2), power(5.0))


def lamps_over_30_m_hot() -> Derived:
    return _ends_of_25(12.0, ideal_mm2(2.5, 1.2) * (1.0 + 0.00393 * 50.0), power(5.0))


def lamps_over_30_m_4_mm2() -> Derived:
    return _ends_of_25(12.0, iec_mm2(4.0, 1.2), power(5.0))


def lamps_over_30_m_24_volt() -> Derived:
    return _ends_of_25(24.0, ideal_mm2(2.5, 1.2), power(5.0))


# Loads of a whole run at its end.


def clamp_on_the_common() -> Derived:
    return {
        "/supply/circuits/0/current/value": 5 * 3.7,
        "/fixtures/0/voltage/value": 12 - 3.7 * nec_awg(12, 10),
    }


def twelve_lamps_on_one_line() -> Derived:
    return {"/load_margin/exact": largest_share(12.0, ideal_awg(12, 100), 240.0)}


def twelve_lamps_on_two_lines() -> Derived:
    return _fixtures([12.0 - 10.0 * ideal_awg(12, 100)] * 2)


def sixteen_lamps_on_150_va() -> Derived:
    # A resistor of 144/160 ohm behind the winding: a divider.
    lamps_ohm, winding_ohm = 144.0 / 160.0, 0.05 * 144.0 / 150.0
    volts = 12.6 * lamps_ohm / (lamps_ohm + winding_ohm)
    return {
        "/fixtures/0/voltage/value": volts,
        "/supply/apparent_power/value": volts**2 / lamps_ohm,
        "/supply/loading_ratio": volts**2 / lamps_ohm / 150.0,
        "/totals/winding_loss/value": (volts / lamps_ohm) ** 2 * winding_ohm,
    }


def four_leds_on_a_halogen_supply() -> Derived:
    # The lamps hang at the terminals, so nothing is lost in cable.
    return {"/supply/real_power/value": 16.0, "/supply/apparent_power/value": 24.0}


def distance_chart_cell() -> Derived:
    load_ohm = 144.0 / 150.0
    return _fixtures([12.0 * load_ohm / (load_ohm + ideal_awg(12, 43))])


def distance_chart_cell_with_drivers() -> Derived:
    ohm = ideal_awg(12, 43)
    return _fixtures([0.5 * (12.0 + sqrt(144.0 - 4.0 * ohm * 150.0))])


def distance_chart_second_line() -> Derived:
    ohms = [ideal_awg(12, 43), *[ideal_awg(12, 5)] * 5]
    return _fixtures(_chain(12.0, ohms, [resistance(25.0)] * 6))


def four_lamps_every_20_ft() -> Derived:
    return _fixtures(_chain(12.0, [ideal_awg(12, 20)] * 4, [power(20.0)] * 4))


def closing_the_loop() -> Derived:
    bench = Bench(12.0)
    names = ["a", "b", "c", "d", "e"]
    bench.chain(names, [ideal_mm2(1.5, 6.0)] * 5)
    bench.spans.append(("e", SUPPLY, ideal_mm2(1.5, 6.0)))
    watts = (10.0, 10.0, 10.0, 20.0, 20.0)
    bench.lamps.extend((name, current(load / 12.0)) for name, load in zip(names, watts, strict=True))
    settled = bench.voltages()
    return _fixtures(settled[name] for name in names)


def twelve_xenon_lamps() -> Derived:
    return {
        "/fixtures/0/voltage/value": 12.0 - 18.0 * nec_awg(12, 20),
        "/supply/circuits/0/current/value": 18.0,
    }


def plate_lights_on_ac() -> Derived:
    # 100 VA at 12 %: 13.44 V behind 0.1728 ohm; eight fixtures of 80 mA every 10 ft.
    open_v, winding_ohm, gap_ohm = 13.44, 0.12 * 144.0 / 100.0, nec_awg(12, 10)
    terminal_v = open_v - 8 * 0.08 * winding_ohm
    return {
        "/supply/open_circuit/value": open_v,
        "/supply/terminal/value": terminal_v,
        "/fixtures/0/voltage/value": terminal_v - gap_ohm * 0.08 * 8,
        "/fixtures/7/voltage/value": terminal_v - gap_ohm * 0.08 * 8 * 9 / 2,
        "/findings/0/measured/value": open_v * sqrt(2.0),
    }


def valve_at_800_ft() -> Derived:
    lost_v = 0.1863 * ideal_awg(16, 800)
    return {"/fixtures/0/cable_drop/value": lost_v, "/fixtures/0/voltage/value": 24.0 - lost_v}


def bullets_on_a_hub() -> Derived:
    bench = Bench(12.0)
    bench.chain(["hub"], [nec_awg(12, 150)])
    for name, feet in (("a", 5), ("b", 5), ("c", 10), ("d", 10)):
        bench.spans.extend([("hub", name, nec_awg(16, feet)), (name, f"{name} lamp", nec_awg(18, 3))])
        bench.lamps.append((f"{name} lamp", power(7.0)))
    settled = bench.voltages()
    derived = _fixtures(settled[f"{name} lamp"] for name in "abcd")
    return derived | {"/fixtures/0/splice_voltage/value": settled["a"]}


def tap_chosen_at_the_first_lamp() -> Derived:
    ohms = [ideal_awg(12, 60), *[ideal_awg(12, 15)] * 5]
    return _fixtures(_chain(13.0, ohms, [resistance(20.0)] * 6))


def leds_on_a_tap_for_halogen() -> Derived:
    ohms = [ideal_awg(12, 100), *[ideal_awg(12, 10)] * 4]
    return _fixtures(_chain(14.0, ohms, [power(3.0)] * 5))


def spots_on_equal_legs() -> Derived:
    # Five equal legs act as one of a fifth: a divider. Each lamp is 144/35 ohm.
    lamp_ohm, leg_ohm, trunk_ohm = 144.0 / 35.0, ideal_awg(12, 15), ideal_awg(10, 120)
    amps = 15.0 / (trunk_ohm + (leg_ohm + lamp_ohm) / 5.0)
    return _fixtures([amps / 5.0 * lamp_ohm] * 5) | {
        "/supply/apparent_power/value": 15.0 * amps,
        "/supply/taps/1/terminal/value": 15.0,
    }


def strip_in_metres_on_awg() -> Derived:
    amps = 3 * 1.35 * 19.2 / 12.0
    return {
        "/fixtures/0/cable_drop/value": amps * 2 * 5 * 8.286e-3,
        "/fixtures/0/voltage/value": 12.0 - amps * 0.08286,
    }


def ten_amperes_over_2_5_m() -> Derived:
    lost_v = 10.0 * ideal_mm2(2.5, 2.5)
    return {"/fixtures/0/cable_drop/value": lost_v, "/fixtures/0/drop_percent": 100.0 * lost_v / 12.0}


def ten_amperes_over_15_m() -> Derived:
    lost_v = 10.0 * iec_mm2(16.0, 15.0)
    return {"/fixtures/0/cable_drop/value": lost_v, "/fixtures/0/drop_percent": 100.0 * lost_v / 12.0}


def deck_at_the_edge_of_a_band() -> Derived:
    return _fixtures([_one_lamp(12.0, ideal_awg(12, 50), power(116.0))])


def emergency_heads_near_miss() -> Derived:
    amps = 25.0 / 6.0
    first_v = 2 * amps * ideal_awg(8, 22)
    last_v = first_v + amps * ideal_awg(8, 15)
    return {
        "/fixtures/0/drop_percent": 100.0 * first_v / 6.0,
        "/fixtures/1/drop_percent": 100.0 * last_v / 6.0,
        "/fixtures/1/cable_drop/value": last_v,
    }


def emergency_heads_mixed_cable() -> Derived:
    amps = 25.0 / 6.0
    lost_v = 2 * amps * ideal_awg(6, 22) + amps * ideal_awg(10, 15)
    return {"/fixtures/1/cable_drop/value": lost_v, "/fixtures/1/drop_percent": 100.0 * lost_v / 6.0}


def six_volts_over_300_ft() -> Derived:
    return {"/load_margin/exact": largest_share(6.0, ideal_awg(18, 300), 12.0)}


def five_volts_over_100_ft() -> Derived:
    # A current needs I R <= E, whatever the voltage left over: the share is E over I R.
    return {"/load_margin/exact": 5.0 / (1.2 * 2 * 100 * 25.7e-3)}


# One exam question, five ways.


def six_lamps_at_60_ft_constant_current() -> Derived:
    return _fixtures([12.0 - 10.0 * ideal_awg(14, 60)])


def six_lamps_at_60_ft_constant_resistance() -> Derived:
    return _fixtures([12.0 * 1.2 / (1.2 + ideal_awg(14, 60))])


def six_lamps_at_60_ft_constant_power() -> Derived:
    return {"/load_margin/exact": largest_share(12.0, ideal_awg(14, 60), 120.0)}


def six_lamps_at_60_ft_on_the_edge() -> Derived:
    # 12.06² - 4 x 0.303 x 120 = 0.0036, whose root is 0.06.
    return _fixtures([0.5 * (12.06 + 0.06)])


def six_lamps_at_60_ft_warm() -> Derived:
    # The book: 11.6 ohm-cmil/ft over 4110 cmil. The request states the copper at which that holds.
    return _fixtures([12.0 - 2.0 * 11.6 * 10.0 * 60.0 / 4110.0])


# Direct current.


def pixels_over_the_supply() -> Derived:
    bench = Bench(5.0)
    names = ["a", "b", "c", "d"]
    bench.chain(names, [nec_awg(18, 1)] * 4)
    bench.spans.append(("d", SUPPLY, nec_awg(18, 1)))
    bench.lamps.extend((name, current(7.2)) for name in names)
    settled = bench.voltages()
    return _fixtures(settled[name] for name in names) | {
        "/supply/current/value": 28.8,
        "/supply/apparent_power/value": 144.0,
        "/supply/loading_ratio": 1.44,
    }


def camera_on_four_pairs() -> Derived:
    lost_v = 0.15 * 160 * 0.19 / 4
    return {"/fixtures/0/cable_drop/value": lost_v, "/fixtures/0/drop_percent": 100 * lost_v / 12}


def pump_out_and_back() -> Derived:
    lost_v = 10.0 * 21.0 * 1.588e-3
    return {"/fixtures/0/cable_drop/value": lost_v, "/fixtures/0/drop_percent": 100 * lost_v / 12}


def masthead_light() -> Derived:
    lost_v = 10.0 / 12.0 * 100.0 * 4.016e-3
    return {"/fixtures/0/cable_drop/value": lost_v, "/fixtures/0/drop_percent": 100 * lost_v / 12}


def bus_closed_into_a_ring() -> Derived:
    # Two equal ways to the far side: half the resistance of one, a quarter of 180 ft out and back.
    return {"/fixtures/0/cable_drop/value": 5.0 * ideal_awg(14, 180) / 4.0}
