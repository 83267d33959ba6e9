"""From a query string to a message, or to a refusal that lists every parameter to change.

A query is flat and closed, and read as strictly as a body. A list of texts is the parameter repeated, since
a text may hold a comma; a list of numbers is one parameter with commas between. An error points to
``?watts``, or to ``?watts/1`` for the second item.
"""

import re
from collections.abc import Hashable, Iterator, Sequence
from functools import cache
from itertools import chain
from typing import Any, Final, NamedTuple, TypeVar, cast
from urllib.parse import unquote_plus

from msgspec import convert, inspect

from service.intake.pointer import LONGEST_NAME, capped, summary
from service.intake.walk import faults
from service.intake.words import listed, nearest_name, options, shown
from service.problems import ErrorItem, Refused

T = TypeVar("T")


# The grammar of JSON, with a leading zero as well; `float` would also take "nan", "1_000" and " 7 ".
_NUMBER: Final = re.compile(r"-?\d{1,40}(\.\d{1,40})?([eE][+-]?\d{1,3})?", re.ASCII)


class _Parameter(NamedTuple):
    """One parameter that a query may have."""

    name: str
    kind: inspect.Type
    required: bool
    numbers: bool
    several: bool


def read_query(raw: bytes, kind: type[T], *, one_of: Sequence[str] = ()) -> T:
    """Read a message from a query string.

    Parameters
    ----------
    raw : bytes
        What stands behind the question mark.
    kind : type
        A msgspec struct of numbers, texts and lists of either.
    one_of : sequence of str
        Optional parameters of which exactly one must be there.

    Returns
    -------
    message : T
        The message.

    Raises
    ------
    Refused
        `request-invalid`, with every error at once: those that are there in the order of the query, then what
        is missing.
    """
    known = _parameters(cast("Hashable", kind))
    sent = _sent(raw)
    errors = capped(chain(_errors(sent, known), _missing(sent, known), _choice_errors(sent, one_of)))
    if errors:
        raise Refused("request-invalid", summary(errors), errors)
    return convert({name: _value(texts, known[name]) for name, texts in sent.items()}, kind)


@cache
def _parameters(kind: Hashable) -> dict[str, _Parameter]:
    declared = cast("inspect.StructType", inspect.type_info(kind))
    return {field.encode_name: _parameter(field) for field in declared.fields}


def _parameter(field: inspect.Field) -> _Parameter:
    [option] = options(field.type)
    several = isinstance(option, inspect.ListType)
    [item] = options(option.item_type) if isinstance(option, inspect.ListType) else [option]
    numbers = isinstance(item, inspect.FloatType)
    return _Parameter(field.encode_name, field.type, field.required, numbers, several)


def _sent(raw: bytes) -> dict[str, list[str]]:
    """The values of each parameter, in order; bytes that are no UTF-8 become a sign that no value has."""
    found: dict[str, list[str]] = {}
    for pair in raw.decode("ascii", "replace").split("&"):
        if pair:
            name, _, value = pair.partition("=")
            found.setdefault(unquote_plus(name), []).append(unquote_plus(value))
    return found


def _texts(texts: list[str], parameter: _Parameter) -> list[str]:
    """The items of a parameter as they were written."""
    return texts[0].split(",") if parameter.numbers and parameter.several else texts


def _value(texts: list[str], parameter: _Parameter) -> Any:  # noqa: ANN401  # a number, a text or a list
    """The value of a parameter; what should be a number and is not stays a text."""
    items = _texts(texts, parameter)
    read = [_read(item) for item in items] if parameter.numbers else items
    return read if parameter.several else read[0]


def _read(text: str) -> float | str:
    return float(text) if _NUMBER.fullmatch(text) else text


def _errors(sent: dict[str, list[str]], known: dict[str, _Parameter]) -> Iterator[ErrorItem]:
    for name, texts in sent.items():
        parameter = known.get(name)
        if parameter is None:
            yield _unknown(name, list(known))
        elif len(texts) > 1 and (parameter.numbers or not parameter.several):
            yield _repeated(parameter)
        else:
            for error in faults(_value(texts, parameter), parameter.kind, f"?{name}"):
                yield _reworded(error, texts, parameter)


def _reworded(error: ErrorItem, texts: list[str], parameter: _Parameter) -> ErrorItem:
    """An error in the words of a query: there are no quotation marks to leave out."""
    if error.code != "wrong-type":
        return error
    place = error.pointer.partition("/")[2]
    text = _texts(texts, parameter)[int(place) if place else 0]
    fault = f"{shown(text)} is not a number" if text else "There is no number"
    detail = f"{fault} here. Write digits with a point before decimals, such as 20 or 7.5"
    several = ", commas between several" if place else ""
    return ErrorItem(error.code, error.pointer, f"{detail}{several}.")


def _unknown(name: str, known: list[str]) -> ErrorItem:
    meant = nearest_name(name, known)
    asked = f" Did you mean {shown(meant)}?" if meant else f" The parameters are {listed(known, 'and')}."
    detail = f"{shown(name)} is not a parameter of this address.{asked}"
    return ErrorItem("unknown-member", f"?{name}" if len(name) <= LONGEST_NAME else "?", detail, known)


def _repeated(parameter: _Parameter) -> ErrorItem:
    join = " Write its numbers in one, with commas between." if parameter.several else " Keep one of them."
    detail = f"The parameter {shown(parameter.name)} stands more than once.{join}"
    return ErrorItem("duplicate-member", f"?{parameter.name}", detail)


def _missing(sent: dict[str, list[str]], known: dict[str, _Parameter]) -> Iterator[ErrorItem]:
    for parameter in known.values():
        if parameter.required and parameter.name not in sent:
            example = f"{parameter.name}={'20' if parameter.numbers else '...'}"
            detail = f"The parameter {shown(parameter.name)} is missing. Add it as {example}."
            yield ErrorItem("missing-member", f"?{parameter.name}", detail)


def _choice_errors(sent: dict[str, list[str]], one_of: Sequence[str]) -> Iterator[ErrorItem]:
    there = [name for name in one_of if name in sent]
    if one_of and not there:
        detail = f"One of the parameters {listed(one_of)} is needed and none is there. Add one."
        yield ErrorItem("missing-member", f"?{one_of[0]}", detail, list(one_of))
    for name in there[1:]:
        detail = f"{shown(there[0])} is there as well. Keep one of {listed(one_of)}."
        yield ErrorItem("not-as-described", f"?{name}", detail, list(one_of))
