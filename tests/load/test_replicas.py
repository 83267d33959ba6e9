"""Two instances behind the proxy, under load, while one of them leaves, dies or hangs."""

import asyncio
import json
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.load.asking import Seen, beside, load
from tests.load.length import SECONDS
from tests.load.proxy import Proxy, needs_nginx
from tests.load.replica import Replica

pytestmark = needs_nginx

CLIENTS = 8
PAUSE_SECONDS = 0.02
ANSWER_SECONDS = 2

# The load comes from one address, and is here to find faults, not to be limited.
UNLIMITED = {"PROXY_RATE": "100000", "PROXY_BURST": "100000", "PROXY_OPEN_REQUESTS": "10000"}


@pytest.fixture
def replicas() -> Iterator[list[Replica]]:
    running = [Replica(), Replica()]
    yield running
    for replica in running:
        replica.end()


@pytest.fixture
def proxy(replicas: list[Replica], tmp_path: Path) -> Iterator[Proxy]:
    running = Proxy(tmp_path, *(each.port for each in replicas), **UNLIMITED)
    yield running
    running.end()


@pytest.fixture
def impatient(replicas: list[Replica], tmp_path: Path) -> Iterator[Proxy]:
    """Waits two seconds where it would wait ten, so that a short run sees what it does then."""
    patience = {"PROXY_ANSWER_SECONDS": str(ANSWER_SECONDS)}
    running = Proxy(tmp_path, *(each.port for each in replicas), **patience, **UNLIMITED)
    yield running
    running.end()


def under_load(proxy: Proxy, fault: Callable[[], None]) -> Seen:
    """Ask all the time; after a third of it something goes wrong in another thread."""

    async def later() -> None:
        await asyncio.sleep(SECONDS / 3)
        await asyncio.to_thread(fault)

    async def go() -> Seen:
        return await beside(load(proxy.port, CLIENTS, 4 * SECONDS, pause=PAUSE_SECONDS), later())

    seen = asyncio.run(go())
    print(seen, f"retried {retried(proxy)}")
    return seen


def retried(proxy: Proxy) -> int:
    """How many requests were sent to more than one instance."""
    lines = (json.loads(line) for line in proxy.log.read_text(encoding="utf-8").splitlines())
    return sum("," in line["instances"] for line in lines)


def test_no_request_fails_while_an_instance_is_stopped_and_started(
    replicas: list[Replica], proxy: Proxy
) -> None:
    def roll() -> None:
        for replica in replicas:
            replica.send(signal.SIGTERM)
            assert replica.wait() == 0
            replica.start()

    seen = under_load(proxy, roll)
    assert (set(seen.statuses), dict(seen.failures)) == ({200}, {})


def test_what_an_instance_takes_along_when_it_is_killed_is_asked_of_the_other(
    replicas: list[Replica], proxy: Proxy
) -> None:
    def kill() -> None:
        replicas[0].send(signal.SIGKILL)
        replicas[0].wait()
        replicas[0].start()

    seen = under_load(proxy, kill)
    assert (set(seen.statuses), dict(seen.failures)) == ({200}, {})
    assert retried(proxy) > 0


def test_what_an_instance_holds_that_hangs_is_not_asked_of_the_other(
    replicas: list[Replica], impatient: Proxy
) -> None:
    seen = under_load(impatient, lambda: replicas[0].send(signal.SIGSTOP))
    replicas[0].send(signal.SIGCONT)
    assert (set(seen.statuses), dict(seen.failures)) == ({200, 504}, {})
    assert retried(impatient) == 0
    # Who hangs keeps what it was given and is given no more than the other has: the clients that ask at once,
    # at most, in each of the times that an answer may take.
    assert seen.statuses[504] <= CLIENTS * (1 + 4 * SECONDS / ANSWER_SECONDS)
    assert seen.statuses[504] < seen.asked / 4


def test_twice_the_load_through_the_proxy_is_answered_or_refused(
    replicas: list[Replica], proxy: Proxy
) -> None:
    del replicas
    seen = asyncio.run(load(proxy.port, 600, SECONDS))
    print(seen)
    assert not seen.failures
    assert set(seen.statuses) <= {200, 503}
