"""Who answers what is heavy, as far as an endpoint knows. The workers stand in a room above this one."""

from collections.abc import Awaitable, Callable
from typing import Final, Protocol

from service.endpoints.outcome import Outcome, Task

WORKERS: Final = "workers"
"""The name under which the application's state holds its workers."""


class Workers(Protocol):
    """Processes that answer what is heavy. They stand in a room above this one."""

    @property
    def are_at_work(self) -> bool:
        """Whether heavy requests are theirs; otherwise everything is answered in the loop."""

    @property
    def are_ready(self) -> bool:
        """Whether heavy requests are answered: not before a worker is up, nor while none can start."""

    async def outcome_of(self, task: Task, arrived: float, left: Callable[[], Awaitable[None]]) -> Outcome:
        """Answer a task when its turn comes; `left` returns when nobody waits for it any more."""
