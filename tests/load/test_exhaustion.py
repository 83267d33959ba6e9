"""A full disk for the log, and no descriptor left for a connection."""

import asyncio
import resource
import signal
import time
from pathlib import Path

import pytest

from tests.load.asking import HOST, TWENTY_LAMPS, ask, closed, load
from tests.load.length import SECONDS
from tests.load.replica import Replica

# Always full: every write fails with ENOSPC (full(4) of the Linux manual pages).
FULL = Path("/dev/full")


@pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")
def test_a_full_disk_costs_log_lines_and_not_answers() -> None:
    with FULL.open("wb") as full:
        replica = Replica(full)
    try:
        seen = asyncio.run(load(replica.port, 4, SECONDS))
        print(seen)
        assert (set(seen.statuses), dict(seen.failures)) == ({200}, {})
        # The line of a 404 and of bytes that are no HTTP are written elsewhere in the code.
        assert asyncio.run(ask(replica.port, b"GET /nowhere HTTP/1.1\r\nHost: a\r\n\r\n"))[0] == 404
        assert asyncio.run(ask(replica.port, b"no HTTP\r\n\r\n"))[0] == 400
        replica.send(signal.SIGTERM)
        assert replica.wait() == 0
    finally:
        replica.end()


def test_a_process_without_descriptors_goes_on_when_some_are_free_again() -> None:
    replica = Replica()
    room = replica.open_descriptors() + 20
    resource.prlimit(replica.process.pid, resource.RLIMIT_NOFILE, (room, room))

    async def crowd() -> None:
        opened = [await asyncio.open_connection(HOST, replica.port) for _ in range(60)]
        await asyncio.sleep(0.5)
        await asyncio.gather(*(closed(writer) for _, writer in opened))

    try:
        asyncio.run(crowd())
        give_up_at = time.monotonic() + 15
        while not replica.is_ready():
            assert time.monotonic() < give_up_at, "it does not answer any more"
            assert replica.process.poll() is None
        assert asyncio.run(ask(replica.port, TWENTY_LAMPS))[0] == 200
    finally:
        replica.end()
