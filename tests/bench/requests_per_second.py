"""Requests a second of a 20-lamp job over loopback, beside an echo route, in one run.

    python -m tests.bench.requests_per_second [--json]

Prints a Markdown table. Both servers are one process each; the client keeps eight connections busy.
"""

import asyncio
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import Any
from urllib.request import Request, urlopen

from service.physics.form import FORM
from tests import jobs

ROOT = Path(__file__).parents[2]
CONNECTIONS = 8
SECONDS = 3.0
ROUNDS = 5
SERVICE_PORT, ECHO_PORT = 8391, 8392


def twenty_lamps() -> bytes:
    """A job of two runs of ten lamps with a power factor, as a quoting program would send it."""
    runs = [
        jobs.run(
            *(
                {
                    "name": f"lamp {run}-{lamp}",
                    "at": jobs.feet(10 + 10 * lamp),
                    "load": jobs.watts(4, power_factor=0.9),
                }
                for lamp in range(10)
            ),
            cable=jobs.awg(12),
            name=f"run {run}",
        )
        for run in range(2)
    ]
    return json.dumps(jobs.job(*runs, supply=jobs.transformer(winding=jobs.winding(150, 4)))).encode()


@contextmanager
def serving(module: list[str], port: int, folder: Path = ROOT, **environment: str) -> Iterator[None]:
    """Run a server of a folder for the length of the block."""
    variables = {**os.environ, "LASTLAMP_BIND": f"127.0.0.1:{port}", "LASTLAMP_LOG_LEVEL": "warning"}
    command = [sys.executable, "-m", *module]
    process = subprocess.Popen(command, cwd=folder, env={**variables, **environment})  # noqa: S603  # our own modules
    try:
        yield
    finally:
        process.terminate()
        process.wait(timeout=20)


def ask(port: int, body: bytes, *, patience: float = 15.0) -> bytes:
    """One reply, as soon as the server gives one."""
    give_up_at = time.monotonic() + patience
    while True:
        address = f"http://127.0.0.1:{port}/v1/voltage-drop"
        request = Request(address, body, {"Content-Type": "application/json"})  # loopback
        try:
            with urlopen(request, timeout=5) as reply:  # noqa: S310  # loopback, as built above
                content: bytes = reply.read()
                return content
        except OSError:
            if time.monotonic() > give_up_at:
                raise
            time.sleep(0.2)


async def keep_asking(port: int, message: bytes, until: float) -> list[float]:
    """Ask again and again on one connection; the time of each reply. [s]"""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    times = []
    while time.perf_counter() < until:
        started = time.perf_counter()
        writer.write(message)
        head = await reader.readuntil(b"\r\n\r\n")
        length = int(head.lower().split(b"content-length:")[1].split(b"\r\n")[0])
        await reader.readexactly(length)
        times.append(time.perf_counter() - started)
    writer.close()
    return times


async def measure(port: int, body: bytes) -> tuple[float, float]:
    """Requests a second, and the median time of a reply. [1/s], [ms]"""
    head = (
        "POST /v1/voltage-drop HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    until = time.perf_counter() + SECONDS
    asked = [keep_asking(port, head.encode() + body, until) for _ in range(CONNECTIONS)]
    times = [each for one in await asyncio.gather(*asked) for each in one]
    return len(times) / SECONDS, 1000.0 * median(times)


def main(arguments: list[str]) -> None:
    """Measure both in turn, and print the medians."""
    body = twenty_lamps()
    with tempfile.TemporaryDirectory() as folder, serving(["service", "serve"], SERVICE_PORT):
        stored = Path(folder) / "reply.json"
        stored.write_bytes(ask(SERVICE_PORT, body))
        with serving(["tests.bench.echo"], ECHO_PORT, STORED_REPLY=str(stored)):
            ask(ECHO_PORT, body)
            rounds = [
                (asyncio.run(measure(SERVICE_PORT, body)), asyncio.run(measure(ECHO_PORT, body)))
                for _ in range(ROUNDS)
            ]
        size = stored.stat().st_size
    found = {
        "form": FORM,
        "connections": CONNECTIONS,
        "body_bytes": len(body),
        "reply_bytes": size,
        **{
            name: {
                "requests_per_second": median(one[index][0] for one in rounds),
                "median_ms": median(one[index][1] for one in rounds),
            }
            for index, name in enumerate(("service", "echo"))
        },
        "ratio": median(ours[0] / echo[0] for ours, echo in rounds),
    }
    print(json.dumps(found) if "--json" in arguments else table(found))


def table(found: dict[str, Any]) -> str:
    """The figures as Markdown."""
    shown = {"service": "POST /v1/voltage-drop", "echo": "echo: decode, stored reply"}
    return "\n".join(
        [
            f"20 lamps, {found['form']}: {found['connections']} connections, one process",
            f"body {found['body_bytes']} bytes, reply {found['reply_bytes']} bytes",
            "",
            "| route | requests/s | median reply, ms |",
            "|---|---|---|",
            *(
                f"| {words} | {found[name]['requests_per_second']:.0f} | {found[name]['median_ms']:.2f} |"
                for name, words in shown.items()
            ),
            f"| ratio | {found['ratio']:.2f} | |",
        ]
    )


if __name__ == "__main__":
    main(sys.argv[1:])
