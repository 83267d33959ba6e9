"""Request headers that are part of the contract."""

from typing import Final

from service.document.operation import Operation
from service.document.schemas import Schema

PARAMETERS: Final[dict[str, Schema]] = {
    "If-None-Match": {
        "name": "If-None-Match",
        "in": "header",
        "required": False,
        "description": "The ETag of the copy that the client has (RFC 9110, section 13.1.2).",
        "schema": {"type": "string"},
        "example": '"5d41402abc4b2a76b9719d911017c592"',
    },
    "X-Request-ID": {
        "name": "X-Request-ID",
        "in": "header",
        "required": False,
        "description": (
            "The caller's own id for this request: 1 to 64 of `A-Z a-z 0-9 . _ -`. It comes back in the"
            " reply and stands in the log. Anything else is not refused but replaced by a new id."
        ),
        # No pattern: whatever stands here, the request is answered.
        "schema": {"type": "string"},
        "example": "quote-4711",
    },
}


def parameters(operation: Operation) -> list[Schema]:
    """Refer to the parameters that an operation reads."""
    names = ("If-None-Match", "X-Request-ID") if operation.kept else ("X-Request-ID",)
    return [{"$ref": f"#/components/parameters/{name}"} for name in names]
