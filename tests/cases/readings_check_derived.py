"""Every number that the readings-check cases expect, derived once more from the figures of the standards."""

from tests.cases.derivation import SUPPLY, Bench, largest_share, nec_awg, power

Derived = dict[str, float]


def _staged(lamps: int) -> float:
    """The end of 150 ft of 14 AWG with the first lamps of the sequence on. [V]"""
    bench = Bench(11.72)
    ohm = nec_awg(14, 25.0)
    bench.chain(["50 ft", "75 ft", "100 ft", "150 ft"], [2.0 * ohm, ohm, ohm, 2.0 * ohm], SUPPLY)
    bench.lamps.extend([("75 ft", power(7.0)), ("50 ft", power(13.0)), ("100 ft", power(15.0))][:lamps])
    return bench.voltages()["150 ft"]


def staged_first_lamp() -> Derived:
    return {"/readings/3/predicted/value": _staged(1)}


def staged_second_lamp() -> Derived:
    return {"/readings/5/predicted/value": _staged(2)}


def staged_third_lamp() -> Derived:
    return {"/readings/5/predicted/value": _staged(2), "/readings/6/predicted/value": _staged(3)}


def last_lamp_of_a_shortcut() -> Derived:
    bench = Bench(12.0)
    names = ["20 ft", "40 ft", "60 ft", "80 ft"]
    bench.chain(names, [nec_awg(12, 20.0)] * 4)
    bench.lamps.extend((name, power(20.0)) for name in names)
    return {"/readings/1/predicted/value": bench.voltages()["80 ft"]}


def sixteen_volts_without_load() -> Derived:
    return {"/explanations/0/size/value": 16.0 / 12.0}


def valve_that_gets_nothing() -> Derived:
    return {"/readings/1/predicted/value": 27.8 * 70.0 / (70.0 + nec_awg(18, 500.0))}


def six_volts_at_25_ft() -> Derived:
    return {"/findings/0/limit/value": 6.0 / nec_awg(12, 25.0)}


def six_lamps_on_the_knife_edge() -> Derived:
    # No voltage is expected: less than the whole load can be carried.
    assert largest_share(12.0, nec_awg(14, 60.0), 120.0) < 1.0
    return {}


def clamp_on_a_common() -> Derived:
    return {"/readings/0/predicted/value": 5 * 3.7}


def valve_at_800_ft() -> Derived:
    label_a = 4.5 / 24.0
    return {"/readings/0/predicted/value": label_a, "/readings/0/discrepancy/value": 0.1863 - label_a}
