"""What the document says of every operation, by the name of its handler.

A route that is not listed here keeps the document from being written.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, Any, Final, NamedTuple

from msgspec import Meta, Struct

from service.http.batch import BatchReply, batch_request
from service.http.catalogues import (
    AssumptionCatalogue,
    ConductorCatalogue,
    FindingCatalogue,
    LimitCatalogue,
    ProblemCatalogue,
    SourceCatalogue,
    UnitCatalogue,
)
from service.problems import ProblemKind
from service.studies import STUDIES
from service.studies.description import Description, Example, Retirement
from service.studies.drop_chart import DROP_CHART_BY_ADDRESS
from service.studies.drop_chart.request import DropChartQuery
from service.studies.record import JSON, AnyStudy, Form

_TWO_ROWS: Final = Example("first-rows", "The first two rows", rows=2)


def _catalogue(summary: str, reply: type, example: Example) -> Operation:
    """Describe a list that a client may keep."""
    return Operation(
        summary=summary,
        tag="catalogues",
        reply=reply,
        reply_words="The whole list; it is short and never cut into pages.",
        refusals=READING,
        kept=True,
        examples=(example, NOT_ACCEPTED, OTHER_METHOD),
    )


ALWAYS: Final = ("method-not-allowed", "internal-error")


# Questions about health are never refused for want of room, nor limited by address.
READING: Final = ("not-acceptable", "too-many-requests", "busy", *ALWAYS)


# Only where something is worked out.
QUOTAS: Final = ("quota-spent", "heavy-in-progress")


CALCULATING: Final = (
    "empty-body",
    "not-utf-8",
    "byte-order-mark",
    "malformed-json",
    "nesting-too-deep",
    "duplicate-member",
    "number-out-of-range",
    "request-invalid",
    "body-too-large",
    "unsupported-media-type",
    "unsupported-encoding",
    *QUOTAS,
    "work-out-of-time",
    *READING,
)


OTHER_METHOD: Final = Example("other-method", "A method that this path does not take", 405, method="DELETE")


NOT_ACCEPTED: Final = Example(
    "not-accepted", "Only a form that is not offered is accepted", 406, headers=(("accept", "text/csv"),)
)


class Operation(NamedTuple):
    """Facts about one operation."""

    summary: str
    tag: str
    reply: Any
    """The struct, or union of structs, of a 200 reply."""
    reply_words: str
    refusals: tuple[str | ProblemKind, ...]
    """The problems, or the codes of them, with which the operation may refuse."""
    request: Any = None
    """The struct of the body, where there is one."""
    query: Any = None
    """The struct of the query, where there is one."""
    forms: Mapping[str, Form] = MappingProxyType({})
    """Forms of the 200 reply beside JSON, by media type."""
    kept: bool = False
    """Whether a client may keep the reply and ask later whether it is still good."""
    more: str = ""
    """What the handler's docstring leaves out."""
    examples: tuple[Example, ...] = ()
    retirement: Retirement | None = None
    """Where it is to go."""


AnyObject = Annotated[dict[str, Any], Meta(extra_json_schema={"additionalProperties": True})]


class Health(Struct, frozen=True):
    """The state of the process."""

    status: Annotated[str, Meta(pattern=r"^[a-z]+(?![\s\S])", description="`live` or `ready`.")]
    version: Annotated[str, Meta(description="Version of the service.")]


class Readiness(Health, frozen=True):
    """The state of a process that should be sent work."""

    solver: Annotated[
        str,
        Meta(
            pattern=r"^[a-z]+(?![\s\S])",
            description="`compiled`, or `plain` where it runs as Python, to the same numbers.",
        ),
    ]
    layout: Annotated[
        str,
        Meta(
            pattern=r"^[a-z-]+(?![\s\S])",
            description="What the bound of a least-cost layout is proven by: `relaxation`, or `closed-form`"
            " where the packages of the extra `layout` are not installed.",
        ),
    ]


class OpenApiDocument(Struct, frozen=True):
    """An OpenAPI document, as far as every client may count on it."""

    openapi: Annotated[str, Meta(pattern=r"^3\.1\.\d+(?![\s\S])", description="Version of the format.")]
    info: AnyObject
    paths: AnyObject
    components: AnyObject


_OTHERS: Final[dict[str, Operation]] = {
    "live": Operation(
        summary="Is the process alive?",
        tag="health",
        reply=Health,
        reply_words="The process answers.",
        refusals=ALWAYS,
        examples=(Example("live", "Alive"), OTHER_METHOD),
    ),
    "ready": Operation(
        summary="Should the process be sent work?",
        tag="health",
        reply=Readiness,
        reply_words="The service is ready and reproduces a published value.",
        refusals=("not-ready", *ALWAYS),
        examples=(
            Example("ready", "Ready", shown={"solver": "compiled", "layout": "relaxation"}),
            OTHER_METHOD,
        ),
    ),
    "openapi_document": Operation(
        summary="OpenAPI document",
        tag="contract",
        reply=OpenApiDocument,
        reply_words="The OpenAPI 3.1 document.",
        refusals=READING,
        kept=True,
        # Its 200 reply is this document, which cannot stand inside itself.
        examples=(NOT_ACCEPTED, OTHER_METHOD),
    ),
    "assumptions": _catalogue("Assumptions and cautions", AssumptionCatalogue, _TWO_ROWS),
    "conductors": _catalogue("Conductors", ConductorCatalogue, _TWO_ROWS),
    "findings": _catalogue("Findings", FindingCatalogue, _TWO_ROWS),
    "limits": _catalogue("Limits", LimitCatalogue, Example("limits", "As this service is set up")),
    "problems": _catalogue("Problems", ProblemCatalogue, _TWO_ROWS),
    "sources": _catalogue("Sources", SourceCatalogue, _TWO_ROWS),
    "units": _catalogue("Units", UnitCatalogue, Example("units", "Every unit")),
}
"""What is no calculation."""


def descriptions() -> dict[str, Operation]:
    """Describe every operation, by the name of its handler."""
    by_address = _calculation(DROP_CHART_BY_ADDRESS)._replace(
        request=None,
        query=DropChartQuery,
        refusals=(*DROP_CHART_BY_ADDRESS.description.refusals, *QUOTAS, *READING),
        kept=True,
    )
    return {
        **_OTHERS,
        **{study.operation: _calculation(study) for study in STUDIES.values()},
        "get_drop_chart": by_address,
        "batch": _batch(),
    }


def _calculation(study: AnyStudy) -> Operation:
    """Describe a study by its entry in the table."""
    words: Description = study.description
    return Operation(
        summary=words.summary,
        tag="calculations",
        request=study.request,
        reply=words.reply,
        reply_words=words.reply_words,
        refusals=(*words.refusals, *CALCULATING),
        forms={media_type: form for media_type, form in study.forms.items() if media_type != JSON},
        more=words.more,
        examples=(*words.examples, OTHER_METHOD),
        retirement=words.retirement,
    )


def _batch() -> Operation:
    return Operation(
        summary="Batch",
        tag="calculations",
        request=batch_request(),
        reply=BatchReply,
        reply_words="One outcome for each item, in order: an answer or a problem.",
        refusals=CALCULATING,
        more=(
            "Each item is answered as if its `request` had been posted to its study alone, or refused with"
            " `work-over-limit` where those before it left too little of the work that a request may ask for."
            " A mistake in one item spoils no other; its problem stands in its place."
        ),
        examples=(Example("two", "One that fits and one that does not", file="batch.json"), OTHER_METHOD),
    )
