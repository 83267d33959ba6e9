"""Request headers and query parameters that are part of the contract."""

from typing import Any, Final

from msgspec import json, to_builtins

from service.document.operation import Operation
from service.document.schemas import Schema, inline
from service.intake.query import read_query

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
    return [*_query(operation), *({"$ref": f"#/components/parameters/{name}"} for name in names)]


def _query(operation: Operation) -> list[Schema]:
    """The parameters of the query, each with the value that it has in the first example."""
    if operation.query is None:
        return []
    _, components = json.schema_components([operation.query])
    written = components[operation.query.__name__]
    shown = _shown(operation)
    return [
        _parameter(name, schema, required=name in written["required"], example=shown.get(name))
        for name, schema in written["properties"].items()
    ]


def _shown(operation: Operation) -> dict[str, Any]:
    query = next(example.query for example in operation.examples if example.query)
    return dict(to_builtins(read_query(query.encode("ascii"), operation.query)))


def _parameter(name: str, schema: Schema, *, required: bool, example: object) -> Schema:
    """One parameter. A list of texts is the parameter repeated, a list of numbers has commas between."""
    plain = inline(schema)
    several = plain.get("type") == "array"
    style = {"style": "form", "explode": plain["items"]["type"] == "string"} if several else {}
    return {
        "name": name,
        "in": "query",
        "required": required,
        "description": plain.pop("description"),
        **style,
        "schema": plain,
        **({} if example is None else {"example": example}),
    }
