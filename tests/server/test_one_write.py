"""A reply leaves in one write, so that a process that is killed has sent all of it or nothing."""

import asyncio
from typing import Any, Final

import pytest
import uvicorn
from uvicorn.server import ServerState

from service.observability.watch import Watch
from service.server.bounds import bounded_protocol
from service.settings import read_settings

TEXT: Final = b"0123456789"


class Wire(asyncio.Transport):
    """Notes each write."""

    def __init__(self) -> None:
        super().__init__()
        self.writes: list[bytes] = []

    def write(self, data: Any) -> None:
        self.writes.append(bytes(data))

    def is_closing(self) -> bool:
        return False

    def close(self) -> None:
        """Nothing of it is looked at."""

    def pause_reading(self) -> None:
        """All there is has come."""

    def resume_reading(self) -> None:
        """All there is has come."""


async def written(said: bytes, fields: list[tuple[bytes, bytes]], *parts: bytes) -> list[bytes]:
    """What leaves, write by write, when an application that answers in parts is asked."""

    async def app(_scope: Any, receive: Any, send: Any) -> None:
        await receive()
        await send({"type": "http.response.start", "status": 200, "headers": fields})
        for number, part in enumerate(parts, 1):
            await asyncio.sleep(0)
            await send({"type": "http.response.body", "body": part, "more_body": number < len(parts)})

    settings = read_settings({})
    config = uvicorn.Config(app, http=bounded_protocol(settings, Watch()), lifespan="off", log_config=None)
    config.load()
    state = ServerState()
    protocol: Any = config.http_protocol_class(config, state, {}, asyncio.get_running_loop())  # type: ignore[call-arg]  # a protocol of asyncio knows no arguments
    wire = Wire()
    protocol.connection_made(wire)
    protocol.data_received(said)
    while state.tasks:
        await asyncio.gather(*state.tasks)
        # The next in a row begins when this one's end is noted.
        await asyncio.sleep(0)
    protocol.connection_lost(None)
    return wire.writes


LENGTH: Final = [(b"content-length", b"%d" % len(TEXT))]


@pytest.mark.parametrize("fields", [LENGTH, []], ids=["of a known length", "in chunks"])
def test_head_and_body_leave_together(fields: list[tuple[bytes, bytes]]) -> None:
    [reply] = asyncio.run(written(b"GET / HTTP/1.1\r\nHost: a\r\n\r\n", fields, TEXT))
    head, _, body = reply.partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 200 OK\r\n")
    assert TEXT in body


def test_each_reply_in_a_row_leaves_in_one_write() -> None:
    one = b"GET / HTTP/1.1\r\nHost: a\r\n\r\n"
    first, second = asyncio.run(written(one + one, LENGTH, TEXT))
    assert first == second
    assert first.endswith(b"\r\n\r\n" + TEXT)


def test_what_comes_in_parts_follows_as_it_comes() -> None:
    first, second = asyncio.run(written(b"GET / HTTP/1.1\r\nHost: a\r\n\r\n", LENGTH, TEXT[:4], TEXT[4:]))
    assert first.endswith(b"\r\n\r\n" + TEXT[:4])
    assert second == TEXT[4:]


def test_a_head_without_a_body_leaves_alone() -> None:
    [head] = asyncio.run(written(b"HEAD / HTTP/1.1\r\nHost: a\r\n\r\n", LENGTH, b""))
    assert head.endswith(b"\r\n\r\n")


def test_leave_to_send_a_body_does_not_wait_for_the_reply() -> None:
    asked = b"POST / HTTP/1.1\r\nHost: a\r\nExpect: 100-continue\r\nContent-Length: 1\r\n\r\n1"
    leave, reply = asyncio.run(written(asked, LENGTH, TEXT))
    assert leave == b"HTTP/1.1 100 Continue\r\n\r\n"
    assert reply.startswith(b"HTTP/1.1 200 OK\r\n")
    assert reply.endswith(TEXT)
