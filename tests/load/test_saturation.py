"""Twice what one instance can answer: it refuses what it cannot do, keeps answering, and does not grow."""

import asyncio
import json
from collections.abc import Iterator

import pytest

from tests.load.asking import TWENTY_LAMPS, arrivals, ask, load, post
from tests.load.length import SECONDS
from tests.load.replica import MIB, Replica

CLIENTS = 8


@pytest.fixture
def replica() -> Iterator[Replica]:
    # Half of the default: on a slow machine the queue must fill in a short run as well.
    running = Replica(LASTLAMP_MAXIMUM_IN_PROGRESS="64")
    yield running
    running.end()


def capacity(replica: Replica) -> float:
    return asyncio.run(load(replica.port, CLIENTS, SECONDS)).statuses[200] / SECONDS


def test_twice_the_load_is_answered_or_refused_and_never_left_waiting(replica: Replica) -> None:
    per_second = capacity(replica)
    seen = asyncio.run(arrivals(replica.port, 2 * per_second, SECONDS))
    print(f"capacity {per_second:.0f}/s; at twice that: {seen}")
    assert not seen.failures
    assert set(seen.statuses) == {200, 503}
    # Work goes on meanwhile. The client takes its share of two cores, so a quarter is asked for, not all.
    assert seen.statuses[200] > per_second * SECONDS / 4
    assert asyncio.run(ask(replica.port, TWENTY_LAMPS))[0] == 200


def test_memory_stays_flat_however_long_the_load_is_too_high(replica: Replica) -> None:
    per_second = capacity(replica)
    asyncio.run(arrivals(replica.port, 2 * per_second, SECONDS))
    before = replica.resident_bytes()
    for _ in range(2):
        asyncio.run(arrivals(replica.port, 2 * per_second, SECONDS))
    grown = replica.resident_bytes() - before
    print(f"resident {before / MIB:.0f} MiB, grown by {grown / MIB:.1f} MiB")
    # A queue without a bound would hold thousands of requests of 20 kB with their replies by now, 60 MiB and
    # more. The heap of a Python process breathes by a few.
    assert grown < 24 * MIB


def test_what_is_refused_says_when_to_come_again(replica: Replica) -> None:
    async def crowd() -> list[tuple[int, dict[str, str], bytes]]:
        return await asyncio.gather(*(ask(replica.port, TWENTY_LAMPS) for _ in range(300)))

    replies = asyncio.run(crowd())
    assert {status for status, _, _ in replies} == {200, 503}
    _, fields, body = next(reply for reply in replies if reply[0] == 503)
    assert fields["content-type"] == "application/problem+json"
    assert fields["retry-after"] == "1"
    assert fields["access-control-allow-origin"] == "*"
    assert fields["x-request-id"] == json.loads(body)["request_id"]
    assert json.loads(body)["code"] == "busy"


def test_large_jobs_are_refused_by_the_time_that_they_waited() -> None:
    fixtures = {"at": {"value": 1, "unit": "ft"}, "spacing": {"value": 1, "unit": "ft"}, "count": 2000}
    lamp = {"kind": "constant-power", "power": {"value": 0.01, "unit": "W"}, "power_factor": 0.9}
    run = {
        "name": "long",
        "cable": {"kind": "listed", "conductor": "8 AWG"},
        "fixtures": [{**fixtures, "load": lamp}],
    }
    supply = {"kind": "transformer", "secondary": {"value": 12, "unit": "V"}}
    large = post(json.dumps({"supply": supply, "wiring": {"form": "runs", "runs": [run]}}).encode())
    replica = Replica(LASTLAMP_MAXIMUM_WAIT_SECONDS="0.1")

    async def crowd() -> list[int]:
        return [
            status for status, _, _ in await asyncio.gather(*(ask(replica.port, large) for _ in range(24)))
        ]

    try:
        statuses = asyncio.run(crowd())
        print({status: statuses.count(status) for status in set(statuses)})
        assert set(statuses) == {200, 503}
        assert asyncio.run(ask(replica.port, TWENTY_LAMPS))[0] == 200
    finally:
        replica.end()
