"""The work of one search, paid as it goes; a search that may stop anywhere stops where it ends."""

from __future__ import annotations

from service.circuit.work import OPERATIONS_OF_WORK, Budget, WorkOverLimitError, charge, count

PAID_AT_ONCE = 3
"""Work after which what was done is paid."""


class OutOfStepsError(Exception):
    """A search has done all that it may."""


class Steps:
    """The operations that one search may do.

    Parameters
    ----------
    budget : Budget
        Of the study that asks.
    work : int
        The most of it that this search may take.
    whole : Steps or None
        Of what this search is a part.
    """

    __slots__ = ("_budget", "_left", "_owed", "_whole")

    def __init__(self, budget: Budget, work: int, whole: Steps | None = None) -> None:
        self._budget, self._left, self._owed, self._whole = budget, work, 0, whole

    def part(self, work: int) -> Steps:
        """No more than so many of the operations that are left."""
        return Steps(self._budget, min(work, self._left), self)

    def take(self, operations: int) -> None:
        """Do so many operations.

        Raises
        ------
        OutOfStepsError
            So many are not left, of this search or of its study.
        """
        self._owed += operations
        if self._owed >= PAID_AT_ONCE * OPERATIONS_OF_WORK:
            self.pay()

    def pay(self) -> None:
        """Pay what was done so far.

        Raises
        ------
        OutOfStepsError
            It was more than there is.
        """
        work, self._owed = divmod(self._owed, OPERATIONS_OF_WORK)
        try:
            self._budget.spend(work)
            charge(work)
        except WorkOverLimitError as spent:
            raise OutOfStepsError from spent
        count(work * OPERATIONS_OF_WORK)
        self._spend(work)

    def _spend(self, work: int) -> None:
        self._left -= work
        if self._whole is not None:
            self._whole._spend(work)  # noqa: SLF001  # another of its own kind
        if self._left < 0:
            raise OutOfStepsError
