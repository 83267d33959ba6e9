"""Words for what cannot be in a graph of spans, or be read off a wiring."""

from collections.abc import Iterable, Iterator
from typing import Final

from msgspec import UNSET

from service.intake.nearest import Lookalikes
from service.problems import ErrorItem
from service.studies.errors import Mistake

_WORDS: Final = {
    "duplicate-id": 'The id "{0}" stands on more than one span. Give each span an id of its own.',
    "self-span": 'The span starts and ends at "{0}". Name two different points.',
    "not-at-supply": 'Only a span that leaves the point "supply" has a {0}. Leave the {0} out here.',
    "island": 'Nothing joins "{0}" and "{1}" to the supply. Add a span from "supply", or check the names.',
    "taps-joined": "The {0} tap meets the {1} tap of {2} in one mesh. Two taps must never be tied together:"
    " feed the mesh from one tap, or take the span between them out.",
    "unknown-cable": "{0} points at no cable of the wiring that can be chosen. Point at a `cable` member of a"
    " run, a branch, a spur, a change, a return leg or a span.",
    "reading-unknown-place": "{0} points at nothing that can be read or lit. Point at a fixture line, a run,"
    " a branch or a spur; in a graph at a fixture line or a span.",
    "reading-volts-of-span": "{0} is a span, which has a voltage at each of its ends. Point at a fixture"
    " there, or send the amperes in it.",
    "reading-number-missing": "{0} stands for {1} fixtures. Say which of them with `number`, from 1 to {1}.",
    "reading-number-unknown": "{0} stands for {1} fixtures. Send a `number` from 1 to {1}.",
    "reading-unknown-tap": "Nothing is wired to a tap of {0}. Taps in use: {1}.",
    "reading-unknown-circuit": 'No circuit is called "{0}". Circuits: {1}.',
    "fixture-at-supply": "No fixture can stand at the supply itself: no tap is said there. Give it a span.",
}


def mistake_items(mistakes: Iterable[Mistake]) -> Iterator[ErrorItem]:
    """Each mistake in words, when it is asked for."""
    alike: Lookalikes | None = None
    for mistake in mistakes:
        if mistake.code == "unknown-point":
            alike = alike or Lookalikes(mistake.known)
            yield _unknown_point(mistake, alike)
        else:
            yield ErrorItem(mistake.code, mistake.pointer, _WORDS[mistake.code].format(*mistake.names))


def _unknown_point(mistake: Mistake, alike: Lookalikes) -> ErrorItem:
    [asked] = mistake.names
    guess = alike.nearest(asked)
    hint = f' Did you mean "{guess}"?' if guess else ""
    detail = f'No span touches the point "{asked}".{hint} Name a point that a span starts or ends at.'
    allowed = list(mistake.known) if len(mistake.known) <= MOST_NAMES else UNSET
    return ErrorItem("unknown-point", mistake.pointer, detail, allowed)


MOST_NAMES: Final = 50
"""Lists of names longer than this are not repeated to the caller."""
