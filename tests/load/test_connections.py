"""Clients that are slow, silent, half gone or endless, while others ask as usual."""

import asyncio
import contextlib
import json
import time
from collections import Counter
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator

import pytest

from tests.load.asking import HOST, TWENTY_LAMPS, Connection, Seen, ask, beside, closed, load, post
from tests.load.length import SECONDS
from tests.load.replica import MIB, Replica

REQUEST_SECONDS = 2
ORDINARY_CLIENTS = 4
SLOW_CLIENTS = 200

START = b"POST /v1/voltage-drop HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"


@pytest.fixture
def replica() -> Iterator[Replica]:
    # Fewer may wait than there are slow clients, who must not take the places of others.
    running = Replica(LASTLAMP_REQUEST_SECONDS=str(REQUEST_SECONDS), LASTLAMP_MAXIMUM_IN_PROGRESS="64")
    yield running
    running.end()


@contextlib.asynccontextmanager
async def connections(port: int, count: int) -> AsyncIterator[list[Connection]]:
    opened = [await asyncio.open_connection(HOST, port) for _ in range(count)]
    try:
        yield opened
    finally:
        await asyncio.gather(*(closed(writer) for _, writer in opened))


async def go_on(connection: Connection, start: bytes, part: bytes, pause: float) -> bytes:
    """Send a start, then part after part for as long as the service bears it; what it said to that."""
    reader, writer = connection
    writer.write(start)
    with contextlib.suppress(OSError):
        while True:
            with contextlib.suppress(TimeoutError):
                return await asyncio.wait_for(reader.read(4096), pause)
            writer.write(part)
            await writer.drain()
    return b""


def faulty(
    replica: Replica, count: int, behave: Callable[[Connection], Awaitable[bytes]]
) -> tuple[Seen, list[bytes]]:
    """Let so many clients misbehave while a few ask as usual."""

    async def go() -> tuple[Seen, list[bytes]]:
        said: list[bytes] = []
        async with connections(replica.port, count) as opened:

            async def misbehave() -> None:
                said.extend(await asyncio.gather(*(behave(each) for each in opened)))

            seen = await beside(load(replica.port, ORDINARY_CLIENTS, SECONDS), misbehave())
        return seen, said

    seen, said = asyncio.run(go())
    print(seen, Counter(each[:12] for each in said))
    return seen, said


def assert_others_were_served(seen: Seen) -> None:
    assert (set(seen.statuses), dict(seen.failures)) == ({200}, {})


def assert_all_are_let_go(replica: Replica, descriptors: int) -> None:
    """Within the time that a request may take, and a little for the machine."""
    give_up_at = time.monotonic() + 5 * REQUEST_SECONDS
    while replica.open_descriptors() > descriptors + ORDINARY_CLIENTS:
        assert time.monotonic() < give_up_at, "connections are still held"
        time.sleep(0.1)


@pytest.mark.parametrize(
    "start",
    [b"POST /v1/voltage-drop HTTP/1.1\r\nHost: a\r\nX: ", TWENTY_LAMPS[: len(TWENTY_LAMPS) // 2]],
    ids=["head", "body"],
)
def test_slow_heads_and_bodies_are_let_go_and_shut_nobody_out(replica: Replica, start: bytes) -> None:
    descriptors = replica.open_descriptors()
    seen, said = faulty(replica, SLOW_CLIENTS, lambda connection: go_on(connection, start, b" ", 0.2))
    assert_others_were_served(seen)
    assert all(each.startswith(b"HTTP/1.1 408 ") for each in said if each)
    # A client that is just writing into the closing connection may lose the reply to the reset.
    assert sum(map(bool, said)) > SLOW_CLIENTS / 2
    assert_all_are_let_go(replica, descriptors)


def test_a_thousand_idle_connections_harm_nobody(replica: Replica) -> None:
    descriptors = replica.open_descriptors()
    before = replica.resident_bytes()

    async def stay_silent(connection: Connection) -> bytes:
        return await connection[0].read()

    seen, said = faulty(replica, 1000, stay_silent)
    assert_others_were_served(seen)
    assert all(each.startswith(b"HTTP/1.1 408 ") for each in said)
    assert_all_are_let_go(replica, descriptors)
    # A connection holds buffers and a parser, some 10 kB; twice that is too much for a thousand of them.
    assert replica.resident_bytes() - before < 32 * MIB


def test_half_closed_connections_are_let_go(replica: Replica) -> None:
    descriptors = replica.open_descriptors()

    async def say_and_leave(connection: Connection) -> bytes:
        reader, writer = connection
        writer.write(TWENTY_LAMPS)
        writer.write_eof()
        with contextlib.suppress(ConnectionError):
            return await reader.read()
        return b""

    # They are whole and so take places in the queue, but fewer than there are.
    seen, _ = faulty(replica, 50, say_and_leave)
    assert_others_were_served(seen)
    assert_all_are_let_go(replica, descriptors)


def test_bodies_without_end_are_refused_and_not_kept(replica: Replica) -> None:
    before = replica.resident_bytes()
    head = START + b"Transfer-Encoding: chunked\r\n\r\n"
    chunk = b"%x\r\n%s\r\n" % (65_536, b" " * 65_536)

    seen, said = faulty(replica, 20, lambda connection: go_on(connection, head, chunk, 0.001))
    assert_others_were_served(seen)
    assert all(each.startswith(b"HTTP/1.1 413 ") for each in said if each)
    assert sum(map(bool, said)) > 10
    # Twenty bodies of 4 MiB, held twice while they are joined.
    assert replica.resident_bytes() - before < 256 * MIB


def test_large_bodies_that_never_end_hold_no_more_than_those_that_may_wait() -> None:
    replica = Replica(
        LASTLAMP_REQUEST_SECONDS=str(REQUEST_SECONDS),
        LASTLAMP_MAXIMUM_IN_PROGRESS="8",
        LASTLAMP_MAXIMUM_BODY_BYTES="1048576",
    )
    before = replica.resident_bytes()
    almost = START + b"Content-Length: 1048576\r\n\r\n" + b" " * 1_048_575
    held: list[int] = []

    async def wait(connection: Connection) -> bytes:
        reader, writer = connection
        with contextlib.suppress(OSError):
            writer.write(almost)
            said = await reader.read(12)
            held.append(replica.resident_bytes())
            return said
        return b""

    try:
        seen, said = faulty(replica, SLOW_CLIENTS, wait)
        assert_others_were_served(seen)
        print(f"resident at most {max(held) / MIB:.0f} MiB, before {before / MIB:.0f}")
        assert {each for each in said if each} <= {b"HTTP/1.1 503", b"HTTP/1.1 408"}
        assert b"HTTP/1.1 503" in said
        # Eight bodies, held twice while they are joined, and what each connection reads at once: 256 KiB.
        # Without the bound it would be 200 MiB and more.
        assert max(held) - before < 100 * MIB
    finally:
        replica.end()


def test_a_body_that_is_announced_too_large_is_refused_unread(replica: Replica) -> None:
    status, fields, body = asyncio.run(ask(replica.port, START + b"Content-Length: 1000000000000\r\n\r\n"))
    assert status == 413
    assert fields["content-type"] == "application/problem+json"
    assert json.loads(body)["code"] == "body-too-large"


def test_over_the_bound_of_connections_only_health_is_answered() -> None:
    replica = Replica(LASTLAMP_MAXIMUM_CONNECTIONS="20")

    async def go() -> tuple[int, int, int]:
        async with connections(replica.port, 20):
            await asyncio.sleep(0.2)
            refused, _, _ = await ask(replica.port, TWENTY_LAMPS)
            healthy, _, _ = await ask(replica.port, b"GET /health/live HTTP/1.1\r\nHost: a\r\n\r\n")
        await asyncio.sleep(0.2)
        return refused, healthy, (await ask(replica.port, TWENTY_LAMPS))[0]

    try:
        assert asyncio.run(go()) == (503, 200, 200)
    finally:
        replica.end()


def test_far_over_the_bound_a_connection_is_refused_before_it_says_anything() -> None:
    replica = Replica(LASTLAMP_MAXIMUM_CONNECTIONS="20")

    async def go() -> bytes:
        async with connections(replica.port, 60) as opened:
            return await asyncio.wait_for(opened[-1][0].read(), 5)

    try:
        assert asyncio.run(go()).startswith(b"HTTP/1.1 503 ")
    finally:
        replica.end()


def test_requests_sent_without_waiting_are_answered_in_order(replica: Replica) -> None:
    async def go() -> bytes:
        reader, writer = await asyncio.open_connection(HOST, replica.port)
        for path in ("/health/live", "/v1/units", "/nowhere"):
            writer.write(f"GET {path} HTTP/1.1\r\nHost: a\r\n\r\n".encode())
        writer.write(post(b"{}", "/v1/reach", "Connection: close"))
        said = await asyncio.wait_for(reader.read(), 10)
        await closed(writer)
        return said

    said = asyncio.run(go())
    starts = [said.find(f"HTTP/1.1 {status} ".encode()) for status in (200, 404, 400)]
    assert starts == sorted(starts)
    assert said.count(b"HTTP/1.1 ") == 4
