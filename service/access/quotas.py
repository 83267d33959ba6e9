"""Quotas of work: what each caller may ask of this process in a minute, and what a request is charged."""

from collections import OrderedDict
from collections.abc import Callable, Mapping
from time import monotonic_ns
from typing import Any, Final, NamedTuple

from service.access.price import WORK_OF_A_REQUEST, WORK_OF_A_SECOND, work_of_reading, work_of_refusing
from service.observability.metrics import count_forgotten_quota
from service.observability.middleware import OwnFields
from service.problems import Refused

MOST_CALLERS: Final = 10_000
"""Callers whose quota is remembered; one more, and the one that was silent longest starts anew."""


MOST_HEAVY: Final = 2
"""Heavy requests of one caller that may be in progress."""


_SPENT: Final = "quota-spent"


_HEAVY: Final = "heavy-in-progress"


_METER: Final = "meter"


class Caller(NamedTuple):
    """Whose quota it is."""

    key: str | None
    """The name of the key, so that the quota outlives a reading of the file; None where everybody may ask."""

    address: str | None
    """None where the key is a secret: then one caller has it, wherever it asks from."""


class Terms(NamedTuple):
    """What holds for every caller."""

    per_minute: int
    """Work that each may ask for in a minute."""

    largest: int
    """Work that one request may ask for, of which the quota of a minute is a multiple."""

    clock: Callable[[], int] = monotonic_ns
    """Only goes forward. [ns]"""


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


class RequestMeter:
    """What one request holds of its caller's quota, and what it is charged in the end.

    Parameters
    ----------
    caller : Caller
        Whose request it is.
    bucket : Bucket
        The caller's.
    terms : Terms
        Those of all callers.
    """

    def __init__(self, caller: Caller, bucket: Bucket, terms: Terms) -> None:
        self.caller = caller
        self._bucket = bucket
        self._per_minute, self._largest, self._clock = terms
        self._held = 0
        self._size = 0
        self._is_heavy = self._is_settled = self._is_refused = False
        self._wait = 0

    def admit(self, size: int) -> None:
        """Hold what it costs to read a request, before it is read.

        Parameters
        ----------
        size : int
            Of the body, or of the query where there is no body. [bytes]

        Raises
        ------
        Refused
            ``quota-spent``.
        """
        self._size = size
        cost = min(WORK_OF_A_REQUEST + work_of_refusing(size), self._per_minute)
        if not self._hold(cost):
            # What it asks for is not known, so the wait is long enough for the most that it may ask for.
            self._is_refused = True
            self._bucket.charge_at_most(WORK_OF_A_REQUEST, self._clock())
            raise self._spent(cost + self._largest)

    def reserve(self, work: int, *, is_heavy: bool) -> None:
        """Hold what the answer may cost, before it is worked out.

        Parameters
        ----------
        work : int
            The most that it may cost.
        is_heavy : bool
            Whether it takes one of the caller's few places for such.

        Raises
        ------
        Refused
            ``quota-spent`` or ``heavy-in-progress``.
        """
        # Never more than any request may ask for, nor than a full bucket holds: who has waited as long as
        # was stated must pass. What it takes beyond that is owed.
        work = min(work, self._largest, self._per_minute - self._held)
        if is_heavy and self._bucket.heavy >= MOST_HEAVY:
            raise self._too_heavy()
        if not self._hold(work):
            raise self._spent(self._held + work)
        if is_heavy:
            self._bucket.heavy += 1
            self._is_heavy = True

    def settle(self, spent: int) -> None:
        """Charge what was spent, once; what was held beyond it is given back.

        Parameters
        ----------
        spent : int
            Work that was done for it, however far that came.
        """
        if self._is_settled:
            return
        self._is_settled = True
        if self._is_heavy:
            self._bucket.heavy -= 1
        if not self._held:
            # Refused for its head alone, or for want of quota.
            if not self._is_refused:
                self._bucket.charge_at_most(WORK_OF_A_REQUEST, self._clock())
            return
        cost = WORK_OF_A_REQUEST + work_of_reading(self._size) + spent
        self._bucket.settle(self._held, cost, self._clock())

    def fields(self) -> OwnFields:
        """What a reply says of the caller's quota.

        The fields are those of draft-ietf-httpapi-ratelimit-headers-11, sections 3 and 4.

        The quota is counted in work, for which the draft has no unit. The effective window ends when the
        quota is whole again or, where the request was refused, with ``Retry-After``.
        """
        now = self._clock()
        window = self._wait or self._bucket.seconds_until_whole(now)
        return [
            (b"ratelimit-policy", b'"work";q=%d;w=60' % self._per_minute),
            (b"ratelimit", b'"work";r=%d;t=%d' % (self._bucket.left(now), window)),
        ]

    def _hold(self, work: int) -> bool:
        is_held = self._bucket.hold(work, self._clock())
        self._held += work if is_held else 0
        return is_held

    def _spent(self, work: int) -> Refused:
        self._wait = max(1, self._bucket.seconds_until(work, self._clock()))
        detail = (
            f"The quota is {self._per_minute} units of work a minute, and less is left than the request may"
            f" take. Send the same request again after {self._wait} s."
        )
        return Refused(_SPENT, detail, headers={"Retry-After": str(self._wait)})

    def _too_heavy(self) -> Refused:
        self._wait = max(1, -(-self._bucket.held // WORK_OF_A_SECOND))
        detail = (
            f"{MOST_HEAVY} large requests of yours are in progress, and no more may be at a time. Send this"
            f" one again when one of them is answered, or after {self._wait} s."
        )
        return Refused(_HEAVY, detail, headers={"Retry-After": str(self._wait)})


class Quotas:
    """The quotas of all callers of this process.

    Parameters
    ----------
    terms : Terms
        What holds for each.
    most : int, optional
        Callers that are remembered.
    """

    def __init__(self, terms: Terms, most: int = MOST_CALLERS) -> None:
        self._terms = terms
        self._most = most
        self._buckets: OrderedDict[Caller, Bucket] = OrderedDict()

    def __len__(self) -> int:
        """How many callers are remembered."""
        return len(self._buckets)

    def meter(self, caller: Caller) -> RequestMeter:
        """Begin a request of a caller."""
        bucket = self._buckets.get(caller)
        if bucket is None:
            bucket = self._buckets[caller] = Bucket(self._terms.per_minute, self._terms.clock())
            if len(self._buckets) > self._most:
                self._forget()
        else:
            self._buckets.move_to_end(caller)
        return RequestMeter(caller, bucket, self._terms)

    def _forget(self) -> None:
        _, forgotten = self._buckets.popitem(last=False)
        # One that is whole loses nothing by it.
        if not forgotten.is_whole(self._terms.clock()):
            count_forgotten_quota()


def begin_meter(scope: Any, meter: RequestMeter) -> None:  # noqa: ANN401  # each framework has a scope type of its own
    """Give a request its meter."""
    scope["state"][_METER] = meter


def meter_of(scope: Mapping[str, Any]) -> RequestMeter | None:
    """The meter of a request; None where nobody counts."""
    meter: RequestMeter | None = scope["state"].get(_METER)
    return meter
