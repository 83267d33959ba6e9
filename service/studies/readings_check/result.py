"""What a check of readings answers, in SI floats."""

from __future__ import annotations

from typing import NamedTuple

from service.estimation.job import ReadingsJob
from service.estimation.model import Model, ReadState
from service.estimation.probes import Probe, Routes
from service.estimation.uncertainty import COVERAGE
from service.findings.assumptions import AssumptionKind
from service.findings.finding import FindingFacts
from service.studies.readings_check.ranking import Explanation

AGREES, DISAGREES, CONTRADICTS, NOTHING = "agrees", "disagrees", "contradicts", "nothing-to-judge"


IMPOSSIBLE = "impossible"
"""How it is told that what can be judged agrees, and something else cannot be of this wiring."""


IMPROBABLE = 0.01
"""A chi-square less probable than this is not chance. [-]"""


NOT_SEPARATED = 4.0
"""Explanations whose cost is within this of the first are not told from it. [-]"""


class Judged(NamedTuple):
    """One reading beside what the model says; `predicted` and `uncertainty` None where it was not used.

    The uncertainty is the standard one of the discrepancy, reading minus predicted. [V], [A]
    """

    position: int
    quantity: str
    reading: float
    predicted: float | None = None
    uncertainty: float | None = None
    reason: str | None = None

    @property
    def discrepancy(self) -> float | None:
        """Reading minus predicted. [V], [A]"""
        return None if self.predicted is None else self.reading - self.predicted

    @property
    def normalised(self) -> float | None:
        """Discrepancy over its standard uncertainty. [-]"""
        if self.predicted is None or not self.uncertainty:
            return None
        return (self.reading - self.predicted) / self.uncertainty

    @property
    def verdict(self) -> str:
        """Where the reading stands: agrees, high or low; not-used."""
        normalised = self.normalised
        if normalised is None:
            return "not-used"
        if abs(normalised) <= COVERAGE:
            return "agrees"
        return "high" if normalised > 0.0 else "low"


class Chance(NamedTuple):
    """Chi-square, its degrees of freedom, and the probability that chance alone gives more. [-]

    `single`: the probability that chance lets the best single cause take so much off; None: not asked.
    """

    value: float
    degrees: int
    probability: float
    single: float | None = None

    @property
    def is_chance(self) -> bool:
        """Whether all of it may be chance."""
        return self.probability >= IMPROBABLE and (self.single is None or self.single >= IMPROBABLE)


class SuggestedReading(NamedTuple):
    """The one reading more that would tell the explanations apart, and what each expects. [V], [A]

    `lit` points at the run that alone is on; None: nothing, or everything. `separation` is in standard
    deviations of the reading. [-]
    """

    probe: Probe
    state: ReadState
    lit: str | None
    where: str
    expected: list[tuple[int, float]]
    separation: float


class CheckAnswer(NamedTuple):
    """Readings against the model."""

    asked: ReadingsJob
    verdict: str
    chance: Chance
    readings: list[Judged]
    explanations: list[Explanation]
    nothing_wrong: float
    alternatives: list[int]
    place_settled: bool
    left_out: int
    impossible: list[int]
    next_reading: SuggestedReading | None
    findings: list[FindingFacts]
    assumptions: list[AssumptionKind]
    sources: list[str]
    model: Model
    routes: Routes
