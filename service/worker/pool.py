"""The workers of one instance, and the queue before them."""

import asyncio
from collections import OrderedDict
from collections.abc import AsyncIterator, Awaitable, Callable, Hashable
from contextlib import asynccontextmanager, suppress
from itertools import chain, repeat
from time import monotonic
from typing import Any, Final, Generic, TypeVar

import structlog

from service.http.tasks import Task, TaskOutcome
from service.observability import metrics
from service.problems import INTERNAL_ERROR, Refused, busy
from service.settings import Settings
from service.worker.process import WorkerLostError, WorkerProcess, started

Waiting = TypeVar("Waiting")

MOST_REMEMBERED: Final = 1_000
"""Callers whose last turn is remembered; more than can wait at a time."""


class Turns(Generic[Waiting]):
    """What waits. Next is who has had no turn for longest and, among equals, who has waited longest."""

    def __init__(self) -> None:
        self._waiting: list[tuple[Waiting, Hashable]] = []
        self._turns: OrderedDict[Hashable, int] = OrderedDict()
        self._count = 0

    def __len__(self) -> int:
        """How many wait."""
        return len(self._waiting)

    def append(self, waiting: Waiting, caller: Hashable) -> None:
        """Let one more wait; callers that nobody tells apart are None, and one caller."""
        self._waiting.append((waiting, caller))

    def remove(self, waiting: Waiting) -> None:
        """Let one wait no more.

        Raises
        ------
        ValueError
            It does not wait.
        """
        self._waiting.pop([each for each, _ in self._waiting].index(waiting))

    def popleft(self) -> Waiting:
        """Take who is next."""
        last = [self._turns.get(caller, 0) for _, caller in self._waiting]
        waiting, caller = self._waiting.pop(last.index(min(last)))
        self._count += 1
        self._turns[caller] = self._count
        self._turns.move_to_end(caller)
        if len(self._turns) > MOST_REMEMBERED:
            self._turns.popitem(last=False)
        return waiting


BACKOFF_SECONDS: Final = (0.1, 0.5, 2.0, 5.0)
"""How long after each failed start in a row the next is tried; the last for all that follow."""


SHARE_OF_PLACES: Final = 4
"""Of the places for requests that wait, one in so many is for a worker's; light ones must find room."""


OUT_OF_TIME: Final = (
    "The calculation was stopped after {:g} s. Ask for fewer corners, mains, places, cables or fixtures at a"
    " time."
)


Left = Callable[[], Awaitable[None]]


class ClientLeftError(Exception):
    """Nobody waits for the answer any more."""


class _Waiting:
    """A task in the queue, then in a worker."""

    def __init__(self, task: Task) -> None:
        loop = asyncio.get_running_loop()
        self.task = task
        self.begun: asyncio.Future[None] = loop.create_future()
        self.end: asyncio.Future[TaskOutcome | Refused] = loop.create_future()

    def ended(self, end: TaskOutcome | Refused) -> None:
        """Hand over what came of it, if anybody still waits."""
        if not self.end.done():
            self.end.set_result(end)


class Workers:
    """So many processes, each tended by a task that starts it, gives it work, and replaces it.

    Parameters
    ----------
    settings : Settings
        How many, and the bounds of waiting and working.

    Attributes
    ----------
    pids : list of int
        The processes that can be asked now.
    """

    def __init__(self, settings: Settings) -> None:
        self.pids: list[int] = []
        self._count = settings.workers
        self._most_waiting = max(1, settings.maximum_in_progress // SHARE_OF_PLACES)
        self._wait_seconds = settings.maximum_wait_seconds
        self._work_seconds = settings.work_seconds
        self._memory_bytes = settings.worker_memory_bytes
        self._queue: Turns[_Waiting] = Turns()
        self._is_open = self._can_start = False
        self._log = structlog.get_logger()

    @property
    def are_at_work(self) -> bool:
        """Whether heavy requests are theirs; otherwise everything is answered in the loop."""
        return self._is_open

    @property
    def are_ready(self) -> bool:
        """Whether heavy requests are answered: not before a worker is up, nor while none can start."""
        return not self._is_open or bool(self.pids) or self._can_start

    @property
    def work_seconds(self) -> float:
        """How long a worker may take for one request."""
        return self._work_seconds

    @asynccontextmanager
    async def running(self, _: object = None) -> AsyncIterator[None]:
        """Start them, and end them with the block."""
        self._filled = asyncio.Event()
        self._is_open = self._count > 0
        tending = [asyncio.create_task(self._tend()) for _ in range(self._count)]
        try:
            yield
        finally:
            self._is_open = self._can_start = False
            for task in tending:
                task.cancel()
            await asyncio.gather(*tending, return_exceptions=True)
            while self._queue:
                waiting = self._queue.popleft()
                waiting.begun.set_result(None)
                waiting.ended(_stopping())

    async def outcome_of(
        self, task: Task, arrived: float, left: Left, caller: Hashable = None
    ) -> TaskOutcome:
        """Answer a task when its turn comes.

        Parameters
        ----------
        task : Task
        arrived : float
            When its request was whole, by `time.monotonic`. [s]
        left : callable
            Waits until its client has gone.
        caller : hashable, optional
            Whose it is; callers take turns.

        Raises
        ------
        Refused
            ``busy``: there is no room, or its turn did not come in time. ``work-out-of-time``.
            ``internal-error``: the worker ended while it answered; nobody knows whether the request or the
            machine is to blame, so nobody is told to send it again.
        ClientLeftError
            Its client went before its turn came, and it was not begun.
        """
        if len(self._queue) >= self._most_waiting:
            metrics.count_shed()
            metrics.count_heavy(metrics.FULL)
            raise busy()
        waiting = _Waiting(task)
        self._queue.append(waiting, caller)
        self._filled.set()
        metrics.show_waiting(len(self._queue))
        try:
            await self._turn(waiting, arrived + self._wait_seconds - monotonic(), left)
        finally:
            with suppress(ValueError):  # it is with a worker
                self._queue.remove(waiting)
            metrics.show_waiting(len(self._queue))
        end = await waiting.end
        if isinstance(end, Refused):
            raise end
        return end

    async def _turn(self, waiting: _Waiting, seconds: float, left: Left) -> None:
        """Wait for the turn of a task."""
        leaving = asyncio.ensure_future(left())
        try:
            both: set[asyncio.Future[None]] = {waiting.begun, leaving}
            await asyncio.wait(both, timeout=max(0.0, seconds), return_when=asyncio.FIRST_COMPLETED)
            if waiting.begun.done():
                return
            if leaving.done():
                leaving.result()
                metrics.count_heavy(metrics.LEFT)
                raise ClientLeftError
            metrics.count_shed()
            metrics.count_heavy(metrics.LATE)
            raise busy()
        finally:
            leaving.cancel()

    async def _tend(self) -> None:
        """Keep one worker at work."""
        while True:
            process = await self._one_started()
            self.pids.append(process.pid)
            metrics.show_workers(len(self.pids))
            try:
                reason = await self._served(process)
            finally:
                self.pids.remove(process.pid)
                metrics.show_workers(len(self.pids))
                await process.end()
            metrics.count_restart(reason)

    async def _one_started(self) -> WorkerProcess:
        """Start a worker; try again, ever more slowly, for as long as it takes."""
        for seconds in chain(BACKOFF_SECONDS, repeat(BACKOFF_SECONDS[-1])):
            try:
                process = await started(self._memory_bytes)
                await process.ready()
            except (OSError, WorkerLostError) as error:
                self._can_start = False
                self._log.error("worker-start-failed", reason=str(error), again_in_s=seconds)
                metrics.count_restart(metrics.START_FAILED)
                await asyncio.sleep(seconds)
            else:
                self._can_start = True
                return process
        raise AssertionError  # the delays never end

    async def _served(self, process: WorkerProcess) -> str:
        """Give a worker one task after another; return why it is to be replaced."""
        lost = asyncio.ensure_future(process.lost())
        try:
            while (waiting := await self._next(lost)) is not None:
                reason = await self._asked(process, waiting)
                if reason is not None:
                    return reason
            self._log.error("worker-died", pid=process.pid, reason=str(lost.result()))
            return metrics.DIED
        finally:
            lost.cancel()

    async def _next(self, lost: "asyncio.Future[WorkerLostError]") -> _Waiting | None:
        """Take whose turn it is; None when the worker is lost."""
        while not (self._queue or lost.done()):
            self._filled.clear()
            filled = asyncio.ensure_future(self._filled.wait())
            try:
                either: set[asyncio.Future[Any]] = {filled, lost}
                await asyncio.wait(either, return_when=asyncio.FIRST_COMPLETED)
            finally:
                filled.cancel()
        if lost.done():
            return None
        waiting = self._queue.popleft()
        waiting.begun.set_result(None)
        return waiting

    async def _asked(self, process: WorkerProcess, waiting: _Waiting) -> str | None:
        """Let a worker answer; return why it is to be replaced, if it is."""
        names = {"pid": process.pid, "request_id": waiting.task.request_id}
        try:
            async with asyncio.timeout(self._work_seconds):
                outcome = await process.outcome_of(waiting.task)
            waiting.ended(outcome)
        except TimeoutError:
            self._log.error("worker-out-of-time", study=waiting.task.study, **names)
            waiting.ended(Refused("work-out-of-time", OUT_OF_TIME.format(self._work_seconds)))
            metrics.count_heavy(metrics.OUT_OF_TIME)
            return metrics.OUT_OF_TIME
        except WorkerLostError as error:
            self._log.error("worker-died", study=waiting.task.study, reason=str(error), **names)
            waiting.ended(Refused(INTERNAL_ERROR, INTERNAL_ERROR.detail))
            metrics.count_heavy(metrics.LOST)
            return metrics.DIED
        except Exception:  # noqa: BLE001  # what it sent cannot be read, so nothing of it can be trusted
            self._log.exception("worker-not-understood", study=waiting.task.study, **names)
            waiting.ended(Refused(INTERNAL_ERROR, INTERNAL_ERROR.detail))
            metrics.count_heavy(metrics.LOST)
            return metrics.DIED
        finally:
            # Told already, unless the service is stopping.
            waiting.ended(_stopping())
        metrics.count_heavy(metrics.ANSWERED)
        metrics.count_worker_seconds(outcome.processor_s)
        return None


def _stopping() -> Refused:
    return Refused("not-ready", "The service is stopping. Send the request to another instance.")
