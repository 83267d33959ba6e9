"""The second look at a body that was refused: is it sound JSON, and if not, where does it break?

Python's own parser is used here, because it can keep what msgspec drops: repeated members and their places.
It runs for refused bodies alone.
"""

import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Final

from service.intake.capped import capped, summary
from service.intake.pointer import LONGEST_NAME, child
from service.intake.words import shown
from service.problems import ErrorItem, Refused

DEEPEST: Final = 64
"""Objects and lists inside one another; the deepest request has fewer than 20."""

_LONGEST_NUMBER: Final = 400
_BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"
_WHITESPACE: Final = b" \t\r\n"
_HALF_PAIR: Final = re.compile("[\ud800-\udfff]")


class Members(dict[str, object]):
    """An object of a body; it remembers the names that came more than once."""

    repeated: tuple[str, ...] = ()


class Unreadable(str):
    """A number, as it was written, that no 64-bit float can hold."""

    __slots__ = ()


def read(body: bytes) -> object:
    """Read a body without knowing what it should be.

    Parameters
    ----------
    body : bytes
        The body as received.

    Returns
    -------
    tree : object
        The value: `Members`, list, str, int, float, bool or None.

    Raises
    ------
    Refused
        The body is not sound JSON; repeated members and numbers out of range are listed with their places.
    """
    tree = _parsed(_text(body))
    errors = capped(_unsound(tree))
    if errors:
        raise Refused(errors[0].code, summary(errors), errors)
    return tree


def _text(body: bytes) -> str:
    if not body.strip(_WHITESPACE):
        raise Refused("empty-body", "The request has no body. Send one JSON object.")
    if body.startswith(_BYTE_ORDER_MARK):
        detail = "The body starts with the bytes EF BB BF, a byte order mark. Send the JSON text without it."
        raise Refused("byte-order-mark", detail)
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError as cause:
        byte = f"0x{body[cause.start]:02X}"
        detail = f"The byte {byte} at offset {cause.start} is not UTF-8. Send the body as UTF-8."
        raise Refused("not-utf-8", detail) from None


def _parsed(text: str) -> object:
    try:
        return _PARSER.decode(text)
    except json.JSONDecodeError as cause:
        detail = f"The body is not JSON: line {cause.lineno}, column {cause.colno}: {cause.msg}."
        raise Refused("malformed-json", detail) from None
    except RecursionError:
        raise _too_deep() from None


def _too_deep() -> Refused:
    detail = f"More than {DEEPEST} objects and lists stand inside one another; no request needs as many."
    return Refused("nesting-too-deep", detail)


def _members(pairs: list[tuple[str, object]]) -> Members:
    members = Members(pairs)
    if len(members) != len(pairs):
        members.repeated = _more_than_once(name for name, _ in pairs)
    return members


def _more_than_once(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(name for name, count in Counter(names).items() if count > 1)


def _integer(text: str) -> int | Unreadable:
    # Python refuses to read more than 4,300 digits, and a float holds no more than 309.
    if len(text) > _LONGEST_NUMBER:
        return Unreadable(text)
    number = int(text)
    try:
        float(number)
    except OverflowError:
        return Unreadable(text)
    return number


def _real(text: str) -> float | Unreadable:
    number = float(text)
    return Unreadable(text) if number in (float("inf"), float("-inf")) else number


_PARSER: Final = json.JSONDecoder(
    object_pairs_hook=_members, parse_int=_integer, parse_float=_real, parse_constant=Unreadable
)


def _unsound(tree: object) -> Iterator[ErrorItem]:
    """Walk in document order, without recursion, over all that the parser let through."""
    ahead: list[tuple[object, str, int]] = [(tree, "", 1)]
    while ahead:
        value, pointer, depth = ahead.pop()
        if depth > DEEPEST:
            raise _too_deep()
        if isinstance(value, Unreadable):
            yield _not_a_number(value, pointer)
        elif isinstance(value, str):
            _refuse_half_pair(value, pointer)
        elif isinstance(value, Members):
            yield from _repeated(value, pointer)
            ahead.extend(_members_ahead(value, pointer, depth))
        elif isinstance(value, list):
            ahead.extend((value[i], child(pointer, i), depth + 1) for i in range(len(value) - 1, -1, -1))


def _members_ahead(members: Members, pointer: str, depth: int) -> Iterator[tuple[object, str, int]]:
    """Give the members in reverse; a name that no contract can have is refused later, whatever it holds."""
    for name, value in reversed(members.items()):
        _refuse_half_pair(name, pointer)
        if len(name) <= LONGEST_NAME:
            yield value, child(pointer, name), depth + 1


def _repeated(members: Members, pointer: str) -> Iterator[ErrorItem]:
    for name in members.repeated:
        detail = f"The object has more than one member {shown(name)}. Keep one of them."
        yield ErrorItem("duplicate-member", child(pointer, name), detail)


def _not_a_number(text: Unreadable, pointer: str) -> ErrorItem:
    if "N" in text or "I" in text:
        detail = f"{text} is not JSON. Send a finite number, or leave an optional member out."
    else:
        detail = f"{shown(text, quotes=False)} is more than a 64-bit float can hold. Send a smaller number."
    return ErrorItem("number-out-of-range", pointer, detail)


def _refuse_half_pair(text: str, pointer: str) -> None:
    found = _HALF_PAIR.search(text)
    if found:
        escape = f"\\u{ord(found[0]):04x}"
        detail = (
            f"{escape} is half of a surrogate pair and no character. Send the pair or the character itself."
        )
        raise Refused("malformed-json", f"At {pointer or 'the top'}: {detail}")
