"""One place in the queue makes every refusal certain: whoever comes while one waits is refused."""

import asyncio
import json
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.problems import Refused
from service.server.shedding import Queue
from service.settings import Settings
from tests.load.asking import HOST, TWENTY_LAMPS, ask, closed, reply
from tests.load.replica import Replica

CROWD = 40


@pytest.fixture(scope="module")
def replica() -> Iterator[Replica]:
    running = Replica(LASTLAMP_MAXIMUM_IN_PROGRESS="1")
    yield running
    running.end()


def test_one_after_the_other_is_never_refused(replica: Replica) -> None:
    async def go() -> list[int]:
        reader, writer = await asyncio.open_connection(HOST, replica.port)
        statuses = []
        for _ in range(50):
            writer.write(TWENTY_LAMPS)
            statuses.append((await reply(reader))[0])
        await closed(writer)
        return statuses

    assert set(asyncio.run(go())) == {200}


def test_requests_sent_without_waiting_for_replies_take_one_place_at_a_time(replica: Replica) -> None:
    async def go() -> list[int]:
        reader, writer = await asyncio.open_connection(HOST, replica.port)
        writer.write(TWENTY_LAMPS * 8)
        statuses = [(await reply(reader))[0] for _ in range(8)]
        await closed(writer)
        return statuses

    assert asyncio.run(go()) == [200] * 8


@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_a_refused_connection_can_be_used_again(replica: Replica, method: str) -> None:
    request = f"{method} /v1/units HTTP/1.1\r\nHost: a\r\nX-Request-ID: crowd\r\n\r\n".encode()

    async def go() -> list[bytes]:
        opened = [await asyncio.open_connection(HOST, replica.port) for _ in range(CROWD)]
        for _, writer in opened:
            writer.write(TWENTY_LAMPS)
        first = [await reply(reader) for reader, _ in opened]
        assert {status for status, _, _ in first} == {200, 503}
        # Together, so that most are refused; then alone. A body after HEAD would be read as the next reply.
        for _, writer in opened:
            writer.write(request)
        heads = [await reader.readuntil(b"\r\n\r\n") for reader, _ in opened if method == "HEAD"]
        if method == "GET":
            heads = [b"%d" % (await reply(reader))[0] for reader, _ in opened]
        for reader, writer in opened:
            writer.write(TWENTY_LAMPS)
            assert (await reply(reader))[0] == 200
            await closed(writer)
        return heads

    assert any(b"503" in head for head in asyncio.run(go()))


def test_health_is_answered_while_others_are_refused(replica: Replica) -> None:
    live = b"GET /health/live HTTP/1.1\r\nHost: a\r\n\r\n"

    async def go() -> tuple[set[int], set[int]]:
        crowd = [ask(replica.port, message) for message in (TWENTY_LAMPS, live) for _ in range(CROWD)]
        statuses = [status for status, _, _ in await asyncio.gather(*crowd)]
        return set(statuses[:CROWD]), set(statuses[CROWD:])

    assert asyncio.run(go()) == ({200, 503}, {200})


def test_the_log_counts_refusals_and_has_no_line_for_each(tmp_path: Path) -> None:
    log = tmp_path / "log"
    with log.open("wb") as output:
        logging = Replica(output, LASTLAMP_MAXIMUM_IN_PROGRESS="1")

    async def crowd() -> None:
        await asyncio.gather(*(ask(logging.port, TWENTY_LAMPS) for _ in range(5 * CROWD)))

    try:
        asyncio.run(crowd())
        # What was written last is in the log when it has stopped.
        logging.send(signal.SIGTERM)
        assert logging.wait() == 0
    finally:
        logging.end()
    lines = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
    shed = [line for line in lines if line["event"] == "shed"]
    assert 1 <= len(shed) < CROWD
    assert all(line["level"] == "warning" for line in shed)


def queue(**settings: float) -> tuple[Queue, list[None]]:
    counted: list[None] = []
    return Queue(Settings(**settings), lambda: counted.append(None)), counted  # type: ignore[arg-type]  # by name


def test_a_queue_is_full_with_as_many_as_may_wait() -> None:
    waiting, _ = queue(maximum_in_progress=2)
    first: dict[str, object] = {}
    waiting.joined(first)
    assert not waiting.is_full
    waiting.joined({})
    assert waiting.is_full
    waiting.left(first)
    assert not waiting.is_full


def test_who_leaves_twice_is_counted_once() -> None:
    waiting, _ = queue(maximum_in_progress=1)
    first: dict[str, object] = {}
    waiting.joined(first)
    waiting.left(first)
    waiting.left(first)
    waiting.joined({})
    assert waiting.is_full


def test_who_waited_too_long_is_refused_and_counted() -> None:
    waiting, counted = queue(maximum_wait_seconds=-1.0)
    state: dict[str, object] = {}
    waiting.joined(state)
    with pytest.raises(Refused) as refused:
        waiting.take(state, {"type": "http.request", "body": b"{}"})
    assert (refused.value.code, refused.value.headers["Retry-After"]) == ("busy", "1")
    assert len(counted) == 1


def test_bodies_that_arrive_may_hold_as_much_as_those_that_wait() -> None:
    waiting, counted = queue(maximum_in_progress=2, maximum_body_bytes=100_000)
    part = {"type": "http.request", "body": b"x" * 90_000, "more_body": True}
    first: dict[str, object] = {}
    waiting.take(first, part)
    waiting.take({}, part)
    third: dict[str, object] = {}
    with pytest.raises(Refused):
        waiting.take(third, part)
    assert len(counted) == 1
    waiting.left(first)
    waiting.left(third)
    waiting.take({}, {"type": "http.request", "body": b"x" * 100_000})


def test_a_small_body_is_not_refused_for_what_large_ones_hold() -> None:
    waiting, counted = queue(maximum_in_progress=1, maximum_body_bytes=100_000)
    waiting.take({}, {"type": "http.request", "body": b"x" * 100_000, "more_body": True})
    waiting.take({}, {"type": "http.request", "body": b"x" * 3_000})
    assert not counted
