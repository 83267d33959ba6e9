"""`POST /v1/readings-check`: what is answered."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.studies.readings_check.study import IMPROBABLE
from service.wire.quantities import CallerId, ShownQuantity, ShownVoltage
from service.wire.readings import NextState
from service.wire.reply import Code, Finding, JudgedAnswer, Pointer, Subject
from service.wire.summary import Summary


class ChiSquare(Struct, frozen=True):
    """How far all used readings are from the model together, in units of what may be off."""

    statistic: Annotated[float, Meta(ge=0)]
    degrees_of_freedom: Annotated[int, Meta(ge=0, description="How many readings were used.")]
    probability: Annotated[
        float, Meta(ge=0, le=1, description="That sound wiring and a sound meter give as much or more.")
    ]
    single_cause_probability: (
        Annotated[
            float,
            Meta(
                ge=0,
                le=1,
                description="That they let the best single cause take so much off; below"
                f" {100.0 * IMPROBABLE:g} % the readings"
                " disagree as well. Left out where that is too much work.",
            ),
        ]
        | UnsetType
    ) = UNSET


class ReadingRow(Struct, frozen=True):
    """One reading beside what the model says."""

    pointer: Pointer
    where: Annotated[str, Meta(description="In words: what was read, where, in which state.")]
    verdict: Annotated[Code, Meta(description="agrees, high, low or not-used")]
    reading: ShownQuantity
    id: CallerId | UnsetType = UNSET
    subject: Annotated[Subject, Meta(description="What was read, on the wiring.")] | UnsetType = UNSET
    predicted: ShownQuantity | UnsetType = UNSET
    uncertainty: (
        Annotated[ShownQuantity, Meta(description="Of the discrepancy, expanded: twice the standard one.")]
        | UnsetType
    ) = UNSET
    discrepancy: Annotated[ShownQuantity, Meta(description="Reading minus predicted.")] | UnsetType = UNSET
    normalised_residual: (
        Annotated[float, Meta(description="Discrepancy over its standard uncertainty.")] | UnsetType
    ) = UNSET
    reason: Annotated[Code, Meta(description="Why it was not used: a finding's code.")] | UnsetType = UNSET
    line: Annotated[int, Meta(ge=2, description="Of `readings_csv`.")] | UnsetType = UNSET


class Between(Struct, frozen=True, rename={"start": "from", "end": "to"}):
    """The two ends of a stretch of cable, named as in the spans of a voltage drop."""

    start: str
    end: str


class ExplanationRow(Struct, frozen=True):
    """One single fault, with the size at which the readings fit it best; of one run where several are."""

    code: Code
    chi_square: Annotated[float, Meta(ge=0, description="What it leaves of the whole chi-square.")]
    likelihood_share: Annotated[
        float, Meta(ge=0, le=1, description="Among the causes fitted, that nothing is wrong included.")
    ]
    message: str
    located_at: (
        Annotated[Subject, Meta(description="The fixture, the run, or what is at the far end of the span.")]
        | UnsetType
    ) = UNSET
    between: Between | UnsetType = UNSET
    exchanged_with: Annotated[Subject, Meta(description="The other fixture or run.")] | UnsetType = UNSET
    size: (
        Annotated[
            ShownQuantity,
            Meta(
                description="A ratio is of what the request says; W and a joint's ohm are added to it; ohm of"
                " winding-resistance are all that the supply has."
            ),
        ]
        | UnsetType
    ) = UNSET
    uncertainty: (
        Annotated[ShownQuantity, Meta(description="Of the size, expanded: twice the standard one.")]
        | UnsetType
    ) = UNSET
    at_least: (
        Annotated[ShownQuantity, Meta(description="Of a size that the readings bound from below alone.")]
        | UnsetType
    ) = UNSET
    tap: Annotated[ShownVoltage, Meta(description="The tap that the run is on.")] | UnsetType = UNSET


class CheckedRun(Struct, frozen=True):
    """One run judged by itself: by the volts at the terminals and by what was read on it."""

    subject: Subject
    verdict: Annotated[Code, Meta(description="agrees, disagrees or contradicts")]
    readings: Annotated[int, Meta(ge=1, description="How many were used, those at the terminals included.")]
    probability: Annotated[
        float, Meta(ge=0, le=1, description="That a sound run and a sound meter give as much or more.")
    ]
    explained_by: Annotated[
        list[int],
        Meta(
            description="Explanations of this run, by index from 0, best first, which these readings do"
            " not tell apart; only where several runs have each a fault of its own. A run that agrees by"
            " itself has some where all readings together ask for a fault there."
        ),
    ]


class Identifiability(Struct, frozen=True):
    """What these readings can tell apart, and what they cannot."""

    separated: Annotated[
        bool, Meta(description="Whether everything that fits as well as the first is at the same place.")
    ]
    alternatives: Annotated[
        list[int], Meta(description="Explanations, by index from 0, that are not told from the first.")
    ]
    sentence: str


class Expectation(Struct, frozen=True):
    """What one explanation expects of the next reading."""

    explanation: Annotated[int, Meta(ge=0, description="Index from 0 into the explanations.")]
    value: ShownQuantity


class NextReading(Struct, frozen=True):
    """The one reading more that would tell the explanations apart best."""

    message: str
    subject: Annotated[
        Subject, Meta(description="Where: `/supply` is its terminals, else as a `wired` reading points.")
    ]
    quantity: Annotated[Code, Meta(description="voltage or current")]
    state: NextState
    expected: list[Expectation]


class CheckedAnswer(JudgedAnswer, frozen=True, kw_only=True):
    """What closes a check of readings: beyond the usual what to read next."""

    next_reading: NextReading | UnsetType = UNSET
    by_run: (
        Annotated[
            list[CheckedRun],
            Meta(
                description="Each run by itself, where a job of several runs does not agree. Left out: a"
                " graph, more than 12 runs, or too much work."
            ),
        ]
        | UnsetType
    ) = UNSET


class ReadingsCheckReply(CheckedAnswer, frozen=True):
    """What the readings say of the wiring."""

    summary: Summary
    verdict: Annotated[
        Code,
        Meta(
            description="agrees; disagrees: one single cause explains the readings, or one on each of"
            " several runs (`by_run`); contradicts: none does;"
            " nothing-to-judge"
        ),
    ]
    conclusion: str
    chi_square: ChiSquare
    readings: list[ReadingRow]
    explanations: list[ExplanationRow]
    identifiability: Identifiability
    findings: list[Finding]
