"""How long requests take from bytes to bytes in one form of one tree; benches ask this.

It knows no more of a tree than that `service.app` holds its application, so that one of another commit can be
asked as well. With ``--plain`` what was compiled is left aside.
"""

from __future__ import annotations

import asyncio
import gc
import json
import os
import sys
from statistics import median
from time import process_time
from typing import Any

Message = dict[str, Any]


async def answered(app: Any, path: str, body: bytes) -> tuple[int, bytes]:
    """Status and content of one reply, asked of the application itself."""
    fields = {"host": "127.0.0.1", "content-type": "application/json", "content-length": str(len(body))}
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": [(name.encode(), value.encode()) for name, value in fields.items()],
        "client": ("127.0.0.1", 40_123),
        "server": ("127.0.0.1", 80),
    }
    coming: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]
    gone: list[Message] = []

    async def receive() -> Message:
        return coming.pop() if coming else await asyncio.sleep(3600, {"type": "http.disconnect"})

    async def send(message: Message) -> None:
        gone.append(message)

    await app(scope, receive, send)
    return gone[0]["status"], b"".join(each.get("body", b"") for each in gone[1:])


async def answer_lines(app: Any) -> None:
    """Answer each line of standard input: a path, a body, and how often; status, median [ms] and reply."""
    for line in sys.stdin:
        path, body, repeats = json.loads(line)
        # Once without a clock, so that what is made once for all is there.
        status, content = await answered(app, path, body.encode())
        taken = []
        for _ in range(repeats):
            began = process_time()
            await answered(app, path, body.encode())
            taken.append(process_time() - began)
        print(json.dumps([status, 1e3 * median(taken), content.decode()]), flush=True)


def main(arguments: list[str]) -> None:
    """Load the application and answer."""
    os.environ["LASTLAMP_LOG_LEVEL"] = "error"
    if "--plain" in arguments:
        from tests.physics.plain import run_plain  # noqa: PLC0415  # the tree of an older commit has no such module

        run_plain()
    from service.app import app  # noqa: PLC0415  # imported sooner, it would be compiled whatever was chosen

    # As a served process does before its first request.
    gc.collect()
    gc.freeze()
    asyncio.run(answer_lines(app))


if __name__ == "__main__":
    main(sys.argv[1:])
