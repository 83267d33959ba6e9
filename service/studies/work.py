"""A budget of work, the same on every machine, so that one request never starves the rest."""

from contextvars import ContextVar

MAXIMUM_WORK = 25_000
"""Work that one request may ask for: about a quarter of a second on one core."""

MAXIMUM_REQUEST_WORK = 100_000
"""Work that one request may ask for in all, whatever studies and items it names: one to two seconds."""

HEAVY_WORK = 1_000
"""Work above which a request is answered beside the others: about ten drops of 20 lamps."""

WORK_OF_JUDGING = 4
"""Work of reading a state off, judging it and telling it, for each point."""

WORK_OF_A_STATE = 10
"""Work of one state beside its points: laying it out and judging it."""

WORK_ALONE = 10
"""Work of one fixture alone on."""


def work_of(points: int) -> int:
    """Work of solving one state with so many points."""
    return points + WORK_OF_A_STATE


class WorkOverLimitError(Exception):
    """A request would need more work than one request may ask for."""

    def __init__(self, work: int, limit: int = MAXIMUM_WORK) -> None:
        super().__init__(f"work of {work}, at most {limit}")
        self.work = work
        self.limit = limit


class Budget:
    """What is left of the work that one request may ask for."""

    __slots__ = ("left", "limit")

    def __init__(self, work: int = MAXIMUM_WORK) -> None:
        self.left = self.limit = work

    def spend(self, work: int) -> None:
        """Take some of what is left.

        Raises
        ------
        WorkOverLimitError
            Not so much is left.
        """
        if work > self.left:
            raise WorkOverLimitError(self.limit - self.left + work, self.limit)
        self.left -= work


_REQUEST: ContextVar[Budget | None] = ContextVar("request", default=None)


def begin_request() -> None:
    """Give the request that is being answered a budget for all that it asks for."""
    _REQUEST.set(Budget(MAXIMUM_REQUEST_WORK))


def spent() -> int:
    """Work charged to the request that is being answered so far; 0 outside of one."""
    budget = _REQUEST.get()
    return 0 if budget is None else budget.limit - budget.left


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
