"""Keys in a file that may change while the service runs."""

from collections.abc import Callable
from pathlib import Path
from time import monotonic
from typing import Final

import structlog

from service.access.key_text import KeysError
from service.access.keys import KeyRing
from service.observability.metrics import count_key_reload_failure

Read = Callable[[str], KeyRing]

SECONDS_BETWEEN_LOOKS: Final = 1.0
LARGEST_BYTES: Final = 1_048_576


class KeyFile:
    """The keys of a file, read again when it changes.

    The content itself is compared, at most once a second: a mounted secret is changed by turning a symbolic
    link, an editor may write in place, and times of files can be set. A file that cannot be used any more
    leaves the keys as they were: a slip must not lock every caller out.

    Parameters
    ----------
    path : str
        Of the file.
    read : callable
        From text to keys; raises `KeysError`.
    clock : callable, optional
        Seconds that only grow.

    Raises
    ------
    KeysError
        The file cannot be used as it is now.
    """

    def __init__(self, path: str, read: Read, clock: Callable[[], float] = monotonic) -> None:
        self._path = Path(path)
        self._read = read
        self._clock = clock
        self._content = _content(self._path)
        self._ring = read(_text(self._content))
        self._looked = clock()
        self._seen_mistake = ""

    def __call__(self) -> KeyRing:
        """Return the keys that are good now."""
        now = self._clock()
        if now - self._looked >= SECONDS_BETWEEN_LOOKS:
            self._looked = now
            self._look()
        return self._ring

    def _look(self) -> None:
        try:
            content = _content(self._path)
            if content != self._content:
                self._ring = self._read(_text(content))
                self._content = content
                structlog.get_logger().info("keys-reloaded", keys=[key.name for key in self._ring.keys])
            self._seen_mistake = ""
        except KeysError as error:
            # Counted each time, so that an alert stands for as long as the file is not mended.
            count_key_reload_failure()
            self._complain(str(error))

    def _complain(self, mistake: str) -> None:
        """Say each mistake once, not each second."""
        if mistake != self._seen_mistake:
            self._seen_mistake = mistake
            structlog.get_logger().error("keys-not-reloaded", mistake=mistake, kept=len(self._ring.keys))


def _content(path: Path) -> bytes:
    try:
        # Nothing but a plain file: a pipe would keep every caller waiting for its writer.
        if not path.is_file():
            raise KeysError(["The file of the keys is not there, or is no plain file."])
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise KeysError([f"The file of the keys cannot be read: {(error.strerror or '').lower()}."]) from None
    if len(content) > LARGEST_BYTES:
        raise KeysError([f"The file of the keys has more than {LARGEST_BYTES} bytes."])
    return content


def _text(content: bytes) -> str:
    try:
        # Some editors put a mark of the byte order before the text.
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise KeysError(["The file of the keys is not UTF-8."]) from None
