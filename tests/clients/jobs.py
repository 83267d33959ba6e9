"""The jobs that both clients send: the examples of the committed document, and one that is refused."""

import json
from typing import Any

from tests.clients.served import ROOT

DOCUMENT = ROOT / "openapi" / "openapi.json"
PATH = "/v1/voltage-drop"


def example_requests() -> dict[str, dict[str, Any]]:
    """Return every example of a request body, by path and name."""
    paths = json.loads(DOCUMENT.read_bytes())["paths"]
    return {
        path: {name: example["value"] for name, example in body.get("examples", {}).items()}
        for path, operations in paths.items()
        for operation in operations.values()
        for body in operation.get("requestBody", {}).get("content", {}).values()
    }


def jobs() -> dict[str, Any]:
    """Return the jobs to send, by name; `island` fits the schema and is refused all the same."""
    island = json.loads((ROOT / "openapi" / "examples" / "voltage_drop_island.json").read_bytes())
    return {**example_requests()[PATH], "island": island}
