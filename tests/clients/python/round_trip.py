"""Reads every example of the document into the generated models and writes it out again.

Run as ``round_trip.py DOCUMENT``; prints a line for each example that came out different, and the count.
"""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from lastlamp_client import models

PREFIX = "#/components/schemas/"


def bodies(document: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """List the request and reply bodies in JSON, each with where it stands."""
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            spots = {"request": operation.get("requestBody", {}), **operation["responses"]}
            for name, said in spots.items():
                spot = followed(document, said)
                for media_type, body in spot.get("content", {}).items():
                    if media_type.endswith("json"):
                        yield f"{method} {path} {name}", body


def followed(document: dict[str, Any], spot: dict[str, Any]) -> dict[str, Any]:
    """Go where a reference to a shared reply points."""
    kind, _, name = spot.get("$ref", "").removeprefix("#/components/").partition("/")
    found: dict[str, Any] = document["components"][kind][name] if name else spot
    return found


def candidates(document: dict[str, Any], schema: dict[str, Any]) -> list[str]:
    """Name the models that a schema may be read into: the schema's own, or those of its union."""
    name = schema.get("$ref", "").removeprefix(PREFIX)
    parts = document["components"]["schemas"].get(name, {}).get("oneOf")
    return [part["$ref"].removeprefix(PREFIX) for part in parts] if parts else [name]


def survives(value: Any, names: list[str]) -> bool:
    """Say whether one of the models reads a value and writes it unchanged."""
    for name in names:
        try:
            if getattr(models, name).from_dict(value).to_dict() == value:
                return True
        except (AttributeError, KeyError, TypeError, ValueError):
            continue
    return False


def main(document: dict[str, Any]) -> None:
    """Try every example."""
    count = 0
    for place, body in bodies(document):
        for name, example in body.get("examples", {}).items():
            count += 1
            if not survives(example["value"], candidates(document, body["schema"])):
                sys.stdout.write(f"{place} {name}\n")
    sys.stdout.write(f"{count}\n")


main(json.loads(Path(sys.argv[1]).read_bytes()))
