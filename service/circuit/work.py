"""A budget of work, the same on every machine, so that one request never starves the rest.

`charge` takes what a piece of work is expected to need, before it is done; `count` adds up what was done, in
the operations of the algorithm. Where more was done than was expected, the rest is charged as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import replace
from typing import Final

from service.circuit.most import MAXIMUM_REQUEST_WORK
from service.physics import effort
from service.problems.catalogue import WORK_OVER_LIMIT
from service.problems.unanswered import UnansweredError

OPERATIONS_OF_WORK = 100
"""Operations that are one unit of work, which is about 10 microseconds on one core."""


MAXIMUM_WORK = 25_000
"""Work of one search among cables or transformers, or of one chart: about a quarter of a second."""


HEAVY_WORK = 800
"""About ten drops of 20 lamps: a request of which more is expected should not hold up others."""


WORK_OF_JUDGING, POINTS_JUDGED = 5, 2
"""Work of judging one state beside its points, and points that are judged with one unit."""


WORK_OF_TELLING = 15
"""Work of writing an answer down beside its points."""


WORK_OF_A_CELL = 2
"""Work of one cell of a chart: solving it twice, judging it, and writing it down."""


LAID = 50
"""Operations of laying a point and joining it."""


LAID_AGAIN = 25
"""Operations of feeding and warming a point otherwise that was laid before."""


JOINED = 15
"""Operations of planning one more step for loops."""


READ_OFF = 25
"""Operations of reading off a fixture, its span with it."""


FILLED = 25
"""Operations of putting another cable into a span and holding it against its limits."""


JUDGED, TOLD = 20, 100
"""Operations of judging a fixture and its span, and of writing them down."""


FOUND = 80
"""Operations of one finding."""


CHARTED = 150
"""Operations of one cell of a chart."""


LAMP_ALONE = 400
"""Operations of one fixture alone on."""


WORK_OF_A_STATE = 10
"""Work of one state beside its points: laying it out and judging it."""


WORK_ALONE = 10
"""Work of one fixture alone on."""


def work_of(points: int) -> int:
    """Work of solving one state with so many points."""
    return points + WORK_OF_A_STATE


def work_of_again(points: int) -> int:
    """Work of solving one more state of so many points that were laid out for another."""
    return 3 * points // 4 + WORK_OF_A_STATE // 2


def work_of_judging(points: int) -> int:
    """Work of judging one state with so many points."""
    return WORK_OF_JUDGING + points // POINTS_JUDGED


def work_of_telling(points: int) -> int:
    """Work of writing down one state with so many points."""
    return WORK_OF_TELLING + points


def work_of_cells(cells: int) -> int:
    """Work of a chart with so many cells."""
    return WORK_OF_TELLING + WORK_OF_A_CELL * cells


class WorkOverLimitError(UnansweredError):
    """A request would need more work than one request may ask for."""

    def __init__(self, work: int, limit: int = MAXIMUM_WORK) -> None:
        super().__init__(WORK_OVER_LIMIT, f"work of {work}, at most {limit}")
        self.work = work
        self.limit = limit


BATCH_SPENT: Final = replace(
    WORK_OVER_LIMIT,
    detail="One request may ask for work of {error.limit}, all its items together, and those before this one"
    " left {error.left}, which is not enough. Send this one by itself.",
)


class BatchSpentError(UnansweredError):
    """A question among several for which the others have left too little work."""

    def __init__(self, left: int, limit: int) -> None:
        super().__init__(BATCH_SPENT, f"work of {left} left of {limit}")
        self.left = left
        self.limit = limit


class Budget:
    """What is left of the work that one request may ask for.

    Parameters
    ----------
    work : int, optional
    shared : Budget, optional
        Of all questions of a batch, of which this is one: it is spent as well.
    """

    __slots__ = ("left", "limit", "shared", "shared_at_first")

    def __init__(self, work: int = MAXIMUM_WORK, shared: Budget | None = None) -> None:
        self.left = self.limit = work
        self.shared = shared
        self.shared_at_first = 0 if shared is None else shared.left

    def spend(self, work: int) -> None:
        """Take some of what is left.

        Raises
        ------
        WorkOverLimitError
            Not so much is left.
        BatchSpentError
            Not so much is left of what is shared; nothing that does without an answer does without this one.
        """
        if work > self.left:
            raise WorkOverLimitError(self.limit - self.left + work, self.limit)
        if self.shared is not None:
            if work > self.shared.left:
                raise BatchSpentError(self.shared_at_first, self.shared.limit)
            self.shared.left -= work
        self.left -= work


_REQUEST: ContextVar[Budget | None] = ContextVar("request", default=None)


def begin_request() -> None:
    """Give the request that is being answered a budget for all that it asks for, and count what it does."""
    _REQUEST.set(Budget(MAXIMUM_REQUEST_WORK))
    effort.begin_tally()


@contextmanager
def among_others() -> Iterator[None]:
    """Give one question of the request a budget as if asked alone; all of them share that of the request."""
    shared = _REQUEST.get()
    mine = _REQUEST.set(Budget(MAXIMUM_REQUEST_WORK, shared))
    try:
        yield
    finally:
        _REQUEST.reset(mine)


def spent() -> int:
    """Work charged to the request that is being answered so far; zero outside of one."""
    budget = _REQUEST.get()
    return 0 if budget is None else budget.limit - budget.left


def left() -> int:
    """Work that the request that is being answered may still ask for; all of it outside of one."""
    budget = _REQUEST.get()
    return MAXIMUM_REQUEST_WORK if budget is None else budget.left


@contextmanager
def held_back(work: int) -> Iterator[None]:
    """Keep some of what the request may still ask for until afterwards, half of what is left at most."""
    budget = _REQUEST.get()
    if budget is None:
        yield
        return
    kept = min(work, budget.left // 2)
    budget.left -= kept
    try:
        yield
    finally:
        budget.left += kept


def done() -> int:
    """Work that the request that is being answered has really taken so far; zero outside of one."""
    return effort.counted() // OPERATIONS_OF_WORK


def count(operations: int) -> None:
    """Count operations that were done."""
    effort.count(operations)


@contextmanager
def charged(work: int) -> Iterator[None]:
    """Charge what is expected of something, and afterwards what it took beyond that.

    Raises
    ------
    WorkOverLimitError
        The request has spent what it may.
    """
    charge(work)
    before = effort.counted()
    try:
        yield
    finally:
        taken = (effort.counted() - before) // OPERATIONS_OF_WORK
        if taken > work:
            charge(taken - work)


def charge(work: int) -> None:
    """Charge the request that is being answered; outside of one nothing is counted.

    Raises
    ------
    WorkOverLimitError
        The request has spent what it may.
    """
    budget = _REQUEST.get()
    if budget is not None:
        budget.spend(work)
