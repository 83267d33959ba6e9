"""Explanations fitted to the readings, and ranked by what is left over and how likely each is.

Each step is Gauss-Newton with the slope between the last two trials (secant), so a trial costs one solve of
each state and nothing more. A size that the wiring cannot carry is taken back half-way.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from math import exp, inf, isfinite, sqrt
from typing import NamedTuple

from service.circuit.work import WorkOverLimitError, count
from service.estimation.covariance import (
    PRODUCTS,
    WORK_OF_PRODUCTS,
    Covariance,
    chi_square_probability,
    covariance_of,
    dot,
)
from service.estimation.jacobian import Sensitivities, sensitivities_of
from service.estimation.model import Change, Measurement, Model
from service.estimation.uncertainty import TAP_RATIO, Uncertainty
from service.studies.readings_check.fault import OPEN, OTHER_TAP, SPLICE, SUPPLY, FaultHypothesis

MOST_TRIALS = 14

SETTLED = 0.02
"""A next step below this share of the size's own uncertainty ends the search. [-]"""

LONGEST_STEP = 3.0
"""In the logarithm of a size: a factor of twenty at a time. [-]"""

WITHIN, BOUND_TRIALS = 4.0, 12
"""A size this much of chi-square worse is two standard uncertainties off; how often the way is halved. [-]"""

FIRST_SHARE = 0.1
"""Of the way to a bound, where nothing says how large the first step should be. [-]"""


class TrialFit(NamedTuple):
    """One size tried: its place in the search, what the meter should have read, what is left, whitened."""

    x: float
    predicted: list[float]
    left: list[float]
    chi_square: float


class Fit(NamedTuple):
    """The best size of a fault, what the meter should have read then, and what is left of chi-square."""

    fault: FaultHypothesis
    size: float
    predicted: list[float]
    chi_square: float

    @property
    def is_cut_short(self) -> bool:
        """Whether the size is a bound of the search and not what fits best."""
        return self.fault.is_cut_short(self.size)

    def alone(self) -> Fit:
        """The same of the fault without the other fault beside which it was tried."""
        return self if self.fault.alone is None else self._replace(fault=self.fault.alone)


@dataclass(slots=True)
class Fitter:
    """Readings to be explained."""

    model: Model
    measurements: list[Measurement]
    covariance: Covariance

    def fit(self, fault: FaultHypothesis, *, start: float | None = None) -> Fit:
        """Fit one fault, from a size that is thought good or from nothing wrong."""
        if not fault.sized:
            only = self._trial(fault, 0.0)
            return Fit(fault, fault.neutral, only.predicted, only.chi_square)
        best = self._trial(fault, 0.0 if start is None else fault.x(start))
        other = self._trial(fault, self._first(fault, best, start=start))
        for _ in range(MOST_TRIALS):
            if other.chi_square < best.chi_square:
                best, other = other, best
            x = self._next(fault, best, other)
            if x is None:
                break
            trial = self._trial(fault, x)
            other, best = (best, trial) if trial.chi_square < best.chi_square else (trial, best)
        return Fit(fault, fault.size(best.x), best.predicted, best.chi_square)

    def slope(self, fit: Fit) -> list[float]:
        """What one more unit of size does to each reading at the fit; empty where it cannot be computed."""
        fault = fit.fault
        x = fault.x(fit.size)
        step = 1e-3 if fault.scale else 1e-3 * (fault.high - fault.low)
        near = x - step if x - step >= fault.x(fault.low) else x + step
        predicted = self.model.predicted(self.measurements, fault.change(fault.size(near)))
        run = fault.size(near) - fit.size
        slope = [(new - old) / run for new, old in zip(predicted, fit.predicted, strict=True)]
        return slope if all(map(isfinite, slope)) else []

    def lower_bound(self, fit: Fit) -> float:
        """The least size that fits within two standard uncertainties of the best, by halving. [unit]"""
        fault = fit.fault
        low, high = fault.x(fault.neutral), fault.x(fit.size)
        for _ in range(BOUND_TRIALS):
            middle = 0.5 * (low + high)
            if self._trial(fault, middle).chi_square > fit.chi_square + WITHIN:
                low = middle
            else:
                high = middle
        return fault.size(high)

    def _first(self, fault: FaultHypothesis, at: TrialFit, *, start: float | None) -> float:
        """Where to go first: by the slope that is known, else some way towards a bound."""
        low, high = fault.x(fault.low), fault.x(fault.high)
        if start is not None:
            step = 0.05 if fault.scale else 0.01 * (high - low)
            return at.x + step if at.x + step <= high else at.x - step
        white = self.covariance.whitened(fault.slope)
        square = dot(white, white)
        if not square:
            return FIRST_SHARE * (high if high > -low else low)
        size = fault.neutral + dot(white, at.left) / square
        x = fault.x(min(max(size, fault.low), fault.high))
        return min(max(x, -LONGEST_STEP), LONGEST_STEP) if fault.scale else x

    def _next(self, fault: FaultHypothesis, best: TrialFit, other: TrialFit) -> float | None:
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
        if fault.scale:
            step = min(max(step, -LONGEST_STEP), LONGEST_STEP)
        x = min(max(best.x + step, fault.x(fault.low)), fault.x(fault.high))
        moved = (x - best.x) ** 2 * square
        if moved < SETTLED * SETTLED:
            return None
        # Where the step led to nothing better the slope was wrong: look nearer.
        return x if x != other.x else 0.5 * (best.x + other.x)

    def _trial(self, fault: FaultHypothesis, x: float) -> TrialFit:
        predicted = self.model.predicted(self.measurements, fault.change(fault.size(x)))
        left = self.covariance.whitened(self._residuals(predicted))
        return TrialFit(x, predicted, left, dot(left, left))

    def chi_square(self, predicted: list[float]) -> float:
        """What is left of the readings; infinite where the wiring cannot carry its load. [-]"""
        residuals = self._residuals(predicted)
        return self.covariance.chi_square(residuals) if all(map(isfinite, residuals)) else inf

    def by_the_turns(self, predicted: list[float], change: Change) -> float:
        """What comes off chi-square where the volts that a change gives are within those of a tap. [-]

        One unknown more, of which the spread is known (Sherman and Morrison 1950); the fault pays for one.
        """
        turns = [
            each * TAP_RATIO if one.probe.is_voltage and one.probe.point in change.volts else 0.0
            for one, each in zip(self.measurements, predicted, strict=True)
        ]
        white = self.covariance.whitened(turns)
        along = dot(white, self.covariance.whitened(self._residuals(predicted)))
        return along * along / (1.0 + dot(white, white))

    def _residuals(self, predicted: list[float]) -> list[float]:
        return [one.value - each for one, each in zip(self.measurements, predicted, strict=True)]


COST = 2.0
"""Added to the chi-square of every fault: one more unknown has to earn its place (Akaike 1974). [-]"""

FITTING_WORK, REFINING_WORK = 30_000, 45_000
"""Work after which no further fault is fitted, and after which no further fit is refined."""

WEIGHING_WORK = 8_000
"""Causes of more work than this are weighed roughly, and none of them alone makes readings disagree."""

MOST_SHOWN = 12
"""Explanations in a reply."""

MOST_REFINED = 18
"""Causes whose covariance is made anew at their fit."""

ALIVE = 0.3
"""A reading above this share of the supply is not behind a break. [-]"""

NEARLY_BROKEN = 0.1
"""A splice above this share of the largest that is tried might as well be larger. [-]"""

HOPELESS = 30.0
"""A fault this much of chi-square worse than the best is a million times less likely: it is not refined."""

ALWAYS_FITTED, USEFUL_BESIDE = 12, 0.25
"""So many faults are fitted in any case; further ones if their slope takes off this share of the most. [-]"""

USEFUL = 1e-3
"""A fault whose slope takes off less than this share of chi-square is not fitted. [-]"""


class Explanation(NamedTuple):
    """One fault with its size, as well as it fits.

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
    """A fault and what its slope says that it would take off chi-square. [-]"""

    gain: float
    fault: FaultHypothesis


class Ranked(NamedTuple):
    """Explanations, best first; the share of nothing being wrong; faults that there was no work left for."""

    explanations: list[Explanation]
    nothing_wrong: float
    left_out: int


@dataclass(slots=True)
class Ranker:
    """The readings and what may be off, as a base for every fault."""

    model: Model
    uncertainty: Uncertainty
    measurements: list[Measurement]
    covariance: Covariance
    residuals: list[float]
    sensitivities: list[Sensitivities]

    def weighed(self, faults: list[FaultHypothesis]) -> list[Weighed]:
        """What each fault would take off chi-square by its slope, most first; impossible ones left out."""
        left = self.covariance.whitened(self.residuals)
        self.model.spend(1 + len(faults) * len(left) // WORK_OF_PRODUCTS)
        exact = self.is_cheap(faults)
        if exact:
            self.model.spend(self._whitening_work(faults))
            count(len(faults) * len(left) ** 2 // (2 * PRODUCTS))
        gain = self._gain if exact else self._rough_gain
        found = [Weighed(gain(fault, left), fault) for fault in faults if self._possible(fault)]
        return sorted(found, key=lambda each: -each.gain)

    def is_cheap(self, faults: list[FaultHypothesis]) -> bool:
        """Whether every fault can be weighed with the whole covariance."""
        return self._whitening_work(faults) <= WEIGHING_WORK

    def _whitening_work(self, faults: list[FaultHypothesis]) -> int:
        return work_of_whitening(len(faults), len(self.measurements))

    def hidden(self, faults: list[FaultHypothesis]) -> list[FaultHypothesis]:
        """Faults that would move the readings less than they are uncertain, if a load as stated went out."""
        self.model.spend(1 + len(faults) * len(self.measurements) // WORK_OF_PRODUCTS)
        if not self.is_cheap(faults):
            variance = self.covariance.variance
            return [
                fault
                for fault in faults
                if sum(slope**2 / each for slope, each in zip(fault.slope, variance, strict=True)) < WITHIN
            ]
        self.model.spend(self._whitening_work(faults))
        count(len(faults) * len(self.measurements) ** 2 // (2 * PRODUCTS))
        white = [self.covariance.whitened(fault.slope) for fault in faults]
        return [fault for fault, each in zip(faults, white, strict=True) if dot(each, each) < WITHIN]

    def probability_of_best(self, weighed: list[Weighed]) -> float:
        """Chance that sound wiring lets the best of so many places take so much off chi-square. [-]

        Bonferroni's bound: one degree of freedom, as many trials as there are places. The supply's volts are
        a hypothesis of their own, which is tested before all others and needs no allowance for them.
        """
        supply = max((each.gain for each in weighed if each.fault.kind is SUPPLY), default=0.0)
        others = [each for each in weighed if each.fault.kind is not SUPPLY]
        places = len({each.fault.place for each in others})
        best = others[0].gain if others else 0.0
        return min(1.0, chi_square_probability(supply, 1), places * chi_square_probability(best, 1))

    def rank(self, weighed: list[Weighed]) -> Ranked:
        """Fit as many faults as there is work for, the most promising first."""
        chi_square = self.covariance.chi_square(self.residuals)
        promising = self._promising(weighed, chi_square)
        fitted = self._fitted(promising)
        fits = [fit for fit in fitted if fit.chi_square < chi_square and not fit.is_cut_short]
        fits.sort(key=lambda fit: round(fit.chi_square + fit.fault.surprise(fit.size), 6))
        return _shared(self._explained(fits), chi_square, len(promising) - len(fitted))

    def _promising(self, weighed: list[Weighed], chi_square: float) -> list[FaultHypothesis]:
        most = weighed[0].gain if weighed else 0.0
        return [
            fault
            for place, (gain, fault) in enumerate(weighed)
            if gain > USEFUL * chi_square and (place < ALWAYS_FITTED or gain > USEFUL_BESIDE * most)
        ]

    def _gain(self, fault: FaultHypothesis, left: list[float]) -> float:
        white = self.covariance.whitened(fault.slope)
        return _gain_of(fault, dot(white, left), dot(white, white))

    def _rough_gain(self, fault: FaultHypothesis, _: list[float]) -> float:
        """The same where it would be too much work: each reading by its own variance."""
        parts = list(zip(fault.slope, self.residuals, self.covariance.variance, strict=True))
        along = sum(slope * off / variance for slope, off, variance in parts)
        return _gain_of(fault, along, sum(slope * slope / variance for slope, _, variance in parts))

    def _possible(self, fault: FaultHypothesis) -> bool:
        """Whether a break leaves in the dark every point that is in the dark."""
        if fault.kind is not OPEN:
            return True
        cut = fault.change(0.0).cut
        volts = self.model.network.open_circuit_v
        return not any(
            one.probe.is_voltage and one.probe.point in cut and one.value > ALIVE * volts[one.probe.point]
            for one in self.measurements
        )

    def _fitted(self, faults: list[FaultHypothesis]) -> list[Fit]:
        """As many faults fitted as there is work for."""
        fitter = Fitter(self.model, self.measurements, self.covariance)
        fits: list[Fit] = []
        for fault in faults:
            if fits and self.model.spent > FITTING_WORK:
                break
            try:
                fits.append(fitter.fit(fault))
            except WorkOverLimitError:
                break
        return fits

    def _explained(self, fits: list[Fit]) -> list[Explanation]:
        """The best fits, refined where they may matter and as long as there is work for it."""
        best = min((fit.chi_square for fit in fits), default=0.0)
        found: list[Explanation] = []
        for fit in fits[:MOST_REFINED]:
            explanation: Explanation | None = self._plain(fit)
            if fit.chi_square < best + HOPELESS and (self.model.spent <= REFINING_WORK or not found):
                with suppress(WorkOverLimitError):
                    explanation = self._refined(fit)
            if explanation is not None and not explanation.fit.is_cut_short:
                found.append(explanation)
        return found

    def _plain(self, fit: Fit) -> Explanation:
        """A fit as it is, by the covariance of nothing being wrong; its size is not sought again."""
        cost = fit.chi_square + COST + fit.fault.surprise(fit.size)
        return Explanation(fit, fit.chi_square, cost, 0.0, None)

    def _refined(self, fit: Fit) -> Explanation | None:
        """A fit judged, and its size found once more, by the covariance that holds where it fits."""
        change = fit.fault.change(fit.size)
        sensitivities = sensitivities_of(self.model, self.measurements, change)
        covariance = (
            self.covariance
            if sensitivities is None
            else covariance_of(self.model, self.uncertainty, self.measurements, sensitivities)
        )
        fitter = Fitter(self.model, self.measurements, covariance)
        again = fitter.fit(fit.fault, start=fit.size) if fit.fault.sized else fit
        chi_square = fitter.chi_square(again.predicted)
        if not isfinite(chi_square):
            return None
        if fit.fault.kind is OTHER_TAP:
            chi_square -= fitter.by_the_turns(again.predicted, change)
        widened = covariance.log_determinant - self.covariance.log_determinant
        cost = chi_square + widened + COST + again.fault.surprise(again.size)
        if again.fault.kind is SPLICE and again.size > NEARLY_BROKEN * again.fault.high:
            return Explanation(again, chi_square, cost, 0.0, None, fitter.lower_bound(again))
        return Explanation(again, chi_square, cost, 0.0, _uncertainty(fitter, again))


def work_of_whitening(faults: int, readings: int) -> int:
    """Work of weighing so many faults with the whole covariance."""
    return faults * readings * readings // (2 * WORK_OF_PRODUCTS)


def _gain_of(fault: FaultHypothesis, along: float, square: float) -> float:
    """What the best size within its bounds takes off; of a fault without a size any size of its effect."""
    if not square:
        return 0.0
    if not fault.sized:
        return along * along / square if along > 0.0 else 0.0
    size = min(max(along / square, fault.low - fault.neutral), fault.high - fault.neutral)
    return 2.0 * size * along - size * size * square


def _uncertainty(fitter: Fitter, fit: Fit) -> float | None:
    """Standard uncertainty of a size; infinite where the readings do not depend on it. [unit]"""
    if not fit.fault.sized:
        return None
    white = fitter.covariance.whitened(slope) if (slope := fitter.slope(fit)) else []
    square = dot(white, white)
    return 1.0 / sqrt(square) if square else inf


def _shared(found: list[Explanation], chi_square: float, left_out: int) -> Ranked:
    """Likelihoods as shares of their sum, that of nothing being wrong included."""
    # To six decimals, so that faults that fit alike stay in their order whatever the rounding.
    found.sort(key=lambda each: round(each.cost, 6))
    least = min([chi_square, *(each.cost for each in found)])
    weights = [exp(-0.5 * (each.cost - least)) for each in found]
    nothing = exp(-0.5 * (chi_square - least))
    total = sum(weights) + nothing
    shared = [each._replace(share=weight / total) for each, weight in zip(found, weights, strict=True)]
    return Ranked(shared[:MOST_SHOWN], nothing / total, left_out)
