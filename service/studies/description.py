"""What the document says of one study."""

from collections.abc import Mapping
from typing import Any, Final, NamedTuple

from service.problems import ProblemKind

SUCCESS: Final = 200


class Example(NamedTuple):
    """One request and, by sending it, one reply."""

    name: str
    summary: str
    status: int = SUCCESS
    file: str | None = None
    """The request's body, by the name of its file in `openapi/examples`."""
    method: str | None = None
    """The method, where it is not the operation's own."""
    headers: tuple[tuple[str, str], ...] = ()
    """Header fields, in place of those that fit."""
    query: str = ""
    """The query string, where the operation takes one."""
    rows: int | None = None
    """How many items of each list are shown, where the whole reply is too long to read."""
    shown: Mapping[str, str] = {}
    """Members of the reply that hang on the machine, as they are shown wherever the document is made."""


class Description(NamedTuple):
    """What the document says of a study, beside what holds for all of them."""

    summary: str
    question: str
    """What the study answers, in one sentence or two."""
    reply: Any
    """The struct, or union of structs, of a 200 reply."""
    reply_words: str
    refusals: tuple[str | ProblemKind, ...] = ()
    """Problems, or their codes, with which this study may refuse, beside those of every calculation."""
    more: str = ""
    examples: tuple[Example, ...] = ()
    trade_names: tuple[str, ...] = ()
    """What people of the trade look for when they need it."""
