"""A client that asks again and again, and notes what came back: statuses, failures, times."""

import asyncio
import contextlib
import ssl
from collections import Counter
from collections.abc import Coroutine, Iterable
from dataclasses import dataclass, field
from time import perf_counter
from typing import Any

from tests.bench.requests_per_second import twenty_lamps

Connection = tuple[asyncio.StreamReader, asyncio.StreamWriter]

PATIENCE_SECONDS = 30.0
HOST = "127.0.0.1"


@dataclass
class Seen:
    """What a load saw."""

    statuses: Counter[int] = field(default_factory=Counter)
    failures: Counter[str] = field(default_factory=Counter)
    times_s: list[float] = field(default_factory=list)
    """Of answers with 200."""

    @property
    def asked(self) -> int:
        return self.statuses.total() + self.failures.total()

    def quantile_s(self, share: float) -> float:
        if not self.times_s:
            return float("inf")
        return sorted(self.times_s)[min(len(self.times_s) - 1, int(share * len(self.times_s)))]

    def __str__(self) -> str:
        times = (
            f"p50 {1000 * self.quantile_s(0.5):.0f} ms, p99 {1000 * self.quantile_s(0.99):.0f} ms"
            if self.times_s
            else "no answer"
        )
        return f"{self.asked} asked, {dict(self.statuses)}, failed {dict(self.failures)}, {times}"


def post(body: bytes, path: str = "/v1/voltage-drop", *fields: str) -> bytes:
    """Write a request."""
    lines = [f"POST {path} HTTP/1.1", "Host: test", "Content-Type: application/json", *fields]
    head = "\r\n".join([*lines, f"Content-Length: {len(body)}", "", ""])
    return head.encode() + body


TWENTY_LAMPS = post(twenty_lamps())


async def reply(reader: asyncio.StreamReader) -> tuple[int, dict[str, str], bytes]:
    """Read one reply: its status, its header fields with names in lower case, its body."""
    head = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1").split("\r\n")
    fields = {
        name.lower(): value.strip() for name, _, value in (line.partition(":") for line in head[1:] if line)
    }
    length = int(fields.get("content-length", "0"))
    return int(head[0].split()[1]), fields, await reader.readexactly(length)


async def ask(
    port: int, message: bytes, tls: ssl.SSLContext | None = None
) -> tuple[int, dict[str, str], bytes]:
    """Ask once on a connection of its own."""
    reader, writer = await asyncio.open_connection(HOST, port, ssl=tls)
    try:
        writer.write(message)
        return await asyncio.wait_for(reply(reader), PATIENCE_SECONDS)
    finally:
        await closed(writer)


async def closed(writer: asyncio.StreamWriter) -> None:
    """Close a connection, whatever state it is in."""
    writer.close()
    with contextlib.suppress(OSError):
        await writer.wait_closed()


async def _keep_asking(port: int, messages: Iterable[bytes], seen: Seen, until: float, pause: float) -> None:
    """Ask on one connection, making a new one when it ends."""
    writer: asyncio.StreamWriter | None = None
    for message in messages:
        if perf_counter() >= until:
            break
        started = perf_counter()
        try:
            if writer is None:
                reader, writer = await asyncio.open_connection(HOST, port)
            writer.write(message)
            status, fields, _ = await asyncio.wait_for(reply(reader), PATIENCE_SECONDS)
        except (OSError, EOFError, TimeoutError) as error:
            seen.failures[type(error).__name__] += 1
            await _dropped(writer)
            writer = None
            continue
        seen.statuses[status] += 1
        if status == 200:
            seen.times_s.append(perf_counter() - started)
        if fields.get("connection") == "close":
            await _dropped(writer)
            writer = None
        await asyncio.sleep(pause)
    await _dropped(writer)


async def _dropped(writer: asyncio.StreamWriter | None) -> None:
    if writer is not None:
        await closed(writer)


async def load(
    port: int, clients: int, seconds: float, *, message: bytes = TWENTY_LAMPS, pause: float = 0.0
) -> Seen:
    """Let so many clients ask one after the other, each waiting for its reply and then for the pause."""
    seen = Seen()
    until = perf_counter() + seconds
    await asyncio.gather(
        *(_keep_asking(port, iter(lambda: message, None), seen, until, pause) for _ in range(clients))
    )
    return seen


async def beside(load_: Coroutine[Any, Any, Seen], *faults: Coroutine[Any, Any, object]) -> Seen:
    """Run a load and what goes wrong meanwhile."""
    async with asyncio.TaskGroup() as group:
        seen = group.create_task(load_)
        for fault in faults:
            group.create_task(fault)
    return seen.result()


class _Arrivals:
    """Requests that come when they come, whether or not those before have been answered."""

    def __init__(self, port: int, source: str, message: bytes) -> None:
        self._port = port
        self._source = source
        self._message = message
        self._idle: list[Connection] = []
        self.seen = Seen()

    async def one(self) -> None:
        started = perf_counter()
        try:
            status = await self._asked()
        except (OSError, EOFError, TimeoutError) as error:
            self.seen.failures[type(error).__name__] += 1
            return
        self.seen.statuses[status] += 1
        if status == 200:
            self.seen.times_s.append(perf_counter() - started)

    async def _asked(self) -> int:
        while self._idle:
            try:
                return await self._asked_on(self._idle.pop())
            except (ConnectionError, asyncio.IncompleteReadError) as error:
                # Closed for having been idle before it could be used again (RFC 9112, section 9.3.1).
                if getattr(error, "partial", b""):
                    raise
        opened = await asyncio.open_connection(HOST, self._port, local_addr=(self._source, 0))
        return await self._asked_on(opened)

    async def _asked_on(self, connection: Connection) -> int:
        reader, writer = connection
        try:
            writer.write(self._message)
            status, fields, _ = await asyncio.wait_for(reply(reader), PATIENCE_SECONDS)
        except (OSError, EOFError, TimeoutError):
            await closed(writer)
            raise
        if fields.get("connection") == "close":
            await closed(writer)
        else:
            self._idle.append(connection)
        return status

    async def close(self) -> None:
        for _, writer in self._idle:
            await closed(writer)


async def arrivals(
    port: int, per_second: float, seconds: float, *, message: bytes = TWENTY_LAMPS, source: str = HOST
) -> Seen:
    """Send so many requests a second from an address of this machine, however long the answers take."""
    coming = _Arrivals(port, source, message)
    started = perf_counter()
    async with asyncio.TaskGroup() as group:
        sent = 0
        while (passed := perf_counter() - started) < seconds:
            for _ in range(int(passed * per_second) - sent):
                group.create_task(coming.one())
                sent += 1
            await asyncio.sleep(0.005)
    await coming.close()
    return coming.seen
