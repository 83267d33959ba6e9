"""A second way to every voltage of the chart cases: a quadratic, and dense matrices for an even spread."""

from math import sqrt

from tests.cases.derivation import Bench, ideal_awg, iec_mm2, nec_awg, power

# NEC chapter 9 table 8, uncoated solid copper at 75 °C, ohm/kft, with the coefficient of its note.
NEC_SOLID_14_OHM_PER_KFT = 3.07
NEC_COPPER_PER_K = 0.00323

# Common practice, no published source.
CABLE_CONSTANTS = {14: 3500.0, 12: 7500.0, 10: 11920.0}

LUMPS = 200


def lumped(ohm: float, watts: float, start_v: float = 12.0) -> float:
    """The upper root of V² − E V + R P = 0. [ohm], [W], [V] -> [V]"""
    return (start_v + sqrt(start_v**2 - 4.0 * ohm * watts)) / 2.0


def spread(ohm: float, watts: float, start_v: float = 12.0) -> float:
    """Lumps in the middle of short stretches; their error falls with the square of their number. [V]"""
    coarse, fine = (_lumps(ohm, watts, start_v, count) for count in (LUMPS, 2 * LUMPS))
    return (4.0 * fine - coarse) / 3.0


def _lumps(ohm: float, watts: float, start_v: float, count: int) -> float:
    bench = Bench(start_v)
    points = [f"lump {index}" for index in range(count)]
    bench.chain(points, [0.5 * ohm / count, *[ohm / count] * (count - 1)])
    bench.lamps += [(point, power(watts / count)) for point in points]
    # Nothing flows in the last half stretch, so its end stands at the voltage of the last lump.
    return bench.voltages()[points[-1]]


def shortcut(size: int, watts: float, feet: float) -> float:
    """Watts times feet over the constant, off 12 V. [V]"""
    return 12.0 - watts * feet / CABLE_CONSTANTS[size]


def solid_14(feet: float) -> float:
    """Both conductors of a solid 14 AWG pair at 20 °C by the table of the code. [ft] -> [ohm]"""
    return 2.0 * feet * NEC_SOLID_14_OHM_PER_KFT / 1000.0 * (1.0 + NEC_COPPER_PER_K * (20.0 - 75.0))


def end(cable: int, cell: int, layout: str) -> str:
    return f"/cables/{cable}/cells/{cell}/{layout}/end_voltage/value"


def sixty_watts_at_75_ft() -> dict[str, float]:
    ohms = [solid_14(75), ideal_awg(14, 75), nec_awg(14, 75)]
    ends = {end(cable, 0, "lumped"): lumped(ohm, 60) for cable, ohm in enumerate(ohms)}
    ends |= {end(cable, 0, "evenly_spread"): spread(ohm, 60) for cable, ohm in enumerate(ohms)}
    return ends | {
        end(0, 0, "shortcut"): shortcut(14, 60, 75),
        "/cables/0/cells/0/shortcut/minus_lumped/value": shortcut(14, 60, 75) - lumped(ohms[0], 60),
        "/cables/0/cells/0/shortcut/minus_evenly_spread/value": shortcut(14, 60, 75) - spread(ohms[0], 60),
    }


def eighty_watts_at_80_ft() -> dict[str, float]:
    ohm = nec_awg(12, 80)
    return {
        end(0, 0, "shortcut"): shortcut(12, 80, 80),
        end(0, 0, "lumped"): lumped(ohm, 80),
        end(0, 0, "evenly_spread"): spread(ohm, 80),
    }


def two_constants_for_a_gauge() -> dict[str, float]:
    return {
        end(0, 0, "shortcut"): shortcut(10, 50, 100),
        end(0, 0, "lumped"): lumped(nec_awg(10, 100), 50),
        end(1, 3, "shortcut"): shortcut(12, 74, 50),
        end(1, 3, "lumped"): lumped(nec_awg(12, 50), 74),
    }


def three_per_cent_table() -> dict[str, float]:
    table = [(2.5, 2.5), (4.0, 5.0), (6.0, 7.5), (10.0, 10.0), (16.0, 15.0)]
    return {
        end(cell, cell, "lumped"): lumped(iec(section, metres), 120)
        for cell, (section, metres) in enumerate(table)
    }


def iec(section: float, metres: float) -> float:
    """As the others, with the row that they do not have: 10 mm², 1.83 ohm/km (IEC 60228 table 2). [ohm]"""
    return 2.0 * metres * 1.83 / 1000.0 if section == 10.0 else iec_mm2(section, metres)
