"""What is said about one operation, beside what its handler and its messages say themselves."""

from typing import Any, NamedTuple

from service.document.examples import Example


class Form(NamedTuple):
    """A form other than JSON in which a reply can be had, by the Accept header."""

    media_type: str
    words: str
    text: bool = True
    """Whether it is a text, and not bytes."""


class Operation(NamedTuple):
    """Facts about one operation."""

    summary: str
    tag: str
    reply: Any
    """The struct, or union of structs, of a 200 reply."""
    reply_words: str
    refusals: tuple[str, ...]
    """Codes of the problems with which the operation may refuse."""
    request: Any = None
    """The struct of the body, where there is one."""
    query: Any = None
    """The struct of the query, where there is one."""
    forms: tuple[Form, ...] = ()
    """Forms of the 200 reply beside JSON."""
    kept: bool = False
    """Whether a client may keep the reply and ask later whether it is still good."""
    more: str = ""
    """What the handler's docstring leaves out."""
    examples: tuple[Example, ...] = ()
