"""What a request costs its caller beside the work of its answer, in the same units."""

from typing import Final

WORK_OF_A_SECOND: Final = 100_000
"""About so much is done in a second: a unit is 10 µs on one core."""


WORK_OF_A_REQUEST: Final = 50
"""Charged for any request: its head, its line in the log, its reply."""


_WRITING: Final = {
    "application/json": (0, 4_000),
    "text/csv": (0, 200),
    "application/geo+json": (0, 2_000),
    "image/vnd.dxf": (0, 200),
    "text/html": (0, 50),
    "image/svg+xml": (0, 50),
    # Its fonts are cut to the letters that it has.
    "application/pdf": (2_500, 10),
}
"""Work of writing an answer in a form, whatever stands in it, and bytes of it for each unit beyond that."""


_BYTES_READ: Final = 200


_BYTES_REFUSED: Final = 50


def work_of_reading(size: int) -> int:
    """Work of decoding so many bytes. [bytes]"""
    return -(-size // _BYTES_READ)


def work_of_refusing(size: int) -> int:
    """Work of finding what is wrong with so many bytes, which takes longer than to decode good ones."""
    return -(-size // _BYTES_REFUSED)


def work_of_writing(media_type: str, size: int) -> int:
    """Work of writing an answer of so many bytes in one of its forms. [bytes]"""
    least, bytes_of_a_unit = _WRITING[media_type]
    return least + size // bytes_of_a_unit
