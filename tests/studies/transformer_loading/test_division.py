"""Dividing runs over circuits: the search against every division there is."""

import random
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.studies.transformer_loading.division import (
    EXACT_LOADS,
    Division,
    divide,
    divide_where_known,
    nearest_parts,
    parts_between,
)

AMPERES = st.floats(min_value=0.0, max_value=30.0)
LIMITS = st.floats(min_value=1.0, max_value=40.0)


def fullest(loads: list[float], limits: list[float], circuit_of: tuple[int, ...]) -> float:
    held = [0.0] * len(limits)
    for load, circuit in zip(loads, circuit_of, strict=True):
        held[circuit] += load
    return max(amps / limit for amps, limit in zip(held, limits, strict=True))


def best_of_all(loads: list[float], limits: list[float]) -> float:
    """The smallest largest share, found by trying every division."""
    return min(fullest(loads, limits, of) for of in product(range(len(limits)), repeat=len(loads)))


def assert_best(loads: list[float], limits: list[float]) -> None:
    found = divide(loads, limits)
    assert found.exact
    assert found.largest_ratio == pytest.approx(best_of_all(loads, limits), rel=1e-9, abs=1e-12)
    assert found.largest_ratio == pytest.approx(fullest(loads, limits, found.circuit_of), rel=1e-12)


@given(
    st.lists(AMPERES, min_size=0, max_size=6),
    st.lists(LIMITS, min_size=1, max_size=3),
)
def test_no_division_is_better_than_the_one_found(loads: list[float], limits: list[float]) -> None:
    assert_best(loads, limits)


@pytest.mark.parametrize("seed", range(40))
def test_no_division_of_eight_runs_is_better(seed: int) -> None:
    chance = random.Random(seed)
    loads = [chance.choice([chance.uniform(0.5, 12.0), 3.7, 5.0]) for _ in range(8)]
    limits = [chance.choice([25.0, 25.0, 20.0, 15.0]) for _ in range(chance.choice([2, 3, 4]))]
    assert_best(loads, limits)


@given(
    st.lists(AMPERES, min_size=0, max_size=6),
    st.lists(st.tuples(LIMITS | st.just(25.0), AMPERES | st.just(0.0)), min_size=1, max_size=4),
)
def test_no_division_beside_what_circuits_carry_already_is_better(
    loads: list[float], circuits: list[tuple[float, float]]
) -> None:
    limits, held = [limit for limit, _ in circuits], [amps for _, amps in circuits]
    found = divide(loads, limits, held=held)
    shares = [
        max(
            (amps + sum(load for load, of in zip(loads, division, strict=True) if of == circuit)) / limit
            for circuit, (limit, amps) in enumerate(circuits)
        )
        for division in [found.circuit_of, *product(range(len(limits)), repeat=len(loads))]
    ]
    assert found.exact
    assert shares[0] == pytest.approx(min(shares), rel=1e-9, abs=1e-12)
    assert found.largest_ratio == pytest.approx(shares[0], rel=1e-12)


def test_what_is_carried_already_counts_where_a_limit_is_not_known() -> None:
    # 8 A on the circuit of 10 A are all that it may carry for long; the rest goes where nothing is known.
    assert divide_where_known([3.0, 2.0], [10.0, None], held=[8.0, 0.0]).circuit_of == (1, 1)


@given(st.lists(AMPERES, min_size=1, max_size=12), st.lists(LIMITS, min_size=1, max_size=4))
def test_the_order_of_the_runs_changes_nothing(loads: list[float], limits: list[float]) -> None:
    there, back = divide(loads, limits), divide(loads[::-1], limits)
    assert there.largest_ratio == pytest.approx(back.largest_ratio, rel=1e-9, abs=1e-12)


@given(st.lists(AMPERES, min_size=1, max_size=10), st.lists(LIMITS, min_size=1, max_size=3))
def test_one_more_circuit_never_makes_it_worse(loads: list[float], limits: list[float]) -> None:
    more = divide(loads, [*limits, 25.0])
    assert more.largest_ratio <= divide(loads, limits).largest_ratio * (1.0 + 1e-9)


@pytest.mark.parametrize("circuits", [2, 3, 4, 5])
def test_twenty_runs_on_like_circuits_are_divided_exactly(circuits: int) -> None:
    chance = random.Random(circuits)
    loads = [chance.uniform(1.0, 5.0) for _ in range(EXACT_LOADS)]
    found = divide(loads, [25.0] * circuits)
    assert found.exact
    # No division is below the even one; twenty unlike runs come close to it.
    even = sum(loads) / circuits / 25.0
    assert even <= found.largest_ratio < 1.01 * even


def test_twenty_like_runs_on_three_circuits_are_seven_seven_and_six() -> None:
    # Six to a circuit are eighteen, so one of them has seven: the pigeonhole principle.
    found = divide([2.0] * 20, [25.0] * 3)
    assert found.exact
    assert sorted(map(found.circuit_of.count, range(3))) == [6, 7, 7]


def test_more_than_twenty_runs_are_said_to_be_the_best_found() -> None:
    chance = random.Random(5)
    loads = [chance.uniform(1.0, 3.0) for _ in range(EXACT_LOADS + 11)]
    found = divide(loads, [25.0, 20.0, 25.0])
    assert not found.exact
    assert found.largest_ratio < 1.1 * sum(loads) / 70.0


def test_a_search_that_is_left_is_not_called_exact() -> None:
    chance = random.Random(6)
    loads = [chance.uniform(4.0, 4.2) for _ in range(18)]
    hurried = divide(loads, [25.0, 24.0, 23.0, 22.0], steps=100)
    assert not hurried.exact
    assert hurried.largest_ratio >= divide(loads, [25.0, 24.0, 23.0, 22.0]).largest_ratio


def test_runs_that_draw_nothing_are_somewhere() -> None:
    assert divide([0.0, 0.0], [25.0, 20.0]) == Division((0, 0), 0.0, exact=True)


def test_one_run_goes_where_the_limit_is_widest() -> None:
    assert divide([10.0], [15.0, 25.0, 20.0]) == Division((1,), 0.4, exact=True)


@given(st.lists(AMPERES, min_size=0, max_size=8), AMPERES, AMPERES)
def test_parts_between_two_sums_are_all_there_are(loads: list[float], one: float, other: float) -> None:
    low, high = sorted((one, other))
    sums = {
        bits: sum(load for place, load in enumerate(loads) if bits >> place & 1)
        for bits in range(1 << len(loads))
    }
    found = {bits for _, bits in parts_between(loads, low, high, most=1000)}
    # A sum that lies on a bound to its last digit may be on either side of it.
    sure = {bits for bits, total in sums.items() if low + 1e-9 < total < high - 1e-9}
    maybe = {bits for bits, total in sums.items() if low - 1e-9 <= total <= high + 1e-9}
    assert sure <= found <= maybe


@given(st.lists(AMPERES, min_size=0, max_size=8), AMPERES)
def test_the_nearest_parts_are_the_nearest(loads: list[float], goal: float) -> None:
    sums = [
        sum(load for place, load in enumerate(loads) if bits >> place & 1) for bits in range(1 << len(loads))
    ]
    (below, _), (above, _) = nearest_parts(loads, goal)
    assert min(abs(below - goal), abs(above - goal)) == pytest.approx(
        min(abs(total - goal) for total in sums), abs=1e-9
    )


SOME_UNKNOWN = st.lists(st.sampled_from([None, 0.5, 8.0, 10.0, 25.0]), min_size=2, max_size=5).filter(
    lambda limits: None in limits
)


@given(st.lists(st.floats(0.1, 30.0), min_size=1, max_size=9), SOME_UNKNOWN)
def test_beside_circuits_of_unknown_limit_no_other_is_over_80_percent(
    loads: list[float], limits: list[float | None]
) -> None:
    division = divide_where_known(loads, limits)
    for circuit, limit in enumerate(limits):
        held = sum(load for load, of in zip(loads, division.circuit_of, strict=True) if of == circuit)
        assert limit is None or held <= 0.8 * limit * (1.0 + 1e-9)


@given(st.lists(st.floats(0.1, 30.0), min_size=1, max_size=9), st.integers(1, 5))
def test_circuits_of_which_no_limit_is_known_are_as_even_as_alike_ones(
    loads: list[float], circuits: int
) -> None:
    alike = divide(loads, [1.0] * circuits)
    assert divide_where_known(loads, [None] * circuits).circuit_of == alike.circuit_of
