"""Workers of this process, with tasks that can be held, and what they are asked in the tests."""

import asyncio
import os
import signal
from collections.abc import AsyncIterator, Awaitable, Callable, Coroutine
from contextlib import asynccontextmanager
from pathlib import Path
from time import monotonic
from typing import Any, Final

from service.http.tasks import Task, TaskOutcome
from service.settings import Settings
from service.worker.pool import Workers
from tests.observability.exchanging import counted

EXAMPLES: Final = Path(__file__).parents[2] / "openapi" / "examples"
PDF: Final = "application/pdf"
LONG_SECONDS: Final = 60.0

TASK: Final = Task("voltage-drop", (EXAMPLES / "voltage_drop.json").read_bytes(), PDF, "held-1")


def settings(**changed: Any) -> Settings:
    """Settings under which no clock of its own ends a task or a wait."""
    return Settings(**{"maximum_wait_seconds": LONG_SECONDS, "work_seconds": LONG_SECONDS, **changed})


async def until(holds: Callable[[], object]) -> None:
    """Wait until something holds; a test that waits in vain fails."""
    async with asyncio.timeout(LONG_SECONDS):
        while not holds():  # noqa: ASYNC110  # another process does what is waited for
            await asyncio.sleep(0.01)


@asynccontextmanager
async def at_work(**changed: Any) -> AsyncIterator[Workers]:
    """Workers that are up."""
    workers = Workers(settings(**changed))
    async with workers.running():
        await until(lambda: len(workers.pids) == workers_of(changed))
        yield workers


def workers_of(changed: dict[str, Any]) -> int:
    wanted: int = changed.get("workers", 1)
    return wanted


async def stays() -> None:
    """Wait for a client that does not leave."""
    await asyncio.Event().wait()


def asked(
    workers: Workers, task: Task = TASK, left: Callable[[], Awaitable[None]] = stays
) -> asyncio.Task[TaskOutcome]:
    """Ask a task of the workers, as the loop does for a request that came just now."""
    return asyncio.create_task(workers.outcome_of(task, monotonic(), left))


async def begun(workers: Workers, task: Task = TASK) -> asyncio.Task[TaskOutcome]:
    """Ask a task and wait until a worker has it."""
    answer = asked(workers, task)
    await asyncio.sleep(0)
    await until(lambda: counted("lastlamp_heavy_requests_waiting") == 0)
    return answer


async def held(workers: Workers, task: Task = TASK) -> tuple[int, asyncio.Task[TaskOutcome]]:
    """Stop the one worker in its tracks, and give it a task."""
    [pid] = workers.pids
    os.kill(pid, signal.SIGSTOP)
    return pid, await begun(workers, task)


def is_gone(pid: int) -> bool:
    """Whether a process has ended and been waited for."""
    return not Path(f"/proc/{pid}").exists()


def run(test: Coroutine[Any, Any, None]) -> None:
    """Run a test with a loop of its own."""
    asyncio.run(test)
