"""The committed document, and copies of it with one thing changed."""

import json
from pathlib import Path
from typing import Any, Final

from tests.document.reading import followed

COMMITTED: Final = Path(__file__).parents[2] / "openapi" / "openapi.json"


def document() -> Any:
    return json.loads(COMMITTED.read_bytes())


def first_operation(spoiled: Any, method: str) -> Any:
    return next(item[method] for item in spoiled["paths"].values() if method in item)


def with_number(name: str, kind: str) -> Any:
    """Add a component with one number, under a name."""
    spoiled = document()
    schema = {"type": "object", "description": "Spoiled.", "properties": {name: {"type": kind}}}
    spoiled["components"]["schemas"]["Spoiled"] = schema
    return spoiled


def with_plain_refusal() -> Any:
    spoiled = document()
    replies = first_operation(spoiled, "post")["responses"]
    # A copy, since other operations share it.
    replies["400"] = refusal = {**followed(spoiled, replies["400"])}
    refusal["content"] = {"application/json": refusal["content"]["application/problem+json"]}
    return spoiled


def without(member: str, method: str = "get") -> Any:
    """Take something away from an operation."""
    spoiled = document()
    del first_operation(spoiled, method)[member]
    return spoiled


def showing_nothing() -> Any:
    spoiled = document()
    operation = first_operation(spoiled, "post")
    for body in (operation["requestBody"], *operation["responses"].values()):
        for media in followed(spoiled, body)["content"].values():
            media.pop("examples", None)
    return spoiled
