"""What a request costs its caller beside the work of its answer, in the same units."""

from typing import Final

WORK_OF_A_SECOND: Final = 100_000
"""About so much is done in a second: a unit is 10 µs on one core."""

WORK_OF_A_REQUEST: Final = 50
"""Charged for any request: its head, its line in the log, its reply."""

_BYTES_READ: Final = 200
_BYTES_REFUSED: Final = 10


def work_of_reading(size: int) -> int:
    """Work of decoding so many bytes. [bytes]"""
    return -(-size // _BYTES_READ)


def work_of_refusing(size: int) -> int:
    """Work of finding what is wrong with so many bytes, which takes longer than to decode good ones."""
    return -(-size // _BYTES_REFUSED)
