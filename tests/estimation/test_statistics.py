"""Chi-square against published critical values, small systems against numpy."""

import math
import random

import numpy as np
import pytest

from service.estimation.covariance import Covariance, chi_square_probability, dot

# NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.4, upper critical values of chi-square with
# nu degrees of freedom; figures from memory, the same in every printed table of the distribution.
UPPER = {
    1: {0.10: 2.706, 0.05: 3.841, 0.025: 5.024, 0.01: 6.635, 0.001: 10.828},
    2: {0.10: 4.605, 0.05: 5.991, 0.025: 7.378, 0.01: 9.210, 0.001: 13.816},
    5: {0.10: 9.236, 0.05: 11.070, 0.025: 12.833, 0.01: 15.086, 0.001: 20.515},
    10: {0.10: 15.987, 0.05: 18.307, 0.025: 20.483, 0.01: 23.209, 0.001: 29.588},
    30: {0.10: 40.256, 0.05: 43.773, 0.025: 46.979, 0.01: 50.892, 0.001: 59.703},
    100: {0.10: 118.498, 0.05: 124.342, 0.025: 129.561, 0.01: 135.807, 0.001: 149.449},
}


@pytest.mark.parametrize("degrees", UPPER)
def test_the_chance_of_each_published_critical_value_is_its_heading(degrees: int) -> None:
    for probability, value in UPPER[degrees].items():
        # The table has three decimals; the density there is below probability / 1.5 a unit.
        assert chi_square_probability(value, degrees) == pytest.approx(probability, rel=6e-4)


@pytest.mark.parametrize("value", [1e-9, 0.3, 1.0, 7.0, 40.0, 600.0])
def test_with_two_degrees_the_chance_is_an_exponential(value: float) -> None:
    assert chi_square_probability(value, 2) == pytest.approx(math.exp(-0.5 * value), rel=1e-12)


@pytest.mark.parametrize("value", [1e-6, 0.1, 2.0, 9.0, 30.0])
def test_with_one_degree_the_chance_is_that_of_two_tails_of_a_normal(value: float) -> None:
    assert chi_square_probability(value, 1) == pytest.approx(math.erfc(math.sqrt(0.5 * value)), rel=1e-9)


def test_nothing_off_is_certain_and_the_infinite_is_impossible() -> None:
    assert chi_square_probability(0.0, 4) == 1.0
    assert chi_square_probability(math.inf, 4) == 0.0


@pytest.mark.parametrize("size", [1, 2, 7, 30])
def test_chi_square_is_that_of_the_dense_inverse(size: int) -> None:
    rng = random.Random(size)
    own = [rng.uniform(0.1, 2.0) for _ in range(size)]
    columns = [[rng.gauss(0.0, 1.0) for _ in range(size)] for _ in range(3)]
    off = [rng.gauss(0.0, 1.0) for _ in range(size)]
    covariance = Covariance(own, columns)
    dense = np.diag(own) + sum(np.outer(column, column) for column in columns)
    assert covariance.chi_square(off) == pytest.approx(float(off @ np.linalg.solve(dense, off)), rel=1e-10)
    assert covariance.log_determinant == pytest.approx(float(np.linalg.slogdet(dense)[1]), rel=1e-9, abs=1e-9)
    assert covariance.variance == pytest.approx(list(np.diag(dense)))


def test_a_deviation_that_is_no_number_is_infinitely_far() -> None:
    covariance = Covariance([1.0, 1.0], [])
    assert covariance.chi_square([0.0, math.nan]) == math.inf
    assert dot(covariance.whitened([3.0, 4.0]), [3.0, 4.0]) == 25.0
