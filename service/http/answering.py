"""A request that was read, and its answer as it goes out: the same in the event loop and in a worker."""

from collections.abc import Callable, Mapping
from typing import NamedTuple

from msgspec import Struct

from service.access.price import work_of_refusing, work_of_writing
from service.circuit.estimate import Estimate
from service.circuit.work import spent
from service.observability.exchange import note_answer, note_work
from service.problems import Refused
from service.studies.record import AnyStudy, Message, digest


def read_or_noted(
    name: str, read: Callable[[bytes, type[Message]], Message], body: bytes, kind: type[Message]
) -> Message:
    """Read a message; where it cannot be read, the work of finding out why is noted under a name."""
    try:
        return read(body, kind)
    except Refused:
        note_work(name, work_of_refusing(len(body)))
        raise


class PreparedRequest(NamedTuple):
    """A request that was read: its study, its bytes, its message, its job and what that may cost."""

    study: AnyStudy
    body: bytes
    message: Struct
    job: object
    estimate: Estimate

    def reply(self) -> Struct:
        """Compute the reply."""
        reply: Struct = self.study.answer(self.message, self.job, digest(self.body))
        return reply


def prepare(study: AnyStudy, body: bytes) -> PreparedRequest:
    """Read a request and estimate what answering it costs, without solving anything."""
    message = read_or_noted(study.name, study.read, body, study.request)
    job = study.prepare(message)
    return PreparedRequest(study, body, message, job, study.estimate(job))


class Written(NamedTuple):
    """The bytes of an answer, what they are, and the header fields that belong to them."""

    content: bytes
    media_type: str
    headers: Mapping[str, str]


def written(prepared: PreparedRequest, media_type: str) -> Written:
    """Compute the answer and write it in one of the forms of its study."""
    name, form = prepared.study.name, prepared.study.forms[media_type]
    before = spent()
    try:
        reply = prepared.reply()
        content = form.write(prepared.message, reply)
    finally:
        note_work(name, spent() - before)
    # What a writer charges is what it computes; its writing is known by what came of it.
    note_work(name, work_of_writing(media_type, len(content)))
    note_answer(reply)
    return Written(content, media_type, form.headers)


def work_of(prepared: PreparedRequest, media_type: str) -> int:
    """Work of the answer and of writing it in one of the forms of its study, at most."""
    form = prepared.study.forms[media_type]
    return prepared.estimate.most + form.work(prepared.message, prepared.estimate)
