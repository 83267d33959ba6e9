"""What a study has answered to a body is kept, for the other forms in which the same body is asked."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from typing import Final, NamedTuple

import pytest
from msgspec import Struct

from service.circuit.work import charge, spent
from service.physics.effort import count, counted
from service.studies import STUDIES
from service.studies.record import AnyStudy

MOST_KEPT: Final = 1_000
"""Of one study; the oldest goes first."""


class Kept(NamedTuple):
    """A reply, and what it cost: work charged, and operations done."""

    reply: Struct
    work: int
    operations: int


@contextmanager
def answered_once() -> Iterator[None]:
    """Let each study answer the same bytes once; every form is written anew, and charged as if all was."""
    with pytest.MonkeyPatch.context() as patch:
        for name, study in list(STUDIES.items()):
            patch.setitem(STUDIES, name, study._replace(answer=partial(_answer, study, {})))
        yield


def _answer(study: AnyStudy, known: dict[str, Kept], message: Struct, job: object, sha256: str) -> Struct:
    if sha256 in known:
        kept = known[sha256]
        charge(kept.work)
        count(kept.operations)
        return kept.reply
    work, operations = spent(), counted()
    reply: Struct = study.answer(message, job, sha256)
    if len(known) == MOST_KEPT:
        del known[next(iter(known))]
    known[sha256] = Kept(reply, spent() - work, counted() - operations)
    return reply
