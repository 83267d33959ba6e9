"""Log lines: one JSON object a line on standard output, our own and those of the libraries alike."""

import logging
import os
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from select import PIPE_BUF, POLLOUT, poll
from threading import Condition, Thread
from time import sleep
from typing import BinaryIO, Final, cast

import msgspec
import structlog
from structlog.typing import EventDict, Processor, WrappedLogger

from service.observability.metrics import count_dropped_log_lines

# The descriptor itself: whoever puts another object in the place of sys.stdout must not take the log along.
_STANDARD_OUTPUT: Final = 1


# Frames are named, their local variables never: a local may hold what a caller sent.
_TRACEBACKS = structlog.processors.ExceptionRenderer(
    structlog.tracebacks.ExceptionDictTransformer(show_locals=False)
)


def _as_json(_logger: WrappedLogger, _name: str, event: EventDict) -> bytes:
    return msgspec.json.encode(event, enc_hook=str)


def _as_json_text(logger: WrappedLogger, name: str, event: EventDict) -> str:
    return _as_json(logger, name, event).decode("utf-8")


_SHARED: list[Processor] = [
    structlog.processors.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    _TRACEBACKS,
]


# One list for good: a logger keeps that under which it was bound, and who gathers lines changes it in place.
_PROCESSORS: Final[list[Processor]] = [*_SHARED, _as_json]


def configure(level: str) -> None:
    """Send every log line of the process to standard output as JSON.

    Parameters
    ----------
    level : str
        ``debug``, ``info``, ``warning`` or ``error``: the least severe line that is written.
    """
    structlog.configure(
        processors=_PROCESSORS,
        wrapper_class=structlog.make_filtering_bound_logger(level),
        logger_factory=structlog.BytesLoggerFactory(cast("BinaryIO", SINK)),
    )
    _configure_standard_library(level)


def _configure_standard_library(level: str) -> None:
    """Give the libraries' own log lines the same shape, and take away the handlers that they brought."""
    handler = logging.StreamHandler(TextSink(SINK))
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=_SHARED,
            processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, _as_json_text],
        )
    )
    logging.root.handlers[:] = [handler]
    # Libraries speak of their own affairs at info; a request has its line from the envelope already.
    logging.root.setLevel(max(logging.WARNING, logging.getLevelNamesMapping()[level.upper()]))
    for name in ("litestar", "uvicorn", "uvicorn.error", "uvicorn.access"):
        logging.getLogger(name).handlers.clear()
        logging.getLogger(name).setLevel(logging.NOTSET)
        logging.getLogger(name).propagate = True


MOST_WAITING_BYTES: Final = 1_048_576
"""How much may wait for whoever reads: some 4,000 lines of requests."""


GATHERING_SECONDS: Final = 0.01
"""How long lines are gathered before they are written: waking a thread for each costs more than the line."""


LAST_LINES_SECONDS: Final = 1.0
"""How long a stop waits for the last lines to be taken; a reader that is gone must not hold it up."""


class Sink:
    """Takes whole lines and never raises: what goes wrong with a log costs lines, not answers.

    Outside `beside` a line is written at once, by whoever logs it.

    Parameters
    ----------
    descriptor : int
        Where to write. What Python buffers would be kept after a failure and fail again, so nothing is.
    count_dropped : callable
        Called with a number of lines that were lost.
    """

    def __init__(self, descriptor: int, count_dropped: Callable[[int], None]) -> None:
        self._descriptor: Final = descriptor
        self._count_dropped = count_dropped
        # What stood before the next line to be written, and what came after the last that found room.
        self._lost_before = self._lost_behind = 0
        self._is_torn = False
        self._waiting: deque[bytes] = deque()
        self._waiting_bytes = 0
        self._changed = Condition()
        self._writer: Thread | None = None
        self._is_ending = False

    def write(self, line: bytes) -> None:
        """Write a line; after a gap, first say how long it was."""
        with self._changed:
            if self._writer is None:
                self._put(line, patiently=False)
            elif self._waiting_bytes + len(line) > MOST_WAITING_BYTES:
                self._lost_behind += 1
                self._count_dropped(1)
            else:
                self._close_gap()
                self._queue(line)
                self._changed.notify()

    def flush(self) -> None:
        """Nothing is held back for the sake of it."""

    @contextmanager
    def beside(self) -> Iterator[None]:
        """Write in a thread of its own while the block runs, so that nobody waits for whoever reads.

        What finds no room to wait in is dropped and counted. The end waits for the last lines, but not long.
        """
        self._is_ending = False
        writer = self._writer = Thread(target=self._write_on, name="log", daemon=True)
        writer.start()
        try:
            yield
        finally:
            with self._changed:
                self._is_ending = True
                self._changed.notify()
            writer.join(LAST_LINES_SECONDS)
            # One that still writes is left behind with what it has, which nobody takes any more.
            if not writer.is_alive():
                self._writer = None

    def _write_on(self) -> None:
        while self._await_lines():
            sleep(GATHERING_SECONDS)
            while lines := self._next_lines():
                self._put(lines, patiently=True)

    def _await_lines(self) -> bool:
        """Wait until there is something to write; False at the end."""
        with self._changed:
            while not self._waiting and not self._is_ending:
                self._changed.wait()
            return bool(self._waiting)

    def _next_lines(self) -> bytes:
        """Take as many lines as a pipe takes whole or not at all."""
        with self._changed:
            taken: list[bytes] = []
            size = 0
            while self._waiting and (not taken or size + len(self._waiting[0]) <= PIPE_BUF):
                taken.append(self._waiting.popleft())
                size += len(taken[-1])
            self._waiting_bytes -= size
            if not self._waiting:
                self._close_gap()
            return b"".join(taken)

    def _close_gap(self) -> None:
        """Say what was dropped where it was dropped, now that there is room again."""
        if self._lost_behind:
            self._queue(_lost(self._lost_behind))
            self._lost_behind = 0

    def _queue(self, line: bytes) -> None:
        self._waiting.append(line)
        self._waiting_bytes += len(line)

    def _put(self, lines: bytes, *, patiently: bool) -> None:
        """Write lines; those that fail are counted."""
        before = b""
        if self._lost_before:
            before = (b"\n" if self._is_torn else b"") + _lost(self._lost_before)
        everything = before + lines
        written = 0
        try:
            while written < len(everything):
                written += self._put_some(everything[written:], patiently=patiently)
        except OSError:
            lost = lines[max(0, written - len(before)) :].count(b"\n")
            self._lost_before = lost + (self._lost_before if written < len(before) else 0)
            if written:
                self._is_torn = not everything[:written].endswith(b"\n")
            self._count_dropped(lost)
        else:
            self._lost_before, self._is_torn = 0, False

    def _put_some(self, lines: bytes, *, patiently: bool) -> int:
        while True:
            try:
                return os.write(self._descriptor, lines)
            except BlockingIOError:
                # Whoever else holds the descriptor has stated that nobody shall wait for it.
                if not patiently:
                    raise
                room = poll()
                room.register(self._descriptor, POLLOUT)
                room.poll()


SINK: Final = Sink(_STANDARD_OUTPUT, count_dropped_log_lines)
"""Where every line of the process goes."""


class TextSink:
    """The same for the standard library, which writes text.

    Parameters
    ----------
    sink : Sink
        Takes the bytes.
    """

    def __init__(self, sink: Sink) -> None:
        self._sink = sink

    def write(self, text: str) -> None:
        """Write a line."""
        self._sink.write(text.encode("utf-8", "replace"))

    def flush(self) -> None:
        """Nothing is held back for the sake of it."""


def _lost(lines: int) -> bytes:
    """Say how many lines are missing here."""
    now = datetime.now(UTC).isoformat().replace("+00:00", "Z")
    return b'{"event":"log-lines-lost","lines":%d,"level":"error","timestamp":"%b"}\n' % (lines, now.encode())
