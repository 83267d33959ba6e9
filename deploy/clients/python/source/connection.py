"""Sends jobs, waits where a busy service says for how long, and raises its problems."""

import random
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from http import HTTPStatus
from types import TracebackType
from typing import Any, Self

import httpx

from .client import Client
from .models.error_item import ErrorItem
from .models.problem import Problem

AGAIN = {
    HTTPStatus.TOO_MANY_REQUESTS,
    HTTPStatus.BAD_GATEWAY,
    HTTPStatus.SERVICE_UNAVAILABLE,
    HTTPStatus.GATEWAY_TIMEOUT,
}


LEAST_SPREAD = 1.0
"""Over what time at least those who were refused together come back. [s]"""


class ProblemError(Exception):
    """A refusal: what is wrong, and every place to change.

    Attributes
    ----------
    problem : Problem
        As the service sent it (RFC 9457), with `code`, `status`, `detail`, `errors` and the rest.
    retry_after : float or None
        After what time it may be asked again, where the service says so (`Retry-After`). [s]
    """

    def __init__(self, problem: Problem, retry_after: float | None = None) -> None:
        self.problem = problem
        self.retry_after = retry_after
        mistakes = [f"{mistake.pointer}: {mistake.detail}" for mistake in problem.errors]
        # The detail of one mistake already says it, with its place.
        told = len(mistakes) == 1 and problem.errors[0].detail in problem.detail
        super().__init__("\n".join([problem.detail] if told else [problem.detail, *mistakes]))

    @property
    def code(self) -> str:
        """What kind of refusal it is, for programs."""
        return self.problem.code

    @property
    def errors(self) -> Sequence[ErrorItem]:
        """Every place to change."""
        return self.problem.errors


class ReplyError(Exception):
    """A reply that is none of the service's, such as the page of a proxy."""

    def __init__(self, status: int) -> None:
        self.status = status
        super().__init__(f"The reply of status {status} is neither an answer nor a problem.")


class Connection:
    """A service and how it is asked; close it, or use it in a ``with``.

    Parameters
    ----------
    address : str
        Such as ``http://127.0.0.1:8080``.
    key : str, optional
        Where the service asks for one.
    retries : int, optional
        How often a job is sent again that the service was too busy for.
    longest_wait : float, optional
        The longest that is waited before it is sent again; where the service asks for more its problem is
        raised. [s]
    jitter : callable, optional
        From 0 to 1: how much later than the service asks it is sent again, so that many programs do not come
        back at once. 1 is half of the time more, at least a second, and never beyond `longest_wait`.
    timeout : float, optional
        How long each step of one attempt may take. [s]
    """

    def __init__(  # noqa: PLR0913  # each has a name at the call
        self,
        address: str,
        *,
        key: str | None = None,
        retries: int = 3,
        longest_wait: float = 30.0,
        jitter: Callable[[], float] = random.random,
        timeout: float = 30.0,
    ) -> None:
        fields = {"Accept": "application/json"}
        if key is not None:
            fields["Authorization"] = f"Bearer {key}"
        self._patient = _Patient(
            retries, longest_wait, jitter, base_url=address.rstrip("/"), headers=fields, timeout=timeout
        )
        self._client = Client(base_url=address).set_httpx_client(self._patient)

    def __enter__(self) -> Self:
        """Use it in a ``with``, which closes it."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Let go of what is still connected."""
        self._patient.close()


class _Patient(httpx.Client):
    """Sends a request again where the service says when, and passes on nothing but an answer.

    A calculation keeps nothing, so it may be sent again; that is done only where `Retry-After` says when.
    """

    def __init__(
        self,
        retries: int,
        longest_wait: float,
        jitter: Callable[[], float],
        **options: Any,  # noqa: ANN401  # those of the library
    ) -> None:
        super().__init__(**options)
        self._retries = retries
        self._longest_wait = longest_wait
        self._jitter = jitter

    def send(self, request: httpx.Request, **options: Any) -> httpx.Response:  # noqa: ANN401  # those of the library
        for _ in range(self._retries):
            reply = super().send(request, **options)
            wait = wait_of(reply) if reply.status_code in AGAIN else None
            if wait is None or wait > self._longest_wait:
                return _read(reply)
            time.sleep(min(wait + self._jitter() * max(LEAST_SPREAD, wait / 2), self._longest_wait))
        return _read(super().send(request, **options))


def wait_of(reply: httpx.Response) -> float | None:
    """What `Retry-After` names (RFC 9110, section 10.2.3); None where it names no time. [s]"""
    value = reply.headers.get("Retry-After")
    if value is None:
        return None
    if value.isascii() and value.isdecimal():
        return float(value)
    try:
        date = parsedate_to_datetime(value)
    except ValueError:
        return None
    # A date without its zone is one of UTC as well.
    return max(0.0, (date.replace(tzinfo=date.tzinfo or UTC) - datetime.now(UTC)).total_seconds())


def _read(reply: httpx.Response) -> httpx.Response:
    media_type = reply.headers.get("Content-Type", "").partition(";")[0]
    if reply.status_code == HTTPStatus.OK and media_type == "application/json":
        return reply
    if reply.is_error and media_type == "application/problem+json":
        raise ProblemError(Problem.from_dict(reply.json()), wait_of(reply))
    raise ReplyError(reply.status_code)
