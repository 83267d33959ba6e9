"""Walks every route of the application in a process of its own: ``python walk.py [top-level module ...]``.

The modules that are named cannot be imported here. A line is printed for each request: what was asked, the
status, and the hash of the reply. Every address that the router knows is asked, and every operation of the
document with each of its examples and with two mistakes, each for every type of answer that it offers.
"""

import asyncio
import hashlib
import json
import sys
from collections.abc import Iterator
from importlib.abc import MetaPathFinder
from pathlib import Path
from typing import Any, Final, NamedTuple
from urllib.parse import urlencode

STATIC: Final = Path(__file__).parents[2] / "service" / "static"
FOLDERS: Final = {
    "/docs/{name:str}": STATIC / "docs",
    "/embed/configure/{name:str}": STATIC / "embed" / "configure",
    "/embed/frame/{name:str}": STATIC / "embed" / "frame",
    "/embed/landing/{name:str}": STATIC / "landing",
    "/embed/1.1.0/{name:str}": STATIC / "embed" / "1.1.0",
}
"""The files behind each address that has a name in it."""


class Barrier(MetaPathFinder):
    """Finds nothing where the named modules are asked for, as if they were not installed."""

    def __init__(self, names: list[str]) -> None:
        self._names = frozenset(names)

    def find_spec(self, fullname: str, _path: object = None, _target: object = None) -> None:
        """Refuse what is barred, and leave the rest to the others."""
        if fullname.partition(".")[0] in self._names:
            raise ModuleNotFoundError(fullname, name=fullname)


class Step(NamedTuple):
    """One request."""

    method: str
    path: str
    query: str
    body: bytes
    accept: str


def steps(document: Any, paths: list[str]) -> Iterator[Step]:
    """Yield every request of the walk."""
    for path in paths:
        yield Step("GET", path, "", b"", "*/*")
    for path, item in document["paths"].items():
        for method, operation in item.items():
            offered = [*operation["responses"]["200"].get("content", {}), "image/x-none"]
            shown = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
            bodies = [json.dumps(example["value"]).encode() for example in shown.get("examples", {}).values()]
            for body in [*bodies, b"{}", b"["] if bodies else [b""]:
                for accept in offered:
                    yield Step(method.upper(), path, _query(operation), body, accept)


def _query(operation: Any) -> str:
    """Write the example of each parameter as its style says."""
    given = {}
    for parameter in operation.get("parameters", []):
        if "example" in parameter:
            value, exploded = parameter["example"], parameter.get("explode", True)
            given[parameter["name"]] = ",".join(map(str, value)) if not exploded else value
    return urlencode(given, doseq=True)


async def asked(app: Any, step: Step) -> tuple[int, bytes]:
    """Send one request to an ASGI application."""
    sent: list[Any] = []
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": step.method,
        "scheme": "http",
        "path": step.path,
        "raw_path": step.path.encode(),
        "root_path": "",
        "query_string": step.query.encode(),
        "headers": [
            (b"host", b"test"),
            (b"accept", step.accept.encode()),
            (b"content-type", b"application/json"),
            (b"content-length", str(len(step.body)).encode()),
            (b"x-request-id", b"walk"),
        ],
        "client": ("127.0.0.1", 1),
        "server": ("test", 80),
    }

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": step.body, "more_body": False}

    async def send(message: Any) -> None:
        sent.append(message)

    await app(scope, receive, send)
    return sent[0]["status"], b"".join(message.get("body", b"") for message in sent[1:])


def known(templates: list[str]) -> list[str]:
    """Every address of the router, each served file among them."""
    versioned = [template.replace("{version:str}", "1.1.0") for template in templates]
    paths = [path for path in versioned if "{" not in path]
    for template in (path for path in versioned if "{" in path):
        head = template.partition("{")[0]
        paths += [head + name for name in names_behind(template)]
    return sorted(paths)


def names_behind(template: str) -> list[str]:
    """What an address with a name in it can be asked for."""
    if template == "/schemas/{name:str}":
        return ["voltage-drop.json"]
    return [file.name for file in FOLDERS[template].iterdir() if file.is_file()]


async def walked() -> None:
    """Walk, printing a line for each step."""
    from service.app import app, route_handlers  # noqa: PLC0415  # after the barrier
    from service.server import serving  # noqa: PLC0415  # the server takes no part here, and must be there

    assert serving.__name__
    templates = sorted({path for handler in route_handlers() for path in handler.paths})
    _, document = await asked(app, Step("GET", "/openapi.json", "", b"", "*/*"))
    for step in steps(json.loads(document), known(templates)):
        status, reply = await asked(app, step)
        body = hashlib.sha256(step.body).hexdigest()[:8]
        line = (step.method, step.path, step.accept, body, str(status), hashlib.sha256(reply).hexdigest())
        sys.stdout.write(" ".join(line) + "\n")


if __name__ == "__main__":
    sys.meta_path.insert(0, Barrier(sys.argv[1:]))
    asyncio.run(walked())
