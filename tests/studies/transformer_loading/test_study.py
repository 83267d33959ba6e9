"""The loading against a bench of its own, and the choice against trying every transformer one by one."""

from itertools import combinations
from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.app import app
from tests import jobs
from tests.cases.derivation import SUPPLY, Bench, nec_awg, power
from tests.client import Client
from tests.jobs import Json
from tests.studies.transformer_loading.transformers import ask, unit

CLIENT = Client(app)

LAMPS_AT_FT = (30.0, 45.0, 60.0)
REAL_W, APPARENT_VA = 14.0, 20.0


def bench_of(mains_ratio: float, temperature_c: float) -> Bench:
    """Three lamps on 14 AWG behind 100 VA at 7 %, by the figures of NEC chapter 9 table 8."""
    bench = Bench(12.0 * 1.07 * mains_ratio, source_ohm=0.07 * 144.0 / 100.0)
    steps = [at - before for at, before in zip(LAMPS_AT_FT, (0.0, *LAMPS_AT_FT), strict=False)]
    bench.chain(["a", "b", "c"], [nec_awg(14, step, temperature_c) for step in steps])
    bench.lamps.extend((name, power(REAL_W, APPARENT_VA)) for name in "abc")
    return bench


def drawn_va(bench: Bench) -> float:
    """Apparent power at the terminals: voltage there times what flows through the winding. [VA]"""
    terminal_v = bench.voltages()[SUPPLY]
    phasors = bench._settled()  # noqa: SLF001  # magnitudes alone do not give the current
    return terminal_v * abs(bench.open_circuit_v - phasors[SUPPLY]) / bench.source_ohm


def bench_job(conditions: Json) -> Json:
    lamps = [{"at": jobs.feet(at), "load": jobs.volt_amperes(REAL_W, APPARENT_VA)} for at in LAMPS_AT_FT]
    primary = {"rated": jobs.volts(120), "actual": jobs.volts(120)}
    supply = jobs.transformer(12, winding=jobs.winding(100, 7), primary=primary)
    return jobs.job(jobs.run(*lamps, cable=jobs.awg(14)), supply=supply, conditions=conditions)


@pytest.mark.parametrize("temperature_c", [-10.0, 20.0, 50.0])
def test_the_loading_is_that_of_an_impedance_matrix(temperature_c: float) -> None:
    # The service works in per-unit by Newton; the bench inverts a matrix and repeats from no load.
    reply = ask(CLIENT, bench_job({"conductor_temperature": jobs.quantity(temperature_c, "degC")}))
    expected_va = drawn_va(bench_of(1.0, temperature_c))
    assert reply["loading"]["apparent_power"]["value"] == pytest.approx(expected_va, abs=1e-3)


def test_the_worst_corner_is_the_worst_of_the_bench() -> None:
    ends = {"lowest": jobs.quantity(-10, "degC"), "highest": jobs.quantity(50, "degC")}
    mains = {"kind": "named", "range": "outlet"}
    reply = ask(CLIENT, bench_job({"mains": mains, "conductor_temperature_range": ends}))
    # ANSI C84.1 range A at the outlet: 110 to 126 of 120 V.
    expected = {
        (level, warmth): drawn_va(bench_of(at_v / 120.0, temperature_c))
        for level, at_v in (("lowest", 110.0), ("highest", 126.0))
        for warmth, temperature_c in (("cold", -10.0), ("hot", 50.0))
    }
    level, warmth = max(expected, key=lambda corner: expected[corner])
    assert reply["loading"]["corner"] == {"mains": level, "conductor_temperature": warmth}
    assert reply["loading"]["apparent_power"]["value"] == pytest.approx(max(expected.values()), abs=1e-3)


RUN_CURRENTS_A = (4.0, 6.5, 9.0)


def chain_job() -> Json:
    runs = [
        jobs.run(jobs.lamp(3, jobs.amperes(amps, power_factor=1)), cable=jobs.awg(12))
        for amps in RUN_CURRENTS_A
    ]
    return jobs.job(*runs, conditions={"mains": {"kind": "named", "range": "outlet"}})


UNITS = st.builds(
    lambda rating, reg, taps, limits, least, price: unit(
        "", rating, *taps, regulation_percent=reg, minimum_load=jobs.quantity(least, "W"), price=price,
        circuits=[{"name": str(at), "limit": jobs.quantity(limit, "A")} for at, limit in enumerate(limits)],
    ),
    st.sampled_from([200, 240, 260, 300, 600]),
    st.sampled_from([0, 3, 8]),
    st.sampled_from([[12], [12, 13], [13]]),
    st.lists(st.sampled_from([8, 10, 12, 25]), min_size=1, max_size=3),
    st.sampled_from([0, 150, 220]),
    st.sampled_from(["80", "95.50"]),
)  # fmt: skip


def carries(item: Json, maximum_ratio: float) -> bool:
    """Whether one transformer carries the job, by voltage-drop and by trying every division."""
    if 12.0 not in [tap["value"] for tap in item["taps"]]:
        return False
    rating_va = item["rating"]["value"]
    if round(12.0 * sum(RUN_CURRENTS_A) * 1.1, 9) > rating_va:
        return False
    reg = item["regulation_percent"]
    supply = jobs.transformer(12, winding=jobs.winding(rating_va, reg))
    states = [
        jobs.answer(CLIENT, {**chain_job(), "supply": {**supply, "primary": primary}, "conditions": {}})[
            "supply"
        ]
        for primary in ({"rated": jobs.volts(120), "actual": jobs.volts(at_v)} for at_v in (110, 120, 126))
    ]
    worst_va = max(12.0 * sum(RUN_CURRENTS_A), *(state["apparent_power"]["value"] for state in states))
    lowest_w = min(state["real_power"]["value"] for state in states)
    limits = [circuit["limit"]["value"] for circuit in item["circuits"]]
    return (
        worst_va <= maximum_ratio * rating_va and lowest_w >= item["minimum_load"]["value"] and fits(limits)
    )


def fits(limits: list[float]) -> bool:
    """Whether the runs go on circuits of these limits, by filling one after another in every way."""

    def fill(rest: tuple[float, ...], place: int) -> bool:
        if not rest or place == len(limits):
            return not rest
        parts = (part for size in range(len(rest) + 1) for part in combinations(range(len(rest)), size))
        return any(
            fill(tuple(amps for at, amps in enumerate(rest) if at not in part), place + 1)
            for part in parts
            if sum(rest[at] for at in part) <= limits[place]
        )

    return fill(RUN_CURRENTS_A, 0)


OF_A_UNIT = [
    "rating-at-usual-power-factor",
    "division-near-limit",
    "conductor-below-device",
    "short-circuit-below-trip",
]
"""Warnings that keep a unit from being recommended; here only faults count."""


@settings(max_examples=60)
@given(st.lists(UNITS, min_size=1, max_size=6), st.sampled_from([100, 90]))
def test_the_recommended_one_is_the_first_that_carries_the_job(stock: list[Json], maximum: int) -> None:
    stock = [item | {"id": f"T{index}"} for index, item in enumerate(stock)]
    able = [item for item in stock if carries(item, maximum / 100.0)]
    request = chain_job() | {"stock": stock, "spare_percent": 10, "maximum_loading_percent": maximum}
    reply = ask(CLIENT, request | {"accept": OF_A_UNIT})
    best = min(able, key=lambda item: (item["rating"]["value"], float(item["price"])), default=None)
    assert reply.get("recommended", {}).get("id") == (best or {}).get("id")
    assert len(reply["rejected"]) == len(stock) - (best is not None)
    carried_but = {"larger-than-needed", "costs-more", "listed-later", "without-price"}
    for row in reply["rejected"]:
        lacks_something = not {reason["code"] for reason in row["reasons"]} <= carried_but
        if lacks_something:
            assert row["id"] not in [item["id"] for item in able]


def test_volt_amperes_over_power_factor_close_the_triangle() -> None:
    loading = ask(CLIENT, bench_job({}))["loading"]
    real_w, apparent_va = loading["real_power"]["value"], loading["apparent_power"]["value"]
    # Cable adds watts and no volt-amperes reactive: what the lamps have of those is what the terminals have.
    reactive = 3 * sqrt(APPARENT_VA**2 - REAL_W**2)
    assert sqrt(apparent_va**2 - real_w**2) == pytest.approx(reactive, abs=2e-3)
