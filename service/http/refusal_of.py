"""Where the facts that a calculation raised become a refusal, in the words of their kinds."""

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import UNSET, UnsetType

from service.intake.pointer import MOST_ERRORS, capped
from service.intake.words import Lookalikes, shown
from service.observability.exchange import note_fault
from service.problems import INTERNAL_ERROR, ErrorItem, Mistake, Refused, UnansweredError
from service.studies.catalogue import error_kinds


def refusal_of(error: Exception) -> Refused:
    """The refusal that stands for what a study raised; a refusal stands for itself.

    Raises
    ------
    Exception
        The error itself, where it is no refusal.
    """
    if isinstance(error, Refused):
        return error
    if isinstance(error, UnansweredError):
        detail = error.kind.detail.format(error=error, **_counted(error.mistakes))
        return Refused(error.kind, detail, capped(_items(error.mistakes, detail)))
    raise error


def noted_refusal(error: Exception) -> Refused:
    """The refusal that stands for any error; one that nobody foresaw is noted for the log."""
    if isinstance(error, (Refused, UnansweredError)):
        return refusal_of(error)
    note_fault(error)
    return Refused(INTERNAL_ERROR, INTERNAL_ERROR.detail)


def _counted(mistakes: Sequence[Mistake]) -> dict[str, str]:
    """How many places are wrong, which of them are listed, and the ending of a verb that goes with them."""
    if len(mistakes) == 1:
        return {"places": "One place", "s": "s", "which": "each"}
    if len(mistakes) > MOST_ERRORS:
        return {"places": f"More than {MOST_ERRORS} places", "s": "", "which": "the first"}
    return {"places": f"{len(mistakes)} places", "s": "", "which": "each"}


def _items(mistakes: Sequence[Mistake], refusal: str) -> Iterator[ErrorItem]:
    """Each mistake in words, when it is asked for."""
    alike: Lookalikes | None = None
    kinds = error_kinds()
    for mistake in mistakes:
        words = kinds[mistake.code].words
        pointer, line = _line_of(mistake.pointer)
        guess = ""
        if "{guess}" in words:
            alike = alike or Lookalikes(mistake.known or ())
            nearest = alike.nearest(mistake.names[0])
            guess = f' Did you mean "{nearest}"?' if nearest else ""
        cells = mistake.code.startswith("csv-")
        names = [shown(name, quotes=False) for name in mistake.names] if cells else mistake.names
        detail = f"{line}{words.format(*names, guess=guess)}" if words else refusal
        yield ErrorItem(mistake.code, pointer, detail, _allowed(mistake))


def _allowed(mistake: Mistake) -> list[str] | UnsetType:
    known = mistake.known
    return UNSET if known is None or len(known) > MOST_NAMES else list(known)


def _line_of(pointer: str) -> tuple[str, str]:
    """The member that a pointer is to, and the line where that is a sheet of comma-separated values."""
    start, sheet, rest = pointer.partition("/readings_csv")
    line = rest.removeprefix("/").partition("/")[0]
    return (f"{start}{sheet}", f"Line {line}: ") if sheet and line else (pointer, "")


MOST_NAMES: Final = 50
"""Lists of names longer than this are not repeated to the caller."""
