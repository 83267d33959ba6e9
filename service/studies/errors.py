"""What a study refuses, as typed facts; somebody else finds the words."""

from collections.abc import Sequence
from typing import NamedTuple

MAXIMUM_POINTS = 2_000
MAXIMUM_LOOPS = 100


class JobTooLargeError(Exception):
    """More points or loops than one request may ask for; `pointer` is to what asks for them."""

    def __init__(self, what: str, count: int, limit: int, pointer: str = "/wiring") -> None:
        super().__init__(f"{count} {what}, at most {limit}")
        self.what = what
        self.count = count
        self.limit = limit
        self.pointer = pointer


def refuse_too_large(*, points: int, loops: int) -> None:
    """Refuse a job with more points or loops than one request may have.

    Raises
    ------
    JobTooLargeError
    """
    if points > MAXIMUM_POINTS:
        raise JobTooLargeError("points", points, MAXIMUM_POINTS)
    if loops > MAXIMUM_LOOPS:
        raise JobTooLargeError("loops", loops, MAXIMUM_LOOPS)


class Mistake(NamedTuple):
    """One thing that cannot be as described: a code, a pointer into the request, the names involved."""

    code: str
    pointer: str
    names: tuple[str, ...] = ()
    known: Sequence[str] = ()
    """Names that could have stood in the place of the wrong one; one list for all mistakes of a kind."""


class WiringContradictoryError(Exception):
    """A graph that cannot be wired as it is described, with every mistake in it."""

    def __init__(self, mistakes: list[Mistake]) -> None:
        super().__init__(f"{len(mistakes)} mistakes in the wiring")
        self.mistakes = mistakes


class ReadingsContradictoryError(Exception):
    """Readings that point at nothing which could be read, with every mistake in them."""

    def __init__(self, mistakes: list[Mistake]) -> None:
        super().__init__(f"{len(mistakes)} mistakes in the readings")
        self.mistakes = mistakes
