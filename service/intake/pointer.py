"""JSON Pointers (RFC 6901), and lists of mistakes that end where nobody reads on."""

import re
from collections.abc import Iterable
from itertools import islice
from typing import Final

from service.problems import ErrorItem

LONGEST_NAME: Final = 100
"""Longer member names are in no contract and are not repeated in a reply."""


_PLACE: Final = re.compile(r"^(?P<said>.*?)(?: - at `\$(?P<path>.*)`)?$", re.DOTALL)


_STEP: Final = re.compile(r"\.([\w-]+)|\[(\d+)\]")


def child(pointer: str, token: str | int) -> str:
    """Point one step further: to a member or an item.

    Parameters
    ----------
    pointer : str
        Pointer to an object or a list.
    token : str or int
        Name of the member or index of the item.

    Returns
    -------
    pointer : str
        Pointer to the member or item; to the object itself when the name is longer than `LONGEST_NAME`.

    Examples
    --------
    >>> child("/runs/0", "a/b~c")
    '/runs/0/a~1b~0c'
    """
    if isinstance(token, int):
        return f"{pointer}/{token}"
    if len(token) > LONGEST_NAME:
        return pointer
    return f"{pointer}/{token.replace('~', '~0').replace('/', '~1')}"


def from_msgspec(message: str) -> tuple[str, str]:
    """Split a message of msgspec into its words and a pointer.

    Parameters
    ----------
    message : str
        Such as ``Expected `float`, got `str` - at `$.runs[0].at```.

    Returns
    -------
    said : str
        The words, as a sentence.
    pointer : str
        The place, as far as msgspec tells it: it does not tell the keys of a map.

    Examples
    --------
    >>> from_msgspec("Expected `float`, got `str` - at `$.runs[0].at`")
    ('Expected `float`, got `str`.', '/runs/0/at')
    """
    found = _PLACE.match(message)
    if found is None:
        return message, ""
    path = (found["path"] or "").split("[...]")[0]
    pointer = ""
    for name, index in _STEP.findall(path):
        pointer = child(pointer, name or int(index))
    return f"{found['said']}.", pointer


MOST_ERRORS: Final = 100


def capped(errors: Iterable[ErrorItem]) -> list[ErrorItem]:
    """Take the first errors; a last item says when there are more.

    Parameters
    ----------
    errors : iterable of ErrorItem
        Errors in document order; no more are drawn than are kept.

    Returns
    -------
    errors : list of ErrorItem
        At most `MOST_ERRORS`, and one that says so.
    """
    kept = list(islice(errors, MOST_ERRORS + 1))
    if len(kept) > MOST_ERRORS:
        detail = f"There are more than {MOST_ERRORS} errors. Mend these and send the request again."
        kept[MOST_ERRORS] = ErrorItem("more-errors", "", detail)
    return kept


def summary(errors: list[ErrorItem]) -> str:
    """Say in one sentence what a list of errors says.

    Parameters
    ----------
    errors : list of ErrorItem
        At least one.

    Returns
    -------
    summary : str
        The error itself when it is alone.
    """
    if len(errors) == 1:
        return f"At {errors[0].pointer}: {errors[0].detail}" if errors[0].pointer else errors[0].detail
    if len(errors) > MOST_ERRORS:
        return f"More than {MOST_ERRORS} places of the request need a change; `errors` lists the first."
    return f"{len(errors)} places of the request need a change; `errors` lists each."
