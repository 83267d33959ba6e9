"""The costliest requests of one address take neither answers from another nor health from an instance."""

import asyncio
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.load.asking import ask
from tests.load.costly import COSTLY, LIVE, watch
from tests.load.length import SECONDS
from tests.load.proxy import Proxy, needs_nginx
from tests.load.replica import Replica


@pytest.fixture(scope="module")
def replicas() -> Iterator[list[Replica]]:
    running = [Replica(), Replica()]
    yield running
    for replica in running:
        replica.end()


@needs_nginx
@pytest.mark.parametrize("name", COSTLY)
@pytest.mark.parametrize("per_second", [5.0, 20.0])
def test_another_address_is_answered_as_if_nobody_else_asked(
    replicas: list[Replica], tmp_path: Path, name: str, per_second: float
) -> None:
    proxy = Proxy(tmp_path, *(each.port for each in replicas))
    try:
        seen = watch(proxy, replicas, SECONDS, COSTLY[name](), per_second)
    finally:
        proxy.end()
    print("\n".join(seen.rows()))
    assert (set(seen.victim.statuses), dict(seen.victim.failures)) == ({200}, {})
    for health in seen.health:
        assert (set(health.statuses), dict(health.failures)) == ({200}, {})
    # Answered, refused for what it asks or for how much it asks; nothing hangs.
    assert set(seen.attacker.statuses) <= {200, 422, 429, 503}
    assert not seen.attacker.failures
    assert seen.sent_twice == 0


def test_health_is_answered_while_a_costly_request_is_worked_on(replicas: list[Replica]) -> None:
    port = replicas[0].port

    async def go() -> tuple[int, list[int]]:
        costly = asyncio.create_task(ask(port, COSTLY["voltage drop of 1,998 with margin"]()))
        await asyncio.sleep(0.02)
        meanwhile = []
        while not costly.done():
            status, _, _ = await ask(port, LIVE)
            # One that had to wait for the costly answer is none that was given meanwhile.
            if not costly.done():
                meanwhile.append(status)
        return (await costly)[0], meanwhile

    status, meanwhile = asyncio.run(go())
    assert status == 200
    assert len(meanwhile) >= 3
    assert set(meanwhile) == {200}
