"""What the document says of one study."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

from service.problems import ProblemKind

SUCCESS: Final = 200


SUPPORT: Final = timedelta(days=365)
"""How long at least a study is still answered after it was marked as one that is to go."""


@dataclass(frozen=True, slots=True)
class Retirement:
    """Since when a study is marked as one that is to go, and until when it is answered.

    Raises
    ------
    ValueError
        It would be answered for less than `SUPPORT`.
    """

    deprecated: date
    sunset: date
    instead: str
    """The study that takes its place."""

    def __post_init__(self) -> None:
        """Hold what is promised to clients."""
        if self.sunset - self.deprecated < SUPPORT:
            raise ValueError(SUPPORT, self)


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
    retirement: Retirement | None = None
    """Where it is to go."""
