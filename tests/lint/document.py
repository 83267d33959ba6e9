"""Two operations of the committed document with all that they refer to, and copies with one thing changed."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from tests.document.reading import followed, objects

COMMITTED: Final = Path(__file__).parents[2] / "openapi" / "openapi.json"
KEPT: Final = ("/health/live", "/v1/drop-chart")
"""What is smallest: one slip shows as well there, and a linter reads the whole document for half a minute."""


def committed() -> Any:
    return json.loads(COMMITTED.read_bytes())


def document() -> Any:
    """An excerpt, which is a whole document itself."""
    all_of_it = committed()
    paths = {path: all_of_it["paths"][path] for path in KEPT}
    components: dict[str, dict[str, Any]] = {kind: {} for kind in all_of_it["components"]}
    # Ways to show a key are named by no reference.
    components["securitySchemes"] = all_of_it["components"]["securitySchemes"]
    ahead = list(_named(paths))
    while ahead:
        kind, name = ahead.pop().removeprefix("#/components/").split("/")
        if name not in components[kind]:
            components[kind][name] = all_of_it["components"][kind][name]
            ahead += _named(components[kind][name])
    tags = {tag for item in paths.values() for operation in item.values() for tag in operation["tags"]}
    return {
        **all_of_it,
        "paths": paths,
        "components": components,
        "tags": [tag for tag in all_of_it["tags"] if tag["name"] in tags],
    }


def _named(node: Any) -> Iterator[str]:
    """Every component that something refers to, by name or through a mapping of names."""
    for each in objects(node):
        yield from (name for name in each.values() if str(name).startswith("#/components/"))


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
