"""Every number that the gauge-recommendation cases expect, derived from the figures of the standards.

One function per case folder, named after it; it gives the value at each JSON Pointer into the reply.
"""

from math import sqrt

from tests.cases.derivation import SUPPLY, Bench, Draw, current, nec_awg, power, resistance

Derived = dict[str, float]

LED_LOWEST_V = 10.0
"""Below this an LED fixture for 12 V is warned of: common practice, no published source."""


def mast_light_one_coil() -> Derived:
    lost_v = {size: 10.0 / 12.0 * nec_awg(size, 50) for size in (16, 12)}
    return {
        "/outcome/lowest_voltage/value": 12.0 - lost_v[16],
        "/outcome/drop_percent": 100.0 * lost_v[16] / 12.0,
        "/compared/1/outcome/drop_percent": 100.0 * lost_v[12] / 12.0,
    }


def emergency_heads_least_copper() -> Derived:
    amps = 25.0 / 6.0
    lost_v = 2 * amps * nec_awg(6, 22) + amps * nec_awg(10, 15)
    eights_v = 2 * amps * nec_awg(8, 22) + amps * nec_awg(8, 15)
    return {
        "/outcome/lowest_voltage/value": 6.0 - lost_v,
        "/outcome/drop_percent": 100.0 * lost_v / 6.0,
        "/compared/1/outcome/drop_percent": 100.0 * eights_v / 6.0,
        "/chosen/0/length/value": 22.0,
        "/chosen/1/length/value": 37.0 - 22.0,
    }


def one_volt_at_100_ft() -> Derived:
    lost_v = {size: 50.0 / 12.0 * nec_awg(size, 100) for size in (12, 10)}
    return {
        "/outcome/lowest_voltage/value": 12.0 - lost_v[10],
        "/compared/3/outcome/drop_percent": 100.0 * lost_v[12] / 12.0,
        "/compared/4/outcome/drop_percent": 100.0 * lost_v[10] / 12.0,
    }


def deck_beyond_a_distance_band() -> Derived:
    def lamp_v(size: int) -> float:
        return 0.5 * (12.0 + sqrt(144.0 - 4.0 * nec_awg(size, 100) * 116.0))

    return {
        "/outcome/lowest_voltage/value": lamp_v(8),
        "/compared/4/outcome/lowest_voltage/value": lamp_v(10),
        "/compared/4/outcome/breaks/0/measured/value": lamp_v(10),
        "/compared/4/outcome/breaks/0/limit/value": LED_LOWEST_V,
    }


def clusters_behind_a_device() -> Derived:
    bench = Bench(12.0)
    bench.chain(["hub"], [nec_awg(12, 150)])
    for number in range(4):
        bench.chain([f"leg {number}", f"lamp {number}"], [nec_awg(12, 10), nec_awg(12, 3)], "hub")
        bench.lamps.append((f"lamp {number}", power(7.0)))
    return {"/outcome/lowest_voltage/value": bench.voltages()["lamp 0"]}


def tap_for_a_hub() -> Derived:
    # On a tap of an ideal box the open-circuit voltage is the tap's.
    bench = Bench(15.0)
    bench.chain(["hub"], [nec_awg(10, 120)])
    for number in range(5):
        bench.chain([f"spot {number}"], [nec_awg(12, 15)], "hub")
        bench.lamps.append((f"spot {number}", _filament(35.0)))
    return {"/outcome/lowest_voltage/value": bench.voltages()["spot 0"]}


def tap_for_the_last_lamp() -> Derived:
    bench = Bench(14.0)
    names = [f"lamp {number}" for number in range(6)]
    bench.chain(names, [nec_awg(12, feet) for feet in (60, 15, 15, 15, 15, 15)], SUPPLY)
    bench.lamps.extend((name, resistance(20.0)) for name in names)
    settled = bench.voltages()
    return {
        "/outcome/lowest_voltage/value": settled["lamp 5"],
        "/outcome/highest_voltage/value": settled["lamp 0"],
    }


def ring_with_a_thinner_link() -> Derived:
    # Theraja's ring at a tenth of its volts and amperes; a link of 0.75 mm² has 24.5/1.15 of the book's ohms.
    ohms = {"AB": 0.1, "BC": 0.05, "CD": 0.01, "DE": 0.025, "EA": 0.075}
    voltages = {}
    for name, link_ohm in (("thick", 0.05), ("thin", 0.05 * 24.5 / 1.15)):
        bench = Bench(22.0)
        spans = {**ohms, "CE": link_ohm}
        bench.spans.extend((_end(ends[0]), _end(ends[1]), ohm) for ends, ohm in spans.items())
        bench.lamps.extend((point, current(amps)) for point, amps in zip("BCDE", (1, 2, 3, 1), strict=True))
        voltages[name] = bench.voltages()["E"]
    return {"/compared/0/outcome/breaks/0/measured/value": voltages["thick"]}


def two_runs_in_one_piece() -> Derived:
    return {
        "/purchase/0/quantity/value": 2.0 * 150.0,
        "/purchase/0/cut_list/0/off_cut/value": 500.0 - 2.0 * 150.0,
    }


def _end(point: str) -> str:
    return SUPPLY if point == "A" else point


def _filament(watts: float) -> Draw:
    """Current with the power 0.55 of the voltage (lamp rerating). [W] at 12 V"""
    return lambda volts: watts / 12.0**1.55 * abs(volts) ** 0.55 * volts / abs(volts)
