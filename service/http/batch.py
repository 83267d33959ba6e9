"""`POST /v1/batch`: several questions in one request, an answer or a problem each."""

from collections.abc import Iterable
from functools import cache
from typing import Annotated, Any, Final, Literal, NamedTuple, cast

from msgspec import UNSET, Meta, Raw, Struct, UnsetType, defstruct
from msgspec.structs import fields

from service.access.price import work_of_refusing
from service.circuit.estimate import refuse_over_limit, refuse_where_spent
from service.circuit.work import BatchSpentError, among_others, charge, left
from service.http.answering import PreparedRequest, Written, prepare, read_or_noted, work_of, written
from service.http.refusal_of import noted_refusal
from service.intake import decode
from service.observability.exchange import note_refused_item
from service.problems import problem_bytes
from service.studies import STUDIES
from service.studies.record import JSON, AnyStudy, encoded
from service.wire.quantities import CallerId

MAXIMUM_ITEMS = 200
"""Questions in one batch."""


LAID_OF_AN_ANSWER = 2
"""Laying a job out is at most one part in so many of its first answer (measured: 12 to 39 % of it)."""


ANY_OBJECT = {"type": "object", "additionalProperties": True}
"""Schema of a member whose shape depends on the study."""


class BatchItem(Struct, frozen=True, forbid_unknown_fields=True):
    """One question: the name of a study and the request that would be posted to it."""

    study: str
    request: Annotated[
        Raw,
        Meta(
            description="What would be posted to that study. Anything but an object is refused in its place,"
            " as that study refuses it.",
            extra_json_schema=ANY_OBJECT,
        ),
    ]
    id: CallerId | UnsetType = UNSET


class BatchRequest(Struct, frozen=True, forbid_unknown_fields=True):
    """Several questions, answered in order."""

    items: Annotated[list[BatchItem], Meta(min_length=1, max_length=MAXIMUM_ITEMS)]


def batch_request() -> type[BatchRequest]:
    """The message of a batch, whose items may name every study of the table and no other."""
    return _batch_request(tuple(STUDIES))


@cache
def _batch_request(names: tuple[str, ...]) -> type[BatchRequest]:
    item = _narrowed(BatchItem, study=Literal[names])
    items = Annotated[list[item], Meta(min_length=1, max_length=MAXIMUM_ITEMS)]  # type: ignore[valid-type]  # a class made here
    return cast("type[BatchRequest]", _narrowed(BatchRequest, items=items))


def _narrowed(kind: type[Struct], **narrower: Any) -> type[Struct]:  # noqa: ANN401  # any type form
    """The same struct, some of whose members take less."""
    members = [
        (each.name, narrower.get(each.name, each.type), *(() if each.required else (each.default,)))
        for each in fields(kind)
    ]
    words = {"__doc__": kind.__doc__}
    return defstruct(
        kind.__name__, members, bases=(kind,), namespace=words, frozen=True, forbid_unknown_fields=True
    )


class Answered(Struct, frozen=True, tag_field="outcome", tag="answered"):
    """What the study would have answered by itself."""

    study: str
    answer: Annotated[Raw, Meta(description="The reply of that study.", extra_json_schema=ANY_OBJECT)]
    id: CallerId | UnsetType = UNSET


class RefusedItem(Struct, frozen=True, tag_field="outcome", tag="refused"):
    """The problem with which the study would have refused by itself."""

    study: str
    problem: Annotated[Raw, Meta(description="A problem (RFC 9457).", extra_json_schema=ANY_OBJECT)]
    id: CallerId | UnsetType = UNSET


BatchOutcome = Answered | RefusedItem


class BatchReply(Struct, frozen=True):
    """One outcome for each item, in order."""

    items: list[BatchOutcome]


BATCH: Final = "batch"


class Item(NamedTuple):
    """One item, read as far as it can be: prepared, or what is wrong with it."""

    item: BatchItem
    prepared: PreparedRequest | Exception


def items_of(body: bytes) -> Iterable[Item]:
    """Read a batch, and each of its items when its turn comes.

    Raises
    ------
    Refused
        The batch itself cannot be read; raised at once.
    """
    message = read_or_noted(BATCH, decode, body, batch_request())
    return (Item(item, _prepared(item)) for item in message.items)


def work_of_item(item: Item) -> int:
    """Work of an item at most; of one that is refused, what telling why has taken."""
    if isinstance(item.prepared, PreparedRequest):
        return work_of(item.prepared, JSON)
    return work_of_refusing(memoryview(item.item.request).nbytes)


def answer_batch(items: Iterable[Item], request_id: str) -> Written:
    """Answer every item; what is wrong with one stays with it."""
    return Written(encoded(BatchReply([_outcome(item, request_id) for item in items])), JSON, {})


def _prepared(item: BatchItem) -> PreparedRequest | Exception:
    try:
        prepared = prepare(_as_item(STUDIES[item.study]), bytes(item.request))
        refuse_over_limit(prepared.estimate)
    except MemoryError:
        raise
    except Exception as error:  # noqa: BLE001  # what is wrong with one item, and be it our fault, spoils no other
        return error
    return prepared


def _as_item(study: AnyStudy) -> AnyStudy:
    return study if study.among_others is None else study._replace(answer=study.among_others)


def _outcome(item: Item, request_id: str) -> Answered | RefusedItem:
    if isinstance(item.prepared, Exception):
        return _refused(item.item, item.prepared, request_id)
    try:
        refuse_where_spent(item.prepared.estimate)
    except BatchSpentError as error:
        return _refused(item.item, error, request_id)
    before = left()
    try:
        with among_others():
            answer = written(item.prepared, JSON).content
    except BatchSpentError as error:
        # It was laid out before it ran short, whatever of it was charged by then.
        laid = item.prepared.estimate.first // LAID_OF_AN_ANSWER
        charge(min(left(), max(0, laid - (before - left()))))
        return _refused(item.item, error, request_id)
    except MemoryError:
        raise
    except Exception as error:  # noqa: BLE001  # the same: the others have their answers
        return _refused(item.item, error, request_id)
    return Answered(item.item.study, Raw(answer), item.item.id)


def _refused(item: BatchItem, error: Exception, request_id: str) -> RefusedItem:
    """Tell what is wrong with an item; what nobody foresaw is told to the log."""
    refusal = noted_refusal(error)
    note_refused_item(refusal.code)
    _, problem = problem_bytes(refusal.kind, refusal.detail, request_id, refusal.errors)
    return RefusedItem(item.study, Raw(problem), item.id)
