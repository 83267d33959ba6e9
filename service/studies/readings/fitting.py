"""The size of one cause with which the readings fit best: least squares in one bounded unknown.

Each step is Gauss-Newton with the slope between the last two trials (secant), so a trial costs one solve of
each state and nothing more. A size that the wiring cannot carry is taken back half-way.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite
from typing import TYPE_CHECKING, NamedTuple

from service.studies.readings.chance import dot

if TYPE_CHECKING:
    from service.studies.readings.cause import Cause
    from service.studies.readings.chance import Spread
    from service.studies.readings.model import Model, Taken

MOST_TRIALS = 14

SETTLED = 0.02
"""A next step below this share of the size's own uncertainty ends the search. [-]"""

LONGEST_STEP = 3.0
"""In the logarithm of a size: a factor of twenty at a time. [-]"""

WITHIN, BOUND_TRIALS = 4.0, 12
"""A size this much of chi-square worse is two standard uncertainties off; how often the way is halved. [-]"""

FIRST_SHARE = 0.1
"""Of the way to a bound, where nothing says how large the first step should be. [-]"""


class Trial(NamedTuple):
    """One size tried: its place in the search, what the meter should have said, what is left, whitened."""

    x: float
    predicted: list[float]
    left: list[float]
    chi_square: float


class Fit(NamedTuple):
    """The best size of a cause, what the meter should have said then, and what is left of chi-square."""

    cause: Cause
    size: float
    predicted: list[float]
    chi_square: float

    @property
    def is_cut_short(self) -> bool:
        """Whether the size is a bound of the search and not what fits best."""
        return self.cause.is_cut_short(self.size)


@dataclass(slots=True)
class Fitter:
    """Readings to be explained."""

    model: Model
    taken: list[Taken]
    spread: Spread

    def fit(self, cause: Cause, *, start: float | None = None) -> Fit:
        """Fit one cause, from a size that is thought good or from nothing wrong."""
        if not cause.sized:
            only = self._trial(cause, 0.0)
            return Fit(cause, cause.neutral, only.predicted, only.chi_square)
        best = self._trial(cause, 0.0 if start is None else cause.x(start))
        other = self._trial(cause, self._first(cause, best, start=start))
        for _ in range(MOST_TRIALS):
            if other.chi_square < best.chi_square:
                best, other = other, best
            x = self._next(cause, best, other)
            if x is None:
                break
            trial = self._trial(cause, x)
            other, best = (best, trial) if trial.chi_square < best.chi_square else (trial, best)
        return Fit(cause, cause.size(best.x), best.predicted, best.chi_square)

    def slope(self, fit: Fit) -> list[float]:
        """What one more unit of size does to each reading at the fit; empty where it cannot be told."""
        cause = fit.cause
        x = cause.x(fit.size)
        step = 1e-3 if cause.scale else 1e-3 * (cause.high - cause.low)
        near = x - step if x - step >= cause.x(cause.low) else x + step
        predicted = self.model.predicted(self.taken, cause.change(cause.size(near)))
        run = cause.size(near) - fit.size
        slope = [(new - old) / run for new, old in zip(predicted, fit.predicted, strict=True)]
        return slope if all(map(isfinite, slope)) else []

    def lower_bound(self, fit: Fit) -> float:
        """The least size that fits within two standard uncertainties of the best, by halving. [unit]"""
        cause = fit.cause
        low, high = cause.x(cause.neutral), cause.x(fit.size)
        for _ in range(BOUND_TRIALS):
            middle = 0.5 * (low + high)
            if self._trial(cause, middle).chi_square > fit.chi_square + WITHIN:
                low = middle
            else:
                high = middle
        return cause.size(high)

    def _first(self, cause: Cause, at: Trial, *, start: float | None) -> float:
        """Where to go first: by the slope that is known, else some way towards a bound."""
        low, high = cause.x(cause.low), cause.x(cause.high)
        if start is not None:
            step = 0.05 if cause.scale else 0.01 * (high - low)
            return at.x + step if at.x + step <= high else at.x - step
        white = self.spread.whitened(cause.slope)
        square = dot(white, white)
        if not square:
            return FIRST_SHARE * (high if high > -low else low)
        size = cause.neutral + dot(white, at.left) / square
        x = cause.x(min(max(size, cause.low), cause.high))
        return min(max(x, -LONGEST_STEP), LONGEST_STEP) if cause.scale else x

    def _next(self, cause: Cause, best: Trial, other: Trial) -> float | None:
        """The next place to try; None where the search is at its end."""
        if best.x == other.x:
            return None
        if not isfinite(other.chi_square):
            half = 0.5 * (best.x + other.x)
            return half if abs(half - best.x) > 1e-6 * (1.0 + abs(best.x)) else None
        slope = [(a - b) / (best.x - other.x) for a, b in zip(best.left, other.left, strict=True)]
        square = dot(slope, slope)
        if not square:
            return None
        step = -dot(slope, best.left) / square
        if cause.scale:
            step = min(max(step, -LONGEST_STEP), LONGEST_STEP)
        x = min(max(best.x + step, cause.x(cause.low)), cause.x(cause.high))
        moved = (x - best.x) ** 2 * square
        if moved < SETTLED * SETTLED:
            return None
        # Where the step led to nothing better the slope was wrong: look nearer.
        return x if x != other.x else 0.5 * (best.x + other.x)

    def _trial(self, cause: Cause, x: float) -> Trial:
        predicted = self.model.predicted(self.taken, cause.change(cause.size(x)))
        left = self.spread.whitened(self._deviations(predicted))
        return Trial(x, predicted, left, dot(left, left))

    def chi_square(self, predicted: list[float]) -> float:
        """What is left of the readings; infinite where the wiring cannot carry its load. [-]"""
        deviations = self._deviations(predicted)
        return self.spread.chi_square(deviations) if all(map(isfinite, deviations)) else inf

    def _deviations(self, predicted: list[float]) -> list[float]:
        return [one.value - each for one, each in zip(self.taken, predicted, strict=True)]
