"""Large requests of one caller while others of it are with a worker, and what they are charged in the end."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any, Final

import httpx
import pytest

from service.access.price import WORK_OF_A_REQUEST, WORK_OF_A_SECOND, work_of_reading
from service.access.quotas import Caller
from service.app import build
from service.http.tasks import WORKERS, Task, TaskOutcome, outcome_of
from service.problems import Refused, busy
from service.settings import Settings
from tests.access.gates import JOB, JSON
from tests.client import Client

PER_MINUTE: Final = 2_000_000
DOCUMENT: Final = JSON | {"Accept": "application/pdf"}


class Held:
    """Workers that answer when they are let, or end in another way."""

    are_at_work = are_ready = True
    work_seconds = 6.0

    def __init__(self, end: Exception | None = None) -> None:
        self.open = asyncio.Event()
        self._end = end
        self._asked = 0

    async def outcome_of(
        self, task: Task, arrived: float, left: Callable[[], Awaitable[None]], caller: Caller
    ) -> TaskOutcome:
        del arrived, left
        assert caller.address
        self._asked += 1
        await self.open.wait()
        if self._end is not None:
            raise self._end
        return outcome_of(task)

    async def have(self, requests: int) -> None:
        """Wait until so many have come."""
        while self._asked < requests:  # noqa: ASYNC110  # the loop has nothing to do but to bring them here
            await asyncio.sleep(0)


def metered(workers: Held | None = None) -> Any:
    app = build(Settings(work_per_minute=PER_MINUTE), lambda: 0)
    if workers is not None:
        framework: Any = app.application
        framework.state[WORKERS] = workers
    return app


def charged(reply: httpx.Response) -> int:
    return PER_MINUTE - int(reply.headers["ratelimit"].split("=")[1].split(";")[0])


async def document(app: Any, address: str = "198.51.100.7") -> httpx.Response:
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False, client=(address, 1))
    async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
        return await client.post("/v1/voltage-drop", content=JOB, headers=DOCUMENT)


def test_the_third_large_request_of_one_caller_is_refused_until_one_is_answered() -> None:
    async def go() -> None:
        workers = Held()
        app = metered(workers)
        two = [asyncio.create_task(document(app)) for _ in range(2)]
        await workers.have(2)
        third = await document(app)
        assert (third.status_code, third.json()["code"]) == (429, "heavy-in-progress")
        assert int(third.headers["retry-after"]) >= 1
        # The light ones of the same caller go on, and so do the large ones of another.
        transport = httpx.ASGITransport(app=app, client=("198.51.100.7", 1))
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
            assert (await client.post("/v1/voltage-drop", content=JOB, headers=JSON)).status_code == 200
        other = asyncio.create_task(document(app, "198.51.100.8"))
        await workers.have(3)
        workers.open.set()
        assert [reply.status_code for reply in await asyncio.gather(*two, other)] == [200] * 3
        assert (await document(app)).status_code == 200

    asyncio.run(go())


@pytest.mark.parametrize("end", [busy(), Refused("work-out-of-time", ""), RuntimeError("worker"), None])
def test_however_a_worker_ends_the_place_is_free_again(end: Exception | None) -> None:
    async def go() -> None:
        workers = Held(end)
        workers.open.set()
        app = metered(workers)
        replies = [await document(app) for _ in range(3)]
        assert len({reply.status_code for reply in replies}) == 1
        assert replies[0].status_code != 429

    asyncio.run(go())


def test_a_client_that_goes_away_leaves_its_place() -> None:
    async def go() -> None:
        workers = Held()
        app = metered(workers)
        for number in range(4):
            task = asyncio.create_task(document(app))
            await workers.have(number + 1)
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)
        workers.open.set()
        assert (await document(app)).status_code == 200

    asyncio.run(go())


def ended(end: Exception) -> httpx.Response:
    async def go() -> httpx.Response:
        workers = Held(end)
        workers.open.set()
        return await document(metered(workers))

    return asyncio.run(go())


def test_what_was_never_begun_costs_what_its_reading_cost() -> None:
    reply = ended(busy())
    assert reply.status_code == 503
    assert charged(reply) == WORK_OF_A_REQUEST + work_of_reading(len(JOB))


def test_what_was_stopped_costs_the_time_that_it_had() -> None:
    reply = ended(Refused("work-out-of-time", ""))
    assert reply.status_code == 500
    assert charged(reply) >= Held.work_seconds * WORK_OF_A_SECOND


def test_what_ended_a_worker_costs_at_least_what_it_was_held_for() -> None:
    reply = ended(Refused("internal-error", ""))
    assert reply.status_code == 500
    assert charged(reply) > 3_000


def test_a_worker_charges_what_the_loop_charges() -> None:
    async def by_worker() -> httpx.Response:
        workers = Held()
        workers.open.set()
        return await document(metered(workers))

    here = Client(metered()).post("/v1/voltage-drop", content=JOB, headers=DOCUMENT)
    there = asyncio.run(by_worker())
    assert here.content == there.content
    assert charged(here) == charged(there)
