"""Who is next: callers take turns, so that nobody's second request goes before another's first."""

from collections import OrderedDict
from collections.abc import Hashable
from typing import Final, Generic, TypeVar

Waiting = TypeVar("Waiting")

MOST_REMEMBERED: Final = 1_000
"""Callers whose last turn is remembered; more than can wait at a time."""


class Turns(Generic[Waiting]):
    """What waits. Next is who has had no turn for longest and, among equals, who has waited longest."""

    def __init__(self) -> None:
        self._waiting: list[tuple[Waiting, Hashable]] = []
        self._turns: OrderedDict[Hashable, int] = OrderedDict()
        self._count = 0

    def __len__(self) -> int:
        """How many wait."""
        return len(self._waiting)

    def append(self, waiting: Waiting, caller: Hashable) -> None:
        """Let one more wait; callers that nobody tells apart are None, and one caller."""
        self._waiting.append((waiting, caller))

    def remove(self, waiting: Waiting) -> None:
        """Let one wait no more.

        Raises
        ------
        ValueError
            It does not wait.
        """
        self._waiting.pop([each for each, _ in self._waiting].index(waiting))

    def popleft(self) -> Waiting:
        """Take who is next."""
        last = [self._turns.get(caller, 0) for _, caller in self._waiting]
        waiting, caller = self._waiting.pop(last.index(min(last)))
        self._count += 1
        self._turns[caller] = self._count
        self._turns.move_to_end(caller)
        if len(self._turns) > MOST_REMEMBERED:
            self._turns.popitem(last=False)
        return waiting
