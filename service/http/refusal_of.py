"""What a study refuses, and each mistake in it, put into words; where its facts become a refusal."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Final

from msgspec import UNSET

from service.circuit.job import (
    JobTooLargeError,
    Mistake,
    ReadingsContradictoryError,
    WiringContradictoryError,
)
from service.circuit.work import WorkOverLimitError
from service.intake.pointer import MOST_ERRORS, capped
from service.intake.words import Lookalikes, shown
from service.observability.exchange import note_fault
from service.problems import ErrorItem, Refused
from service.sheets.papers import PaperNotOfferedError
from service.studies.drop_chart.study import ChartTooLongError

INTERNAL_DETAIL = "The service failed on this request. Quote the request id when you report it."


def refusal_of(error: Exception) -> Refused:
    """The refusal that stands for what a study raised; a refusal stands for itself.

    Raises
    ------
    Exception
        The error itself, where it is no refusal.
    """
    if isinstance(error, Refused):
        return error
    for kind, words in _REFUSALS.items():
        if isinstance(error, kind):
            return words(error)
    raise error


def noted_refusal(error: Exception) -> Refused:
    """The refusal that stands for any error; one that nobody foresaw is noted for the log."""
    if isinstance(error, (Refused, *STUDY_ERRORS)):
        return refusal_of(error)
    note_fault(error)
    return Refused("internal-error", INTERNAL_DETAIL)


def _too_large(error: JobTooLargeError) -> Refused:
    detail = (
        f"The wiring has {error.count} {error.what}; one request may have {error.limit}."
        " Send each run or each supply as a job of its own."
    )
    return Refused("job-too-large", detail, [ErrorItem("too-many", error.pointer, detail)])


def _too_much_work(error: WorkOverLimitError) -> Refused:
    detail = (
        f"The answer needs work of {error.work}; one request may ask for {error.limit}, see /v1/limits."
        " Ask for fewer corners, mains, places, cables or fixtures at a time, or choose for all runs at once."
    )
    return Refused("work-over-limit", detail)


def _too_long(error: ChartTooLongError) -> Refused:
    detail = (
        f"The chart has {error.cells} cells, a load and a length on one cable each; {error.most} are answered"
        " at a time here. Ask for fewer cables, loads or lengths, or send the chart by itself."
    )
    return Refused("work-over-limit", detail)


def _no_such_paper(error: PaperNotOfferedError) -> Refused:
    papers = [f'"{paper}"' for paper in error.papers]
    has = f"the paper {papers[0]}" if len(papers) == 1 else f"the papers {', '.join(papers)}"
    detail = (
        f'This study is not printed for "{error.asked}": it has {has}.'
        " Name one of those in `sheet.for`, or leave it out for the record."
    )
    return Refused(
        "paper-not-offered",
        detail,
        [ErrorItem("paper-not-offered", error.pointer, detail, list(error.papers))],
    )


def _misplaced(error: ReadingsContradictoryError) -> Refused:
    items = capped(mistake_items(error.mistakes))
    detail = _counted(error.mistakes, "of the readings {} at nothing", "points", "point")
    return Refused("readings-invalid", detail, items)


def _contradictory(error: WiringContradictoryError) -> Refused:
    items = capped(mistake_items(error.mistakes))
    code = "taps-joined" if all(each.code == "taps-joined" for each in error.mistakes) else "wiring-invalid"
    detail = _counted(error.mistakes, "of the wiring {} be as described", "cannot", "cannot")
    return Refused(code, detail, items)


_REFUSALS: Final[dict[type[Exception], Callable[[Any], Refused]]] = {
    JobTooLargeError: _too_large,
    WiringContradictoryError: _contradictory,
    ReadingsContradictoryError: _misplaced,
    WorkOverLimitError: _too_much_work,
    ChartTooLongError: _too_long,
    PaperNotOfferedError: _no_such_paper,
}
"""The words of each."""


STUDY_ERRORS: Final = tuple(_REFUSALS)
"""What a study may raise."""


def _counted(mistakes: list[Mistake], what: str, one: str, many: str) -> str:
    """Say how many places are wrong, and whether each is listed."""
    if len(mistakes) == 1:
        return f"One place {what.format(one)}; `errors` lists each."
    if len(mistakes) > MOST_ERRORS:
        return f"More than {MOST_ERRORS} places {what.format(many)}; `errors` lists the first."
    return f"{len(mistakes)} places {what.format(many)}; `errors` lists each."


_WORDS: Final = {
    "duplicate-id": 'The id "{0}" stands on more than one span. Give each span an id of its own.',
    "self-span": 'The span starts and ends at "{0}". Name two different points.',
    "cable-missing": "`cable` is missing, and the wiring has none for all. Send one here, or for all as"
    " `wiring.cable`.",
    "load-missing": "`load` is missing. Send it, or name one of `wiring.fixture_types` as `type`.",
    "duplicate-type": 'The id "{0}" stands on more than one fixture type. Give each type an id of its own.',
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
    "reading-unknown-tap": "The supply has no tap of {0}. Its taps: {1}.",
    "reading-unknown-circuit": 'No circuit is called "{0}". Circuits: {1}.',
    "reading-ohms-of-supply": "An ohmmeter is never put on a supply. Point at the fixture, run, branch or"
    " spur at whose end the conductors were joined, and read at the end that was taken off the supply.",
    "csv-unreadable": "It breaks off, or has a quotation mark out of place. Send the sheet as it was saved.",
    "csv-columns": "The header lacks {0}. Send the CSV of /v1/commissioning-sheet with all of its columns.",
    "csv-columns-doubled": "The header has {0} twice. Keep the column that you filled in.",
    "csv-cells": "The row has more cells than the {0} of the header. Put a cell with a comma in quotes.",
    "csv-too-many": "The sheet has more than {0} readings. Send it in parts, each with the header.",
    "csv-value": '`{0}` is "{1}". Write a number: {2}.',
    "csv-word": '`{0}` is "{1}". Leave it as the sheet has it: {2}.',
    "fixture-at-supply": "No fixture can stand at the supply itself: no tap is said there. Give it a span.",
}


def mistake_items(mistakes: Iterable[Mistake]) -> Iterator[ErrorItem]:
    """Each mistake in words, when it is asked for."""
    alike: Lookalikes | None = None
    for mistake in mistakes:
        if mistake.code in _UNKNOWN:
            alike = alike or Lookalikes(mistake.known)
            yield _unknown(mistake, alike)
        else:
            pointer, line = _line_of(mistake.pointer)
            cells = mistake.code.startswith("csv-")
            names = (shown(name, quotes=False) for name in mistake.names) if cells else mistake.names
            detail = _WORDS[mistake.code].format(*names)
            yield ErrorItem(mistake.code, pointer, f"{line}{detail}")


def _line_of(pointer: str) -> tuple[str, str]:
    """The member that a pointer is to, and the line where that is a sheet of comma-separated values."""
    start, sheet, rest = pointer.partition("/readings_csv")
    line = rest.removeprefix("/").partition("/")[0]
    return (f"{start}{sheet}", f"Line {line}: ") if sheet and line else (pointer, "")


_UNKNOWN: Final = {
    "unknown-point": 'No span touches the point "{0}".{1} Name a point that a span starts or ends at.',
    "unknown-type": 'No fixture type has the id "{0}".{1} Name one of `wiring.fixture_types`.',
}


def _unknown(mistake: Mistake, alike: Lookalikes) -> ErrorItem:
    [asked] = mistake.names
    guess = alike.nearest(asked)
    hint = f' Did you mean "{guess}"?' if guess else ""
    detail = _UNKNOWN[mistake.code].format(asked, hint)
    allowed = list(mistake.known) if len(mistake.known) <= MOST_NAMES else UNSET
    return ErrorItem(mistake.code, mistake.pointer, detail, allowed)


MOST_NAMES: Final = 50
"""Lists of names longer than this are not repeated to the caller."""
