"""Pieces of the sentences that explain an error."""

import json
from collections.abc import Sequence
from typing import Final

_LONGEST: Final = 60


def shown(text: str, *, quotes: bool = True) -> str:
    """Write a caller's text so that it can stand in a sentence: short, quoted, nothing that moves the cursor.

    Parameters
    ----------
    text : str
        Any text.
    quotes : bool, optional
        Whether it stands in quotation marks.

    Returns
    -------
    shown : str
        At most 60 characters of it, with escapes for all that does not print.
    """
    short = text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"
    quoted = json.dumps(short, ensure_ascii=not short.isprintable())
    return quoted if quotes else quoted[1:-1]


def listed(names: Sequence[str], last: str = "or") -> str:
    """Join names to `a, b or c`.

    Parameters
    ----------
    names : sequence of str
        At least one.
    last : str, optional
        The word before the last name.

    Returns
    -------
    listed : str
        The names as a sentence says them.
    """
    if len(names) == 1:
        return names[0]
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def kind_of(value: object) -> str:
    """Name the JSON type of a value.

    Parameters
    ----------
    value : object
        A value from a JSON text.

    Returns
    -------
    kind : str
        `null`, `boolean`, `number`, `string`, `array` or `object`.
    """
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "boolean"
    if isinstance(value, int | float):
        return "number"
    if isinstance(value, str):
        return "string"
    return "array" if isinstance(value, list) else "object"


_SPOKEN: Final = {"array": "a list", "object": "an object", "number": "a number", "string": "text"}


def spoken(value: object) -> str:
    """Say what stands in the request, short enough for a sentence.

    Parameters
    ----------
    value : object
        A value from a JSON text.

    Returns
    -------
    spoken : str
        The value itself when it is short, else its kind.
    """
    if isinstance(value, str):
        return f"the text {shown(value)}"
    if isinstance(value, list | dict):
        return _SPOKEN[kind_of(value)]
    return json.dumps(value)
