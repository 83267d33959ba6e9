"""Which faults can be found at all, by the truth solver and the stated covariance alone."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from tests.studies.readings_truth.circuit import Floats, NothingSettlesError
from tests.studies.readings_truth.covariance import covariance
from tests.studies.readings_truth.mix import MIX
from tests.studies.readings_truth.places import Suspect, Where, suspects, where_is
from tests.studies.readings_truth.world import SOUND, Fault, Truth, World

FAR = 1e9
"""χ² of a fault with which nothing settles."""

NOTHING = Suspect(Where("nothing"), "none", -1, 0.0, 0.0, 0.0)


class Fit(NamedTuple):
    """The best size of one suspect."""

    suspect: Suspect
    size: float
    chi_square: float


class Seen(NamedTuple):
    """How far a fault is from a sound garden, and from the nearest fault elsewhere."""

    sound_chi_square: float
    other_chi_square: float
    other: Where | None

    @property
    def identifiable(self) -> bool:
        says = MIX["identifiable"]
        return bool(
            self.sound_chi_square >= says["sound_chi_square"]
            and self.other_chi_square >= says["other_place_chi_square"]
        )


class Search:
    """Fits single faults to readings, one covariance for all.

    Parameters
    ----------
    truth : Truth
        Garden and plan.
    about : Fault
        The covariance is taken there.
    mains_ratio : of each state
        As it was measured; nothing: taken as rated.
    """

    def __init__(self, truth: Truth, about: Fault = SOUND, mains_ratio: tuple[float, ...] = ()) -> None:
        self.truth = truth
        self.on_paper = World(mains_ratio=mains_ratio)
        self.sound = truth.readings(self.on_paper)
        expected = truth.readings(World(fault=about))
        self.whitener = np.linalg.inv(np.linalg.cholesky(covariance(truth, about, expected)))

    def chi_square(self, read: Floats, expected: Floats) -> float:
        return float(np.sum((self.whitener @ (read - expected)) ** 2))

    def fit(self, suspect: Suspect, read: Floats, beside: float = FAR) -> Fit:
        """The best size by damped Gauss-Newton steps; given up early where it cannot come below `beside`."""
        best = Fit(suspect, suspect.start, FAR)
        if not suspect.sized:
            return best._replace(chi_square=self._far(self._at(suspect, suspect.start), read))
        size, step, here = suspect.start, _first_step(suspect), self.sound
        best = Fit(suspect, size, self.chi_square(read, here))
        for turn in range(12):
            moved = self._step(suspect, size, step, read, here)
            if moved is None:
                break
            trial, halvings = min(max(size + moved, suspect.low), suspect.high), 0
            there = self._at(suspect, trial)
            while (chi := self._far(there, read)) > best.chi_square and halvings < 4:
                trial, halvings = (trial + size) / 2.0, halvings + 1
                there = self._at(suspect, trial)
            if there is None or chi > best.chi_square - 1e-3:
                break
            best, here = Fit(suspect, trial, chi), there
            size, step = trial, min(abs(trial - size) * 0.05 + 1e-6, step)
            if turn == 1 and best.chi_square > 8.0 * beside + 400.0:
                break
        return best

    def _step(self, suspect: Suspect, size: float, step: float, read: Floats, here: Floats) -> float | None:
        """Gauss-Newton from `here`, by a one-sided derivative that stays within the bounds."""
        step = -step if size + step > suspect.high else step
        beside = self._at(suspect, size + step)
        if beside is None:
            return None
        slope = self.whitener @ (beside - here) / step
        weight = float(slope @ slope)
        return float(slope @ (self.whitener @ (read - here))) / weight if weight > 0.0 else None

    def _at(self, suspect: Suspect, size: float) -> Floats | None:
        try:
            return self.truth.readings(self.on_paper.with_fault(suspect.fault(size)))
        except NothingSettlesError:
            return None

    def _far(self, expected: Floats | None, read: Floats) -> float:
        return FAR if expected is None else self.chi_square(read, expected)


def _first_step(suspect: Suspect) -> float:
    return {"span": 1e-3, "power": 1e-2, "undeclared": 0.1, "supply": 1e-3, "winding": 1e-2}[suspect.kind]


def seen(truth: Truth, fault: Fault) -> Seen:
    """How well a fault shows in readings without noise."""
    try:
        expected = truth.readings(World(fault=fault))
    except NothingSettlesError:
        # It was drawn where it is carried, by shorter lengths or higher mains than are nominal.
        return Seen(0.0, 0.0, None)
    from_sound = Search(truth).chi_square(expected, truth.readings(World()))
    if from_sound < MIX["identifiable"]["sound_chi_square"]:
        return Seen(from_sound, 0.0, None)
    try:
        search, place = Search(truth, fault), where_is(truth.garden, fault)
    except NothingSettlesError:
        # So near collapse that a warmer cable has no operating point: no straight line describes its spread.
        return Seen(from_sound, 0.0, None)
    nearest = Fit(NOTHING, 0.0, FAR)
    for suspect in suspects(truth.garden):
        if suspect.where != place:
            found = search.fit(suspect, expected, nearest.chi_square)
            nearest = min(nearest, found, key=lambda fit: fit.chi_square)
    return Seen(from_sound, nearest.chi_square, nearest.suspect.where)


def seen_both(truth: Truth, fault: Fault, also: Fault) -> Seen:
    """How well two faults show: the harder one alone, and the nearest single fault to both at once."""
    alone = [seen(truth, each) for each in (fault, also)]
    try:
        expected = truth.readings(World(fault=fault, also=also))
        search = Search(truth, fault)
    except NothingSettlesError:
        return Seen(min(each.sound_chi_square for each in alone), 0.0, None)
    nearest = Fit(NOTHING, 0.0, FAR)
    for suspect in suspects(truth.garden):
        found = search.fit(suspect, expected, nearest.chi_square)
        nearest = min(nearest, found, key=lambda fit: fit.chi_square)
    closest = min(
        [*alone, Seen(0.0, nearest.chi_square, nearest.suspect.where)], key=lambda each: each.other_chi_square
    )
    return Seen(min(each.sound_chi_square for each in alone), closest.other_chi_square, closest.other)
