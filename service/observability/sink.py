"""A place for log lines that may be full, closed or gone, and must not take the service along."""

import os
from typing import Final


class Sink:
    """Writes whole lines to a descriptor and never raises: a full disk costs log lines, not answers.

    Parameters
    ----------
    descriptor : int
        Where to write. What Python buffers would be kept after a failure and fail again, so nothing is.
    """

    def __init__(self, descriptor: int) -> None:
        self._descriptor: Final = descriptor
        self._lost = 0
        self._is_torn = False

    def write(self, line: bytes) -> None:
        """Write a line; after a gap, first say how long it was."""
        if self._lost:
            line = b'%s{"event":"log-lines-lost","level":"error","lines":%d}\n%s' % (
                b"\n" if self._is_torn else b"",
                self._lost,
                line,
            )
        try:
            written = os.write(self._descriptor, line)
            while written < len(line):
                self._is_torn = True
                written += os.write(self._descriptor, line[written:])
        except OSError:
            self._lost += 1
        else:
            self._lost, self._is_torn = 0, False

    def flush(self) -> None:
        """Nothing is held back."""


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
        """Nothing is held back."""
