"""Whether this checkout answers as another one does, byte for byte.

``python -m tests.contract.same_bytes FOLDER [--bodies 1000] [--seed 1]`` asks both the examples, the cases,
and so many bodies made at random from the types of messages, prints each that is answered differently, and
ends with 1 where one is. Members that only the newer checkout has are named in `NEW` and left out.
"""

import argparse
import json
import os
import subprocess
import sys
from base64 import b64decode, b64encode
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any, Final, NamedTuple

ROOT: Final = Path(__file__).parents[2]
CASES: Final = ROOT / "tests" / "cases"
EXAMPLES: Final = ROOT / "openapi" / "examples"

NEW: Final[frozenset[tuple[str, str]]] = frozenset(
    {("fixtures", "point"), ("fixtures", "window"), ("spans", "from_point"), ("spans", "to_point")}
)
"""Members of rows that the other checkout lacks: the name of the list, and that of the member."""

SHOWN: Final = 10

ASKING: Final = """
import asyncio, json, os, sys
from base64 import b64decode, b64encode
os.environ["LASTLAMP_LOG_LEVEL"] = "error"
import httpx
from service.app import app

async def ask():
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    async with httpx.AsyncClient(transport=transport, base_url="http://same") as client:
        for line in sys.stdin:
            method, path, accept, body = json.loads(line)
            headers = {"accept": accept, "content-type": "application/json", "x-request-id": "same"}
            reply = await client.request(method, path, headers=headers, content=b64decode(body))
            print(json.dumps([reply.status_code, b64encode(reply.content).decode()]), flush=True)

asyncio.run(ask())
"""
"""What runs in each checkout: one reply for each line."""


class Sent(NamedTuple):
    """One request."""

    name: str
    method: str
    path: str
    accept: str
    body: bytes


def requests(bodies: int, seed: int) -> Iterator[Sent]:
    """Every example and every case in each form, and so many bodies at random."""
    # These load the application, which the two processes do by themselves.
    from service.studies import STUDIES  # noqa: PLC0415  # it loads the application
    from tests.contract.matrix.soundness import offered  # noqa: PLC0415  # it loads the application
    from tests.fuzz.bodies import body  # noqa: PLC0415  # it loads the application

    studies = ["batch", *(study.operation for study in STUDIES.values())]
    for file in sorted(EXAMPLES.glob("*.json")):
        study = next((name for name in studies if file.stem.startswith(name)), None)
        if study is not None:
            path = f"/v1/{study.replace('_', '-')}"
            yield from (Sent(file.stem, "POST", path, form, file.read_bytes()) for form in offered(path))
    for file in sorted(CASES.glob("*/*/request.json")):
        path = f"/v1/{file.parts[-3].replace('_', '-')}"
        yield Sent("/".join(file.parts[-3:-1]), "POST", path, "application/json", file.read_bytes())
    for number in range(bodies):
        made = body(seed, number)
        if made.method == "post":
            yield Sent(f"body {number} of seed {seed}", "POST", made.path, made.accept, made.content)


def asked(folder: Path, wanted: list[Sent]) -> list[tuple[int, bytes]]:
    """Status and content of every reply of a checkout."""
    lines = "".join(
        json.dumps([each.method, each.path, each.accept, b64encode(each.body).decode()]) + "\n"
        for each in wanted
    )
    environment = {name: value for name, value in os.environ.items() if not name.startswith("LASTLAMP_")}
    run = subprocess.run(  # noqa: S603  # a program of our own
        [sys.executable, "-c", ASKING],
        cwd=folder,
        env=environment | {"PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"},
        input=lines,
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    # What is logged of a fault, an object, is no reply.
    replies = (json.loads(line) for line in run.stdout.splitlines() if line.startswith("["))
    return [(status, b64decode(content)) for status, content in replies]


def stripped(content: bytes) -> bytes:
    """A reply without the members that only one of the two has."""
    if not NEW or not content.startswith(b"{"):
        return content
    return json.dumps(_without(json.loads(content), "")).encode()


def _without(value: Any, named: str) -> Any:
    if isinstance(value, dict):
        return {name: _without(each, name) for name, each in value.items() if (named, name) not in NEW}
    if isinstance(value, list):
        return [_without(each, named) for each in value]
    return value


def main(arguments: list[str]) -> int:
    """Ask both and compare."""
    parser = argparse.ArgumentParser(prog="python -m tests.contract.same_bytes")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--bodies", type=int, default=1_000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args(arguments)
    wanted = list(requests(given.bodies, given.seed))
    here, there = asked(ROOT, wanted), asked(given.folder.resolve(), wanted)
    differing = [
        f"{each.name}, {each.path}, {each.accept}: {now[0]} {sha256(now[1]).hexdigest()[:12]},"
        f" was {was[0]} {sha256(was[1]).hexdigest()[:12]}"
        for each, now, was in zip(wanted, here, there, strict=True)
        if (now[0], stripped(now[1])) != (was[0], stripped(was[1]))
    ]
    print(*differing[:SHOWN], sep="\n")
    answered = sum(status == 200 for status, _ in here)
    print(f"{len(wanted)} requests, {answered} answered with 200, {len(differing)} answered differently.")
    return 1 if differing else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
