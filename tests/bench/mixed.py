"""One request after another of every kind, good and bad, to see what a long day leaves behind."""

import gc
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from tests.client import Client
from tests.document.reading import examples


class Call(NamedTuple):
    """One request."""

    method: str
    path: str
    body: bytes = b""

    def send(self, client: Client) -> None:
        """Send it; what comes back is dropped."""
        client.request(
            self.method, self.path, content=self.body, headers={"content-type": "application/json"}
        )


def mixed(document: Any) -> Iterator[Call]:
    """Walk every request that the document shows, sound, cut short and unfit, and every list, for ever."""
    shown = [one for one in examples(document) if one.status is None]
    bodies = [(one.label.removeprefix("POST "), json.dumps(one.value).encode()) for one in shown]
    posted = [
        Call("POST", path, changed)
        for path, body in bodies
        for changed in (body, body[:-1], b'{"colour": "warm", ' + body[1:])
    ]
    kept = [Call("GET", path) for path, item in document["paths"].items() if "get" in item]
    # Bodies, paths and names that never come again show what a cache of them would keep.
    [(path, body), *_] = bodies
    count = 0
    while True:
        yield from (*posted, *kept)
        count += 1
        yield Call("POST", path, b'{"job %d": 1, ' % count + body[1:])
        yield Call("POST", path, json.dumps(json.loads(body) | {"id": f"job {count}"}).encode())
        yield Call("GET", f"/v1/nothing-{count}")


def resident_kb() -> int:
    """What this process holds in memory, from the kernel. [kB]"""
    gc.collect()
    for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1])
    raise LookupError
