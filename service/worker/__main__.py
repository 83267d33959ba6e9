"""A worker: takes one task after another from its socket. Started by the service alone.

It ends when the other end of the socket closes, however the service ended: no signal is needed and none is
listened to, since a terminal or a supervisor sends them to whole groups of processes.
"""

import gc
import os
import resource
import signal
import socket
import sys
from contextlib import suppress
from pathlib import Path
from queue import SimpleQueue
from threading import Thread
from typing import BinaryIO, Final

from msgspec import msgpack

from service.circuit import self_check
from service.http.tasks import Task, outcome_of
from service.worker.frames import frame, frames

YIELDS: Final = 5
"""How much later than the loop it gets its turn where both want one core; a quarter of it is left."""


FIRST_TO_GO: Final = "500"
"""Where memory runs out the kernel ends the worker, which is replaced, and not the service."""


READY: Final = b""


OUT_OF_MEMORY: Final = 12
"""Code with which it ends where its address space does not hold an answer (ENOMEM)."""


def main(descriptor: int, memory_bytes: int) -> int:
    """Answer tasks until the service is gone.

    Parameters
    ----------
    descriptor : int
        Of the socket.
    memory_bytes : int
        The address space that it may have.

    Returns
    -------
    code : int
        1 when this process miscalculates and must not be asked.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    os.nice(YIELDS)
    with suppress(OSError):  # only Linux has it
        Path("/proc/self/oom_score_adj").write_text(FIRST_TO_GO, encoding="ascii")
    if not self_check.published_value_holds():
        return 1
    with suppress(OSError, ValueError):  # not every system takes it, and where there is less that stays
        resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
    # What is loaded by now stays; no collection needs to walk it again.
    gc.collect()
    gc.freeze()
    _work(socket.socket(fileno=descriptor))
    return 0


def _work(connection: socket.socket) -> None:
    tasks: SimpleQueue[Task] = SimpleQueue()
    Thread(target=_take, args=(connection.makefile("rb"), tasks), daemon=True).start()
    connection.sendall(frame(READY))
    while True:
        try:
            connection.sendall(frame(msgpack.encode(outcome_of(tasks.get()))))
        except MemoryError:
            # What was begun may hold any of it; a new process begins with all.
            os._exit(OUT_OF_MEMORY)


def _take(stream: BinaryIO, tasks: "SimpleQueue[Task]") -> None:
    """Take tasks, and end the process at once when nobody is left to give them, even while it computes."""
    decoder = msgpack.Decoder(Task)
    code = 0
    try:
        with suppress(OSError):
            for content in frames(stream):
                tasks.put(decoder.decode(content))
    except MemoryError:
        code = OUT_OF_MEMORY
    os._exit(code)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]), int(sys.argv[2])))
