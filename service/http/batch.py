"""`POST /v1/batch`: several questions in one request, an answer or a problem each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Final, Literal, NamedTuple

from msgspec import UNSET, Meta, Raw, Struct, UnsetType

from service.access.price import work_of_refusing
from service.circuit.estimate import refuse_over_limit
from service.http.answering import Asked, Written, asked, read_or_noted, work_of, written
from service.http.refusal_of import noted_refusal
from service.intake import decode
from service.observability.exchange import note_refused_item
from service.problems import problem_bytes
from service.studies import STUDIES_OF_A_BATCH
from service.studies.record import JSON, encoded
from service.wire.quantities import CallerId

MAXIMUM_ITEMS = 50
"""Questions in one batch."""


Study = Literal[
    "voltage-drop",
    "transformer-loading",
    "gauge-recommendation",
    "reach",
    "drop-chart",
    "readings-check",
    "commissioning-sheet",
]


ANY_OBJECT = {"type": "object", "additionalProperties": True}
"""Schema of a member whose shape depends on the study."""


class BatchItem(Struct, frozen=True, forbid_unknown_fields=True):
    """One question: the name of a study and the request that would be posted to it."""

    study: Study
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
