"""Chances: the chi-square distribution, and small symmetric systems; standard library only."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, inf, isfinite, lgamma, log, sqrt
from operator import mul

TERMS = 10_000


PRECISE = 1e-15


TINY = 1e-300


def chi_square_probability(value: float, degrees: int) -> float:
    """Chance that chi-square with so many degrees of freedom exceeds a value. [-]

    The regularised upper incomplete gamma function Q(k/2, x/2): its series below the mean, Lentz's continued
    fraction above (Abramowitz and Stegun 1964, 6.5.29 and 6.5.31).

    Examples
    --------
    The 5 % point of one degree is 3.841 (NIST/SEMATECH e-Handbook, table 1.3.6.7.4); matches.

    >>> round(chi_square_probability(3.841, 1), 4)
    0.05
    """
    if not isfinite(value):
        return 0.0
    if value <= 0.0 or degrees < 1:
        return 1.0
    a, x = 0.5 * degrees, 0.5 * value
    front = exp(a * log(x) - x - lgamma(a))
    if x < a + 1.0:
        return max(0.0, 1.0 - front * _series(a, x))
    return front * _fraction(a, x)


def _series(a: float, x: float) -> float:
    term = total = 1.0 / a
    for step in range(1, TERMS):
        term *= x / (a + step)
        total += term
        if term < total * PRECISE:
            break
    return total


def _fraction(a: float, x: float) -> float:
    b = x + 1.0 - a
    c, d = 1.0 / TINY, 1.0 / b
    value = d
    for step in range(1, TERMS):
        top = -step * (step - a)
        b += 2.0
        d = 1.0 / _not_zero(top * d + b)
        c = _not_zero(b + top / c)
        value *= c * d
        if abs(c * d - 1.0) < PRECISE:
            break
    return value


def _not_zero(value: float) -> float:
    return value if abs(value) > TINY else TINY


def dot(a: Sequence[float], b: Sequence[float]) -> float:
    """Sum of products."""
    return float(sum(map(mul, a, b)))


class Covariance:
    """A covariance, taken apart once (Cholesky), by which deviations are judged.

    Parameters
    ----------
    own : sequence of float
        Variance of each value that it shares with none.
    columns : sequence of sequence of float
        For each common cause the effect of one standard deviation of it on each value.
    """

    __slots__ = ("_lower", "log_determinant", "variance")

    def __init__(self, own: Sequence[float], columns: Sequence[Sequence[float]]) -> None:
        size = len(own)
        rows = list(zip(*columns, strict=True)) if columns else [()] * size
        covariance = [[dot(rows[i], rows[j]) for j in range(i + 1)] for i in range(size)]
        for i, each in enumerate(own):
            covariance[i][i] += each
        self.variance = [covariance[i][i] for i in range(size)]
        self._lower = _cholesky(covariance)
        self.log_determinant = 2.0 * sum(log(row[-1]) for row in self._lower)

    def whitened(self, deviations: Sequence[float]) -> list[float]:
        """Deviations made independent, each of unit variance; infinite where one of them is."""
        if not all(map(isfinite, deviations)):
            return [inf] * len(deviations)
        white: list[float] = []
        for row, each in zip(self._lower, deviations, strict=True):
            white.append((each - dot(row, white)) / row[-1])
        return white

    def chi_square(self, deviations: Sequence[float]) -> float:
        """Sum of squares of the whitened deviations. [-]"""
        white = self.whitened(deviations)
        return dot(white, white)


def _cholesky(covariance: list[list[float]]) -> list[list[float]]:
    """Lower triangle whose product with its transpose is the covariance."""
    lower: list[list[float]] = []
    for i, row in enumerate(covariance):
        made: list[float] = []
        for j in range(i):
            above = lower[j]
            made.append((row[j] - dot(above, made)) / above[j])
        made.append(sqrt(row[i] - dot(made, made)))
        lower.append(made)
    return lower
