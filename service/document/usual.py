"""What several operations have alike: refusals, examples and the forms of a sheet."""

from typing import Final

from service.document.examples import Example
from service.document.operation import Form

ALWAYS: Final = ("method-not-allowed", "internal-error")
# Questions about health are never refused for want of room, nor limited by address.
READING: Final = ("not-acceptable", "too-many-requests", "busy", *ALWAYS)
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
    "work-out-of-time",
    *READING,
)

OTHER_METHOD: Final = Example("other-method", "A method that this path does not take", 405, method="DELETE")
NOT_ACCEPTED: Final = Example(
    "not-accepted", "Only a form that is not offered is accepted", 406, headers=(("accept", "text/csv"),)
)

SHEET_FORMS: Final = (
    Form(
        "text/html",
        "The answer as one page to print and hand over: what was asked and assumed, every number with its"
        " unit, findings in words. It loads and runs nothing."
        " `sheet` in the request gives it a title and lines.",
    ),
    Form("application/pdf", "The same as a document, on A4 or letter paper.", text=False),
)
DRAWN: Final = Form("image/svg+xml", "The volts along the way, and the wiring to scale of its lengths.")
