"""What RFC 9457 and our own rules say about the members of a problem, beyond their JSON types."""

from typing import Any, Final

from msgspec import json

from service.messages.reply import Code

_PATTERN: Final[str] = json.schema(Code)["pattern"]
_CODE: Final = {
    "pattern": _PATTERN,
    "description": "A stable code. New ones may appear; treat an unknown one by its status.",
}
_ERROR_CODE: Final = {"pattern": _PATTERN, "description": "A stable code. New ones may appear."}

REQUEST_ID_PATTERN: Final = "^[A-Za-z0-9._-]{1,64}$"

PROBLEM_MEMBERS: Final[dict[str, dict[str, dict[str, Any]]]] = {
    "Problem": {
        "type": {
            "format": "uri-reference",
            "description": "A path, relative to the address of the service: one for each kind of problem.",
        },
        "title": {"description": "Never changes for a type."},
        "status": {"minimum": 400, "maximum": 599, "description": "The HTTP status, repeated."},
        "detail": {"description": "What is wrong with this request and what to do. The words may change."},
        "code": _CODE,
        "request_id": {
            "pattern": REQUEST_ID_PATTERN,
            "description": "Equals the X-Request-ID header; quote it when you ask the operator.",
        },
        "errors": {"description": "Every place to change, in the order of the request."},
    },
    "ErrorItem": {
        "code": _ERROR_CODE,
        "pointer": {
            "description": "JSON Pointer (RFC 6901) into the request; empty for the whole of it. `?watts` is"
            " a query parameter, `?watts/1` the second item of its list."
        },
        "detail": {"description": "What is wrong at this place and what to do. The words may change."},
        "allowed": {"description": "Names, or the bounds of a range as texts."},
    },
}
"""More keywords by component and member."""
