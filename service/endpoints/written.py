"""An answer as it goes out, made the same way by the event loop and by a worker."""

from collections.abc import Mapping
from typing import NamedTuple

from service.endpoints.study import Asked
from service.observability.exchange import note_answer, note_work
from service.studies.work import spent


class Written(NamedTuple):
    """The bytes of an answer, what they are, and the header fields that belong to them."""

    content: bytes
    media_type: str
    headers: Mapping[str, str]


def written(asked: Asked, media_type: str) -> Written:
    """Compute the answer and write it in one of the forms of its study."""
    before = spent()
    try:
        reply = asked.reply()
        form = asked.study.forms[media_type]
        content = form.write(asked.message, reply)
    finally:
        note_work(asked.study.name, spent() - before)
    note_answer(reply)
    return Written(content, media_type, form.headers)


def work_of(asked: Asked, media_type: str) -> int:
    """Work of the answer and of writing it in one of the forms of its study, at most."""
    return asked.estimate.most + asked.study.forms[media_type].work(asked.message, asked.estimate)
