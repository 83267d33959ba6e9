"""Elimination against numpy's LAPACK and against exact fractions."""

from __future__ import annotations

import random
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from service.physics.elimination import Factor, PivotNotPositiveError
from service.physics.kernel.plan import Plan
from service.physics.load import Load
from service.physics.network import Span, build_network, with_resistances
from tests.physics.networks import MESHES, TREES, Circuit, Pairs, Shape, mesh, random_circuits, tree

REPEATABLE = settings(max_examples=100, derandomize=True, database=None, deadline=None)


def nodal(
    points: int, pairs: Pairs, conductance: Sequence[float], shunt: Sequence[float]
) -> NDArray[np.float64]:
    """Nodal conductance matrix, dense."""
    matrix = np.diag(np.array(shunt, dtype=float))
    for (a, b), link in zip(pairs, conductance, strict=True):
        matrix[[a, b], [a, b]] += link
        matrix[[a, b], [b, a]] -= link
    assert matrix.shape == (points, points)
    return matrix


def once_each(pairs: Pairs) -> Pairs:
    """Joined points, parallel spans counted as one."""
    return list(dict.fromkeys((min(pair), max(pair)) for pair in pairs))


def exact(matrix: list[list[Fraction]], right: list[Fraction]) -> list[Fraction]:
    """Gaussian elimination without rounding."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for index, pivot_row in enumerate(rows):
        for row in rows[index + 1 :]:
            ratio = row[index] / pivot_row[index]
            if ratio:
                row[index:] = [
                    value - ratio * above for value, above in zip(row[index:], pivot_row[index:], strict=True)
                ]
    answer: list[Fraction] = []
    for index in reversed(range(len(rows))):
        known = sum((rows[index][len(rows) - 1 - i] * value for i, value in enumerate(answer)), Fraction(0))
        answer.append((rows[index][-1] - known) / rows[index][index])
    return answer[::-1]


def exact_nodal(
    points: int, pairs: Pairs, conductance: list[float], shunt: list[float]
) -> list[list[Fraction]]:
    matrix = [[Fraction(0)] * points for _ in range(points)]
    for point, own in enumerate(shunt):
        matrix[point][point] += Fraction(own)
    for (a, b), link in zip(pairs, conductance, strict=True):
        for row, column, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            matrix[row][column] += sign * Fraction(link)
    return matrix


@REPEATABLE
@given(st.integers(2, 40), st.randoms(use_true_random=False), st.sampled_from(TREES + MESHES), st.data())
def test_answer_is_that_of_a_dense_solver(
    points: int, rng: random.Random, shape: Shape, choice: st.DataObject
) -> None:
    pairs = once_each(shape(points, rng))
    conductance = [rng.uniform(0.1, 100.0) for _ in pairs]
    shunt = [rng.choice((0.0, rng.uniform(0.0, 10.0))) for _ in range(points)]
    shunt[choice.draw(st.integers(0, points - 1))] = 1.0
    right = np.array([rng.uniform(-50.0, 50.0) for _ in range(points)])
    factor = Factor(Plan(points, pairs), conductance, shunt, terminal_held=False)
    expected = np.linalg.solve(nodal(points, pairs, conductance, shunt), right)
    np.testing.assert_allclose(
        factor.solve(list(right)), expected, rtol=1e-9, atol=1e-9 * abs(expected).max()
    )


@REPEATABLE
@given(st.integers(2, 25), st.randoms(use_true_random=False), st.sampled_from(TREES + MESHES))
def test_held_terminal_stays_at_no_drop(points: int, rng: random.Random, shape: Shape) -> None:
    pairs = once_each(shape(points, rng))
    conductance = [rng.uniform(0.1, 100.0) for _ in pairs]
    right = [rng.uniform(0.0, 50.0) for _ in range(points)]
    factor = Factor(Plan(points, pairs), conductance, [0.0] * points, terminal_held=True)
    answer = factor.solve(right)
    inner = nodal(points, pairs, conductance, [0.0] * points)[1:, 1:]
    assert answer[0] == 0.0
    np.testing.assert_allclose(answer[1:], np.linalg.solve(inner, right[1:]), rtol=1e-9)


@REPEATABLE
@given(st.integers(2, 40), st.randoms(use_true_random=False), st.sampled_from(TREES + MESHES))
def test_transfer_diagonal_is_that_of_the_dense_inverse(
    points: int, rng: random.Random, shape: Shape
) -> None:
    pairs = once_each(shape(points, rng))
    conductance = [10.0 ** rng.uniform(-1.0, 3.0) for _ in pairs]
    shunt = [rng.uniform(0.5, 5.0)] + [rng.choice((0.0, rng.uniform(0.0, 1.0))) for _ in range(points - 1)]
    factor = Factor(Plan(points, pairs), conductance, shunt, terminal_held=False)
    expected = np.linalg.inv(nodal(points, pairs, conductance, shunt)).diagonal()
    np.testing.assert_allclose(factor.transfer_diagonal(), expected, rtol=1e-9)


@REPEATABLE
@given(st.integers(2, 200), st.randoms(use_true_random=False), st.sampled_from(TREES))
def test_tree_fills_in_nothing(points: int, rng: random.Random, shape: Shape) -> None:
    pairs = shape(points, rng)
    assert Plan(points, pairs).slots == points - 1


def test_ring_fills_in_one_link_for_each_point_between() -> None:
    # A ring of n points keeps being a ring until two are left, whatever the order: n - 3 new links.
    for points in range(3, 60):
        pairs = [(point, (point + 1) % points) for point in range(points)]
        assert Plan(points, pairs).slots == points + (points - 3)


@pytest.mark.parametrize("shape", [tree, mesh])
@pytest.mark.parametrize("seed", range(15))
def test_huge_ratios_of_conductances_lose_no_digits(shape: Shape, seed: int) -> None:
    # A metre of bar at 1e13 beside a leak of 1e-9: the dense matrix would lose all that the leak says. With
    # no subtraction each operation adds at most one rounding, so 40 points keep twelve digits of every entry.
    rng = random.Random(seed)
    points = rng.randint(3, 20)
    pairs = once_each(shape(points, rng))
    conductance = [rng.choice((1e13, 1e4, 1.0, 1e-9)) * rng.uniform(1.0, 2.0) for _ in pairs]
    shunt = [1e-9] + [rng.choice((0.0, 1e-9, 1e2)) for _ in range(points - 1)]
    right = [rng.choice((0.0, 1e-6, 1.0)) for _ in range(points - 1)] + [1.0]
    factor = Factor(Plan(points, pairs), conductance, shunt, terminal_held=False)
    expected = exact(exact_nodal(points, pairs, conductance, shunt), [Fraction(value) for value in right])
    for found, true in zip(factor.solve(right), expected, strict=True):
        assert abs(Fraction(found) - true) <= Fraction(1, 10**12) * true


def test_shunt_that_outweighs_what_feeds_it_is_refused() -> None:
    plan = Plan(3, [(0, 1), (1, 2)])
    for point in range(3):
        shunt = [1.0, 0.0, 0.0]
        shunt[point] -= 2.0
        with pytest.raises(PivotNotPositiveError):
            Factor(plan, [1.0, 1.0], shunt, terminal_held=False)


@pytest.mark.parametrize(
    "circuit", random_circuits(11, 40, largest=20), ids=lambda circuit: f"{circuit.points} points"
)
def test_pivots_are_positive_exactly_where_the_matrix_is_positive_definite(circuit: Circuit) -> None:
    # For a symmetric matrix with no positive entry beside the diagonal, being an M-matrix and being positive
    # definite are one thing (Berman and Plemmons, Nonnegative Matrices in the Mathematical Sciences, chapter
    # 6; from memory).
    network = circuit.network()
    pairs = [(a, b) for a, b, _ in network.links]
    conductance = [link for _, _, link in network.links]
    rng = random.Random(network.points)
    shunt = [rng.uniform(-3.0, 30.0) for _ in range(network.points)]
    lowest = np.linalg.eigvalsh(nodal(network.points, pairs, conductance, shunt))[0]
    try:
        Factor(network.plan, conductance, shunt, terminal_held=False)
    except PivotNotPositiveError:
        assert lowest < 1e-9
    else:
        assert lowest > -1e-9


@pytest.mark.parametrize("pair", [(0, 2), (2, 1), (0, -1)])
def test_a_pair_that_names_a_point_that_is_not_there_is_refused(pair: tuple[int, int]) -> None:
    # Compiled, whatever stands behind a vector in memory would be taken for it.
    with pytest.raises(IndexError):
        Plan(2, [pair])


@pytest.mark.parametrize("point", [2, -1])
def test_a_load_at_a_point_that_is_not_there_is_refused(point: int) -> None:
    with pytest.raises(IndexError):
        build_network([12.0, 12.0], [Span(0, 1, 0.1)], [(point, Load(power_w=1.0))])


def test_spans_of_another_network_are_refused() -> None:
    network = build_network([12.0, 12.0], [Span(0, 1, 0.1)], [])
    with pytest.raises(IndexError):
        with_resistances(network, [Span(0, 1, 0.1), Span(0, 1, 0.2)])
