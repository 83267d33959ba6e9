"""Several questions at once: an answer or a problem for each, in order, as if asked alone."""

from collections.abc import Iterable
from typing import Final, NamedTuple

from msgspec import Raw

from service.access.price import work_of_refusing
from service.endpoints.encoding import JSON, encoded
from service.endpoints.refusal_of import noted_refusal
from service.endpoints.studies import STUDIES_OF_A_BATCH
from service.endpoints.study import Asked, asked, read_or_noted
from service.endpoints.written import Written, work_of, written
from service.intake import decode
from service.messages.batch import Answered, BatchItem, BatchReply, BatchRequest, RefusedItem
from service.observability.exchange import note_refused_item
from service.problems import problem_bytes
from service.studies.estimates import refuse_over_limit

BATCH: Final = "batch"


class Item(NamedTuple):
    """One item, read as far as it can be: its question, or what is wrong with it."""

    item: BatchItem
    asked: Asked | Exception


def items_of(body: bytes) -> Iterable[Item]:
    """Read a batch, and each of its items when its turn comes.

    Raises
    ------
    Refused
        The batch itself cannot be read; raised at once.
    """
    message = read_or_noted(BATCH, decode, body, BatchRequest)
    return (Item(item, _asked(item)) for item in message.items)


def work_of_item(item: Item) -> int:
    """Work of an item at most; of one that is refused, what telling why has taken."""
    if isinstance(item.asked, Asked):
        return work_of(item.asked, JSON)
    return work_of_refusing(memoryview(item.item.request).nbytes)


def answer_batch(items: Iterable[Item], request_id: str) -> Written:
    """Answer every item; what is wrong with one stays with it."""
    return Written(encoded(BatchReply([_outcome(item, request_id) for item in items])), JSON, {})


def _asked(item: BatchItem) -> Asked | Exception:
    try:
        question = asked(STUDIES_OF_A_BATCH[item.study], bytes(item.request))
        refuse_over_limit(question.estimate)
    except Exception as error:  # noqa: BLE001  # what is wrong with one item, and be it our fault, spoils no other
        return error
    return question


def _outcome(item: Item, request_id: str) -> Answered | RefusedItem:
    if isinstance(item.asked, Exception):
        return _refused(item.item, item.asked, request_id)
    try:
        answer = written(item.asked, JSON).content
    except Exception as error:  # noqa: BLE001  # the same: the others have their answers
        return _refused(item.item, error, request_id)
    return Answered(item.item.study, Raw(answer), item.item.id)


def _refused(item: BatchItem, error: Exception, request_id: str) -> RefusedItem:
    """Tell what is wrong with an item; what nobody foresaw is told to the log."""
    refusal = noted_refusal(error)
    note_refused_item(refusal.code)
    _, problem = problem_bytes(refusal.code, refusal.detail, request_id, refusal.errors)
    return RefusedItem(item.study, Raw(problem), item.id)
