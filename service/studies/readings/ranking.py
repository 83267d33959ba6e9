"""Which single causes explain the readings, and how well: pruned by their slopes, fitted, ranked."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from math import exp, inf, isfinite, sqrt
from typing import TYPE_CHECKING, NamedTuple

from service.studies.readings.cause import OPEN, SPLICE, SUPPLY
from service.studies.readings.chance import chi_square_probability, dot
from service.studies.readings.fitting import Fit, Fitter
from service.studies.readings.slopes import slopes_of
from service.studies.readings.spread import PRODUCTS, WORK_OF_PRODUCTS, spread_of
from service.studies.work import WorkOverLimitError, count

if TYPE_CHECKING:
    from service.studies.readings.allowance import Allowance
    from service.studies.readings.cause import Cause
    from service.studies.readings.chance import Spread
    from service.studies.readings.model import Model, Taken
    from service.studies.readings.slopes import Slopes

COST = 2.0
"""Added to the chi-square of every cause: one more unknown has to earn its place (Akaike 1974). [-]"""

FITTING_WORK, REFINING_WORK = 30_000, 45_000
"""Work after which no further cause is fitted, and after which no further fit is refined."""

WEIGHING_WORK = 8_000
"""Causes of more work than this are weighed roughly, and none of them alone makes readings disagree."""

MOST_SHOWN = 12
"""Explanations that are told."""

MOST_REFINED = 18
"""Causes whose covariance is made anew at their fit."""

ALIVE = 0.3
"""A reading above this share of the supply is not behind a break. [-]"""

NEARLY_BROKEN = 0.1
"""A splice above this share of the largest that is tried might as well be larger. [-]"""

HOPELESS = 30.0
"""A cause this much of chi-square worse than the best is a million times less likely: it is told as it is."""

ALWAYS_FITTED, USEFUL_BESIDE = 12, 0.25
"""So many causes are fitted in any case; further ones if their slope takes off this share of the most. [-]"""

USEFUL = 1e-3
"""A cause whose slope takes off less than this share of chi-square is not fitted. [-]"""


class Explanation(NamedTuple):
    """One cause with its size, as well as it fits.

    `cost` is by what it is ranked: chi-square, the widening of the covariance at the fit, one unknown more, a
    size that is unusual.
    `uncertainty` is one standard uncertainty of the size; None where it has no size. `at_least`: what the
    size surely is, where the readings bound it from below alone. [unit]
    """

    fit: Fit
    chi_square: float
    cost: float
    share: float
    uncertainty: float | None
    at_least: float | None = None


class Weighed(NamedTuple):
    """A cause and what its slope says that it would take off chi-square. [-]"""

    gain: float
    cause: Cause


class Ranked(NamedTuple):
    """Explanations, best first; the share of nothing being wrong; causes that there was no work left for."""

    explanations: list[Explanation]
    nothing_wrong: float
    left_out: int


@dataclass(slots=True)
class Ranker:
    """The readings and what may be off, as a base for every cause."""

    model: Model
    allowance: Allowance
    taken: list[Taken]
    spread: Spread
    deviations: list[float]
    slopes: list[Slopes]

    def weighed(self, causes: list[Cause]) -> list[Weighed]:
        """What each cause would take off chi-square by its slope, most first; impossible ones left out."""
        left = self.spread.whitened(self.deviations)
        self.model.spend(1 + len(causes) * len(left) // WORK_OF_PRODUCTS)
        exact = self.is_cheap(causes)
        if exact:
            self.model.spend(self._whitening_work(causes))
            count(len(causes) * len(left) ** 2 // (2 * PRODUCTS))
        gain = self._gain if exact else self._rough_gain
        found = [Weighed(gain(cause, left), cause) for cause in causes if self._possible(cause)]
        return sorted(found, key=lambda each: -each.gain)

    def is_cheap(self, causes: list[Cause]) -> bool:
        """Whether every cause can be weighed with the whole covariance."""
        return self._whitening_work(causes) <= WEIGHING_WORK

    def _whitening_work(self, causes: list[Cause]) -> int:
        return work_of_whitening(len(causes), len(self.taken))

    def chance_of_best(self, weighed: list[Weighed]) -> float:
        """Chance that sound wiring lets the best of so many places take so much off chi-square. [-]

        Bonferroni's bound: one degree of freedom, as many trials as there are places. The supply's volts are
        a question of their own, which is asked before all others and needs no allowance for them.
        """
        supply = max((each.gain for each in weighed if each.cause.code == SUPPLY), default=0.0)
        others = [each for each in weighed if each.cause.code != SUPPLY]
        places = len({each.cause.place for each in others})
        best = others[0].gain if others else 0.0
        return min(1.0, chi_square_probability(supply, 1), places * chi_square_probability(best, 1))

    def rank(self, weighed: list[Weighed]) -> Ranked:
        """Fit as many causes as there is work for, the most promising first."""
        chi_square = self.spread.chi_square(self.deviations)
        promising = self._promising(weighed, chi_square)
        fitted = self._fitted(promising)
        fits = [fit for fit in fitted if fit.chi_square < chi_square and not fit.is_cut_short]
        fits.sort(key=lambda fit: round(fit.chi_square + fit.cause.surprise(fit.size), 6))
        return _shared(self._all_told(fits), chi_square, len(promising) - len(fitted))

    def _promising(self, weighed: list[Weighed], chi_square: float) -> list[Cause]:
        most = weighed[0].gain if weighed else 0.0
        return [
            cause
            for place, (gain, cause) in enumerate(weighed)
            if gain > USEFUL * chi_square and (place < ALWAYS_FITTED or gain > USEFUL_BESIDE * most)
        ]

    def _gain(self, cause: Cause, left: list[float]) -> float:
        white = self.spread.whitened(cause.slope)
        return _gain_of(cause, dot(white, left), dot(white, white))

    def _rough_gain(self, cause: Cause, _: list[float]) -> float:
        """The same where it would be too much work: each reading by its own variance."""
        parts = list(zip(cause.slope, self.deviations, self.spread.variance, strict=True))
        along = sum(slope * off / variance for slope, off, variance in parts)
        return _gain_of(cause, along, sum(slope * slope / variance for slope, _, variance in parts))

    def _possible(self, cause: Cause) -> bool:
        """Whether a break leaves in the dark every point that is in the dark."""
        if cause.code != OPEN:
            return True
        cut = cause.change(0.0).cut
        volts = self.model.network.open_circuit_v
        return not any(
            one.probe.is_voltage and one.probe.point in cut and one.value > ALIVE * volts[one.probe.point]
            for one in self.taken
        )

    def _fitted(self, causes: list[Cause]) -> list[Fit]:
        """As many causes fitted as there is work for."""
        fitter = Fitter(self.model, self.taken, self.spread)
        fits: list[Fit] = []
        for cause in causes:
            if fits and self.model.spent > FITTING_WORK:
                break
            try:
                fits.append(fitter.fit(cause))
            except WorkOverLimitError:
                break
        return fits

    def _all_told(self, fits: list[Fit]) -> list[Explanation]:
        """The best fits, refined where they may matter and as long as there is work for it."""
        best = min((fit.chi_square for fit in fits), default=0.0)
        found: list[Explanation] = []
        for fit in fits[:MOST_REFINED]:
            told: Explanation | None = self._plain(fit)
            if fit.chi_square < best + HOPELESS and (self.model.spent <= REFINING_WORK or not found):
                with suppress(WorkOverLimitError):
                    told = self._refined(fit)
            if told is not None and not told.fit.is_cut_short:
                found.append(told)
        return found

    def _plain(self, fit: Fit) -> Explanation:
        """A fit as it is, by the covariance of nothing being wrong; its size is not sought again."""
        cost = fit.chi_square + COST + fit.cause.surprise(fit.size)
        return Explanation(fit, fit.chi_square, cost, 0.0, None)

    def _refined(self, fit: Fit) -> Explanation | None:
        """A fit judged, and its size found once more, by the covariance that holds where it fits."""
        change = fit.cause.change(fit.size)
        slopes = slopes_of(self.model, self.taken, change)
        spread = self.spread if slopes is None else spread_of(self.model, self.allowance, self.taken, slopes)
        fitter = Fitter(self.model, self.taken, spread)
        again = fitter.fit(fit.cause, start=fit.size) if fit.cause.sized else fit
        chi_square = fitter.chi_square(again.predicted)
        if not isfinite(chi_square):
            return None
        widened = spread.log_determinant - self.spread.log_determinant
        cost = chi_square + widened + COST + again.cause.surprise(again.size)
        if again.cause.code == SPLICE and again.size > NEARLY_BROKEN * again.cause.high:
            return Explanation(again, chi_square, cost, 0.0, None, fitter.lower_bound(again))
        return Explanation(again, chi_square, cost, 0.0, _uncertainty(fitter, again))


def work_of_whitening(causes: int, readings: int) -> int:
    """Work of weighing so many causes with the whole covariance."""
    return causes * readings * readings // (2 * WORK_OF_PRODUCTS)


def _gain_of(cause: Cause, along: float, square: float) -> float:
    """What the best size within its bounds takes off; of a cause without a size any size of its effect."""
    if not square:
        return 0.0
    if not cause.sized:
        return along * along / square if along > 0.0 else 0.0
    size = min(max(along / square, cause.low - cause.neutral), cause.high - cause.neutral)
    return 2.0 * size * along - size * size * square


def _uncertainty(fitter: Fitter, fit: Fit) -> float | None:
    """Standard uncertainty of a size; infinite where the readings do not depend on it. [unit]"""
    if not fit.cause.sized:
        return None
    white = fitter.spread.whitened(slope) if (slope := fitter.slope(fit)) else []
    square = dot(white, white)
    return 1.0 / sqrt(square) if square else inf


def _shared(found: list[Explanation], chi_square: float, left_out: int) -> Ranked:
    """Likelihoods as shares of their sum, that of nothing being wrong included."""
    # To six decimals, so that causes that fit alike stay in their order whatever the rounding.
    found.sort(key=lambda each: round(each.cost, 6))
    least = min([chi_square, *(each.cost for each in found)])
    weights = [exp(-0.5 * (each.cost - least)) for each in found]
    nothing = exp(-0.5 * (chi_square - least))
    total = sum(weights) + nothing
    shared = [each._replace(share=weight / total) for each, weight in zip(found, weights, strict=True)]
    return Ranked(shared[:MOST_SHOWN], nothing / total, left_out)
