"""A token bucket of work: it fills with time, and what is in progress is held in it until it is settled.

Whole numbers throughout, so that no grant, however many, is won by rounding.
"""

from typing import Final

NANOSECONDS: Final = 1_000_000_000
_MINUTE: Final = 60 * NANOSECONDS


class Bucket:
    """What one caller may still ask for.

    It holds one minute's work at most. What is left and what is held are together never more, so in any span
    of time no more work is done than one full bucket and what flowed in meanwhile; but for what a request
    spent beyond what was held for it, which is owed and paid before anything else is granted.

    Parameters
    ----------
    per_minute : int
        Work that flows in during a minute; also what it holds.
    now : int
        Of a clock that only goes forward. [ns]
    """

    __slots__ = ("_at", "_held", "_level", "_per_minute", "heavy")

    def __init__(self, per_minute: int, now: int) -> None:
        self._per_minute = per_minute
        # In units of work × minutes / ns, which flow in at a whole number each nanosecond.
        self._level = per_minute * _MINUTE
        self._held = 0
        self._at = now
        self.heavy = 0
        """Requests in progress that count as heavy."""

    @property
    def held(self) -> int:
        """What is held for requests in progress."""
        return self._held // _MINUTE

    def left(self, now: int) -> int:
        """What may be asked for now; 0 where work is owed."""
        self._flow(now)
        return max(0, self._level) // _MINUTE

    def is_whole(self, now: int) -> bool:
        """Whether it is as good as a new one."""
        self._flow(now)
        return self._held == 0 and self._level == self._per_minute * _MINUTE

    def hold(self, work: int, now: int) -> bool:
        """Hold so much for a request; False, and nothing is held, where less is left."""
        self._flow(now)
        if work * _MINUTE > self._level:
            return False
        self._level -= work * _MINUTE
        self._held += work * _MINUTE
        return True

    def settle(self, held: int, spent: int, now: int) -> None:
        """Charge what was spent in the place of what was held."""
        self._flow(now)
        self._held -= held * _MINUTE
        self._level += (held - spent) * _MINUTE

    def charge_at_most(self, work: int, now: int) -> None:
        """Charge for a refusal, but never into debt, or whoever asks too often would be shut out for good."""
        self._flow(now)
        self._level -= min(work * _MINUTE, max(0, self._level))

    def seconds_until(self, work: int, now: int) -> int:
        """How long until so much is left, if nothing else is asked for or in progress. [s]

        Rounded up. A full bucket is as much as there can be.
        """
        self._flow(now)
        lacking = min(work, self._per_minute) * _MINUTE - self._level
        return max(0, -(-lacking // (self._per_minute * NANOSECONDS)))

    def seconds_until_whole(self, now: int) -> int:
        """How long until it is full, if nothing else is asked for. [s], rounded up."""
        return self.seconds_until(self._per_minute, now)

    def _flow(self, now: int) -> None:
        room = self._per_minute * _MINUTE - self._held - self._level
        self._level += min(room, max(0, now - self._at) * self._per_minute)
        self._at = max(now, self._at)
