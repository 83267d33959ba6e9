"""Sends requests, holds each reply to its description, and keeps what was asked and what came of it."""

from collections import Counter
from collections.abc import Iterable
from typing import Any, NamedTuple

from tests.contract.matrix.grammar import grammar, said
from tests.contract.matrix.soundness import BATCH, JSON, assert_sound
from tests.contract.matrix.studies import NOT_OFFERED, Asked, full, operation_of

MOST_SHOWN = 5
READ_BACK = 4
"""One PDF in so many is read back, which takes longer than to write it."""


class Tried(NamedTuple):
    """What came of many requests to one operation."""

    asked: set[str]
    """What the requests said; of the grammar of their message."""
    answered: set[str]
    """What the replies in JSON said."""
    statuses: Counter[tuple[int, str, str]]
    """By status, media type and code of the problem."""
    faults: list[tuple[str, Any, str]]
    """Of each reply that is not as described: where the request went, itself, and what was wrong."""


def tried(requests: Iterable[Asked]) -> Tried:
    """Send requests and judge the replies."""
    found = Tried(set(), set(), Counter(), [])
    for count, asked in enumerate(requests):
        try:
            _try(asked, found, reading=count % READ_BACK == 0)
        except AssertionError as fault:
            found.faults.append((f"{asked.path} as {asked.accept}", asked.request, str(fault)[:500]))
    return found


def whole(path: str) -> Tried:
    """Try the full product of one study."""
    return tried(full(path))


def _try(asked: Asked, found: Tried, *, reading: bool) -> None:
    operation = operation_of(asked.path)
    if asked.method == "post":
        found.asked.update(said(grammar(operation.request), asked.request))
    reply = asked.send()
    media_type = reply.headers["content-type"].partition(";")[0]
    code = reply.json()["code"] if reply.status_code != 200 else ""
    found.statuses[reply.status_code, media_type, code] += 1
    assert_sound(asked.path, asked.method, reply, reading=reading)
    # What is asked is as the schema says: it may be refused for what no schema can say alone.
    assert reply.status_code in (200, 422, 406), reply.text
    assert (reply.status_code == 406) == (asked.accept == NOT_OFFERED), reply.text
    if reply.status_code == 200:
        assert asked.accept in (media_type, "*/*") or "," in asked.accept, media_type
    if reply.status_code != 200 or asked.path == BATCH:
        return
    if media_type != JSON:
        # What a sheet says is written from this.
        reply = asked._replace(accept=JSON).send()
        assert_sound(asked.path, asked.method, reply)
    found.answered.update(said(grammar(operation.reply), reply.json()))
