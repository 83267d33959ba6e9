"""A small document of the same make as ours, and ways to change it."""

from copy import deepcopy
from typing import Any, Final

_WIRE: Final = {
    "type": "object",
    "properties": {
        "name": {"type": "string", "maxLength": 64, "minLength": 1, "pattern": "^[a-z]+$"},
        "length": {"$ref": "#/components/schemas/Length", "description": "One way."},
        "count": {"type": "integer", "minimum": 1, "maximum": 2000},
        "metal": {"type": "string", "enum": ["copper", "aluminium"]},
        "lamps": {"type": "array", "items": {"$ref": "#/components/schemas/Lamp"}, "maxItems": 10},
    },
    "required": ["length"],
    "additionalProperties": False,
}
_LENGTH: Final = {
    "type": "object",
    "properties": {
        "value": {"type": "number", "minimum": 0, "maximum": 100},
        "unit": {"type": "string", "enum": ["m", "ft"]},
    },
    "required": ["value", "unit"],
    "additionalProperties": False,
}
_SOLVED: Final = {
    "type": "object",
    "properties": {
        "status": {"type": "string", "const": "solved"},
        "drop": {"type": "number"},
        "verdict": {"type": "string", "pattern": "^[a-z-]+$"},
        "steps": {"type": "integer", "minimum": 0},
        "note": {"type": "string"},
    },
    "required": ["status", "drop", "verdict", "steps"],
}
_LAMP: Final = {
    "oneOf": [{"$ref": "#/components/schemas/Bulb"}, {"$ref": "#/components/schemas/Tube"}],
    "discriminator": {
        "propertyName": "kind",
        "mapping": {"bulb": "#/components/schemas/Bulb", "tube": "#/components/schemas/Tube"},
    },
}
_REPLY: Final = {
    "oneOf": [{"$ref": "#/components/schemas/Solved"}],
    "discriminator": {"propertyName": "status", "mapping": {"solved": "#/components/schemas/Solved"}},
}
DOCUMENT: Final[Any] = {
    "openapi": "3.1.1",
    "info": {"title": "Example", "version": "1.0.0"},
    "paths": {
        "/drop": {
            "post": {
                "operationId": "drop",
                "parameters": [{"name": "language", "in": "header", "schema": {"type": "string"}}],
                "requestBody": {
                    "required": True,
                    "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Wire"}}},
                },
                "responses": {
                    "200": {
                        "description": "The answer.",
                        "headers": {"ETag": {"required": True, "schema": {"type": "string"}}},
                        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Reply"}}},
                    },
                    "422": {"description": "A refusal."},
                },
            },
            "get": {"operationId": "list", "responses": {"200": {"description": "A list."}}},
        }
    },
    "components": {
        "schemas": {
            "Wire": _WIRE,
            "Length": _LENGTH,
            "Lamp": _LAMP,
            "Bulb": {"type": "object", "properties": {"kind": {"type": "string", "const": "bulb"}}},
            "Tube": {"type": "object", "properties": {"kind": {"type": "string", "const": "tube"}}},
            "Reply": _REPLY,
            "Solved": _SOLVED,
        }
    },
}
ABSENT: Final = object()
"""Stands for a member that is taken away."""

OPERATION: Final = "paths /drop post"
REQUEST: Final = "components schemas Wire"
REPLY: Final = "components schemas Solved"


def changed(*changes: tuple[str, Any]) -> Any:
    """Copy the document with members set or taken away, each named by its path, in words."""
    document = deepcopy(DOCUMENT)
    for path, value in changes:
        *above, last = path.split()
        place = document
        for name in above:
            place = place[int(name)] if isinstance(place, list) else place[name]
        if value is ABSENT:
            del place[last]
        else:
            place[last] = deepcopy(value)
    return document
