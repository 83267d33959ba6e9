"""An answer as it goes out, made the same way by the event loop and by a worker."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
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
    name, form = asked.study.name, asked.study.forms[media_type]
    with _noted(name):
        reply = asked.reply()
    with _noted(name, form.work(asked.message, asked.estimate)):
        content = form.write(asked.message, reply)
    note_answer(reply)
    return Written(content, media_type, form.headers)


@contextmanager
def _noted(study: str, at_least: int = 0) -> Iterator[None]:
    """Note the work of a study, however it ends; drawing is not counted while it is done, only estimated."""
    before = spent()
    try:
        yield
    finally:
        note_work(study, max(at_least, spent() - before))


def work_of(asked: Asked, media_type: str) -> int:
    """Work of the answer and of writing it in one of the forms of its study, at most."""
    return asked.estimate.most + asked.study.forms[media_type].work(asked.message, asked.estimate)
