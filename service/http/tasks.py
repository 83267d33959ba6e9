"""A task for a worker and what comes of it: plain data, to go from one process to another."""

from collections.abc import Awaitable, Callable, Hashable
from contextvars import copy_context
from time import process_time
from typing import Any, Final, Protocol

from msgspec import Struct

from service.circuit.estimate import refuse_over_limit
from service.circuit.work import begin_request
from service.http.answering import Written, prepare, written
from service.http.batch import BATCH, answer_batch, items_of
from service.http.refusal_of import noted_refusal
from service.observability.exchange import CURRENT, Exchange
from service.problems import ErrorItem, ProblemKind, Refused
from service.studies import STUDIES
from service.studies.drop_chart import DROP_CHART_BY_ADDRESS
from service.studies.record import AnyStudy

BY_ADDRESS: Final = "drop-chart by address"
"""What a task calls the chart whose body is the query of an address."""


class Task(Struct, frozen=True):
    """A request as it came, and the form of the answer."""

    study: str
    body: bytes
    media_type: str
    request_id: str


class RefusedTask(Struct, frozen=True, tag=True):
    """What a `Refused` carries."""

    kind: ProblemKind
    detail: str
    errors: list[ErrorItem]
    headers: dict[str, str]


class Sent(Struct, frozen=True, tag=True):
    """An answer as it goes out."""

    content: bytes
    media_type: str
    headers: dict[str, str]


class TaskOutcome(Struct, frozen=True):
    """The answer or the refusal, and what the log and the metrics want to know."""

    end: Sent | RefusedTask
    findings: list[tuple[str, str]]
    refused_items: list[str]
    work: dict[str, int]
    faults: list[list[dict[str, Any]]]
    processor_s: float
    """Time of the processor that it took. [s]"""


def outcome_of(task: Task) -> TaskOutcome:
    """Answer a task, in a context of its own; whatever happens is part of what comes of it.

    Raises
    ------
    MemoryError
        There was not room for it.
    """
    return copy_context().run(_outcome_of, task)


def taken(outcome: TaskOutcome, exchange: Exchange) -> Written:
    """Take what came of a task over into the exchange of its request.

    Raises
    ------
    Refused
        It was refused, or failed.
    """
    exchange.findings += outcome.findings
    exchange.refused_items += outcome.refused_items
    exchange.work |= outcome.work
    exchange.faults += outcome.faults
    end = outcome.end
    if isinstance(end, RefusedTask):
        raise Refused(end.kind, end.detail, end.errors, end.headers)
    return Written(end.content, end.media_type, end.headers)


def _written(task: Task) -> Written:
    if task.study == BATCH:
        return answer_batch(items_of(task.body), task.request_id)
    prepared = prepare(_study_of(task), task.body)
    refuse_over_limit(prepared.estimate)
    return written(prepared, task.media_type)


def _study_of(task: Task) -> AnyStudy:
    return DROP_CHART_BY_ADDRESS if task.study == BY_ADDRESS else STUDIES[task.study]


def _reply(answer: Written) -> Sent:
    return Sent(answer.content, answer.media_type, dict(answer.headers))


def _refusal(refusal: Refused) -> RefusedTask:
    return RefusedTask(refusal.kind, refusal.detail, list(refusal.errors), dict(refusal.headers))


def _outcome_of(task: Task) -> TaskOutcome:
    began = process_time()
    exchange = Exchange(task.request_id)
    CURRENT.set(exchange)
    begin_request()
    end: Sent | RefusedTask
    try:
        end = _reply(_written(task))
    except MemoryError:
        raise
    except Exception as error:  # noqa: BLE001  # it goes to the loop, which logs what nobody foresaw
        end = _refusal(noted_refusal(error))
    noted = (exchange.findings, exchange.refused_items, exchange.work, exchange.faults)
    return TaskOutcome(end, *noted, process_time() - began)


WORKERS: Final = "workers"
"""The name under which the application's state holds its workers."""


class HeavyWork(Protocol):
    """Processes that answer what is heavy. They stand in a room above this one."""

    @property
    def are_at_work(self) -> bool:
        """Whether heavy requests are theirs; otherwise everything is answered in the loop."""

    @property
    def are_ready(self) -> bool:
        """Whether heavy requests are answered: not before a worker is up, nor while none can start."""

    @property
    def work_seconds(self) -> float:
        """How long a worker may take for one request."""

    async def outcome_of(
        self, task: Task, arrived: float, left: Callable[[], Awaitable[None]], caller: Hashable = None
    ) -> TaskOutcome:
        """Answer a task when its turn comes; `left` returns when nobody waits for it any more."""
