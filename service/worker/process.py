"""One worker as the service sees it: started, asked, ended."""

import asyncio
import os
import socket
import sys
from asyncio.subprocess import DEVNULL, PIPE, STDOUT, Process
from contextlib import suppress
from pathlib import Path
from typing import Final

import structlog
from msgspec import msgpack

from service.http.tasks import Task, TaskOutcome
from service.settings import PREFIX
from service.worker.frames import frame, next_frame

START_SECONDS: Final = 30.0
"""How long a worker may take to be ready."""


_ROOT: Final = Path(__file__).parents[2]


_COMMAND: Final = (sys.executable, "-m", "service.worker")


class WorkerLostError(Exception):
    """The process is gone; carries how it ended, as the kernel counts: below 0 the signal."""

    def __init__(self, code: int | None) -> None:
        super().__init__(f"ended with {code}")
        self.code = code


class WorkerProcess:
    """A process that answers one task at a time.

    Parameters
    ----------
    process : asyncio.subprocess.Process
    reader, writer : asyncio streams
        The socket between the two.
    """

    def __init__(self, process: Process, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._process = process
        self._reader = reader
        self._writer = writer
        self._decoder = msgpack.Decoder(TaskOutcome)
        self._said = asyncio.create_task(_log_what_is_said(process))

    @property
    def pid(self) -> int:
        """The number by which the machine knows it."""
        return self._process.pid

    async def outcome_of(self, task: Task) -> TaskOutcome:
        """Let it answer a task.

        Raises
        ------
        WorkerLostError
            It ended meanwhile.
        """
        try:
            self._writer.write(frame(msgpack.encode(task)))
            await self._writer.drain()
            return self._decoder.decode(await next_frame(self._reader))
        except (OSError, EOFError):
            raise WorkerLostError(await self._process.wait()) from None

    async def lost(self) -> WorkerLostError:
        """Wait until it ends by itself."""
        return WorkerLostError(await self._process.wait())

    async def ready(self) -> None:
        """Wait until it can be asked; it is ended when it cannot, or nobody waits any more.

        Raises
        ------
        WorkerLostError
            It ended, or takes too long.
        """
        is_ready = False
        try:
            async with asyncio.timeout(START_SECONDS):
                await next_frame(self._reader)
            is_ready = True
        except (TimeoutError, OSError, EOFError):
            raise WorkerLostError(self._process.returncode) from None
        finally:
            if not is_ready:
                await self.end()

    async def end(self) -> None:
        """End it, whatever it does, and leave nothing of it behind, even where the caller is cancelled."""
        ending = asyncio.ensure_future(self._end())
        try:
            await asyncio.shield(ending)
        finally:
            await ending

    async def _end(self) -> None:
        with suppress(ProcessLookupError):
            self._process.kill()
        await self._process.wait()
        await self._said
        self._writer.close()
        with suppress(OSError):
            await self._writer.wait_closed()


async def started(memory_bytes: int) -> WorkerProcess:
    """Start a worker that may have so much address space. [byte]

    It gets none of the settings: among them are keys, and it needs none.
    """
    environment = {name: value for name, value in os.environ.items() if not name.startswith(PREFIX)}
    ours, theirs = socket.socketpair()
    with theirs:
        reader, writer = await asyncio.open_unix_connection(sock=ours)
        try:
            process = await asyncio.create_subprocess_exec(
                *_COMMAND,
                str(theirs.fileno()),
                str(memory_bytes),
                stdin=DEVNULL,
                stdout=PIPE,
                stderr=STDOUT,
                pass_fds=[theirs.fileno()],
                cwd=_ROOT,
                env=environment,
                # What a terminal sends to the service is not for its workers.
                start_new_session=True,
            )
        except BaseException:
            writer.close()
            raise
    return WorkerProcess(process, reader, writer)


async def _log_what_is_said(process: Process) -> None:
    """Log what the worker prints: warnings of libraries, or how it failed."""
    assert process.stdout is not None  # noqa: S101  # it is a pipe, as asked for above
    while output := await process.stdout.read(4096):
        text = output.decode("utf-8", "replace").strip()
        structlog.get_logger().warning("worker-said", pid=process.pid, text=text)
