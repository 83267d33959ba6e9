"""What there is to know of one study to answer it over HTTP, and of one form of its answer."""

from collections.abc import Callable, Mapping
from typing import Any, Final, Generic, NamedTuple, TypeVar

from msgspec import Struct

from service.endpoints.encoding import digest
from service.intake import decode
from service.studies.estimates import Estimate

Message = TypeVar("Message", bound=Struct)
Question = TypeVar("Question")
Reply = TypeVar("Reply", bound=Struct)


class Form(NamedTuple):
    """A form in which an answer can be had."""

    write: Callable[[Any, Any], bytes]
    """From the request and the reply to the bytes that go out."""
    headers: Mapping[str, str]
    work: Callable[[Any, Estimate], int]
    """Work of writing, from the request and what the answer itself is estimated at."""


class Study(NamedTuple, Generic[Message, Question, Reply]):
    """One study: from a message to its question, from the question to a reply, and the reply in its forms."""

    name: str
    """As a batch names it; its address is ``/v1/`` and this."""
    request: type[Message]
    prepare: Callable[[Message], Question]
    """The question in SI floats; nothing is solved yet."""
    estimate: Callable[[Question], Estimate]
    answer: Callable[[Message, Question, str], Reply]
    """The reply; the text is the digest of the request."""
    forms: Mapping[str, Form]
    """By media type, the preferred one first."""
    read: Callable[[bytes, type[Message]], Message] = decode
    """From bytes to the message."""

    @property
    def offered(self) -> tuple[str, ...]:
        """Media types, the preferred one first."""
        return tuple(self.forms)

    def reply_to(self, body: bytes) -> Reply:
        """Decode, compute, reply."""
        message = self.read(body, self.request)
        return self.answer(message, self.prepare(message), digest(body))


AnyStudy = Study[Any, Any, Any]


class Asked(NamedTuple):
    """A request that was read: its study, its bytes, its message, its question and what that may cost."""

    study: AnyStudy
    body: bytes
    message: Struct
    question: object
    estimate: Estimate

    def reply(self) -> Struct:
        """Compute the reply."""
        reply: Struct = self.study.answer(self.message, self.question, digest(self.body))
        return reply


def asked(study: AnyStudy, body: bytes) -> Asked:
    """Read a request and estimate what answering it costs, without solving anything."""
    message = study.read(body, study.request)
    question = study.prepare(message)
    return Asked(study, body, message, question, study.estimate(question))


VARY: Final = {"Vary": "Accept"}
