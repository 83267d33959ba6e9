"""Whose quota it is behind the real proxy: the address that nginx saw, whatever a client says of itself."""

import asyncio
import json
from collections.abc import Iterator

import pytest

from tests.load.asking import PATIENCE_SECONDS, TWENTY_LAMPS, closed, post, reply
from tests.load.proxy import Proxy, needs_nginx
from tests.load.replica import Replica

pytestmark = needs_nginx

PER_MINUTE = 100_000
ONE, OTHER = "127.0.0.2", "127.0.0.3"


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    replica = Replica(LASTLAMP_WORK_PER_MINUTE=str(PER_MINUTE), LASTLAMP_TRUSTED_PROXIES="127.0.0.1")
    proxy = Proxy(tmp_path_factory.mktemp("proxy"), replica.port)
    yield proxy.port
    proxy.end()
    replica.end()


def asked(port: int, source: str, message: bytes) -> tuple[int, dict[str, str], bytes]:
    """Ask from an address of this machine."""

    async def go() -> tuple[int, dict[str, str], bytes]:
        reader, writer = await asyncio.open_connection("127.0.0.1", port, local_addr=(source, 0))
        try:
            writer.write(message)
            return await asyncio.wait_for(reply(reader), PATIENCE_SECONDS)
        finally:
            await closed(writer)

    return asyncio.run(go())


def left(fields: dict[str, str]) -> int:
    return int(fields["ratelimit"].split("=")[1].split(";")[0])


def test_who_has_spent_its_quota_takes_nothing_from_another_and_cannot_pose_as_one(port: int) -> None:
    # What is no JSON costs by its bytes, here a fifth of a quota; a few seconds bring back less.
    dear = b"[" + b" " * 1_000_000
    for _ in range(20):
        status, fields, body = asked(port, ONE, post(dear))
        if status != 400:
            break
    assert (status, json.loads(body)["code"]) == (429, "quota-spent")
    assert int(fields["retry-after"]) >= 1
    assert fields["ratelimit-policy"] == f'"work";q={PER_MINUTE};w=60'
    forged = post(dear, "/v1/voltage-drop", f"X-Forwarded-For: {OTHER}", f"X-Real-IP: {OTHER}")
    status, fields, _ = asked(port, ONE, forged)
    assert status in (400, 429)
    # Of its own quota, since the other's is whole.
    assert left(fields) < PER_MINUTE * 9 // 10
    status, fields, _ = asked(port, OTHER, TWENTY_LAMPS)
    assert status == 200
    assert left(fields) > PER_MINUTE - 1_000
