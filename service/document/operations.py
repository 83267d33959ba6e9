"""Every operation, by the name of its handler.

A route that is not listed here keeps the document from being written.
"""

from typing import Final

from service.document.examples import Example
from service.document.operation import Operation
from service.document.shapes import Health, OpenApiDocument
from service.messages.catalogues import ConductorCatalogue, UnitCatalogue
from service.messages.voltage_drop import VoltageDropReply, VoltageDropRequest

_ALWAYS: Final = ("method-not-allowed", "internal-error")
_READING: Final = ("not-acceptable", *_ALWAYS)
_CALCULATING: Final = (
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
    *_READING,
)

_OTHER_METHOD: Final = Example("other-method", "A method that this path does not take", 405, method="DELETE")
_NOT_ACCEPTED: Final = Example(
    "not-accepted", "Only a form that is not offered is accepted", 406, headers=(("accept", "text/csv"),)
)

OPERATIONS: Final[dict[str, Operation]] = {
    "live": Operation(
        summary="Is the process alive?",
        tag="health",
        reply=Health,
        reply_words="The process answers.",
        refusals=_ALWAYS,
        examples=(Example("live", "Alive"), _OTHER_METHOD),
    ),
    "ready": Operation(
        summary="Should the process be sent work?",
        tag="health",
        reply=Health,
        reply_words="The service is ready and reproduces a published value.",
        refusals=("not-ready", *_ALWAYS),
        examples=(Example("ready", "Ready"), _OTHER_METHOD),
    ),
    "openapi_document": Operation(
        summary="The contract",
        tag="contract",
        reply=OpenApiDocument,
        reply_words="The OpenAPI 3.1 document.",
        refusals=_READING,
        # Its 200 reply is this document, which cannot stand inside itself.
        examples=(_NOT_ACCEPTED, _OTHER_METHOD),
    ),
    "conductors": Operation(
        summary="Conductors",
        tag="catalogues",
        reply=ConductorCatalogue,
        reply_words="The whole list; it is short and never cut into pages.",
        refusals=_READING,
        examples=(Example("first-rows", "The first two rows", rows=2), _NOT_ACCEPTED, _OTHER_METHOD),
    ),
    "units": Operation(
        summary="Units",
        tag="catalogues",
        reply=UnitCatalogue,
        reply_words="The whole list; it is short and never cut into pages.",
        refusals=_READING,
        examples=(Example("units", "Every unit"), _NOT_ACCEPTED, _OTHER_METHOD),
    ),
    "voltage_drop": Operation(
        summary="Voltage at every fixture",
        tag="calculations",
        request=VoltageDropRequest,
        reply=VoltageDropReply,
        reply_words="The operating point, or the proof that there is none.",
        refusals=("wiring-invalid", "taps-joined", "job-too-large", *_CALCULATING),
        more=(
            "The coupled circuit is solved: each fixture draws what it draws at the voltage that it gets.\n\n"
            "A wiring in the form `runs` or `even` that fits the schema is always answered with 200, except"
            " when it expands to more points or loops than one request may have (`job-too-large`). A job that"
            " is electrically impossible is an answer too: `status` is then `no-operating-point`, and no"
            " voltage is shown. A wiring in the form `spans` can contradict itself, and is then refused.\n\n"
            "The same bytes always get the same bytes back; a request may be repeated safely."
        ),
        examples=(
            Example("runs", "A run with a branch, in feet", file="voltage_drop.json"),
            Example("even", "Fixtures alike at even distances, in metres", file="voltage_drop_even.json"),
            Example(
                "no-operating-point",
                "More load than the cable can carry",
                file="voltage_drop_no_operating_point.json",
            ),
            Example("spans", "A ring of spans between named points", file="voltage_drop_spans.json"),
            Example("unfit", "Several mistakes, all named at once", 400, file="voltage_drop_unfit.json"),
            Example("too-large", "Too many points", 422, file="voltage_drop_too_large.json"),
            Example("island", "Spans that do not reach the supply", 422, file="voltage_drop_island.json"),
            Example(
                "as-text",
                "A body that is not announced as JSON",
                415,
                file="voltage_drop.json",
                headers=(("content-type", "text/plain"),),
            ),
            Example(
                "not-accepted",
                "Only a form that is not offered is accepted",
                406,
                file="voltage_drop.json",
                headers=(("accept", "text/csv"), ("content-type", "application/json")),
            ),
            _OTHER_METHOD,
        ),
    ),
}
