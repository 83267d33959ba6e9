"""Every number that the commissioning-sheet cases expect, derived once more without the service."""

from math import sqrt

from tests.cases.derivation import SUPPLY, Bench, nec_awg, power

Derived = dict[str, float]

MAINS = (114.0, 120.0, 126.0)


def at(stage: int, point: int, column: int, member: str = "value") -> str:
    """Where a number stands in the reply, each counted from nought."""
    return f"/stages/{stage}/test_points/{point}/expected/{column}/{member}/value"


def two_resistors_by_hand() -> Derived:
    # Ohm's law and nothing else: two lamps of 144/20 and 144/30 ohm, cables of 2 x 20 m and 2 x 10 m at
    # 5 ohm/km, a winding of 4 % of 144/96 ohm.
    winding, cables, lamps = 0.04 * 144.0 / 96.0, (0.2, 0.1), (7.2, 4.8)
    branches = [cable + lamp for cable, lamp in zip(cables, lamps, strict=True)]
    derived = {}
    for column, mains in enumerate((108.0, 120.0)):
        open_v = 12.0 * 1.04 * mains / 120.0
        derived[at(0, 0, column)] = open_v
        for run in (0, 1):
            alone = open_v / (winding + branches[run])
            values = [open_v - winding * alone, alone, lamps[run] * alone]
            derived |= {at(1 + run, point, column): value for point, value in enumerate(values)}
        both = 1.0 / sum(1.0 / ohm for ohm in branches)
        total = open_v / (winding + both)
        terminal = open_v - winding * total
        amps = [terminal / ohm for ohm in branches]
        values = [terminal, total, amps[0], lamps[0] * amps[0], amps[1], lamps[1] * amps[1]]
        derived |= {at(3, point, column): value for point, value in enumerate(values)}
        # Bare terminals: meter 1 % and 2 counts of 0.01 V, supply 2 % for the visit and 1 % for the state;
        # limits over √3, twice (GUM, JCGM 100:2008, 4.3.7 and 6.3.3).
        limits = 0.01 * open_v, 0.02, 0.02 * open_v, 0.01 * open_v
        derived[at(0, 0, column, "tolerance")] = 2.0 * sqrt(sum(each * each for each in limits) / 3.0)
    return derived


def _garden(open_v: float, lit: tuple[bool, bool]) -> tuple[dict[str, float], list[complex]]:
    """Volts at the places of a garden of two runs, and the phasors of the amperes into each. [V], [A]"""
    bench = Bench(open_v, 0.05 * 144.0 / 150.0)
    loads = {"bench": power(9.0, 10.0), "arch": power(6.0, 7.5), "pool": power(12.0)}
    if lit[0]:
        bench.chain(
            ["bench", "arch", "tail"], [nec_awg(12, 40.0), nec_awg(12, 30.0), nec_awg(12, 10.0)], SUPPLY
        )
        bench.lamps.extend((name, loads[name]) for name in ("bench", "arch"))
    if lit[1]:
        bench.chain(["pool"], [nec_awg(14, 55.0)], SUPPLY)
        bench.lamps.append(("pool", loads["pool"]))
    volts = bench.phasors()
    amps = [
        (volts[SUPPLY] - volts[first]) / nec_awg(*cable) if on else 0j
        for on, first, cable in zip(lit, ("bench", "pool"), ((12, 40.0), (14, 55.0)), strict=True)
    ]
    return {name: abs(value) for name, value in volts.items()}, amps


def garden_at_three_mains() -> Derived:
    derived = {}
    for column, mains in enumerate(MAINS):
        open_v = 12.0 * 1.05 * mains / 120.0
        derived[at(0, 0, column)] = open_v
        first, (lawn, _) = _garden(open_v, (True, False))
        second, (_, water) = _garden(open_v, (False, True))
        stages = [
            [first[SUPPLY], abs(lawn), first["bench"], first["arch"], first["tail"]],
            [second[SUPPLY], abs(water), second["pool"]],
        ]
        every, (lawn, water) = _garden(open_v, (True, True))
        along = [abs(lawn), every["bench"], every["arch"], every["tail"], abs(water), every["pool"]]
        stages.append([every[SUPPLY], abs(lawn + water), *along])
        for stage, values in enumerate(stages, 1):
            derived |= {at(stage, point, column): value for point, value in enumerate(values)}
    return derived


def too_much_for_its_cable() -> Derived:
    # Only the near run can be carried: E²/4R of the far one is less than its 100 W.
    far_ohm = nec_awg(12, 150.0)
    assert 12.6**2 / (4.0 * far_ohm) < 100.0
    near_v = 0.5 * (12.6 + sqrt(12.6**2 - 4.0 * nec_awg(12, 20.0) * 5.0))
    return {at(0, 0, 0): 12.6, at(1, 2, 0): near_v}
