"""What is made once for all processes that test is made by one of them, while the others wait."""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from tempfile import gettempdir


@contextmanager
def alone_at(place: Path) -> Iterator[None]:
    """Keep other processes out of a place while something is made there."""
    name = sha256(bytes(place)).hexdigest()[:16]
    with (Path(gettempdir()) / f"lastlamp-{name}.lock").open("w", encoding="utf-8") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield
