"""`POST /v1/batch`: several questions in one request, an answer or a problem each."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Raw, Struct, UnsetType

from service.messages.words import CallerId

MAXIMUM_ITEMS = 50
"""Questions in one batch."""

Study = Literal[
    "voltage-drop",
    "transformer-loading",
    "gauge-recommendation",
    "reach",
    "drop-chart",
    "readings-check",
    "commissioning-sheet",
]


ANY_OBJECT = {"type": "object", "additionalProperties": True}
"""Schema of a member whose shape depends on the study."""


class BatchItem(Struct, frozen=True, forbid_unknown_fields=True):
    """One question: the name of a study and the request that would be posted to it."""

    study: Study
    request: Annotated[
        Raw,
        Meta(
            description="What would be posted to that study. Anything but an object is refused in its place,"
            " as that study refuses it.",
            extra_json_schema=ANY_OBJECT,
        ),
    ]
    id: CallerId | UnsetType = UNSET


class BatchRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """Several questions, answered in order."""

    items: Annotated[list[BatchItem], Meta(min_length=1, max_length=MAXIMUM_ITEMS)]


class Answered(Struct, frozen=True, tag_field="outcome", tag="answered"):
    """What the study would have answered by itself."""

    study: str
    answer: Annotated[Raw, Meta(description="The reply of that study.", extra_json_schema=ANY_OBJECT)]
    id: CallerId | UnsetType = UNSET


class RefusedItem(Struct, frozen=True, tag_field="outcome", tag="refused"):
    """The problem with which the study would have refused by itself."""

    study: str
    problem: Annotated[Raw, Meta(description="A problem (RFC 9457).", extra_json_schema=ANY_OBJECT)]
    id: CallerId | UnsetType = UNSET


BatchOutcome = Answered | RefusedItem


class BatchReply(Struct, frozen=True):
    """One outcome for each item, in order."""

    items: list[BatchOutcome]
