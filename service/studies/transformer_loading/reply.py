"""`POST /v1/transformer-loading`: what is answered."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service import tables
from service.findings.loading import CONTINUOUS_SHARE
from service.studies.transformer_loading.request import ShareOfRating
from service.wire.conditions import Conditions
from service.wire.money import Amount, Currency
from service.wire.quantities import (
    CallerId,
    ShownApparentPower,
    ShownCurrent,
    ShownQuantity,
    ShownRealPower,
    ShownVoltage,
)
from service.wire.reply import (
    CircuitState,
    Code,
    CornerState,
    CurrentRatio,
    Finding,
    JudgedAnswer,
    LoadMargin,
    Pointer,
    Solution,
    Subject,
    TapState,
    UsualLoadingRatio,
    Word,
)
from service.wire.summary import LoadSummary

JudgedConditions = Annotated[
    Conditions,
    Meta(
        description="What all of this was judged under, complete: the supply of the request, the"
        " recommended or nearest transformer and each that is rejected. Any study takes it."
        " With `range-not-held` that is the stated state."
    ),
]


TransformerVerdict = Annotated[
    Word,
    Meta(description="passes, passes-with-warnings or fails, as voltage-drop judges the job behind it."),
]

BrokenCodes = Annotated[
    list[Code],
    Meta(description="Of what is found with it every fault, and every warning that is not accepted."),
]


class StatedSupply(Struct, frozen=True):
    """The supply of the request, judged as the recommended transformer is."""

    verdict: TransformerVerdict
    broken: Annotated[
        list[Code],
        Meta(
            description="Of what is found with it every fault, and every warning that is not accepted; and"
            " `rating-below-connected` where it is too small with the spare, which is a matter of `verdict`"
            " only where the request asks for a spare."
        ),
    ]


class ConnectedLoad(Struct, frozen=True):
    """What the fixtures are made to draw, at the voltage of their label or else at that of their tap."""

    real_power: ShownRealPower
    apparent_power: Annotated[
        ShownApparentPower,
        Meta(description="Added up as plain numbers, which is never too little."),
    ]
    least_rating: Annotated[
        ShownApparentPower,
        Meta(
            description="What a transformer must be rated at least: with the spare, and so that the"
            " connected volt-amperes are no more of it than it may be loaded to."
        ),
    ]


class PrimaryState(Struct, frozen=True):
    """The mains side of an ideal core; the magnetising current is left out."""

    voltage: Annotated[ShownVoltage, Meta(description="In this state.")]
    current: ShownCurrent
    apparent_power: Annotated[ShownApparentPower, Meta(description="At the terminals, and the winding loss.")]


class TerminalLoading(Struct, frozen=True):
    """What is asked of a supply in the state in which it is loaded most."""

    corner: CornerState
    real_power: ShownRealPower
    apparent_power: ShownApparentPower
    cable_loss: ShownRealPower
    winding_loss: ShownRealPower
    taps: list[TapState]
    power_factor: (
        Annotated[float, Meta(description="Real over apparent power; absent on direct current.")] | UnsetType
    ) = UNSET
    rating: (
        Annotated[ShownApparentPower, Meta(description="On direct current a volt-ampere is a watt.")]
        | UnsetType
    ) = UNSET
    loading_ratio: (
        Annotated[
            float,
            Meta(
                description="Apparent power over the rating, where it is known. What is judged, and told in"
                " the summary, is the larger of this and `current_ratio`."
            ),
        ]
        | UnsetType
    ) = UNSET
    current_ratio: CurrentRatio | UnsetType = UNSET
    loading_ratio_at_usual_power_factor: UsualLoadingRatio | UnsetType = UNSET
    spare: (
        Annotated[ShownApparentPower, Meta(description="What is left of the rating; negative: too much.")]
        | UnsetType
    ) = UNSET
    spare_ratio: ShareOfRating | UnsetType = UNSET


class RejectionReason(Struct, frozen=True):
    """Why a transformer is not recommended."""

    code: Code
    message: str
    measured: ShownQuantity | UnsetType = UNSET
    limit: ShownQuantity | UnsetType = UNSET
    subject: (
        Annotated[Subject, Meta(description="What it is about, but for the unit itself.")] | UnsetType
    ) = UNSET


class RejectedTransformer(Struct, frozen=True):
    """A transformer that is not recommended; what its plate shows is said before anything is solved."""

    rating: ShownApparentPower
    reasons: list[RejectionReason]
    pointer: Pointer | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET
    name: str | UnsetType = UNSET


class OfferedTransformer(Struct, frozen=True):
    """A transformer that carries the job."""

    rating: ShownApparentPower
    loading: Annotated[TerminalLoading, Meta(description="Solved with its own regulation and taps.")]
    pointer: Pointer | UnsetType = UNSET
    id: CallerId | UnsetType = UNSET
    name: str | UnsetType = UNSET
    price: Amount | UnsetType = UNSET
    currency: Currency | UnsetType = UNSET


class RecommendedTransformer(OfferedTransformer, frozen=True):
    """The smallest that carries the job and passes; of equals the cheapest, then the first."""

    verdict: (
        Annotated[Word, Meta(description="passes, as voltage-drop judges the job behind it.")] | UnsetType
    ) = UNSET
    broken: Annotated[list[Code], Meta(description="Empty: it passes.")] | UnsetType = UNSET


class NearestTransformer(OfferedTransformer, frozen=True):
    """Where none passes, the one that carries the job and breaks least; it is in `rejected` as well."""

    verdict: TransformerVerdict | UnsetType = UNSET
    broken: BrokenCodes | UnsetType = UNSET


class DividedRun(Struct, frozen=True):
    """A run, or all spans that meet behind the supply, at its highest current in any state."""

    pointer: Pointer
    name: str
    current: ShownCurrent
    id: CallerId | UnsetType = UNSET


class DividedCircuit(Struct, frozen=True):
    """One circuit of the recommended transformer, or else of the nearest, and the runs to put on it."""

    name: str
    current: Annotated[ShownCurrent, Meta(description="Of its runs, added up as plain numbers.")]
    runs: list[DividedRun]
    limit: (
        Annotated[
            ShownCurrent,
            Meta(
                description="Of its device as the stock states it, else absent; of a usual rating"
                f" {tables.constant('secondary_circuit_limit').value:g} A, the most that a circuit of"
                " low-voltage lighting may have."
            ),
        ]
        | UnsetType
    ) = UNSET
    loading_ratio: Annotated[float, Meta(description="Current over limit.")] | UnsetType = UNSET


class RunPlacement(Struct, frozen=True):
    """A run, or all spans that meet behind the supply, and its circuit of the stated supply."""

    pointer: Pointer
    name: str
    circuit: str
    id: CallerId | UnsetType = UNSET


class CircuitDivision(Struct, frozen=True):
    """The runs over the circuits of the recommended transformer, or else of the nearest.

    The fullest is as empty as can be.
    """

    circuits: list[DividedCircuit]
    method: Annotated[
        Code,
        Meta(
            description="exact: proved to be the best; best-found: the search was left, over 20 runs, or runs"
            " that were put where devices suit their cable."
        ),
    ]
    largest_ratio: (
        Annotated[
            float,
            Meta(description="Current over limit of the circuit nearest to it; absent where none is known."),
        ]
        | UnsetType
    ) = UNSET
    within_continuous_share: (
        Annotated[
            bool,
            Meta(
                description=f"Whether no circuit is above {CONTINUOUS_SHARE} of its limit, the habit for"
                " long hours; absent where that depends on a limit which is not known."
            ),
        ]
        | UnsetType
    ) = UNSET


Stated = Annotated[
    StatedSupply,
    Meta(description="Absent, as is the verdict of the one on offer, where only totals are known."),
]


Nearest = Annotated[
    NearestTransformer,
    Meta(description="Where some carry the job and none passes (`no-transformer-passes`)."),
]


class LoadedAnswer(JudgedAnswer, frozen=True, kw_only=True):
    """What closes a loading: beyond the usual the choice of a transformer."""

    stated: Stated | UnsetType = UNSET
    primary: PrimaryState | UnsetType = UNSET
    recommended: RecommendedTransformer | UnsetType = UNSET
    nearest: Nearest | UnsetType = UNSET
    division: CircuitDivision | UnsetType = UNSET
    placement: (
        Annotated[
            list[RunPlacement],
            Meta(
                description="Where the stated supply has several circuits: how the runs that name none"
                " were put on them (`runs-placed`)."
            ),
        ]
        | UnsetType
    ) = UNSET
    judged_conditions: JudgedConditions | UnsetType = UNSET


class TransformerLoaded(LoadedAnswer, frozen=True, tag_field="status", tag="solved"):
    """What is asked of the stated supply, and which transformer would carry it."""

    summary: LoadSummary
    connected: ConnectedLoad
    loading: TerminalLoading
    circuits: Annotated[
        list[CircuitState],
        Meta(description="Of the stated supply, each at its highest current in any state."),
    ]
    rejected: list[RejectedTransformer]
    findings: list[Finding]
    solution: Solution


class CollapsedAnswer(JudgedAnswer, frozen=True, kw_only=True):
    """What closes a loading that cannot be carried."""

    stated: Stated | UnsetType = UNSET
    recommended: RecommendedTransformer | UnsetType = UNSET
    nearest: Nearest | UnsetType = UNSET
    division: CircuitDivision | UnsetType = UNSET
    judged_conditions: JudgedConditions | UnsetType = UNSET


class TransformerCollapsed(CollapsedAnswer, frozen=True, tag_field="status", tag="no-operating-point"):
    """The stated supply cannot carry that load at any voltage; another transformer may."""

    summary: LoadSummary
    connected: ConnectedLoad
    rejected: list[RejectedTransformer]
    findings: list[Finding]
    load_margin: LoadMargin


TransformerLoadingReply = TransformerLoaded | TransformerCollapsed
