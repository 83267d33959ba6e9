"""Every operation, by the name of its handler.

A route that is not listed here keeps the document from being written.
"""

from typing import Final

from service.document.charts import CHARTS
from service.document.designing import DESIGNING
from service.document.examples import Example
from service.document.metering import METERING
from service.document.operation import Operation
from service.document.shapes import Health, OpenApiDocument
from service.document.usual import ALWAYS, CALCULATING, NOT_ACCEPTED, OTHER_METHOD, READING
from service.messages.batch import BatchReply, BatchRequest
from service.messages.catalogues import (
    AssumptionCatalogue,
    ConductorCatalogue,
    FindingCatalogue,
    LimitCatalogue,
    ProblemCatalogue,
    SourceCatalogue,
    UnitCatalogue,
)

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


OPERATIONS: Final[dict[str, Operation]] = {
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
        reply=Health,
        reply_words="The service is ready and reproduces a published value.",
        refusals=("not-ready", *ALWAYS),
        examples=(Example("ready", "Ready"), OTHER_METHOD),
    ),
    "openapi_document": Operation(
        summary="The contract",
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
    **DESIGNING,
    **METERING,
    **CHARTS,
    "batch": Operation(
        summary="Several questions at once",
        tag="calculations",
        request=BatchRequest,
        reply=BatchReply,
        reply_words="One outcome for each item, in order: an answer or a problem.",
        refusals=CALCULATING,
        more=(
            "Each item is answered as if its `request` had been posted to its study alone. A mistake in one"
            " item spoils no other; its problem stands in its place."
        ),
        examples=(Example("two", "One that fits and one that does not", file="batch.json"), OTHER_METHOD),
    ),
}
