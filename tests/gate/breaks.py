"""What a break is, and who suffers from it."""

from enum import Enum
from typing import NamedTuple


class Break(NamedTuple):
    """One way in which a client of the old document can fail with the new one."""

    pointer: str
    """Where the promise stood in the old document, as a JSON Pointer."""

    sentence: str

    def __str__(self) -> str:
        return f"{self.pointer}: {self.sentence}"


class Side(Enum):
    """Who sends a message. A client may be asked for less, and the service may promise more."""

    REQUEST = "request"
    REPLY = "reply"
