"""A layout and what proves a bound as they are answered; `request` has them as they are sent, with bounds.

All by places in the lists of the request, from 0.
"""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from service.wire.quantities import ShownLength


class AnsweredSpan(Struct, frozen=True, kw_only=True):
    """One span of a run: its routes from where it is fed, in the order in which they are walked."""

    after: Annotated[
        int, Meta(description="The span of the run that feeds it, from 1; 0: it leaves the transformer.")
    ]
    routes: list[int]
    stock: int
    fixtures: Annotated[list[int], Meta(description="At its end.")]
    length: Annotated[ShownLength, Meta(description="Left out: that of its routes.")] | UnsetType = UNSET


class AnsweredRun(Struct, frozen=True):
    """One cable that leaves a transformer, with all that branches off it."""

    tap_place: Annotated[int, Meta(description="Of the taps of the transformer.")]
    circuit: Annotated[int, Meta(description="Of its circuits; 0 where it has none.")]
    spans: list[AnsweredSpan]


class AnsweredSupply(Struct, frozen=True):
    """One transformer where it is mounted, and its runs."""

    mounting_point: int
    transformer: int
    runs: list[AnsweredRun]


class ProvenBranchRow(Struct, frozen=True, kw_only=True):
    """Layouts in which some routes are dug and some are not, and what proves their bound."""

    dug: list[int]
    undug: list[int]
    empty: Annotated[bool, Meta(description="That there is no such layout is what is proven.")]
    multipliers: Annotated[
        list[int],
        Meta(description="Of each row that counts its place in `rows`, then its multiplier times 2^24."),
    ]


class ProvenCaseRow(Struct, frozen=True, kw_only=True):
    """Layouts that use these mounting points at most; or just these, with just these transformers."""

    mounting_points: list[int]
    branches: Annotated[
        list[ProvenBranchRow], Meta(description="Together they leave no layout of the case out.")
    ]
    transformers: Annotated[list[int], Meta(description="Left out: any.")] | UnsetType = UNSET


class AnsweredCertificate(Struct, frozen=True):
    """A layout and what proves a bound, to go on from; all by places in the lists of the request, from 0."""

    supplies: Annotated[list[AnsweredSupply], Meta(description="The layout; empty where none was found.")]
    rows: Annotated[list[str], Meta(description="Names of the rows of the linear programme.")]
    cases: list[ProvenCaseRow]
