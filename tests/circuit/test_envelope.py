"""The envelope: no state that a request allows lies outside it.

Held against random states: mains and temperatures between the ends, any part on that the switching allows.
The claim is exact for loads of constant power and current, lagging or not, on trees and on loops, and for the
mains at a given temperature. Filaments and resistors that share a winding or a trunk may be some millivolts
outside between two temperatures, because the cable of one sheds the current of another: see the last tests.
"""

import json
import random
from collections.abc import Iterator
from typing import NamedTuple

import pytest

from service.circuit.corners import Corner, at_corner
from service.circuit.envelope import EnvelopeResult, envelope_of
from service.circuit.job import Job
from service.circuit.reading import SupplyResult, built, feeder_currents, supply_at
from service.circuit.state import (
    SolvedState,
    connect_job,
    network_of,
    solve_connected,
)
from service.circuit.work import WorkOverLimitError
from service.intake import decode
from service.physics.network import with_loads
from service.studies.voltage_drop.request import VoltageDropRequest
from service.studies.voltage_drop.translate import job_of
from tests.cases.derivation import nec_awg
from tests.jobs import (
    Json,
    amperes,
    awg,
    battery,
    branch,
    dc_supply,
    halogen,
    job,
    lamp,
    metres,
    quantity,
    resistor,
    run,
    transformer,
    volt_amperes,
    volts,
    watts,
    winding,
    window,
)

COLD_C, HOT_C = -20.0, 70.0
OUTSIDE_V = 1e-9
"""What two solutions of one state may differ by. [V]"""

INTERIOR_V = 0.015
"""What filaments and resistors may lie outside between two temperatures; the worst found was 0.010 V. [V]"""

ANY: Json = {"window": window(0.5, 60)}
SUPPLIES = {
    "ideal": transformer(),
    "weak winding": transformer(winding=winding(150, 7)),
    "strong winding": transformer(winding=winding(600, 4), taps=[volts(12), volts(13)]),
    "dc": dc_supply(12, internal_resistance=quantity(40, "mohm")),
    "battery": battery(11, 12.4, 14, internal_resistance=quantity(50, "mohm")),
}
DRIVERS = ("power", "lagging power", "current", "lagging current")
FILAMENTS = ("filament", "resistor", "power")


class Lit(NamedTuple):
    """One state with some fixtures on."""

    state: SolvedState
    on: list[bool]


def range_of(lowest_c: float, highest_c: float) -> Json:
    return {"lowest": quantity(lowest_c, "degC"), "highest": quantity(highest_c, "degC")}


def read(request: Json) -> Job:
    return job_of(decode(json.dumps(request).encode(), VoltageDropRequest))


def enveloped(request: Json) -> tuple[Job, EnvelopeResult]:
    laid = read(request)
    assert laid.corners is not None
    return laid, envelope_of(built(laid), laid.corners)


def load(pick: random.Random, kinds: tuple[str, ...]) -> Json:
    size = pick.uniform(2, 30)
    return {
        "power": watts(size, power_factor=1),
        "lagging power": volt_amperes(size, 1.5 * size),
        "current": amperes(size / 12, power_factor=1),
        "lagging current": amperes(size / 12, power_factor=0.7),
        "filament": halogen(size),
        "resistor": resistor(size),
    }[pick.choice(kinds)]


def garden(pick: random.Random, kinds: tuple[str, ...], supply: str, switching: str, *, loops: bool) -> Json:
    cables = [awg(12), awg(10), {"kind": "listed", "conductor": "4 mm2"}]
    runs = []
    for _ in range(pick.randint(1, 4)):
        places = sorted(pick.uniform(1, 30) for _ in range(pick.randint(1, 3)))
        more: Json = {"circuit": pick.choice("ab")}
        if loops:
            more["return_leg"] = {"length": metres(pick.uniform(2, 20))}
        if pick.random() < 0.4:
            twig = branch(
                places[0], lamp(pick.uniform(1, 9), load(pick, kinds), **ANY), cable=pick.choice(cables)
            )
            more["branches"] = [twig]
        if "taps" in SUPPLIES[supply] and pick.random() < 0.5:
            more["tap"] = volts(13)
        runs.append(
            run(*[lamp(at_m, load(pick, kinds), **ANY) for at_m in places], cable=pick.choice(cables), **more)
        )
    conditions = {
        "mains": {"kind": "named", "range": "outlet"},
        "conductor_temperature_range": range_of(COLD_C, HOT_C),
        "switching": switching,
    }
    return job(*runs, supply=SUPPLIES[supply], conditions=conditions)


def at(laid: Job, pick: random.Random, *, at_the_ends: bool) -> Job:
    """The job with mains and temperature somewhere in their ranges."""
    assert laid.corners is not None
    # Direct current does not follow the mains.
    low, high = laid.corners.mains_ratios or (1.0, 1.0)
    share = pick.choice((0.0, 1.0, pick.random()))
    warmth = pick.choice((0.0, 1.0)) if at_the_ends else pick.choice((0.0, 1.0, pick.random()))
    corner = Corner("", low + share * (high - low), "", COLD_C + warmth * (HOT_C - COLD_C))
    placed = at_corner(laid, corner)
    if laid.supply.range_v is not None:
        lowest_v, highest_v = min(laid.supply.range_v), max(laid.supply.range_v)
        standing = placed.supply._replace(standing_v=lowest_v + share * (highest_v - lowest_v))
        placed = placed._replace(supply=standing)
    return placed


def states(laid: Job, pick: random.Random, count: int, *, at_the_ends: bool) -> Iterator[Lit]:
    """Random states that the switching allows."""
    assert laid.corners is not None
    for _ in range(count):
        connected = connect_job(at(laid, pick, at_the_ends=at_the_ends))
        layout = connected.layout
        if laid.corners.switching == "by-run":
            lit = {leader: pick.random() < 0.5 for leader in layout.leaders}
            on = [lit[layout.leaders[placed.feeder]] for placed in layout.fixtures]
        else:
            alone = laid.corners.switching == "individually"
            on = [not alone or pick.random() < 0.5 for _ in layout.fixtures]
        loads = layout.loads_by_fixture(all_in_phase=False)
        lit_loads = [each for hung, lit_ in zip(loads, on, strict=True) if lit_ for each in hung]
        if any(on):
            state = solve_connected(connected, with_loads(network_of(connected), lit_loads))
            assert state is not None
            yield Lit(state, on)


def solved(laid: Job) -> SolvedState:
    """A job that can be carried."""
    state = built(laid).solved()
    assert state is not None
    return state


def outside_v(envelope: EnvelopeResult, lit: Lit) -> float:
    """How far the farthest fixture that is on, or the terminal, lies outside. [V]"""
    worst = -1.0
    judged_v = lit.state.fixture_voltages(lit.state.voltages()).judged_v
    for placed, shown_v, on in zip(lit.state.layout.fixtures, judged_v, lit.on, strict=True):
        extremes = envelope.fixtures[placed.subject]
        assert extremes.lowest is not None
        assert extremes.highest is not None
        if on:
            worst = max(worst, extremes.lowest.value - shown_v, shown_v - extremes.highest.value)
    lowest, highest = envelope.terminal_v.lowest, envelope.terminal_v.highest
    assert lowest is not None
    assert highest is not None
    terminal_v = supply_of(lit).terminal_v
    return max(worst, lowest.value - terminal_v, terminal_v - highest.value)


def over_a(envelope: EnvelopeResult, lit: Lit) -> float:
    """By how much the worst circuit draws more than the envelope says. [A]"""
    worst = -1.0
    for circuit in supply_of(lit).circuits:
        known = envelope.circuits.get(circuit.name)
        if known is not None and known.highest is not None:
            worst = max(worst, circuit.current_a - known.highest.value)
    return worst


def supply_of(lit: Lit) -> SupplyResult:
    return supply_at(lit.state, feeder_currents(lit.state), delivered_w=0.0)


@pytest.mark.parametrize("switching", ["together", "by-run", "individually"])
@pytest.mark.parametrize("supply", SUPPLIES)
@pytest.mark.parametrize(
    ("kinds", "at_the_ends"),
    [(DRIVERS, False), (FILAMENTS, True), (FILAMENTS, False)],
    ids=["drivers anywhere", "filaments at the ends of temperature", "filaments anywhere"],
)
def test_no_state_lies_outside(
    kinds: tuple[str, ...], supply: str, switching: str, *, at_the_ends: bool
) -> None:
    slack_v = OUTSIDE_V if at_the_ends or kinds == DRIVERS else INTERIOR_V
    pick, seen = random.Random(f"{supply} {switching}"), 0
    for index in range(8):
        laid, envelope = enveloped(garden(pick, kinds, supply, switching, loops=index % 2 == 1))
        if envelope.collapsed:
            continue
        for lit in states(laid, pick, 36, at_the_ends=at_the_ends):
            seen += 1
            assert outside_v(envelope, lit) <= slack_v
            assert over_a(envelope, lit) <= 0.1 * slack_v + 1e-8
    assert seen > 120  # 45 combinations: 10,000 states and some


def test_one_lamp_alone_is_what_the_closed_form_says() -> None:
    # Alone, the winding included: E - R I; a driver (E + √(E² - 4 R P)) / 2; a resistor E / (1 + R G).
    lamps = (lamp(10, amperes(1.5, power_factor=1), **ANY), lamp(22, watts(18, power_factor=1), **ANY))
    third = lamp(30, resistor(20), **ANY)
    request = job(run(*lamps, third, cable=awg(14)), supply=transformer(winding=winding(150, 6)))
    _, envelope = enveloped({**request, "conditions": {"switching": "individually"}})
    open_v, source_ohm = 12 * 1.06, 0.06 * 144 / 150
    ohm = [source_ohm + nec_awg(14, at_m / 0.3048) for at_m in (10, 22, 30)]
    alone_v = [
        open_v - ohm[0] * 1.5,
        (open_v + (open_v**2 - 4 * ohm[1] * 18) ** 0.5) / 2,
        open_v / (1 + ohm[2] * 20 / 144),
    ]
    highest = [extremes.highest for extremes in envelope.fixtures.values()]
    assert [each.value for each in highest if each is not None] == pytest.approx(alone_v, abs=1e-9)
    assert all(each is not None and each.corner.on is not None for each in highest)
    terminal = envelope.terminal_v.highest
    assert terminal is not None
    assert terminal.value == pytest.approx(
        max(open_v - source_ohm * amps for amps in (1.5, 18 / alone_v[1], alone_v[2] * 20 / 144)), abs=1e-9
    )


def test_the_same_state_is_found_by_hand_at_each_corner() -> None:
    # 12 AWG, 20 m, 2 A; mains 110 and 126 of 120 V (ANSI C84.1), the code's coefficient from -20 to 70 °C.
    lights = run(lamp(20, amperes(2, power_factor=1), **ANY), cable=awg(12))
    conditions = {
        "mains": {"kind": "named", "range": "outlet"},
        "conductor_temperature_range": range_of(COLD_C, HOT_C),
    }
    _, envelope = enveloped(job(lights, conditions=conditions))
    (extremes,) = envelope.fixtures.values()
    assert extremes.lowest is not None
    assert extremes.highest is not None
    feet = 20 / 0.3048
    assert extremes.lowest.value == pytest.approx(11.0 - 2 * nec_awg(12, feet, HOT_C), abs=1e-9)
    assert extremes.highest.value == pytest.approx(12.6 - 2 * nec_awg(12, feet, COLD_C), abs=1e-9)


def test_of_a_run_alone_a_lamp_may_be_highest_on_hot_cable() -> None:
    # The near lamp shares the winding with a filament far off, which hot cable keeps from its current.
    near, far = lamp(1, halogen(5), **ANY), lamp(60, halogen(60), **ANY)
    other = run(lamp(5, halogen(20), **ANY), cable=awg(12))
    conditions = {"conductor_temperature_range": range_of(COLD_C, HOT_C), "switching": "by-run"}
    request = job(
        run(near, far, cable=awg(12)),
        other,
        supply=transformer(winding=winding(60, 10)),
        conditions=conditions,
    )
    laid, envelope = enveloped(request)
    first = next(iter(envelope.fixtures.values()))
    assert first.highest is not None
    assert first.highest.corner.temperature == "hot"
    assert first.highest.corner.on is not None
    alone = laid._replace(
        wiring=laid.wiring[:1],  # type: ignore[arg-type]  # these gardens are runs, never a graph
        corners=None,
        temperature_c=HOT_C,
    )
    state = solved(alone)
    assert first.highest.value == pytest.approx(
        state.fixture_voltages(state.voltages()).judged_v[0], abs=1e-9
    )


def test_a_circuit_of_filaments_draws_most_with_the_other_circuit_off() -> None:
    runs = [{**run(lamp(5, halogen(50), **ANY), cable=awg(12)), "circuit": name} for name in "ab"]
    request = job(*runs, supply=transformer(winding=winding(100, 8)), conditions={"switching": "by-run"})
    laid, envelope = enveloped(request)
    first = laid.wiring[:1]
    alone = solved(laid._replace(wiring=first, corners=None))  # type: ignore[arg-type]  # runs, as above
    both = solved(laid._replace(corners=None))
    highest = envelope.circuits["a"].highest
    assert highest is not None
    assert highest.value == pytest.approx(abs(feeder_currents(alone)[0]), abs=1e-9)
    assert highest.value > abs(feeder_currents(both)[0]) + 0.05


def test_between_two_temperatures_a_resistor_may_be_higher_than_at_either() -> None:
    # The smallest example: two resistors on one weak winding. Cold cable lets the far one draw more, which
    # costs the near one volts in the winding; hot cable costs the near one volts of its own. In between it is
    # best off, by 0.01 V. Corners cannot see that; what they miss stays below what a meter shows.
    near = run(lamp(16.38, resistor(45.3), **ANY), cable=awg(12))
    far = run(lamp(57.1, resistor(98.4), **ANY), cable=awg(16))
    conditions = {"conductor_temperature_range": range_of(-40, 90)}
    laid, envelope = enveloped(
        job(near, far, supply=transformer(winding=winding(60, 15)), conditions=conditions)
    )
    first = next(iter(envelope.fixtures.values()))
    assert first.highest is not None
    state = solved(laid._replace(corners=None, temperature_c=30.0))
    missed_v = state.fixture_voltages(state.voltages()).judged_v[0] - first.highest.value
    assert 0.0 < missed_v < INTERIOR_V


def test_a_corner_that_collapses_gives_no_values_and_is_listed() -> None:
    lights = run(lamp(60, watts(30), **ANY), cable=awg(14))
    conditions = {"conductor_temperature_range": range_of(-40, 90)}
    laid, envelope = enveloped(job(lights, conditions=conditions))
    assert [corner.temperature for corner, _ in envelope.collapsed] == ["hot"]
    assert built(laid._replace(corners=None, temperature_c=90.0)).solved() is None


def test_more_corners_than_the_work_allows_are_refused() -> None:
    runs = [run(lamp(1, watts(0.01), count=10, spacing=metres(1)), cable=awg(12)) for _ in range(190)]
    with pytest.raises(WorkOverLimitError):
        enveloped(job(*runs, conditions={"switching": "by-run"}))
