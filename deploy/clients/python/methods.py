"""Writes the methods of the client for Python, one for each operation: python methods.py openapi.json"""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

MODELS = "#/components/schemas/"
JSON = "application/json"
TAGS = ("calculations", "catalogues")


class Operation(NamedTuple):
    """What is asked by one method."""

    name: str
    tag: str
    summary: str
    job: str | None
    """The model of what is posted; None where nothing is."""
    replies: tuple[str, ...]
    """The models of its answers."""


def operations(document: dict[str, Any]) -> Iterator[Operation]:
    """List what is asked with a job, and the catalogues, which are asked with nothing."""
    for path in document["paths"].values():
        for method, said in path.items():
            wanted = method == "post" or (method == "get" and said["tags"] == ["catalogues"])
            if not wanted or said["tags"][0] not in TAGS:
                continue
            body = said.get("requestBody", {}).get("content", {}).get(JSON, {}).get("schema")
            reply = said["responses"]["200"]["content"][JSON]["schema"]["$ref"].removeprefix(MODELS)
            parts = document["components"]["schemas"][reply].get("oneOf")
            yield Operation(
                name=said["operationId"],
                tag=said["tags"][0],
                summary=said["summary"],
                job=body["$ref"].removeprefix(MODELS) if body else None,
                replies=tuple(part["$ref"].removeprefix(MODELS) for part in parts) if parts else (reply,),
            )


def written(found: list[Operation]) -> str:
    """Write the module."""
    models = sorted({name for each in found for name in (each.job, *each.replies) if name})
    imports = [
        f"from .api.{tag} import {', '.join(sorted(each.name for each in found if each.tag == tag))}"
        for tag in TAGS
    ]
    return "\n".join(
        [
            '"""The service, with a method for each question."""\n',
            *imports,
            "from .connection import Connection",
            f"from .models import {', '.join(models)}\n\n",
            "class Service(Connection):",
            *(_method(each) for each in found),
        ]
    )


def _method(each: Operation) -> str:
    taken = "self" if each.job is None else f"self, job: {each.job}"
    sent = "" if each.job is None else ", body=job"
    replies = " | ".join(each.replies)
    return (
        f"    def {each.name}({taken}) -> {replies}:\n"
        f'        """{each.summary}."""\n'
        f"        reply = {each.name}.sync(client=self._client{sent})\n"
        f"        assert isinstance(reply, {replies})  # the connection raises all else\n"
        f"        return reply\n"
    )


if __name__ == "__main__":
    sys.stdout.write(written(list(operations(json.loads(Path(sys.argv[1]).read_bytes())))))
