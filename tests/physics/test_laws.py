"""Laws that every solved circuit obeys, on random trees and meshes with loads of every kind.

Kirchhoff's and Ohm's laws are written down here a second time, in ohms and volts, from the spans. Two solved
circuits are compared to 2e-9 of the open-circuit voltage: each may be off by its last step, which is below
1e-9 of it.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random
from sys import float_info

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from service.physics.load import Load
from service.physics.network import Network, Span, build_network
from service.physics.solve import solve
from tests.physics.networks import RERATING_EXPONENT, Circuit, circuits, circuits_in_phase, current_a

REPEATABLE = settings(max_examples=150, derandomize=True, database=None, deadline=None)
LAST_STEPS = 2e-9
PARTS = st.floats(0.05, 0.95)


def kept_a(circuit: Circuit, voltages: list[complex]) -> list[complex]:
    """What arrives at each point and neither leaves nor is drawn. [A]"""
    kept = [0j] * circuit.points
    for start, end, resistance_ohm in circuit.spans:
        flow = (voltages[start] - voltages[end]) / resistance_ohm
        kept[start] -= flow
        kept[end] += flow
    if circuit.winding_ohm:
        kept[0] += (circuit.source_v - voltages[0]) / circuit.winding_ohm
    for point, load in circuit.loads:
        kept[point] -= current_a(load, voltages[point])
    return kept


def rounding_a(circuit: Circuit) -> list[float]:
    """The last bit of each voltage, as a current through the spans that meet there. [A]"""
    conductance_s = [1.0 / circuit.winding_ohm if circuit.winding_ohm else 0.0] + [0.0] * (circuit.points - 1)
    for start, end, resistance_ohm in circuit.spans:
        conductance_s[start] += 1.0 / resistance_ohm
        conductance_s[end] += 1.0 / resistance_ohm
    return [4.0 * float_info.epsilon * circuit.source_v * conductance for conductance in conductance_s]


def source_current_a(circuit: Circuit, voltages: list[complex]) -> complex:
    """What the supply delivers, counted at the terminal. [A]"""
    current = sum(current_a(load, voltages[0]) for point, load in circuit.loads if point == 0)
    for start, end, resistance_ohm in circuit.spans:
        if 0 in (start, end):
            current += (voltages[0] - voltages[start or end]) / resistance_ohm
    return current


def solved_v(circuit: Circuit) -> list[float]:
    return circuit.magnitudes(solve(circuit.network()))


def assert_same(circuit: Circuit, found_v: list[float], expected_v: list[float]) -> None:
    off_v = max(abs(found - expected) for found, expected in zip(found_v, expected_v, strict=True))
    assert off_v <= LAST_STEPS * circuit.source_v


@REPEATABLE
@given(circuits())
def test_current_that_arrives_at_a_point_leaves_it(circuit: Circuit) -> None:
    kept = kept_a(circuit, circuit.voltages(solve(circuit.network())))
    pairs = list(zip(kept, rounding_a(circuit), strict=True))
    # In phase and across each may leave 1e-9 A; an ideal supply holds its terminal whatever is drawn there.
    assert all(
        abs(left_a) <= 1.5e-9 + unseen_a for left_a, unseen_a in pairs[0 if circuit.winding_ohm else 1 :]
    )


@REPEATABLE
@given(circuits())
def test_reported_residual_is_within_its_bound(circuit: Circuit) -> None:
    rounding = 64.0 * max(rounding_a(circuit))
    assert 0.0 <= solve(circuit.network()).residual_a <= 1e-9 + rounding


@REPEATABLE
@given(circuits())
def test_power_of_the_supply_is_spent_in_loads_and_resistances(circuit: Circuit) -> None:
    voltages = circuit.voltages(solve(circuit.network()))
    source_a = source_current_a(circuit, voltages)
    loads_w = sum((voltages[p] * current_a(load, voltages[p]).conjugate()).real for p, load in circuit.loads)
    spans_w = sum(abs(voltages[s.start] - voltages[s.end]) ** 2 / s.resistance_ohm for s in circuit.spans)
    supplied_w = circuit.source_v * source_a.real
    # A current of 1e-9 A left over at a point is a power of that times its voltage that the balance cannot
    # see.
    unseen_w = 1e-9 * circuit.source_v * circuit.points
    spent_w = loads_w + spans_w + circuit.winding_ohm * abs(source_a) ** 2
    assert abs(supplied_w - spent_w) <= 1e-9 * supplied_w + unseen_w


@REPEATABLE
@given(circuits(), st.data(), PARTS)
def test_splitting_a_span_in_two_changes_nothing(
    circuit: Circuit, choice: st.DataObject, part: float
) -> None:
    index = choice.draw(st.integers(0, len(circuit.spans) - 1))
    start, end, resistance_ohm = circuit.spans[index]
    near = Span(start, circuit.points, part * resistance_ohm)
    far = Span(circuit.points, end, (1.0 - part) * resistance_ohm)
    spans = (*circuit.spans[:index], near, far, *circuit.spans[index + 1 :])
    split = replace(circuit, points=circuit.points + 1, spans=spans)
    assert_same(circuit, solved_v(split)[:-1], solved_v(circuit))


@REPEATABLE
@given(circuits(), st.randoms(use_true_random=False))
def test_order_of_points_and_spans_changes_nothing(circuit: Circuit, shuffler: Random) -> None:
    others = list(range(1, circuit.points))
    shuffler.shuffle(others)
    new = [0, *others]
    spans = [Span(new[end], new[start], resistance_ohm) for start, end, resistance_ohm in circuit.spans]
    shuffler.shuffle(spans)
    loads = tuple((new[point], load) for point, load in reversed(circuit.loads))
    found_v = solved_v(replace(circuit, spans=tuple(spans), loads=loads))
    assert_same(circuit, [found_v[point] for point in new], solved_v(circuit))


@REPEATABLE
@given(circuits(), st.floats(0.05, 20.0))
def test_voltages_scale_with_supply_when_power_scales_with_its_square(
    circuit: Circuit, factor: float
) -> None:
    loads = tuple((point, at_higher_voltage(load, factor)) for point, load in circuit.loads)
    larger = replace(circuit, source_v=factor * circuit.source_v, loads=loads)
    assert_same(larger, solved_v(larger), [factor * volts for volts in solved_v(circuit)])


@REPEATABLE
@given(circuits(), st.floats(-6.0, 6.0))
def test_voltages_stay_when_resistances_rise_as_loads_fall(circuit: Circuit, exponent: float) -> None:
    # A nanoampere left over is nothing behind a milliohm and a millivolt behind a megohm.
    factor = 10.0**exponent
    spans = tuple(Span(start, end, factor * ohm) for start, end, ohm in circuit.spans)
    finer = replace(circuit, spans=spans, winding_ohm=factor * circuit.winding_ohm).scaled(1.0 / factor)
    assert_same(circuit, solved_v(finer), solved_v(circuit))


def at_higher_voltage(load: Load, factor: float) -> Load:
    """The load that draws `factor` times the current at `factor` times the voltage."""
    return Load(
        power_w=load.power_w * factor**2,
        current_a=load.current_a * factor,
        conductance_s=load.conductance_s,
        filament_a=load.filament_a * factor ** (1.0 - RERATING_EXPONENT),
        non_active_var=load.non_active_var * factor**2,
        non_active_a=load.non_active_a * factor,
    )


@REPEATABLE
@given(circuits(meshed=False))
def test_tree_of_doubled_spans_of_double_resistance_is_the_tree(circuit: Circuit) -> None:
    doubled = tuple(Span(start, end, 2.0 * ohm) for start, end, ohm in circuit.spans for _ in range(2))
    assert_same(circuit, solved_v(replace(circuit, spans=doubled)), solved_v(circuit))


@REPEATABLE
@given(circuits(meshed=False), PARTS)
def test_tree_solved_as_a_mesh_of_bridges_agrees(circuit: Circuit, part: float) -> None:
    # Each span becomes a balanced bridge: two ways round with a rung between points of one voltage, so no
    # current.
    spans: list[Span] = []
    for index, (start, end, ohm) in enumerate(circuit.spans):
        left, right = circuit.points + 2 * index, circuit.points + 2 * index + 1
        spans += [Span(start, point, 2.0 * part * ohm) for point in (left, right)]
        spans += [Span(point, end, 2.0 * (1.0 - part) * ohm) for point in (left, right)]
        spans.append(Span(left, right, 0.1))
    bridges = replace(circuit, points=circuit.points + 2 * len(circuit.spans), spans=tuple(spans))
    assert_same(circuit, solved_v(bridges)[: circuit.points], solved_v(circuit))


@REPEATABLE
@given(circuits_in_phase(), st.data())
def test_one_more_fixture_never_raises_a_voltage(circuit: Circuit, choice: st.DataObject) -> None:
    smaller = circuit.scaled(0.5)
    point = choice.draw(st.integers(0, circuit.points - 1))
    index = choice.draw(st.integers(0, len(circuit.loads) - 1))
    extra = replace(smaller, loads=(*smaller.loads, (point, smaller.loads[index][1]))).loaded_to_at_most(0.24)
    before = replace(extra, loads=extra.loads[:-1])
    pairs = zip(solved_v(extra), solved_v(before), strict=True)
    assert all(after_v <= before_v + LAST_STEPS * circuit.source_v for after_v, before_v in pairs)


@REPEATABLE
@given(circuits_in_phase(meshed=False), st.data(), st.floats(1.01, 3.0))
def test_longer_span_of_a_tree_never_raises_a_voltage_behind_it(
    circuit: Circuit, choice: st.DataObject, factor: float
) -> None:
    index = choice.draw(st.integers(0, len(circuit.spans) - 1))
    start, end, ohm = circuit.spans[index]
    spans = (*circuit.spans[:index], Span(start, end, factor * ohm), *circuit.spans[index + 1 :])
    longer = replace(circuit, spans=spans).loaded_to_at_most(0.24)
    shorter = replace(longer, spans=circuit.spans)
    behind = points_behind(circuit.spans, end)
    longer_v, shorter_v = solved_v(longer), solved_v(shorter)
    assert all(longer_v[point] <= shorter_v[point] + LAST_STEPS * circuit.source_v for point in behind)


def points_behind(spans: tuple[Span, ...], first: int) -> set[int]:
    """A point and all those that hang on it; the spans of a tree run from the terminal outwards, in order."""
    behind = {first}
    for start, end, _ in spans:
        if start in behind:
            behind.add(end)
    return behind


@REPEATABLE
@given(circuits_in_phase(), st.data(), st.floats(0.001, 0.48))
def test_manufactured_voltages_come_back(circuit: Circuit, choice: st.DataObject, deepest: float) -> None:
    # Voltages first, then what each point must draw to have them. Powers at voltages above half the open
    # circuit have no second solution up there: with J the Jacobian, J (E - V) = P (2V - E)/V² is positive, so
    # J is an M-matrix.
    shares = choice.draw(st.lists(st.floats(0.0, 1.0), min_size=circuit.points, max_size=circuit.points))
    drops = circuit.transfer_ohm() @ np.array([0.0, *shares[1:-1], 1.0])
    chosen = [complex(circuit.source_v * (1.0 - deepest * drop / drops.max())) for drop in drops]
    bare = replace(circuit, loads=())
    powers = [
        (kept * volts.conjugate()).real for kept, volts in zip(kept_a(bare, chosen), chosen, strict=True)
    ]
    loads = tuple((point, Load(power_w=max(0.0, power))) for point, power in enumerate(powers) if point)
    assert_same(circuit, solved_v(replace(circuit, loads=loads)), [volts.real for volts in chosen])


@REPEATABLE
@given(circuits_in_phase(), circuits_in_phase(), st.floats(0.001, 0.1))
def test_two_taps_share_one_winding(first: Circuit, second: Circuit, share: float) -> None:
    taps = [without_terminal_loads(first), without_terminal_loads(second)]
    full_w = sum(
        circuit.source_v * current_a(load, complex(circuit.source_v)).real
        for circuit in taps
        for _, load in circuit.loads
    )
    drop = solve(two_taps(taps[0], taps[1], share / full_w)).drop
    drawn_w, offset = 0.0, 0
    for circuit in taps:
        # Each tap again by itself, held at the terminal voltage found; its current in ohms and volts from
        # there.
        alone = replace(circuit, source_v=circuit.source_v * (1.0 - drop[0]))
        voltages = alone.voltages(solve(alone.network()))
        found_v = [circuit.source_v * (1.0 - drop[offset + point]) for point in range(1, circuit.points)]
        assert_same(circuit, found_v, [volts.real for volts in voltages[1:]])
        drawn_w += circuit.source_v * source_current_a(alone, voltages).real
        offset += circuit.points - 1
    assert abs(drop[0] - share / full_w * drawn_w) <= LAST_STEPS


def without_terminal_loads(circuit: Circuit) -> Circuit:
    loads = tuple((point, load) for point, load in circuit.loads if point)
    return replace(circuit, loads=loads, winding_ohm=0.0).scaled(0.5)


def two_taps(first: Circuit, second: Circuit, source_resistance: float) -> Network:
    """Both circuits behind one winding, its resistance over the square of its open-circuit voltage. [1/W]"""
    moved = {point: point + first.points - 1 if point else 0 for point in range(second.points)}
    volts = [first.source_v] * first.points + [second.source_v] * (second.points - 1)
    spans = [*first.spans, *(Span(moved[start], moved[end], ohm) for start, end, ohm in second.spans)]
    loads = [*first.loads, *((moved[point], load) for point, load in second.loads)]
    return build_network(volts, spans, loads, source_resistance=source_resistance)
