"""What goes over the socket between the service and a worker: a length, and as many bytes."""

import asyncio
from collections.abc import Iterator
from struct import Struct
from typing import BinaryIO, Final

_LENGTH: Final = Struct("!Q")


def frame(content: bytes) -> bytes:
    """Put the length before the bytes."""
    return _LENGTH.pack(len(content)) + content


async def next_frame(reader: asyncio.StreamReader) -> bytes:
    """Read one frame.

    Raises
    ------
    EOFError
        The other side is gone.
    """
    (length,) = _LENGTH.unpack(await reader.readexactly(_LENGTH.size))
    return await reader.readexactly(length)


def frames(stream: BinaryIO) -> Iterator[bytes]:
    """Read frames until the other side is gone."""
    while len(head := stream.read(_LENGTH.size)) == _LENGTH.size:
        (length,) = _LENGTH.unpack(head)
        yield stream.read(length)
